// SPDX-License-Identifier: MIT
// Golden frames. Sources: "MODBUS Application Protocol Specification V1.1b3" (examples of 6.3, 6.4, 6.6, 6.12, 6.17)
// and "MODBUS over Serial Line V1.02" 6.2.2 (check of 02 07), both from memory; the checks of the other serial frames
// were computed with pymodbus 3.0.0 (pymodbus.utilities.computeCRC).
#include <catch2/catch.hpp>

#include <random>

#include "sim/wires/modbus_frame.hpp"
#include "tests/sim/wires/fake_bench.hpp"

using namespace benchward::sim;
using namespace benchward::sim::testing;

namespace {

/// A device with the words of one example of the specification.
class ExampleDevice final : public RegisterSpace {
 public:
  ExampleDevice(std::uint16_t first, std::vector<std::uint16_t> words) : first_(first), words_(std::move(words)) {}
  std::optional<ModbusException> read(RegisterTable table, std::uint16_t address,
                                      std::span<std::uint16_t> out) override {
    asked_table = table;
    if (address != first_ || out.size() > words_.size()) return ModbusException::illegal_address;
    std::copy_n(words_.begin(), out.size(), out.begin());
    return std::nullopt;
  }
  std::optional<ModbusException> write(std::uint16_t address, std::span<std::uint16_t const> in) override {
    written_at = address;
    written.assign(in.begin(), in.end());
    return std::nullopt;
  }
  RegisterTable asked_table = RegisterTable::input;
  int written_at = -1;
  std::vector<std::uint16_t> written;

 private:
  std::uint16_t first_;
  std::vector<std::uint16_t> words_;
};

}  // namespace

TEST_CASE("the specification's example of reading holding registers is answered byte for byte", "[sim][wires]") {
  ExampleDevice device(0x6B, {0x022B, 0x0000, 0x0064});
  CHECK(answer_pdu(bytes_of("03 006B 0003"), device) == bytes_of("03 06 022B 0000 0064"));
  CHECK(device.asked_table == RegisterTable::holding);
}

TEST_CASE("the specification's example of reading input registers is answered byte for byte", "[sim][wires]") {
  ExampleDevice device(8, {0x000A});
  CHECK(answer_pdu(bytes_of("04 0008 0001"), device) == bytes_of("04 02 000A"));
  CHECK(device.asked_table == RegisterTable::input);
}

TEST_CASE("the specification's examples of writing registers are answered byte for byte", "[sim][wires]") {
  ExampleDevice device(0, {});
  CHECK(answer_pdu(bytes_of("06 0001 0003"), device) == bytes_of("06 0001 0003"));
  CHECK(device.written_at == 1);
  CHECK(device.written == std::vector<std::uint16_t>{3});
  CHECK(answer_pdu(bytes_of("10 0001 0002 04 000A 0102"), device) == bytes_of("10 0001 0002"));
  CHECK(device.written == std::vector<std::uint16_t>{0x000A, 0x0102});
}

TEST_CASE("the specification's example of function 23 writes first and then reads", "[sim][wires]") {
  ExampleDevice device(3, {0x00FE, 0x0ACD, 0x0001, 0x0003, 0x000D, 0x00FF});
  CHECK(answer_pdu(bytes_of("17 0003 0006 000E 0003 06 00FF 00FF 00FF"), device) ==
        bytes_of("17 0C 00FE 0ACD 0001 0003 000D 00FF"));
  CHECK(device.written_at == 0x0E);
  CHECK(device.written == std::vector<std::uint16_t>{0xFF, 0xFF, 0xFF});
}

TEST_CASE("a request that cannot be served is refused with the specification's exception", "[sim][wires]") {
  FakeRegisters device;
  struct Row {
    char const* request;
    char const* answer;
    char const* why;
  };
  Row const rows[] = {
      {"01 0000 0001", "81 01", "coils do not exist: illegal function"},
      {"2B 0E 01 00", "AB 01", "device identification is not spoken"},
      {"03 0064 0000", "83 03", "no words asked"},
      {"03 0064 007E", "83 03", "126 words asked, 125 are the most"},
      {"03 0064", "83 03", "request too short"},
      {"03 0064 0001 00", "83 03", "request too long"},
      {"03 0000 0001", "83 02", "address below the device's"},
      {"03 0070 0005", "83 02", "one word past the end"},
      {"03 FFFF 0002", "83 02", "address and count pass 65535"},
      {"06 0064 0001", "86 02", "a register that cannot be written"},
      {"10 006E 0002 04 0001", "90 03", "fewer bytes than announced"},
      {"10 006E 0002 02 0001", "90 03", "byte count contradicts word count"},
      {"10 006E 0000 00", "90 03", "nothing to write"},
      {"17 0064 0001 006E 0001 04 0001 0002", "97 03", "byte count contradicts word count"},
      {"17 0000 0001 006E 0001 02 0001", "97 02", "read part outside"},
  };
  for (auto const& row : rows) {
    CAPTURE(row.why);
    CHECK(answer_pdu(bytes_of(row.request), device) == bytes_of(row.answer));
  }
}

