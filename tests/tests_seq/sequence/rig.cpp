// SPDX-License-Identifier: MIT
#include "rig.hpp"

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>

#include <algorithm>
#include <stdexcept>

#include "drivers/bench/bench_document.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/unit_document.hpp"

namespace benchward::testing {

namespace asio = boost::asio;

struct RigIo {
  asio::io_context io;
};

Unit demo_unit() {
  return read_unit(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/units/single-phase-pad-50kva.json");
}

Bench demo_bench() { return read_bench(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/benches/01-scaled.json"); }

namespace {

constexpr std::int64_t year_2030_us = 1'893'456'000'000'000;

}  // namespace

Rig::Rig(Unit of_unit, std::vector<StoredEvent> kept)
    : bench(demo_bench()),
      sheet(work_out(builtin_limit_set(of_unit.standard), of_unit)),
      io(std::make_unique<RigIo>()),
      clock(year_2030_us),
      core(guard_declaration(bench, 77), block, 0x1234),
      guard(core, clock, bench.guard.period),
      journal((store.events = std::move(kept), store), clock, "boot-of-the-test"),
      ratio(unit, block, clock),
      resistance(unit, block, clock),
      source(unit, block, clock),
      analyzer(unit, block, clock, source),
      thermometer(unit, block, clock),
      dielectric(unit, block, clock),
      person(unit, block, clock),
      world{unit.unit, bench, roles, person, guard, clock, journal, progress} {
  unit.unit = std::move(of_unit);
  unit.exciting_a = unit.unit.rated_line_current(unit.unit.lv).in(amperes)*0.005;
  roles.ratio_meter = &ratio;
  roles.resistance_meter = &resistance;
  roles.power_analyzer = &analyzer;
  roles.ac_source = &source;
  roles.thermometer_scanner = &thermometer;
  roles.dielectric_tester = &dielectric;
}

Rig::~Rig() { clock.drop_waiters(); }

Plan Rig::plan(std::string const& stage) { return make_plan(unit.unit, stage, sheet, bench); }

AttemptResult Rig::run(Plan const& plan, AttemptOptions options) {
  if (options.attempt.empty()) options.attempt = "attempt1";
  Sequencer sequencer(world, sheet, stop, std::move(options));
  std::optional<AttemptResult> result;
  std::exception_ptr failure;
  auto task = sequencer.run(plan);
  asio::co_spawn(io->io, std::move(task),
                 asio::bind_cancellation_slot(stop.slot(), [&](std::exception_ptr error, AttemptResult made) {
                   failure = error;
                   result = std::move(made);
                 }));
  bool const ended = clock.run(io->io, [&] { return result.has_value() || failure != nullptr; });
  if (failure) std::rethrow_exception(failure);
  if (!ended) throw std::runtime_error("the run never ended");
  return *result;
}

void Rig::run_step(PlanStep const& step, std::function<Task<void>(StepContext&)> const& body) {
  StepContext context(world, step, "attempt1");
  context.step = 1;
  context.of = 1;
  bool ended = false;
  std::exception_ptr failure;
  auto whole = [&]() -> Task<void> {
    while (guard.status().state != GuardState::safe_earthed) co_await clock.wait(seconds(0.1));
    unit.connection = step.connection;
    unit.tap = step.connection.tap.value_or(0);
    std::exception_ptr seen;
    try {
      co_await body(context);
    } catch (...) {
      seen = std::current_exception();
    }
    co_await guard.make_safe("end of the test");
    if (seen) std::rethrow_exception(seen);
  };
  asio::co_spawn(io->io, whole(), [&](std::exception_ptr error) {
    failure = error;
    ended = true;
  });
  if (!clock.run(io->io, [&] { return ended; })) throw std::runtime_error("the step never ended");
  if (failure) std::rethrow_exception(failure);
}

void Rig::finish(Task<void> task) {
  bool ended = false;
  std::exception_ptr failure;
  asio::co_spawn(io->io, std::move(task), [&](std::exception_ptr error) {
    failure = error;
    ended = true;
  });
  if (!clock.run(io->io, [&] { return ended; })) throw std::runtime_error("it never ended");
  if (failure) std::rethrow_exception(failure);
}

void Rig::spawn(Task<void> task) {
  asio::co_spawn(io->io, std::move(task), [](std::exception_ptr failure) {
    if (failure) std::rethrow_exception(failure);
  });
}

void Rig::at(double at_s, std::function<void()> action) {
  clock.call_at(static_cast<std::int64_t>(at_s * 1e9), std::move(action));
}

std::vector<std::string> Rig::event_types() const {
  std::vector<std::string> types;
  for (auto const& entry : store.events) types.push_back(parse_event(entry.bytes).type);
  return types;
}

bool has(std::vector<std::string> const& list, std::string const& entry) {
  return std::find(list.begin(), list.end(), entry) != list.end();
}

}  // namespace benchward::testing
