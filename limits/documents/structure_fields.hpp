// SPDX-License-Identifier: MIT
#pragma once

/// The keys of every structure that the journal keeps, once, for writing and reading alike: an archive is called with
/// key and member. Keys of bare quantities carry the SI base unit in which the number stands. Not installed.

#include <concepts>
#include <type_traits>

#include "limits/calibration.hpp"
#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/readings.hpp"
#include "limits/result.hpp"
#include "limits/rules/limit_sheet.hpp"

namespace benchward::documents {

/// A structure or a constant one.
template <class T, class Structure>
concept Like = std::same_as<std::remove_const_t<T>, Structure>;

/// A double that may be no number: then it has no key, and comes back as not a number.
template <class Double>
struct MaybeNumber {
  Double& number;
};
template <class Double>
MaybeNumber<Double> maybe(Double& number) {
  return {number};
}

void fields(auto& archive, Like<TemperatureReadings> auto& t) {
  archive("mode", t.mode)("top", t.top)("bottom", t.bottom)("ambient", t.ambient)("rest_s", t.rest);
  archive("top_change_in_one_hour_k", t.top_change_in_one_hour);
}
void fields(auto& archive, Like<RatioPoint> auto& p) {
  archive("tap", p.tap)("hv_pair", p.hv_pair)("lv_pair", p.lv_pair)("shorted", p.shorted);
  archive("fed_return_tie", p.fed_return_tie)("applied", p.applied)("ratio", p.ratio)("phase", p.phase);
  archive("exciting_current", p.exciting_current);
}
void fields(auto& archive, Like<RatioReadings> auto& r) {
  archive("points", r.points)("dual_voltage_position", r.dual_voltage_position);
}
void fields(auto& archive, Like<PolarityReadings> auto& p) {
  archive("join", p.join)("tied", p.tied)("read_across", p.read_across)("applied", p.applied)("across", p.across);
}
void fields(auto& archive, Like<ResistancePoint> auto& p) {
  archive("terminals", p.terminals)("tap", p.tap)("set_current_a", p.set_current)("offset_before", p.offset_before);
  archive("offset_after", p.offset_after)("volts", p.volts)("current", p.current)("settling_s", p.settling);
  archive("predicted_change_relative", p.predicted_change_relative)("temperature", p.temperature);
}
void fields(auto& archive, Like<ResistanceReadings> auto& r) { archive("points", r.points); }
void fields(auto& archive, Like<PowerSnapshot> auto& s) {
  archive("star_point", s.star_point)("volts_rms", s.volts_rms)("volts_average", s.volts_average);
  archive("amperes", s.amperes)("active", s.active)("frequency", s.frequency);
}
void fields(auto& archive, Like<NoLoadPoint> auto& p) {
  archive("percent", p.percent)("fed", p.fed)("snapshots", p.snapshots)("line_to_line_volts", p.line_to_line_volts);
}
void fields(auto& archive, Like<NoLoadReadings> auto& r) {
  archive("points", r.points)("temperature", r.temperature);
  archive("core_temperature_c_if_known", r.core_temperature_c_if_known);
  archive("core_temperature_known", r.core_temperature_known);
}
void fields(auto& archive, Like<LoadLossReadings> auto& r) {
  archive("fed", r.fed)("shorted", r.shorted)("tap", r.tap)("snapshots", r.snapshots);
  archive("line_to_line_volts", r.line_to_line_volts)("temperature_before", r.temperature_before);
  archive("temperature_after", r.temperature_after)("on_time_s", r.on_time)("shorting_bar_ohm", r.shorting_bar);
  archive("shorting_bar_h", r.shorting_bar_inductance);
}
void fields(auto& archive, Like<AppliedReadings> auto& r) {
  archive("winding", r.winding)("level", r.level)("current", r.current)("frequency", r.frequency)("held_s", r.held);
  archive("broke_down", r.broke_down)("what_happened", r.what_happened)("stray_current_a", r.stray_current);
}
void fields(auto& archive, Like<InducedReadings> auto& r) {
  archive("fed", r.fed)("case", r.case_name)("at_quarter", r.at_quarter)("snapshots", r.snapshots)(
      "line_to_line_volts", r.line_to_line_volts);
  archive("frequency", r.frequency)("held_s", r.held)("broke_down", r.broke_down)("what_happened", r.what_happened);
  archive("expected_current_a", r.expected_current);
}
void fields(auto& archive, Like<InsulationReadings> auto& r) {
  archive("between", r.between)("test_voltage", r.test_voltage)("at_15_s", r.at_15_s)("at_60_s", r.at_60_s);
  archive("at_10_min", r.at_10_min)("temperature", r.temperature);
}
void fields(auto& archive, Like<BreakdownReading> auto& b) {
  archive("test", b.test)("cause", b.cause)("at_v", b.at_volts)("at_a", b.at_amperes)("after_s", b.after);
  archive("bench_proven_clean", b.bench_proven_clean);
}
void fields(auto& archive, Like<MeasuredResistances::Side> auto& s) {
  archive("total_ohm", s.total)("relative_u", s.relative_u)("at_c", s.at)("known", s.known);
}
void fields(auto& archive, Like<MeasuredResistances> auto& m) {
  archive("hv", m.hv)("lv", m.lv)("instrument", m.instrument);
}

void fields(auto& archive, Like<Uncertainty> auto& u) {
  archive("standard", u.standard)("degrees_of_freedom", u.degrees_of_freedom);
}
void fields(auto& archive, Like<Limit> auto& l) {
  archive("rule", l.rule)("lower", l.lower)("upper", l.upper)("unit", l.unit)("origin", l.origin)("source", l.source);
  archive("warns_only", l.warns_only);
}
void fields(auto& archive, Like<Intermediate> auto& i) {
  archive("name", i.name)("value", maybe(i.value))("unit", i.unit);
}
void fields(auto& archive, Like<Result> auto& r) {
  archive("test", r.test)("quantity", r.quantity)("at", r.at)("value", maybe(r.value))("unit", r.unit);
  archive("uncertainty", r.uncertainty)("limit", r.limit)("verdict", r.verdict)("measured", r.measured);
  archive("measured_unit", r.measured_unit);
  archive("intermediates", r.intermediates)("remark", r.remark)("evaluation_version", r.evaluation_version);
}
void fields(auto& archive, Like<Evaluation> auto& e) {
  archive("test", e.test)("results", e.results)("invalid_reason", e.invalid_reason)("question", e.question);
  archive("warnings", e.warnings);
}
void fields(auto& archive, Like<Judgement> auto& j) {
  archive("outcome", j.outcome)("disposition", j.disposition)("reason", j.reason);
}
void fields(auto& archive, Like<DecisionRule> auto& d) {
  archive("name", d.name)("guard_factor", d.guard_factor)("risk", d.risk)("prior", d.prior);
  archive("conditional_pass", d.conditional_pass);
}
void fields(auto& archive, Like<VerdictRow> auto& v) {
  archive("verdict", v.verdict)("outcome", v.outcome)("disposition", v.disposition);
}
void fields(auto& archive, Like<SheetLine::PerFrequency> auto& p) {
  archive("cycles", p.cycles)("least_s", p.least_s)("most_s", p.most_s);
}
void fields(auto& archive, Like<SheetLine> auto& l) {
  archive("test", l.test)("quantity", l.quantity)("at", l.at)("limit", l.limit)("decision", l.decision);
  archive("nominal", l.nominal)("speaks_up_to_u", l.speaks_up_to_u)("per_frequency", l.per_frequency);
}
void fields(auto& archive, Like<LimitSheet> auto& s) {
  archive("limit_set", s.limit_set)("limit_set_version", s.limit_set_version)("limit_set_hash", s.limit_set_hash);
  archive("unit_serial", s.unit_serial)("lines", s.lines)("no_requirement", s.no_requirement)("verdicts", s.verdicts);
}

void fields(auto& archive, Like<ChannelCalibration> auto& c) {
  archive("quantity", c.quantity)("unit", c.unit)("relative_u", c.relative_u)("offset_u", c.offset_u);
  archive("least_count", c.least_count)("noise_u", c.noise_u)("noise_relative_u", c.noise_relative_u);
  archive("gain_correction", c.gain_correction)("offset_correction", c.offset_correction);
  archive("phase_error_rad", c.phase_error_rad)("phase_u_rad", c.phase_u_rad);
  archive("drift_relative_per_year", c.drift_relative_per_year);
}
void fields(auto& archive, Like<Calibration> auto& c) {
  archive("certificate", c.certificate)("calibrated_on", c.calibrated_on)("due_on", c.due_on)("channels", c.channels);
}

}  // namespace benchward::documents
