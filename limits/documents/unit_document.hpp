// SPDX-License-Identifier: MIT
#pragma once

/// The unit document as JSON: rating plate, order and genealogy of one transformer. `unit.schema.json` beside this file
/// describes the shape for other tools; this reader is the only judge.

#include <string>
#include <string_view>

#include "../unit/unit.hpp"
#include "document_error.hpp"

namespace benchward {

/// Reads and checks a unit document. Throws DocumentError: the `document.*` ids of a document that is no JSON or has
/// wrong keys, and `unit.*` ids of one that contradicts itself (docs of each: `unit_checks.hpp`).
Unit read_unit(std::string const& path);

/// The same from a text; `name` stands in messages.
Unit parse_unit(std::string_view text, std::string const& name);

/// Compact JSON that `parse_unit` reads back as the same unit, to the last bit of every number.
std::string write_unit(Unit const& unit);

}  // namespace benchward
