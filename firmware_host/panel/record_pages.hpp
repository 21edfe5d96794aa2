// SPDX-License-Identifier: MIT
#pragma once

/// What the records room shows of kept attempts: one record, its report, one result over many units. Each opens the
/// records folder to read and answers; meant for a thread that no run waits for.

#include <string>

#include "drivers/task.hpp"
#include "firmware_host/panel/answer.hpp"

namespace benchward::panel {

/// Words and JSON of one attempt.
Task<Response> record_page_of(std::string records, std::string id);
/// Its report as a PDF, as `records report` writes it without wishes.
Task<Response> report_of(std::string records, std::string id);

struct ChartWishes {
  std::string design;      ///< empty: of the newest record
  std::string what;        ///< "test/quantity/at"; empty: the first with a limit
  bool simulated = false;  ///< records of simulated benches, or of real ones; never mixed
};
/// One result of the newest records of a design, oldest first, with its limits.
Task<Response> chart_of(std::string records, ChartWishes wishes);

}  // namespace benchward::panel
