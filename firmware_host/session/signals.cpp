// SPDX-License-Identifier: MIT
#include "firmware_host/session/signals.hpp"

#include <signal.h>
#include <unistd.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <cstring>

#include "firmware_host/version.hpp"

namespace benchward {
namespace {

std::string name_of_signal(int number) {
  switch (number) {
    case SIGINT:
      return "Ctrl-C";
    case SIGTERM:
      return "signal TERM";
    case SIGHUP:
      return "signal HUP";
    default:
      return "signal";
  }
}

// Prepared beforehand: nothing may be allocated in a fatal signal.
char fatal_line[256];
std::size_t fatal_length = 0;

void fatal(int number) {
  char line[300];
  std::size_t length = fatal_length;
  std::memcpy(line, fatal_line, length);
  char const tens = static_cast<char>('0' + number / 10 % 10);
  char const ones = static_cast<char>('0' + number % 10);
  line[length++] = tens;
  line[length++] = ones;
  line[length++] = '\n';
  if (::write(STDERR_FILENO, line, length) < 0) {
    // Nobody reads; the program ends all the same.
  }
  ::_exit(6);
}

}  // namespace

class SignalWatch::Body {
 public:
  Body(boost::asio::io_context& io, StopRequest& stop, std::function<void(std::string const&)> say)
      : signals_(io, SIGINT, SIGTERM, SIGHUP), stop_(stop), say_(std::move(say)) {
    wait();
  }

 private:
  void wait() {
    signals_.async_wait([this](boost::system::error_code error, int number) {
      if (error) return;
      auto const name = name_of_signal(number);
      if (stop_.asked()) {
        say_("! " + name + " again: making safe takes its time; it is already under way");
      } else {
        say_("! " + name + ": making the bench safe first");
        stop_.ask(StopRequest::By::signal, "stopped by " + name);
      }
      wait();
    });
  }

  boost::asio::signal_set signals_;
  StopRequest& stop_;
  std::function<void(std::string const&)> say_;
};

SignalWatch::SignalWatch(boost::asio::io_context& io, StopRequest& stop, std::function<void(std::string const&)> say)
    : body_(std::make_unique<Body>(io, stop, std::move(say))) {}

SignalWatch::~SignalWatch() = default;

void write_a_line_on_fatal_signals() {
  auto const text = version_line("benchward") + ": ended by fatal signal ";
  fatal_length = text.size() < sizeof fatal_line ? text.size() : sizeof fatal_line;
  std::memcpy(fatal_line, text.data(), fatal_length);
  for (int const number : {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT}) ::signal(number, fatal);
}

}  // namespace benchward
