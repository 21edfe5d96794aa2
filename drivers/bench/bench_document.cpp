// SPDX-License-Identifier: MIT
#include "drivers/bench/bench_document.hpp"

#include <array>
#include <stdexcept>

#include <fmt/format.h>
#include <openssl/evp.h>

#include "drivers/bench/bench_rules.hpp"
#include "drivers/bench/io_signals.hpp"
#include "limits/documents/json_reader.hpp"

namespace benchward {
namespace {

using documents::above;
using documents::at_least;
using documents::ObjectReader;
using documents::Word;

// Words that stand for themselves, or for a value.
constexpr Word<std::string_view> link_kinds[] = {
    {"modbus_tcp", "modbus_tcp"}, {"modbus_rtu", "modbus_rtu"}, {"text", "text"}, {"text_tcp", "text_tcp"}};
constexpr Word<std::string_view> role_words[] = {{"ratio_meter", "ratio_meter"},
                                                 {"resistance_meter", "resistance_meter"},
                                                 {"power_analyzer", "power_analyzer"},
                                                 {"ac_source", "ac_source"},
                                                 {"thermometer_scanner", "thermometer_scanner"},
                                                 {"dielectric_tester", "dielectric_tester"},
                                                 {"insulation_meter", "insulation_meter"}};
constexpr Word<SourcePath> path_words[] = {{"ac_source", SourcePath::ac_source},
                                           {"dielectric", SourcePath::dielectric},
                                           {"resistance", SourcePath::resistance},
                                           {"ratio", SourcePath::ratio},
                                           {"insulation", SourcePath::insulation}};
constexpr Word<std::string_view> temperature_modes[] = {{"own_sensors", "own_sensors"},
                                                        {"witness_unit", "witness_unit"},
                                                        {"family_resistance", "family_resistance"},
                                                        {"wall_sensor", "wall_sensor"}};
// The unit of the offset fields follows from the quantity, and is written all the same: a person reads it too.
constexpr Word<std::string_view> quantity_units[] = {
    {"voltage", "V"},           {"current", "A"}, {"power", "W"},
    {"resistance", "ohm"},      {"ratio", "1"},   {"temperature", "degC"},
    {"frequency", "Hz"},        {"phase", "rad"}, {"dielectric_voltage", "V"},
    {"dielectric_current", "A"}};

std::string sha256_hex(std::string_view bytes) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned length = 0;
  if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), &length, EVP_sha256(), nullptr) != 1) {
    throw std::runtime_error("the hash library refuses SHA-256");
  }
  std::string hex;
  for (unsigned i = 0; i < length; ++i) hex += fmt::format("{:02x}", digest[i]);
  return hex;
}

Duration duration(ObjectReader& from, char const* key, Duration absent) {
  auto const value = from.optional_number(key, "a number of seconds", at_least(0.0));
  return value ? seconds(*value) : absent;
}

LinkDeclaration read_link(ObjectReader from) {
  LinkDeclaration link;
  link.name = from.text("name", "a name for the link");
  link.kind = from.word("kind", link_kinds);
  link.address = from.text_or("address", "", "an address such as modbus-tcp://192.0.2.10:502");
  link.echo = from.boolean_or("echo", false);
  from.finish();
  return link;
}

ChannelCalibration read_channel(ObjectReader from) {
  ChannelCalibration channel;
  std::string const unit(from.word("quantity", quantity_units));
  channel.quantity = from.text("quantity");
  channel.unit = from.text("unit", "a unit");
  if (channel.unit != unit) {
    from.fail("bench.calibration", "unit",
              fmt::format("a {} is stated in {}, got \"{}\"", channel.quantity, unit, channel.unit));
  }
  channel.relative_u =
      from.number("relative_u", "a standard uncertainty as part of the value", documents::between(0.0, 0.2));
  channel.offset_u = from.number_or("offset_u", 0.0, "a standard uncertainty", at_least(0.0));
  channel.least_count = from.number("least_count", "the smallest step of the reading", at_least(0.0));
  channel.noise_u = from.number_or("noise_u", 0.0, "a standard deviation of one reading", at_least(0.0));
  channel.noise_relative_u =
      from.number_or("noise_relative_u", 0.0, "a standard deviation as part of the value", at_least(0.0));
  channel.gain_correction =
      from.number_or("gain_correction", 0.0, "a known error as part of the value", documents::between(-0.2, 0.2));
  channel.offset_correction = from.number_or("offset_correction", 0.0, "a known error");
  channel.drift_relative_per_year =
      from.number_or("drift_relative_per_year", 0.0, "a half width as part of the value", at_least(0.0));
  if (channel.quantity == "power") {
    channel.phase_error_rad =
        from.number("phase_error_rad", "a known phase error in radians", documents::between(-0.1, 0.1));
    channel.phase_u_rad = from.number("phase_u_rad", "a standard uncertainty in radians", documents::between(0.0, 0.1));
  }
  from.finish();
  return channel;
}

