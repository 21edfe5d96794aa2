// SPDX-License-Identifier: MIT
#pragma once

/// The one way to end a run from outside: by a person, or by a signal. The reason is stored first, then the run's
/// coroutines are cancelled; on its way out the run makes safe and writes the reason down.

#include <optional>
#include <string>

#include <boost/asio/cancellation_signal.hpp>

namespace benchward {

class StopRequest {
 public:
  enum class By { person, signal, program };

  /// On the thread that runs the run. A second request changes nothing but the message.
  void ask(By by, std::string reason) {
    if (reason_) return;
    by_ = by;
    reason_ = std::move(reason);
    signal_.emit(boost::asio::cancellation_type::terminal);
  }

  bool asked() const { return reason_.has_value(); }
  By by() const { return by_; }
  std::string reason() const { return reason_.value_or(""); }

  /// For `co_spawn(..., bind_cancellation_slot(stop.slot(), ...))`, once a run.
  boost::asio::cancellation_slot slot() { return signal_.slot(); }

 private:
  boost::asio::cancellation_signal signal_;
  std::optional<std::string> reason_;
  By by_ = By::person;
};

}  // namespace benchward
