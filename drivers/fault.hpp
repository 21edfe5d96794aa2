// SPDX-License-Identifier: MIT
#pragma once

/// What a device answers when it cannot answer. Devices never throw for what a factory floor does to them.

#include <cstdlib>
#include <optional>
#include <string>
#include <utility>
#include <variant>

namespace benchward {

/// One failure of one device, in words for the person at the bench, with a stable id for programs and documents.
struct Fault {
  std::string id;              ///< "bus.timeout", "bus.crc", "device.identity", "permit.withdrawn", ...
  std::string device;          ///< the bench document's name
  std::string operation;       ///< "read power", "set output voltage"
  std::string what;            ///< what was wrong, with numbers
  std::string next;            ///< what to do about it
  std::string sent, received;  ///< bytes in hex, where there were any

  std::string text() const { return device + ": " + operation + ": " + what + (next.empty() ? "" : ". " + next); }
};

/// A value or the fault that came instead of it.
template <class T, class E = Fault>
class [[nodiscard]] Result_ {
 public:
  Result_(T value) : content_(std::in_place_index<0>, std::move(value)) {}
  Result_(E error) : content_(std::in_place_index<1>, std::move(error)) {}

  bool ok() const { return content_.index() == 0; }
  explicit operator bool() const { return ok(); }
  /// Only where ok(): asking otherwise ends the program, a defect of the caller.
  T& value() & {
    check(ok());
    return *std::get_if<0>(&content_);
  }
  T const& value() const& {
    check(ok());
    return *std::get_if<0>(&content_);
  }
  T value() && {
    check(ok());
    return std::move(*std::get_if<0>(&content_));
  }
  E const& error() const {
    check(!ok());
    return *std::get_if<1>(&content_);
  }

 private:
  static void check(bool right) {
    if (!right) std::abort();
  }
  std::variant<T, E> content_;
};

struct Done {};

/// What a role's call answers. (`Result` alone is the name of a routine test's result, limits/result.hpp.)
template <class T>
using Answer = Result_<T, Fault>;

}  // namespace benchward
