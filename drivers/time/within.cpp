// SPDX-License-Identifier: MIT
#include "drivers/time/within.hpp"

#include "drivers/time/together.hpp"

#include <array>
#include <exception>
#include <tuple>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/deferred.hpp>
#include <boost/asio/experimental/parallel_group.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>

namespace benchward::detail {

namespace asio = boost::asio;

Task<bool> first_of_two(Task<void> step, Task<void> timer) {
  auto executor = co_await asio::this_coro::executor;
  auto stepping = asio::co_spawn(executor, std::move(step), asio::deferred);
  auto timing = asio::co_spawn(executor, std::move(timer), asio::deferred);
  auto group = asio::experimental::make_parallel_group(std::move(stepping), std::move(timing));
  auto waiting = group.async_wait(asio::experimental::wait_for_one(), asio::use_awaitable);
  auto result = co_await std::move(waiting);
  auto const& order = std::get<0>(result);
  bool const step_first = order[0] == 0;
  auto const& failure = step_first ? std::get<1>(result) : std::get<2>(result);
  if (failure) std::rethrow_exception(failure);
  co_return step_first;
}

}  // namespace benchward::detail

namespace benchward {

Task<void> together(std::vector<Task<void>> steps) {
  namespace asio = boost::asio;
  if (steps.empty()) co_return;
  auto executor = co_await asio::this_coro::executor;
  using Step = decltype(asio::co_spawn(executor, std::move(steps.front()), asio::deferred));
  std::vector<Step> running;
  for (auto& step : steps) running.push_back(asio::co_spawn(executor, std::move(step), asio::deferred));
  auto group = asio::experimental::make_parallel_group(std::move(running));
  auto waiting = group.async_wait(asio::experimental::wait_for_all(), asio::use_awaitable);
  auto const result = co_await std::move(waiting);
  for (auto const& failure : std::get<1>(result)) {
    if (failure) std::rethrow_exception(failure);
  }
}

}  // namespace benchward
