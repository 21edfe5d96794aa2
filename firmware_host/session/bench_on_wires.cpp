// SPDX-License-Identifier: MIT
#include "firmware_host/session/bench_on_wires.hpp"

#include <utility>

#include <fmt/core.h>

#include "drivers/bench/bench_document.hpp"
#include "firmware_host/session/session.hpp"

namespace benchward {

BenchOnWires read_bench_on_wires(std::string const& bench_file, std::string const& links_file) {
  BenchOnWires read;
  read.bench = read_bench(bench_file);
  if (!links_file.empty()) {
    auto const ready = read_ready_line(links_file);
    read.bench = with_links(std::move(read.bench), ready);
    read.time_scale = ready.time_scale;
  }
  for (auto const& link : read.bench.links) {
    if (!link.address.empty()) continue;
    throw SessionError(ExitCode::bad_input,
                       fmt::format("{}: link \"{}\" has no address; a simulated bench gets it by --links READY.json",
                                   read.bench.file, link.name));
  }
  return read;
}

}  // namespace benchward
