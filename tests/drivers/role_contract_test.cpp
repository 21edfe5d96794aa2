// SPDX-License-Identifier: MIT
// One contract for every implementation of a role: each compiled-in profile, behind its driver, on a real wire, against
// the simulator's own reading of the protocol.
#include <catch2/catch.hpp>

#include <cmath>
#include <map>
#include <set>
#include <string>

#include "sim/faults/fault_list.hpp"
#include "tests/drivers/one_instrument.hpp"

using namespace benchward;
using test::OneInstrument, test::least_count, test::put_values;

TEST_CASE("every profile meets its role's contract on a real wire", "[drivers][contract][wires]") {
  auto const id = GENERATE(from_range(built_in_profiles()));
  auto const& profile = built_in_profile(id);
  INFO(id);
  OneInstrument on(profile);
  auto const& names = *names_of_role(profile.role);
  auto const truth = put_values(on);
  auto& device = on.device();

  auto const identity = test::get(device.identify());
  REQUIRE(identity.ok());
  CHECK(identity.value().serial == "DEMO-1");

  auto const sample = test::get(device.sample());
  REQUIRE(sample.ok());
  CHECK_FALSE(sample.value().bad);
  for (auto const& [name, expected] : truth) {
    if (sample.value().values.count(name) == 0) continue;  // the optional elements of an analyser
    auto const& got = sample.value().values.at(name);
    INFO(name);
    CHECK(got.good);
    CHECK(std::abs(got.number - expected) <= least_count(profile, name, expected) * 1.001);
    CHECK_FALSE(got.words.empty());  // the raw words go with the value
  }
  for (auto const& bit : names.bits) CHECK(sample.value().bit(bit));

  // A value that the device does not have is BAD, never 0.
  auto const missing = names.sample.front().name;
  on.instrument.values.erase(missing);
  auto const without = test::get(device.sample());
  REQUIRE(without.ok());
  CHECK_FALSE(without.value().values.at(missing).good);
  on.instrument.values[missing] = truth.at(missing);

  // What drives the unit is not sent without a live permit.
  TextValues settings;
  for (auto const& setting : names.settings) {
    bool const terminals = setting.dimension == "terminals";
    settings[setting.name] = terminals ? TextValue{1.0, "H1"} : TextValue{1.0, ""};
    if (setting.dimension == "frequency") settings[setting.name].number = 60.0;
  }
  for (auto const& sequence : names.energising) {
    auto const refused = test::get(device.run(sequence, settings, nullptr));
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.error().id == "permit.withdrawn");
  }
  on.opened = {};
  for (auto const& [point, value] : on.instrument.written) {
    for (auto const& sequence : names.energising) CHECK(point != "do." + sequence);
    static_cast<void>(value);
  }
}

TEST_CASE("every profile notices another serial number and a link that is lost", "[drivers][contract][wires]") {
  auto const id = GENERATE(from_range(built_in_profiles()));
  INFO(id);
  std::unique_ptr<OneInstrument> on = std::make_unique<OneInstrument>(built_in_profile(id));
  on->bench.instruments.front().serial = "DEMO-2";
  auto const other = test::get(on->device().identify());
  REQUIRE_FALSE(other.ok());
  CHECK(other.error().id == "device.identity");
  CHECK_THAT(other.error().what, Catch::Contains("DEMO-1"));
  auto const sample = test::get(on->device().sample());
  REQUIRE_FALSE(sample.ok());  // nothing of a device that is not the declared one is believed
}

