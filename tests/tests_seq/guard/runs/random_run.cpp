// SPDX-License-Identifier: MIT
#include "random_run.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>

#include <fmt/format.h>

#include "hand_and_source.hpp"
#include "sim/bench/in_process_link.hpp"
#include "tests_seq/guard/core.hpp"
#include "tests_seq/guard/declaration.hpp"

namespace benchward::guard::runs {
namespace {

using S = GuardState;

constexpr double longest_run_s = 240.0;
constexpr double rest_s = 1.5;  ///< a state that stands this long with nothing left to come is the end
constexpr std::int64_t second_ns = 1'000'000'000;

/// The link, which can be dead or frozen.
class TroubledLink final : public BenchLink {
 public:
  explicit TroubledLink(sim::SimBench& bench) : plain_(bench), bench_(bench) {}
  bool dead = false, frozen = false;
  Exchange exchange(BenchOutputs const& outputs, std::int64_t now_ns) override {
    if (dead || frozen) {
      bench_.advance_to(now_ns);  // the block's own watchdog runs
      Exchange answer;
      answer.ok = frozen;
      answer.inputs = last_;
      return answer;
    }
    auto answer = plain_.exchange(outputs, now_ns);
    last_ = answer.inputs;
    return answer;
  }

 private:
  sim::InProcessLink plain_;
  sim::SimBench& bench_;
  BenchInputs last_;
};

class Run {
 public:
  Run(Stock const& stock, std::uint64_t seed)
      : chance_(seed),
        scene_(stock.scenes[chance_.below(stock.scenes.size())]),
        unit_(stock.units[scene_.unit]),
        bench_(vary(stock.benches[chance_.in(0.75) ? 0 : 1], chance_)),
        sim_(bench_, unit_, {chance_.word(), {}}),
        link_(sim_),
        hands_(sim_, scene_),
        period_ns_(std::llround(bench_.guard.period.in(seconds)*1e9)) {
    report_.seed = seed;
    report_.script = draw_script(chance_, unit_);
    if (!report_.script.person.says_reached) report_.had.push_back("reached never said");
    report_.scene = scene_.step.test + ": " + scene_.step.connection.name;
    fired_.resize(report_.script.events.size());
    ends_ns_.resize(report_.script.events.size(), -1);
    auto energy = *scene_.step.energy;
    energy.longest = seconds(chance_.between(8.0, 30.0));
    start_program();
    auto const limits = step_limits(energy, core_->declaration());
    if (!limits.ok()) throw std::logic_error("a planned step cannot be declared: " + limits.error());
    limits_ = limits.value();
    hands_.dress();
  }

  RunReport play() {
    while (seconds_now() < longest_run_s) {
      now_ns_ += period_ns_;
      events();
      turn();
      sim_.advance_to(now_ns_);
      hands_.tick(now_ns_);
      if (core_) person();
      if (at_the_end()) break;
    }
    report_.seconds = seconds_now();
    auto const truth = sim_.truth();
    for (auto const& moment : truth.dangerous_moments) {
      report_.moments.push_back(fmt::format("{:.2f} s: {}", moment.at_s, moment.what));
    }
    report_.killed = !core_;
    return report_;
  }

 private:
  double seconds_now() const { return static_cast<double>(now_ns_) * 1e-9; }

  void start_program() {
    // A new owner number at every start of the program, as the station draws one.
    core_ = std::make_unique<GuardCore>(guard_declaration(bench_, static_cast<std::uint16_t>(1 + chance_.below(65534))),
                                        link_, static_cast<std::uint16_t>(chance_.word()));
    permit_ = PermitSlot();
    step_ = Desk();
  }

