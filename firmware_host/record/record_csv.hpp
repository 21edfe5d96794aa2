// SPDX-License-Identifier: MIT
#pragma once

/// Records for tables: a line a result (RFC 4180). Numbers as shortest round-trip text with a point.

#include <string>

#include "tests_seq/journal/record_view.hpp"

namespace benchward {

std::string csv_header();
/// Lines of one record, each ended by CR LF.
std::string record_csv(AttemptRecord const& record);
/// One field: quoted where it must be; a text that a table program would take for a formula begins with an apostrophe.
std::string csv_field(std::string const& text);

}  // namespace benchward
