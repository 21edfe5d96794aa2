// SPDX-License-Identifier: MIT
#include <sys/select.h>

#include <cerrno>

#include <fmt/format.h>

#include "drivers/bus/descriptor.hpp"
#include "drivers/bus/modbus_context.hpp"
#include "drivers/bus/wires.hpp"

namespace benchward {
namespace {

constexpr std::size_t header_size = 7;    // transaction, protocol, length, unit
constexpr unsigned longest_length = 254;  // unit and PDU (Modbus messaging on TCP/IP V1.0b, 3.1.3)

class ModbusTcpStream final : public DescriptorStream {
 public:
  ModbusTcpStream(ModbusContext context, WallTime now)
      : DescriptorStream(modbus_get_socket(context.get()), std::move(now)), context_(std::move(context)) {}

 private:
  ModbusContext context_;
};

/// Modbus TCP. The transaction number is ours and frames are kept whole over time-outs, so that a reply to something
/// earlier is known, dropped, and waiting goes on.
class ModbusTcpWire final : public Wire {
 public:
  ModbusTcpWire(OpenStream open, WireTime time) : open_(std::move(open)), time_(std::move(time)) {}

  bool is_open() const override { return stream_ != nullptr; }
  std::string open(std::int64_t deadline_ns) override {
    std::string why;
    stream_ = open_(deadline_ns, why);
    buffer_.clear();
    return stream_ ? std::string() : why;
  }
  void close() noexcept override { stream_.reset(); }
  void wait_turn(BusRequest const& request) override {
    auto const from = last_ns_ + static_cast<std::int64_t>(request.gap.in(seconds)*1e9);
    if (from > time_.now()) time_.sleep_until(from);
  }

  void transact(BusRequest const& request, std::int64_t deadline_ns, WireResult& into) override {
    ask(request, deadline_ns, into);
    last_ns_ = time_.now();
  }

  bool drain(std::int64_t quiet_ns, std::int64_t deadline_ns) override {
    buffer_.clear();
    return drain_stream(*stream_, quiet_ns, deadline_ns, time_.now);
  }
  bool hung_up() override { return stream_ && stream_->hung_up(); }
  bool numbers_replies() const override { return true; }
  void pause_until(std::int64_t wall_ns) override { time_.sleep_until(wall_ns); }
  std::string refuse(BusRequest const& request) const override { return refuse_request(request, false); }

 private:
  void ask(BusRequest const& request, std::int64_t deadline_ns, WireResult& result) {
    auto const number = ++transaction_;
    put_frame(request, number, result.sent);
    if (!stream_->write_all(result.sent, deadline_ns)) return result.ended(WireEnd::lost, gone);
    for (;;) {
      if (buffer_.size() >= 6 && !is_modbus()) {
        result.received.swap(buffer_);
        buffer_.clear();
        return result.ended(WireEnd::noise, "a frame that is not Modbus");
      }
      if (buffer_.size() < 6 || buffer_.size() < frame_size()) {
        auto const end = stream_->read_some(buffer_, deadline_ns);
        if (end == ReadEnd::some) continue;
        result.received = buffer_;
        if (end == ReadEnd::lost) return result.ended(WireEnd::lost, gone);
        return result.ended(WireEnd::timeout, buffer_.empty() ? "" : "only part of an answer came");
      }
      auto const size = static_cast<std::ptrdiff_t>(frame_size());
      result.received.assign(buffer_.begin(), buffer_.begin() + size);
      buffer_.erase(buffer_.begin(), buffer_.begin() + size);
      auto const& frame = result.received;
      if (((static_cast<unsigned>(frame[0]) << 8) | frame[1]) != number) {
        ++result.stale;
        result.received.clear();
        continue;
      }
      if (frame[6] != request.unit)
        return result.ended(WireEnd::noise, fmt::format("unit {} answers for unit {}", frame[6], request.unit));
      auto const verdict = judge_pdu(request, frame.data() + header_size, frame.size() - header_size, result.words);
      if (verdict.kind == PduVerdict::Kind::foreign) return result.ended(WireEnd::noise, verdict.why);
      result.end = verdict.kind == PduVerdict::Kind::good ? WireEnd::answered : WireEnd::exception;
      result.exception = verdict.exception;
      return;
    }
  }

  static void put_frame(BusRequest const& request, unsigned number, Bytes& into) {
    into.assign(header_size, 0);  // protocol 0
    put_pdu(request, into);
    auto const length = static_cast<unsigned>(into.size() - 6);
    into[0] = static_cast<std::uint8_t>(number >> 8);
    into[1] = static_cast<std::uint8_t>(number & 0xFF);
    into[4] = static_cast<std::uint8_t>(length >> 8);
    into[5] = static_cast<std::uint8_t>(length & 0xFF);
    into[6] = static_cast<std::uint8_t>(request.unit);
  }

  unsigned word(std::size_t at) const { return (static_cast<unsigned>(buffer_[at]) << 8) | buffer_[at + 1]; }
  std::size_t frame_size() const { return 6 + static_cast<std::size_t>(word(4)); }
  bool is_modbus() const { return word(2) == 0 && word(4) >= 3 && word(4) <= longest_length; }
  static constexpr char const* gone = "the connection was closed by the other end";
  OpenStream open_;
  WireTime time_;
  std::unique_ptr<ByteStream> stream_;
  Bytes buffer_;  ///< what has come and is not yet a frame
  std::uint16_t transaction_ = 0;
  std::int64_t last_ns_ = 0;
};

}  // namespace

OpenStream open_modbus_tcp(LinkAddress address, WallTime now) {
  return [address = std::move(address), now = std::move(now)](std::int64_t deadline_ns,
                                                              std::string& why) -> std::unique_ptr<ByteStream> {
    auto const place = fmt::format("{} port {}", address.host, address.port);
    constexpr char const* used_up = "this program has too many files open for libmodbus (descriptors of 1024 and more)";
    if (descriptors_used_up()) {
      why = used_up;
      return nullptr;
    }
    why = host_trouble(address.host, address.port);  // libmodbus calls this a refused connection
    if (!why.empty()) return nullptr;
    ModbusContext context(modbus_new_tcp_pi(address.host.c_str(), std::to_string(address.port).c_str()));
    if (!context) {
      why = fmt::format("cannot make a connection to {}: {}", place, modbus_strerror(errno));
      return nullptr;
    }
    set_library_times(context.get(), deadline_ns - now());
    errno = 0;
    if (modbus_connect(context.get()) != 0) {
      int const cause = errno;
      why = fmt::format("cannot connect to {}: {}", place, modbus_strerror(cause));
      return nullptr;
    }
    if (modbus_get_socket(context.get()) >= FD_SETSIZE) {
      why = used_up;
      return nullptr;
    }
    return std::make_unique<ModbusTcpStream>(std::move(context), now);
  };
}

std::unique_ptr<Wire> make_modbus_tcp_wire(OpenStream open, WireTime time) {
  return std::make_unique<ModbusTcpWire>(std::move(open), std::move(time));
}

}  // namespace benchward
