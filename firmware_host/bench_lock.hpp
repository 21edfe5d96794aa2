// SPDX-License-Identifier: MIT
#pragma once

/// One program a bench: `test`, `station` and `bench check` take a lock named by the address of the bench's I/O block.

#include <optional>
#include <string>

namespace benchward {

class BenchLock {
 public:
  /// Takes the lock, or says who holds it.
  struct Taken;
  static Taken take(std::string const& io_address, std::string const& what_for);

  BenchLock(BenchLock&& other) noexcept;
  BenchLock& operator=(BenchLock&&) = delete;
  BenchLock(BenchLock const&) = delete;
  BenchLock& operator=(BenchLock const&) = delete;
  ~BenchLock();

 private:
  explicit BenchLock(int descriptor) : descriptor_(descriptor) {}
  int descriptor_;
};

struct BenchLock::Taken {
  std::optional<BenchLock> lock;
  std::string owner;  ///< in words, where another program holds it: "process 4711 (test of unit 123, since ...)"
};

}  // namespace benchward
