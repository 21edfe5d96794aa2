// SPDX-License-Identifier: MIT
// Published worked examples (tests/reference/data/worked-examples.jsonl: title, author, address and place of each stand
// in its line) through `calc`, within what the printed rounding allows.
#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <set>
#include <sstream>
#include <string>

#include "documents_support.hpp"
#include "limits/documents/calc/calc.hpp"
#include "limits/documents/json_reader.hpp"

using namespace benchward;
using namespace benchward::test;
using documents::Json;

namespace {

/// One figure of one example. `input` is the topic's input; `<key>` in it is the example's own input, `<key/0>` an
/// entry. Published figure = a * output + b, or a / output with `inverse`.
struct Row {
  char const* example;
  char const* topic;
  char const* input;
  char const* output;  ///< JSON pointer into the topic's output
  char const* figure;  ///< JSON pointer into the example's results
  double a = 1.0, b = 0.0;
  bool inverse = false;
};

char const* const open_and_short =
    R"({"open": {"voltage_v": <oc_V_V>, "current_a": <oc_I_A>, "power_w": <oc_P_W>},
        "short": {"voltage_v": <sc_V_V>, "current_a": <sc_I_A>, "power_w": <sc_P_W>}})";
/// Only the short-circuit test is published: an open test that says nothing stands in.
char const* const only_short = R"({"open": {"voltage_v": 1, "current_a": 2, "power_w": 1},
        "short": {"voltage_v": <sc_V_V>, "current_a": <sc_I_A>, "power_w": <sc_P_W>}})";
char const* const only_open = R"({"open": {"voltage_v": <V_V>, "current_a": <I_A>, "power_w": <P_W>},
        "short": {"voltage_v": 1, "current_a": 2, "power_w": 1}})";
char const* const one_student = R"({"coverage": <pairs/%/0>, "components": [
        {"name": "x", "standard_uncertainty": 1, "sensitivity": 1, "degrees_of_freedom": <pairs/%/1>}]})";
char const* const wye_line = R"({"connection": "wye", "line_to_line_ohm": [0.6, 0.6, 0.6]})";
char const* const delta_line = R"({"connection": "delta", "line_to_line_ohm": [0.6, 0.6, 0.6]})";

