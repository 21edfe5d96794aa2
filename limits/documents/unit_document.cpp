// SPDX-License-Identifier: MIT
#include "limits/documents/unit_document.hpp"

#include <cmath>

#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/unit_checks.hpp"
#include "limits/documents/unit_words.hpp"

namespace benchward {
namespace {

using documents::above;
using documents::above_up_to;
using documents::at_least;
using documents::between;
using documents::ObjectReader;

DualVoltage read_dual_voltage(ObjectReader reader) {
  DualVoltage dual;
  dual.higher = volts(reader.number("higher_v", "a number of volts", above(0.0)));
  dual.lower = volts(reader.number("lower_v", "a number of volts", above(0.0)));
  dual.ordered_position = static_cast<int>(reader.integer("ordered_position", "1 (higher) or 2 (lower)", 1, 2));
  reader.finish();
  return dual;
}

std::vector<Tap> read_taps(ObjectReader& winding) {
  std::vector<Tap> taps;
  for (auto& reader : winding.optional_objects("taps")) {
    Tap tap;
    tap.position = static_cast<int>(reader.integer("position", "the tap changer's position", 0, 99));
    tap.percent = reader.number("percent", "a number of percent", between(-30.0, 30.0));
    reader.finish();
    taps.push_back(tap);
  }
  return taps;
}

Winding read_winding(ObjectReader reader, bool high_voltage) {
  Winding winding;
  winding.rated = volts(reader.number("rated_v", "a number of volts", above_up_to(0.0, 100000.0)));
  winding.metal = reader.word("metal", words::metals);
  if (auto const turns = reader.optional_integer("turns", "a number of turns", 1, 1000000)) {
    winding.turns = static_cast<int>(*turns);
  }
  winding.bil_kv = reader.optional_number("bil_kv", "a number of kilovolts", above(0.0));
  winding.applied_kv = reader.optional_number("applied_kv", "a number of kilovolts", above(0.0));
  if (auto const nanofarad = reader.optional_number("capacitance_nf", "a number of nanofarads", above(0.0))) {
    winding.capacitance_to_earth = nanofarads(*nanofarad);
  }
  if (high_voltage) {
    winding.taps = read_taps(reader);
    winding.has_tap_changer = reader.boolean_or("has_tap_changer", !winding.taps.empty());
    if (!winding.taps.empty()) {
      winding.rated_tap = static_cast<int>(reader.integer("rated_tap", "a position of the list `taps`", 0, 99));
    }
    if (auto dual = reader.optional_object("dual_voltage")) winding.dual = read_dual_voltage(*dual);
  }
  reader.finish();
  return winding;
}

Guarantees read_guarantees(std::optional<ObjectReader> reader) {
  Guarantees guarantees;
  if (!reader) return guarantees;
  auto const loss = [&](char const* key) -> std::optional<ActivePower> {
    auto const number = reader->optional_number(key, "a number of watts", above(0.0));
    return number ? std::optional<ActivePower>(watts(*number)) : std::nullopt;
  };
  guarantees.no_load_loss = loss("no_load_loss_w");
  guarantees.load_loss = loss("load_loss_w");
  guarantees.total_loss = loss("total_loss_w");
  guarantees.impedance_percent =
      reader->optional_number("impedance_percent", "a number of percent", above_up_to(0.0, 100.0));
  guarantees.exciting_current_percent =
      reader->optional_number("exciting_current_percent", "a number of percent", above_up_to(0.0, 100.0));
  reader->finish();
  return guarantees;
}

ReferenceTemperatures read_reference(ObjectReader reader) {
  ReferenceTemperatures reference;
  auto const what = "a number of degrees Celsius";
  reference.no_load = celsius(reader.number_or("no_load_c", 20.0, what, between(-50.0, 200.0)));
  reference.load = celsius(reader.number("load_c", what, between(-50.0, 200.0)));
  reference.efficiency_load = celsius(reader.number_or("efficiency_load_c", 55.0, what, between(-50.0, 200.0)));
  reader.finish();
  return reference;
}

Accessory read_accessory(ObjectReader reader) {
  Accessory accessory;
  accessory.name = reader.text("name", "a name");
  accessory.terminal = reader.text_or("terminal", "", "a terminal");
  accessory.shipped_state = reader.text("shipped_state", "the state in which it is shipped");
  reader.finish();
  return accessory;
}

std::vector<Accessory> read_accessories(ObjectReader& unit, std::string_view key) {
  std::vector<Accessory> list;
  for (auto& reader : unit.optional_objects(key)) list.push_back(read_accessory(reader));
  return list;
}

std::vector<Bushing> read_bushings(ObjectReader& unit) {
  std::vector<Bushing> list;
  for (auto& reader : unit.objects("bushings")) {
    Bushing bushing;
    bushing.name = reader.text("name", "a terminal, e.g. \"H1\"");
    bushing.kind = reader.word("kind", words::bushing_kinds);
    bushing.duplicated = reader.boolean_or("duplicated", false);
    reader.finish();
    list.push_back(bushing);
  }
  return list;
}

Genealogy read_genealogy(std::optional<ObjectReader> reader) {
  Genealogy genealogy;
  if (!reader) return genealogy;
  genealogy.core_lot = reader->text_or("core_lot", "");
  genealogy.coils = reader->text_or("coils", "");
  genealogy.winder = reader->text_or("winder", "");
  genealogy.tank = reader->text_or("tank", "");
  reader->finish();
  return genealogy;
}

OrderOptions read_options(std::optional<ObjectReader> reader) {
  OrderOptions options;
  if (!reader) return options;
  options.stages = reader->optional_texts("stages");
  if (reader->has("no_load_percents")) {
    options.no_load_percents =
        reader->numbers("no_load_percents", "a number of percent of rated volts", above_up_to(0.0, 120.0));
  }
  options.insulation_resistance = reader->boolean_or("insulation_resistance", false);
  options.no_load_after_dielectric = reader->boolean_or("no_load_after_dielectric", false);
  options.hand_checks = reader->optional_texts("hand_checks");
  options.elsewhere = reader->optional_texts("elsewhere");
  reader->finish();
  return options;
}

Unit read(ObjectReader reader) {
  Unit unit;
  unit.note = reader.text_or("note", "");
  unit.serial = reader.text("serial", "a serial number as text");
  unit.order = reader.text_or("order", "");
  unit.customer = reader.text_or("customer", "");
  unit.design = reader.text_or("design", "");
  unit.manufactured_on = reader.date("manufactured_on");
  unit.filled_at = reader.optional_instant("filled_at");
  unit.phases = static_cast<int>(reader.integer("phases", "1 or 3", 1, 3));
  if (unit.phases == 2) reader.fail("document.out-of-range", "phases", "expected 1 or 3, got 2");
  unit.rated_power = kilovolt_amperes(reader.number("rated_kva", "a number of kVA", above_up_to(0.0, 100000.0)));
  unit.rated_frequency = hertz(reader.number("rated_hz", "a number of hertz", above_up_to(0.0, 400.0)));
  unit.vector_group = reader.text("vector_group", "a vector group, e.g. \"Dyn1\", \"YNyn0\", \"Ii0\"");
  // Where the leads are decides the polarity verdict of a single-phase unit: no default for it there.
  if (unit.phases == 1 || reader.has("lead_placement")) {
    unit.lead_placement = reader.word("lead_placement", words::lead_placements);
    if (unit.phases == 3) reader.fail("unit.phases", "lead_placement", "only a single-phase unit has it; take it out");
  }
  unit.construction = reader.word("construction", words::constructions);
  unit.core_form = reader.word("core_form", words::core_forms);
  unit.standard = reader.word("standard", words::standards);
  unit.liquid = reader.text("liquid", "the kind of liquid");
  unit.cooling = reader.text_or("cooling", "");
  unit.average_rise = kelvins(reader.number("average_rise_k", "a number of kelvins", above_up_to(0.0, 150.0)));
  unit.reference = read_reference(reader.object("reference"));
  unit.hv = read_winding(reader.object("hv"), true);
  unit.lv = read_winding(reader.object("lv"), false);
  unit.lv_form = reader.word("lv_form", words::lv_forms);
  unit.interlaced = reader.boolean_or("interlaced", false);
  unit.hv_neutral = reader.word("hv_neutral", words::neutral_kinds);
  unit.lv_neutral = reader.word("lv_neutral", words::neutral_kinds);
  unit.neutral_insulation_kv = reader.optional_number("neutral_insulation_kv", "a number of kilovolts", above(0.0));
  unit.guarantees = read_guarantees(reader.optional_object("guarantees"));
  unit.bushings = read_bushings(reader);
  unit.straps = read_accessories(reader, "straps");
  unit.arresters = read_accessories(reader, "arresters");
  unit.fuses = read_accessories(reader, "fuses");
  unit.switches = read_accessories(reader, "switches");
  if (auto breaker = reader.optional_object("breaker")) unit.breaker = read_accessory(*breaker);
  unit.genealogy = read_genealogy(reader.optional_object("genealogy"));
  unit.options = read_options(reader.optional_object("options"));
  reader.finish();
  check_unit(unit, reader.document());
  return unit;
}

/// The number in a unit from which the reader makes the same quantity again, to the last bit: division and
/// multiplication by 1000 may each round, so a neighbour is taken where it fits better.
template <class Quantity, class MeasureUnit>
double number_of(Quantity quantity, MeasureUnit unit) {
  double const plain = quantity.in(unit);
  auto const same = [&](double number) { return unit(number) <= quantity && quantity <= unit(number); };
  if (same(plain)) return plain;
  for (double const toward : {-1e300, 1e300}) {
    if (double const neighbour = std::nextafter(plain, toward); same(neighbour)) return neighbour;
  }
  return plain;
}

template <class Quantity, class MeasureUnit>
std::optional<double> number_of(std::optional<Quantity> const& quantity, MeasureUnit unit) {
  return quantity ? std::optional<double>(number_of(*quantity, unit)) : std::nullopt;
}

void write_winding(JsonWriter& json, Winding const& winding, bool high_voltage) {
  json.begin_object()
      .field("rated_v", number_of(winding.rated, volts))
      .field("metal", words::word_of(words::metals, winding.metal))
      .field("turns", winding.turns)
      .field("bil_kv", winding.bil_kv)
      .field("applied_kv", winding.applied_kv)
      .field("capacitance_nf", number_of(winding.capacitance_to_earth, nanofarads));
  if (high_voltage) {
    json.field("has_tap_changer", winding.has_tap_changer).key("taps").begin_list();
    for (auto const& tap : winding.taps) {
      json.begin_object().field("position", tap.position).field("percent", tap.percent).end_object();
    }
    json.end_list();
    if (!winding.taps.empty()) json.field("rated_tap", winding.rated_tap);
    if (winding.dual) {
      json.key("dual_voltage")
          .begin_object()
          .field("higher_v", number_of(winding.dual->higher, volts))
          .field("lower_v", number_of(winding.dual->lower, volts))
          .field("ordered_position", winding.dual->ordered_position)
          .end_object();
    }
  }
  json.end_object();
}

void write_accessory(JsonWriter& json, Accessory const& accessory) {
  json.begin_object()
      .field("name", accessory.name)
      .field("terminal", accessory.terminal)
      .field("shipped_state", accessory.shipped_state)
      .end_object();
}

void write_accessories(JsonWriter& json, std::string_view key, std::vector<Accessory> const& list) {
  json.key(key).begin_list();
  for (auto const& accessory : list) write_accessory(json, accessory);
  json.end_list();
}

}  // namespace

Unit parse_unit(std::string_view text, std::string const& name) {
  auto const json = documents::parse_json(text, name);
  return read(ObjectReader(json, name));
}

Unit read_unit(std::string const& path) { return parse_unit(documents::read_text_file(path), path); }

std::string write_unit(Unit const& unit) {
  JsonWriter json;
  json.begin_object();
  if (!unit.note.empty()) json.field("note", unit.note);
  json.field("serial", unit.serial)
      .field("order", unit.order)
      .field("customer", unit.customer)
      .field("design", unit.design)
      .field("manufactured_on", unit.manufactured_on)
      .field("filled_at", unit.filled_at)
      .field("phases", unit.phases)
      .field("rated_kva", number_of(unit.rated_power, kilovolt_amperes))
      .field("rated_hz", number_of(unit.rated_frequency, hertz))
      .field("vector_group", unit.vector_group);
  if (unit.phases == 1) json.field("lead_placement", words::word_of(words::lead_placements, unit.lead_placement));
  json.field("construction", words::word_of(words::constructions, unit.construction))
      .field("core_form", words::word_of(words::core_forms, unit.core_form))
      .field("standard", words::word_of(words::standards, unit.standard))
      .field("liquid", unit.liquid)
      .field("cooling", unit.cooling)
      .field("average_rise_k", number_of(unit.average_rise, kelvins));
  json.key("reference")
      .begin_object()
      .field("no_load_c", unit.reference.no_load.in(celsius))
      .field("load_c", unit.reference.load.in(celsius))
      .field("efficiency_load_c", unit.reference.efficiency_load.in(celsius))
      .end_object();
  json.key("hv");
  write_winding(json, unit.hv, true);
  json.key("lv");
  write_winding(json, unit.lv, false);
  json.field("lv_form", words::word_of(words::lv_forms, unit.lv_form))
      .field("interlaced", unit.interlaced)
      .field("hv_neutral", words::word_of(words::neutral_kinds, unit.hv_neutral))
      .field("lv_neutral", words::word_of(words::neutral_kinds, unit.lv_neutral))
      .field("neutral_insulation_kv", unit.neutral_insulation_kv);
  auto const& guarantees = unit.guarantees;
  json.key("guarantees")
      .begin_object()
      .field("no_load_loss_w", number_of(guarantees.no_load_loss, watts))
      .field("load_loss_w", number_of(guarantees.load_loss, watts))
      .field("total_loss_w", number_of(guarantees.total_loss, watts))
      .field("impedance_percent", guarantees.impedance_percent)
      .field("exciting_current_percent", guarantees.exciting_current_percent)
      .end_object();
  json.key("bushings").begin_list();
  for (auto const& bushing : unit.bushings) {
    json.begin_object()
        .field("name", bushing.name)
        .field("kind", bushing.kind)
        .field("duplicated", bushing.duplicated)
        .end_object();
  }
  json.end_list();
  write_accessories(json, "straps", unit.straps);
  write_accessories(json, "arresters", unit.arresters);
  write_accessories(json, "fuses", unit.fuses);
  write_accessories(json, "switches", unit.switches);
  if (unit.breaker) {
    json.key("breaker");
    write_accessory(json, *unit.breaker);
  }
  json.key("genealogy")
      .begin_object()
      .field("core_lot", unit.genealogy.core_lot)
      .field("coils", unit.genealogy.coils)
      .field("winder", unit.genealogy.winder)
      .field("tank", unit.genealogy.tank)
      .end_object();
  json.key("options")
      .begin_object()
      .field("stages", unit.options.stages)
      .field("no_load_percents", unit.options.no_load_percents)
      .field("insulation_resistance", unit.options.insulation_resistance)
      .field("no_load_after_dielectric", unit.options.no_load_after_dielectric)
      .field("hand_checks", unit.options.hand_checks)
      .field("elsewhere", unit.options.elsewhere)
      .end_object();
  return json.end_object().text();
}

}  // namespace benchward
