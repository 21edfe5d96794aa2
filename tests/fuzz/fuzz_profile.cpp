// SPDX-License-Identifier: MIT
// The reader of profiles takes any bytes: a profile, or an error with a path. What it lets through decodes any words
// without a number that is none.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "drivers/profile/profile_document.hpp"
#include "drivers/profile/register_codec.hpp"
#include "limits/documents/document_error.hpp"

using namespace benchward;

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  try {
    auto const profile = parse_profile({reinterpret_cast<char const*>(data), size}, "fuzz");
    for (auto const& group : profile.groups) {
      std::vector<std::uint16_t> words(static_cast<std::size_t>(group.words));
      for (std::size_t i = 0; i < words.size(); ++i) words[i] = static_cast<std::uint16_t>(data[i % size] * 257u + i);
      for (auto const& [name, value] : decode_group(words, group, profile)) {
        if (value.good && !std::isfinite(value.number)) std::abort();
      }
    }
  } catch (DocumentError const&) {
  }
  return 0;
}
