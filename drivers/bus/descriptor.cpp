// SPDX-License-Identifier: MIT
#include "drivers/bus/descriptor.hpp"

#include <fcntl.h>
#include <netdb.h>
#include <poll.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/select.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/time.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>

#include <fmt/format.h>

namespace benchward {
namespace {

/// A socket waits within recv itself, for this long at a time: one call an answer instead of two.
constexpr std::int64_t patience_ns = 50'000'000;
/// A terminal is looked at again after this time, as an adapter hands on what it has each 16 ms: the system may leave
/// bytes lying without waking who waits (seen on a busy machine: an answer stood there for a whole attempt of 500 ms).
constexpr std::int64_t look_again_ns = 20'000'000;

int whole_milliseconds(std::int64_t left_ns) {
  if (left_ns <= 0) return 0;
  return static_cast<int>(std::min<std::int64_t>((left_ns + 999'999) / 1'000'000, 60'000));
}

bool is_socket(int fd) {
  struct stat status {};
  return ::fstat(fd, &status) == 0 && S_ISSOCK(status.st_mode);
}

/// Process id of the holder of an flock on this file, from the system's table; 0 if it does not say.
int lock_holder(int fd) {
  struct stat status {};
  if (::fstat(fd, &status) != 0) return 0;
  struct Close {
    void operator()(std::FILE* file) const { std::fclose(file); }
  };
  std::unique_ptr<std::FILE, Close> const table(std::fopen("/proc/locks", "r"));
  if (!table) return 0;
  auto const wanted = fmt::format("{:02x}:{:02x}:{}", major(status.st_dev), minor(status.st_dev), status.st_ino);
  std::array<char, 256> line{};
  while (std::fgets(line.data(), static_cast<int>(line.size()), table.get()) != nullptr) {
    std::array<char, 16> kind{};
    std::array<char, 64> place{};
    int holder = 0;
    // "1: FLOCK  ADVISORY  WRITE 1234 00:18:5 0 EOF"
    if (std::sscanf(line.data(), "%*d: %15s %*s %*s %d %63s", kind.data(), &holder, place.data()) == 3 &&
        std::strcmp(kind.data(), "FLOCK") == 0 && wanted == place.data()) {
      return holder;
    }
  }
  return 0;
}

}  // namespace

Descriptor& Descriptor::operator=(Descriptor&& other) noexcept {
  if (this != &other) {
    reset();
    fd_ = other.fd_;
    other.fd_ = -1;
  }
  return *this;
}

void Descriptor::reset() noexcept {
  if (fd_ >= 0) ::close(fd_);
  fd_ = -1;
}

DescriptorStream::DescriptorStream(int fd, WallTime now) : fd_(fd), socket_(is_socket(fd)), now_(std::move(now)) {
  become_patient();
}
DescriptorStream::DescriptorStream(Descriptor owned, WallTime now)
    : owned_(std::move(owned)), fd_(owned_.get()), socket_(is_socket(fd_)), now_(std::move(now)) {
  become_patient();
}

void DescriptorStream::become_patient() {
  if (!socket_) return;
  timeval const limit{0, patience_ns / 1000};
  int const flags = ::fcntl(fd_, F_GETFL);
  patient_ = flags >= 0 && ::setsockopt(fd_, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit) == 0 &&
             ::fcntl(fd_, F_SETFL, flags & ~O_NONBLOCK) == 0;
}

ReadEnd DescriptorStream::read_some(Bytes& into, std::int64_t deadline_ns) {
  std::array<std::uint8_t, 512> block;
  for (;;) {
    auto const left_ns = deadline_ns == 0 ? 0 : deadline_ns - now_();
    bool const patient = patient_ && left_ns > patience_ns;
    if (!patient) {
      pollfd waiting{fd_, POLLIN, 0};
      int const ready = ::poll(&waiting, 1, whole_milliseconds(socket_ ? left_ns : std::min(left_ns, look_again_ns)));
      if (ready < 0 && errno == EINTR) continue;
      if (ready < 0) return ReadEnd::lost;
      if (ready == 0) {
        if (deadline_ns != 0 && now_() < deadline_ns) continue;
        return ReadEnd::timeout;
      }
    }
    auto const got = patient ? ::recv(fd_, block.data(), block.size(), 0) : ::read(fd_, block.data(), block.size());
    if (got > 0) {
      into.insert(into.end(), block.begin(), block.begin() + got);
      return ReadEnd::some;
    }
    if (got < 0 && (errno == EINTR || errno == EAGAIN)) continue;
    return ReadEnd::lost;  // end of file, EIO of an unplugged adapter, reset of a connection
  }
}

bool DescriptorStream::write_all(Bytes const& bytes, std::int64_t deadline_ns) {
  std::size_t done = 0;
  while (done < bytes.size()) {
    // A peer that has gone must not end a program that did not think of SIGPIPE.
    auto const* from = bytes.data() + done;
    auto const size = bytes.size() - done;
    auto const put = socket_ ? ::send(fd_, from, size, MSG_NOSIGNAL | MSG_DONTWAIT) : ::write(fd_, from, size);
    if (put > 0) {
      done += static_cast<std::size_t>(put);
      continue;
    }
    if (put < 0 && errno == EINTR) continue;
    if (put < 0 && errno != EAGAIN) return false;
    pollfd waiting{fd_, POLLOUT, 0};
    if (now_() >= deadline_ns || ::poll(&waiting, 1, whole_milliseconds(deadline_ns - now_())) < 0) return false;
  }
  return true;
}

bool DescriptorStream::hung_up() {
  pollfd waiting{fd_, POLLIN | POLLRDHUP, 0};
  return ::poll(&waiting, 1, 0) > 0 && (waiting.revents & (POLLHUP | POLLERR | POLLNVAL | POLLRDHUP)) != 0;
}

std::string host_trouble(std::string const& host, int port) {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  addrinfo* found = nullptr;
  int const error = ::getaddrinfo(host.c_str(), std::to_string(port).c_str(), &hints, &found);
  if (error != 0) return fmt::format("cannot find the host {}: {}", host, ::gai_strerror(error));
  ::freeaddrinfo(found);
  return {};
}

Descriptor lock_terminal(std::string const& device, std::string& why) {
  Descriptor terminal(::open(device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC));
  if (!terminal) {
    why = errno == EBUSY ? fmt::format("{} is held by another program", device)
                         : fmt::format("cannot open {}: {}", device, std::strerror(errno));
    return {};
  }
  if (::isatty(terminal.get()) == 0) {
    why = fmt::format("{} is no terminal line", device);
    return {};
  }
  // The lock comes before anything is set on the line: two programs on one port share its bytes between them.
  if (::flock(terminal.get(), LOCK_EX | LOCK_NB) != 0) {
    int const holder = lock_holder(terminal.get());
    why = holder > 0 ? fmt::format("{} is held by process {}", device, holder)
                     : fmt::format("{} is held by another program", device);
    return {};
  }
  return terminal;
}

bool exclude_others(int fd) { return ::ioctl(fd, TIOCEXCL) == 0; }

bool descriptors_used_up() {
  Descriptor const next(::open("/dev/null", O_RDONLY | O_CLOEXEC));
  return !next || next.get() >= FD_SETSIZE - 2;
}

}  // namespace benchward