InstrumentDeclaration read_instrument(ObjectReader from) {
  InstrumentDeclaration entry;
  entry.name = from.text("name", "a name for the instrument");
  entry.role = from.word("role", role_words);
  entry.profile = from.text("profile", "the id of a profile");
  entry.link = from.text("link", "the name of a link");
  entry.unit_id = static_cast<int>(from.integer_or("unit_id", 1, "a unit number", 0, 255));
  entry.serial = from.text("serial", "the instrument's serial number");
  if (auto const value = from.optional_number("time_limit_s", "a number of seconds", documents::between(0.02, 30.0))) {
    entry.time_limit = seconds(*value);
  }
  if (auto const value = from.optional_number("gap_s", "a number of seconds", documents::between(0.0, 1.0))) {
    entry.gap = seconds(*value);
  }
  auto calibration = from.object("calibration");
  entry.calibration.certificate = calibration.text("certificate", "the certificate's number");
  entry.calibration.calibrated_on = calibration.date("calibrated_on");
  entry.calibration.due_on = calibration.date("due_on");
  for (auto& channel : calibration.objects("channels")) entry.calibration.channels.push_back(read_channel(channel));
  if (entry.calibration.channels.empty()) {
    calibration.fail("bench.calibration", "channels", "no channel has an uncertainty; nothing could be judged with it");
  }
  calibration.finish();
  from.finish();
  return entry;
}

SourceDeclaration read_source(ObjectReader from) {
  SourceDeclaration source;
  source.path = from.word("path", path_words);
  source.instrument = from.text("instrument", "the name of an instrument");
  auto const contactors = from.texts("contactors");
  if (contactors.size() != 2)
    from.fail("document.out-of-range", "contactors", "expected the names of two contactors in series");
  source.first_contactor = contactors[0];
  source.second_contactor = contactors[1];
  from.finish();
  return source;
}

Envelope read_envelope(ObjectReader from) {
  Envelope envelope;
  envelope.phases.clear();
  for (double const phases : from.numbers("phases", "1 or 3", documents::between(1, 3))) {
    if (phases != 1.0 && phases != 3.0) from.fail("document.out-of-range", "phases", "a unit has 1 or 3 phases");
    envelope.phases.push_back(static_cast<int>(phases));
  }
  if (envelope.phases.empty()) from.fail("document.out-of-range", "phases", "expected [1], [3] or [1, 3]");
  envelope.rated_power = kilovolt_amperes(from.number("rated_kva", "a number of kVA", above(0.0)));
  envelope.terminal = volts(from.number("terminal_v", "a number of volts", above(0.0)));
  envelope.source = volts(from.number("source_v", "a number of volts", at_least(0.0)));
  envelope.source_current = amperes(from.number("source_a", "a number of amperes", at_least(0.0)));
  envelope.source_power = kilovolt_amperes(from.number("source_kva", "a number of kVA", at_least(0.0)));
  envelope.lowest = hertz(from.number("lowest_hz", "a number of hertz", above(0.0)));
  envelope.highest = hertz(from.number("highest_hz", "a number of hertz", above(0.0)));
  envelope.dielectric = volts(from.number("dielectric_v", "a number of volts", at_least(0.0)));
  envelope.dielectric_current = amperes(from.number("dielectric_a", "a number of amperes", at_least(0.0)));
  envelope.direct_current = amperes(from.number("direct_a", "a number of amperes", at_least(0.0)));
  from.finish();
  return envelope;
}