  // --- what the script lets happen ---
  void events() {
    for (std::size_t n = 0; n < fired_.size(); ++n) {
      auto const& event = report_.script.events[n];
      auto const entered = entered_ns_[static_cast<std::size_t>(event.when)];
      if (!fired_[n] && entered >= 0 && now_ns_ >= entered + std::llround(event.after_s * 1e9)) {
        fired_[n] = true;
        begin(event);
        if (event.lasts_s > 0.0) ends_ns_[n] = now_ns_ + std::llround(event.lasts_s * 1e9);
      } else if (fired_[n] && ends_ns_[n] >= 0 && now_ns_ >= ends_ns_[n]) {
        ends_ns_[n] = -1;
        end(event);
      }
    }
  }
  /// "NAME, earth open" where the earth was ordered open, or was not closed: too late to refuse the arming. "NAME,
  /// secured" from the warning on.
  void happened(std::string const& name) {
    report_.had.push_back(name);
    bool const open = seen_.orders.earth_open || seen_.findings.earth != Earth::closed;
    if (open) report_.had.push_back(name + ", earth open");
    if (open || seen_.machine.at == S::warning) report_.had.push_back(name + ", secured");
  }
  void begin(Event const& event) {
    switch (event.trouble) {
      case Trouble::fault:
        if (sim_.set_fault({event.name, event.fault_value}).empty()) happened(event.name);
        break;
      case Trouble::gate:
        happened("gate forced");
        hands_.open_gate();
        break;
      case Trouble::stop_button:
        sim_.press("estop");
        break;
      case Trouble::reset_button:
        sim_.press("reset");
        break;
      case Trouble::wish:
        if (core_) wish(static_cast<Request>(static_cast<int>(event.value)));
        break;
      case Trouble::someone_inside:
        hands_.walk_in();
        break;
      case Trouble::source_order:
        hands_.set_source(event.value, report_.script.person.ramp_s);
        break;
      case Trouble::source_off:
        hands_.source_to_zero();
        break;
      case Trouble::link_dead:
        happened("link dead");
        link_.dead = true;
        break;
      case Trouble::block_frozen:
        happened("block frozen");
        link_.frozen = true;
        break;
      case Trouble::program_late:
        happened("program late");
        late_until_ns_ = now_ns_ + std::llround(event.lasts_s * 1e9);
        break;
      case Trouble::program_killed:
        happened("program killed");
        core_.reset();
        killed_ns_ = now_ns_;
        break;
    }
  }
  void end(Event const& event) {
    if (event.trouble == Trouble::fault) sim_.clear_fault(event.name);
    if (event.trouble == Trouble::gate) hands_.close_gate();
    if (event.trouble == Trouble::stop_button) sim_.press("release-estop");
    if (event.trouble == Trouble::someone_inside) hands_.walk_out();
    if (event.trouble == Trouble::link_dead) link_.dead = false;
    if (event.trouble == Trouble::block_frozen) link_.frozen = false;
    if (event.trouble == Trouble::program_killed && !core_) start_program();
  }
  void wish(Request request) {
    if (request == Request::prepare) {
      core_->post_prepare(limits_);
    } else if (request == Request::close) {
      core_->post_close(&permit_.link());
    } else {
      core_->post(request);
    }
  }

  // --- the program ---
  void turn() {
    if (!core_ || now_ns_ < late_until_ns_) return;
    core_->turn({now_ns_, now_ns_ / 1000});
    ++report_.turns;
    seen_ = core_->snapshot();
    auto const at = static_cast<std::size_t>(seen_.machine.at);
    if (entered_ns_[at] < 0) entered_ns_[at] = now_ns_;
    report_.visited[at] = true;
    report_.at_end = seen_.machine.at;
    if (seen_.trip.happened && report_.first_condition == 0) report_.first_condition = seen_.trip.first;
    GuardEvent event;
    while (core_->take_event(event)) {
    }
    hold_against_the_truth();
  }

