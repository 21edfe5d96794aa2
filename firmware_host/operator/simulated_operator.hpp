// SPDX-License-Identifier: MIT
#pragma once

/// The operator of `--yes`: does by the simulated bench's hands what a careful person would do, in a person's time.

#include <functional>
#include <map>

#include "drivers/roles/operator.hpp"
#include "drivers/time/clock.hpp"
#include "firmware_host/operator/hands.hpp"

namespace benchward {

class SimulatedOperator final : public Operator {
 public:
  /// `gate_may_open`: whether the guard has released the gate lock (earth proven). The operator waits for it.
  SimulatedOperator(Hands& hands, Clock& clock, std::function<bool()> gate_may_open);

  std::string person() const override { return "simulated operator"; }
  Task<bool> connect(Connection const& connection, int step, int of) override;
  Task<bool> set_tap(int position) override;
  Task<bool> start(Connection const& connection) override;
  Task<std::string> ask(Question question) override;
  Task<bool> acknowledge_trip(std::string cause) override;
  Task<bool> make_as_shipped(Connection const& as_shipped) override;

  /// Answers to questions by id, where the first choice is not what this person would say.
  std::map<std::string, std::string> answers;
  /// What the hands could not do, last; empty if all went well.
  std::string const& trouble() const { return trouble_; }

 private:
  Task<bool> enter();
  Task<bool> leave();
  Task<bool> dress(Connection const& connection);
  bool done(std::string const& why_not);

  Hands& hands_;
  Clock& clock_;
  std::function<bool()> gate_may_open_;
  bool inside_ = false;
  std::vector<AccessoryState> accessories_;  // as the last connection wants them
  std::string trouble_;
};

}  // namespace benchward
