// SPDX-License-Identifier: MIT
#pragma once

/// A link that says what the fuzzer wrote, in pieces that the fuzzer cut, in time that nobody waits for.

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "drivers/bus/byte_stream.hpp"

namespace benchward::fuzz {

struct Script {
  std::uint8_t const* data;
  std::size_t size, at = 0;
  std::int64_t now_ns = 1;
  std::uint8_t byte() { return at < size ? data[at++] : std::uint8_t{0}; }
  WireTime time() {
    return {[this] { return now_ns; }, [this](std::int64_t until) { now_ns = std::max(now_ns, until); }};
  }
};

/// Silent until the request is sent; then pieces of up to 255 bytes (their length written before each, 0: a time-out).
class ScriptStream final : public ByteStream {
 public:
  explicit ScriptStream(Script& script) : script_(script) {}
  ReadEnd read_some(Bytes& into, std::int64_t deadline_ns) override {
    auto const length = asked_ && deadline_ns > 0 && script_.at < script_.size ? script_.byte() : std::uint8_t{0};
    if (length == 0) {
      script_.now_ns = std::max(script_.now_ns, deadline_ns);
      return ReadEnd::timeout;
    }
    auto const taken = std::min<std::size_t>(length, script_.size - script_.at);
    if (taken == 0) return ReadEnd::lost;
    into.insert(into.end(), script_.data + script_.at, script_.data + script_.at + taken);
    script_.at += taken;
    return ReadEnd::some;
  }
  bool write_all(Bytes const&, std::int64_t) override { return asked_ = true; }
  bool hung_up() override { return false; }

 private:
  Script& script_;
  bool asked_ = false;
};

inline OpenStream opener(Script& script) {
  return [&script](std::int64_t, std::string&) { return std::make_unique<ScriptStream>(script); };
}

inline void require(bool holds) {
  if (!holds) std::abort();
}

}  // namespace benchward::fuzz
