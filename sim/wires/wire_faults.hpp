// SPDX-License-Identifier: MIT
#pragma once

/// What goes wrong on the wires: from a sound answer to the pieces that really leave, and when. Pure; the servers of
/// this folder ask here for each answer, the control socket and the command line set and clear. Names, values and
/// effects are those of the "wires" part of the fault list (sim/faults).

#include <cstdint>
#include <map>
#include <optional>
#include <random>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "modbus_frame.hpp"

namespace benchward::sim {

enum class WireKind : std::uint8_t { modbus_tcp, modbus_rtu, text, text_tcp };

/// Some bytes that leave together, after a wait in simulated seconds.
struct WirePiece {
  double wait_s = 0.0;
  Bytes bytes;
};

struct WireAnswer {
  std::vector<WirePiece> pieces;
  bool close_after = false;  ///< the connection is closed (TCP), or the adapter pulled (serial)
};

/// What an answer depends on besides its bytes.
struct AnswerContext {
  double time_limit_s = 1.0;                  ///< the station's, for this device, in wall time: what "late" means
  double time_scale = 1.0;                    ///< simulated seconds in one of the wall's
  std::optional<double> contactors_closed_s;  ///< for how long a supply contactor pair has been closed
};

class WireFaults {
 public:
  explicit WireFaults(std::uint64_t seed);

  /// Makes a device known, in the order of the bench document's instruments; the I/O block has the role "io".
  void add_device(std::string const& name, std::string const& role, WireKind kind);

  /// Sets a fault. `device` names one; without it the value does, where the fault list says so. Empty: done; else why
  /// not, beginning with the key that is wrong ("fault", "value", "device").
  std::string set(std::string const& fault, std::optional<double> value, std::optional<std::string> const& device = {});
  /// Whether there was anything to clear. "all" clears everything.
  bool clear(std::string_view fault_or_all);

  bool on(std::string_view device, std::string_view fault) const { return value(device, fault).has_value(); }
  /// The value of a fault that is in force at a device.
  std::optional<double> value(std::string_view device, std::string_view fault) const;
  /// The I/O block's inputs stand still (io-frozen); latched from its first moment until cleared.
  bool io_frozen(AnswerContext const& context);

  WireAnswer shape(std::string const& device, TcpFrame const& request, Bytes answer, AnswerContext const& context);
  WireAnswer shape(std::string const& device, RtuFrame const& request, Bytes answer, AnswerContext const& context);
  /// `request` and `answer` with their line ends; an empty answer: a command that has none.
  WireAnswer shape_text(std::string const& device, Bytes const& request, Bytes answer, AnswerContext const& context);

 private:
  struct Device {
    std::string name, role;
    WireKind kind = WireKind::modbus_tcp;
    std::uint64_t answers = 0;
    Bytes answer_before;
  };
  Device* device_named(std::string_view name);
  std::vector<Device const*> targets(std::string const& fault, double value, std::optional<std::string> const& device,
                                     std::string& why_not) const;
  bool due(std::string_view fault, AnswerContext const& context);
  WireAnswer in_pieces(Device& device, Bytes const& request, Bytes frame, AnswerContext const& context);

  std::vector<Device> devices_;
  std::map<std::pair<std::string, std::string>, double, std::less<>> in_force_;  ///< by device and fault
  bool io_lost_ = false, io_frozen_ = false;
  std::mt19937 random_;
};

}  // namespace benchward::sim
