// SPDX-License-Identifier: MIT
#pragma once

/// INT, TERM and HUP ask the run to stop: safe first, then the words. A second one changes only the message.

#include <functional>
#include <memory>
#include <string>

#include "tests_seq/sequence/stop_request.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward {

class SignalWatch {
 public:
  SignalWatch(boost::asio::io_context& io, StopRequest& stop, std::function<void(std::string const&)> say);
  ~SignalWatch();
  SignalWatch(SignalWatch const&) = delete;
  SignalWatch& operator=(SignalWatch const&) = delete;

 private:
  class Body;
  std::unique_ptr<Body> body_;
};

/// A fatal signal writes one line (version, build, signal) and ends the program; the bench's watchdog cuts.
void write_a_line_on_fatal_signals();

}  // namespace benchward
