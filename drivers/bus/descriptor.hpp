// SPDX-License-Identifier: MIT
#pragma once

/// File descriptors of sockets and terminals: bounded reading and writing, hang-up, locking.

#include <cstdint>
#include <string>

#include "modbus_pdu.hpp"
#include "wire.hpp"

namespace benchward {

/// A descriptor that is closed when it goes.
class Descriptor {
 public:
  Descriptor() = default;
  explicit Descriptor(int fd) : fd_(fd) {}
  Descriptor(Descriptor&& other) noexcept : fd_(other.fd_) { other.fd_ = -1; }
  Descriptor& operator=(Descriptor&& other) noexcept;
  ~Descriptor() { reset(); }
  int get() const { return fd_; }
  explicit operator bool() const { return fd_ >= 0; }
  void reset() noexcept;

 private:
  int fd_ = -1;
};

enum class ReadEnd { some, timeout, lost };
/// Appends what has come, waiting for at least one byte until the deadline.
ReadEnd read_some(int fd, Bytes& into, std::int64_t deadline_ns, WallTime const& wall);
/// False: the link is gone or did not take it in time.
bool write_all(int fd, Bytes const& bytes, std::int64_t deadline_ns, WallTime const& wall);
/// Reads and throws away until quiet.
bool drain_descriptor(int fd, std::int64_t quiet_ns, std::int64_t deadline_ns, WallTime const& wall, bool& lost);
bool descriptor_hung_up(int fd);

/// Opens a terminal and locks it (flock) for this program alone, before anything is set on the line. Empty `why` if it
/// is ours; a held one is named with its holder's process id where the system tells it.
Descriptor lock_terminal(std::string const& device, std::string& why);
/// Nobody else can open the line from now on (TIOCEXCL; does not bind root, hence the lock). False: no terminal line.
bool exclude_others(int fd);

/// libmodbus waits with select(), which corrupts memory for descriptors of 1024 and more: whether the next one that
/// this process opens would be one of those.
bool descriptors_used_up();

}  // namespace benchward
