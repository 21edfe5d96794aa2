// SPDX-License-Identifier: MIT
#pragma once

/// From JSON (schema beside this file) to `Profile`, with everything refused that would be read wrongly later.

#include <string>
#include <string_view>
#include <vector>

#include "profile.hpp"

namespace benchward {

struct Bench;
struct InstrumentDeclaration;

/// Reads and judges a profile. Throws DocumentError: `document.*` (form), `profile.role`, `profile.address`,
/// `profile.order`, `profile.overlap`, `profile.span`, `profile.unit`, `profile.scale`, `profile.range`,
/// `profile.row-missing`, `profile.name-twice`, `profile.bits`, `profile.exponent`, `profile.sequence`,
/// `profile.command`.
Profile parse_profile(std::string_view text, std::string const& name);
Profile read_profile(std::string const& path);

/// Ids of the profiles that are compiled in, and one of them; throws DocumentError `profile.unknown` with the nearest.
std::vector<std::string> built_in_profiles();
Profile const& built_in_profile(std::string const& id);

/// The profile of an instrument of a bench: a compiled-in id, or a path (it ends in .json) relative to the bench
/// document's folder. Throws DocumentError also where role or kind of link do not fit (`bench.profile`).
Profile profile_of(InstrumentDeclaration const& instrument, Bench const& bench);

}  // namespace benchward
