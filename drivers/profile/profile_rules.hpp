// SPDX-License-Identifier: MIT
#pragma once

/// What must hold between the parts of a profile, besides the form of each part.

#include <string>

#include "profile.hpp"

namespace benchward {

/// Throws DocumentError (ids in profile_document.hpp); `name` is the document's.
void judge_profile(Profile const& profile, std::string const& name);

}  // namespace benchward
