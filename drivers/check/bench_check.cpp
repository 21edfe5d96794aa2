// SPDX-License-Identifier: MIT
#include "drivers/check/bench_check.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <map>

#include <fmt/format.h>

#include "drivers/instruments/device.hpp"
#include "drivers/instruments/open_instruments.hpp"
#include "drivers/profile/role_names.hpp"
#include "drivers/time/together.hpp"

namespace benchward {
namespace {

int number(std::string const& date, std::size_t from, std::size_t size) {
  int value = 0;
  if (from + size <= date.size()) std::from_chars(date.data() + from, date.data() + from + size, value);
  return value;
}

/// Days since 1970-01-01 (H. Hinnant's closed form, public).
int day_number(std::string const& date) {
  int year = number(date, 0, 4);
  int const month = number(date, 5, 2), day = number(date, 8, 2);
  year -= month <= 2 ? 1 : 0;
  int const era = (year >= 0 ? year : year - 399) / 400;
  int const year_of_era = year - era * 400;
  int const day_of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
  int const day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
  return era * 146097 + day_of_era - 719468;
}

CheckFinding of_fault(Fault const& fault) { return {true, fault.id, fault.operation + ": " + fault.what, fault.next}; }

void judge_calibration(DeviceCheck& check, Calibration const& calibration, CheckSettings const& settings) {
  check.calibration_due = calibration.due_on;
  int const left = calendar_days_between(settings.today, calibration.due_on);
  if (left < 0) {
    check.findings.push_back(
        {true, "calibration.due", fmt::format("calibration was due on {}, {} days ago", calibration.due_on, -left),
         "nothing measured with it is for record: calibrate it, or exchange it for a calibrated one"});
  } else if (left <= settings.soon_days) {
    check.findings.push_back({false, "calibration.soon",
                              fmt::format("calibration is due on {}, in {} days", calibration.due_on, left),
                              "book it now"});
  }
}

DeviceCounts difference(DeviceCounts after, DeviceCounts const& before) {
  after.asked -= before.asked;
  after.answered -= before.answered;
  after.timeouts -= before.timeouts;
  after.noise -= before.noise;
  after.collisions -= before.collisions;
  after.exceptions -= before.exceptions;
  after.stale -= before.stale;
  after.noisy -= before.noisy;
  after.lost -= before.lost;
  after.total -= before.total;
  return after;
}

void judge_counts(DeviceCheck& check, CheckSettings const& settings) {
  auto const& counts = check.counts;
  auto const failed = counts.timeouts + counts.noise + counts.collisions + counts.lost;
  if (failed == 0 && counts.stale == 0 && counts.noisy == 0) return;
  double const noisy_part =
      counts.asked == 0 ? 0.0 : static_cast<double>(counts.noisy) / static_cast<double>(counts.asked);
  bool const wrong = counts.error_rate() > settings.most_errors || noisy_part > settings.most_errors;
  std::string what = fmt::format("{} of {} requests went wrong:", failed, counts.asked);
  if (counts.timeouts > 0) what += fmt::format(" no answer {}", counts.timeouts);
  if (counts.noise > 0) what += fmt::format(" garbled {}", counts.noise);
  if (counts.collisions > 0) what += fmt::format(" collisions {}", counts.collisions);
  if (counts.lost > 0) what += fmt::format(" link lost {}", counts.lost);
  if (counts.noisy > 0) what += fmt::format(" noise before the answer {}", counts.noisy);
  if (counts.stale > 0) what += fmt::format(" late answers thrown away {}", counts.stale);
  check.findings.push_back({wrong, "bus.error-rate", what,
                            counts.timeouts > counts.noise + counts.noisy
                                ? "turn-around or time limit too short, or a loose plug: raise gap_s or time_limit_s"
                                : "check shield, termination and earthing of the line"});
}

/// Numbers that are none, in a sample taken at rest. The status of a source at rest may well say "no feed"; that of a
/// device that only measures may not say bad.
void judge_sample(DeviceCheck& check, DeviceSample const& sample, bool drives) {
  // A meter that measures when told to has nothing to show before; nothing turns at rest, so there is no frequency, and
  // without test volts there is no insulation resistance.
  auto const* role = names_of_role(check.role);
  bool const on_trigger =
      role != nullptr && std::find(role->bits.begin(), role->bits.end(), "done") != role->bits.end();
  if (on_trigger && !sample.bit("done")) return;
  for (auto const& [name, value] : sample.values) {
    bool const none_at_rest = name == "frequency" || (check.role == "insulation_meter" && name == "resistance");
    if (!value.good && !none_at_rest) {
      check.findings.push_back({true, "device.value", fmt::format("\"{}\" reads nothing usable: {}", name, value.why),
                                "check probe, range and the profile"});
    }
  }
  if (sample.bad && !drives)
    check.findings.push_back({true, "device.value", "its status says: " + sample.why, "check its leads and probes"});
}

Task<DeviceCheck> check_device(Device& device, CheckSettings const& settings) {
  DeviceCheck check;
  auto const& declaration = device.declaration();
  check.device = declaration.name;
  check.role = declaration.role;
  check.link = declaration.link;
  judge_calibration(check, declaration.calibration, settings);
  auto const before = device.bus().counts()[check.device];
  auto const identity = co_await device.identify();
  if (!identity.ok()) {
    check.findings.push_back(of_fault(identity.error()));
  } else {
    check.identity = identity.value();
    for (int question = 0; question < settings.questions; ++question) {
      auto const sample = co_await device.sample();
      if (!sample.ok()) {
        check.findings.push_back(of_fault(sample.error()));
        break;
      }
      if (question == 0) judge_sample(check, sample.value(), device.profile().highest.has_value());
    }
  }
  auto const after = device.bus().counts()[check.device];
  check.counts = difference(after, before);
  check.fastest = after.fastest;
  check.slowest = after.slowest;
  if (check.ok()) judge_counts(check, settings);  // a device that does not answer at all has been named already
  co_return check;
}

Task<void> check_link(OpenedInstruments& opened, std::vector<std::size_t> const& places, CheckSettings const& settings,
                      std::vector<DeviceCheck>& into) {
  for (auto const place : places) into[place] = co_await check_device(*opened.devices[place], settings);
}

/// Contacts that contradict each other, or the state of rest with every output off.
class IoAtRest {
 public:
  IoAtRest(Bench const& bench, BenchInputs const& inputs, DeviceCheck& check)
      : bench_(bench), in_(inputs), check_(check) {}

