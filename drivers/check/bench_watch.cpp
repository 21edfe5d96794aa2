// SPDX-License-Identifier: MIT
#include "drivers/check/bench_watch.hpp"

#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "drivers/bench/io_image.hpp"
#include "drivers/instruments/device.hpp"
#include "drivers/instruments/open_instruments.hpp"
#include "drivers/time/together.hpp"

namespace benchward {
namespace {

std::string base_unit(std::string const& unit) {
  static std::map<std::string, std::string> const units{
      {"voltage", "V"}, {"current", "A"}, {"power", "W"},  {"resistance", "ohm"},  {"frequency", "Hz"},
      {"time", "s"},    {"angle", "rad"}, {"number", "1"}, {"temperature", "degC"}};
  auto const known = unit_named(unit);
  auto const found = known ? units.find(known->dimension) : units.end();
  return found == units.end() ? unit : found->second;
}

std::string spaced_words(std::vector<std::uint16_t> const& words) {
  std::string text;
  for (auto const word : words) text += fmt::format("{}{:04X}", text.empty() ? "" : " ", word);
  return text;
}

WatchedValue watched(Profile const& profile, std::string name, std::string const& unit, Decoded const& value,
                     DeviceSample const& sample) {
  WatchedValue made;
  made.name = std::move(name);
  made.unit = base_unit(unit);
  if (value.good && !sample.bad) made.value = value.number;
  made.why = sample.bad ? sample.why : value.why;
  made.raw = profile.text_device ? value.text : spaced_words(value.words);
  return made;
}

void take(WatchedLine& line, Profile const& profile, DeviceSample const& sample) {
  if (profile.text_device) {
    for (auto const& field : profile.command("sample")->reply) {
      line.values.push_back(watched(profile, field.name, field.unit, sample.values.at(field.name), sample));
    }
  } else {
    for (auto const& name : profile.group("sample")->rows) {
      auto const& row = *profile.row(name);
      line.values.push_back(watched(profile, name, row.unit, sample.values.at(name), sample));
    }
  }
  line.bits.assign(sample.bits.begin(), sample.bits.end());
  if (sample.bad) line.bad = sample.why;
}

/// The devices of one link, one after the other, turn by turn.
Task<void> watch_link(std::vector<Device*> devices, Clock& clock, WatchSettings settings,
                      std::function<void(WatchedLine)> const& say, bool& well) {
  for (int turn = 0; settings.turns == 0 || turn < settings.turns; ++turn) {
    auto const next_ns = clock.now().monotonic_ns + static_cast<std::int64_t>(settings.every.in(seconds)*1e9);
    bool all = true;
    for (auto* device : devices) {
      WatchedLine line;
      line.device = device->declaration().name;
      line.role = device->declaration().role;
      line.link = device->declaration().link;
      auto const before = device->bus().counts()[line.device];
      auto const answer = co_await device->sample();
      auto const after = device->bus().counts()[line.device];
      if (after.answered > before.answered)
        line.round_trip = (after.total - before.total) / static_cast<double>(after.answered - before.answered);
      line.at = clock.now();
      if (answer.ok()) {
        take(line, device->profile(), answer.value());
      } else {
        line.fault = answer.error();
        all = false;
      }
      say(std::move(line));
    }
    well = all;
    if (turn + 1 != settings.turns) co_await clock.wait_until(next_ns);
  }
}

}  // namespace

Task<bool> watch_instruments(OpenedInstruments& opened, Clock& clock, WatchSettings settings,
                             std::function<void(WatchedLine)> say) {
  std::map<std::string, std::vector<Device*>> links;
  for (auto* device : opened.devices) links[device->declaration().link].push_back(device);
  std::vector<Task<void>> tasks;
  std::map<std::string, bool> well;
  for (auto const& [link, devices] : links) tasks.push_back(watch_link(devices, clock, settings, say, well[link]));
  auto running = together(std::move(tasks));
  co_await std::move(running);
  co_return std::all_of(well.begin(), well.end(), [](auto const& each) { return each.second; });
}

Task<bool> watch_bench_io(Bench const& bench, Bus& bus, Clock& clock, WatchSettings settings,
                          std::function<void(WatchedLine)> say) {
  IoImage const image(bench.io);
  bool well = false;
  for (int turn = 0; settings.turns == 0 || turn < settings.turns; ++turn) {
    auto const next_ns = clock.now().monotonic_ns + static_cast<std::int64_t>(settings.every.in(seconds)*1e9);
    BusRequest request;
    request.device = "bench I/O";
    request.operation = "read inputs";
    request.unit = bench.io.unit_id;
    request.address = bench.io.input_address;
    request.count = bench.io.input_words;
    request.attempt = bench.io.time_limit;
    WatchedLine line;
    line.device = request.device;
    line.role = "bench_io";
    line.link = bench.io.link;
    auto const answer = co_await bus.ask(std::move(request));
    line.at = clock.now();
    well = answer.ok();
    if (answer.ok()) {
      line.round_trip = answer.value().round_trip;
      auto const inputs = image.unpack_inputs(answer.value().words);
      auto const* bytes = reinterpret_cast<unsigned char const*>(&inputs);
      for (auto const& signal : input_signals()) {
        if (signal.width != SignalWidth::bit || bench.io.inputs.count(signal.name) == 0) continue;
        if (bytes[signal.offset] != 0) line.bits.push_back(signal.name);
      }
      WatchedValue words;
      words.name = "input_words";
      words.unit = "1";
      words.raw = spaced_words(answer.value().words);
      line.values.push_back(std::move(words));
    } else {
      line.fault = answer.error();
    }
    say(std::move(line));
    if (turn + 1 != settings.turns) co_await clock.wait_until(next_ns);
  }
  co_return well;
}

}  // namespace benchward
