// SPDX-License-Identifier: MIT
#pragma once

/// Many units together: the averages that an order promises, the impedances of duplicates, and what the sample of a
/// basic model allows to be stated for it. To be looked at before the last unit ships.

#include <optional>
#include <string>
#include <vector>

#include "tests_seq/journal/record_view.hpp"

namespace benchward {

/// One unit's numbers: those of its newest attempt that judged it.
struct LotUnit {
  std::string serial, attempt, outcome, disposition;
  bool simulated = false;
  int attempts = 1;  ///< judged ones of this serial
  std::optional<double> no_load_w, load_w, total_w, impedance_percent, efficiency_percent;
};

/// An average against what the order promises.
struct LotAverage {
  std::string quantity;  ///< "no_load_loss_w", "load_loss_w", "total_loss_w"
  std::size_t units = 0;
  double mean = 0.0;
  std::optional<double> quoted;
  std::optional<bool> within;  ///< by the limit set's rule of the lot; absent where it has none
};

struct Lot {
  std::vector<LotUnit> units;  ///< by first attempt
  std::vector<LotAverage> averages;
  std::optional<double> impedance_spread_percent;  ///< (largest - smallest) / mean, in percent
  std::optional<double> impedance_spread_limit;
  std::optional<double> mean_efficiency_percent, required_efficiency_percent;
  std::optional<double> highest_represented_percent;  ///< that this sample allows (10 CFR 429.47(a)(2))
  std::optional<bool> represented_ok;                 ///< the required efficiency may be stated
  std::vector<std::string> remarks;                   ///< what keeps these numbers from saying more
  bool simulated = false;                             ///< any of them
};

/// Records in the order of their starts; those that judged no unit (INVALID, ABORTED) do not count. Quoted losses,
/// limits and required efficiency are those of the newest record.
Lot lot_of(std::vector<AttemptRecord> const& records);

std::string lot_json(Lot const& lot);
std::string lot_page(Lot const& lot);

}  // namespace benchward