  /// What is shown as safe must be safe: no source on, no terminal above 50 V, earth closed. Longer than one turn and
  /// the hard-wired chain's own time.
  void hold_against_the_truth() {
    bool const shown = seen_.findings.hazard != Hazard::lost &&
                       (seen_.machine.at == S::safe_earthed ||
                        (seen_.machine.at == S::tripped && seen_.machine.stage == Stage::third));
    bool wrong = false;
    std::string words;
    if (shown) {
      auto const truth = sim_.truth();
      double highest = 0.0;
      for (auto const& terminal : truth.terminals) highest = std::max(highest, terminal.second);
      wrong = truth.energized || truth.earth_switch != "closed" || highest > 50.0;
      if (wrong) {
        words = fmt::format("{:.2f} s: shown safe with sources {}, earth {}, {:.0f} V", seconds_now(),
                            truth.energized ? "on" : "off", truth.earth_switch, highest);
      }
    }
    if (!wrong) {
      wrong_since_ns_ = -1;
      return;
    }
    if (wrong_since_ns_ < 0) wrong_since_ns_ = now_ns_;
    if (now_ns_ - wrong_since_ns_ > 350'000'000 + period_ns_ && report_.false_safe.size() < 4) {
      report_.false_safe.push_back(words);
      wrong_since_ns_ = now_ns_;
    }
  }

  // --- the person at the desk and what a procedure does with the source ---
  struct PermitSlot {
    std::shared_ptr<PermitLink> held = std::make_shared<PermitLink>();
    PermitLink& link() { return *held; }
  };
  struct Desk {
    bool prepared = false, closed = false, set = false, said_reached = false, raised = false, stopped = false,
         again = false, left = false, acknowledged = false, released = false;
    std::int64_t next_ns = 0, since_ns = 0;
  };

  /// After a person's reaction time.
  bool ready() const { return now_ns_ >= step_.next_ns; }
  void pause(double more = 0.0) {
    step_.next_ns = now_ns_ + std::llround((report_.script.person.reaction_s + more) * 1e9);
  }

  void person() {
    if (now_ns_ < late_until_ns_) return;
    auto const& p = report_.script.person;
    if (sim_is_on()) report_.energised = true;
    if (!ready()) return;
    switch (seen_.machine.at) {
      case S::safe_earthed:
        if (!step_.prepared) {
          wish(Request::prepare);
          step_.prepared = true;
          pause();
        } else if (step_.stopped || seen_.trip.happened || step_.acknowledged) {
          leave();
        } else if (!step_.again) {  // refused: once more
          step_.again = true;
          step_.prepared = false;
          pause(1.0);
        } else {
          leave();
        }
        return;
      case S::armed:
        if (seen_.machine.stage == Stage::third) {
          if (!step_.again) {
            step_.again = true;
            step_.closed = step_.set = step_.said_reached = step_.stopped = false;
            wish(Request::prepare);
          } else {
            wish(Request::stop);
            step_.stopped = true;
          }
          pause();
        } else if (seen_.machine.stage == Stage::second && !step_.closed && p.presses_start) {
          permit_ = PermitSlot();
          old_permits_.push_back(permit_.held);
          wish(Request::close);
          step_.closed = true;
          pause(p.start_s * 0.2);
        }
        return;
      case S::ramp_up:
        if (!step_.set && permit_.link().live.load()) {
          hands_.set_source(p.share, p.ramp_s);
          step_.set = true;
          step_.since_ns = now_ns_;
          pause();
        } else if (step_.set && p.says_reached && hands_.at_set(p.share)) {
          wish(Request::reached);
          step_.since_ns = now_ns_;
          pause();
        } else if (step_.set && now_ns_ - step_.since_ns > 14 * second_ns) {
          stop();  // volts not reached
        }
        return;
      case S::hold:
        if (static_cast<double>(now_ns_ - step_.since_ns) * 1e-9 < p.hold_s) return;
        if (p.raises_again && !step_.raised) {
          step_.raised = true;
          wish(Request::raising);
          hands_.set_source(std::min(1.0, p.share * 1.02), p.ramp_s);
          pause();
        } else {
          stop();
        }
        return;
      case S::tripped:
        if (seen_.machine.stage != Stage::third || !p.acknowledges || step_.acknowledged) return;
        sim_.press("reset");
        if (chance_.in(0.5)) hands_.close_gate();
        wish(Request::acknowledge);
        step_.acknowledged = ++tries_ > 3;
        pause(1.0);
        return;
      case S::lockout:
        if (!p.releases_lockout || step_.released || seen_.machine.stage == Stage::first) return;
        if (seen_.findings.hazard != Hazard::lockout || ++tries_ > 6) step_.released = true;
        if (chance_.in(0.7)) sim_.clear_fault("all");  // repaired, or so they say
        wish(Request::release);
        pause(1.0);
        return;
      case S::unknown:
      case S::securing:
      case S::warning:
      case S::closing:
      case S::ramp_down:
      case S::discharge:
      case S::earthing:
        return;
    }
  }
  void stop() {
    if (!report_.script.person.presses_stop || step_.stopped) return;
    step_.stopped = true;
    auto const kind = chance_.below(3);
    if (kind == 0) {
      permit_.link().returned.store(true);  // a procedure that was unwound
    } else {
      wish(report_.script.person.holds_area && !step_.again ? Request::stop_hold : Request::stop);
    }
    pause();
  }
  /// Opens the gate where the guard shows safe and takes the leads off, unless told to earth by hand first.
  void leave() {
    if (step_.left) return;
    step_.left = true;
    hands_.open_gate();
    if (seen_.machine.owed == Owed::nothing) {
      hands_.undress();
    }
    pause(1.0);
  }
  bool sim_is_on() const { return seen_.findings.contactors == Contactors::both && seen_.orders.coils == Coils::both; }

