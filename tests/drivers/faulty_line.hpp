// SPDX-License-Identifier: MIT
#pragma once

/// A device behind a bad line, in time that the test owns: answers are cut, flipped, late, doubled and glued by draws
/// of a seed. Frames are written without any code of the drivers.

#include <algorithm>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "drivers/bus/byte_stream.hpp"
#include "tests/drivers/wire_bench.hpp"

namespace benchward::test {

/// Bytes and how long after the request they come.
struct Piece {
  std::int64_t after_ns = 0;
  Octets bytes;
};
using Pieces = std::vector<Piece>;

class FaultyLine {
 public:
  /// `answer`: what the device sends for a request, with its faults.
  explicit FaultyLine(std::function<Pieces(Octets const& request)> answer) : answer_(std::move(answer)) {}

  std::int64_t now_ns = 1'000'000'000;
  int opened = 0;

  WireTime time() {
    return {[this] { return now_ns; }, [this](std::int64_t until) { now_ns = std::max(now_ns, until); }};
  }
  OpenStream opener() {
    return [this](std::int64_t, std::string&) {
      ++opened;
      coming_.clear();
      return std::make_unique<Stream>(*this);
    };
  }

 private:
  class Stream final : public ByteStream {
   public:
    explicit Stream(FaultyLine& line) : line_(line) {}
    ReadEnd read_some(Bytes& into, std::int64_t deadline_ns) override { return line_.read(into, deadline_ns); }
    bool write_all(Bytes const& bytes, std::int64_t) override {
      for (auto& piece : line_.answer_(bytes))
        line_.coming_.push_back({line_.now_ns + piece.after_ns, std::move(piece.bytes)});
      std::stable_sort(line_.coming_.begin(), line_.coming_.end(),
                       [](auto const& a, auto const& b) { return a.after_ns < b.after_ns; });
      return true;
    }
    bool hung_up() override { return false; }

   private:
    FaultyLine& line_;
  };

  ReadEnd read(Bytes& into, std::int64_t deadline_ns) {
    if (coming_.empty() || coming_.front().after_ns > std::max(now_ns, deadline_ns)) {
      now_ns = std::max(now_ns, deadline_ns);
      return ReadEnd::timeout;
    }
    now_ns = std::max(now_ns, coming_.front().after_ns);
    while (!coming_.empty() && coming_.front().after_ns <= now_ns) {
      into.insert(into.end(), coming_.front().bytes.begin(), coming_.front().bytes.end());
      coming_.pop_front();
    }
    return ReadEnd::some;
  }

  std::function<Pieces(Octets const&)> answer_;
  std::deque<Piece> coming_;  ///< after_ns is an instant here
};

constexpr std::int64_t fault_attempt_ns = 50'000'000;  ///< time limit of a request in these tests
constexpr std::int64_t fault_usual_ns = 2'000'000;     ///< how long a sound answer takes

/// Draws of the faults, of one seed.
class FaultDraw {
 public:
  explicit FaultDraw(unsigned seed) : draw_(seed) {}
  std::size_t below(std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(draw_); }
  std::uint8_t byte() { return static_cast<std::uint8_t>(below(256)); }

  /// At least one bit flipped, one in a hundred on the average, in bytes [from, to).
  void flip(Octets& frame, std::size_t from, std::size_t to) {
    std::bernoulli_distribution flipped(0.01);
    bool any = false;
    for (std::size_t i = from; i < to; ++i) {
      for (unsigned bit = 0; bit < 8; ++bit) {
        if (!flipped(draw_)) continue;
        frame[i] = static_cast<std::uint8_t>(frame[i] ^ (1u << bit));
        any = true;
      }
    }
    if (!any) frame[from + below(to - from)] ^= static_cast<std::uint8_t>(1u << below(8));
  }
  Octets rubbish(std::size_t longest) {
    Octets bytes(1 + below(longest));
    for (auto& one : bytes) one = byte();
    return bytes;
  }
  Pieces split(Octets const& frame, std::int64_t pause_ns) {
    auto const at = static_cast<std::ptrdiff_t>(1 + below(frame.size() - 1));
    return {{fault_usual_ns, {frame.begin(), frame.begin() + at}},
            {fault_usual_ns + pause_ns, {frame.begin() + at, frame.end()}}};
  }

 private:
  std::mt19937 draw_;
};

/// Bytes one after the other.
Octets glue(Octets first, Octets const& second);

/// Each transport's own way of being wrong. `frame`: the sound answer; `before`: the sound answer to the request
/// before.
Pieces tcp_fault(FaultDraw& draw, Octets frame, Octets const& before);
Pieces rtu_fault(FaultDraw& draw, Octets frame, Octets const& other_unit);
Pieces text_fault(FaultDraw& draw, Octets line, Octets const& before);

/// What the device says to its n-th request: never twice the same, so that an answer to an earlier one shows.
std::vector<std::uint16_t> words_of_turn(std::uint32_t n);
std::string line_of_turn(std::uint32_t n);
constexpr std::size_t fault_words = 4;

}  // namespace benchward::test
