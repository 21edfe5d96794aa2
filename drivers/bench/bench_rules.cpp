// SPDX-License-Identifier: MIT
#include "drivers/bench/bench_rules.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <set>
#include <stdexcept>
#include <utility>

#include <fmt/format.h>

#include "drivers/bench/bench_document.hpp"
#include "drivers/bench/io_signals.hpp"
#include "drivers/profile/profile_document.hpp"
#include "limits/documents/document_error.hpp"

namespace benchward {
namespace {

class Rules {
 public:
  explicit Rules(Bench const& bench) : bench_(bench) {}

  void links() const {
    std::map<std::string, std::string> by_name, by_address;
    for (std::size_t i = 0; i < bench_.links.size(); ++i) {
      auto const& link = bench_.links[i];
      auto const at = fmt::format("/links/{}", i);
      if (!by_name.emplace(link.name, at).second) {
        fail("bench.address-taken", at + "/name", fmt::format("a second link named \"{}\"", link.name));
      }
      if (link.address.empty()) {
        if (!bench_.simulated) {
          fail("bench.address-form", at,
               "a link of a real bench needs an address; only a simulated bench takes it from a ready line");
        }
        continue;
      }
      try {
        auto const parsed = parse_link_address(link.address);
        if (parsed.kind != link.kind) {
          fail("bench.address-form", at + "/address",
               fmt::format("the link's kind is {}, the address is of kind {}", link.kind, parsed.kind));
        }
        auto const place = parsed.device.empty() ? fmt::format("{}:{}", parsed.host, parsed.port) : parsed.device;
        if (auto const [taken, fresh] = by_address.emplace(place, link.name); !fresh) {
          fail("bench.address-taken", at + "/address",
               fmt::format("link \"{}\" already has {}; one wire is one link, shared by the instruments on it",
                           taken->second, place));
        }
      } catch (std::invalid_argument const& error) {
        fail("bench.address-form", at + "/address", error.what());
      }
    }
  }

  void instruments() const {
    std::map<std::pair<std::string, int>, std::string> taken;
    std::set<std::string> names, roles;
    for (std::size_t i = 0; i < bench_.instruments.size(); ++i) {
      auto const& entry = bench_.instruments[i];
      auto const at = fmt::format("/instruments/{}", i);
      if (!names.insert(entry.name).second) {
        fail("bench.address-taken", at + "/name", fmt::format("a second instrument named \"{}\"", entry.name));
      }
      if (!roles.insert(entry.role).second) {
        fail("bench.role-mismatch", at + "/role",
             fmt::format("a second instrument in the role {}; a bench has one", entry.role));
      }
      auto const* link = bench_.link(entry.link);
      if (link == nullptr) {
        fail("bench.link-unknown", at + "/link",
             fmt::format("there is no link \"{}\"; known are {}", entry.link, link_names()));
      }
      if (entry.link == bench_.io.link) {
        fail("bench.io-link-shared", at + "/link",
             fmt::format("link \"{}\" carries the bench I/O; it is the guard's alone, give the instrument another",
                         entry.link));
      }
      bool const serial = link->kind == "modbus_rtu", tcp = link->kind == "modbus_tcp";
      if (serial && (entry.unit_id < 1 || entry.unit_id > 247)) {
        fail(
            "bench.address-form", at + "/unit_id",
            fmt::format("on a serial line units are 1 to 247 (0 is broadcast: nobody answers), got {}", entry.unit_id));
      }
      // A text link has one device; only Modbus has unit numbers.
      auto const address = std::pair(entry.link, serial || tcp ? entry.unit_id : 0);
      if (auto const [other, fresh] = taken.emplace(address, entry.name); !fresh) {
        fail("bench.address-taken", at,
             serial || tcp
                 ? fmt::format("\"{}\" already answers as unit {} on link \"{}\"", other->second, entry.unit_id,
                               entry.link)
                 : fmt::format("\"{}\" already is the device on text link \"{}\"", other->second, entry.link));
      }
      for (std::size_t k = 0; k < entry.calibration.channels.size(); ++k) {
        for (std::size_t earlier = 0; earlier < k; ++earlier) {
          if (entry.calibration.channels[earlier].quantity == entry.calibration.channels[k].quantity) {
            fail("bench.calibration", fmt::format("{}/calibration/channels/{}/quantity", at, k),
                 fmt::format("\"{}\" stands twice", entry.calibration.channels[k].quantity));
          }
        }
      }
      if (entry.calibration.due_on < entry.calibration.calibrated_on) {
        fail("bench.calibration", at + "/calibration/due_on",
             fmt::format("due on {}, before it was calibrated on {}", entry.calibration.due_on,
                         entry.calibration.calibrated_on));
      }
    }
  }

