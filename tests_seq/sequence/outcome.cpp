// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/outcome.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "tests_seq/guard/words.hpp"
#include "tests_seq/journal/events.hpp"

namespace benchward {

TripMeaning meaning_of_condition(int number) {
  switch (number) {
    case 1:   // emergency stop
    case 2:   // gate
    case 3:   // gate lock: escape from inside, or force
    case 5:   // area searched, keys home
    case 9:   // earth sticks, spare leads
    case 20:  // instrument covers
    case 21:  // two-hand
    case 25:  // program start
    case 28:  // operator, observer
    case 32:  // gate never opened
      return TripMeaning::aborted;
    case 15:  // over-current, flash-over
    case 16:  // voltage above the step's ceiling
      return TripMeaning::perhaps_unit;
    default:
      return TripMeaning::bench;
  }
}

bool later_conditions_are_clean(TripRecord const& trip) {
  // An over-current makes the source's own relay act (supply not healthy), opens its contactors, drops volts.
  return std::all_of(trip.later.begin(), trip.later.end(), [](Condition const& condition) {
    return condition.number == 15 || condition.number == 16 || condition.number == 26 ||
           meaning_of_condition(condition.number) == TripMeaning::aborted;
  });
}

namespace {

StopVerdict verdict(Outcome outcome, Disposition disposition, std::string reason) {
  StopVerdict made;
  made.outcome = outcome;
  made.disposition = disposition;
  made.reason = std::move(reason);
  return made;
}

StopVerdict of_refusal(Refusal const& refusal, bool step_names_it) {
  if (!refusal.trip.happened) {
    // Consent taken back without a trip: somebody asked the guard for a stop. Refused before energy: the bench is not
    // ready.
    bool const stopped = refusal.id == "guard.stopped";
    return verdict(stopped ? Outcome::aborted : Outcome::invalid, Disposition::repeat, refusal.words);
  }
  int const first = refusal.trip.first.number;
  auto const reason = trip_words(first, refusal.trip.first.words, refusal.trip.detail);
  switch (meaning_of_condition(first)) {
    case TripMeaning::aborted:
      return verdict(Outcome::aborted, Disposition::repeat, reason);
    case TripMeaning::bench:
      return verdict(Outcome::invalid, Disposition::repeat, reason);
    case TripMeaning::perhaps_unit:
      break;
  }
  if (!step_names_it) {
    return verdict(Outcome::invalid, Disposition::hold,
                   reason + "; this step does not name it as the unit's failure: suspect");
  }
  auto unit = verdict(Outcome::invalid, Disposition::hold, reason);
  unit.breakdown_of_unit = true;
  return unit;
}

}  // namespace

StopVerdict verdict_of_stop(StepStopped const& stopped, bool step_names_it) {
  switch (stopped.cause) {
    case StopCause::device:
    case StopCause::cannot_measure:
    case StopCause::wrong_unit:
      return verdict(Outcome::invalid, Disposition::repeat, stopped.words);
    case StopCause::person:
    case StopCause::journal:
      return verdict(Outcome::aborted, Disposition::repeat, stopped.words);
    case StopCause::guard:
      return of_refusal(stopped.refusal, step_names_it);
    case StopCause::breakdown: {
      auto unit = verdict(Outcome::invalid, Disposition::hold, stopped.words);
      unit.breakdown_of_unit = step_names_it;
      return unit;
    }
  }
  return verdict(Outcome::invalid, Disposition::repeat, stopped.words);
}

Disposition worse(Disposition a, Disposition b) {
  auto const rank = [](Disposition disposition) {
    return disposition == Disposition::hold ? 2 : disposition == Disposition::repeat ? 1 : 0;
  };
  return rank(a) >= rank(b) ? a : b;
}

std::string disposition_in_words(Disposition disposition, std::string const& stage) {
  if (disposition == Disposition::release && stage == "before_closing") return "close the tank";
  return std::string(journal_words::of(disposition));
}

}  // namespace benchward
