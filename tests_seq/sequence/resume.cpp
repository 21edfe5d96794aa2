// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/resume.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "limits/documents/document_error.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/readings_json.hpp"
#include "tests_seq/sequence/step_runner.hpp"

namespace benchward {

namespace {

using Fate = ResumeRule::Fate;

/// Above low voltage: what a wrong lead or another unit would make dangerous.
bool above_low_voltage(std::string const& test) {
  return test == "load_loss" || test == "no_load" || test == "applied" || test == "induced" || test == "demagnetise" ||
         test == "insulation_resistance";
}

bool dielectric(std::string const& test) { return test == "applied" || test == "induced"; }

[[noreturn]] void refuse(std::string const& attempt, std::string const& why) {
  throw DocumentError("plan.resume", "--resume", "", fmt::format("attempt {} is not resumed: {}", attempt, why));
}

/// The newest step of that number: a repeated one stands in place of the first.
RecordedStep const* newest(AttemptRecord const& record, std::size_t index) {
  for (auto step = record.steps.rbegin(); step != record.steps.rend(); ++step) {
    if (step->number == static_cast<int>(index) + 1) return &*step;
  }
  return nullptr;
}

/// When the unit was last touched by it. Not when it was closed: an attempt that a crash left open is closed at the
/// next start, whenever that is.
Stamp last_sign(AttemptRecord const& record) {
  Stamp last = record.started_at;
  auto const later = [&last](Stamp const& stamp) {
    if (stamp.utc_us > last.utc_us) last = stamp;
  };
  for (auto const& step : record.steps) {
    later(step.started);
    later(step.ended);
    for (auto const* texts : {&step.energised, &step.readings, &step.evaluations}) {
      for (auto const& text : *texts) later(text.at);
    }
  }
  return last;
}

std::string last_evaluation(RecordedStep const& step) {
  for (auto text = step.evaluations.rbegin(); text != step.evaluations.rend(); ++text) {
    if (text->kind == step.test) return text->json;
  }
  return "";
}

void refuse_what_differs(AttemptRecord const& record, Plan const& plan, ResumeCircumstances const& now) {
  auto const& started = record.started;
  auto const& id = started.attempt;
  if (started.serial != plan.serial)
    refuse(id, fmt::format("it is of unit {}, not of {}", started.serial, plan.serial));
  if (started.stage != plan.stage) refuse(id, fmt::format("it is of stage {}, not {}", started.stage, plan.stage));
  if (started.bench_hash != now.bench_hash)
    refuse(id, fmt::format("it ran on bench {} as its document stood then; another bench, or another calibration, "
                           "begins anew",
                           started.bench));
  if (started.unit_hash != now.unit_hash)
    refuse(id, "the unit document is another than then: what was measured was for another order. Begin anew");
  if (started.limit_set_hash != now.limit_set_hash)
    refuse(id, "the limit set is another than then: begin anew, or give the one of that attempt");
  if (started.plan_hash != sha256_hex(plan_json(plan)))
    refuse(id, "this program plans the unit otherwise than the one that began: begin anew");
  if (!now.newest_of_serial.empty() && now.newest_of_serial != id)
    refuse(id, fmt::format("attempt {} at this unit is newer: resume that one", now.newest_of_serial));
  if (!now.reworked.empty())
    refuse(id, fmt::format("since then \"{0}\" was done to the unit: test --after \"{0}\"", now.reworked));
}

}  // namespace

std::vector<ResumeRule> const& resume_table() {
  static std::vector<ResumeRule> const table{
      {"identity", Fate::repeats, "which unit and which instruments stand here now"},
      {"temperatures", Fate::repeats, "the hour is another, and so is the liquid"},
      {"ratio", Fate::repeats_before_volts, "the leads were off: ratio comes before anything above low voltage"},
      {"polarity", Fate::stands, "nothing inside the unit changed"},
      {"phase_relation", Fate::stands, "nothing inside the unit changed"},
      {"insulation_resistance", Fate::stands, "nothing inside the unit changed"},
      {"winding_resistance", Fate::repeats_with_loss,
       "resistance and load loss belong to one sitting: the same temperature inside the unit"},
      {"demagnetise", Fate::repeats, "a direct current may have flowed since"},
      {"no_load", Fate::repeats_after_stress,
       "a dielectric step was energised and not finished: rated volts first, a shorted turn shows there"},
      {"load_loss", Fate::stands, "with the resistance of its own sitting"},
      {"applied", Fate::stands, "no insulation is stressed twice without need"},
      {"induced", Fate::stands, "no insulation is stressed twice without need"},
      {"hand_check", Fate::stands, "said and signed"},
      {"elsewhere", Fate::stands, "said and signed"},
      {"as_shipped", Fate::repeats, "leads were on the unit since"},
  };
  return table;
}

std::size_t Resumption::standing() const {
  return static_cast<std::size_t>(
      std::count_if(steps.begin(), steps.end(), [](StepFate const& step) { return step.stands; }));
}

Resumption resumption_of(AttemptRecord const& record, Plan const& plan, ResumeCircumstances const& circumstances) {
  auto const& id = record.started.attempt;
  refuse_what_differs(record, plan, circumstances);
  if (!record.ended) refuse(id, "it has not ended: it runs, or the next start of the program closes it first");
  auto const& ended = *record.ended;
  if (ended.outcome == Outcome::pass || ended.outcome == Outcome::fail)
    refuse(id, fmt::format("it came to its end: {}. Nothing is left to do in it", journal_words::of(ended.outcome)));
  if (ended.reason.find("bypass key") != std::string::npos)
    refuse(id, "an interlock was bridged in it: nothing measured is for record. Begin anew");
  auto const interrupted = last_sign(record);
  auto const pause = static_cast<double>(circumstances.now.utc_us - interrupted.utc_us) * 1e-6;
  if (pause > longest_interruption.in(seconds))
    refuse(id, fmt::format(
                   "it was interrupted {:.0f} h ago, and nobody knows what was done to the unit in more than {:.0f} h. "
                   "Begin anew",
                   pause / 3600.0, longest_interruption.in(minutes) / 60.0));

  Resumption resumption;
  resumption.attempt = id;
  resumption.interrupted = fmt::format("ended {} {}: {}", journal_words::of(ended.outcome),
                                       utc_text(interrupted.utc_us).substr(0, 19), ended.reason);
  resumption.needs_reason = ended.disposition == Disposition::hold;
  resumption.steps.resize(plan.steps.size());

  // What was finished and judged well; a result that rejects is not walked around by an interruption.
  bool stressed = false;
  for (std::size_t i = 0; i < plan.steps.size(); ++i) {
    auto& fate = resumption.steps[i];
    auto const* step = newest(record, i);
    fate.why = "was not done";
    if (step == nullptr || step->test != plan.steps[i].test) continue;
    if (step->how != "finished") {
      fate.why = "was interrupted: done again from its beginning";
      stressed = stressed || (dielectric(step->test) && !step->energised.empty());
      continue;
    }
    auto const text = last_evaluation(*step);
    if (!text.empty()) {
      auto const evaluation = read_json<Evaluation>(text, "record " + id);
      if (rejects(evaluation))
        refuse(id, fmt::format("its {} rejected the unit; that is judged by quality, and tested anew with a reason",
                               step->test));
      if (evaluation.invalid_reason || evaluation.question) {
        fate.why = "could not be judged: " + evaluation.invalid_reason.value_or(evaluation.question.value_or(""));
        continue;
      }
    }
    fate.stands = true;
    fate.readings = step->readings;
    fate.evaluation = text;
  }

  // The rules, from the end: what is still to come decides what is repeated before it.
  bool volts_to_come = false, loss_to_come = false;
  for (std::size_t i = plan.steps.size(); i-- > 0;) {
    auto& fate = resumption.steps[i];
    auto const& test = plan.steps[i].test;
    auto const rule = std::find_if(resume_table().begin(), resume_table().end(),
                                   [&test](ResumeRule const& entry) { return entry.test == test; });
    if (fate.stands) {
      bool const repeats = rule == resume_table().end() || rule->fate == Fate::repeats ||
                           (rule->fate == Fate::repeats_before_volts && volts_to_come) ||
                           (rule->fate == Fate::repeats_with_loss && loss_to_come) ||
                           (rule->fate == Fate::repeats_after_stress && stressed);
      fate.stands = !repeats;
      fate.why = repeats ? (rule == resume_table().end() ? "no rule lets it stand" : std::string(rule->why))
                         : fmt::format("stands from attempt {}", id);
      if (repeats) {
        fate.readings.clear();
        fate.evaluation.clear();
      }
    }
    if (fate.stands) continue;
    volts_to_come = volts_to_come || above_low_voltage(test);
    loss_to_come = loss_to_come || test == "load_loss";
  }
  return resumption;
}

Plan plan_resumed(Plan plan, Resumption const& resumption) {
  for (std::size_t i = 0; i < plan.steps.size(); ++i) {
    auto const& fate = resumption.steps.at(i);
    auto& step = plan.steps[i];
    step.reason = fmt::format("{}; {}", fate.why, step.reason);
    // An area is kept only into a step that is really done.
    bool const next_stands = i + 1 >= plan.steps.size() || resumption.steps.at(i + 1).stands;
    if (fate.stands || next_stands) step.keeps_area = false;
    if (fate.stands) step.predicted = Duration();
  }
  return plan;
}

std::string newest_attempt_of(EventStore const& store, std::string const& serial) {
  std::vector<StoredEvent> starts;  // kept first: a store that is being scanned answers no second question
  store.scan(0, [&](StoredEvent const& stored) {
    if (stored.bytes.find("\"type\":\"attempt started\"") != std::string::npos) starts.push_back(stored);
    return true;
  });
  for (auto stored = starts.rbegin(); stored != starts.rend(); ++stored) {
    auto const event = parse_event(stored->bytes);
    if (event.type != event_type::attempt_started) continue;
    auto const record = read_attempt(store, event.attempt, stored->seq, stored->seq);
    if (record && record->started.serial == serial) return event.attempt;
  }
  return {};
}

}  // namespace benchward