  void sources() const {
    static std::map<SourcePath, std::string> const roles{{SourcePath::ac_source, "ac_source"},
                                                         {SourcePath::dielectric, "dielectric_tester"},
                                                         {SourcePath::resistance, "resistance_meter"},
                                                         {SourcePath::ratio, "ratio_meter"},
                                                         {SourcePath::insulation, "insulation_meter"}};
    std::set<SourcePath> seen;
    std::set<std::string> contactors;
    for (std::size_t i = 0; i < bench_.sources.size(); ++i) {
      auto const& source = bench_.sources[i];
      auto const at = fmt::format("/sources/{}", i);
      auto const* driver = bench_.instrument(source.instrument);
      if (driver == nullptr) {
        fail("bench.instrument-unknown", at + "/instrument",
             fmt::format("there is no instrument \"{}\"", source.instrument));
      }
      auto const& role = roles.at(source.path);
      if (driver->role != role) {
        fail("bench.role-mismatch", at + "/instrument",
             fmt::format("the path {} is driven by a {}, \"{}\" is a {}", name_of(source.path), role, driver->name,
                         driver->role));
      }
      if (!seen.insert(source.path).second) {
        fail("bench.address-taken", at + "/path", fmt::format("the path {} stands twice", name_of(source.path)));
      }
      for (auto const& contactor : {source.first_contactor, source.second_contactor}) {
        if (!contactors.insert(contactor).second) {
          fail("bench.address-taken", at + "/contactors",
               fmt::format("contactor \"{}\" stands twice; every path has two in series of its own", contactor));
        }
      }
    }
    for (std::size_t i = 0; i < bench_.instruments.size(); ++i) {
      auto const& entry = bench_.instruments[i];
      for (auto const& [path, role] : roles) {
        if (entry.role == role && seen.count(path) == 0) {
          fail("bench.source-missing", fmt::format("/instruments/{}/role", i),
               fmt::format("a {} can drive the unit: list it under \"sources\" as path {} with its two contactors",
                           role, name_of(path)));
        }
      }
    }
  }

  void io_map() const {
    if (bench_.link(bench_.io.link) == nullptr) {
      fail("bench.link-unknown", "/io/link",
           fmt::format("there is no link \"{}\"; known are {}", bench_.io.link, link_names()));
    }
    auto const& kind = bench_.link(bench_.io.link)->kind;
    if (kind != "modbus_tcp" && kind != "modbus_rtu") {
      fail("bench.link-unknown", "/io/link",
           fmt::format("the bench I/O is spoken to in Modbus, link \"{}\" is of kind {}", bench_.io.link, kind));
    }
    places("inputs", bench_.io.inputs, bench_.io.input_words, true);
    places("outputs", bench_.io.outputs, bench_.io.output_words, false);
  }

  void conditions() const {
    std::map<int, std::size_t> absent;
    for (std::size_t i = 0; i < bench_.absent.size(); ++i) {
      if (!absent.emplace(bench_.absent[i].number, i).second) {
        fail("bench.condition-contradiction", fmt::format("/absent/{}/condition", i), "this condition stands twice");
      }
    }
    for (int number = 1; number <= 36; ++number) {
      std::string missing;
      auto const need = signals_of_condition(number, bench_);
      for (auto const& name : need.inputs) {
        if (bench_.io.inputs.count(name) == 0) missing += (missing.empty() ? "inputs " : ", ") + name;
      }
      bool first_output = true;
      for (auto const& name : need.outputs) {
        if (bench_.io.outputs.count(name) != 0) continue;
        missing += std::string(missing.empty() ? "" : ", ") + (first_output ? "output " : "") + name;
        first_output = false;
      }
      auto const declared = absent.find(number);
      bool const wired = !need.inputs.empty() || !need.outputs.empty();
      if (declared != absent.end() && wired && missing.empty()) {
        fail("bench.condition-contradiction", fmt::format("/absent/{}", declared->second),
             fmt::format("I{:02} ({}) is wired and declared absent; take one of the two out", number,
                         words_of_condition(number)));
      }
      // Without these there is no guard to speak of: two channels that agree, earth, contactors, volts, amperes, its
      // link and watchdog, a start that resumes nothing, a longest time.
      static constexpr std::array never_absent{4, 8, 10, 11, 12, 15, 16, 22, 23, 24, 25, 33};
      if (declared != absent.end() &&
          std::find(never_absent.begin(), never_absent.end(), number) != never_absent.end()) {
        fail(
            "bench.condition-needed", fmt::format("/absent/{}", declared->second),
            fmt::format("I{:02} ({}) cannot be absent: no guard works without it", number, words_of_condition(number)));
      }
      if (declared == absent.end() && condition_is_mandatory(number, bench_) && !missing.empty()) {
        fail("bench.condition-missing", "/io",
             fmt::format("I{:02} ({}) is neither wired nor declared absent: {} missing; wire it, or list it under "
                         "\"absent\" with the reason",
                         number, words_of_condition(number), missing));
      }
    }
  }

