// SPDX-License-Identifier: MIT
#include "firmware_host/panel/station_control.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <cmath>
#include <exception>
#include <utility>

#include "firmware_host/command/limit_choice.hpp"
#include "firmware_host/operator/simulated_operator.hpp"
#include "firmware_host/session/rework.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/readings_json.hpp"
#include "tests_seq/journal/events.hpp"
#include "tests_seq/sequence/stage_standing.hpp"
#include "tests_seq/sequence/stop_request.hpp"

namespace benchward::panel {
namespace {

namespace asio = boost::asio;

// What a shift list goes back to: a long shift and its overtime (common practice, no source).
constexpr std::int64_t shift_us = std::int64_t{10} * 3600 * 1'000'000;
constexpr std::size_t most_units_shown = 40, longest_reason = 300;

/// Whether what the panel shows of the guard differs: whole words always, numbers by what the eye can see.
bool looks_different(GuardStatus const& a, GuardStatus const& b) {
  auto const differs = [](double x, double y) { return std::abs(x - y) > 1e-3 * std::max(std::abs(x), 1.0); };
  if (a.state != b.state || a.area != b.area || a.earth_proven != b.earth_proven || a.link_lost != b.link_lost ||
      a.low_not_proven != b.low_not_proven || a.trip.happened != b.trip.happened ||
      a.trip.later.size() != b.trip.later.size() || a.missing.size() != b.missing.size()) {
    return true;
  }
  for (std::size_t i = 0; i < a.missing.size(); ++i) {
    if (a.missing[i].number != b.missing[i].number) return true;
  }
  return differs(a.output.in(volts), b.output.in(volts)) || differs(a.current.in(amperes), b.current.in(amperes)) ||
         differs(a.direct.in(amperes), b.direct.in(amperes)) || std::abs(a.left.in(seconds)-b.left.in(seconds)) > 0.5;
}

Task<void> keep(Journal& journal, EventBody body, std::function<void(std::string const&)> say) {
  auto const kept = co_await journal.record(std::move(body), Durability::ordinary);
  if (!kept) say("an act at the panel is not in the journal: " + kept.error().text());
}

Task<UnitWays> ways_apart(std::string records, std::optional<std::uint64_t> bench_checked_at, Bench const& bench,
                          Unit unit, std::string limits, Stamp now) {
  auto const set = chosen_limit_set(limits, unit);
  co_return ways_in(records, bench_checked_at, bench, unit, set, now);
}

std::string phase_of(GuardState state, bool moving_leads) {
  switch (state) {
    case GuardState::securing:
    case GuardState::warning:
      return "making_ready";
    case GuardState::safe_earthed:
    case GuardState::unknown:
      return moving_leads ? "connect" : "running";
    case GuardState::armed:
    case GuardState::closing:
    case GuardState::ramp_up:
    case GuardState::hold:
    case GuardState::ramp_down:
    case GuardState::discharge:
    case GuardState::earthing:
    case GuardState::tripped:
    case GuardState::lockout:
      return "running";
  }
  return "running";
}

}  // namespace

struct StationControl::LiveRun {
  UnitOrder order;
  StopRequest stop;
};

class StationControl::Background {
 public:
  ~Background() { threads.join(); }
  asio::thread_pool threads{1};
};

StationControl::StationControl(BenchSession& session, Bench const& bench, Journal& journal, SimulatedOperator* hands,
                               StationOptions options)
    : session_(session),
      bench_(bench),
      journal_(journal),
      hands_(hands),
      options_(std::move(options)),
      progress_([this] { changed_ = true; }),
      person_(session.io(), hands, [this] { changed_ = true; }),
      background_(std::make_unique<Background>()) {
  look_for_units();
}

StationControl::~StationControl() = default;

Act StationControl::may_act(Who const& who) const {
  if (who.role == Role::watcher) return {403, "this account may watch only"};
  if (holder_ == 0) return {409, "take the controls first"};
  if (holder_ != who.panel) return {409, fmt::format("{} has the controls at another panel", holder_name_)};
  return {};
}

Act StationControl::take_controls(Who const& who, bool from_another) {
  if (who.role == Role::watcher) return {403, "this account may watch only"};
  if (holder_ != 0 && holder_ != who.panel) {
    bool const may_force = !busy() || who.role == Role::quality || who.role == Role::technician;
    if (!from_another) {
      return {409, fmt::format("{} has the controls: they are handed over there, or taken from there on purpose",
                               holder_name_)};
    }
    if (!may_force)
      return {409, fmt::format("a unit is being tested by {}: the controls are handed over there", holder_name_)};
    options_.say(fmt::format("controls taken from {} by {}", holder_name_, who.name));
    note(who.name, "took the controls", "from " + holder_name_);
  } else if (holder_ == 0) {
    note(who.name, "took the controls", "");
  }
  holder_ = who.panel;
  holder_name_ = who.name;
  person_.set_person(who.name);
  changed_ = true;
  return {};
}

Act StationControl::release_controls(Who const& who) {
  if (holder_ != who.panel) return {409, "this panel does not have the controls"};
  note(who.name, "handed over the controls", "");
  drop_controls();
  return {};
}

void StationControl::came(Who const& who) { note(who.name, "logged in", "as " + to_word(who.role)); }

void StationControl::turned_away() { note("", "log-in refused", "name or password is wrong"); }

void StationControl::gone(Who const& who) {
  note(who.name, "logged out", holder_ == who.panel ? "had the controls" : "");
  if (holder_ == who.panel) drop_controls();
}

void StationControl::drop_controls() {
  holder_ = 0;
  holder_name_.clear();
  changed_ = true;
}

/// Kept as soon as the writer comes to it; nobody waits. A journal that cannot be written says so at the next run.
void StationControl::note(std::string const& person, std::string act, std::string words) {
  OperatorAct made;
  made.attempt = attempt();
  made.person = person;
  made.act = std::move(act);
  made.words = std::move(words);
  asio::co_spawn(session_.io(), keep(journal_, body_of(made), options_.say), asio::detached);
}

void StationControl::look_for_units() {
  units_ = read_units_folder(options_.units);
  for (auto const& words : units_.unusable) {
    if (std::find(said_unusable_.begin(), said_unusable_.end(), words) != said_unusable_.end()) continue;
    options_.say(words);
    if (said_unusable_.size() < 200) said_unusable_.push_back(words);
  }
  shown_.units.clear();
  for (auto const& waiting : units_.units) {
    if (shown_.units.size() >= most_units_shown) break;
    shown_.units.push_back(ShownUnit{waiting.unit.serial, rating_of(waiting.unit), waiting.unit.order});
  }
  changed_ = true;
}

Act StationControl::may_prepare(Who const& who) const {
  if (auto may = may_act(who); may.status != 200) return may;
  if (!closed_.empty()) return {409, closed_};
  if (running_) return {409, "a unit is being tested"};
  if (looking_) return {409, "the records are being looked at: a moment"};
  return {};
}

/// On a thread of its own: an old unit's records are many, and no panel waits for them.
Task<UnitWays> StationControl::look_back(Unit unit) {
  struct Looking {
    explicit Looking(bool& is_on) : on(is_on) { on = true; }
    ~Looking() { on = false; }
    bool& on;
  };
  Looking const looking(looking_);
  auto look = ways_apart(options_.records, records_.bench_checked_at(bench_.hash), bench_, std::move(unit),
                         options_.limits, session_.clock().now());
  auto ways = co_await asio::co_spawn(background_->threads, std::move(look), asio::use_awaitable);
  co_return ways;
}

void StationControl::show_ways(UnitWays ways, std::string const& key) {
  auto const* way = ways.find(key);
  chosen_ = way != nullptr ? *way : ways.all.at(ways.proposed);
  ways_ = std::move(ways);
  auto const& order = chosen_->order;
  auto const& resumed = chosen_->past.resumption;
  progress_.run = planned_run(order.unit, resumed ? plan_resumed(order.plan, *resumed) : order.plan);
  progress_.sheet = &order.sheet;
  auto& run = *progress_.run;
  for (std::size_t i = 0; resumed && i < run.steps.size(); ++i) {
    if (resumed->steps[i].stands) run.steps[i].state = "stands";
  }
  run.stage = chosen_->stage;
  run.needs_a_reason = records_.why_a_reason(order.unit.serial);
  run.way = chosen_->key;
  run.why_not_for_record = ways_.why_not_for_record;
  for (auto const& known : ways_.all) {
    ShownWay shown;
    shown.key = known.key;
    shown.kind = known.kind;
    shown.stage = known.stage;
    shown.words = known.words;
    shown.waits = known.waits;
    shown.steps = static_cast<int>(known.order.plan.steps.size());
    if (known.past.resumption) shown.stands = static_cast<int>(known.past.resumption->standing());
    run.ways.push_back(std::move(shown));
  }
  changed_ = true;
}

Task<Act> StationControl::select_unit(Who who, std::string typed, std::string stage) {
  if (auto may = may_prepare(who); may.status != 200) co_return may;
  auto const serial = clean_serial(typed);
  if (!serial) co_return Act{400, "that is no serial: 1 to 80 characters"};
  look_for_units();
  auto const found = std::find_if(units_.units.begin(), units_.units.end(),
                                  [&](WaitingUnit const& waiting) { return waiting.unit.serial == *serial; });
  if (found == units_.units.end()) {
    co_return Act{404, fmt::format("No order has the serial {}. Look at the plate again, or call quality.", *serial)};
  }
  auto const stages = stages_of(found->unit);
  if (!stage.empty() && std::find(stages.begin(), stages.end(), stage) == stages.end()) {
    co_return Act{409, fmt::format("unit {} has no stage \"{}\"", *serial, stage.substr(0, 80))};
  }
  try {
    Unit unit = found->unit;
    auto look = look_back(std::move(unit));
    auto ways = co_await std::move(look);
    if (auto may = may_prepare(who); may.status != 200) co_return may;  // things went on meanwhile
    auto const key = stage.empty() ? std::string() : "whole " + stage;
    show_ways(std::move(ways), key);
  } catch (DocumentError const& wrong) {
    co_return Act{409, wrong.what()};
  } catch (SessionError const& wrong) {
    co_return Act{409, wrong.what()};
  } catch (StoreError const& wrong) {
    co_return Act{409, wrong.what()};
  }
  co_return Act();
}

Act StationControl::choose_way(Who const& who, std::string const& key) {
  if (auto may = may_prepare(who); may.status != 200) return may;
  if (!chosen_ || !progress_.run || progress_.run->end) return {409, "no unit is chosen"};
  if (ways_.find(key) == nullptr) return {409, "the records show no such way for this unit any more: choose it again"};
  auto ways = ways_;
  show_ways(std::move(ways), key);
  return {};
}

Task<Act> StationControl::rework(Who who, ReworkDone rework) {
  if (auto may = may_prepare(who); may.status != 200) co_return may;
  if (!chosen_ || !progress_.run || progress_.run->end) co_return Act{409, "no unit is chosen"};
  if (chosen_->order.unit.serial != rework.serial) {
    co_return Act{
        409, fmt::format("the chosen unit is {}, not {}", chosen_->order.unit.serial, rework.serial.substr(0, 80))};
  }
  rework.person = who.name;
  rework.words = rework.words.substr(0, longest_reason);
  try {
    std::string const done = rework.done;
    auto keeping = keep_rework(journal_, std::move(rework));
    co_await std::move(keeping);
    Unit unit = chosen_->order.unit;
    auto look = look_back(std::move(unit));
    auto ways = co_await std::move(look);
    auto const after = std::find_if(ways.all.begin(), ways.all.end(),
                                    [&](UnitWay const& way) { return way.kind == "after" && way.words == done; });
    auto const key = after != ways.all.end() ? after->key : std::string();
    show_ways(std::move(ways), key);
  } catch (DocumentError const& wrong) {
    co_return Act{400, wrong.message()};
  } catch (StoreError const& wrong) {
    co_return Act{409, std::string("not kept: ") + wrong.what()};
  }
  co_return Act();
}

Act StationControl::clear_unit(Who const& who) {
  if (auto may = may_act(who); may.status != 200) return may;
  if (running_) return {409, "a unit is being tested: stop it first"};
  if (looking_) return {409, "the records are being looked at: a moment"};
  progress_.run.reset();
  progress_.sheet = nullptr;
  chosen_.reset();
  ways_ = UnitWays();
  look_for_units();
  return {};
}

Task<Act> StationControl::start(Who who, std::string serial, std::string reason, bool for_record) {
  if (auto may = may_prepare(who); may.status != 200) co_return may;
  if (!chosen_ || !progress_.run) co_return Act{409, "no unit is chosen"};
  if (chosen_->order.unit.serial != serial) {
    co_return Act{409, fmt::format("the chosen unit is {}, not {}", chosen_->order.unit.serial, serial.substr(0, 80))};
  }
  if (progress_.run->end) co_return Act{409, "this unit's run is over: choose it again"};
  // Looked at again: hours may lie between choosing and beginning.
  try {
    Unit unit = chosen_->order.unit;
    std::string const key = chosen_->key;
    auto look = look_back(std::move(unit));
    auto ways = co_await std::move(look);
    if (auto may = may_prepare(who); may.status != 200) co_return may;
    bool const stands = ways.find(key) != nullptr;
    show_ways(std::move(ways), key);
    if (!stands) co_return Act{409, "what the records show of this unit has changed: look at what will be done again"};
  } catch (std::runtime_error const& wrong) {
    co_return Act{409, wrong.what()};
  }
  auto begun = begin_chosen(who, reason, for_record);
  co_return begun;
}

Act StationControl::begin_chosen(Who const& who, std::string const& reason, bool for_record) {
  auto const state = session_.guard().status().state;
  if (leading_out_ || state == GuardState::tripped || state == GuardState::lockout) {
    return {409, "the guard has stopped the bench: lead out of that first"};
  }
  if (!chosen_->waits.empty()) return {409, chosen_->waits};
  if (for_record && !ways_.why_not_for_record.empty()) {
    return {409, "not for record: " + ways_.why_not_for_record + ". Measure the check object first."};
  }
  RunPast past = chosen_->past;
  past.gate_openings_before = gate_openings_;
  auto needs = progress_.run->needs_a_reason;
  if (needs.empty() && past.unit_is_held) needs = "On hold";
  if (!needs.empty()) {
    if (reason.empty()) return {409, needs + ". Testing it again needs a signed reason."};
    if (who.role != Role::quality && who.role != Role::technician) {
      return {403, needs + ". Quality or a technician signs the reason."};
    }
    past.unit_is_held = true;
    past.repeat_reason = fmt::format("{} (signed: {})", reason.substr(0, longest_reason), who.name);
  }
  person_.set_person(who.name);
  live_ = std::make_unique<LiveRun>();
  live_->order = chosen_->order;
  attempt_ = options_.next_id();
  began_us_ = session_.clock().now().utc_us;
  running_ = true;
  changed_ = true;
  asio::co_spawn(
      session_.io(),
      run_order(session_, bench_, live_->order, person_, journal_, progress_, live_->stop, attempt_, std::move(past)),
      asio::bind_cancellation_slot(live_->stop.slot(), [this](std::exception_ptr const& failure, AttemptResult result) {
        if (failure) {
          result.attempt = attempt_;
          result.outcome = Outcome::aborted;
          result.reason = "a defect of the program stopped the run";
          result.defect = true;
          progress_.ended(result);
        }
        ended(result);
      }));
  return {};
}

void StationControl::ended(AttemptResult const& result) {
  running_ = false;
  gate_openings_ = result.gate_openings;
  RecordLine line;
  line.record_id = result.attempt;
  line.serial = live_->order.unit.serial;
  line.stage = live_->order.plan.stage;
  line.started_us = began_us_;
  line.started = utc_text(began_us_);
  line.outcome = std::string(journal_words::of(result.outcome));
  line.disposition = std::string(journal_words::of(result.disposition));
  line.reason = result.reason;
  line.simulated = result.simulated;
  line.minutes = static_cast<double>(session_.clock().now().utc_us - began_us_) / 60e6;
  options_.say(fmt::format("unit {}: {}, {}{}", line.serial, line.outcome, line.disposition,
                           line.reason.empty() ? "" : ": " + line.reason));
  records_.add(std::move(line));
  if (result.defect) {
    worst_ = worse(worst_, ExitCode::defect);
    closed_ = "A defect of the program stopped the last run. Restart the station before the next unit.";
  }
  if (result.journal_failed) {
    worst_ = worse(worst_, ExitCode::record_not_kept);
    closed_ = "Records cannot be kept: no unit is taken until the disk is looked at and the station restarted.";
  }
  changed_ = true;
}

Act StationControl::answer(Who const& who, int number, std::string const& text) {
  if (auto may = may_act(who); may.status != 200) return may;
  person_.set_person(who.name);
  auto const refused = person_.answer(number, text);
  if (!refused.empty()) return {409, refused};
  changed_ = true;
  return {};
}

Act StationControl::stop(Who const& who) {
  if (who.role == Role::watcher) return {403, "this account may watch only"};
  if (!running_) return {409, "nothing runs"};
  if (live_->stop.asked()) return {409, "it is being stopped already"};
  note(who.name, "stop", "at the panel");
  live_->stop.ask(StopRequest::By::person, "stopped by " + who.name + " at the panel");
  changed_ = true;
  return {};
}

void StationControl::stop_by_signal(std::string const& reason) {
  closed_ = "The station is ending.";
  changed_ = true;
  if (running_) live_->stop.ask(StopRequest::By::signal, reason);
}

Act StationControl::acknowledge(Who const& who) {
  if (auto may = may_act(who); may.status != 200) return may;
  if (running_) return {409, "the run is still making safe"};
  if (leading_out_) return {409, "that is under way already"};
  if (session_.guard().status().state != GuardState::tripped) return {409, "the guard is not tripped"};
  leading_out_ = true;
  note(who.name, "acknowledged trip", session_.guard().status().trip.first.words);
  asio::co_spawn(session_.io(), lead_out(who.name, "", false), asio::detached);
  return {};
}

Act StationControl::release_lockout(Who const& who, std::string const& reason) {
  if (auto may = may_act(who); may.status != 200) return may;
  if (who.role != Role::quality && who.role != Role::technician)
    return {403, "quality or a technician leads out of a lockout"};
  if (running_) return {409, "the run is still making safe"};
  if (leading_out_) return {409, "that is under way already"};
  if (session_.guard().status().state != GuardState::lockout) return {409, "the guard is not locked out"};
  leading_out_ = true;
  note(who.name, "released lockout", reason.substr(0, longest_reason));
  asio::co_spawn(session_.io(), lead_out(who.name, reason.substr(0, longest_reason), true), asio::detached);
  return {};
}

/// The way back is the guard's to grant. On a simulated bench the hands press the reset that a person would press.
Task<void> StationControl::lead_out(std::string person, std::string reason, bool lockout) {
  struct Closing {
    StationControl& self;
    ~Closing() {
      self.leading_out_ = false;
      self.changed_ = true;
    }
  };
  Closing const closing{*this};
  try {
    if (hands_ != nullptr) {
      std::string cause = session_.guard().status().trip.first.words;
      bool const pressed = co_await hands_->acknowledge_trip(std::move(cause));
      if (!pressed) options_.say("simulated hands: " + hands_->trouble());
    }
    if (lockout) {
      auto const left = co_await session_.guard().release_lockout(person, reason);
      options_.say(left ? "lockout released by " + person : "lockout stays: " + left.error().words);
    } else {
      auto const left = co_await session_.guard().acknowledge(person);
      options_.say(left ? "trip acknowledged by " + person : "trip stays: " + left.error().words);
    }
  } catch (std::exception const& failure) {
    options_.say(std::string("leading out of the trip: ") + failure.what());
  }
}

bool StationControl::take_changed() {
  auto status = session_.guard().status();
  bool const changed = changed_ || looks_different(status, last_);
  changed_ = false;
  if (changed) last_ = std::move(status);
  return changed;
}

std::string StationControl::snapshot() const {
  auto const now = session_.clock().now();
  shown_.now = utc_text(now.utc_us);
  shown_.bench = bench_.name;
  shown_.time_scale = options_.time_scale;
  shown_.guard = session_.guard().status();
  shown_.simulated = simulated();
  shown_.closed = closed_;
  shown_.holder.reset();
  shown_.holder_panel = holder_;
  if (holder_ != 0) shown_.holder = holder_name_;
  shown_.question.reset();
  shown_.question_number = 0;
  if (auto const& asked = person_.asked()) {
    shown_.question = asked->question;
    shown_.question_number = asked->number;
  }
  shown_.run = progress_.run;
  if (shown_.run) {
    auto& run = *shown_.run;
    if (person_.to_make()) run.connection = person_.to_make();
    run.phase = run.end     ? "ended"
                : !running_ ? "identified"
                            : phase_of(shown_.guard.state, person_.to_make().has_value());
  }
  shown_.shift.clear();
  for (auto const& line : records_.since(now.utc_us - shift_us)) {
    shown_.shift.push_back(ShownShiftLine{line.serial, line.outcome, line.disposition, line.reason, line.record_id,
                                          line.minutes, line.simulated});
  }
  return snapshot_json(shown_);
}

}  // namespace benchward::panel
