// SPDX-License-Identifier: MIT
#pragma once

/// What the panel's interface answers with.

#include <string>

#include "firmware_host/panel/server/http_server.hpp"

namespace benchward::panel {

/// `{"error": words}`.
Response refusal(int status, std::string const& words);
/// 200 with a JSON text.
Response json_answer(std::string body);

}  // namespace benchward::panel
