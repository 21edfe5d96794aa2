// SPDX-License-Identifier: MIT
#pragma once

/// A pseudo terminal in Asio's hands: reading with a limit, writing at the pace of the wire. Costs what Asio costs.

#include <boost/asio/posix/stream_descriptor.hpp>

#include <array>
#include <span>

#include "asio_parts.hpp"
#include "pseudo_terminal.hpp"

namespace benchward::sim {

class SerialStream {
 public:
  SerialStream(asio::io_context& io, int baud);

  std::string const& path() const { return terminal_.path(); }
  int baud() const { return baud_; }
  bool open() const { return stream_.is_open(); }
  /// Ends every wait; clients see the port vanish.
  void pull_out();
  void forget_exclusive_opening() { terminal_.forget_exclusive_opening(); }

  /// What has arrived: nothing where the wall time limit passed first or the port is closed.
  asio::awaitable<std::span<std::uint8_t const>> read(std::chrono::milliseconds limit);
  /// Sends bytes as fast as the wire lets them leave. Bytes that nobody takes are lost, as on a real line.
  asio::awaitable<void> write(BenchTime const& time, std::span<std::uint8_t const> bytes);

 private:
  PseudoTerminal terminal_;
  asio::posix::stream_descriptor stream_;
  asio::steady_timer timer_;
  int baud_;
  std::uint64_t read_number_ = 0;
  std::array<std::uint8_t, 512> buffer_{};
};

}  // namespace benchward::sim
