// SPDX-License-Identifier: MIT
#pragma once

/// How the guard's thread speaks to slower ones without waiting for them: a published snapshot and a bounded ring.
/// No lock anywhere; the guard's side never waits and never allocates.

#include <array>
#include <atomic>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <type_traits>

namespace benchward::guard {

/// One writer, any readers. A reader that meets a writer tries again; the writer never waits. Built of atomic words
/// (release and acquire), not of fences: thread checkers understand it.
template <class T>
class Published {
  static_assert(std::is_trivially_copyable_v<T>);
  static constexpr std::size_t words = (sizeof(T) + 7) / 8;

 public:
  void publish(T const& value) {
    std::array<std::uint64_t, words> copy{};
    std::memcpy(copy.data(), &value, sizeof(T));
    auto const turn = turn_.load(std::memory_order_relaxed);
    turn_.store(turn + 1, std::memory_order_relaxed);
    for (std::size_t n = 0; n < words; ++n) data_[n].store(copy[n], std::memory_order_release);
    turn_.store(turn + 2, std::memory_order_release);
  }
  T read() const {
    std::array<std::uint64_t, words> copy;
    for (;;) {
      auto const before = turn_.load(std::memory_order_acquire);
      for (std::size_t n = 0; n < words; ++n) copy[n] = data_[n].load(std::memory_order_acquire);
      if ((before & 1) == 0 && turn_.load(std::memory_order_relaxed) == before) break;
    }
    T value;
    std::memcpy(static_cast<void*>(&value), copy.data(), sizeof(T));
    return value;
  }

 private:
  std::atomic<std::uint64_t> turn_{0};
  std::array<std::atomic<std::uint64_t>, words> data_{};
};

/// One writer, one reader, fixed room. What does not fit is counted, never waited for.
template <class T, std::size_t Room>
class Ring {
  static_assert((Room & (Room - 1)) == 0, "a power of two");

 public:
  bool put(T const& value) {
    auto const head = head_.load(std::memory_order_relaxed);
    if (head - tail_.load(std::memory_order_acquire) == Room) {
      lost_.fetch_add(1, std::memory_order_relaxed);
      return false;
    }
    slots_[head & (Room - 1)] = value;
    head_.store(head + 1, std::memory_order_release);
    return true;
  }
  bool take(T& value) {
    auto const tail = tail_.load(std::memory_order_relaxed);
    if (tail == head_.load(std::memory_order_acquire)) return false;
    value = slots_[tail & (Room - 1)];
    tail_.store(tail + 1, std::memory_order_release);
    return true;
  }
  std::uint64_t lost() const { return lost_.load(std::memory_order_relaxed); }

 private:
  std::array<T, Room> slots_{};
  std::atomic<std::size_t> head_{0}, tail_{0};
  std::atomic<std::uint64_t> lost_{0};
};

}  // namespace benchward::guard
