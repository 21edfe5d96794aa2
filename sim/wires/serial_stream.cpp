// SPDX-License-Identifier: MIT
#include "sim/wires/serial_stream.hpp"

#include <algorithm>

#include "sim/wires/serial_line.hpp"

namespace benchward::sim {

SerialStream::SerialStream(asio::io_context& io, int baud)
    : stream_(io, terminal_.descriptor()), timer_(io), baud_(baud) {
  terminal_.release_descriptor();
  stream_.non_blocking(true);
}

void SerialStream::pull_out() {
  boost::system::error_code ignored;
  stream_.close(ignored);
  terminal_.close_far_end();
  timer_.cancel();
}

asio::awaitable<std::span<std::uint8_t const>> SerialStream::read(std::chrono::milliseconds limit) {
  timer_.expires_after(limit);
  auto const number = ++read_number_;
  timer_.async_wait([this, number](boost::system::error_code error) {
    // A timer that ran out together with the last read must not end the next one.
    if (error || number != read_number_ || !stream_.is_open()) return;
    boost::system::error_code ignored;
    stream_.cancel(ignored);
  });
  auto const [error, count] = co_await stream_.async_read_some(asio::buffer(buffer_), with_error);
  ++read_number_;
  timer_.cancel();
  std::size_t const arrived = error ? 0 : count;
  co_return std::span<std::uint8_t const>(buffer_.data(), arrived);
}

asio::awaitable<void> SerialStream::write(BenchTime const& time, std::span<std::uint8_t const> bytes) {
  std::int64_t const start_ns = time.now_ns();
  double const one_s = byte_time_s(baud_);
  // A wait costs the processor some 0.05 ms: bytes of half a millisecond of wall time go together, late rather than
  // early.
  auto const together = std::max<std::size_t>(1, static_cast<std::size_t>(0.0005 * time.scale / one_s));
  std::size_t sent = 0;
  while (sent < bytes.size() && stream_.is_open()) {
    auto const out = bytes_out(start_ns, time.now_ns(), bytes.size(), baud_);
    if (out > sent) {
      boost::system::error_code full;
      stream_.write_some(asio::buffer(bytes.data() + sent, out - sent), full);
      sent = out;
      continue;
    }
    auto const target = std::min(bytes.size(), sent + together);
    double const elapsed_s = static_cast<double>(time.now_ns() - start_ns) * 1e-9;
    co_await wait_simulated(time, static_cast<double>(target) * one_s - elapsed_s + 1e-6);
  }
}

}  // namespace benchward::sim