std::map<std::string, IoPoint> read_points(ObjectReader from) {
  std::map<std::string, IoPoint> points;
  for (auto const& name : from.keys()) {
    auto place = from.object(name);
    IoPoint point;
    point.word = static_cast<int>(place.integer("word", "a word of the image", 0, 124));
    if (auto const bit = place.optional_integer("bit", "a bit", 0, 15)) point.bit = static_cast<int>(*bit);
    point.inverted = place.boolean_or("inverted", false);
    place.finish();
    points.emplace(name, point);
  }
  return points;
}

IoMap read_io(ObjectReader from) {
  IoMap io;
  io.link = from.text("link", "the name of a link");
  io.unit_id = static_cast<int>(from.integer_or("unit_id", 1, "a unit number", 0, 255));
  io.input_address = static_cast<int>(from.integer("input_address", "a zero-based register address", 0, 65535));
  io.input_words = static_cast<int>(from.integer("input_words", "a number of words", 1, 125));
  io.output_address = static_cast<int>(from.integer("output_address", "a zero-based register address", 0, 65535));
  io.output_words = static_cast<int>(from.integer("output_words", "a number of words", 1, 121));
  io.inputs = read_points(from.object("inputs"));
  io.outputs = read_points(from.object("outputs"));
  io.output_least_count_v = from.number("output_least_count_v", "a number of volts", above(0.0));
  io.output_noise_v = from.number("output_noise_v", "a number of volts", at_least(0.0));
  auto const limit = from.optional_number("time_limit_s", "a number of seconds", documents::between(0.02, 0.5));
  if (limit) io.time_limit = seconds(*limit);
  from.finish();
  return io;
}

GuardTimes read_guard(ObjectReader from) {
  GuardTimes guard;
  auto const period = from.optional_number("period_s", "a number of seconds", documents::between(0.001, 0.1));
  if (period) guard.period = seconds(*period);
  guard.stale = duration(from, "stale_s", guard.stale);
  guard.warning = duration(from, "warning_s", guard.warning);
  guard.search_window = duration(from, "search_window_s", guard.search_window);
  guard.armed = duration(from, "armed_s", guard.armed);
  guard.discrepancy = duration(from, "discrepancy_s", guard.discrepancy);
  guard.pick_up = duration(from, "pick_up_s", guard.pick_up);
  guard.drop_out = duration(from, "drop_out_s", guard.drop_out);
  guard.earth_travel = duration(from, "earth_travel_s", guard.earth_travel);
  guard.heartbeat = duration(from, "heartbeat_s", guard.heartbeat);
  guard.watchdog = duration(from, "watchdog_s", guard.watchdog);
  guard.low_dwell = duration(from, "low_dwell_s", guard.low_dwell);
  guard.low_for = duration(from, "low_for_s", guard.low_for);
  guard.ramp_down = duration(from, "ramp_down_s", guard.ramp_down);
  guard.regulator = duration(from, "regulator_s", guard.regulator);
  guard.discharge = duration(from, "discharge_s", guard.discharge);
  guard.over_current = duration(from, "over_current_s", guard.over_current);
  guard.low_v = from.number_or("low_v", guard.low_v, "a number of volts", above(0.0));
  from.finish();
  return guard;
}

TemperatureMode read_temperature(ObjectReader from) {
  TemperatureMode mode;
  mode.mode = from.word("mode", temperature_modes);
  mode.standard_uncertainty_k = from.number("standard_uncertainty_k", "a number of kelvins", above(0.0));
  mode.fit_for_certified_figure = from.boolean("fit_for_certified_figure");
  from.finish();
  return mode;
}

}  // namespace

