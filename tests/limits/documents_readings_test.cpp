// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>
#include <string>

#include "documents_support.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/readings_json.hpp"
#include "limits/documents/unit_document.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {

/// Numbers that no short decimal stands for.
class Awkward {
 public:
  double number() { return std::ldexp(static_cast<double>(random_()) / 1e19, static_cast<int>(random_() % 40) - 20); }
  std::int64_t integer() { return static_cast<std::int64_t>(random_() >> 1); }
  template <class Q, class Unit>
  Reading<Q> reading(Unit unit) {
    Reading<Q> reading;
    reading.value = unit(number());
    reading.quality = random_() % 2 ? Quality::good : Quality::uncertain;
    reading.source = {integer(), static_cast<std::int64_t>(random_() % 4000000000000000ull)};
    reading.received = {integer(), static_cast<std::int64_t>(random_() % 4000000000000000ull)};
    reading.origin = {"meter \"A\"", "voltage.1", "", {0, 1, 0xffff, static_cast<std::uint16_t>(random_())}};
    return reading;
  }
  Reading<Number> ratio() {
    Reading<Number> reading;
    reading.value = Number(number());
    reading.quality = Quality::good;
    return reading;
  }
  TemperatureReadings temperatures() {
    TemperatureReadings t;
    t.mode = "own_sensors";
    t.top = reading<Temperature>(celsius);
    t.bottom = reading<Temperature>(celsius);
    t.ambient = reading<Temperature>(celsius);
    t.rest = seconds(number());
    return t;
  }
  PowerSnapshot snapshot() {
    PowerSnapshot s;
    s.star_point = "neutral";
    for (int i = 0; i < 3; ++i) {
      s.volts_rms.push_back(reading<Voltage>(volts));
      s.volts_average.push_back(reading<Voltage>(volts));
      s.amperes.push_back(reading<Current>(amperes));
      s.active.push_back(reading<ActivePower>(watts));
    }
    s.frequency = reading<Frequency>(hertz);
    return s;
  }

 private:
  std::mt19937_64 random_{20261125};
};

/// Written, read and written again: the same bytes. Bytes are the same only if every number is, to the last bit.
template <class T>
void round_trip(T const& value) {
  auto const text = write_json(value);
  INFO(text);
  CHECK(write_json(read_json<T>(text, "again")) == text);
}

}  // namespace

TEST_CASE("readings of every routine test come back exactly as they were written", "[documents][journal]") {
  Awkward a;
  for (int i = 0; i < 20; ++i) {
    round_trip(a.temperatures());
    round_trip(a.snapshot());
    RatioReadings ratio;
    ratio.points.push_back({3,
                            "H1-H3",
                            "X1-X0",
                            {},
                            "H1-H2+H3",
                            a.reading<Voltage>(volts),
                            a.ratio(),
                            a.reading<Angle>(radians),
                            a.reading<Current>(amperes)});
    ratio.points.push_back({{},
                            "H1-H2",
                            "X1-X2",
                            "X3-X1",
                            {},
                            a.reading<Voltage>(volts),
                            a.ratio(),
                            a.reading<Angle>(radians),
                            a.reading<Current>(amperes)});
    round_trip(ratio);
    round_trip(PolarityReadings{"adjacent", "H1-X1", "H2-X2", a.reading<Voltage>(volts), a.reading<Voltage>(volts)});
    ResistanceReadings resistance;
    ResistancePoint point;
    point.terminals = "H1-H3";
    point.set_current = amperes(a.number());
    point.offset_before = a.reading<Voltage>(volts);
    point.offset_after = a.reading<Voltage>(volts);
    for (int k = 0; k < 4; ++k) {
      point.volts.push_back(a.reading<Voltage>(volts));
      point.current.push_back(a.reading<Current>(amperes));
    }
    point.settling = seconds(a.number());
    point.predicted_change_relative = a.number();
    point.temperature = a.temperatures();
    resistance.points = {point, point};
    round_trip(resistance);
    NoLoadReadings no_load;
    no_load.points.push_back({100.0, "X1,X2,X3", {a.snapshot(), a.snapshot()}, true});
    no_load.temperature = a.temperatures();
    round_trip(no_load);
    LoadLossReadings load_loss;
    load_loss.fed = "H1,H2,H3";
    load_loss.shorted = "X1-X2-X3";
    load_loss.tap = 3;
    load_loss.snapshots = {a.snapshot()};
    load_loss.temperature_before = a.temperatures();
    load_loss.temperature_after = a.temperatures();
    load_loss.on_time = seconds(a.number());
    load_loss.shorting_bar = ohms(a.number());
    load_loss.shorting_bar_inductance = henries(a.number());
    round_trip(load_loss);
    AppliedReadings applied;
    applied.winding = "hv";
    applied.level = {a.reading<Voltage>(volts)};
    applied.current = {a.reading<Current>(amperes)};
    applied.frequency = a.reading<Frequency>(hertz);
    applied.held = seconds(a.number());
    applied.broke_down = true;
    applied.what_happened = "collapse\nat once";
    applied.stray_current = amperes(a.number());
    round_trip(applied);
    InducedReadings induced;
    induced.fed = "X1-X3";
    induced.snapshots = {a.snapshot()};
    induced.frequency = a.reading<Frequency>(hertz);
    induced.held = seconds(a.number());
    round_trip(induced);
    InsulationReadings insulation;
    insulation.between = "H to X+tank";
    insulation.test_voltage = a.reading<Voltage>(volts);
    insulation.at_60_s = a.reading<Resistance>(ohms);
    insulation.temperature = a.temperatures();
    round_trip(insulation);
    round_trip(
        BreakdownReading{"applied", "over-current", volts(a.number()), amperes(a.number()), seconds(a.number()), true});
    MeasuredResistances measured;
    measured.hv = {ohms(a.number()), a.number(), celsius(a.number()), true};
    measured.instrument = "R1";
    round_trip(measured);
  }
}