  bool at_the_end() {
    bool const more = std::any_of(ends_ns_.begin(), ends_ns_.end(), [](auto end) { return end >= 0; });
    if (!core_) {
      if (more || now_ns_ - killed_ns_ < 4 * second_ns) return false;
      // A block that holds its outputs for ever after the program is dead: no controller is left that could do
      // anything.
      bool const held = std::find(report_.had.begin(), report_.had.end(), "watchdog-disabled") != report_.had.end();
      report_.came_to_rest = held || !sim_.truth().energized;
      return true;
    }
    bool const rest = seen_.machine.at == S::safe_earthed || seen_.machine.at == S::lockout ||
                      (seen_.machine.at == S::tripped && seen_.machine.stage == Stage::third);
    // Earthed for good, and access waits: I35 without a bound; a channel too noisy to prove LOW for good.
    bool const proven = seen_.findings.earth == Earth::closed && seen_.findings.contactors == Contactors::open;
    bool const down = seen_.machine.at == S::tripped && seen_.machine.stage != Stage::first;
    bool const access_waits = seen_.machine.at == S::earthing || seen_.machine.at == S::unknown;
    bool const waits = proven && (down || (access_waits && !seen_.findings.store_empty));
    auto const& now = seen_.machine;
    if (!(rest || waits) || now.at != rested_.at) rest_since_ns_ = now_ns_;
    rested_ = now;
    double const needed =
        rest_s + report_.script.person.reaction_s + (now.at == S::safe_earthed && !step_.left ? 4.0 : 2.5);
    if (more || static_cast<double>(now_ns_ - rest_since_ns_) * 1e-9 < needed) return false;
    report_.came_to_rest = true;
    return true;
  }

  Chance chance_;
  Scene const& scene_;
  Unit const& unit_;
  Bench const bench_;
  sim::SimBench sim_;
  TroubledLink link_;
  HandAndSource hands_;
  std::int64_t const period_ns_;
  std::unique_ptr<GuardCore> core_;
  PermitSlot permit_;
  std::vector<std::shared_ptr<PermitLink>> old_permits_;  // the guard may still look at the last ones
  StepLimits limits_;
  GuardSnapshot seen_;
  Desk step_;
  RunReport report_;
  std::vector<bool> fired_;
  std::vector<std::int64_t> ends_ns_;
  std::array<std::int64_t, guard_state_count> entered_ns_ = nowhere();
  static constexpr std::array<std::int64_t, guard_state_count> nowhere() {
    std::array<std::int64_t, guard_state_count> all{};
    for (auto& one : all) one = -1;
    return all;
  }
  Machine rested_;
  std::int64_t now_ns_ = 0, late_until_ns_ = -1, killed_ns_ = -1, wrong_since_ns_ = -1, rest_since_ns_ = 0;
  int tries_ = 0;
};

}  // namespace

RunReport one_run(Stock const& stock, std::uint64_t seed) { return Run(stock, seed).play(); }

}  // namespace benchward::guard::runs
