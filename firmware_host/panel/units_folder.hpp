// SPDX-License-Identifier: MIT
#pragma once

/// The orders waiting for this bench: unit documents in a folder, found by serial. Read anew whenever a unit is looked
/// for, so that an order that came a minute ago is there.

#include <optional>
#include <string>
#include <vector>

#include "limits/unit/unit.hpp"

namespace benchward::panel {

struct WaitingUnit {
  Unit unit;
  std::string file;
};

struct UnitsFolder {
  std::vector<WaitingUnit> units;     ///< by serial
  std::vector<std::string> unusable;  ///< documents that could not be read, each with what is wrong
};

/// Reads every `*.json` of the folder, 2,000 at most. An empty name, or a folder that cannot be read, is no unit; the
/// latter is said in `unusable`. Two documents of one serial: neither is taken, both are named.
UnitsFolder read_units_folder(std::string const& folder);

/// A serial as a scanner or a person gives it: without control characters and spaces around it. Nothing left, or more
/// than 80 characters: no serial.
std::optional<std::string> clean_serial(std::string const& typed);

}  // namespace benchward::panel