TEST_CASE("a reading that is no number is written BAD and without a value", "[documents][journal]") {
  Awkward a;
  auto reading = PolarityReadings{"adjacent", "H1-X1", "H2-X2", a.reading<Voltage>(volts), a.reading<Voltage>(volts)};
  reading.applied.quality = Quality::bad;
  reading.across.value = volts(std::nan(""));
  auto const text = write_json(reading);
  CHECK(text.find("\"value\"") == std::string::npos);
  CHECK(text.find("null") == std::string::npos);
  auto const back = read_json<PolarityReadings>(text, "t");
  CHECK(back.applied.quality == Quality::bad);
  CHECK(back.across.quality == Quality::bad);
  CHECK(back.applied.value.in(volts) == 0.0);
  CHECK(back.across.origin.raw_words == reading.across.origin.raw_words);
  CHECK(document_error([&] {
          read_json<PolarityReadings>(with(text, "\"unit\":\"V\"", "\"value\":1,\"unit\":\"V\""), "t");
        }).id() == "reading.bad-with-value");
  CHECK(document_error([&] {
          read_json<PolarityReadings>(with(text, "\"unit\":\"V\"", "\"unit\":\"kV\""), "t");
        }).id() == "document.unknown-word");
  CHECK(document_error([&] { read_json<PolarityReadings>(with(text, "\"raw\":\"0", "\"raw\":\"x"), "t"); }).path() ==
        "/applied/raw");
}

TEST_CASE("results, evaluations, judgements, calibrations and limit sheets come back exactly", "[documents][journal]") {
  Awkward a;
  Result result;
  result.test = "load_loss";
  result.quantity = "corrected_load_loss_w";
  result.value = a.number();
  result.unit = "W";
  result.uncertainty = Uncertainty{a.number(), 1e9};
  result.limit = Limit{"r", {}, a.number(), "W", "how", "from memory", false};
  result.verdict = Verdict::conditional_pass;
  result.measured = a.number();
  result.intermediates = {{"P_e", a.number(), "W"}, {"P_s", -0.0, "W"}};
  result.remark = "look at \"H2\"";
  round_trip(result);
  CHECK(std::signbit(read_json<Result>(write_json(result), "t").intermediates[1].value));
  result.value = std::numeric_limits<double>::infinity();
  CHECK(std::isnan(read_json<Result>(write_json(result), "t").value));
  round_trip(Evaluation{"load_loss", {result, result}, "not settled", {}, {"close to a limit"}});
  round_trip(Judgement{Outcome::invalid, Disposition::hold, "because"});
  round_trip(Calibration{"C-1",
                         "2026-01-01",
                         "2027-01-01",
                         {{"power", "W", a.number(), a.number(), a.number(), a.number(), a.number(), a.number(),
                           a.number(), a.number(), a.number(), a.number()}}});
  for (char const* name : {"single-phase-pad-50kva", "three-phase-pad-500kva-dyn1"}) {
    auto const unit = read_unit(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/units/" + name + ".json");
    round_trip(work_out(builtin_limit_set(unit.standard), unit));
  }
}

TEST_CASE("times are written as UTC with microseconds and come back exactly", "[documents][journal][reference]") {
  // RFC 3339 section 5.8 examples (the second is given there with an offset); 2030-01-01 by hand: 21,915 days.
  CHECK(utc_from_text("1985-04-12T23:20:50.520000Z") == 482196050520000);
  CHECK(utc_text(482196050520000) == "1985-04-12T23:20:50.520000Z");
  CHECK(utc_from_text("1996-12-20T00:39:57.000000Z") == 851042397000000);
  CHECK(utc_text(1893456000000000) == "2030-01-01T00:00:00.000000Z");
  CHECK(utc_text(-1) == "1969-12-31T23:59:59.999999Z");
  CHECK(utc_from_text("1969-12-31T23:59:59.999999Z") == -1);
  for (char const* bad : {"", "2030-01-01", "2030-02-29T00:00:00.000000Z", "2030-01-01T24:00:00.000000Z",
                          "2030-01-01T00:00:00.00000xZ"}) {
    CHECK_THROWS_AS(utc_from_text(bad), std::invalid_argument);
  }
}
