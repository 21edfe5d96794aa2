// SPDX-License-Identifier: MIT
#pragma once

/// A known object on the bench, measured by the instruments and over the leads that measure the units: it judges the
/// bench, not itself. Run at the start of a shift, after a trip, after leads, ranges or calibration were changed; an
/// instrument beyond its error limit blocks "for record".

#include <optional>
#include <string>
#include <vector>

#include "../../limits/unit/unit.hpp"
#include "../journal/event_store.hpp"
#include "../journal/events.hpp"
#include "../plan/plan.hpp"

namespace benchward {

/// One value of the object that is known from elsewhere.
struct DeclaredValue {
  std::string test, quantity, at;  ///< of the result, as in a record
  double value = 0.0;
  double limit = 0.0;  ///< largest deviation of a reading: the instrument's error limit, in the value's unit
  std::string unit;
  std::string instrument;      ///< whose error it shows: "voltmeter", "resistance meter"
  std::optional<double> at_c;  ///< of a winding's resistance: declared at this temperature
  std::optional<Metal> metal;  ///< of the same
};

struct CheckObject {
  Unit unit;  ///< its data: connections, taps and levels are planned as for any other
  std::vector<DeclaredValue> declared;
};

/// The part of a plan that the declared values need; the rest is left out with the reason.
Plan plan_for_object(Plan plan, CheckObject const& object);

/// What the object says of the bench: a declared value that was not read, or is off by more than its limit, is a line.
ObjectChecked judge_by_object(CheckObject const& object, std::vector<Evaluation> const& evaluations);

/// How long a good check lasts (common practice, no source: a shift and its handing over).
inline constexpr Duration longest_shift = minutes(12.0 * 60.0);

/// Where a bench stands with its check object by the journal.
struct BenchStanding {
  std::optional<ObjectChecked> last;  ///< of this bench as its document stands, by an object of any family
  std::string why_not_for_record;     ///< empty: for record. Never checked, too long ago, a trip since, or beyond
  /// An instrument is beyond its limit: nothing is released, asked for record or not.
  bool beyond() const { return last && !last->passed; }
};
/// `phases` of the unit that is to be tested: a single-phase object leaves two of three elements unseen, and the other
/// way round a three-phase one does not show the single-phase leads. Every family needs its own.
BenchStanding bench_standing(EventStore const& store, std::string const& bench_hash, Stamp now, int phases);

}  // namespace benchward
