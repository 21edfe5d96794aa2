// SPDX-License-Identifier: MIT
#include "fakes.hpp"

#include <algorithm>
#include <cmath>

#include "limits/unit/ratio_plan.hpp"

namespace benchward::testing {

namespace {

Fault withdrawn(std::string device) {
  Fault fault;
  fault.id = "permit.withdrawn";
  fault.device = std::move(device);
  fault.operation = "set";
  fault.what = "the guard has withdrawn its consent";
  return fault;
}

double line_ratio(FakeUnit const& unit) {
  double percent = 0.0;
  auto const& taps = unit.unit.hv.taps;
  for (std::size_t i = 0; i < taps.size(); ++i) {
    if (taps[i].position != unit.tap) continue;
    auto const place = std::clamp<int>(static_cast<int>(i) + unit.tap_offset, 0, static_cast<int>(taps.size()) - 1);
    percent = taps[static_cast<std::size_t>(place)].percent;
    // Past the last tap the same step again, so that an offset shows on every tap.
    if (static_cast<int>(i) + unit.tap_offset != place) percent += unit.tap_offset > 0 ? -2.5 : 2.5;
  }
  return unit.unit.hv.rated.in(volts) * (1.0 + percent / 100.0) / unit.unit.lv.rated.in(volts);
}

}  // namespace

Task<Answer<Done>> FakeBase::done(std::string call) {
  calls.push_back(std::move(call));
  if (fault) {
    Fault const seen = *fault;
    co_return Answer<Done>(seen);
  }
  Done nothing;
  co_return Answer<Done>(nothing);
}

Task<Answer<Identity>> FakeBase::identity(std::string serial) {
  calls.push_back("identify");
  if (fault) {
    Fault const seen = *fault;
    co_return Answer<Identity>(seen);
  }
  Identity made;
  made.maker = "invented";
  made.serial = std::move(serial);
  co_return Answer<Identity>(made);
}

Task<Answer<RatioMeter::Sample>> FakeRatioMeter::measure(Permit const& permit, Request request) {
  calls.push_back("measure");
  if (fault) {
    Fault const seen = *fault;
    co_return Answer<Sample>(seen);
  }
  asked_without_consent = asked_without_consent || !permit.live();
  if (!permit.live()) {
    Fault const seen = withdrawn(name());
    co_return Answer<Sample>(seen);
  }
  double const applied = request.applied.in(volts);
  highest_asked_v = std::max(highest_asked_v, applied);
  bench.target_mv = applied * 1000.0;
  co_await clock.wait(seconds(0.5));
  double ratio = line_ratio(unit);
  if (!unit.connection.tie.empty()) {
    // Polarity: H1 tied to X1 (or to X's other end), read H2 against the free end.
    bool const opposite = unit.connection.tie.front().at(1) != "X1";
    double const sign = (opposite ? 1.0 : -1.0) * (unit.marking_wrong ? -1.0 : 1.0);
    ratio = 1.0 / (1.0 + sign / ratio);
  } else {
    std::optional<int> tap;
    if (!unit.unit.hv.taps.empty()) tap = unit.unit.hv.rated_tap;
    for (auto const& point : ratio_plan_on_tap(unit.unit, tap)) {
      if (point.lv_pair == request.read_from + "-" + request.read_to) ratio *= point.factor;
    }
    auto const error = unit.ratio_error_percent.find(request.read_from + "-" + request.read_to);
    if (error != unit.ratio_error_percent.end()) ratio *= 1.0 + error->second / 100.0;
    if (unit.leads_exchanged) ratio = 1.0 / ratio;
  }
  Sample sample;
  sample.applied = reading(request.applied, name(), "applied");
  sample.read = reading(volts(applied / ratio), name(), "read");
  sample.ratio = reading(Number(ratio), name(), "ratio");
  sample.phase = reading(degrees(0.02), name(), "phase");
  sample.exciting_current = reading(milliamperes(0.4), name(), "exciting_current");
  co_return Answer<Sample>(sample);
}

Task<Answer<Done>> FakeRatioMeter::output_off() {
  bench.target_mv = 0;
  return done("output_off");
}

Task<Answer<Done>> FakeResistanceMeter::select(std::string pair_from, std::string pair_to) {
  selected_under_current = selected_under_current || bench.current_ua > 10'000.0;
  from = pair_from;
  to = pair_to;
  return done("select " + pair_from + "-" + pair_to);
}

Task<Answer<Done>> FakeResistanceMeter::set_current(Permit const& permit, Current current) {
  if (!permit.live()) {
    Fault const seen = withdrawn(name());
    co_return Answer<Done>(seen);
  }
  bench.target_ua = current.in(amperes)*1e6;
  on_at = clock.now();
  co_return co_await done("set_current");
}

Task<Answer<ResistanceMeter::Sample>> FakeResistanceMeter::read() {
  calls.push_back("read");
  if (fault) {
    Fault const seen = *fault;
    co_return Answer<Sample>(seen);
  }
  co_await clock.wait(seconds(0.05));
  double const current = bench.current_ua * 1e-6;
  double const ohm = from.front() == 'H' ? unit.hv_ohm : unit.lv_ohm;
  double const since = between(on_at, clock.now()).in(seconds);
  double const drift = never_settles ? 0.2 * since / 60.0 : 0.5 * std::exp(-since / unit.settling_tau_s);
  Sample sample;
  sample.volts = reading(volts(current * ohm * (1.0 + drift) + offset_v), name(), "voltage");
  sample.current = reading(amperes(current), name(), "current");
  sample.in_compliance = std::abs(bench.current_ua - bench.target_ua) <= 0.005 * bench.target_ua;
  co_return Answer<Sample>(sample);
}

Task<Answer<Done>> FakeResistanceMeter::current_off() {
  bench.target_ua = 0;
  return done("current_off");
}

Task<Answer<Done>> FakeAcSource::set(Permit const& permit, Setting setting) {
  if (!permit.live()) {
    Fault const seen = withdrawn(name());
    co_return Answer<Done>(seen);
  }
  set_v = setting.voltage.in(volts);
  if (step_v > 0.0) set_v = std::round(set_v / step_v) * step_v;
  set_hz = setting.frequency.in(hertz);
  settings.push_back(set_v);
  bench.target_mv = std::min(set_v, reaches_at_most_v) * 1000.0;
  double const way = std::abs(bench.target_mv - bench.volts_mv);
  bench.ramp_mv_per_ms = std::max(1.0, way / setting.ramp.in(milliseconds));
  co_return co_await done("set");
}

Task<Answer<Done>> FakeAcSource::to_zero(Duration ramp) {
  bench.target_mv = 0;
  bench.ramp_mv_per_ms = std::max(1.0, bench.volts_mv / ramp.in(milliseconds));
  return done("to_zero");
}

Task<Answer<AcSource::State>> FakeAcSource::read() {
  calls.push_back("read");
  if (fault) {
    Fault const seen = *fault;
    co_return Answer<State>(seen);
  }
  co_await clock.wait(seconds(0.02));
  if (bench.volts_mv >= trips_above_v * 1000.0) bench.source_relay = true;
  State state;
  state.voltage = reading(volts(bench.volts_mv * 1e-3), name(), "voltage");
  state.frequency = reading(hertz(set_hz), name(), "frequency");
  state.current = reading(amperes(bench.drawn_ma() * 1e-3), name(), "current");
  state.at_zero = bench.volts_mv <= 0.5;
  state.at_set = std::abs(bench.volts_mv - set_v * 1000.0) <= 1e-3 * set_v * 1000.0;
  state.tripped = bench.source_relay;
  state.healthy = !bench.source_relay;
  co_return Answer<State>(state);
}

Task<Answer<Done>> FakePowerAnalyzer::set_up(Setup wanted) {
  setup = std::move(wanted);
  return done("set_up");
}

Task<Answer<PowerSnapshot>> FakePowerAnalyzer::read() {
  calls.push_back("read");
  if (fault) {
    Fault const seen = *fault;
    co_return Answer<PowerSnapshot>(seen);
  }
  co_await clock.wait(seconds(0.1));
  double const line = bench.volts_mv * 1e-3 * gain;
  bool const three = setup.wiring != Wiring::single_phase;
  bool const shorted = !unit.connection.short_bar.empty();
  auto const& fed = shorted ? unit.unit.hv : unit.unit.lv;
  double const rated_a = unit.unit.rated_line_current(fed).in(amperes);
  double const share = line / fed.rated.in(volts);
  double current = 0.0, watt = 0.0, seen_line = line;
  if (shorted && !unit.bar_missing) {
    current = share / (unit.impedance_percent / 100.0) * rated_a;
    watt = unit.load_loss_w * (current / rated_a) * (current / rated_a);
  } else {
    // Flux goes with volts over frequency.
    double const flux = share * unit.unit.rated_frequency.in(hertz) / source.set_hz;
    current = (shorted ? 0.02 : 1.0) * unit.exciting_a * std::pow(flux, 2.0);
    watt = unit.no_load_w * std::pow(share, 2.5);
    if (share > 1.5) {
      if (first_high.monotonic_ns == 0) first_high = clock.now();
      if (between(first_high, clock.now()).in(seconds) > collapses_after_s) seen_line = 0.3 * line;
    }
  }
  watt = std::min(watt, seen_line * current * (three ? std::sqrt(3.0) : 1.0));
  PowerSnapshot snapshot;
  snapshot.star_point = three ? (setup.wiring == Wiring::three_phase_neutral ? "neutral" : "floating") : "single_phase";
  int const elements = three ? 3 : 1;
  for (int k = 0; k < elements; ++k) {
    double const element = three ? seen_line / std::sqrt(3.0) : seen_line;
    auto const channel = std::to_string(k + 1);
    snapshot.volts_rms.push_back(reading(volts(element), name(), "voltage." + channel));
    snapshot.volts_average.push_back(reading(volts(element * unit.average_over_rms), name(), "average." + channel));
    snapshot.amperes.push_back(reading(amperes(current), name(), "current." + channel));
    snapshot.active.push_back(reading(watts(watt / elements), name(), "power." + channel));
  }
  snapshot.frequency = reading(hertz(source.set_hz), name(), "frequency");
  co_return Answer<PowerSnapshot>(snapshot);
}

Task<Answer<ThermometerScanner::Sample>> FakeThermometer::read() {
  calls.push_back("read");
  if (fault) {
    Fault const seen = *fault;
    co_return Answer<Sample>(seen);
  }
  co_await clock.wait(seconds(0.05));
  Sample sample;
  sample.top = reading(celsius(unit.temperature_c + 0.4), name(), "probe.1");
  sample.bottom = reading(celsius(unit.temperature_c - 0.4), name(), "probe.2");
  sample.ambient = reading(celsius(21.0), name(), "probe.3");
  co_return Answer<Sample>(sample);
}

Task<Answer<Done>> FakeDielectricTester::set(Permit const& permit, Setting wanted) {
  if (!permit.live()) {
    Fault const seen = withdrawn(name());
    co_return Answer<Done>(seen);
  }
  setting = wanted;
  was_at_set = false;
  bench.target_mv = wanted.level.in(volts)*1000.0;
  bench.ramp_mv_per_ms = bench.target_mv / wanted.ramp.in(milliseconds);
  co_return co_await done("set");
}

Task<Answer<Done>> FakeDielectricTester::to_zero(Duration ramp) {
  bench.target_mv = 0;
  bench.ramp_mv_per_ms = std::max(1.0, bench.volts_mv / ramp.in(milliseconds));
  return done("to_zero");
}

Task<Answer<DielectricTester::State>> FakeDielectricTester::read() {
  calls.push_back("read");
  if (fault) {
    Fault const seen = *fault;
    co_return Answer<State>(seen);
  }
  co_await clock.wait(seconds(0.05));
  double const kv = bench.volts_mv * 1e-6;
  State state;
  state.tripped = kv >= breaks_at_kv;
  state.at_set = !state.tripped && bench.volts_mv >= 0.999 * setting.level.in(volts)*1000.0;
  if (state.at_set && !was_at_set) at_set_since = clock.now();
  was_at_set = was_at_set || state.at_set;
  bool const collapsed = was_at_set && between(at_set_since, clock.now()).in(seconds) > collapses_after_s;
  auto const& c = unit.connection.feed.front().front().front() == 'H' ? unit.unit.hv.capacitance_to_earth
                                                                      : unit.unit.lv.capacitance_to_earth;
  double const stray_a = 0.00011 * kv;
  double const own_a = c ? 2.0 * M_PI * setting.frequency.in(hertz)*c->in(farads)*kv * 1000.0 : 0.0;
  state.level = reading(kilovolts(collapsed ? 0.2 * kv : kv), name(), "level");
  state.current = reading(amperes(stray_a + (lead_off ? 0.0 : own_a)), name(), "current");
  state.frequency = reading(setting.frequency, name(), "frequency");
  state.at_zero = bench.volts_mv <= 0.5;
  co_return Answer<State>(state);
}

Task<void> FakeOperator::inside() {
  bench.gate_open = true;
  co_await clock.wait(seconds(2));
  bench.gate_open = false;
  co_await clock.wait(seconds(1));
}

Task<bool> FakeOperator::connect(Connection const& connection, int, int) {
  acts.push_back("connect " + connection.name);
  Connection const wanted = connection;
  co_await inside();
  unit.connection = wanted;
  unit.tap = wanted.tap.value_or(0);
  co_return true;
}

Task<bool> FakeOperator::set_tap(int position) {
  acts.push_back("tap " + std::to_string(position));
  co_await inside();
  unit.tap = position;
  co_return true;
}

Task<bool> FakeOperator::start(Connection const& connection) {
  acts.push_back("start " + connection.name);
  co_await clock.wait(seconds(0.5));
  co_return !refuses_start;
}

Task<std::string> FakeOperator::ask(Question question) {
  acts.push_back("ask " + question.id);
  co_await clock.wait(seconds(0.5));
  if (on_question) on_question(question.id);
  auto const found = answers.find(question.id);
  if (found != answers.end()) co_return found->second;
  co_return question.choices.empty() ? std::string("test") : question.choices.front();
}

Task<bool> FakeOperator::acknowledge_trip(std::string) { co_return true; }

Task<bool> FakeOperator::make_as_shipped(Connection const& as_shipped) {
  acts.push_back("as shipped");
  Connection const wanted = as_shipped;
  co_await inside();
  unit.connection = wanted;
  co_return true;
}

}  // namespace benchward::testing
