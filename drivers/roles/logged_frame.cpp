// SPDX-License-Identifier: MIT
#include "drivers/roles/logged_frame.hpp"

#include <string_view>

namespace benchward {

std::string spaced_hex(std::vector<std::uint8_t> const& bytes) {
  constexpr std::string_view digits = "0123456789ABCDEF";
  std::string text;
  text.reserve(3 * bytes.size());
  for (auto const byte : bytes) {
    if (!text.empty()) text += ' ';
    text += digits[byte >> 4];
    text += digits[byte & 0xFu];
  }
  return text;
}

}  // namespace benchward
