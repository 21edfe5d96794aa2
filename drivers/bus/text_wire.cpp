// SPDX-License-Identifier: MIT
#include <fcntl.h>
#include <netdb.h>
#include <poll.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <map>
#include <memory>

#include <fmt/format.h>

#include "drivers/bus/descriptor.hpp"
#include "drivers/bus/wires.hpp"

namespace benchward {

std::unique_ptr<Wire> make_wire(LinkDeclaration const& link, WallTime wall) {
  auto address = parse_link_address(link.address);
  auto time = sleeping_time(wall);
  int const baud = address.baud;
  if (address.kind == "modbus_tcp") return make_modbus_tcp_wire(open_modbus_tcp(std::move(address), wall), time);
  if (address.kind == "modbus_rtu")
    return make_modbus_rtu_wire(open_modbus_rtu(std::move(address), wall), baud, link.echo, time);
  return make_text_wire(open_text(std::move(address), wall), link.echo, time);
}

namespace {

constexpr std::size_t longest_line = 4096;

struct FreeAddresses {
  void operator()(addrinfo* list) const { ::freeaddrinfo(list); }
};

Descriptor connect_tcp(LinkAddress const& address, std::int64_t deadline_ns, WallTime const& wall, std::string& why) {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  addrinfo* found = nullptr;
  if (int const error = ::getaddrinfo(address.host.c_str(), std::to_string(address.port).c_str(), &hints, &found);
      error != 0) {
    why = fmt::format("cannot find the host {}: {}", address.host, ::gai_strerror(error));
    return {};
  }
  std::unique_ptr<addrinfo, FreeAddresses> const list(found);
  int cause = ECONNREFUSED;
  for (auto const* entry = list.get(); entry != nullptr; entry = entry->ai_next) {
    Descriptor socket(
        ::socket(entry->ai_family, entry->ai_socktype | SOCK_NONBLOCK | SOCK_CLOEXEC, entry->ai_protocol));
    if (!socket) continue;
    if (::connect(socket.get(), entry->ai_addr, entry->ai_addrlen) == 0) return socket;
    cause = errno;
    if (cause != EINPROGRESS) continue;
    auto const left_ms = std::max<std::int64_t>(1, (deadline_ns - wall()) / 1'000'000);
    pollfd waiting{socket.get(), POLLOUT, 0};
    if (::poll(&waiting, 1, static_cast<int>(std::min<std::int64_t>(left_ms, 60'000))) <= 0) {
      cause = ETIMEDOUT;
      continue;
    }
    socklen_t size = sizeof cause;
    ::getsockopt(socket.get(), SOL_SOCKET, SO_ERROR, &cause, &size);
    if (cause == 0) return socket;
  }
  why = fmt::format("cannot connect to {} port {}: {}", address.host, address.port, std::strerror(cause));
  return {};
}

Descriptor open_serial(LinkAddress const& address, std::string& why) {
  static std::map<int, speed_t> const speeds{{300, B300},      {600, B600},       {1200, B1200},     {2400, B2400},
                                             {4800, B4800},    {9600, B9600},     {19200, B19200},   {38400, B38400},
                                             {57600, B57600},  {115200, B115200}, {230400, B230400}, {460800, B460800},
                                             {921600, B921600}};
  auto const speed = speeds.find(address.baud);
  if (speed == speeds.end()) {
    why = fmt::format("{} baud is no speed of a serial line", address.baud);
    return {};
  }
  auto terminal = lock_terminal(address.device, why);
  if (!terminal) return {};
  termios settings{};
  if (!exclude_others(terminal.get()) || ::tcgetattr(terminal.get(), &settings) != 0) {
    why = fmt::format("{} is no terminal line", address.device);
    return {};
  }
  ::cfmakeraw(&settings);
  settings.c_cflag |= CLOCAL | CREAD;
  settings.c_cflag &= ~static_cast<tcflag_t>(PARENB | PARODD | CSTOPB | CRTSCTS);
  // A byte with a wrong parity bit arrives as 0, which no line of text has: it is seen, not guessed at.
  settings.c_iflag &= ~static_cast<tcflag_t>(INPCK | IGNPAR | PARMRK);
  if (address.parity != 'N') settings.c_iflag |= INPCK;
  if (address.parity != 'N') settings.c_cflag |= PARENB;
  if (address.parity == 'O') settings.c_cflag |= PARODD;
  if (address.stop_bits == 2) settings.c_cflag |= CSTOPB;
  ::cfsetispeed(&settings, speed->second);
  ::cfsetospeed(&settings, speed->second);
  if (::tcsetattr(terminal.get(), TCSANOW, &settings) != 0) {
    why = fmt::format("cannot set up {}: {}", address.device, std::strerror(errno));
    return {};
  }
  return terminal;
}

/// Lines of text on a serial line or a socket.
class TextWire final : public Wire {
 public:
  TextWire(OpenStream open, bool echo, WireTime time) : open_(std::move(open)), echo_(echo), time_(std::move(time)) {}

  bool is_open() const override { return stream_ != nullptr; }
  std::string open(std::int64_t deadline_ns) override {
    std::string why;
    stream_ = open_(deadline_ns, why);
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
    return drain_stream(*stream_, quiet_ns, deadline_ns, time_.now);
  }
  bool hung_up() override { return stream_ && stream_->hung_up(); }
  bool numbers_replies() const override { return false; }
  void pause_until(std::int64_t wall_ns) override { time_.sleep_until(wall_ns); }
  std::string refuse(BusRequest const& request) const override {
    bool const one_line =
        std::all_of(request.line.begin(), request.line.end(), [](char c) { return c >= 0x20 && c < 0x7F; });
    return one_line && !request.line.empty() && !request.terminator.empty()
               ? std::string()
               : std::string("a command is one line of printable characters with an end");
  }

 private:
  void ask(BusRequest const& request, std::int64_t deadline_ns, WireResult& result) {
    // What lies in the receiver now answers nothing that is still asked; more of it may be on its way.
    if (stream_->read_some(result.received, 0) == ReadEnd::some) {
      result.stale = 1;
      result.received.clear();
      drain_stream(*stream_, unasked_quiet_ns, deadline_ns, time_.now);
    }
    result.sent.reserve(request.line.size() + request.terminator.size());
    result.sent.assign(request.line.begin(), request.line.end());
    result.sent.insert(result.sent.end(), request.terminator.begin(), request.terminator.end());
    if (!stream_->write_all(result.sent, deadline_ns))
      return result.ended(WireEnd::lost, "the line does not take bytes");
    if (echo_) {
      while (result.received.size() < result.sent.size()) {
        auto const end = stream_->read_some(result.received, deadline_ns);
        if (end != ReadEnd::some) return gone_or_late(result, end);
      }
      if (!std::equal(result.sent.begin(), result.sent.end(), result.received.begin())) {
        return result.ended(WireEnd::collision, "the echo differs from what was sent");
      }
      result.received.erase(result.received.begin(),
                            result.received.begin() + static_cast<std::ptrdiff_t>(result.sent.size()));
    }
    if (!request.expects_reply) {
      result.end = WireEnd::answered;
      return;
    }
    auto const last = static_cast<std::uint8_t>(request.terminator.back());
    for (;;) {
      auto const at = std::find(result.received.begin(), result.received.end(), last);
      if (at != result.received.end()) {
        result.line.resize(static_cast<std::size_t>(at - result.received.begin()));
        std::copy(result.received.begin(), at, result.line.begin());
        while (!result.line.empty() && (result.line.back() == '\r' || result.line.back() == '\n'))
          result.line.pop_back();
        // One line answers one command. The same once more is a device that says everything twice; another one says
        // that lines and commands are out of step.
        auto const first = at + 1 - result.received.begin(), more = result.received.end() - (at + 1);
        if (more > first || !std::equal(at + 1, result.received.end(), result.received.begin()))
          return result.ended(WireEnd::noise, "more than one line came");
        bool const printable = std::all_of(result.line.begin(), result.line.end(),
                                           [](char c) { return (c >= 0x20 && c < 0x7F) || c == '\t'; });
        result.spoilt = !printable;
        if (!printable) return result.ended(WireEnd::noise, "a line with bytes that are no text");
        result.end = WireEnd::answered;
        return;
      }
      if (result.received.size() > longest_line) return result.ended(WireEnd::noise, "a line without end");
      auto const end = stream_->read_some(result.received, deadline_ns);
      if (end != ReadEnd::some) return gone_or_late(result, end);
    }
  }

  static void gone_or_late(WireResult& result, ReadEnd end) {
    if (end == ReadEnd::lost) return result.ended(WireEnd::lost, "the adapter or the other end is gone");
    result.ended(WireEnd::timeout, result.received.empty() ? "" : "only part of a line came");
  }

  OpenStream open_;
  bool echo_;
  WireTime time_;
  std::unique_ptr<ByteStream> stream_;
  std::int64_t last_ns_ = 0;
};

}  // namespace

OpenStream open_text(LinkAddress address, WallTime now) {
  return [address = std::move(address), now = std::move(now)](std::int64_t deadline_ns,
                                                              std::string& why) -> std::unique_ptr<ByteStream> {
    auto line = address.device.empty() ? connect_tcp(address, deadline_ns, now, why) : open_serial(address, why);
    if (!line) return nullptr;
    return std::make_unique<DescriptorStream>(std::move(line), now);
  };
}

std::unique_ptr<Wire> make_text_wire(OpenStream open, bool echo, WireTime time) {
  return std::make_unique<TextWire>(std::move(open), echo, std::move(time));
}

}  // namespace benchward