  void times() const {
    auto const& guard = bench_.guard;
    bool const test_document = bench_.envelope.terminal <= volts(50);
    bool const above_1_kv = bench_.envelope.terminal > kilovolts(1);
    if (above_1_kv) {
      floor("warning_s", guard.warning, 3.0, "before anything above 1 kV people need time to step back");
      floor("low_dwell_s", guard.low_dwell, 2.0, "the dwell before a voltage may count as gone");
      floor("low_for_s", guard.low_for, 1.0, "a voltage must stay low this long to count as gone");
    }
    if (!test_document) {
      floor("search_window_s", guard.search_window, 5.0, "nobody walks a search in less");
      ceiling("search_window_s", guard.search_window, 120.0, "by then somebody may be inside again");
      ceiling("stale_s", guard.stale, 1.0, "older inputs must trip");
      ceiling("over_current_s", guard.over_current, 0.2, "the program's notice of over-current");
      ceiling("ramp_down_s", guard.ramp_down, 15.0, "by then the contactors open whatever the source does");
      ceiling("discrepancy_s", guard.discrepancy, 0.5, "two channels of one contact agree within this");
      ceiling("pick_up_s", guard.pick_up, 1.0, "later feedback is a failed contactor");
      ceiling("drop_out_s", guard.drop_out, 1.0, "later feedback is a welded contactor");
    }
    auto const ms = [](Duration d) { return d.in(milliseconds); };
    if (!(guard.watchdog > seconds(0))) {
      fail("bench.watchdog", "/guard/watchdog_s",
           "0 would let the I/O block hold its outputs for ever; write up to 1 s");
    }
    ceiling("watchdog_s", guard.watchdog, 1.0, "outputs must fall within a second of a dead program", "bench.watchdog");
    if (!(guard.heartbeat < guard.watchdog)) {
      fail("bench.heartbeat", "/guard/heartbeat_s",
           fmt::format("a beat each {} ms is not faster than the watchdog of {} ms: it would trip in good order",
                       ms(guard.heartbeat), ms(guard.watchdog)));
    }
    if (!(guard.period <= guard.heartbeat)) {
      fail("bench.heartbeat", "/guard/heartbeat_s",
           fmt::format("a beat each {} ms cannot come from a guard that turns each {} ms", ms(guard.heartbeat),
                       ms(guard.period)));
    }
    if (!(guard.period * 3.0 <= guard.stale)) {
      fail("bench.time-floor", "/guard/stale_s",
           fmt::format("inputs are stale after {} ms, less than three turns of {} ms: one lost answer would trip",
                       ms(guard.stale), ms(guard.period)));
    }
    auto const* link = bench_.link(bench_.io.link);
    if (link->kind == "modbus_rtu" && !link->address.empty()) {
      int const baud = parse_link_address(link->address).baud;
      double const needed = serial_exchange_s(bench_.io, baud);
      if (needed > guard.period.in(seconds)) {
        fail("bench.serial-too-slow", "/guard/period_s",
             fmt::format(
                 "one exchange of {} input and {} output words is {} + {} characters and two silences of 3.5, "
                 "at 11 bits and {} baud {:.1f} ms; the guard turns each {:.1f} ms. A faster line, fewer words or "
                 "a longer period",
                 bench_.io.input_words, bench_.io.output_words, 13 + 2 * bench_.io.output_words,
                 5 + 2 * bench_.io.input_words, baud, needed * 1e3, ms(guard.period)));
      }
    }
  }

