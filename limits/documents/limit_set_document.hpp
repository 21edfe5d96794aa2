// SPDX-License-Identifier: MIT
#pragma once

/// The limit set as JSON, and the sets that are built in. `limit_set.schema.json` beside this file describes the shape.

#include <string>
#include <string_view>
#include <vector>

#include "../rules/limit_set.hpp"
#include "document_error.hpp"

namespace benchward {

/// Reads and checks a limit set; its hash is the SHA-256 of the text. Throws DocumentError: `document.*`, and
/// `limits.rows-order`, `limits.no-such-table`, `limits.duplicate-id`, `limits.verdicts`, `limits.bound`.
LimitSet read_limit_set(std::string const& path);
LimitSet parse_limit_set(std::string_view text, std::string const& name);

/// "builtin-ieee", "builtin-iec".
std::vector<std::string> builtin_limit_set_names();
/// The JSON text as compiled in. Throws DocumentError (`limits.no-such-set`) for another name.
std::string_view builtin_limit_set_text(std::string const& name);
/// The default set of a family.
LimitSet builtin_limit_set(StandardFamily standard);

/// SHA-256 as 64 hexadecimal digits.
std::string sha256_hex(std::string_view text);

}  // namespace benchward
