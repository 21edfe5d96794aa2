// SPDX-License-Identifier: MIT
#include "firmware_host/say.hpp"

#include <unistd.h>

namespace benchward {
namespace {

void write_line(int descriptor, std::string text) {
  if (text.empty() || text.back() != '\n') text += '\n';
  std::size_t written = 0;
  while (written < text.size()) {
    auto const n = ::write(descriptor, text.data() + written, text.size() - written);
    if (n <= 0) return;  // nobody reads any more
    written += static_cast<std::size_t>(n);
  }
}

}  // namespace

void say_out(std::string const& line) { write_line(STDOUT_FILENO, line); }
void say_err(std::string const& line) { write_line(STDERR_FILENO, line); }

}  // namespace benchward
