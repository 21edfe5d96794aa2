// SPDX-License-Identifier: MIT
// Applied voltage on one winding (IEEE C57.12.90 and IEC 60076-3, from memory): from below a quarter to the level,
// crest over root two at the winding, held 60 s, lowered to a quarter in 5 s. What breaks down is said, kept and not
// repeated.
#include <optional>

#include <fmt/format.h>

#include "tests_seq/procedures/ac_supply.hpp"
#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/procedures/readings_text.hpp"

namespace benchward {

namespace {

constexpr double collapsed_below = 0.9;  ///< of the level, in the hold
constexpr Duration patience = seconds(10);

BreakdownReading broken(StepContext const& at, std::string cause, DielectricTester::State const& state) {
  return breakdown_at(at, std::move(cause), state.level.value, state.current.value);
}

void look_for_breakdown(StepContext const& at, AppliedWork const& work, DielectricTester::State const& state,
                        bool holding) {
  if (state.tripped) throw StepStopped::broken_down(broken(at, "the set's over-current relay acted", state));
  if (holding && state.level.good() && state.level.value < work.level * collapsed_below) {
    throw StepStopped::broken_down(broken(at,
                                          fmt::format("voltage collapsed to {:.4g} kV of {:.4g} kV",
                                                      state.level.value.in(kilovolts), work.level.in(kilovolts)),
                                          state));
  }
}

Task<void> raise(StepContext& at, Permit const& permit, AppliedWork const& work, DielectricTester& tester) {
  Clock& clock = at.world.clock;
  DielectricTester::Setting setting;
  setting.level = work.level;
  setting.frequency = work.frequency;
  setting.ramp = work.ramp;
  setting.trip_current = work.trip;
  at.world.guard.raising();
  auto const begin = clock.now();
  co_await need(tester.set(permit, std::move(setting)));
  for (;;) {
    co_await wait_energised(at, permit, milliseconds(200));
    auto const state = co_await need(tester.read());
    require_live(at, permit);
    if (state.level.good()) at.world.progress.reading("level", state.level.value.in(kilovolts), "kV");
    if (state.level.good() && state.current.good()) {
      RampPoint const point{state.level.value, state.current.value};
      at.ramp.push_back(point);
    }
    look_for_breakdown(at, work, state, false);
    if (state.at_set) co_return;
    if (between(begin, clock.now()) > work.ramp + patience) {
      throw StepStopped::broken_down(broken(at,
                                            fmt::format("level not reached: {:.4g} kV of {:.4g} kV",
                                                        state.level.value.in(kilovolts), work.level.in(kilovolts)),
                                            state));
    }
  }
}

Task<void> hold(StepContext& at, Permit const& permit, AppliedWork const& work, DielectricTester& tester,
                AppliedReadings& readings) {
  Clock& clock = at.world.clock;
  at.world.guard.reached();
  auto const begin = clock.now();
  for (;;) {
    auto const state = co_await need(tester.read());
    require_live(at, permit);
    look_for_breakdown(at, work, state, true);
    readings.level.push_back(state.level);
    readings.current.push_back(state.current);
    readings.frequency = state.frequency;
    readings.held = between(begin, clock.now());
    at.world.progress.hold_left(work.hold - readings.held);
    if (state.current.good()) at.world.progress.reading("hold current", state.current.value.in(milliamperes), "mA");
    if (readings.held >= work.hold) co_return;
    co_await wait_energised(at, permit, seconds(1));
  }
}

}  // namespace

Task<AppliedReadings> measure_applied(StepContext& at, AppliedWork const& work) {
  DielectricTester& tester = in_role(at.world.roles.dielectric_tester, "dielectric_tester");
  AppliedReadings readings;
  readings.winding = work.winding;
  readings.stray_current = work.stray;

  std::optional<Permit> permit = co_await energise(at, *at.plan_step.energy);
  std::exception_ptr stopped;
  try {
    co_await raise(at, *permit, work, tester);
    co_await hold(at, *permit, work, tester, readings);
  } catch (StepStopped const& seen) {
    readings.broke_down = seen.cause == StopCause::breakdown || seen.cause == StopCause::guard;
    readings.what_happened = seen.words;
    stopped = std::current_exception();
  }
  if (stopped) {
    permit.reset();  // the guard cuts first; the record comes after
    co_await keep_readings(at, "applied", readings_text(readings));
    std::rethrow_exception(stopped);
  }
  auto const lowered = co_await tester.to_zero(seconds(5));
  co_await de_energise(at, at.plan_step.keeps_area);
  if (!lowered) throw StepStopped(lowered.error());
  co_await keep_readings(at, "applied", readings_text(readings));
  if (!work.expected && !readings.current.empty()) {
    Question question;
    question.id = "applied.current";
    question.text = fmt::format("Hold current {:.4g} mA on the {} winding. Is that right for this design?",
                                readings.current.back().value.in(milliamperes), work.winding);
    question.choices = {"yes", "no"};
    auto const answer = co_await ask(at, std::move(question));
    if (answer != "yes") {
      throw StepStopped(
          StopCause::cannot_measure,
          "applied: the hold current was not confirmed: lead off, or winding not earthed; nothing was proven");
    }
  }
  co_return readings;
}

}  // namespace benchward
