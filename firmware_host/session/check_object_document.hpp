// SPDX-License-Identifier: MIT
#pragma once

/// Reader of check object documents: a unit's data, and what is known of it from elsewhere.

#include <string>

#include "tests_seq/sequence/check_object.hpp"

namespace benchward {

/// Throws DocumentError with the place.
CheckObject read_check_object(std::string const& path);

}  // namespace benchward
