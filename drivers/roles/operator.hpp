// SPDX-License-Identifier: MIT
#pragma once

/// The person at the bench, as an asynchronous role: the terminal, the panel and the simulated operator implement it.

#include <optional>
#include <string>
#include <vector>

#include "../task.hpp"
#include "connection.hpp"

namespace benchward {

/// A question with named choices. None of them is a default: an empty answer asks again.
struct Question {
  std::string id;  ///< stable: "tap.right", "unit.identity", "retest.reason"
  std::string text;
  std::vector<std::string> choices;  ///< words to type or press; empty = free text
};

class Operator {
 public:
  Operator() = default;
  Operator(Operator const&) = delete;
  Operator& operator=(Operator const&) = delete;
  virtual ~Operator() = default;

  virtual std::string person() const = 0;

  /// Make this connection at the unit (area open, earthed) and confirm; leaving the area and closing the gate belong
  /// to it. False: the person refuses or cannot.
  virtual Task<bool> connect(Connection const& connection, int step, int of) = 0;
  /// Set the tap changer.
  virtual Task<bool> set_tap(int position) = 0;
  /// Consent to energise, given with the area closed and everything ready: PREPARE and START of the step.
  virtual Task<bool> start(Connection const& connection) = 0;
  virtual Task<std::string> ask(Question question) = 0;
  /// Cause gone: release the local reset and acknowledge.
  virtual Task<bool> acknowledge_trip(std::string cause) = 0;
  /// Take everything off and put the unit as it ships.
  virtual Task<bool> make_as_shipped(Connection const& as_shipped) = 0;
};

}  // namespace benchward
