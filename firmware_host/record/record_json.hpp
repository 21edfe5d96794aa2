// SPDX-License-Identifier: MIT
#pragma once

/// The record of one attempt for programs and for people: a view of the journal, nothing that is stored.

#include <string>
#include <vector>

#include "firmware_host/store/record_catalogue.hpp"
#include "limits/result.hpp"
#include "tests_seq/journal/record_view.hpp"

namespace benchward {

/// The evaluations of an attempt in the order of its steps, the last one of each step.
std::vector<Evaluation> evaluations_of(AttemptRecord const& record);

/// One JSON object: `record_id`, `outcome`, `disposition`, `reason`, `simulated`, `serial`, times, `results` [{test,
/// quantity, at, value, unit, limit, verdict, ...}], `warnings`, `steps`, documents by hash.
std::string record_json(AttemptRecord const& record);

/// The record as a page of text: who, what, when, table, outcome. "SIMULATED, NOT FOR RELEASE" first where it is so.
std::string record_page(AttemptRecord const& record);

/// One line of a list: id, start, serial, outcome, disposition, reason.
std::string row_line(CatalogueRow const& row);

/// The line as JSON object.
std::string row_json(CatalogueRow const& row);

}  // namespace benchward
