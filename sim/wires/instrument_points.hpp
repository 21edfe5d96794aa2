// SPDX-License-Identifier: MIT
#pragma once

/// What the register and the text face of an instrument have in common: points by the profile's names, commands, and
/// the faults that change values rather than frames.

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "../../drivers/profile/profile.hpp"
#include "../instruments/sim_instrument.hpp"
#include "wire_faults.hpp"

namespace benchward::sim {

class InstrumentPoints {
 public:
  /// `serial`: of the bench document, for an instrument that does not say its own.
  InstrumentPoints(Profile const& profile, SimInstrument& instrument, WireFaults const& faults, std::string serial)
      : profile_(profile), instrument_(instrument), faults_(faults), serial_(std::move(serial)) {}

  Profile const& profile() const { return profile_; }
  SimInstrument& instrument() { return instrument_; }

  /// In the base unit of the point's dimension. Nothing: no reading.
  std::optional<double> number(std::string const& name);
  /// Named bits of a field as one word.
  std::uint16_t bits(std::vector<NamedBit> const& named);
  /// An identity text: the instrument's own, else the profile's.
  std::optional<std::string> text(std::string const& name);

  /// A setting of the role: never a command register.
  bool is_setting(std::string const& name) const;
  /// Whether a sequence of the profile writes this value into this row as a constant, and the row is no setting.
  bool is_command(std::string const& row, double value_in_unit) const;
  /// The sequence that a request with these rows sets off; values in the rows' units.
  std::optional<std::string> sequence_of(std::map<std::string, double> const& written) const;
  /// The sequence that a text command sets off.
  std::optional<std::string> sequence_of_command(std::string const& command) const;

  bool fault(std::string_view name) const { return faults_.on(instrument_.name(), name); }

 private:
  Profile const& profile_;
  SimInstrument& instrument_;
  WireFaults const& faults_;
  std::string serial_;
  std::map<std::string, std::optional<double>> frozen_;
};

}  // namespace benchward::sim
