// SPDX-License-Identifier: MIT
#pragma once

/// What every server of this folder shares: simulated time, the bench brought up to it before each request, faults.

#include <algorithm>
#include <cstdint>
#include <functional>
#include <optional>
#include <stdexcept>
#include <string>

#include "modbus_pdu.hpp"
#include "served_bench.hpp"
#include "wire_faults.hpp"

namespace benchward::sim {

/// A port that is taken, or no pseudo terminal to be had: nothing that the simulator can do about.
class CannotServe : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// Simulated time, handed in: it runs `scale` times faster than the wall's.
struct BenchTime {
  std::function<std::int64_t()> now_ns;
  double scale = 1.0;
};

struct WireContext {
  BenchTime time;
  ServedBench& bench;
  WireFaults& faults;
  std::optional<std::int64_t> contactors_closed_at_ns;  ///< of some source; kept by the I/O block
  std::function<void(std::string const&)> notice{};     ///< a client did what no client should; may be empty

  /// To be called before anything is asked of the bench.
  void bring_up_to_date() { bench.advance_to(time.now_ns()); }

  AnswerContext answer_context(double time_limit_s) const {
    AnswerContext context;
    // A station does not wait less than 20 ms of wall time, however fast the bench runs.
    context.time_limit_s = std::max(time_limit_s, 0.020);
    context.time_scale = time.scale;
    if (contactors_closed_at_ns) {
      context.contactors_closed_s = static_cast<double>(time.now_ns() - *contactors_closed_at_ns) * 1e-9;
    }
    return context;
  }
};

/// One Modbus device at an address of a link.
struct ModbusDevice {
  std::string name;
  int unit_id = 1;
  RegisterSpace* registers = nullptr;
  SimInstrument* instrument = nullptr;  ///< for its answer time; none: answers at once
  double time_limit_s = 1.0;
};

}  // namespace benchward::sim
