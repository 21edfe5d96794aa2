// SPDX-License-Identifier: MIT
#pragma once

/// File descriptors of sockets and terminals: bounded reading and writing, hang-up, locking.

#include <cstdint>
#include <string>
#include <utility>

#include "byte_stream.hpp"

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

/// An open descriptor as a stream of bytes.
class DescriptorStream : public ByteStream {
 public:
  /// `fd` stays open for as long as this lives: by `owned`, or by what a derived class holds.
  DescriptorStream(int fd, WallTime now);
  DescriptorStream(Descriptor owned, WallTime now);
  ReadEnd read_some(Bytes& into, std::int64_t deadline_ns) override;
  bool write_all(Bytes const& bytes, std::int64_t deadline_ns) override;
  bool hung_up() override;

 private:
  void become_patient();

  Descriptor owned_;
  int fd_;
  bool socket_;
  bool patient_ = false;  ///< waits within recv, bounded
  WallTime now_;
};

/// Why a host cannot be found ("Name or service not known"); empty: it can. Waits for the resolver of the system.
std::string host_trouble(std::string const& host, int port);

/// Opens a terminal and locks it (flock) for this program alone, before anything is set on the line. Empty `why` if it
/// is ours; a held one is named with its holder's process id where the system tells it.
Descriptor lock_terminal(std::string const& device, std::string& why);
/// Nobody else can open the line from now on (TIOCEXCL; does not bind root, hence the lock). False: no terminal line.
bool exclude_others(int fd);

/// libmodbus waits with select(), which corrupts memory for descriptors of 1024 and more: whether the next one that
/// this process opens would be one of those.
bool descriptors_used_up();

}  // namespace benchward
