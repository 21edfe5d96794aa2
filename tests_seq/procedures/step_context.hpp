// SPDX-License-Identifier: MIT
#pragma once

/// What every procedure gets: roles, operator, guard, clock, journal; and the few acts that all of them share. A
/// procedure measures and hands out raw readings; it judges nothing.

#include <string>
#include <utility>
#include <vector>

#include "../../drivers/bench/bench.hpp"
#include "../../drivers/roles/operator.hpp"
#include "../../drivers/roles/roles.hpp"
#include "../../drivers/time/clock.hpp"
#include "../guard/desk.hpp"
#include "../journal/journal.hpp"
#include "../plan/plan.hpp"
#include "progress.hpp"
#include "step_stopped.hpp"

namespace benchward {

/// The bench's instruments by role; absent ones are null (a plan that needs one refuses beforehand).
struct TestRoles {
  RatioMeter* ratio_meter = nullptr;
  ResistanceMeter* resistance_meter = nullptr;
  PowerAnalyzer* power_analyzer = nullptr;
  AcSource* ac_source = nullptr;
  ThermometerScanner* thermometer_scanner = nullptr;
  DielectricTester* dielectric_tester = nullptr;
  InsulationMeter* insulation_meter = nullptr;
};

/// The outer world of a run.
struct RunWorld {
  Unit const& unit;
  Bench const& bench;
  TestRoles const& roles;
  Operator& person;
  GuardDesk& guard;
  Clock& clock;
  Journal& journal;
  ProgressSink& progress;
};

/// What a source gave while it was raised: tells a breakdown from what the bench does to a sound unit.
struct RampPoint {
  Voltage volts;
  Current amperes;
};

/// One step of one attempt.
struct StepContext {
  StepContext(RunWorld& of_world, PlanStep const& of_plan, std::string of_attempt)
      : world(of_world), plan_step(of_plan), attempt(std::move(of_attempt)) {}

  RunWorld& world;
  PlanStep const& plan_step;
  std::string attempt;
  int step = 0, of = 0;
  bool area_unbroken = false;                        ///< the step before kept the area: no new consent, no new warning
  TemperatureReadings const* temperature = nullptr;  ///< the newest, for readings that carry one
  std::optional<Stamp> energised_at;                 ///< of the running ramp
  std::vector<RampPoint> ramp;                       ///< of the running energisation, GOOD readings only
};

/// An instrument that the plan promised. Throws StepStopped where it is missing.
template <class Role>
Role& in_role(Role* role, char const* name) {
  if (role != nullptr) return *role;
  throw StepStopped(StopCause::cannot_measure,
                    std::string("no ") + name + " on this bench: the plan should have refused");
}

/// The answer's value, or StepStopped with the device's fault.
template <class T>
Task<T> need(Task<Answer<T>> call) {
  Answer<T> answer = co_await std::move(call);
  if (!answer) throw StepStopped(answer.error());
  co_return std::move(answer).value();
}

/// Keeps an event; StepStopped (journal) where that fails.
Task<void> keep(StepContext& at, EventBody body, Durability durability);
/// Keeps raw readings durably: before anything is computed from them is shown.
Task<void> keep_readings(StepContext& at, std::string kind, std::string readings_json);
/// Asks, keeps question and answer, answers the answer.
Task<std::string> ask(StepContext& at, Question question);
Task<void> keep_act(StepContext& at, std::string act, std::string words);

/// Intent kept durably, consent of the person (unless the area was kept unbroken), then the guard: warning, earth,
/// contactors. StepStopped where anybody refuses.
Task<Permit> energise(StepContext& at, StepEnergy energy);
/// The step's own stop by the guard, after the source has been set to zero. `keep_area`: a step on the same leads
/// follows.
Task<void> de_energise(StepContext& at, bool keep_area);
/// Throws StepStopped (guard) where consent was withdrawn.
void require_live(StepContext const& at, Permit const& permit);
/// Waits while consent lasts, looking every 100 ms.
Task<void> wait_energised(StepContext& at, Permit const& permit, Duration duration);
/// Sets the tap with the unit earthed and keeps the act.
Task<void> set_tap(StepContext& at, int position);
/// Temperatures now.
Task<TemperatureReadings> read_temperatures(StepContext& at);

}  // namespace benchward
