// SPDX-License-Identifier: MIT
#pragma once

/// A bench whose instruments are asked without a session: nothing of it is energised, no unit is run.

#include <string>

#include "drivers/bench/bench.hpp"

namespace benchward {

struct BenchOnWires {
  Bench bench;
  double time_scale = 1.0;  ///< of a simulated bench; 1: the wall's time

  /// Nullptr: the document declares no such link.
  LinkDeclaration const* io_link() const { return bench.link(bench.io.link); }
  /// What two programs must not have at once: the I/O block's address.
  std::string lock_name() const { return io_link() != nullptr ? io_link()->address : bench.name; }
};

/// `links_file`: ready line of a simulated bench, or empty. Throws DocumentError, and SessionError 2 where a link has
/// no address.
BenchOnWires read_bench_on_wires(std::string const& bench_file, std::string const& links_file);

}  // namespace benchward