  void thresholds() const {
    if (bench_.guard.low_v > 50.0) {
      fail("bench.threshold", "/guard/low_v",
           fmt::format("at most 50 V count as no voltage, got {}", bench_.guard.low_v));
    }
    double const resolved = std::max(3.0 * bench_.io.output_noise_v, bench_.io.output_least_count_v);
    if (resolved > bench_.guard.low_v) {
      fail("bench.threshold", "/guard/low_v",
           fmt::format(
               "the guard's voltage channel resolves {} V (3 x noise of {} V, least count {} V) and cannot prove {} V",
               resolved, bench_.io.output_noise_v, bench_.io.output_least_count_v, bench_.guard.low_v));
    }
  }

  void envelope() const {
    auto const& envelope = bench_.envelope;
    if (!(envelope.lowest <= envelope.highest)) {
      fail("bench.envelope", "/envelope/lowest_hz", "the lowest frequency is above the highest");
    }
    if (envelope.source > envelope.terminal || envelope.dielectric > envelope.terminal) {
      fail("bench.envelope", "/envelope/terminal_v",
           "a source of this bench gives more than the highest volts that any terminal may have");
    }
  }

 private:
  [[noreturn]] void fail(char const* id, std::string const& at, std::string const& words) const {
    throw DocumentError(id, bench_.file, at, words);
  }

  std::string link_names() const {
    std::string names;
    for (auto const& link : bench_.links) names += (names.empty() ? "\"" : ", \"") + link.name + "\"";
    return names.empty() ? "none" : names;
  }

  void floor(char const* key, Duration value, double least_s, char const* why) const {
    if (value.in(seconds) < least_s) {
      fail("bench.time-floor", std::string("/guard/") + key,
           fmt::format("at least {} s ({}), got {} s", least_s, why, value.in(seconds)));
    }
  }
  void ceiling(char const* key, Duration value, double most_s, char const* why,
               char const* id = "bench.time-floor") const {
    if (value.in(seconds) > most_s) {
      fail(id, std::string("/guard/") + key,
           fmt::format("at most {} s ({}), got {} s", most_s, why, value.in(seconds)));
    }
  }

  void places(char const* side, std::map<std::string, IoPoint> const& points, int words, bool input) const {
    std::map<std::pair<int, int>, std::string> taken;
    for (auto const& [name, point] : points) {
      auto const at = fmt::format("/io/{}/{}", side, name);
      auto const signal = input ? input_signal(name) : output_signal(name);
      if (!signal) fail("bench.signal-unknown", at, fmt::format("no such signal; {}", nearest_signal(name, input)));
      if (signal->width == SignalWidth::bit && !point.bit) {
        fail("bench.signal-place", at, "this signal is one bit: add \"bit\", 0 to 15");
      }
      if (signal->width != SignalWidth::bit && (point.bit || point.inverted)) {
        fail("bench.signal-place", at, "this signal is a whole number: it has no \"bit\" and is not \"inverted\"");
      }
      int const last = point.word + (signal->width == SignalWidth::two_words ? 1 : 0);
      if (last >= words) {
        fail("bench.signal-place", at + "/word",
             fmt::format("word {} is beyond the {} words of the image", last, words));
      }
      for (int word = point.word; word <= last; ++word) {
        for (int bit = point.bit.value_or(0); bit <= point.bit.value_or(15); ++bit) {
          if (auto const [other, fresh] = taken.emplace(std::pair(word, bit), name); !fresh) {
            fail(input ? "bench.input-taken" : "bench.output-taken", at,
                 fmt::format("word {} bit {} already carries \"{}\"; each signal has a wire of its own", word, bit,
                             other->second));
          }
        }
      }
    }
  }

  std::string nearest_signal(std::string const& name, bool input) const {
    // The names share long tails, so the common beginning tells more than a distance.
    std::string best;
    std::size_t best_length = 0;
    for (auto const& signal : input ? input_signals() : output_signals()) {
      auto const length = static_cast<std::size_t>(
          std::mismatch(name.begin(),
                        name.begin() + static_cast<std::ptrdiff_t>(std::min(name.size(), signal.name.size())),
                        signal.name.begin())
              .first -
          name.begin());
      if (length > best_length) {
        best_length = length;
        best = signal.name;
      }
    }
    return best.empty() ? "see the list in the schema" : fmt::format("is \"{}\" meant?", best);
  }

  Bench const& bench_;
};

}  // namespace

void judge_bench(Bench const& bench) {
  Rules const rules(bench);
  rules.links();
  rules.io_map();
  rules.instruments();
  rules.sources();
  rules.conditions();
  rules.times();
  rules.thresholds();
  rules.envelope();
  for (auto const& instrument : bench.instruments) static_cast<void>(profile_of(instrument, bench));
}

}  // namespace benchward
