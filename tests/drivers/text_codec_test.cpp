// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <stdexcept>

#include "drivers/profile/profile_document.hpp"
#include "drivers/profile/text_codec.hpp"

using namespace benchward;

TEST_CASE("a number of a text device is a whole token or none", "[drivers][text]") {
  CHECK(parse_text_number("54.12", "V", false).value() == Approx(54.12));
  CHECK(parse_text_number("+1.5E-3", "V", false).value() == Approx(1.5e-3));
  CHECK(parse_text_number(" -7 ", "mV", false).value() == Approx(-7e-3));
  for (auto const* bad : {"", "54,12", "54.12x", "1.5 2", "nan", "inf", "-inf", "9.91E37", "9.9E37", "+-1", "++1",
                          "0x10", "1.5E", "--", "V"}) {
    INFO(bad);
    CHECK_FALSE(parse_text_number(bad, "V", false).has_value());
  }
}

TEST_CASE("engineering suffixes are read with their unit, and a wrong unit is no number", "[drivers][text]") {
  CHECK(parse_text_number("77.51mV", "V", true).value() == Approx(77.51e-3));
  CHECK(parse_text_number("34.000 kV", "V", true).value() == Approx(34e3));
  CHECK(parse_text_number("64.12mA", "mA", true).value() == Approx(64.12e-3));
  CHECK(parse_text_number("1.5E3V", "V", true).value() == Approx(1500.0));
  CHECK(parse_text_number("12 nA", "A", true).value() == Approx(12e-9));
  for (auto const* bad : {"77.51", "77.51mA", "77.51 xV", "mV", "77,51mV", "kV12"}) {
    INFO(bad);
    CHECK_FALSE(parse_text_number(bad, "V", true).has_value());
  }
}

TEST_CASE("commands carry their values with the profile's unit and steps", "[drivers][text]") {
  auto const& profile = built_in_profile("demo-dielectric-tester");
  CHECK(format_command(*profile.command("set"), {{"level_set", {34000.0, ""}},
                                                 {"frequency_set", {60.0, ""}},
                                                 {"ramp_s", {10.0, ""}},
                                                 {"trip_current", {0.0641234, ""}}}) ==
        "RAISE 34.000kV;60.0Hz;10.0s;64.12mA");
  CHECK_THROWS_AS(format_command(*profile.command("set"), {}), std::out_of_range);
}

TEST_CASE("a reply with the wrong number of fields is not the reply", "[drivers][text]") {
  auto const& profile = built_in_profile("demo-dielectric-tester");
  auto const& sample = *profile.command("sample");
  auto const values = parse_reply(sample, "34.000kV;64.120mA;60.00Hz;2\r", ";");
  REQUIRE(values);
  CHECK(values->at("level").number == Approx(34000.0));
  CHECK(values->at("current").number == Approx(0.06412));
  CHECK(values->at("status").bits == 2);
  CHECK_FALSE(parse_reply(sample, "34.000kV;64.120mA;60.00Hz", ";").has_value());
  CHECK_FALSE(parse_reply(sample, "", ";").has_value());
  auto const half = parse_reply(sample, "3x.000kV;64.120mA;60.00Hz;2", ";");
  REQUIRE(half);
  CHECK_FALSE(half->at("level").good);
  CHECK(half->at("current").good);
}

TEST_CASE("a command line is recognised with its values, others are not", "[drivers][text]") {
  auto const& profile = built_in_profile("demo-resistance-meter");
  auto const select = match_command(profile, "ROUT H2+H3,X0");
  REQUIRE(select);
  CHECK(select->command->name == "select");
  CHECK(select->values.at("from").word == "H2+H3");
  CHECK(select->values.at("to").word == "X0");
  auto const current = match_command(profile, "SOUR:CURR 7.500");
  REQUIRE(current);
  CHECK(current->values.at("set_current").number == Approx(7.5));
  CHECK_FALSE(match_command(profile, "SOUR:CURR seven").has_value());
  CHECK_FALSE(match_command(profile, "SOUR:CURR 7.5 now").has_value());
  CHECK_FALSE(match_command(profile, "MEAS").has_value());
  CHECK(format_reply(*profile.command("sample"),
                     {{"volts", {0.0775146, ""}}, {"current", {7.5, ""}}, {"status", {2.0, ""}}},
                     ",") == "0.0775146,7.5000,2");
}
