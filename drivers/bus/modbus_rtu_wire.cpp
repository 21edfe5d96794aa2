// SPDX-License-Identifier: MIT
#include <sys/select.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <thread>

#include <fmt/format.h>

#include "drivers/bench/bench_document.hpp"
#include "drivers/bus/descriptor.hpp"
#include "drivers/bus/modbus_context.hpp"
#include "drivers/bus/wires.hpp"

namespace benchward {
namespace {

constexpr std::int64_t spoilt_wait_ns = 50'000'000;  // no device pauses so long within a frame (limit: 1.5 characters)

/// Modbus on a serial line. libmodbus sets the line up and sends (with its checksum); the echo is consumed and
/// compared, and the reply looked for by unit, function, length and checksum in whatever comes.
class ModbusRtuWire final : public Wire {
 public:
  ModbusRtuWire(LinkAddress address, bool echo, WallTime wall)
      : address_(std::move(address)), echo_(echo), wall_(std::move(wall)) {}

  bool is_open() const override { return context_ != nullptr; }

  std::string open(std::int64_t deadline_ns) override {
    if (descriptors_used_up())
      return "this program has too many files open for libmodbus (descriptors of 1024 and more)";
    std::string why;
    auto lock = lock_terminal(address_.device, why);
    if (!lock) return why;
    ModbusContext context(
        modbus_new_rtu(address_.device.c_str(), address_.baud, address_.parity, 8, address_.stop_bits));
    if (!context) return fmt::format("cannot set up {}: {}", address_.device, modbus_strerror(errno));
    set_library_times(context.get(), deadline_ns - wall_());
    if (modbus_connect(context.get()) != 0) {
      int const cause = errno;
      return fmt::format("cannot open {} at {} baud: {}", address_.device, address_.baud, modbus_strerror(cause));
    }
    if (modbus_get_socket(context.get()) >= FD_SETSIZE) return "this program has too many files open for libmodbus";
    if (!exclude_others(modbus_get_socket(context.get())))
      return fmt::format("{} is no terminal line", address_.device);
    lock_ = std::move(lock);
    context_ = std::move(context);
    not_before_ns_ = wall_() + silence_ns();
    return {};
  }

  void close() noexcept override {
    context_.reset();
    lock_.reset();
  }

  WireResult transact(BusRequest const& request, std::int64_t deadline_ns) override {
    WireResult result;
    int const fd = modbus_get_socket(context_.get());
    keep_silence(request);
    // What lies in the receiver now answers nothing that is still asked.
    Bytes earlier;
    while (read_some(fd, earlier, 0, wall_) == ReadEnd::some) {
    }
    result.stale = earlier.empty() ? 0 : 1;
    auto const pdu = request_pdu(request);
    result.sent = serial_frame(request.unit, pdu);
    Bytes raw{static_cast<std::uint8_t>(request.unit)};
    raw.insert(raw.end(), pdu.begin(), pdu.end());
    int const sent = modbus_send_raw_request(context_.get(), raw.data(), static_cast<int>(raw.size()));
    if (sent != static_cast<int>(result.sent.size()))
      return ended(std::move(result), WireEnd::lost, "the line does not take bytes");
    if (echo_) {
      auto const size = result.sent.size();
      while (result.received.size() < size) {
        auto const end = read_some(fd, result.received, deadline_ns, wall_);
        if (end != ReadEnd::some) return gone_or_late(std::move(result), end, "no echo");
      }
      if (!std::equal(result.sent.begin(), result.sent.end(), result.received.begin())) {
        return ended(std::move(result), WireEnd::collision, "the echo differs from what was sent: two speak at once");
      }
      result.received.erase(result.received.begin(), result.received.begin() + static_cast<std::ptrdiff_t>(size));
    }
    if (request.unit ==
        0) {  // broadcast: nobody answers; devices need time to act (serial line guide 2.1: 100 to 200 ms)
      not_before_ns_ = wall_() + 100'000'000;
      result.end = WireEnd::answered;
      return result;
    }
    for (;;) {
      auto const scan = scan_serial(request, result.received);
      if (scan.found) {
        not_before_ns_ = wall_() + silence_ns();
        result.end = scan.verdict.kind == PduVerdict::Kind::good ? WireEnd::answered : WireEnd::exception;
        result.exception = scan.verdict.exception;
        result.words = scan.verdict.words;
        result.noisy = scan.noise_before > 0;
        return result;
      }
      if (result.received.size() > 1024) return ended(std::move(result), WireEnd::noise, "the line is never quiet");
      // As many bytes as the reply has, and no check fits: it came and was spoilt. To wait the whole attempt for
      // another would cost an energised step its time.
      bool const spoilt = result.received.size() == serial_reply_size(request);
      auto const end =
          read_some(fd, result.received, spoilt ? std::min(deadline_ns, wall_() + spoilt_wait_ns) : deadline_ns, wall_);
      if (end == ReadEnd::some) continue;
      not_before_ns_ = wall_() + silence_ns();
      if (end == ReadEnd::timeout && !result.received.empty()) {
        auto const why = scan.verdict.why.empty() ? std::string("no answer with a right checksum among what came")
                                                  : scan.verdict.why;
        return ended(std::move(result), WireEnd::noise, why);
      }
      return gone_or_late(std::move(result), end, "");
    }
  }

  bool drain(std::int64_t quiet_ns, std::int64_t deadline_ns) override {
    bool gone = false;
    return drain_descriptor(modbus_get_socket(context_.get()), std::max(quiet_ns, silence_ns()), deadline_ns, wall_,
                            gone);
  }
  bool hung_up() override { return context_ && descriptor_hung_up(modbus_get_socket(context_.get())); }
  bool numbers_replies() const override { return false; }
  std::string refuse(BusRequest const& request) const override { return refuse_request(request, true); }

 private:
  std::int64_t silence_ns() const { return static_cast<std::int64_t>(silence_s(address_.baud) * 1e9); }

  void keep_silence(BusRequest const& request) const {
    auto const from = not_before_ns_ + static_cast<std::int64_t>(request.gap.in(seconds)*1e9);
    if (auto const left = from - wall_(); left > 0) std::this_thread::sleep_for(std::chrono::nanoseconds(left));
  }

  static WireResult ended(WireResult result, WireEnd end, std::string what) {
    result.end = end;
    result.what = std::move(what);
    return result;
  }
  static WireResult gone_or_late(WireResult result, ReadEnd end, std::string what) {
    if (end == ReadEnd::lost) return ended(std::move(result), WireEnd::lost, "the adapter or the other end is gone");
    return ended(std::move(result), WireEnd::timeout, std::move(what));
  }

  LinkAddress address_;
  bool echo_;
  WallTime wall_;
  Descriptor lock_;
  ModbusContext context_;
  std::int64_t not_before_ns_ = 0;
};

}  // namespace

std::unique_ptr<Wire> make_modbus_rtu_wire(LinkAddress address, bool echo, WallTime wall) {
  return std::make_unique<ModbusRtuWire>(std::move(address), echo, std::move(wall));
}

}  // namespace benchward
