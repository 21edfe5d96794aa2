// SPDX-License-Identifier: MIT
#pragma once

// Plain POSIX clients: no library of the station or of the simulator between the test and the wire.

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include <chrono>
#include <stdexcept>
#include <string>
#include <utility>

#include "sim/wires/modbus_pdu.hpp"

namespace benchward::sim::testing {

using SteadyTime = std::chrono::steady_clock::time_point;
inline double seconds_since(SteadyTime start) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

class Client {
 public:
  explicit Client(int descriptor) : descriptor_(descriptor) {
    if (descriptor_ < 0) throw std::runtime_error("cannot open the wire");
  }
  Client(Client&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}
  Client& operator=(Client&&) = delete;
  ~Client() { close(); }

  void close() {
    if (descriptor_ >= 0) ::close(descriptor_);
    descriptor_ = -1;
  }
  int descriptor() const { return descriptor_; }
  void send(Bytes const& bytes) {
    if (::write(descriptor_, bytes.data(), bytes.size()) != static_cast<ssize_t>(bytes.size())) {
      throw std::runtime_error("cannot send");
    }
  }
  void send(std::string const& text) { send(Bytes(text.begin(), text.end())); }

  /// Up to `count` bytes, fewer where the limit passes or the other side closes.
  Bytes receive(std::size_t count, int limit_ms = 2000) {
    Bytes bytes;
    auto const start = std::chrono::steady_clock::now();
    while (bytes.size() < count) {
      auto const left = limit_ms - static_cast<int>(seconds_since(start) * 1000.0);
      pollfd waiting{descriptor_, POLLIN, 0};
      if (left <= 0 || ::poll(&waiting, 1, left) <= 0) break;
      std::uint8_t buffer[512];
      auto const got = ::read(descriptor_, buffer, std::min(sizeof buffer, count - bytes.size()));
      if (got <= 0) {
        closed_ = true;
        break;
      }
      bytes.insert(bytes.end(), buffer, buffer + got);
    }
    return bytes;
  }
  std::string line(int limit_ms = 2000) {
    std::string text;
    for (;;) {
      auto const byte = receive(1, limit_ms);
      if (byte.empty() || byte[0] == '\n') return text;
      text += static_cast<char>(byte[0]);
    }
  }
  /// The other side has closed within the limit.
  bool closed(int limit_ms = 2000) {
    if (!closed_) receive(1, limit_ms);
    return closed_;
  }

 private:
  int descriptor_;
  bool closed_ = false;
};

inline int connect_to(int port) {
  int const socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (socket >= 0 && ::connect(socket, reinterpret_cast<sockaddr*>(&address), sizeof address) != 0) {
    ::close(socket);
    return -1;
  }
  return socket;
}

inline Client tcp_client(int port) { return Client(connect_to(port)); }

inline Client serial_client(std::string const& path) {
  int const port = ::open(path.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC);
  termios raw{};
  if (port >= 0 && tcgetattr(port, &raw) == 0) {
    cfmakeraw(&raw);
    tcsetattr(port, TCSANOW, &raw);
  }
  return Client(port);
}

}  // namespace benchward::sim::testing
