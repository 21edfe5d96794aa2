// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/last_frames.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <iterator>

namespace benchward {
namespace {

constexpr std::size_t frames_of_the_device = 64, frames_of_others = 8;

}  // namespace

std::vector<LoggedFrame> last_frames(TestRoles const& roles, std::string const& device) {
  std::array<Instrument const*, 7> const all{roles.ratio_meter,     roles.resistance_meter,    roles.power_analyzer,
                                             roles.ac_source,       roles.thermometer_scanner, roles.dielectric_tester,
                                             roles.insulation_meter};
  std::vector<LoggedFrame> kept;
  for (auto const* instrument : all) {
    if (instrument == nullptr) continue;
    auto frames = instrument->frames();
    auto const most = std::min(frames.size(), instrument->name() == device ? frames_of_the_device : frames_of_others);
    std::move(frames.end() - static_cast<std::ptrdiff_t>(most), frames.end(), std::back_inserter(kept));
  }
  std::stable_sort(kept.begin(), kept.end(), [](LoggedFrame const& earlier, LoggedFrame const& later) {
    return earlier.monotonic_ns < later.monotonic_ns;
  });
  return kept;
}

}  // namespace benchward
