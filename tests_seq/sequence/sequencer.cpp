// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/sequencer.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>
#include <boost/asio/cancellation_state.hpp>
#include <boost/asio/error.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/system/system_error.hpp>

#include "limits/documents/json_writer.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/readings_json.hpp"
#include "tests_seq/journal/record_view.hpp"
#include "tests_seq/procedures/ac_supply.hpp"
#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/sequence/breakdown_signs.hpp"
#include "tests_seq/sequence/last_frames.hpp"
#include "tests_seq/sequence/outcome.hpp"
#include "tests_seq/sequence/sequencer_run.hpp"
#include "tests_seq/sequence/step_runner.hpp"

namespace benchward {

namespace asio = boost::asio;

namespace {

constexpr Duration decay_is_over = seconds(2);           ///< so long small and steady
constexpr Duration longest_circulation = seconds(2700);  ///< of a current in a closed delta
constexpr Duration longest_start = seconds(120);         ///< for the guard to show SAFE_EARTHED at the beginning

/// Tests whose failure proves that leads, taps or turns are not as planned: nothing is energised after it. A winding
/// that is broken in one phase is no winding to send current through.
bool stops_the_run(Evaluation const& evaluation) {
  constexpr double broken_percent = 60.0;  // unbalance of the phases; a poor joint is far below
  auto const& test = evaluation.test;
  if (test == "winding_resistance") {
    return std::any_of(evaluation.results.begin(), evaluation.results.end(), [](Result const& result) {
      return result.quantity == "unbalance_percent" && result.verdict == Verdict::fail && result.value > broken_percent;
    });
  }
  return test == "ratio" || test == "polarity" || test == "phase_relation" || test == "applied" || test == "induced";
}

void add_once(std::vector<std::string>& list, std::string const& entry) {
  if (std::find(list.begin(), list.end(), entry) == list.end()) list.push_back(entry);
}

}  // namespace

Sequencer::Sequencer(RunWorld& world, LimitSheet const& sheet, StopRequest& stop, AttemptOptions options)
    : world_(world), sheet_(sheet), stop_(stop), options_(std::move(options)) {
  for (auto const& instrument : world_.bench.instruments) calibration_[instrument.name] = instrument.calibration;
}

Task<AttemptResult> Sequencer::run(Plan const& plan) {
  Run run(plan);
  run.planned_hash = sha256_hex(plan_json(plan));
  if (options_.resumption) run.plan = plan_resumed(plan, *options_.resumption);
  run.evaluations.resize(plan.steps.size());
  run.result.attempt = options_.attempt;
  run.today = utc_text(world_.clock.now().utc_us).substr(0, 10);
  std::exception_ptr failure;
  try {
    co_await body(run);
  } catch (...) {
    failure = std::current_exception();
  }
  // After a cancellation the first wait would throw again and the shutdown be skipped.
  co_await asio::this_coro::reset_cancellation_state(asio::disable_cancellation());
  co_await asio::this_coro::throw_if_cancelled(false);
  std::string const why = !failure ? "end of the run" : stop_.asked() ? stop_.reason() : "the run stopped";
  co_await world_.guard.make_safe(why);
  // Energy is gone; from here on only words are written. A journal that fails now cannot take anything back.
  try {
    if (failure) co_await classify(run, failure);
    co_await finish(run);
  } catch (StepStopped const& in_journal) {
    run.result.journal_failed = true;
    run.result.outcome = Outcome::aborted;
    run.result.disposition = worse(run.result.disposition, Disposition::repeat);
    run.result.reason = "the record could not be kept: " + in_journal.words;
  }
  auto const status = world_.guard.status();
  run.result.earth_proven = status.earth_proven;
  run.result.simulated = world_.bench.simulated || status.simulated;
  run.result.gate_openings = status.gate_openings;
  world_.progress.ended(run.result);
  co_return std::move(run.result);
}

Task<void> Sequencer::body(Run& run) {
  AttemptStarted started;
  started.attempt = options_.attempt;
  started.serial = run.plan.serial;
  started.stage = run.plan.stage;
  started.unit_document = options_.unit_document;
  started.sheet_document = options_.sheet_document;
  started.calibration_document = options_.calibration_document;
  JsonWriter calibrations;
  calibrations.begin_object();
  for (auto const& [name, calibration] : calibration_) calibrations.key(name).raw(write_json(calibration));
  calibrations.end_object();
  started.calibration_document = calibrations.text();
  started.unit_hash = options_.unit_hash;
  started.bench = world_.bench.name;
  started.bench_hash = world_.bench.hash;
  started.limit_set = sheet_.limit_set;
  started.limit_set_version = sheet_.limit_set_version;
  started.limit_set_hash = sheet_.limit_set_hash;
  started.plan_hash = run.planned_hash;
  started.person = world_.person.person();
  started.program_version = options_.program_version;
  // The wire's proof was taken at the start; at the very first turn of a virtual run it is not there yet.
  started.simulated = world_.bench.simulated || world_.guard.status().simulated;
  started.repeat_reason = options_.repeat_reason;
  started.after = options_.after;
  if (options_.resumption) started.resumes = options_.resumption->attempt;
  for (auto const& absent : world_.bench.absent) {
    started.conditions_absent.push_back(fmt::format("I{:02d}: {}", absent.number, absent.reason));
  }
  for (auto const& step : run.plan.steps) started.tests.push_back(step.test);
  auto const kept = co_await world_.journal.record(body_of(started), Durability::durable);
  if (!kept) throw StepStopped::journal_failed(kept.error());
  run.started = true;
  auto const bypass = world_.guard.status();
  run.bypassed_before = bypass.bypassed;
  if (bypass.bypass_key) world_.progress.act("A bypass key is in: nothing measured now is for record. Take it out.");
  if (!run.plan.testable()) {
    throw StepStopped(StopCause::cannot_measure, "this bench cannot test the unit: " + run.plan.why_not.front());
  }
  if (options_.unit_is_held && options_.repeat_reason.empty()) {
    throw StepStopped(StopCause::person,
                      "the unit is on hold: nobody energises it again without a reason that somebody signed");
  }
  co_await wait_for_safe(run);
  if (options_.resumption) co_await ask_what_was_done_meanwhile(run);
  for (std::size_t i = 0; i < run.plan.steps.size() && !run.ended_early; ++i) {
    bool const stands = options_.resumption && options_.resumption->steps[i].stands;
    if (stands) {
      co_await take_over(run, i);
    } else {
      co_await one_step(run, i);
    }
  }
}

Task<void> Sequencer::wait_for_safe(Run& run) {
  Clock& clock = world_.clock;
  auto const begin = clock.now();
  for (;;) {
    auto const status = world_.guard.status();
    world_.progress.guard(status);
    if (status.state == GuardState::safe_earthed) co_return;
    bool const stuck = status.state == GuardState::tripped || status.state == GuardState::lockout;
    if (stuck || between(begin, clock.now()) > longest_start) {
      Refusal refusal;
      refusal.id = "guard.refused";
      refusal.words = "the guard is not at rest before the run: " + (status.trip.happened ? status.trip.first.words
                                                                     : status.missing.empty()
                                                                         ? std::string(journal_words::of(status.state))
                                                                         : status.missing.front().words);
      run.result.reason = refusal.words;
      throw StepStopped(std::move(refusal));
    }
    co_await world_.guard.changed(seconds(1));
  }
}

/// Nobody takes a lead off a winding in which a direct current flows. The guard saw it gone before it closed the earth,
/// but the earth closes other loops: what circulates in a closed delta (minutes, on a large unit) shows in the leads
/// only then, and rises at first. So it must be small and stand still.
Task<void> Sequencer::wait_for_decay(Run& run) {
  if (!run.direct_limit) co_return;
  double const limit = run.direct_limit->in(amperes);
  Clock& clock = world_.clock;
  auto const direct = [this] { return world_.guard.status().direct.in(amperes); };
  auto const begin = clock.now();
  auto look = begin;
  double before = direct();
  for (bool said = false;;) {
    co_await clock.wait(milliseconds(100));
    double const now = direct();
    if (std::abs(now) > limit || std::abs(now - before) > limit / 4) {
      if (!said) {
        world_.progress.act(
            fmt::format("A direct current still flows in the winding ({:.0f} mA): leads stay on until it is gone",
                        1000 * std::abs(now)));
      }
      said = true;
      look = clock.now();
      before = now;
    }
    if (between(look, clock.now()) >= decay_is_over) break;
    if (between(begin, clock.now()) > longest_circulation) {
      throw StepStopped(StopCause::person,
                        fmt::format("a direct current of {:.0f} mA does not leave the winding: leads stay on; a "
                                    "licensed person decides how it is discharged",
                                    1000 * std::abs(now)));
    }
  }
  run.direct_limit.reset();
}

Task<void> Sequencer::connect(Run& run, StepContext& at) {
  Connection const& wanted = at.plan_step.connection;
  if (!at.plan_step.energy) co_return;
  bool const same = run.leads != nullptr && same_leads(*run.leads, wanted);
  if (same && run.tap == wanted.tap) co_return;
  co_await wait_for_decay(run);
  if (same) {
    if (wanted.tap) co_await set_tap(at, *wanted.tap);
  } else {
    world_.progress.act("Connect: " + wanted.name);
    bool const connected = co_await world_.person.connect(wanted, at.step, at.of);
    if (!connected) throw StepStopped(StopCause::person, "not connected: " + wanted.name);
    co_await keep_act(at, "connected", wanted.name);
  }
  run.leads = &wanted;
  run.tap = wanted.tap;
  if (options_.gate_openings_before && world_.guard.status().gate_openings == *options_.gate_openings_before) {
    options_.gate_openings_before.reset();
    world_.progress.act("The gate was not opened since the last unit: is its switch bypassed?");
    co_await keep_act(at, "gate not opened between two units", "I32: shown to the operator");
  }
}

Task<void> Sequencer::keep_evaluation(Run& run, int step, Evaluation const& evaluation) {
  EvaluationMade made;
  made.attempt = options_.attempt;
  made.step = step;
  made.test = evaluation.test;
  made.evaluation = write_json(evaluation);
  auto const kept = co_await world_.journal.record(body_of(made), Durability::durable);
  if (!kept) throw StepStopped::journal_failed(kept.error());
  run.evaluations[static_cast<std::size_t>(step - 1)] = evaluation;
  world_.progress.evaluated(evaluation);
}

/// Odd but possible: asked once before a FAIL is said. True: measure the step once more. The answer never makes a
/// result better: it only says whether what was measured was what the plan meant.
Task<bool> Sequencer::settle_question(Run&, StepContext& at, Evaluation& evaluation, bool may_repeat) {
  if (!evaluation.question) co_return false;
  if (!may_repeat) {
    if (evaluation.settled_by_repeat) evaluation.question.reset();
    co_return false;
  }
  Question question;
  bool const leads = evaluation.settled_by_repeat, tap = !leads && at.plan_step.test == "ratio";
  question.id = tap ? "tap.right" : at.plan_step.test + (leads ? ".leads" : ".right");
  question.text = *evaluation.question;
  question.choices = {"as recorded", "was wrong, put right"};
  auto const answer = co_await ask(at, std::move(question));
  if (answer == "as recorded") {
    evaluation.question.reset();
    co_return false;
  }
  co_return true;
}

Task<void> Sequencer::begin_step(StepContext& at, std::string reason) {
  world_.progress.step_started(at.step, at.of, at.plan_step);
  StepStarted started;
  started.attempt = options_.attempt;
  started.step = at.step;
  started.of = at.of;
  started.test = at.plan_step.test;
  started.connection = at.plan_step.connection;
  started.reason = std::move(reason);
  co_await keep(at, body_of(started), Durability::ordinary);
}

Task<void> Sequencer::one_step(Run& run, std::size_t index) {
  PlanStep const& plan_step = run.plan.steps[index];
  run.current = index;
  run.in_step = true;
  StepContext at(world_, plan_step, options_.attempt);
  at.step = static_cast<int>(index) + 1;
  at.of = static_cast<int>(run.plan.steps.size());
  EvaluationContext const context{world_.unit, sheet_, calibration_, run.today};
  std::string how = "finished";
  for (bool repeated = false;; repeated = true) {
    std::string reason = repeated ? "once more: the operator put right what the reading showed" : plan_step.reason;
    co_await begin_step(at, std::move(reason));
    // Where the area was to be kept but is not (a question in between, a first repeat), everything is asked anew.
    at.area_unbroken = run.area_unbroken && world_.guard.status().state == GuardState::armed;
    run.area_unbroken = false;
    co_await connect(run, at);
    std::optional<StepOutput> measured;
    try {
      measured = co_await run_step(at, context, run.gathered);
    } catch (...) {
      run.energised_at = at.energised_at;  // a breakdown is told with the time since its ramp began
      run.ramp = at.ramp;
      throw;
    }
    StepOutput& output = *measured;
    if (plan_step.energy && plan_step.energy->source == SourcePath::resistance) {
      run.direct_limit = plan_step.energy->direct_limit;
    }
    run.area_unbroken = at.area_unbroken && plan_step.keeps_area;
    if (auto const* ratio = std::get_if<RatioWork>(&plan_step.work); ratio != nullptr && !ratio->points.empty()) {
      run.tap = ratio->points.back().tap;
    }
    bool again = false;
    if (output.evaluation) {
      again = co_await settle_question(run, at, *output.evaluation, !repeated);
      co_await keep_evaluation(run, at.step, *output.evaluation);
      if (!again && (output.evaluation->invalid_reason || output.evaluation->question ||
                     (rejects(*output.evaluation) && stops_the_run(*output.evaluation)))) {
        run.ended_early = true;
      }
    }
    for (auto const& other : output.again) co_await keep_evaluation(run, other.step, other.evaluation);
    StepEnded ended;
    ended.attempt = options_.attempt;
    ended.step = at.step;
    ended.test = plan_step.test;
    ended.how = again ? "repeated" : "finished";
    co_await keep(at, body_of(ended), Durability::ordinary);
    world_.progress.step_ended(at.step, ended.how, "");
    if (!again) break;
    run.area_unbroken = false;
    run.leads = nullptr;  // what was put right is looked at: connected and confirmed anew
    co_await world_.guard.make_safe("the step is repeated");
  }
  run.in_step = false;
  run.done = index + 1;
}

Task<bool> Sequencer::source_relay_acted(Run& run) {
  auto const& energy = run.plan.steps[run.current].energy;
  if (!energy) co_return false;
  if (energy->source == SourcePath::ac_source && world_.roles.ac_source != nullptr) {
    auto const state = co_await world_.roles.ac_source->read();
    co_return state&& state.value().tripped;
  }
  if (energy->source == SourcePath::dielectric && world_.roles.dielectric_tester != nullptr) {
    auto const state = co_await world_.roles.dielectric_tester->read();
    co_return state&& state.value().tripped;
  }
  co_return false;
}

/// Proven clean: earthed and proven so, no lockout, link there, nothing of the bench among the later conditions, and
/// the instruments of the step still answer as themselves.
Task<bool> Sequencer::bench_is_clean(Run& run, TripRecord const& trip) {
  auto const status = world_.guard.status();
  if (!status.earth_proven || status.state == GuardState::lockout || status.link_lost) co_return false;
  if (!later_conditions_are_clean(trip)) co_return false;
  if (less_than_a_short_inside(world_.unit, world_.bench, run.plan.steps[run.current], run.ramp, trip)) co_return false;
  std::vector<Instrument*> instruments;
  auto const source = run.plan.steps[run.current].energy->source;
  if (source == SourcePath::ac_source) {
    instruments = {world_.roles.ac_source, world_.roles.power_analyzer};
  } else if (source == SourcePath::dielectric) {
    instruments = {world_.roles.dielectric_tester};
  }
  for (auto* instrument : instruments) {
    if (instrument == nullptr) co_return false;
    auto const identity = co_await instrument->identify();
    if (!identity) co_return false;
  }
  co_return true;
}

Task<void> Sequencer::judge_breakdown(Run& run, StepStopped const& stopped, std::string reason) {
  auto const status = world_.guard.status();
  TripRecord const trip = stopped.refusal.trip.happened ? stopped.refusal.trip : status.trip;
  BreakdownReading reading = stopped.breakdown;
  if (stopped.cause == StopCause::guard) {
    reading.test = run.plan.steps[run.current].test;
    reading.cause = std::move(reason);
    reading.at_volts = volts_of_trip(run.ramp, trip);
    reading.at_amperes = trip.current;
    if (run.energised_at) reading.after = between(*run.energised_at, trip.at);
  }
  reading.bench_proven_clean = co_await bench_is_clean(run, trip);
  if (auto const against = what_the_ramp_says(run.plan.steps[run.current], run.ramp, trip); !against.empty()) {
    reading.bench_proven_clean = false;
    reading.cause += "; " + against;
  } else if (less_than_a_short_inside(world_.unit, world_.bench, run.plan.steps[run.current], run.ramp, trip)) {
    reading.cause +=
        "; more than a short circuit inside the unit could draw: a shorting bar, strap or earth stick is on";
  }
  bool const dielectric = reading.test == "applied" || reading.test == "induced";
  if (reading.bench_proven_clean && dielectric && !world_.unit.arresters.empty()) {
    // An arrester that was left on conducts at some twice the line's volts to earth, as weak insulation would.
    StepContext at(world_, run.plan.steps[run.current], options_.attempt);
    at.step = static_cast<int>(run.current) + 1;
    Question question;
    question.id = "arresters.off";
    question.text = "Current to earth at high volts. Look at the arresters of this unit: are they all off?";
    question.choices = {"all off", "one was on"};
    auto const answer = co_await ask(at, std::move(question));
    if (answer != "all off") {
      reading.bench_proven_clean = false;
      reading.cause += "; an arrester had been left on";
    }
  }
  EvaluationContext const context{world_.unit, sheet_, calibration_, run.today};
  ReadingsTaken taken;
  taken.attempt = options_.attempt;
  taken.step = static_cast<int>(run.current) + 1;
  taken.test = reading.test;
  taken.kind = "breakdown";
  taken.readings = write_json(reading);
  auto kept = co_await world_.journal.record(body_of(taken), Durability::durable);
  if (!kept) throw StepStopped::journal_failed(kept.error());
  auto const evaluation = evaluate_breakdown(reading, context);
  co_await keep_evaluation(run, taken.step, evaluation);
}

Task<void> Sequencer::classify(Run& run, std::exception_ptr failure) {
  bool const names_it =
      run.in_step && run.plan.steps[run.current].energy && run.plan.steps[run.current].energy->failure_is_the_units;
  std::optional<StepStopped> stopped;
  StopVerdict verdict;
  try {
    std::rethrow_exception(failure);
  } catch (StepStopped const& seen) {
    stopped = seen;
  } catch (boost::system::system_error const& error) {
    verdict.outcome = error.code() == asio::error::operation_aborted ? Outcome::aborted : Outcome::invalid;
    verdict.reason = stop_.asked() ? stop_.reason() : error.what();
    run.result.defect = !stop_.asked() && verdict.outcome == Outcome::invalid;
  } catch (std::exception const& error) {
    verdict.outcome = Outcome::aborted;
    verdict.reason = std::string("defect of the program: ") + error.what();
    run.result.defect = true;
  }
  if (stopped) {
    // A device that could not answer because the guard had cut: the trip is the first cause.
    auto const status = world_.guard.status();
    if (stopped->cause == StopCause::device && status.trip.happened) {
      Fault const fault = stopped->fault;
      Refusal refusal;
      refusal.id = status.state == GuardState::lockout ? "guard.lockout" : "guard.tripped";
      refusal.trip = status.trip;
      refusal.words = status.trip.first.words;
      stopped = StepStopped(std::move(refusal));
      stopped->fault = fault;
    }
    if (stopped->cause == StopCause::guard && names_it && stopped->refusal.trip.happened &&
        stopped->refusal.trip.first.number == 26) {
      // The source's own relay is faster than the guard's over-current: its word makes "supply" an over-current.
      bool const acted = co_await source_relay_acted(run);
      if (acted) {
        auto& trip = stopped->refusal.trip;
        trip.later.push_back(trip.first);
        trip.first.number = 15;
        trip.first.words = "the source's over-current relay acted";
      }
    }
    verdict = verdict_of_stop(*stopped, names_it);
    bool const tripped = stopped->cause == StopCause::guard || stopped->cause == StopCause::breakdown;
    if (auto const& energy = run.plan.steps[run.current].energy; tripped && run.in_step && energy) {
      // Behind the look at the source's relay, which lets go with this: until then the bench does not become healthy.
      auto const lowered = co_await source_to_zero(world_, energy->source);
      if (!lowered && stopped->fault.id.empty()) stopped->fault = lowered.error();
    }
    if (stop_.asked()) {
      verdict.outcome = Outcome::aborted;
      verdict.breakdown_of_unit = false;
      verdict.reason = stop_.reason();
    }
    if (stopped->cause == StopCause::journal) run.result.journal_failed = true;
    // A guard that locked out or tripped before the first step says something of the bench, not of the day's course.
    auto const state = world_.guard.status().state;
    bool const bench_is_sick = state == GuardState::lockout || state == GuardState::tripped;
    if (!run.in_step && bench_is_sick && stopped->cause == StopCause::guard) {
      verdict.outcome = Outcome::invalid;
    } else if (!run.in_step && verdict.outcome == Outcome::invalid && stopped->cause != StopCause::device) {
      verdict.outcome = Outcome::not_run;
    }
  }
  run.stopped = verdict;
  if (run.result.journal_failed) co_return;
  StepContext at(world_, run.plan.steps[run.current], options_.attempt);
  at.step = static_cast<int>(run.current) + 1;
  if (stopped && !stopped->fault.id.empty()) {
    run.faulty_device = stopped->fault.device;
    FaultSeen seen;
    seen.attempt = options_.attempt;
    seen.step = at.step;
    seen.fault = stopped->fault;
    co_await keep(at, body_of(seen), Durability::durable);
  }
  if (stopped && stopped->refusal.trip.happened) {
    GuardNotice noted;
    noted.attempt = options_.attempt;
    noted.from = stopped->refusal.trip.in_state;
    noted.to = world_.guard.status().state;
    noted.trip = stopped->refusal.trip;
    noted.words = stopped->words;
    co_await keep(at, body_of(noted), Durability::durable);
  }
  if (verdict.breakdown_of_unit) co_await judge_breakdown(run, *stopped, verdict.reason);
  if (run.in_step) {
    StepEnded ended;
    ended.attempt = options_.attempt;
    ended.step = at.step;
    ended.test = at.plan_step.test;
    ended.how = "stopped";
    ended.words = verdict.reason;
    co_await keep(at, body_of(ended), Durability::ordinary);
    world_.progress.step_ended(at.step, ended.how, ended.words);
  }
}

Task<void> Sequencer::finish(Run& run) {
  AttemptResult& result = run.result;
  for (auto& evaluation : run.evaluations) {
    if (evaluation) result.evaluations.push_back(*evaluation);
  }
  for (std::size_t i = 0; i < run.plan.steps.size(); ++i) {
    add_once(i < run.done ? result.finished : result.repeat, run.plan.steps[i].test);
  }
  bool const incomplete = run.done < run.plan.steps.size();
  auto const judged = judge_attempt(result.evaluations, sheet_, incomplete);
  result.outcome = judged.outcome;
  result.disposition = judged.disposition;
  result.reason = judged.reason;
  if (run.stopped && !run.stopped->breakdown_of_unit) {
    // The stop's outcome stands before a FAIL or PASS of what was measured; a unit that was rejected stays on hold.
    bool const rejected = judged.outcome == Outcome::fail;
    result.outcome = run.stopped->outcome;
    result.disposition = rejected ? worse(judged.disposition, run.stopped->disposition) : run.stopped->disposition;
    result.reason = run.stopped->reason + (rejected ? "; besides, rejected before: " + judged.reason : "");
  }
  auto const bypassed = world_.guard.status().bypassed - run.bypassed_before;
  if (run.started && bypassed > seconds(0)) {
    // What was measured with an interlock bridged is kept and is not for record: neither a PASS nor a FAIL. A unit that
    // was rejected stays on hold.
    bool const said = result.outcome == Outcome::pass || result.outcome == Outcome::fail;
    if (said) result.outcome = Outcome::invalid;
    result.disposition = worse(result.disposition, Disposition::repeat);
    result.reason = fmt::format("a bypass key was in for {:.1f} s of this attempt: nothing measured is for record{}{}",
                                bypassed.in(seconds), result.reason.empty() ? "" : "; besides: ", result.reason);
  }
  if (!options_.withheld.empty() && result.disposition == Disposition::release) {
    result.disposition = Disposition::repeat;
    result.reason += "; not for record, so not released: " + options_.withheld;
  }
  if (!options_.broke_down.empty() && result.disposition == Disposition::release) {
    result.disposition = Disposition::hold;
    result.reason += "; on hold until quality signs, a repeat clears no breakdown: " + options_.broke_down;
  }
  if (!options_.why_still_open.empty() && result.disposition == Disposition::release) {
    result.disposition = Disposition::repeat;
    for (auto const& test : options_.still_open) add_once(result.repeat, test);
    result.reason += "; not released: " + options_.why_still_open;
  }
  if (!run.started || result.journal_failed) co_return;
  if (result.outcome == Outcome::invalid) {
    FramesKept wires;
    wires.attempt = options_.attempt;
    wires.frames = last_frames(world_.roles, run.faulty_device);
    if (!wires.frames.empty()) {
      auto const kept_frames = co_await world_.journal.record(body_of(wires), Durability::ordinary);
      if (!kept_frames) throw StepStopped::journal_failed(kept_frames.error());
    }
  }
  JudgementMade made;
  made.attempt = options_.attempt;
  made.outcome = result.outcome;
  made.disposition = result.disposition;
  made.reason = result.reason;
  auto const kept = co_await world_.journal.record(body_of(made), Durability::durable);
  if (!kept) throw StepStopped::journal_failed(kept.error());
  AttemptEnded ended;
  ended.attempt = options_.attempt;
  ended.outcome = result.outcome;
  ended.disposition = result.disposition;
  ended.reason = result.reason;
  ended.finished = result.finished;
  ended.repeat = result.repeat;
  ended.earth_proven = world_.guard.status().earth_proven;
  auto const closed = co_await world_.journal.record(body_of(ended), Durability::durable);
  if (!closed) throw StepStopped::journal_failed(closed.error());
}

AttemptEnded ended_by_a_crash(AttemptRecord const& record) {
  AttemptEnded ended;
  ended.attempt = record.started.attempt;
  ended.outcome = Outcome::aborted;
  ended.disposition = Disposition::repeat;
  ended.reason = "the program or the power ended while the attempt ran; closed at the next start";
  std::size_t done = 0;
  for (auto const& step : record.steps) {
    if (step.how == "finished") {
      add_once(ended.finished, step.test);
      ++done;
    }
    // Stressed and never judged: somebody looks at it before it is energised again.
    bool const dielectric = step.test == "applied" || step.test == "induced";
    if (step.how.empty() && dielectric && !step.energised.empty()) ended.disposition = Disposition::hold;
  }
  auto const& tests = record.started.tests;
  for (std::size_t i = std::min(done, tests.size()); i < tests.size(); ++i) add_once(ended.repeat, tests[i]);
  return ended;
}

Task<Answer<int>> close_open_attempts(Journal& journal) {
  int closed = 0;
  auto const open = attempts_in(journal.store(), true);
  for (auto const& attempt : open) {
    AttemptRecord record;
    record.started.attempt = attempt;
    if (auto known = read_attempt(journal.store(), attempt)) record = std::move(*known);
    auto const kept = co_await journal.record(body_of(ended_by_a_crash(record)), Durability::durable);
    if (!kept) co_return Answer<int>(kept.error());
    ++closed;
  }
  co_return Answer<int>(closed);
}

}  // namespace benchward
