// SPDX-License-Identifier: MIT
#include <fcntl.h>
#include <netdb.h>
#include <poll.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <map>
#include <memory>
#include <thread>

#include <fmt/format.h>

#include "drivers/bus/descriptor.hpp"
#include "drivers/bus/wires.hpp"

namespace benchward {

std::unique_ptr<Wire> make_wire(LinkDeclaration const& link, WallTime wall) {
  auto address = parse_link_address(link.address);
  if (address.kind == "modbus_tcp") return make_modbus_tcp_wire(std::move(address), std::move(wall));
  if (address.kind == "modbus_rtu") return make_modbus_rtu_wire(std::move(address), link.echo, std::move(wall));
  return make_text_wire(std::move(address), link.echo, std::move(wall));
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
    why = fmt::format("cannot find {}: {}", address.host, ::gai_strerror(error));
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
  TextWire(LinkAddress address, bool echo, WallTime wall)
      : address_(std::move(address)), echo_(echo), wall_(std::move(wall)) {}

  bool is_open() const override { return static_cast<bool>(line_); }
  std::string open(std::int64_t deadline_ns) override {
    std::string why;
    line_ = address_.device.empty() ? connect_tcp(address_, deadline_ns, wall_, why) : open_serial(address_, why);
    return line_ ? std::string() : why;
  }
  void close() noexcept override { line_.reset(); }

  WireResult transact(BusRequest const& request, std::int64_t deadline_ns) override {
    WireResult result;
    auto const from = last_ns_ + static_cast<std::int64_t>(request.gap.in(seconds)*1e9);
    if (auto const left = from - wall_(); left > 0) std::this_thread::sleep_for(std::chrono::nanoseconds(left));
    Bytes earlier;
    while (read_some(line_.get(), earlier, 0, wall_) == ReadEnd::some) {
    }
    result.stale = earlier.empty() ? 0 : 1;
    auto const text = request.line + request.terminator;
    result.sent.assign(text.begin(), text.end());
    if (!write_all(line_.get(), result.sent, deadline_ns, wall_))
      return ended(std::move(result), WireEnd::lost, "the line does not take bytes");
    if (echo_) {
      while (result.received.size() < result.sent.size()) {
        auto const end = read_some(line_.get(), result.received, deadline_ns, wall_);
        if (end != ReadEnd::some) return gone_or_late(std::move(result), end);
      }
      if (!std::equal(result.sent.begin(), result.sent.end(), result.received.begin())) {
        return ended(std::move(result), WireEnd::collision, "the echo differs from what was sent");
      }
      result.received.erase(result.received.begin(),
                            result.received.begin() + static_cast<std::ptrdiff_t>(result.sent.size()));
    }
    last_ns_ = wall_();
    if (!request.expects_reply) {
      result.end = WireEnd::answered;
      return result;
    }
    auto const last = static_cast<std::uint8_t>(request.terminator.back());
    for (;;) {
      auto const at = std::find(result.received.begin(), result.received.end(), last);
      if (at != result.received.end()) {
        last_ns_ = wall_();
        result.line.assign(result.received.begin(), at);
        while (!result.line.empty() && (result.line.back() == '\r' || result.line.back() == '\n'))
          result.line.pop_back();
        bool const printable = std::all_of(result.line.begin(), result.line.end(),
                                           [](char c) { return (c >= 0x20 && c < 0x7F) || c == '\t'; });
        if (!printable) return ended(std::move(result), WireEnd::noise, "a line with bytes that are no text");
        result.end = WireEnd::answered;
        return result;
      }
      if (result.received.size() > longest_line) return ended(std::move(result), WireEnd::noise, "a line without end");
      auto const end = read_some(line_.get(), result.received, deadline_ns, wall_);
      if (end != ReadEnd::some) return gone_or_late(std::move(result), end);
    }
  }

  bool drain(std::int64_t quiet_ns, std::int64_t deadline_ns) override {
    bool gone = false;
    return drain_descriptor(line_.get(), quiet_ns, deadline_ns, wall_, gone);
  }
  bool hung_up() override { return line_ && descriptor_hung_up(line_.get()); }
  bool numbers_replies() const override { return false; }
  std::string refuse(BusRequest const& request) const override {
    bool const one_line =
        std::all_of(request.line.begin(), request.line.end(), [](char c) { return c >= 0x20 && c < 0x7F; });
    return one_line && !request.line.empty() ? std::string()
                                             : std::string("a command is one line of printable characters");
  }

 private:
  static WireResult ended(WireResult result, WireEnd end, std::string what) {
    result.end = end;
    result.what = std::move(what);
    return result;
  }
  static WireResult gone_or_late(WireResult result, ReadEnd end) {
    if (end == ReadEnd::lost) return ended(std::move(result), WireEnd::lost, "the adapter or the other end is gone");
    return ended(std::move(result), WireEnd::timeout, result.received.empty() ? "" : "only part of a line came");
  }

  LinkAddress address_;
  bool echo_;
  WallTime wall_;
  Descriptor line_;
  std::int64_t last_ns_ = 0;
};

}  // namespace

std::unique_ptr<Wire> make_text_wire(LinkAddress address, bool echo, WallTime wall) {
  return std::make_unique<TextWire>(std::move(address), echo, std::move(wall));
}

}  // namespace benchward