  void judge() {
    if (wired("stop_a") && wired("stop_b") && in_.stop_a != in_.stop_b) {
      wrong("io.stop", "the two channels of the emergency stop disagree",
            "press and release every stop; then check contacts and wires");
    } else {
      expect("stop_a", in_.stop_a, "io.stop", "an emergency stop is pressed, or its wire is open",
             "release it; the reason comes first");
    }
    for (int gate = 0; gate < bench_.gates; ++gate) {
      if (in_.gate_a[gate] != in_.gate_b[gate]) {
        wrong("io.gate", fmt::format("the two channels of gate {} disagree", gate + 1),
              "open and close the gate; then check switch and wires");
      } else if (!in_.gate_a[gate]) {
        remark("io.gate", fmt::format("gate {} is open", gate + 1), "");
      }
    }
    if (in_.earth_closed == in_.earth_open) {
      wrong("io.earth",
            in_.earth_closed ? "the earth switch says closed and open at once"
                             : "the earth switch says neither closed nor open",
            "do not enter: apply a visible earth by hand, then check its drive and end contacts");
    } else if (!in_.earth_closed) {
      wrong("io.earth", "the earth switch is open with its output off",
            "do not enter: apply a visible earth by hand, then check its drive");
    }
    for (auto const& source : bench_.sources) {
      auto const& inputs = in_.source[static_cast<int>(source.path)];
      auto const n = std::to_string(static_cast<int>(source.path));
      contactor("source." + n + ".first_open", inputs.first_open, source.first_contactor);
      contactor("source." + n + ".second_open", inputs.second_open, source.second_contactor);
      expect("source." + n + ".store_discharged", inputs.store_discharged, "io.store",
             fmt::format("the energy store of {} is not discharged", source.instrument),
             "wait, and treat its leads as live");
    }
    double const limit_v = std::max(3.0 * bench_.io.output_noise_v, 10.0 * bench_.io.output_least_count_v);
    double const seen_v = std::abs(in_.output_mv) * 1e-3;
    if (wired("output_good") && !in_.output_good) {
      wrong("io.voltage", "the guard's voltage transducer says it is not good",
            "treat everything as live; check transducer and its wires");
    } else if (seen_v > limit_v) {
      wrong("io.voltage",
            fmt::format("{} V at the source's output with everything off, {} V is noise", seen_v, limit_v),
            "treat everything as live and test by hand; then check the transducer");
    }
    expect("direct_good", in_.direct_good, "io.current", "the guard's direct-current transducer says it is not good",
           "check transducer and its wires");
    expect("voltage_absent", in_.voltage_absent, "io.voltage",
           "the voltage relay does not say that there is no voltage",
           "treat everything as live and test by hand; then check the relay");
    expect("regulator_at_zero", in_.regulator_at_zero, "io.regulator", "the regulator is not at zero",
           "run it down; check its limit switch");
    expect("source_healthy", in_.source_healthy, "io.supply", "the supply is not healthy",
           "check fuses, phases, their sequence and the source's own relay");
    expect("red_ok", in_.red_ok, "io.lamp", "the red lamp does not prove itself", "exchange the lamp");
    expect("siren_ok", in_.siren_ok, "io.siren", "the siren does not prove itself", "check siren and fuse");
    expect("ground_ok", in_.ground_ok, "io.earth", "the tank's earth is not proven",
           "clean the clamp's place to bare metal and clamp again");
    expect("breaker_closed", in_.breaker_closed, "io.breaker", "the upstream breaker is open",
           "find out why it tripped; then close it");
    if (in_.person_inside)
      wrong("io.person", "a personal key is missing: somebody may be inside", "find the person; bring the key home");
    if (in_.bypass_key) wrong("io.bypass", "a bypass key is in", "take it out; nothing measured with it is for record");
    expect("covers_closed", in_.covers_closed, "io.cover", "an instrument cover is open", "close it");
    expect("short_closed", in_.short_closed, "io.short", "the shorting contact across the winding is open at rest",
           "check its drive: energise to open");
    expect("hooks_home", in_.hooks_home, "io.hooks", "a lead or an earth stick is not on its hook",
           "hang it up before arming");
    if (in_.red_lit) wrong("io.lamp", "the red lamp is lit with its output off", "check lamp output and wiring");
  }