std::vector<Row> rows() {
  std::vector<Row> list = {
      // open- and short-circuit tests
      {"WE01-01", "equivalent-circuit", open_and_short, "/core_resistance_ohm", "/R_fe_LV_ohm"},
      {"WE01-01", "equivalent-circuit", open_and_short, "/magnetizing_reactance_ohm", "/X_m_LV_ohm"},
      {"WE01-01", "equivalent-circuit", open_and_short, "/series_resistance_ohm", "/R_eq_pu",
       75000.0 / (4600.0 * 4600.0)},
      {"WE01-01", "equivalent-circuit", open_and_short, "/series_reactance_ohm", "/X_eq_pu",
       75000.0 / (4600.0 * 4600.0)},
      {"WE01-01", "equivalent-circuit", open_and_short, "/series_impedance_ohm", "/Z_eq_pu",
       75000.0 / (4600.0 * 4600.0)},
      {"WE01-01", "regulation", R"({"r_percent": 1.601, "x_percent": 3.108, "power_factor": <pf_lag>})",
       "/regulation_percent", "/regulation_0.75lag_percent"},
      {"WE01-02", "equivalent-circuit",
       R"({"open": {"voltage_v": <V_V>, "current_a": 0.2738, "power_w": <P_W>}, "short": {"voltage_v": 1, "current_a": 2, "power_w": 1}})",
       "/core_resistance_ohm", "/R_fe_kohm", 1e-3},
      {"WE01-02", "equivalent-circuit",
       R"({"open": {"voltage_v": <V_V>, "current_a": 0.2738, "power_w": <P_W>}, "short": {"voltage_v": 1, "current_a": 2, "power_w": 1}})",
       "/magnetizing_reactance_ohm", "/X_M_kohm", 1e-3},
      {"WE01-04", "equivalent-circuit", open_and_short, "/series_resistance_ohm", "/R_eq_HV_ohm"},
      {"WE01-04", "equivalent-circuit", open_and_short, "/series_reactance_ohm", "/X_eq_HV_ohm"},
      {"WE01-05", "equivalent-circuit", only_short, "/series_impedance_ohm", "/Z_eq_HV_ohm"},
      {"WE01-05", "equivalent-circuit", only_short, "/series_resistance_ohm", "/R_eq_HV_ohm"},
      {"WE01-05", "equivalent-circuit", only_short, "/series_reactance_ohm", "/X_eq_HV_ohm"},
      {"WE01-07", "equivalent-circuit", open_and_short, "/series_resistance_ohm", "/R_H_ohm", 0.5},
      {"WE01-07", "equivalent-circuit", open_and_short, "/series_reactance_ohm", "/X_H_ohm", 0.5},
      {"WE01-07", "equivalent-circuit", open_and_short, "/series_resistance_ohm", "/R_L_mohm", 1.25},
      {"WE01-08", "equivalent-circuit", open_and_short, "/core_resistance_ohm", "/R_0_ohm"},
      {"WE01-08", "equivalent-circuit", open_and_short, "/magnetizing_reactance_ohm", "/X_0_ohm"},
      {"WE01-08", "equivalent-circuit", open_and_short, "/series_resistance_ohm", "/R_eq_LV_ohm", 0.25},
      {"WE01-08", "equivalent-circuit", open_and_short, "/series_reactance_ohm", "/X_eq_LV_ohm", 0.25},
      {"WE01-10", "equivalent-circuit", open_and_short, "/series_resistance_ohm", "/R01_ohm"},
      {"WE01-10", "equivalent-circuit", open_and_short, "/series_reactance_ohm", "/X01_ohm"},
      {"WE01-10", "equivalent-circuit", open_and_short, "/series_resistance_ohm", "/R02_ohm", 0.01},
      {"WE01-10", "regulation", R"({"r_percent": 1.3493, "x_percent": 3.10388, "power_factor": <pf_lag>})",
       "/regulation_percent", "/regulation_exact_percent"},
      {"WE01-10", "efficiency",
       R"({"rated_kva": <S_kVA>, "no_load_loss_w": <oc_P_W>, "load_loss_w": 269.86, "load_fraction": 1, "power_factor": <pf_lag>})",
       "/efficiency_percent", "/eta_fl_0.8_percent"},
      {"WE01-11", "equivalent-circuit", open_and_short, "/series_resistance_ohm", "/R_e2_ohm", 0.25},
      {"WE01-11", "equivalent-circuit", open_and_short, "/series_reactance_ohm", "/X_e2_ohm", 0.25},
      {"WE01-11", "equivalent-circuit", open_and_short, "/core_resistance_ohm", "/I_w_A", 200.0, 0.0, true},
      {"WE01-13", "equivalent-circuit", only_short, "/series_resistance_ohm", "/R_ohm"},
      {"WE01-13", "equivalent-circuit", only_short, "/series_reactance_ohm", "/X_ohm"},
      {"WE01-13", "equivalent-circuit", only_short, "/series_impedance_ohm", "/Z_ohm"},
      {"WE01-14", "equivalent-circuit", only_open, "/core_resistance_ohm", "/I_c_A", 2400.0, 0.0, true},
      {"WE01-14", "equivalent-circuit", only_open, "/magnetizing_reactance_ohm", "/I_m_A", 2400.0, 0.0, true},
      {"WE01-16", "equivalent-circuit", only_open, "/core_resistance_ohm", "/I_w_A", 220.0, 0.0, true},
      {"WE01-16", "equivalent-circuit", only_open, "/magnetizing_reactance_ohm", "/I_m_A", 220.0, 0.0, true},
      // regulation and efficiency; examples worked with the approximate regulation formula are left out
      {"WE02-01", "regulation", R"({"r_percent": 1.3, "x_percent": 3.8, "power_factor": <pf_lag>})",
       "/regulation_percent", "/regulation_percent"},
      {"WE02-01", "regulation", R"({"r_percent": 1.3, "x_percent": 3.8, "power_factor": <pf_lag>})",
       "/regulation_percent", "/V_no_load_V", 6.0, 600.0},
      {"WE02-02", "regulation", R"({"r_percent": 1.3, "x_percent": 3.8, "power_factor": <pf_lead>, "leading": true})",
       "/regulation_percent", "/regulation_percent"},
      {"WE02-04", "regulation",
       R"({"r_percent": 2.150909, "x_percent": 6.473409, "power_factor": <pf>, "load_fraction": <fraction>})",
       "/regulation_percent", "/regulation_lag_percent"},
      {"WE02-04", "regulation",
       R"({"r_percent": 2.150909, "x_percent": 6.473409, "power_factor": <pf>, "load_fraction": <fraction>, "leading": true})",
       "/regulation_percent", "/regulation_lead_percent"},
      {"WE02-05", "efficiency",
       R"({"rated_kva": <S_kVA>, "no_load_loss_w": <P_core_W>, "load_loss_w": 215.306, "load_fraction": <fraction>, "power_factor": <pf>})",
       "/efficiency_percent", "/eta_percent"},
      {"WE02-07", "regulation", R"({"r_percent": 1.246954, "x_percent": 1.780837, "power_factor": 1})",
       "/regulation_percent", "/V1_unity_pu", 0.01, 1.0},
      {"WE02-07", "regulation", R"({"r_percent": 1.246954, "x_percent": 1.780837, "power_factor": <pf_lag>})",
       "/regulation_percent", "/V1_0.7lag_pu", 0.01, 1.0},
      {"WE02-10", "regulation", R"({"r_percent": 3.409091, "x_percent": 4.545455, "power_factor": <pf_lag>})",
       "/regulation_percent", "/regulation_percent"},
      {"WE02-17", "efficiency",
       R"({"rated_kva": <S_kVA>, "no_load_loss_w": <P_core_W>, "load_loss_w": <sc_P_W>, "load_fraction": 1, "power_factor": <pf>})",
       "/efficiency_percent", "/eta_percent"},
      {"WE02-19", "regulation",
       R"({"r_percent": 1.7, "x_percent": 2.47, "power_factor": <pf>, "load_fraction": <load>})", "/regulation_percent",
       "/regulation_pu", 0.01},
      {"WE02-23", "efficiency",
       R"({"rated_kva": <S_kVA>, "no_load_loss_w": 1499.9, "load_loss_w": 4500, "load_fraction": 1, "power_factor": <pf>})",
       "/efficiency_percent", "/eta_0.8_percent"},
      {"WE02-25", "efficiency",
       R"({"rated_kva": <S_kVA>, "no_load_loss_w": <P_core_W>, "load_loss_w": 4488.2, "load_fraction": 1})",
       "/efficiency_percent", "/eta_fl_unity_percent"},
      {"WE02-25", "efficiency",
       R"({"rated_kva": <S_kVA>, "no_load_loss_w": <P_core_W>, "load_loss_w": 4488.2, "load_fraction": 1, "power_factor": 0.8})",
       "/efficiency_percent", "/eta_fl_0.8_percent"},
      {"WE02-25", "efficiency", R"({"rated_kva": <S_kVA>, "no_load_loss_w": <P_core_W>, "load_loss_w": 4488.2})",
       "/efficiency_percent", "/eta_half_unity_percent"},
      {"WE02-28", "efficiency",
       R"({"rated_kva": <S_kVA>, "no_load_loss_w": <P_fe_W>, "load_loss_w": <P_cu_W>, "load_fraction": <fraction>, "power_factor": <pf>})",
       "/efficiency_percent", "/eta_percent"},
      {"WE02-29", "efficiency",
       R"({"rated_kva": <S_kVA>, "no_load_loss_w": <P_fe_W>, "load_loss_w": 4762.5, "load_fraction": 1, "power_factor": <pf>})",
       "/efficiency_percent", "/eta_fl_percent"},
      {"WE02-29", "efficiency",
       R"({"rated_kva": <S_kVA>, "no_load_loss_w": <P_fe_W>, "load_loss_w": 4762.5, "load_fraction": 0.5, "power_factor": <pf>})",
       "/efficiency_percent", "/eta_half_percent"},
      // resistance
      {"WE03-13", "phase-resistances",
       R"({"connection": "wye", "line_to_line_ohm": [0.2033898305, 0.2033898305, 0.2033898305]})", "/phase_ohm/0",
       "/R_phase_ohm"},
      {"WE03-16", "phase-resistances", wye_line, "/phase_ohm/1", "/R_ac_phase_ohm", 1.5},
      {"WE03-17", "phase-resistances", delta_line, "/phase_ohm/2", "/R_eff_phase_ohm", 1.5},
      {"MEM-03", "phase-resistances", R"({"connection": "wye", "line_to_line_ohm": [2, 2, 2]})", "/phase_ohm/0",
       "/R_phase_wye_ohm"},
      {"MEM-03", "phase-resistances", R"({"connection": "delta", "line_to_line_ohm": [2, 2, 2]})", "/phase_ohm/0",
       "/R_phase_delta_ohm"},
      {"MEM-04", "phase-resistances", R"({"connection": "wye", "line_to_line_ohm": [1.2, 1.2, 1.2]})", "/total_ohm",
       "/P_wye_W", 26.2432 * 26.2432},
      {"MEM-04", "phase-resistances", R"({"connection": "delta", "line_to_line_ohm": [1.2, 1.2, 1.2]})", "/total_ohm",
       "/P_delta_W", 26.2432 * 26.2432 / 3.0},
      // load loss, impedance, no-load loss
      {"WE04-04", "impedance",
       R"({"impedance_voltage_v": <sc_V_V>, "rated_voltage_v": <V_V>, "test_current_a": 4.545455, "rated_current_a": 4.545455,
           "load_loss_w": <sc_P_W>, "rated_kva": 5})",
       "/r_percent", "/R_pu", 0.01},
      {"WE04-04", "impedance",
       R"({"impedance_voltage_v": <sc_V_V>, "rated_voltage_v": <V_V>, "test_current_a": 4.545455, "rated_current_a": 4.545455,
           "load_loss_w": <sc_P_W>, "rated_kva": 5})",
       "/x_percent", "/X_pu", 0.01},
      {"WE04-05", "impedance",
       R"({"impedance_voltage_v": 100, "rated_voltage_v": 2300, "test_current_a": 1, "rated_current_a": 1, "load_loss_w": <P_sc_W>,
           "rated_kva": <S_kVA>})",
       "/r_percent", "/P_cu_pu", 0.01},
      {"MEM-06", "no-load-loss", R"({"measured_w": 1, "rms_v": 105, "average_v": 100})", "/sine_w", "/factor"},
      // ratio, connections
      {"WE06-01", "ratio",
       R"({"vector_group": "YNd1", "hv_rated_v": <U_HV_V>, "lv_rated_v": <U_LV_V>, "measured_ratio": 10})",
       "/expected_turns_ratio", "/unit_ratio"},
      {"WE06-07", "ratio",
       R"({"vector_group": "Dyn1", "hv_rated_v": <U_HV_kV>, "lv_rated_v": <U_LV_kV>, "measured_ratio": 8.4})",
       "/expected_turns_ratio", "/turns_ratio"},
      // dielectric tests
      {"WE08-01", "induced-test",
       R"({"standard": "iec", "rated_v": 100, "rated_hz": <f_rated_Hz>, "test_hz": <f_test_Hz/0>})", "/duration_s",
       "/t_s/0"},
      {"WE08-01", "induced-test",
       R"({"standard": "iec", "rated_v": 100, "rated_hz": <f_rated_Hz>, "test_hz": <f_test_Hz/1>})", "/duration_s",
       "/t_s/1"},
      {"WE08-02", "induced-test",
       R"({"rated_v": <V_winding_V>, "rated_hz": 60, "test_hz": 400, "case": "line_to_ground", "winding_v": <V_winding_V>})",
       "/test_v", "/V_test_V"},
      // uncertainty and decisions
      {"WE09-02", "uncertainty",
       R"({"components": [{"name": "repeat", "standard_uncertainty": <u_repeat_nm>, "sensitivity": 1, "degrees_of_freedom": <nu_repeat>},
           {"name": "random", "standard_uncertainty": <u_random_nm>, "sensitivity": 1, "degrees_of_freedom": <nu_random>},
           {"name": "systematic", "standard_uncertainty": <u_syst_nm>, "sensitivity": 1, "degrees_of_freedom": <nu_syst>}]})",
       "/combined", "/u_nm"},
      {"WE09-02", "uncertainty",
       R"({"components": [{"name": "repeat", "standard_uncertainty": <u_repeat_nm>, "sensitivity": 1, "degrees_of_freedom": <nu_repeat>},
           {"name": "random", "standard_uncertainty": <u_random_nm>, "sensitivity": 1, "degrees_of_freedom": <nu_random>},
           {"name": "systematic", "standard_uncertainty": <u_syst_nm>, "sensitivity": 1, "degrees_of_freedom": <nu_syst>}]})",
       "/effective_degrees_of_freedom", "/nu"},
      {"WE09-07", "uncertainty",
       R"({"components": [{"name": "a", "standard_uncertainty": <u/0>, "sensitivity": 1, "degrees_of_freedom": <nu/0>},
           {"name": "b", "standard_uncertainty": <u/1>, "sensitivity": 1}]})",
       "/effective_degrees_of_freedom", "/nu_eff"},
      {"WE09-13", "uncertainty",
       R"({"components": [{"name": "a", "standard_uncertainty": 1, "sensitivity": 1}, {"name": "b", "standard_uncertainty": 1, "sensitivity": 1},
           {"name": "c", "standard_uncertainty": 1, "sensitivity": 1}, {"name": "d", "standard_uncertainty": 1, "sensitivity": 1}]})",
       "/combined", "/u_sum"},
      {"WE09-14", "uncertainty",
       R"({"components": [{"name": "x", "standard_uncertainty": 0.288675, "sensitivity": 1.666667}]})", "/combined",
       "/u"},
      {"WE09-17", "uncertainty",
       R"({"components": [{"name": "a", "standard_uncertainty": <c_u_nm/0>, "sensitivity": 1},
           {"name": "b", "standard_uncertainty": <c_u_nm/1>, "sensitivity": 1}, {"name": "c", "standard_uncertainty": <c_u_nm/2>, "sensitivity": 1},
           {"name": "d", "standard_uncertainty": <c_u_nm/3>, "sensitivity": 1}, {"name": "e", "standard_uncertainty": <c_u_nm/4>, "sensitivity": 1},
           {"name": "f", "standard_uncertainty": <c_u_nm/5>, "sensitivity": 1}, {"name": "g", "standard_uncertainty": <c_u_nm/6>, "sensitivity": 1}]})",
       "/combined", "/u_nm"},
      {"WE09-25", "conformity", R"({"value": <mean/0>, "standard_uncertainty": <sigma>, "lower": <LL>, "upper": <UL>})",
       "/probability_conforming", "/risk/0", -1.0, 1.0},
      {"WE09-25", "conformity", R"({"value": <mean/1>, "standard_uncertainty": <sigma>, "lower": <LL>, "upper": <UL>})",
       "/probability_conforming", "/risk/1", -1.0, 1.0},
      {"WE09-25", "conformity", R"({"value": <mean/2>, "standard_uncertainty": <sigma>, "lower": <LL>, "upper": <UL>})",
       "/probability_conforming", "/risk/2", -1.0, 1.0},
      {"WE09-26", "conformity", R"({"value": 10, "standard_uncertainty": 1, "upper": 10})", "/probability_conforming",
       "/PFA_at_limit_percent", -100.0, 100.0},
      {"WE09-26", "conformity", R"({"value": 8, "standard_uncertainty": 1, "upper": 10})", "/probability_conforming",
       "/PFA_at_limit_minus_U_percent", -100.0, 100.0},
      // process
      {"WE10-01", "capability",
       R"({"values": [14.585786437626905, 17.414213562373096], "lower": <LSL>, "upper": <USL>})", "/cp", "/Cp"},
      {"WE10-01", "capability",
       R"({"values": [14.585786437626905, 17.414213562373096], "lower": <LSL>, "upper": <USL>})", "/cpk", "/Cpk"},
      {"WE10-02", "control-chart", R"({"values": <x>, "kind": "individuals"})", "/center", "/mean"},
      {"WE10-02", "control-chart", R"({"values": <x>, "kind": "individuals"})", "/upper", "/UCL"},
      {"WE10-02", "control-chart", R"({"values": <x>, "kind": "individuals"})", "/lower", "/LCL"},
      {"WE10-13", "capability", R"({"values": <x>})", "/mean", "/mean"},
      {"WE10-13", "capability", R"({"values": <x>})", "/standard_deviation", "/s"},
  };
  return list;
}

