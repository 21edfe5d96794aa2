// SPDX-License-Identifier: MIT
#include "tests_seq/procedures/step_context.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace benchward {

Task<void> keep(StepContext& at, EventBody body, Durability durability) {
  auto kept = co_await at.world.journal.record(std::move(body), durability);
  if (!kept) throw StepStopped::journal_failed(kept.error());
}

Task<void> keep_readings(StepContext& at, std::string kind, std::string readings_json) {
  ReadingsTaken taken;
  taken.attempt = at.attempt;
  taken.step = at.step;
  taken.test = at.plan_step.test;
  taken.kind = std::move(kind);
  taken.readings = std::move(readings_json);
  co_await keep(at, body_of(taken), Durability::durable);
}

Task<std::string> ask(StepContext& at, Question question) {
  QuestionAsked asked;
  asked.attempt = at.attempt;
  asked.id = question.id;
  asked.text = question.text;
  asked.choices = question.choices;
  asked.person = at.world.person.person();
  asked.answer = co_await at.world.person.ask(std::move(question));
  co_await keep(at, body_of(asked), Durability::ordinary);
  co_return asked.answer;
}

Task<void> keep_act(StepContext& at, std::string act, std::string words) {
  OperatorAct made;
  made.attempt = at.attempt;
  made.person = at.world.person.person();
  made.act = std::move(act);
  made.words = std::move(words);
  co_await keep(at, body_of(made), Durability::ordinary);
}

Task<Permit> energise(StepContext& at, StepEnergy energy) {
  EnergiseIntended intended;
  intended.attempt = at.attempt;
  intended.step = at.step;
  intended.energy = energy;
  intended.connection = at.plan_step.connection.name;
  co_await keep(at, body_of(intended), Durability::durable);
  if (!at.area_unbroken) {
    bool const consents = co_await at.world.person.start(at.plan_step.connection);
    if (!consents) throw StepStopped(StopCause::person, at.plan_step.test + ": START refused");
    co_await keep_act(at, "start", at.plan_step.connection.name);
  }
  auto const prepared = co_await at.world.guard.prepare(std::move(energy));
  if (!prepared) throw StepStopped(prepared.error());
  auto closed = co_await at.world.guard.close();
  if (!closed) throw StepStopped(closed.error());
  at.energised_at = at.world.clock.now();
  at.ramp.clear();
  co_return std::move(closed).value();
}

Task<void> de_energise(StepContext& at, bool keep_area) {
  auto const stopped = co_await at.world.guard.stop(keep_area);
  if (!stopped) throw StepStopped(stopped.error());
  // A second energisation of the same step (next tap, next pair) asks again wherever the area was given free.
  at.area_unbroken = keep_area;
}

void require_live(StepContext const& at, Permit const& permit) {
  if (permit.live()) return;
  Refusal refusal;
  auto const status = at.world.guard.status();
  refusal.trip = status.trip;
  refusal.id = status.state == GuardState::lockout ? "guard.lockout"
               : status.trip.happened              ? "guard.tripped"
                                                   : "guard.stopped";
  refusal.words = status.trip.happened ? status.trip.first.words : "the guard withdrew its consent";
  throw StepStopped(std::move(refusal));
}

Task<void> wait_energised(StepContext& at, Permit const& permit, Duration duration) {
  Clock& clock = at.world.clock;
  auto const end = clock.now().monotonic_ns + static_cast<std::int64_t>(duration.in(seconds)*1e9);
  while (clock.now().monotonic_ns < end) {
    require_live(at, permit);
    auto const look = std::min(end, clock.now().monotonic_ns + std::int64_t{100'000'000});
    co_await clock.wait_until(look);
  }
  require_live(at, permit);
}

Task<void> set_tap(StepContext& at, int position) {
  at.world.progress.act(fmt::format("Set tap {}", position));
  bool const set = co_await at.world.person.set_tap(position);
  if (!set) throw StepStopped(StopCause::person, fmt::format("tap {} could not be set", position));
  co_await keep_act(at, "tap set", fmt::format("tap {}", position));
}

Task<TemperatureReadings> read_temperatures(StepContext& at) {
  ThermometerScanner& scanner = in_role(at.world.roles.thermometer_scanner, "thermometer_scanner");
  auto const sample = co_await need(scanner.read());
  TemperatureReadings readings;
  readings.mode = at.world.bench.temperature.mode;
  readings.top = sample.top;
  readings.bottom = sample.bottom;
  readings.ambient = sample.ambient;
  co_return readings;
}

}  // namespace benchward
