// SPDX-License-Identifier: MIT
#pragma once

/// The few Asio types and waits that the servers of this folder share. Costs 8 s of compilation: only their sources
/// include it.

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>

#include <chrono>
#include <cstdint>
#include <exception>
#include <string>

#include "wire_context.hpp"

namespace benchward::sim {

namespace asio = boost::asio;
using Tcp = asio::ip::tcp;

/// A completion token that yields (error, value) instead of throwing: links that break are daily bread here.
inline constexpr auto with_error = asio::as_tuple(asio::use_awaitable);

/// For coroutines that nobody awaits: what they throw is a defect and leaves through io_context::run().
struct OrThrow {
  void operator()(std::exception_ptr thrown) const {
    if (thrown) std::rethrow_exception(thrown);
  }
};

/// Waits so much simulated time on a timer of the wall.
inline asio::awaitable<void> wait_simulated(BenchTime const& time, double simulated_s) {
  if (simulated_s <= 0.0) co_return;
  asio::steady_timer timer(co_await asio::this_coro::executor);
  auto const wall_ns = static_cast<std::int64_t>(simulated_s / time.scale * 1e9);
  timer.expires_after(std::chrono::nanoseconds(wall_ns));
  co_await timer.async_wait(with_error);
}

/// Listens on loopback; port 0 is any free one. Throws CannotServe naming address and cause.
Tcp::acceptor listen_on_loopback(asio::io_context& io, std::uint16_t port);

}  // namespace benchward::sim
