// SPDX-License-Identifier: MIT
#pragma once

/// The faults in force. Asked often, changed seldom: who computes keeps what it needs and asks again when `revision()`
/// has moved.

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

namespace benchward::sim {

class FaultSet {
 public:
  /// Empty, or why not: an unknown name (the nearest is named), a value outside the fault's range.
  std::string set(std::string const& name, std::optional<double> value);
  /// A name or "all". Empty, or why not.
  std::string clear(std::string_view name_or_all);

  bool on(std::string_view name) const { return active_.find(name) != active_.end(); }
  /// The value of a fault in force, else `otherwise`.
  double value_or(std::string_view name, double otherwise) const {
    auto const found = active_.find(name);
    return found == active_.end() ? otherwise : found->second;
  }
  std::map<std::string, double, std::less<>> const& active() const { return active_; }
  std::uint64_t revision() const { return revision_; }

 private:
  std::map<std::string, double, std::less<>> active_;
  std::uint64_t revision_ = 1;
};

}  // namespace benchward::sim
