// SPDX-License-Identifier: MIT
#include "sim/wires/pseudo_terminal.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <pty.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <system_error>
#include <utility>

#include "sim/wires/wire_context.hpp"

namespace benchward::sim {

PseudoTerminal::PseudoTerminal() {
  termios raw{};
  cfmakeraw(&raw);
  raw.c_cflag |= CREAD | CLOCAL;
  raw.c_cc[VMIN] = 1;
  cfsetspeed(&raw, B9600);
  std::array<char, 128> name{};
  bool sound = openpty(&near_, &far_, name.data(), &raw, nullptr) == 0;
  if (sound) {
    sound = fcntl(near_, F_SETFL, O_NONBLOCK) == 0 && fcntl(near_, F_SETFD, FD_CLOEXEC) == 0 &&
            fcntl(far_, F_SETFD, FD_CLOEXEC) == 0;
  }
  if (!sound) {
    int const cause = errno;
    close_far_end();
    if (near_ >= 0) ::close(near_);
    throw CannotServe(fmt::format("cannot open a pseudo terminal: {}", std::generic_category().message(cause)));
  }
  path_ = name.data();
}

PseudoTerminal::~PseudoTerminal() {
  close_far_end();
  if (near_ >= 0) ::close(near_);
}

int PseudoTerminal::release_descriptor() { return std::exchange(near_, -1); }

void PseudoTerminal::forget_exclusive_opening() {
  if (far_ >= 0) ioctl(far_, TIOCNXCL);
}

void PseudoTerminal::close_far_end() {
  if (far_ >= 0) ::close(far_);
  far_ = -1;
}

}  // namespace benchward::sim
