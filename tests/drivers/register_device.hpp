// SPDX-License-Identifier: MIT
#pragma once

/// A Modbus TCP device for tests: a memory of registers, with switches for what goes wrong. No code of the drivers.

#include <atomic>
#include <functional>
#include <map>
#include <mutex>
#include <string>
#include <vector>

#include "tests/drivers/wire_bench.hpp"

namespace benchward::test {

class RegisterDevice {
 public:
  void text(int address, std::string const& value, int words) {
    std::lock_guard const lock(mutex_);
    for (int i = 0; i < words; ++i) {
      auto const at = [&](int k) {
        return k < static_cast<int>(value.size()) ? static_cast<unsigned char>(value[static_cast<std::size_t>(k)]) : 0;
      };
      memory_[address + i] = static_cast<std::uint16_t>((at(2 * i) << 8) | at(2 * i + 1));
    }
  }
  void word(int address, std::uint16_t value) {
    std::lock_guard const lock(mutex_);
    memory_[address] = value;
  }
  std::uint16_t word(int address) {
    std::lock_guard const lock(mutex_);
    return memory_[address];
  }
  /// Maker, model, serial, firmware and known value as the demo profiles lay them out from this address.
  void identity(int base, std::string const& model, std::string const& serial, std::string const& firmware,
                std::uint32_t known) {
    text(base, "Demo Instruments", 8);
    text(base + 8, model, 8);
    text(base + 16, serial, 6);
    text(base + 22, firmware, 4);
    word(base + 26, static_cast<std::uint16_t>(known >> 16));
    word(base + 27, static_cast<std::uint16_t>(known & 0xFFFF));
  }

  std::atomic<int> shift{0};        ///< serves each register this many addresses too high
  std::atomic<int> mute_writes{0};  ///< so many writes are taken without an answer
  std::atomic<bool> deaf{false};    ///< writes are answered by nothing and not taken
  std::atomic<int> writes{0}, reads{0};

  void serve(DeviceEnd& end) {
    while (serve_one(end)) {
    }
  }

  /// One request; false where the other end has gone.
  bool serve_one(
      DeviceEnd& end, std::function<void(Octets const&)> const& hear = [](auto const&) {}) {
    auto const request = end.read_tcp_request();
    if (request.empty()) return false;
    hear(request);
    answer(end, request);
    return true;
  }

 private:
  void answer(DeviceEnd& end, Octets const& request) {
    auto const function = request[7];
    int const address = word_at(request, 8), count = word_at(request, 10);
    if (function == 16) {
      ++writes;
      if (deaf) return;
      for (int i = 0; i < count; ++i) word(address + i, word_at(request, static_cast<std::size_t>(13 + 2 * i)));
      if (mute_writes > 0) {
        --mute_writes;
        return;
      }
      end.write(tcp_reply(request, Octets(request.begin() + 7, request.begin() + 12)));
    } else if (function == 23) {
      int const to = word_at(request, 12), words = word_at(request, 14);
      ++writes;
      for (int i = 0; i < words; ++i) word(to + i, word_at(request, static_cast<std::size_t>(17 + 2 * i)));
      if (deaf) return;
      end.write(tcp_reply(request, words_pdu(23, block(address, count))));
    } else {
      ++reads;
      end.write(tcp_reply(request, words_pdu(function, block(address + shift, count))));
    }
  }

  std::vector<std::uint16_t> block(int address, int count) {
    std::lock_guard const lock(mutex_);
    std::vector<std::uint16_t> words;
    for (int i = 0; i < count; ++i) words.push_back(memory_[address + i]);
    return words;
  }
  std::mutex mutex_;
  std::map<int, std::uint16_t> memory_;
};

}  // namespace benchward::test
