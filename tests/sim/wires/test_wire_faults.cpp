// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include "sim/faults/fault_list.hpp"
#include "sim/wires/wire_faults.hpp"
#include "tests/sim/wires/fake_bench.hpp"

using namespace benchward::sim;
using namespace benchward::sim::testing;

namespace {

struct Bus {
  WireFaults faults{1};
  Bus() {
    faults.add_device("ratio", "ratio_meter", WireKind::modbus_rtu);
    faults.add_device("analyzer", "power_analyzer", WireKind::modbus_tcp);
    faults.add_device("thermometer", "thermometer_scanner", WireKind::text);
    faults.add_device("io", "io", WireKind::modbus_tcp);
  }
  AnswerContext context{0.5, 1.0, std::nullopt};
  TcpFrame tcp{7, 1, bytes_of("03 0000 0002")};
  RtuFrame rtu{3, bytes_of("03 0000 0002")};
  Bytes const answer = bytes_of("03 04 1234 5678");

  WireAnswer on_tcp(char const* device = "analyzer") { return faults.shape(device, tcp, answer, context); }
  WireAnswer on_rtu() { return faults.shape("ratio", rtu, answer, context); }
};

Bytes all_of(WireAnswer const& answer) {
  Bytes bytes;
  for (auto const& piece : answer.pieces) bytes.insert(bytes.end(), piece.bytes.begin(), piece.bytes.end());
  return bytes;
}

Bytes const sound_tcp = bytes_of("0007 0000 0007 01 03 04 1234 5678");
Bytes sound_rtu() { return encode_rtu({3, bytes_of("03 04 1234 5678")}); }

}  // namespace

TEST_CASE("a sound wire hands the answer on in one piece", "[sim][wires]") {
  Bus bus;
  auto const answer = bus.on_tcp();
  REQUIRE(answer.pieces.size() == 1);
  CHECK(answer.pieces[0].wait_s == 0.0);
  CHECK(answer.pieces[0].bytes == sound_tcp);
  CHECK_FALSE(answer.close_after);
  CHECK(all_of(bus.on_rtu()) == sound_rtu());
}

TEST_CASE("every wire fault of the list can be set on a bench with all kinds of wires, and cleared", "[sim][wires]") {
  int wires = 0;
  for (auto const& fault : fault_list()) {
    if (fault.where != "wires") continue;
    ++wires;
    CAPTURE(fault.name);
    Bus bus;
    CHECK(bus.faults.set(fault.name, std::nullopt).empty());
    CHECK(bus.faults.clear(fault.name));
    CHECK(all_of(bus.on_tcp()) == sound_tcp);
    CHECK(all_of(bus.on_rtu()) == sound_rtu());
  }
  CHECK(wires >= 15);
}

TEST_CASE("a wire fault without a value meets the analyzer, or the first device whose wire can have it",
          "[sim][wires]") {
  Bus bus;
  REQUIRE(bus.faults.set("no-answer", std::nullopt).empty());
  CHECK(bus.faults.on("analyzer", "no-answer"));
  CHECK_FALSE(bus.faults.on("ratio", "no-answer"));
  REQUIRE(bus.faults.set("wrong-check", std::nullopt).empty());
  CHECK(bus.faults.on("ratio", "wrong-check"));
  REQUIRE(bus.faults.set("no-answer", 3.0).empty());
  CHECK(bus.faults.on("thermometer", "no-answer"));
  CHECK_FALSE(bus.faults.on("analyzer", "no-answer"));
  REQUIRE(bus.faults.set("no-answer", -1.0).empty());
  CHECK(bus.faults.on("io", "no-answer"));
  REQUIRE(bus.faults.set("no-answer", std::nullopt, "ratio").empty());
  CHECK(bus.faults.on("ratio", "no-answer"));
}

TEST_CASE("a wire fault that cannot be is refused in words that name the key", "[sim][wires]") {
  Bus bus;
  CHECK(bus.faults.set("no-anser", std::nullopt).find("nearest known is \"no-answer\"") != std::string::npos);
  CHECK(bus.faults.set("no-answer", 4.0).rfind("value: ", 0) == 0);
  CHECK(bus.faults.set("no-answer", 1.5).rfind("value: ", 0) == 0);
  CHECK(bus.faults.set("no-answer", 41.0).rfind("value: ", 0) == 0);
  CHECK(bus.faults.set("no-answer", std::nullopt, "anlyzer").rfind("device: ", 0) == 0);
  CHECK(bus.faults.set("wrong-check", std::nullopt, "analyzer").rfind("device: ", 0) == 0);
  CHECK(bus.faults.set("wrong-transaction", 1.0).rfind("value: ", 0) == 0);
}

