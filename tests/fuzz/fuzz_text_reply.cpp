// SPDX-License-Identifier: MIT
// Replies of text devices, and command lines as the simulator takes them: any line is values or none; a good number is
// finite, inside its range, and comes back the same when it is written again.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "drivers/profile/profile_document.hpp"
#include "drivers/profile/text_codec.hpp"

using namespace benchward;

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  if (size == 0) return 0;
  auto const ids = built_in_profiles();
  std::string_view const line(reinterpret_cast<char const*>(data + 1), size - 1);
  auto const& profile = built_in_profile(ids[data[0] % ids.size()]);
  for (auto const& command : profile.commands) {
    auto const values = parse_reply(command, line, profile.separator);
    if (!values) continue;
    for (auto const& field : command.reply) {
      auto const& value = values->at(field.name);
      if (!value.good || field.kind != TextField::Kind::number) continue;
      if (!std::isfinite(value.number)) std::abort();
      auto exact = field;
      exact.least_count = 0.0;
      auto const again = parse_text_number(text_of_number(value.number, exact), field.unit, field.suffix);
      if (!again || std::abs(*again - value.number) > 1e-12 * std::abs(value.number)) std::abort();
    }
  }
  (void)match_command(profile, line);
  return 0;
}
