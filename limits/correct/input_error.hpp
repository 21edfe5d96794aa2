// SPDX-License-Identifier: MIT
#pragma once

/// A number that a formula cannot take: which one, and why. The readers of documents turn it into their own error with
/// a path; inside the station it means a reading that the evaluation must refuse.

#include <stdexcept>
#include <string>

namespace benchward {

class InputError : public std::domain_error {
 public:
  InputError(std::string input_name, std::string const& reason)
      : std::domain_error(input_name + ": " + reason), input_(std::move(input_name)) {}
  /// Name of the input with its unit, as in the formula's structure: "measured_w", "test_hz".
  std::string const& input() const { return input_; }

 private:
  std::string input_;
};

}  // namespace benchward