  void judge_lamp(BenchInputs const& with_red) {
    if (wired("red_lit") && !with_red.red_lit)
      wrong("io.lamp", "the red lamp does not light when told to", "exchange the lamp, check its output");
    if (wired("green_lit") && with_red.green_lit) {
      wrong("io.green", "the green lamp stays lit beside the red one",
            "do not believe the green lamp: check its relay chain");
    }
  }

 private:
  bool wired(std::string const& name) const { return bench_.io.inputs.count(name) != 0; }
  void wrong(char const* id, std::string what, std::string next) {
    check_.findings.push_back({true, id, std::move(what), std::move(next)});
  }
  void remark(char const* id, std::string what, std::string next) {
    check_.findings.push_back({false, id, std::move(what), std::move(next)});
  }
  void expect(std::string const& name, bool value, char const* id, std::string what, std::string next) {
    if (wired(name) && !value) wrong(id, std::move(what), std::move(next));
  }
  void contactor(std::string const& name, bool open, std::string const& contactor_name) {
    expect(name, open, "io.contactor", fmt::format("contactor {} does not say that it is open", contactor_name),
           "it may be welded: isolate the supply by hand before anybody enters");
  }

  Bench const& bench_;
  BenchInputs const& in_;
  DeviceCheck& check_;
};

}  // namespace

int calendar_days_between(std::string const& from, std::string const& to) { return day_number(to) - day_number(from); }

Task<BenchCheck> check_instruments(Bench const& bench, OpenedInstruments& opened, CheckSettings settings) {
  BenchCheck result;
  result.bench = bench.name;
  // Links at once, the devices of a link one after the other: one that is silent keeps only its own link waiting.
  std::map<std::string, std::vector<std::size_t>> links;
  for (std::size_t i = 0; i < opened.devices.size(); ++i) links[opened.devices[i]->declaration().link].push_back(i);
  result.devices.resize(opened.devices.size());
  std::vector<Task<void>> tasks;
  for (auto const& [link, places] : links) tasks.push_back(check_link(opened, places, settings, result.devices));
  auto running = together(std::move(tasks));
  co_await std::move(running);
  co_return result;
}

Task<DeviceCheck> check_bench_io(Bench const& bench, BenchLink& link, Clock& clock, std::uint16_t owner) {
  DeviceCheck check;
  check.device = "bench I/O";
  check.role = "bench_io";
  check.link = bench.io.link;
  check.fastest = seconds(1e9);
  BenchOutputs outputs;
  outputs.owner = owner;
  outputs.watchdog_ms = static_cast<std::uint16_t>(bench.guard.watchdog.in(milliseconds));
  BenchInputs at_rest, with_red;
  std::uint16_t first_scan = 0;
  bool scan_moved = false;
  std::optional<std::uint16_t> stranger;
  // Half of the turns with everything off, half with the red lamp on: contacts and lamps have time to settle.
  constexpr int turns = 20;
  for (int turn = 0; turn < turns; ++turn) {
    outputs.red = turn >= turns / 2;
    ++outputs.heartbeat;
    auto const begin = clock.now();
    auto const exchange = link.exchange(outputs, begin.monotonic_ns);
    auto const took = between(begin, clock.now()) / clock.scale();
    ++check.counts.asked;
    if (!exchange.ok) {
      ++check.counts.timeouts;
    } else {
      ++check.counts.answered;
      if (took < check.fastest) check.fastest = took;
      if (took > check.slowest) check.slowest = took;
      check.counts.total += took;
      if (check.counts.answered == 1) first_scan = exchange.inputs.scan;
      scan_moved = scan_moved || exchange.inputs.scan != first_scan;
      if (exchange.inputs.owner_echo != owner) stranger = exchange.inputs.owner_echo;
      (outputs.red ? with_red : at_rest) = exchange.inputs;
    }
    co_await clock.wait(milliseconds(100));
  }
  outputs = {};
  outputs.owner = owner;
  outputs.watchdog_ms = static_cast<std::uint16_t>(bench.guard.watchdog.in(milliseconds));
  static_cast<void>(link.exchange(outputs, clock.now().monotonic_ns));  // the lamp off again
  if (check.counts.answered == 0) {
    check.findings.push_back({true, "io.silent", "the I/O block does not answer",
                              "check its power, cable and address; the hard-wired chain stays in force"});
    co_return check;
  }
  if (check.counts.timeouts > 0) {
    check.findings.push_back(
        {true, "io.late", fmt::format("{} of {} exchanges failed", check.counts.timeouts, check.counts.asked),
         fmt::format("its limit is {} ms: check the network of the I/O block, which is the guard's alone",
                     bench.io.time_limit.in(milliseconds))});
  }
  if (with_red.watchdog_ms != outputs.watchdog_ms) {
    check.findings.push_back(
        {true, "io.watchdog",
         fmt::format("wrote a watchdog of {} ms, the block says {} ms", outputs.watchdog_ms, with_red.watchdog_ms),
         "without it the block may hold its outputs for ever: check its settings"});
  }
  if (stranger) {
    check.findings.push_back({true, "io.owner", fmt::format("the block echoes owner {}, not {}", *stranger, owner),
                              "another program writes to it: end that one"});
  }
  if (bench.io.inputs.count("scan") != 0 && !scan_moved) {
    check.findings.push_back(
        {true, "io.frozen", "the block's scan counter does not move", "the block is frozen: switch it off and on"});
  }
  IoAtRest rest(bench, at_rest, check);
  rest.judge();
  rest.judge_lamp(with_red);
  co_return check;
}

}  // namespace benchward
