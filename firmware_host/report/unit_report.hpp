// SPDX-License-Identifier: MIT
#pragma once

/// Certified test reports out of records: per unit and per lot. Minimum contents by ISO/IEC 17025:2017, 7.8.2
/// and 7.8.6.

#include <string>
#include <vector>

#include "firmware_host/record/lot.hpp"
#include "firmware_host/report/report_page.hpp"
#include "firmware_host/report/report_wishes.hpp"
#include "tests_seq/journal/record_view.hpp"

namespace benchward::report {

struct Issue {
  std::string issued;            ///< ISO day; empty: the day of the record's end
  std::string authorised_by;     ///< empty: the wishes'
  std::string replaces, reason;  ///< number of the report that this one replaces, and why
};

/// `attempts`: all of the unit, this one among them, in the order of their starts. `extract`: the journal's entries for
/// the attachment, `head` the signed line; both empty where no head is signed.
Report unit_report(AttemptRecord const& record, std::vector<AttemptRecord> const& attempts, Wishes const& wishes,
                   Issue const& issue, std::string const& extract, std::string const& head);

Report lot_report(Lot const& lot, std::string const& of, std::vector<AttemptRecord> const& records,
                  Wishes const& wishes, Issue const& issue, std::string const& head);

/// "ID-1", with the wishes' name "ID-1-NAME"; replacing "ID-1" gives "ID-2". Throws DocumentError where the replaced
/// number is not one of this record.
std::string report_number(std::string const& id, Wishes const& wishes, Issue const& issue);

}  // namespace benchward::report
