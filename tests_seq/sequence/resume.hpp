// SPDX-License-Identifier: MIT
#pragma once

/// An interrupted sequence taken up again at a test boundary on the same bench: which steps stand, which are repeated,
/// and why. Worked out from the journal and the plan alone, before anybody touches a lead.

#include <string>
#include <string_view>
#include <vector>

#include "../journal/record_view.hpp"
#include "../plan/plan.hpp"

namespace benchward {

/// What a resumed run does with a test that was finished (practice of the trade, no source; the safe side).
struct ResumeRule {
  enum class Fate {
    stands,
    repeats,               ///< in every resumed run
    repeats_before_volts,  ///< while a step above low voltage is still to come
    repeats_with_loss,     ///< while a load loss is still to come
    repeats_after_stress   ///< where a dielectric step was energised and not finished
  };
  std::string_view test;
  Fate fate;
  std::string_view why;
};

/// The table, a rule a test.
std::vector<ResumeRule> const& resume_table();

struct StepFate {
  bool stands = false;
  std::string why;
  std::vector<RecordedText> readings;  ///< of a step that stands: raw, as they were kept
  std::string evaluation;  ///< of the same, its last one of its own test: JSON object; empty where it had none
};

struct Resumption {
  std::string attempt;          ///< the interrupted one
  std::string interrupted;      ///< when and why, for the person
  bool needs_reason = false;    ///< the unit is on hold: nothing is energised without a signed reason
  std::vector<StepFate> steps;  ///< one a step of the plan
  std::size_t standing() const;
};

/// What must be the same, and the hour.
struct ResumeCircumstances {
  std::string unit_hash, bench_hash, limit_set_hash;
  std::string newest_of_serial;  ///< the last attempt in the journal at this serial
  std::string reworked;          ///< what the journal says was done to the unit since; empty: nothing
  Stamp now;
};

/// Longest time from the interruption to the resumed run: longer, and nobody knows what was done to the unit meanwhile
/// (house value, no source).
inline constexpr Duration longest_interruption = minutes(24.0 * 60.0);

/// Throws DocumentError (`plan.resume`) where nothing can be resumed, with the reason and what to do instead: another
/// unit document, bench, limit set or plan, a newer attempt, a finished or rejecting one, too long ago.
Resumption resumption_of(AttemptRecord const& record, Plan const& plan, ResumeCircumstances const& circumstances);

/// The plan as the resumed run goes through it: every step, those that stand without an open area before or after them.
Plan plan_resumed(Plan plan, Resumption const& resumption);

/// Newest attempt at a serial in a journal; empty: none.
std::string newest_attempt_of(EventStore const& store, std::string const& serial);

}  // namespace benchward
