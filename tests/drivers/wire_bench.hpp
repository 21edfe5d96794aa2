// SPDX-License-Identifier: MIT
#pragma once

/// What the bus tests stand on: a real clock, devices scripted on plain sockets and pseudo terminals, and frames
/// written without any code of the drivers.

#include <cstdint>
#include <exception>
#include <functional>
#include <future>
#include <optional>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>

#include "drivers/bench/bench.hpp"
#include "drivers/time/clock.hpp"

namespace benchward::test {

using Octets = std::vector<std::uint8_t>;

/// The wall's time, callable from any thread; waiting is done by a timer of the io_context.
class WallClock final : public Clock {
 public:
  Stamp now() const override;
  double scale() const override { return 1.0; }
  Task<void> wait_until(std::int64_t monotonic_ns) override;
};

/// One end of a wire in a device's hands. Reading waits at most 5 s: a broken test fails, it does not hang.
class DeviceEnd {
 public:
  explicit DeviceEnd(int fd) : fd_(fd) {}
  /// Exactly this many bytes; fewer if the other end has gone.
  Octets read(std::size_t size);
  /// A line without its end; empty if the other end has gone.
  std::string read_line();
  void write(Octets const& bytes);
  void write(std::string const& text) { write(Octets(text.begin(), text.end())); }
  /// A whole Modbus TCP request.
  Octets read_tcp_request();
  /// Whether nothing comes for this long.
  bool quiet_for(int milliseconds);
  int fd() const { return fd_; }

 private:
  int fd_;
};

/// A device on a TCP port of the loopback. `script` gets one connection after another until the object goes.
class TcpDevice {
 public:
  explicit TcpDevice(std::function<void(DeviceEnd&, int connection)> script);
  ~TcpDevice();
  TcpDevice(TcpDevice const&) = delete;
  TcpDevice& operator=(TcpDevice const&) = delete;
  LinkDeclaration link(std::string kind = "modbus_tcp") const;

 private:
  int listener_ = -1, port_ = 0;
  std::function<void(DeviceEnd&, int)> script_;
  std::thread thread_;
};

/// A pseudo terminal with a device at its far end.
class SerialDevice {
 public:
  explicit SerialDevice(std::function<void(DeviceEnd&)> script);
  ~SerialDevice();
  SerialDevice(SerialDevice const&) = delete;
  SerialDevice& operator=(SerialDevice const&) = delete;
  LinkDeclaration link(std::string kind = "modbus_rtu", bool echo = false) const;
  std::string const& path() const { return path_; }
  void unplug();  ///< closes the far end
  void join();

 private:
  int far_ = -1;
  std::string path_;
  std::function<void(DeviceEnd&)> script_;
  std::thread thread_;
};

/// Modbus TCP reply to a request: same transaction and unit, this PDU.
Octets tcp_reply(Octets const& request, Octets const& pdu);
/// PDU of a read's answer.
Octets words_pdu(int function, std::vector<std::uint16_t> const& words);
/// Serial frame with its checksum (computed here bit by bit, independent of the drivers').
Octets rtu_frame(Octets const& unit_and_pdu);
std::uint16_t word_at(Octets const& bytes, std::size_t at);

/// Keeps what a coroutine gives (an answer cannot be made from nothing, as co_spawn's results must).
template <class T>
Task<void> store(Task<T> task, std::optional<T>& into) {
  into.emplace(co_await std::move(task));
}

/// Runs a coroutine on an io_context of its own, to its end; rethrows what it threw.
template <class T>
T get(Task<T> task) {
  boost::asio::io_context io;
  std::optional<T> value;
  std::exception_ptr failure;
  boost::asio::co_spawn(io, store(std::move(task), value), [&](std::exception_ptr error) { failure = error; });
  io.run();
  if (failure) std::rethrow_exception(failure);
  if (!value) throw std::logic_error("the coroutine ended without a value");
  return std::move(*value);
}

/// An instrument of a bench document behind a link named "link".
InstrumentDeclaration declared(char const* role, char const* profile, char const* serial);

}  // namespace benchward::test