namespace {

/// What the driver may say of a fault of the wire, and must where it has no right value.
std::set<std::string> const& right_faults(std::string const& fault) {
  static std::set<std::string> const silence{"bus.timeout"}, spoilt{"bus.timeout", "bus.noise"},
      foreign{"bus.timeout",     "bus.noise",          "device.reply",   "device.unconfirmed",
              "device.identity", "device.known-value", "device.firmware"},
      identity{"device.identity", "device.known-value", "device.firmware", "device.reply"},
      refusal{"device.refused", "device.reply", "device.identity", "bus.timeout"},
      link{"bus.lost", "bus.connect", "bus.down", "bus.timeout"};
  static std::map<std::string, std::set<std::string> const*> const by_fault{{"no-answer", &silence},
                                                                            {"stale-answer", &foreign},
                                                                            {"words-swapped", &identity},
                                                                            {"register-off-by-one", &identity},
                                                                            {"wrong-identity", &identity},
                                                                            {"busy-device", &refusal},
                                                                            {"not-a-number", &identity},
                                                                            {"corrupted-text", &foreign},
                                                                            {"line-echo", &foreign},
                                                                            {"doubled-answers", &foreign},
                                                                            {"noise-before-answers", &foreign},
                                                                            {"link-drops", &link},
                                                                            {"adapter-unplugged", &link}};
  auto const found = by_fault.find(fault);
  return found == by_fault.end() ? spoilt : *found->second;
}

/// These are there from the beginning or never, and are found when the device proves who it is. A flipped bit in a line
/// of text is no fault that any driver can see afterwards: it has no check (drivers/README.md).
bool only_from_the_beginning(std::string const& fault) {
  return fault == "words-swapped" || fault == "register-off-by-one" || fault == "wrong-identity" ||
         fault == "corrupted-text";
}

struct Tally {
  int right = 0, bad = 0;
  std::map<std::string, int> faults;
};

void sample_under(OneInstrument& on, std::map<std::string, double> const& truth, std::string const& fault,
                  Tally& tally) {
  auto const sample = test::get(on.device().sample());
  if (!sample.ok()) {
    INFO(sample.error().text());
    INFO(sample.error().id);
    CHECK(right_faults(fault).count(sample.error().id) == 1);
    CHECK(sample.error().device == "device");
    ++tally.faults[sample.error().id];
    return;
  }
  for (auto const& [name, expected] : truth) {
    auto const found = sample.value().values.find(name);
    if (found == sample.value().values.end()) continue;  // the optional elements of an analyser
    if (!found->second.good || sample.value().bad) {
      // A line of text has no check: what does not read as a number of the profile is BAD, where a frame is thrown
      // away.
      CHECK(
          (fault == "not-a-number" || (on.profile.text_device && &right_faults(fault) == &right_faults("line-echo"))));
      ++tally.bad;
      continue;
    }
    INFO(name);
    CHECK(std::abs(found->second.number - expected) <= least_count(on.profile, name, expected) * 1.001);
    ++tally.right;
  }
}

/// Each profile under each fault of the simulator's wires that is its turn; all of them with `every` 1.
void under_faults(std::size_t every) {
  std::size_t turn = 0;
  for (auto const& description : sim::fault_list()) {
    auto const& fault = description.name;
    if (description.where != "wires" || fault.substr(0, 3) == "io-") continue;
    Tally tally;
    int possible = 0;
    for (auto const& id : built_in_profiles()) {
      if (turn++ % every != 0) continue;
      INFO(fault << " at " << id);
      {
        OneInstrument on(built_in_profile(id), milliseconds(60), fault);
        if (!on.not_possible.empty()) continue;
        ++possible;
        auto const truth = put_values(on);
        for (int i = 0; i < 2; ++i) sample_under(on, truth, fault, tally);
      }
      if (only_from_the_beginning(fault)) continue;
      OneInstrument on(built_in_profile(id), milliseconds(60));
      auto const truth = put_values(on);
      static_cast<void>(test::get(on.device().sample()));
      CHECK_THAT(on.set_fault(fault), Catch::Contains("\"done\":true"));
      for (int i = 0; i < 3; ++i) sample_under(on, truth, fault, tally);
    }
    std::string said;
    for (auto const& [name, count] : tally.faults) said += ", " + std::to_string(count) + " " + name;
    if (every == 1)
      WARN(fault << " at " << possible << " profiles: " << tally.right << " right values, " << tally.bad << " BAD"
                 << said);
  }
}

}  // namespace

TEST_CASE("whatever goes wrong on its wire, every profile's driver gives a right value or the right fault",
          "[drivers][contract][wires]") {
  under_faults(7);
}
TEST_CASE("the same of every profile with every fault of the simulator's wires", "[.][fault-contract]") {
  under_faults(1);
}
