// SPDX-License-Identifier: MIT
#pragma once

#include <string>

#include "firmware_host/report/report_page.hpp"

namespace benchward::report {

/// The PDF with the report's attachments embedded, its language named and an identifier that follows from its content.
std::string with_attachments(std::string const& pdf, Report const& report);

}  // namespace benchward::report
