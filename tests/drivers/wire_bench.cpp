// SPDX-License-Identifier: MIT
#include "tests/drivers/wire_bench.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <stdexcept>

#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>

namespace benchward::test {

Stamp WallClock::now() const {
  auto const ns =
      std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch()).count();
  return {ns, ns / 1000};
}

Task<void> WallClock::wait_until(std::int64_t monotonic_ns) {
  auto executor = co_await boost::asio::this_coro::executor;
  boost::asio::steady_timer timer(executor);
  timer.expires_at(std::chrono::steady_clock::time_point(std::chrono::nanoseconds(monotonic_ns)));
  co_await timer.async_wait(boost::asio::use_awaitable);
}

Octets DeviceEnd::read(std::size_t size) {
  Octets bytes;
  while (bytes.size() < size) {
    pollfd waiting{fd_, POLLIN, 0};
    if (::poll(&waiting, 1, 5000) <= 0) return bytes;
    Octets block(size - bytes.size());
    auto const got = ::read(fd_, block.data(), block.size());
    if (got <= 0) return bytes;
    bytes.insert(bytes.end(), block.begin(), block.begin() + got);
  }
  return bytes;
}

std::string DeviceEnd::read_line() {
  std::string line;
  for (;;) {
    auto const byte = read(1);
    if (byte.empty()) return {};
    if (byte[0] == '\n') return line;
    if (byte[0] != '\r') line += static_cast<char>(byte[0]);
  }
}

void DeviceEnd::write(Octets const& bytes) {
  std::size_t done = 0;
  while (done < bytes.size()) {
    // A peer that has gone must not end the test program: no SIGPIPE from a socket.
    auto put = ::send(fd_, bytes.data() + done, bytes.size() - done, MSG_NOSIGNAL);
    if (put < 0 && errno == ENOTSOCK) put = ::write(fd_, bytes.data() + done, bytes.size() - done);
    if (put <= 0) return;
    done += static_cast<std::size_t>(put);
  }
}

Octets DeviceEnd::read_tcp_request() {
  auto frame = read(6);
  if (frame.size() < 6) return {};
  auto const rest = read(word_at(frame, 4));
  frame.insert(frame.end(), rest.begin(), rest.end());
  return frame;
}

bool DeviceEnd::quiet_for(int milliseconds) {
  pollfd waiting{fd_, POLLIN, 0};
  return ::poll(&waiting, 1, milliseconds) == 0;
}

TcpDevice::TcpDevice(std::function<void(DeviceEnd&, int)> script) : script_(std::move(script)) {
  listener_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof address;
  if (::bind(listener_, reinterpret_cast<sockaddr*>(&address), size) != 0 || ::listen(listener_, 8) != 0 ||
      ::getsockname(listener_, reinterpret_cast<sockaddr*>(&address), &size) != 0) {
    throw std::runtime_error("no port for a scripted device");
  }
  port_ = ntohs(address.sin_port);
  thread_ = std::thread([this] {
    for (int connection = 0;; ++connection) {
      int const fd = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC);
      if (fd < 0) return;
      int const on = 1;
      ::setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
      DeviceEnd end(fd);
      script_(end, connection);
      ::close(fd);
    }
  });
}

TcpDevice::~TcpDevice() {
  ::shutdown(listener_, SHUT_RDWR);
  thread_.join();
  ::close(listener_);
}

LinkDeclaration TcpDevice::link(std::string kind) const {
  LinkDeclaration made;
  made.name = "link";
  made.address =
      (kind == "text_tcp" ? "text-tcp" : "modbus-tcp") + std::string("://127.0.0.1:") + std::to_string(port_);
  made.kind = std::move(kind);
  return made;
}

SerialDevice::SerialDevice(std::function<void(DeviceEnd&)> script) : script_(std::move(script)) {
  far_ = ::posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
  char name[128] = {};
  if (far_ < 0 || ::grantpt(far_) != 0 || ::unlockpt(far_) != 0 || ::ptsname_r(far_, name, sizeof name) != 0) {
    throw std::runtime_error("no pseudo terminal for a scripted device");
  }
  path_ = name;
  // Raw before anybody opens the near end: a line discipline would echo and edit.
  int const near = ::open(name, O_RDWR | O_NOCTTY | O_CLOEXEC);
  termios settings{};
  ::tcgetattr(near, &settings);
  ::cfmakeraw(&settings);
  ::tcsetattr(near, TCSANOW, &settings);
  thread_ = std::thread([this, near] {
    DeviceEnd end(far_);
    script_(end);
    ::close(near);  // held so long that the far end does not see a hang-up before the station opens the line
  });
}

void SerialDevice::join() {
  if (thread_.joinable()) thread_.join();
}
void SerialDevice::unplug() {
  join();
  if (far_ >= 0) ::close(far_);
  far_ = -1;
}
SerialDevice::~SerialDevice() { unplug(); }

LinkDeclaration SerialDevice::link(std::string kind, bool echo) const {
  LinkDeclaration made;
  made.name = "line";
  made.address = (kind == "text" ? "text://" : "modbus-rtu://") + path_ + "?baud=115200";
  made.kind = std::move(kind);
  made.echo = echo;
  return made;
}

Octets tcp_reply(Octets const& request, Octets const& pdu) {
  auto const length = static_cast<unsigned>(pdu.size() + 1);
  Octets frame{request.at(0),
               request.at(1),
               0,
               0,
               static_cast<std::uint8_t>(length >> 8),
               static_cast<std::uint8_t>(length & 0xFF),
               request.at(6)};
  frame.insert(frame.end(), pdu.begin(), pdu.end());
  return frame;
}

Octets words_pdu(int function, std::vector<std::uint16_t> const& words) {
  Octets pdu{static_cast<std::uint8_t>(function), static_cast<std::uint8_t>(2 * words.size())};
  for (auto const word : words) {
    pdu.push_back(static_cast<std::uint8_t>(word >> 8));
    pdu.push_back(static_cast<std::uint8_t>(word & 0xFF));
  }
  return pdu;
}

Octets rtu_frame(Octets const& unit_and_pdu) {
  // Division by x^16 + x^15 + x^2 + 1, least significant bit first, register preset to ones.
  unsigned remainder = 0xFFFF;
  for (auto const byte : unit_and_pdu) {
    for (int bit = 0; bit < 8; ++bit) {
      unsigned const in = ((static_cast<unsigned>(byte) >> bit) ^ remainder) & 1u;
      remainder = (remainder >> 1) ^ (in * 0xA001u);
    }
  }
  auto frame = unit_and_pdu;
  frame.push_back(static_cast<std::uint8_t>(remainder & 0xFF));
  frame.push_back(static_cast<std::uint8_t>(remainder >> 8));
  return frame;
}

std::uint16_t word_at(Octets const& bytes, std::size_t at) {
  return static_cast<std::uint16_t>((static_cast<unsigned>(bytes.at(at)) << 8) | bytes.at(at + 1));
}

InstrumentDeclaration declared(char const* role, char const* profile, char const* serial) {
  InstrumentDeclaration entry;
  entry.name = role;
  entry.role = role;
  entry.profile = profile;
  entry.link = "link";
  entry.serial = serial;
  return entry;
}

}  // namespace benchward::test
