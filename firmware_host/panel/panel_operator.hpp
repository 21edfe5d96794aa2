// SPDX-License-Identifier: MIT
#pragma once

/// The person in front of the panel as the run's operator: each question waits in the snapshot until somebody who holds
/// the controls answers it. On a simulated bench nobody stands at the unit: once the person says "done", the simulated
/// hands do it.

#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "drivers/roles/operator.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward {
class SimulatedOperator;
}

namespace benchward::panel {

class PanelOperator final : public Operator {
 public:
  struct Asked {
    Question question;
    int number = 0;  ///< of this program: an answer names it, so that a second click never answers the next question
  };

  /// `hands`: nullptr on a real bench; outlives the operator. `changed`: something to show is new.
  PanelOperator(boost::asio::io_context& io, SimulatedOperator* hands, std::function<void()> changed);
  ~PanelOperator() override;

  std::string person() const override { return person_; }
  Task<bool> connect(Connection const& connection, int step, int of) override;
  Task<bool> set_tap(int position) override;
  Task<bool> start(Connection const& connection) override;
  Task<std::string> ask(Question question) override;
  Task<bool> acknowledge_trip(std::string cause) override;
  Task<bool> make_as_shipped(Connection const& as_shipped) override;

  /// Who acts now: stands beside every act and answer in the record.
  void set_person(std::string name) { person_ = std::move(name); }
  std::optional<Asked> const& asked() const { return asked_; }
  /// While leads are to be moved: what they are moved to.
  std::optional<Connection> const& to_make() const { return to_make_; }
  /// Empty, or why the answer is not taken.
  std::string answer(int number, std::string const& answer);

 private:
  struct Wait;
  template <class Hands>
  Task<bool> ask_then(Question question, Hands hands);

  SimulatedOperator* hands_;
  std::function<void()> changed_;
  std::string person_ = "nobody";
  std::optional<Asked> asked_;
  std::optional<std::string> answered_;
  std::optional<Connection> to_make_;
  int asked_so_far_ = 0;
  std::unique_ptr<Wait> wait_;
};

}  // namespace benchward::panel
