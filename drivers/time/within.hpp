// SPDX-License-Identifier: MIT
#pragma once

/// A time limit on a step, by the injected clock. The step and a timer race; who came first is looked at, so a fault of
/// the step is never hidden behind the time-out (Asio's `||` operator waits for the first success and hides it).

#include <optional>
#include <utility>

#include "clock.hpp"

namespace benchward {

namespace detail {

/// Runs both, cancels the loser and waits for it. True: `step` came first. Rethrows what the first threw (also
/// operation_aborted, if the caller itself was cancelled). In within.cpp: the parallel-group header costs 6 s a file.
Task<bool> first_of_two(Task<void> step, Task<void> timer);

template <class T>
Task<void> keep(Task<T> step, std::optional<T>& out) {
  out.emplace(co_await std::move(step));
}

}  // namespace detail

/// The step's value, or nothing if the limit came first; the step is then cancelled, and has ended when this resumes.
template <class T>
Task<std::optional<T>> within(Clock& clock, Duration limit, Task<T> step) {
  std::optional<T> out;
  auto kept = detail::keep(std::move(step), out);
  auto race = detail::first_of_two(std::move(kept), clock.wait(limit));
  bool const in_time = co_await std::move(race);
  if (!in_time) out.reset();
  co_return out;
}

/// The same for a step without a value: whether it ended in time.
inline Task<bool> within(Clock& clock, Duration limit, Task<void> step) {
  auto race = detail::first_of_two(std::move(step), clock.wait(limit));
  bool const in_time = co_await std::move(race);
  co_return in_time;
}

}  // namespace benchward