TEST_CASE("each wire fault does to the bytes what its description says", "[sim][wires]") {
  Bus bus;
  auto const tcp_with = [&](char const* fault) {
    REQUIRE(bus.faults.set(fault, std::nullopt, "analyzer").empty());
    return bus.on_tcp();
  };
  auto const rtu_with = [&](char const* fault) {
    REQUIRE(bus.faults.set(fault, std::nullopt, "ratio").empty());
    return bus.on_rtu();
  };
  SECTION("no answer") { CHECK(tcp_with("no-answer").pieces.empty()); }
  SECTION("late: one and a half time limits") {
    auto const answer = tcp_with("late-answer");
    CHECK(answer.pieces.at(0).wait_s == Approx(0.75).epsilon(1e-12));
    bus.context.time_scale = 20.0;  // limits are wall times: 0.75 s of the wall are 15 s on the bench
    CHECK(bus.on_tcp().pieces.at(0).wait_s == Approx(15.0).epsilon(1e-12));
    CHECK(all_of(answer) == sound_tcp);
  }
  SECTION("half") { CHECK(all_of(tcp_with("half-answers")) == Bytes(sound_tcp.begin(), sound_tcp.begin() + 6)); }
  SECTION("busy") { CHECK(all_of(tcp_with("busy-device")) == bytes_of("0007 0000 0003 01 83 06")); }
  SECTION("wrong unit number") { CHECK(all_of(tcp_with("wrong-unit-number")).at(6) == 2); }
  SECTION("wrong unit number, with a right check") {
    CHECK(all_of(rtu_with("wrong-unit-number")) == encode_rtu({4, bytes_of("03 04 1234 5678")}));
  }
  SECTION("wrong transaction") { CHECK(all_of(tcp_with("wrong-transaction")).at(1) == 8); }
  SECTION("wrong check") {
    auto wrong = sound_rtu();
    auto const got = all_of(rtu_with("wrong-check"));
    REQUIRE(got.size() == wrong.size());
    CHECK(got.back() != wrong.back());
    CHECK(std::equal(got.begin(), got.end() - 2, wrong.begin()));
  }
  SECTION("twice") {
    auto twice = sound_tcp;
    twice.insert(twice.end(), sound_tcp.begin(), sound_tcp.end());
    CHECK(all_of(tcp_with("doubled-answers")) == twice);
  }
  SECTION("in two parts with a pause") {
    auto const answer = tcp_with("split-answers");
    REQUIRE(answer.pieces.size() == 2);
    CHECK(answer.pieces[1].wait_s > 0.0);
    CHECK(all_of(answer) == sound_tcp);
    bus.context.time_scale = 20.0;  // a pause of the bench, no time limit's: the step must not take longer for it
    CHECK(bus.on_tcp().pieces[1].wait_s == answer.pieces[1].wait_s);
  }
  SECTION("byte by byte, longer than the time limit in all") {
    auto const answer = tcp_with("dribbled-answers");
    CHECK(answer.pieces.size() == sound_tcp.size());
    double whole = 0.0;
    for (auto const& piece : answer.pieces) whole += piece.wait_s;
    CHECK(whole > 0.5);
    CHECK(all_of(answer) == sound_tcp);
  }
  SECTION("noise before") {
    auto const got = all_of(rtu_with("noise-before-answers"));
    CHECK(got.size() == sound_rtu().size() + 1);
    CHECK(Bytes(got.begin() + 1, got.end()) == sound_rtu());
  }
  SECTION("echo before") {
    auto expected = encode_rtu(bus.rtu);
    auto const sound = sound_rtu();
    expected.insert(expected.end(), sound.begin(), sound.end());
    CHECK(all_of(rtu_with("line-echo")) == expected);
  }
  SECTION("the answer before") {
    CHECK(tcp_with("stale-answer").pieces.empty());
    bus.tcp.transaction = 8;
    CHECK(all_of(bus.on_tcp()) == sound_tcp);  // transaction 7, asked by the request before
  }
  SECTION("drops after every twentieth answer") {
    REQUIRE(bus.faults.set("link-drops", std::nullopt).empty());
    int dropped = 0;
    for (int i = 0; i < 60; ++i) dropped += bus.on_tcp().close_after ? 1 : 0;
    CHECK(dropped == 3);
  }
}

TEST_CASE("corrupted frames come at the rate that was asked for, one bit each", "[sim][wires]") {
  Bus bus;
  REQUIRE(bus.faults.set("corrupted-frames", 10.0).empty());
  auto const sound = sound_rtu();
  int wrong = 0;
  for (int i = 0; i < 10000; ++i) {
    auto const got = all_of(bus.on_rtu());
    int bits = 0;
    for (std::size_t byte = 0; byte < sound.size(); ++byte) bits += __builtin_popcount(sound[byte] ^ got[byte]);
    CHECK(bits <= 1);
    wrong += bits;
  }
  CHECK(wrong == Approx(1000).margin(120));  // four standard deviations of the binomial: 4 * sqrt(10000 * 0.1 * 0.9)
  CHECK(all_of(bus.on_tcp()) == sound_tcp);
}

TEST_CASE("noise on text lines is a fault of its own: no check of the line can tell", "[sim][wires]") {
  Bus bus;
  auto const ask = [&] {
    return all_of(bus.faults.shape_text("thermometer", bytes_of("3F 0A"), bytes_of("31 2E 35 0A"), bus.context));
  };
  REQUIRE(bus.faults.set("corrupted-frames", 100.0).empty());
  CHECK(ask() == bytes_of("31 2E 35 0A"));
  REQUIRE(bus.faults.set("corrupted-text", std::nullopt).empty());
  for (int i = 0; i < 100; ++i) CHECK(ask() != bytes_of("31 2E 35 0A"));
}

TEST_CASE("the I/O link is lost only once the contactors have been closed for so long, and stays lost",
          "[sim][wires]") {
  Bus bus;
  REQUIRE(bus.faults.set("io-link-lost", 2.0).empty());
  CHECK_FALSE(bus.on_tcp("io").pieces.empty());
  bus.context.contactors_closed_s = 1.9;
  CHECK_FALSE(bus.on_tcp("io").pieces.empty());
  CHECK_FALSE(bus.on_tcp().pieces.empty());
  bus.context.contactors_closed_s = 2.0;
  CHECK(bus.on_tcp("io").pieces.empty());
  bus.context.contactors_closed_s.reset();
  CHECK(bus.on_tcp("io").pieces.empty());
  CHECK_FALSE(bus.on_tcp().pieces.empty());
  bus.faults.clear("all");
  CHECK_FALSE(bus.on_tcp("io").pieces.empty());
}