TEST_CASE("a TCP frame cut into single bytes is the same frame", "[sim][wires]") {
  auto const bytes = bytes_of("1234 0000 0006 11 03 006B 0003");
  TcpFrameReader reader;
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    CHECK_FALSE(reader.next().has_value());
    reader.feed(std::span(&bytes[i], 1));
  }
  auto const frame = reader.next();
  REQUIRE(frame.has_value());
  CHECK(frame->transaction == 0x1234);
  CHECK(frame->unit == 0x11);
  CHECK(frame->pdu == bytes_of("03 006B 0003"));
  CHECK(encode_tcp(*frame) == bytes);
  CHECK_FALSE(reader.broken());
}

TEST_CASE("a TCP header that cannot be one breaks the stream for good", "[sim][wires]") {
  for (auto const* wrong :
       {"0001 0001 0006 01 03 0000 0001", "0001 0000 0001 01 03", "0001 0000 00FF 01 03", "474554202F20"}) {
    TcpFrameReader reader;
    reader.feed(bytes_of(wrong));
    CHECK_FALSE(reader.next().has_value());
    CHECK(reader.broken());
    reader.feed(bytes_of("0001 0000 0006 01 03 0064 0001"));
    CHECK_FALSE(reader.next().has_value());
  }
}

TEST_CASE("the serial check is that of the specification and of a known library", "[sim][wires]") {
  struct Row {
    char const* body;
    char const* frame;
  };
  // Row 1: the serial line specification; rows 2 to 4: pymodbus.
  Row const rows[] = {{"02 07", "02 07 41 12"},
                      {"01 03 0000 0001", "01 03 0000 0001 84 0A"},
                      {"11 06 0001 0003", "11 06 0001 0003 9A 9B"},
                      {"11 03 006B 0003", "11 03 006B 0003 76 87"}};
  for (auto const& row : rows) {
    auto const body = bytes_of(row.body);
    RtuFrame frame;
    frame.unit = body[0];
    frame.pdu.assign(body.begin() + 1, body.end());
    CHECK(encode_rtu(frame) == bytes_of(row.frame));
  }
}

TEST_CASE("a serial request is found behind noise, in pieces, and next to another one", "[sim][wires]") {
  auto const request = bytes_of("11 03 006B 0003 76 87");
  RtuRequestReader reader;
  SECTION("noise before it") {
    reader.feed(bytes_of("00 FF 11 03 55"));
    reader.feed(request);
    auto const frame = reader.next();
    REQUIRE(frame.has_value());
    CHECK(frame->pdu == bytes_of("03 006B 0003"));
    CHECK(reader.skipped() == 5);
  }
  SECTION("byte by byte") {
    for (std::size_t i = 0; i + 1 < request.size(); ++i) {
      reader.feed(std::span(&request[i], 1));
      CHECK_FALSE(reader.next().has_value());
    }
    reader.feed(std::span(&request.back(), 1));
    CHECK(reader.next().has_value());
    CHECK(reader.empty());
  }
  SECTION("two in one piece") {
    auto both = request;
    auto const other = bytes_of("01 03 0000 0001 84 0A");
    both.insert(both.end(), other.begin(), other.end());
    reader.feed(both);
    CHECK(reader.next()->unit == 0x11);
    CHECK(reader.next()->unit == 0x01);
    CHECK_FALSE(reader.next().has_value());
  }
  SECTION("a wrong check is no request, and the next one is found") {
    auto wrong = request;
    wrong.back() ^= 1;
    reader.feed(wrong);
    CHECK_FALSE(reader.next().has_value());
    reader.feed(request);
    CHECK(reader.next().has_value());
  }
  SECTION("a function of unknown length ends with the silence") {
    reader.feed(bytes_of("02 07 41 12"));
    CHECK_FALSE(reader.next().has_value());
    auto const frame = reader.silence();
    REQUIRE(frame.has_value());
    CHECK(frame->pdu == bytes_of("07"));
    FakeRegisters device;
    CHECK(answer_pdu(frame->pdu, device) == bytes_of("87 01"));
  }
}

TEST_CASE("a frame of which one bit was turned is never taken", "[sim][wires]") {
  auto const request = bytes_of("11 10 006E 0002 04 0001 0002");
  RtuFrame frame;
  frame.unit = request[0];
  frame.pdu.assign(request.begin() + 1, request.end());
  auto const sound = encode_rtu(frame);
  for (std::size_t bit = 0; bit < sound.size() * 8; ++bit) {
    auto turned = sound;
    turned[bit / 8] = static_cast<std::uint8_t>(turned[bit / 8] ^ (1u << (bit % 8)));
    RtuRequestReader reader;
    reader.feed(turned);
    CHECK_FALSE(reader.next().has_value());
    CHECK_FALSE(reader.silence().has_value());
  }
}

TEST_CASE("a million random bytes leave both frame readers sound and small", "[sim][wires]") {
  std::mt19937 random(20260101);
  RtuRequestReader serial;
  FakeRegisters device;
  for (int piece = 0; piece < 20000; ++piece) {
    Bytes bytes(random() % 100);
    for (auto& byte : bytes) byte = static_cast<std::uint8_t>(random());
    serial.feed(bytes);
    while (auto const frame = serial.next()) answer_pdu(frame->pdu, device);
    TcpFrameReader tcp;
    tcp.feed(bytes);
    while (auto const frame = tcp.next()) answer_pdu(frame->pdu, device);
    if (!bytes.empty()) answer_pdu(bytes, device);
  }
  serial.silence();
  serial.feed(bytes_of("11 03 006B 0003 76 87"));
  CHECK(serial.next().has_value());
}
