// SPDX-License-Identifier: MIT
#include <fmt/format.h>
#include <sched.h>

#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <exception>
#include <optional>
#include <string>
#include <system_error>

#include "drivers/bench/bench_document.hpp"
#include "firmware_host/exit_code.hpp"
#include "firmware_host/simulator/command_line.hpp"
#include "firmware_host/simulator/fault_listing.hpp"
#include "firmware_host/version.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/unit_document.hpp"
#include "sim/bench/sim_bench.hpp"
#include "sim/faults/fault_list.hpp"
#include "sim/wires/bench_server.hpp"
#include "sim/wires/control_lines.hpp"

namespace {

using namespace benchward;
using sim::UsageError;

constexpr double slowest = 0.1, fastest = 20.0;
constexpr double least_stale_wall_s = 0.025;

/// The scheduler's jitter does not shrink with the scale: refused with the arithmetic where it would be the bench's.
void check_scale(double scale, Bench const& bench) {
  double const period_ms = bench.guard.period.in(milliseconds), stale_s = bench.guard.stale.in(seconds);
  if (scale >= slowest && scale <= fastest && stale_s / scale >= least_stale_wall_s) return;
  throw UsageError(fmt::format(
      "--time-scale {}: from {} to {} is possible, and the stale limit needs 25 ms of wall time; on this bench a guard "
      "turn of {} ms would be {:.3g} ms and the stale limit of {} s would be {:.3g} ms of wall time",
      scale, slowest, fastest, period_ms, period_ms / scale, stale_s, stale_s * 1000.0 / scale));
}

/// Scaled time: the one clock of the simulator, read here and handed in.
sim::BenchTime scaled_time(double scale) {
  auto const start = std::chrono::steady_clock::now();
  sim::BenchTime time;
  time.scale = scale;
  time.now_ns = [start, scale] {
    auto const wall = std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now() - start);
    return static_cast<std::int64_t>(static_cast<double>(wall.count()) * scale);
  };
  return time;
}

/// Hardware is never late because a computer is busy: the simulated one asks for real-time priority. It sleeps between
/// requests. Not having it is no fault (an ordinary user's desk), only worth a line.
void ask_for_priority() {
  sched_param wanted{};
  wanted.sched_priority = 5;  // below the guard's own thread
  if (::sched_setscheduler(0, SCHED_RR | SCHED_RESET_ON_FORK, &wanted) != 0) {
    auto const text =
        fmt::format("benchward-sim: no real-time priority ({}): on a busy machine the simulated wires may be late\n",
                    std::strerror(errno));
    std::fwrite(text.data(), 1, text.size(), stderr);
  }
}

void print(std::string const& text) {
  std::fwrite(text.data(), 1, text.size(), stdout);
  std::fflush(stdout);
}

int serve(sim::CommandLine const& line) {
  Bench const bench = read_bench(line.bench);
  if (!bench.simulated) {
    throw DocumentError("bench.not-simulated", line.bench, "/simulated",
                        "this bench is not marked simulated; a real bench is never simulated by mistake");
  }
  check_scale(line.time_scale, bench);
  Unit const unit = read_unit(line.unit);
  sim::SimBench::Options options;
  options.as_declared = line.as_declared;
  options.seed = line.seed;
  for (auto const& wish : line.faults) {
    if (sim::find_fault(wish.name)->where != "wires") options.faults.push_back({wish.name, wish.value});
  }
  sim::SimBench simulated(bench, unit, options);
  auto const served = sim::serve_sim_bench(simulated);
  sim::BenchServer::Options wires;
  wires.time = scaled_time(line.time_scale);
  wires.seed = line.seed;
  wires.hands_port = line.hands_port;
  wires.control_port = line.control_port;
  wires.notice = [](std::string const& words) {
    auto const text = "benchward-sim: " + words + "\n";
    std::fwrite(text.data(), 1, text.size(), stderr);
  };
  sim::BenchServer server(bench, *served, wires);
  for (auto const& wish : line.faults) {
    if (sim::find_fault(wish.name)->where != "wires") continue;
    auto const why_not = server.context().faults.set(wish.name, wish.value, wish.device);
    if (!why_not.empty()) throw UsageError("--fault: " + why_not);
  }
  server.stop_on_signals();
  ask_for_priority();
  print(server.ready_line() + "\n");
  server.run();
  return static_cast<int>(ExitCode::done);
}

int run(int argc, char** argv) {
  std::signal(SIGPIPE, SIG_IGN);
  auto const line = sim::parse_command_line(argc, argv);
  if (line.help) {
    print(*line.help);
  } else if (line.version) {
    print((line.json ? version_json("benchward-sim") : version_line("benchward-sim")) + "\n");
  } else if (line.list_faults) {
    auto const unit = line.unit.empty() ? std::optional<Unit>{} : std::optional<Unit>(read_unit(line.unit));
    auto const* of = unit ? &*unit : nullptr;
    print(line.json ? sim::faults_as_json(of) + "\n" : sim::faults_as_text(of));
  } else {
    return serve(line);
  }
  return static_cast<int>(ExitCode::done);
}

}  // namespace

int main(int argc, char** argv) {
  auto const refuse = [](std::string const& words, benchward::ExitCode code) {
    auto const text = "benchward-sim: " + words + "\n";
    std::fwrite(text.data(), 1, text.size(), stderr);
    return static_cast<int>(code);
  };
  try {
    return run(argc, argv);
  } catch (UsageError const& wrong) {
    return refuse(wrong.what(), benchward::ExitCode::bad_input);
  } catch (benchward::DocumentError const& wrong) {
    return refuse(wrong.what(), benchward::ExitCode::bad_input);
  } catch (benchward::sim::CannotServe const& wrong) {
    return refuse(wrong.what(), benchward::ExitCode::bad_input);
  } catch (std::exception const& defect) {
    return refuse(std::string("a defect of the program: ") + defect.what(), benchward::ExitCode::defect);
  }
}