std::map<std::string, Json> examples() {
  std::map<std::string, Json> list;
  std::istringstream in(source_file("tests/reference/data/worked-examples.jsonl"));
  std::string line;
  while (std::getline(in, line)) {
    auto json = documents::parse_json(line, "worked-examples.jsonl");
    auto const id = json.at("id").get<std::string>();
    list.emplace(id, std::move(json));
  }
  return list;
}

std::string filled(std::string text, Json const& inputs) {
  for (auto open = text.find('<'); open != std::string::npos; open = text.find('<', open)) {
    auto const close = text.find('>', open);
    auto const value = inputs.at(Json::json_pointer("/" + text.substr(open + 1, close - open - 1))).dump();
    text.replace(open, close - open + 1, value);
  }
  return text;
}

/// The tolerance of a figure: its own, or that of the list it stands in.
double tolerance_of(Json const& example, std::string figure) {
  auto const& tolerance = example.at("tolerance");
  auto pointer = Json::json_pointer(figure);
  while (!tolerance.contains(pointer)) pointer = pointer.parent_pointer();
  return tolerance.at(pointer).get<double>();
}

struct Tally {
  int figures = 0;
  std::set<std::string> ids;
  double largest = 0.0;
  std::string where;
};

void check(Row const& row, std::map<std::string, Json> const& all, Tally& tally) {
  auto const& example = all.at(row.example);
  auto const input = filled(row.input, example.at("inputs"));
  auto const output =
      documents::parse_json(calculate(row.topic, input), row.topic).at(Json::json_pointer(row.output)).get<double>();
  double const got = row.inverse ? row.a / output : row.a * output + row.b;
  double const published = example.at("results").at(Json::json_pointer(row.figure)).get<double>();
  double const tolerance = tolerance_of(example, row.figure);
  INFO(row.example << " " << row.figure << ": published " << published << " +- " << tolerance << ", got " << got);
  CHECK(std::abs(got - published) <= tolerance);
  ++tally.figures;
  tally.ids.insert(row.example);
  if (double const part = std::abs(got - published) / tolerance; part > tally.largest) {
    tally.largest = part;
    tally.where = std::string(row.example) + row.figure;
  }
}

}  // namespace

