// SPDX-License-Identifier: MIT
#pragma once

/// A simulated instrument as its own electronics see it: named points that can be read and written. Two faces stand on
/// top of it: a server on a real wire (sim/wires, lays the points out as registers or text by the instrument's
/// profile) and a role object in process (sim/instruments, waits on the handed-in clock). Values leave as whole counts
/// of one least count, as a real instrument's do.
///
/// What the wires make of a profile (names: drivers/profile/role_names.hpp):
/// - numbers, read or written, are in the base unit of their dimension: V, A, W, ohm, Hz, s, rad, degC, 1;
/// - each named bit of a bit row is a point of the bit's own name, 0 or 1 ("at_zero", "done", "no_compliance");
/// - "maker", "model", "serial", "firmware" are texts; without a text the profile's own word stands;
/// - terminals are written by write_text: "H1", tied ones "H2+H3", "" for none, whatever the profile's wire form is;
/// - a sequence of the profile that is set off (its command register written with its value, its text command sent, or
///   its rows written where it needs no command) is write("do.SEQUENCE", 1): "do.measure", "do.output_off",
///   "do.select", "do.set_current", "do.current_off", "do.set", "do.to_zero", "do.start", "do.stop", "do.set_up"; the
///   settings of the same request were written before it. Settings alone change nothing at the output.

#include <optional>
#include <string>
#include <string_view>

namespace benchward::sim {

class SimInstrument {
 public:
  SimInstrument() = default;
  SimInstrument(SimInstrument const&) = delete;
  SimInstrument& operator=(SimInstrument const&) = delete;
  virtual ~SimInstrument() = default;

  virtual std::string const& name() const = 0;  ///< of the bench document
  virtual std::string const& role() const = 0;

  /// The value of a profile point ("voltage.1", "status", "identity.serial" has text()), in the point's unit, already
  /// with the instrument's errors, not yet rounded to the wire's least count. Nothing: over-range or not measuring.
  virtual std::optional<double> point(std::string_view point_name) = 0;
  virtual std::optional<std::string> text(std::string_view point_name) = 0;
  /// A setting or command written by the station. False: the device refuses it (Modbus exception, text error).
  virtual bool write(std::string_view point_name, double value) = 0;
  virtual bool write_text(std::string_view point_name, std::string_view value) = 0;
  /// How long the device takes to answer a request, simulated seconds.
  virtual double answer_delay_s() const = 0;
};

}  // namespace benchward::sim
