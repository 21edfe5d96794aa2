// SPDX-License-Identifier: MIT
#include "firmware_host/bench_lock.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace benchward {
namespace {

// Locks are the machine's, not a records folder's: two programs with two folders must still meet here.
std::string lock_path(std::string const& io_address) {
  std::string name;
  for (char const c : io_address) {
    bool const plain = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
    name += plain ? c : '-';
  }
  bool const run_usable = ::access("/run/lock", W_OK) == 0;
  return std::string(run_usable ? "/run/lock" : "/tmp") + "/benchward-" + name + ".lock";
}

}  // namespace

BenchLock::Taken BenchLock::take(std::string const& io_address, std::string const& what_for) {
  Taken taken;
  auto const path = lock_path(io_address);
  int const descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
  if (descriptor < 0) {
    taken.owner = fmt::format("the lock file {} cannot be opened: {}", path, std::strerror(errno));
    return taken;
  }
  if (::flock(descriptor, LOCK_EX | LOCK_NB) != 0) {
    std::array<char, 200> text{};
    auto const got = ::pread(descriptor, text.data(), text.size() - 1, 0);
    taken.owner = got > 0 ? std::string(text.data(), static_cast<std::size_t>(got)) : "another program";
    ::close(descriptor);
    return taken;
  }
  auto const text = fmt::format("process {} ({})", ::getpid(), what_for);
  if (::ftruncate(descriptor, 0) != 0 || ::pwrite(descriptor, text.data(), text.size(), 0) < 0) {
    // The lock holds all the same; only its words for the second program are missing.
  }
  taken.lock.emplace(BenchLock(descriptor));
  return taken;
}

BenchLock::BenchLock(BenchLock&& other) noexcept : descriptor_(other.descriptor_) { other.descriptor_ = -1; }

BenchLock::~BenchLock() {
  if (descriptor_ >= 0) {
    if (::ftruncate(descriptor_, 0) != 0) {
      // Nothing to do: the lock goes with the descriptor.
    }
    ::close(descriptor_);
  }
}

}  // namespace benchward
