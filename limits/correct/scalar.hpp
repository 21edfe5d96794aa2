// SPDX-License-Identifier: MIT
#pragma once

/// The formulas of this folder are templates over their number type: plain `double` for the value alone, `Uncertain`
/// (limits/uncertainty/uncertain.hpp) for the value with its uncertainty. One text of each formula serves both.

#include <cmath>

#include "input_error.hpp"

namespace benchward {

inline double value_of(double number) { return number; }

/// Apart from the checks, so that a check that passes costs two comparisons.
[[noreturn]] void refuse_number(char const* name, char const* expected);

/// Refuses what is not a finite number above zero; written so that NaN is refused too.
template <class T>
void require_positive(T const& number, char const* name) {
  if (!(value_of(number) > 0.0) || !std::isfinite(value_of(number))) {
    refuse_number(name, "expected a finite number above zero");
  }
}

template <class T>
void require_finite(T const& number, char const* name) {
  if (!std::isfinite(value_of(number))) refuse_number(name, "expected a finite number");
}

template <class T>
void require_not_negative(T const& number, char const* name) {
  if (!(value_of(number) >= 0.0) || !std::isfinite(value_of(number))) {
    refuse_number(name, "expected a finite number, zero or above");
  }
}

}  // namespace benchward
