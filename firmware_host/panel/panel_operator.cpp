// SPDX-License-Identifier: MIT
#include "firmware_host/panel/panel_operator.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <utility>

#include "firmware_host/operator/simulated_operator.hpp"

namespace benchward::panel {
namespace {

namespace asio = boost::asio;

std::string volts_in_words(double volts_to_earth) {
  return volts_to_earth >= 1000.0 ? fmt::format("{:.3g} kV", volts_to_earth / 1000.0)
                                  : fmt::format("{:.3g} V", volts_to_earth);
}

}  // namespace

struct PanelOperator::Wait {
  explicit Wait(asio::io_context& io) : timer(io) {}
  asio::steady_timer timer;
};

PanelOperator::PanelOperator(asio::io_context& io, SimulatedOperator* hands, std::function<void()> changed)
    : hands_(hands), changed_(std::move(changed)), wait_(std::make_unique<Wait>(io)) {}
PanelOperator::~PanelOperator() = default;

std::string PanelOperator::answer(int number, std::string const& answer) {
  if (!asked_ || asked_->number != number || answered_) return "that question is not open any more";
  auto const& choices = asked_->question.choices;
  if (!choices.empty() && std::find(choices.begin(), choices.end(), answer) == choices.end()) {
    return fmt::format("\"{}\" is none of the answers", answer.substr(0, 80));
  }
  if (answer.empty()) return "an empty answer is no answer";
  answered_ = answer;
  wait_->timer.cancel();
  return "";
}

Task<std::string> PanelOperator::ask(Question question) {
  // However the question ends (answer, stop), it is no longer shown.
  struct Closing {
    PanelOperator& self;
    ~Closing() {
      self.asked_.reset();
      self.answered_.reset();
      self.changed_();
    }
  };
  Asked asked;
  asked.question = std::move(question);
  asked.number = ++asked_so_far_;
  asked_ = std::move(asked);
  answered_.reset();
  Closing const closing{*this};
  changed_();
  while (!answered_) {
    boost::system::error_code error;
    wait_->timer.expires_at(asio::steady_timer::time_point::max());
    co_await wait_->timer.async_wait(asio::redirect_error(asio::use_awaitable, error));
    if (!answered_) throw boost::system::system_error(asio::error::operation_aborted);  // the run was stopped
  }
  std::string answer = *answered_;
  co_return answer;
}

/// Asks, and where the person says "done", lets the simulated hands do it; what they cannot is asked again with the
/// reason.
template <class Hands>
Task<bool> PanelOperator::ask_then(Question question, Hands hands) {
  struct Closing {
    PanelOperator& self;
    ~Closing() {
      self.to_make_.reset();
      self.changed_();
    }
  };
  Closing const closing{*this};
  auto const text = question.text;
  for (;;) {
    Question copy = question;
    auto const said = co_await ask(std::move(copy));
    if (said != "done") co_return false;
    if (hands_ == nullptr) co_return true;
    bool const made = co_await hands();
    if (made) co_return true;
    question.text = fmt::format("The simulated hands could not: {}. {}", hands_->trouble(), text);
  }
}

Task<bool> PanelOperator::connect(Connection const& connection, int step, int of) {
  to_make_ = connection;
  Question question{"connect.done", "Connected as shown, area empty, gate closed?", {"done", "stop"}};
  auto const hands = [this, &connection, step, of] { return hands_->connect(connection, step, of); };
  bool const made = co_await ask_then(std::move(question), hands);
  co_return made;
}

Task<bool> PanelOperator::set_tap(int position) {
  Question question{
      "tap.set", fmt::format("Set the tap changer to position {}, leave, close the gate.", position), {"done", "stop"}};
  auto const hands = [this, position] { return hands_->set_tap(position); };
  bool const made = co_await ask_then(std::move(question), hands);
  co_return made;
}

Task<bool> PanelOperator::make_as_shipped(Connection const& as_shipped) {
  to_make_ = as_shipped;
  Question question{"as-shipped.done", "Leads off, unit as it ships?", {"done", "stop"}};
  auto const hands = [this, &as_shipped] { return hands_->make_as_shipped(as_shipped); };
  bool const made = co_await ask_then(std::move(question), hands);
  co_return made;
}

Task<bool> PanelOperator::start(Connection const& connection) {
  Question question{"start",
                    fmt::format("Ready to energise: {}. Highest voltage at any terminal {}.", connection.name,
                                volts_in_words(connection.worst_volts)),
                    {"start", "stop"}};
  auto const said = co_await ask(std::move(question));
  co_return said == "start";
}

Task<bool> PanelOperator::acknowledge_trip(std::string cause) {
  Question question{
      "trip.acknowledge",
      fmt::format("Tripped: {}. Find the cause. When it is gone, press and release the local reset.", cause),
      {"acknowledge", "stop"}};
  auto const said = co_await ask(std::move(question));
  co_return said == "acknowledge";
}

}  // namespace benchward::panel
