// SPDX-License-Identifier: MIT
#pragma once

/// The words for verdicts, outcomes, dispositions and qualities: one list for limit sets, journal and records.

#include "../reading.hpp"
#include "../result.hpp"
#include "unit_words.hpp"

namespace benchward::words {

inline constexpr List<Verdict, 5> verdicts{{{"pass", Verdict::pass},
                                            {"conditional pass", Verdict::conditional_pass},
                                            {"conditional fail", Verdict::conditional_fail},
                                            {"fail", Verdict::fail},
                                            {"not judged", Verdict::not_judged}}};

inline constexpr List<Outcome, 5> outcomes{{{"PASS", Outcome::pass},
                                            {"FAIL", Outcome::fail},
                                            {"INVALID", Outcome::invalid},
                                            {"ABORTED", Outcome::aborted},
                                            {"NOT_RUN", Outcome::not_run}}};

inline constexpr List<Disposition, 3> dispositions{
    {{"release", Disposition::release}, {"hold", Disposition::hold}, {"repeat", Disposition::repeat}}};

inline constexpr List<Quality, 3> qualities{
    {{"GOOD", Quality::good}, {"UNCERTAIN", Quality::uncertain}, {"BAD", Quality::bad}}};

}  // namespace benchward::words
