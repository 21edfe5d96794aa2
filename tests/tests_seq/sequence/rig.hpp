// SPDX-License-Identifier: MIT
#pragma once

/// Everything that a run needs, in virtual time: the real guard on a small bench, fake roles, a journal in memory.

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "fakes.hpp"
#include "tests_seq/guard/declaration.hpp"
#include "tests_seq/guard/runner.hpp"
#include "tests_seq/journal/journal.hpp"
#include "tests_seq/procedures/step_context.hpp"
#include "tests_seq/sequence/sequencer.hpp"

namespace benchward::testing {

Unit demo_unit();    ///< the single-phase demo unit
Bench demo_bench();  ///< the demo bench for scaled runs

struct RecordingProgress final : ProgressSink {
  void act(std::string const& words) override { acts.push_back(words); }
  void evaluated(Evaluation const& evaluation) override {
    evaluated_tests.push_back(evaluation.test);
    if (on_evaluated) on_evaluated(evaluation);
  }
  void reading(std::string const& what, double, std::string const&) override {
    if (on_reading) on_reading(what);
  }
  void hold_left(Duration left) override { holds.push_back(left.in(seconds)); }
  void step_started(int step, int of, PlanStep const& plan_step) override {
    steps.push_back(std::to_string(step) + "/" + std::to_string(of) + " " + plan_step.test);
    if (on_step) on_step(plan_step);
  }
  void guard(GuardStatus const& status) override {
    if (on_guard) on_guard(status);
  }
  void ended(AttemptResult const&) override { ++ends; }
  std::vector<std::string> acts, evaluated_tests, steps;
  std::vector<double> holds;
  int ends = 0;
  std::function<void(Evaluation const&)> on_evaluated;
  std::function<void(PlanStep const&)> on_step;
  std::function<void(std::string const&)> on_reading;
  std::function<void(GuardStatus const&)> on_guard;
};

class Rig {
 public:
  /// `kept`: what the journal holds already.
  explicit Rig(Unit of_unit = demo_unit(), std::vector<StoredEvent> kept = {});
  ~Rig();
  Rig(Rig const&) = delete;
  Rig& operator=(Rig const&) = delete;

  Plan plan(std::string const& stage = "routine");
  /// A whole attempt. The result, or nothing if the run never ended in virtual time.
  AttemptResult run(Plan const& plan, AttemptOptions options = {});
  /// One step of the plan alone, by its procedure; rethrows what it threw, after the guard has made safe.
  void run_step(PlanStep const& step, std::function<Task<void>(StepContext&)> const& body);
  /// Something beside a run, to its end.
  void finish(Task<void> task);
  /// Starts something beside the run.
  void spawn(Task<void> task);
  /// Calls `action` at an instant of virtual time.
  void at(double at_s, std::function<void()> action);
  std::vector<std::string> event_types() const;

  FakeUnit unit;
  Bench bench;
  LimitSheet sheet;
  SmallBench block;
  std::unique_ptr<struct RigIo> io;
  VirtualClock clock;
  GuardCore core;
  VirtualGuard guard;
  MemoryEventStore store;
  Journal journal;
  RecordingProgress progress;
  FakeRatioMeter ratio;
  FakeResistanceMeter resistance;
  FakeAcSource source;
  FakePowerAnalyzer analyzer;
  FakeThermometer thermometer;
  FakeDielectricTester dielectric;
  FakeOperator person;
  TestRoles roles;
  RunWorld world;
  StopRequest stop;
};

bool has(std::vector<std::string> const& list, std::string const& entry);

}  // namespace benchward::testing
