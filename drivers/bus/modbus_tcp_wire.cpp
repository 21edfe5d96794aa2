// SPDX-License-Identifier: MIT
#include <array>
#include <cerrno>
#include <cstring>

#include <fmt/format.h>

#include "drivers/bench/bench_document.hpp"
#include "drivers/bus/descriptor.hpp"
#include "drivers/bus/modbus_context.hpp"
#include "drivers/bus/wires.hpp"

namespace benchward {
namespace {

constexpr std::size_t header_size = 7;  // transaction, protocol, length, unit

/// Modbus TCP. libmodbus connects, closes and takes replies off the socket; the transaction number is ours, so that a
/// reply to something earlier is known, dropped, and waiting goes on (the library stops with an error there).
class ModbusTcpWire final : public Wire {
 public:
  ModbusTcpWire(LinkAddress address, WallTime wall) : address_(std::move(address)), wall_(std::move(wall)) {}

  bool is_open() const override { return context_ != nullptr; }

  std::string open(std::int64_t deadline_ns) override {
    if (descriptors_used_up())
      return "this program has too many files open for libmodbus (descriptors of 1024 and more)";
    ModbusContext context(modbus_new_tcp_pi(address_.host.c_str(), std::to_string(address_.port).c_str()));
    if (!context) return fmt::format("cannot make a connection to {}: {}", place(), modbus_strerror(errno));
    set_library_times(context.get(), deadline_ns - wall_());
    if (modbus_connect(context.get()) != 0) {
      int const cause = errno;
      return fmt::format("cannot connect to {}: {}", place(), modbus_strerror(cause));
    }
    if (modbus_get_socket(context.get()) >= FD_SETSIZE) return "this program has too many files open for libmodbus";
    context_ = std::move(context);
    return {};
  }

  void close() noexcept override { context_.reset(); }

  WireResult transact(BusRequest const& request, std::int64_t deadline_ns) override {
    WireResult result;
    auto const pdu = request_pdu(request);
    auto const number = ++transaction_;
    auto const length = static_cast<unsigned>(pdu.size() + 1);
    result.sent = {static_cast<std::uint8_t>(number >> 8),
                   static_cast<std::uint8_t>(number & 0xFF),
                   0,
                   0,
                   static_cast<std::uint8_t>(length >> 8),
                   static_cast<std::uint8_t>(length & 0xFF),
                   static_cast<std::uint8_t>(request.unit)};
    result.sent.insert(result.sent.end(), pdu.begin(), pdu.end());
    if (!write_all(modbus_get_socket(context_.get()), result.sent, deadline_ns, wall_)) return lost(std::move(result));
    for (;;) {
      auto const left = deadline_ns - wall_();
      if (left <= 0) return timed_out(std::move(result));
      set_library_times(context_.get(), left);
      std::array<std::uint8_t, MODBUS_TCP_MAX_ADU_LENGTH + 2> frame{};
      errno = 0;
      int const got = modbus_receive_confirmation(context_.get(), frame.data());
      int const cause = errno;
      if (got < 0 && cause == ETIMEDOUT) return timed_out(std::move(result));
      if (got < 0 && (cause == EMBBADDATA || cause == EMBBADCRC || cause == EMBBADEXC)) {
        result.end = WireEnd::noise;
        result.what = modbus_strerror(cause);
        return result;
      }
      if (got <= 0) return lost(std::move(result));
      result.received.assign(frame.begin(), frame.begin() + got);
      if (result.received.size() <= header_size) return noise(std::move(result), "a frame of a few bytes");
      auto const word = [&](std::size_t at) { return (static_cast<unsigned>(frame[at]) << 8) | frame[at + 1]; };
      if (word(2) != 0 || word(4) + 6 != static_cast<unsigned>(got))
        return noise(std::move(result), "a frame that is not Modbus");
      if (word(0) != number) {
        ++result.stale;
        continue;
      }
      if (frame[6] != request.unit)
        return noise(std::move(result), fmt::format("unit {} answers for unit {}", frame[6], request.unit));
      auto verdict = judge_pdu(request, frame.data() + header_size, static_cast<std::size_t>(got) - header_size);
      if (verdict.kind == PduVerdict::Kind::foreign) return noise(std::move(result), verdict.why);
      result.end = verdict.kind == PduVerdict::Kind::good ? WireEnd::answered : WireEnd::exception;
      result.exception = verdict.exception;
      result.words = std::move(verdict.words);
      return result;
    }
  }

  bool drain(std::int64_t quiet_ns, std::int64_t deadline_ns) override {
    bool gone = false;
    return drain_descriptor(modbus_get_socket(context_.get()), quiet_ns, deadline_ns, wall_, gone);
  }
  bool hung_up() override { return context_ && descriptor_hung_up(modbus_get_socket(context_.get())); }
  bool numbers_replies() const override { return true; }
  std::string refuse(BusRequest const& request) const override { return refuse_request(request, false); }

 private:
  std::string place() const { return fmt::format("{} port {}", address_.host, address_.port); }
  static WireResult lost(WireResult result) {
    result.end = WireEnd::lost;
    result.what = "the connection was closed by the other end";
    return result;
  }
  static WireResult timed_out(WireResult result) {
    result.end = WireEnd::timeout;
    return result;
  }
  static WireResult noise(WireResult result, std::string what) {
    result.end = WireEnd::noise;
    result.what = std::move(what);
    return result;
  }

  LinkAddress address_;
  WallTime wall_;
  ModbusContext context_;
  std::uint16_t transaction_ = 0;
};

}  // namespace

std::unique_ptr<Wire> make_modbus_tcp_wire(LinkAddress address, WallTime wall) {
  return std::make_unique<ModbusTcpWire>(std::move(address), std::move(wall));
}

}  // namespace benchward