Bench parse_bench(std::string_view text, std::string const& file) {
  auto const json = documents::parse_json(text, file);
  ObjectReader from(json, file);
  Bench bench;
  bench.file = file;
  bench.hash = sha256_hex(text);
  bench.note = from.text_or("note", "");
  bench.name = from.text("name", "the bench's name");
  bench.plant_area = from.text_or("plant_area", "");
  bench.simulated = from.boolean("simulated");
  for (auto& link : from.objects("links")) bench.links.push_back(read_link(link));
  for (auto& entry : from.objects("instruments")) bench.instruments.push_back(read_instrument(entry));
  for (auto& source : from.objects("sources")) bench.sources.push_back(read_source(source));
  bench.envelope = read_envelope(from.object("envelope"));
  bench.io = read_io(from.object("io"));
  if (auto guard = from.optional_object("guard")) bench.guard = read_guard(*guard);
  for (auto& entry : from.optional_objects("absent")) {
    AbsentCondition absent;
    absent.number = static_cast<int>(entry.integer("condition", "a condition's number", 1, 36));
    absent.reason = entry.text("reason", "the reason in words");
    entry.finish();
    bench.absent.push_back(std::move(absent));
  }
  bench.walk_in = from.boolean("walk_in");
  bench.gates = static_cast<int>(from.integer("gates", "a number of gates", 1, max_gates));
  bench.temperature = read_temperature(from.object("temperature"));
  if (auto const bar = from.optional_number("shorting_bar_ohm", "a number of ohms", at_least(0.0)))
    bench.shorting_bar = ohms(*bar);
  if (auto const bar = from.optional_number("shorting_bar_nh", "a number of nanohenries", at_least(0.0)))
    bench.shorting_bar_inductance = henries(*bar * 1e-9);
  if (auto const stray =
          from.optional_number("dielectric_stray_a_per_kv", "a number of amperes per kV", at_least(0.0))) {
    bench.dielectric_stray_current_per_kv = amperes(*stray);
  }
  if (auto const* simulation = from.optional_raw("simulation")) {
    if (!simulation->is_object()) from.fail("document.wrong-type", "simulation", "expected an object {...}");
    if (!bench.simulated) from.fail("bench.not-simulated", "simulation", "a real bench has no simulation; take it out");
    bench.simulation_json = simulation->dump();
  }
  from.finish();
  judge_bench(bench);
  return bench;
}

Bench read_bench(std::string const& path) { return parse_bench(documents::read_text_file(path), path); }

ReadyLine parse_ready_line(std::string_view text, std::string const& name) {
  auto const json = documents::parse_json(text, name);
  ObjectReader from(json, name);
  ReadyLine line;
  if (!from.boolean("ready")) from.fail("bench.ready-line", "ready", "the simulator is not ready");
  line.simulated = from.boolean("simulated");
  line.time_scale = from.number("time_scale", "a number of times", documents::above_up_to(0.0, 1000.0));
  line.seed = static_cast<std::uint64_t>(from.integer("seed", "a whole number", 0, 9223372036854775807));
  line.control = from.text_or("control", "");
  line.hands = from.text_or("hands", "");
  auto links = from.object("links");
  for (auto const& link : links.keys()) line.links.emplace(link, links.text(link, "an address"));
  from.finish();
  return line;
}

ReadyLine read_ready_line(std::string const& path) { return parse_ready_line(documents::read_text_file(path), path); }

Bench with_links(Bench bench, ReadyLine const& ready) {
  auto const fail = [&](char const* id, std::string const& at, std::string const& words) {
    throw DocumentError(id, bench.file, at, words);
  };
  if (!bench.simulated) {
    fail("bench.not-simulated", "/simulated",
         "this bench is not marked simulated: it takes no addresses from a simulator's ready line");
  }
  if (!ready.simulated) fail("bench.not-simulated", "", "the ready line is not a simulator's");
  for (auto const& [name, address] : ready.links) {
    if (bench.link(name) == nullptr) {
      fail("bench.ready-line", "/links",
           fmt::format("the ready line has a link \"{}\" that this bench does not", name));
    }
  }
  for (std::size_t i = 0; i < bench.links.size(); ++i) {
    auto& link = bench.links[i];
    auto const at = fmt::format("/links/{}", i);
    auto const found = ready.links.find(link.name);
    if (found == ready.links.end()) {
      fail("bench.ready-line", at, fmt::format("the ready line has no address for link \"{}\"", link.name));
    }
    link.address = found->second;
  }
  double const stale_wall_ms = bench.guard.stale.in(milliseconds) / ready.time_scale;
  if (stale_wall_ms < 25.0) {
    fail("bench.scale", "/guard/stale_s",
         fmt::format(
             "stale after {} ms at {} times is {:.1f} ms of wall time, under the 25 ms that a scheduler may take; "
             "at most {} times with this bench",
             bench.guard.stale.in(milliseconds), ready.time_scale, stale_wall_ms,
             bench.guard.stale.in(milliseconds) / 25.0));
  }
  judge_bench(bench);
  return bench;
}

}  // namespace benchward