TEST_CASE("published worked examples come out of calc within their printed rounding", "[calc][reference]") {
  auto const all = examples();
  REQUIRE(all.size() == 167);
  Tally tally;
  for (auto const& row : rows()) check(row, all, tally);

  // The five load fractions of WE02-08 and the two of WE02-20, at both power factors.
  std::vector<std::string> texts;  // owns what the rows point to
  texts.reserve(200);
  auto const keep = [&](std::string text) { return texts.emplace_back(std::move(text)).c_str(); };
  for (int i = 0; i < 5; ++i) {
    for (auto const& [pf, name] : {std::pair{"1", "unity"}, std::pair{"0.8", "0.8"}}) {
      auto const* input = keep(fmt::format(
          R"({{"rated_kva": <S_kVA>, "no_load_loss_w": <P_core_W>, "load_loss_w": <P_cu_fl_W>, "load_fraction": {}, "power_factor": {}}})",
          0.25 * (i + 1), pf));
      check({"WE02-08", "efficiency", input, "/efficiency_percent",
             keep(fmt::format("/eta_{}_quarter_to_fivequarter_percent/{}", name, i))},
            all, tally);
    }
  }
  for (auto const& [load, load_name] : {std::pair{"1", "fl"}, std::pair{"0.75", "3q"}}) {
    for (auto const& [pf, name] : {std::pair{"1", "unity"}, std::pair{"0.8", "0.8"}}) {
      auto const* input = keep(fmt::format(
          R"({{"rated_kva": <S_kVA>, "no_load_loss_w": <P_core_W>, "load_loss_w": <P_cu_W>, "load_fraction": {}, "power_factor": {}}})",
          load, pf));
      check({"WE02-20", "efficiency", input, "/efficiency_percent",
             keep(fmt::format("/eta_{}_{}_percent", load_name, name))},
            all, tally);
    }
  }
  // Resistance factors, by metal and standard.
  for (auto const& [metal, standard, name] : {std::tuple{"copper", "ieee", "234.5"}, std::tuple{"copper", "iec", "235"},
                                              std::tuple{"aluminum", "ieee", "225"}}) {
    for (auto const& [index, reference] : {std::pair{0, "75"}, std::pair{1, "85"}}) {
      auto const* input = keep(fmt::format(
          R"({{"resistance_ohm": 1, "measured_at_c": <t1_C>, "reference_c": <t2_C/{}>, "metal": "{}", "standard": "{}"}})",
          index, metal, standard));
      check({"MEM-01", "resistance-at-temperature", input, "/resistance_ohm",
             keep(fmt::format("/f{}_k{}", reference, name))},
            all, tally);
    }
  }
  // Load loss from one temperature to another: a winding that has the published ohmic part.
  struct Split {
    char const* example;
    char const* ohmic;
    char const* total;
    char const* from;
    char const* to;
    char const* metal;
    char const* ohmic_out;
    char const* total_out;
  };
  for (auto const& split : {Split{"WE04-01", "504", "630", "<t1_C>", "<t2_C>", "copper", "/I2R_75_W", "/total_75_W"},
                            Split{"WE04-07", "4500", "5000", "<t_C>", "<t_ref_C>", "aluminum", "/I2R_75_W", "/P_75_W"},
                            Split{"MEM-05", "4500", "5000", "<t1_C>", "<t2_C>", "copper", "/I2R_75_W", "/P_75_W"}}) {
    auto const* input = keep(fmt::format(
        R"({{"measured_w": {}, "test_current_a": 1, "rated_current_a": 1, "winding_c": {}, "reference_c": {}, "windings": [
            {{"total_resistance_ohm": {}, "measured_at_c": {}, "metal": "{}", "rated_phase_current_a": 1}}]}})",
        split.total, split.from, split.to, split.ohmic, split.from, split.metal));
    check({split.example, "load-loss", input, "/ohmic_reference_w", split.ohmic_out}, all, tally);
    check({split.example, "load-loss", input, "/corrected_w", split.total_out}, all, tally);
  }
  // Student's t (GUM table G.2).
  for (int i = 0; i < 9; ++i) {
    std::string input = one_student;
    for (auto at = input.find('%'); at != std::string::npos; at = input.find('%'))
      input.replace(at, 1, std::to_string(i));
    check({"WE09-05", "uncertainty", keep(input), "/coverage_factor", keep(fmt::format("/k/{}", i))}, all, tally);
  }
  // Clock numbers of delta-wye groups.
  for (char const* side : {"lag", "lead"}) {
    for (int i = 0; i < 3; ++i) {
      auto const clock =
          all.at("WE06-14").at("results").at(std::string(side) + "_clock").at(static_cast<std::size_t>(i)).get<int>();
      check({"WE06-14", "phase-relation", keep(fmt::format(R"({{"vector_group": "Dyn{}"}})", clock)),
             "/displacement_deg", keep(fmt::format("/{}_deg/{}", side, i))},
            all, tally);
    }
  }
  for (auto const& [index, hz] :
       {std::pair{0, 100}, std::pair{2, 150}, std::pair{3, 200}, std::pair{4, 400}, std::pair{5, 500}}) {
    check({"MEM-09", "induced-test",
           keep(fmt::format(
               R"({{"standard": "iec", "rated_v": 100, "rated_hz": <f_rated_Hz>, "test_hz": <f_test_Hz/{}>}})", index)),
           "/duration_s", keep(fmt::format("/t_{}Hz_s", hz))},
          all, tally);
  }
  CHECK(tally.ids.size() >= 45);
  fmt::print("worked examples: {} figures of {} examples, largest deviation {:.3f} of the printed rounding, at {}\n",
             tally.figures, tally.ids.size(), tally.largest, tally.where);
}

TEST_CASE("published Modbus frames have the check word that calc computes", "[calc][reference]") {
  int frames = 0;
  for (auto const& [id, example] : examples()) {
    if (!example.at("inputs").contains("body_hex") || !example.at("results").contains("crc_hex")) continue;
    INFO(id);
    auto const out =
        documents::parse_json(calculate("modbus-crc", Json{{"bytes", example.at("inputs").at("body_hex")}}.dump()), id);
    std::string published;
    for (char const c : example.at("results").at("crc_hex").get<std::string>()) {
      if (c != ' ') published += c;
    }
    CHECK(out.at("crc") == published);
    ++frames;
  }
  CHECK(frames >= 18);
  // The catalogue's check value 0x4B37 of "123456789" (WE11-01), low byte first.
  CHECK(documents::parse_json(calculate("modbus-crc", R"({"bytes": "313233343536373839"})"), "t").at("crc") == "374B");
  fmt::print("Modbus check words: {} published frames\n", frames);
}
