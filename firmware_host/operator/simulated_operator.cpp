// SPDX-License-Identifier: MIT
#include "firmware_host/operator/simulated_operator.hpp"

#include <utility>

namespace benchward {
namespace {

// A practised person's times (common practice, no source): walking in or out, one lead, one switch.
constexpr Duration walk = seconds(2.0);
constexpr Duration one_lead = seconds(1.5);
constexpr Duration one_switch = seconds(1.0);
// Longer than any discharge bound: past it the gate stays shut and a person fetches help.
constexpr Duration patience_at_the_gate = seconds(120.0);

}  // namespace

SimulatedOperator::SimulatedOperator(Hands& hands, Clock& clock, std::function<bool()> gate_may_open)
    : hands_(hands), clock_(clock), gate_may_open_(std::move(gate_may_open)) {}

bool SimulatedOperator::done(std::string const& why_not) {
  if (!why_not.empty()) trouble_ = why_not;
  return why_not.empty();
}

Task<bool> SimulatedOperator::enter() {
  if (inside_) co_return true;
  auto const begin = clock_.now();
  while (!gate_may_open_()) {
    if (between(begin, clock_.now()) > patience_at_the_gate) {
      trouble_ = "the gate stayed locked";
      co_return false;
    }
    co_await clock_.wait(seconds(0.2));
  }
  auto const opened = co_await hands_.set_gate(true);
  if (!done(opened)) co_return false;
  inside_ = true;
  co_await clock_.wait(walk);
  co_return true;
}

Task<bool> SimulatedOperator::leave() {
  if (!inside_) co_return true;
  co_await clock_.wait(walk);
  auto const closed = co_await hands_.set_gate(false);
  if (!done(closed)) co_return false;
  inside_ = false;
  co_return true;
}

Task<bool> SimulatedOperator::dress(Connection const& connection) {
  std::size_t leads = 0;
  for (auto const* group : {&connection.feed, &connection.measure, &connection.tie, &connection.short_bar}) {
    for (auto const& list : *group) leads += list.size();
  }
  leads += connection.earth.size();
  auto const off = co_await hands_.disconnect_all();
  if (!done(off)) co_return false;
  accessories_ = connection.accessories;
  for (auto const& accessory : connection.accessories) {
    auto const set = co_await hands_.set_accessory(accessory.name, accessory.state);
    if (!done(set)) co_return false;
    co_await clock_.wait(one_switch);
  }
  co_await clock_.wait(one_lead * static_cast<double>(leads));
  auto const on = co_await hands_.connect(connection);
  co_return done(on);
}

Task<bool> SimulatedOperator::connect(Connection const& connection, int, int) {
  Connection const wanted = connection;
  bool const in = co_await enter();
  if (!in) co_return false;
  bool const dressed = co_await dress(wanted);
  if (!dressed) co_return false;
  if (wanted.tap) {
    auto const tapped = co_await hands_.set_tap(*wanted.tap);
    if (!done(tapped)) co_return false;
  }
  bool const out = co_await leave();
  co_return out;
}

Task<bool> SimulatedOperator::set_tap(int position) {
  bool const in = co_await enter();
  if (!in) co_return false;
  co_await clock_.wait(one_switch);
  auto const tapped = co_await hands_.set_tap(position);
  if (!done(tapped)) co_return false;
  bool const out = co_await leave();
  co_return out;
}

Task<bool> SimulatedOperator::start(Connection const&) {
  co_await clock_.wait(seconds(0.5));
  co_return true;
}

Task<std::string> SimulatedOperator::ask(Question question) {
  co_await clock_.wait(seconds(1.0));
  auto const known = answers.find(question.id);
  if (known != answers.end()) co_return known->second;
  if (question.id == "arresters.off" && question.choices.size() > 1) {
    for (auto const& accessory : accessories_) {
      auto const otherwise = co_await hands_.look(accessory.name, accessory.state);
      if (!otherwise.empty()) co_return question.choices.back();
    }
  }
  // Asked whether tap or leads are right, a person looks again; a unit that is wrong itself reads the same once more.
  bool const looks_again = question.id == "tap.right" || question.id.ends_with(".leads");
  if (looks_again && question.choices.size() > 1) co_return question.choices.back();
  co_return question.choices.empty() ? std::string("simulated") : question.choices.front();
}

Task<bool> SimulatedOperator::acknowledge_trip(std::string) {
  // The reset acts on its release; the bench's button is pressed for half a second.
  auto const pressed = co_await hands_.press("reset");
  if (!done(pressed)) co_return false;
  co_await clock_.wait(seconds(1.0));
  co_return true;
}

Task<bool> SimulatedOperator::make_as_shipped(Connection const& as_shipped) {
  Connection const wanted = as_shipped;
  bool const in = co_await enter();
  if (!in) co_return false;
  bool const dressed = co_await dress(wanted);
  if (!dressed) co_return false;
  if (wanted.tap) {
    auto const tapped = co_await hands_.set_tap(*wanted.tap);
    if (!done(tapped)) co_return false;
  }
  bool const out = co_await leave();
  co_return out;
}

}  // namespace benchward
