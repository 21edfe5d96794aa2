// SPDX-License-Identifier: MIT
#include <sys/select.h>

#include <algorithm>
#include <cerrno>

#include <fmt/format.h>

#include "drivers/bus/descriptor.hpp"
#include "drivers/bus/modbus_context.hpp"
#include "drivers/bus/wires.hpp"

namespace benchward {
namespace {

constexpr std::size_t longest_rubbish = 1024;  ///< four of the longest frames: nobody answers so much
/// Devices need time to act on a broadcast (serial line guide V1.02, 2.4.1: 100 to 200 ms).
constexpr std::int64_t turnaround_ns = 100'000'000;

constexpr std::int64_t spoilt_wait_ns = 50'000'000;  // no device pauses so long within a frame (limit: 1.5 characters)

class ModbusRtuStream final : public DescriptorStream {
 public:
  ModbusRtuStream(Descriptor lock, ModbusContext context, WallTime now)
      : DescriptorStream(modbus_get_socket(context.get()), std::move(now)),
        lock_(std::move(lock)),
        context_(std::move(context)) {}

 private:
  Descriptor lock_;
  ModbusContext context_;
};

/// Modbus on a serial line. The echo is consumed and compared, and the reply looked for by unit, function, length and
/// checksum in whatever comes.
class ModbusRtuWire final : public Wire {
 public:
  ModbusRtuWire(OpenStream open, int baud, bool echo, WireTime time)
      : open_(std::move(open)),
        silence_ns_(static_cast<std::int64_t>(silence_s(baud) * 1e9)),
        echo_(echo),
        time_(std::move(time)) {}

  bool is_open() const override { return stream_ != nullptr; }
  std::string open(std::int64_t deadline_ns) override {
    std::string why;
    stream_ = open_(deadline_ns, why);
    if (!stream_) return why;
    not_before_ns_ = time_.now() + silence_ns_;
    return {};
  }
  void close() noexcept override { stream_.reset(); }
  void wait_turn(BusRequest const& request) override {
    auto const from = not_before_ns_ + static_cast<std::int64_t>(request.gap.in(seconds)*1e9);
    if (from > time_.now()) time_.sleep_until(from);
  }

  void transact(BusRequest const& request, std::int64_t deadline_ns, WireResult& result) override {
    // What lies in the receiver now answers nothing that is still asked; more of it may be on its way.
    if (stream_->read_some(result.received, 0) == ReadEnd::some) {
      result.stale = 1;
      result.received.clear();
      drain_stream(*stream_, std::max(silence_ns_, unasked_quiet_ns), deadline_ns, time_.now);
    }
    put_serial_frame(request, result.sent);
    if (!stream_->write_all(result.sent, deadline_ns))
      return result.ended(WireEnd::lost, "the line does not take bytes");
    if (echo_) {
      auto const size = result.sent.size();
      while (result.received.size() < size) {
        auto const end = stream_->read_some(result.received, deadline_ns);
        if (end != ReadEnd::some) return gone_or_late(result, end, "no echo");
      }
      if (!std::equal(result.sent.begin(), result.sent.end(), result.received.begin()))
        return result.ended(WireEnd::collision, "the echo differs from what was sent: two speak at once");
      result.received.erase(result.received.begin(), result.received.begin() + static_cast<std::ptrdiff_t>(size));
    }
    if (request.unit == 0) {  // broadcast: nobody answers
      not_before_ns_ = time_.now() + turnaround_ns;
      result.end = WireEnd::answered;
      return;
    }
    look_for_answer(request, result, deadline_ns);
  }

  bool drain(std::int64_t quiet_ns, std::int64_t deadline_ns) override {
    return drain_stream(*stream_, std::max(quiet_ns, silence_ns_), deadline_ns, time_.now);
  }
  bool hung_up() override { return stream_ && stream_->hung_up(); }
  bool numbers_replies() const override { return false; }
  void pause_until(std::int64_t wall_ns) override { time_.sleep_until(wall_ns); }
  std::string refuse(BusRequest const& request) const override { return refuse_request(request, true); }

 private:
  void look_for_answer(BusRequest const& request, WireResult& result, std::int64_t deadline_ns) {
    for (;;) {
      auto const scan = scan_serial(request, result.received, result.words);
      if (scan.found) {
        not_before_ns_ = time_.now() + silence_ns_;
        result.end = scan.verdict.kind == PduVerdict::Kind::good ? WireEnd::answered : WireEnd::exception;
        result.exception = scan.verdict.exception;
        result.noisy = scan.noise_before > 0;
        return;
      }
      if (result.received.size() > longest_rubbish) return result.ended(WireEnd::noise, "the line is never quiet");
      // As many bytes as the reply has, and no check fits: it came and was spoilt. To wait the whole attempt for
      // another would cost an energised step its time.
      result.spoilt = result.received.size() == serial_reply_size(request);
      auto const until_ns = result.spoilt ? std::min(deadline_ns, time_.now() + spoilt_wait_ns) : deadline_ns;
      auto const end = stream_->read_some(result.received, until_ns);
      if (end == ReadEnd::some) continue;
      not_before_ns_ = time_.now() + silence_ns_;
      if (end == ReadEnd::timeout && !result.received.empty()) {
        return result.ended(WireEnd::noise, scan.verdict.why.empty()
                                                ? std::string("no answer with a right checksum among what came")
                                                : scan.verdict.why);
      }
      return gone_or_late(result, end, "");
    }
  }

  static void gone_or_late(WireResult& result, ReadEnd end, char const* what) {
    if (end == ReadEnd::lost) return result.ended(WireEnd::lost, "the adapter or the other end is gone");
    result.ended(WireEnd::timeout, what);
  }

  OpenStream open_;
  std::int64_t silence_ns_;
  bool echo_;
  WireTime time_;
  std::unique_ptr<ByteStream> stream_;
  std::int64_t not_before_ns_ = 0;
};

}  // namespace

OpenStream open_modbus_rtu(LinkAddress address, WallTime now) {
  return [address = std::move(address), now = std::move(now)](std::int64_t deadline_ns,
                                                              std::string& why) -> std::unique_ptr<ByteStream> {
    if (descriptors_used_up()) {
      why = "this program has too many files open for libmodbus (descriptors of 1024 and more)";
      return nullptr;
    }
    auto lock = lock_terminal(address.device, why);
    if (!lock) return nullptr;
    ModbusContext context(modbus_new_rtu(address.device.c_str(), address.baud, address.parity, 8, address.stop_bits));
    if (!context) {
      why = fmt::format("cannot set up {}: {}", address.device, modbus_strerror(errno));
      return nullptr;
    }
    set_library_times(context.get(), deadline_ns - now());
    if (modbus_connect(context.get()) != 0) {
      int const cause = errno;
      why = fmt::format("cannot open {} at {} baud: {}", address.device, address.baud, modbus_strerror(cause));
      return nullptr;
    }
    if (modbus_get_socket(context.get()) >= FD_SETSIZE) {
      why = "this program has too many files open for libmodbus";
      return nullptr;
    }
    if (!exclude_others(modbus_get_socket(context.get()))) {
      why = fmt::format("{} is no terminal line", address.device);
      return nullptr;
    }
    return std::make_unique<ModbusRtuStream>(std::move(lock), std::move(context), now);
  };
}

std::unique_ptr<Wire> make_modbus_rtu_wire(OpenStream open, int baud, bool echo, WireTime time) {
  return std::make_unique<ModbusRtuWire>(std::move(open), baud, echo, std::move(time));
}

}  // namespace benchward
