// SPDX-License-Identifier: MIT
#include "firmware_host/operator/terminal_operator.hpp"

#include <fmt/core.h>
#include <unistd.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/streambuf.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <istream>
#include <utility>

#include "tests_seq/procedures/step_stopped.hpp"

namespace benchward {
namespace {

namespace asio = boost::asio;

std::string joined(std::vector<std::string> const& words, char const* between) {
  std::string text;
  for (auto const& word : words) text += (text.empty() ? "" : between) + word;
  return text;
}

std::string volts_in_words(double volts_to_earth) {
  return volts_to_earth >= 1000.0 ? fmt::format("{:.3g} kV", volts_to_earth / 1000.0)
                                  : fmt::format("{:.3g} V", volts_to_earth);
}

class TerminalOperator final : public Operator {
 public:
  TerminalOperator(asio::io_context& io, std::string person, std::function<void(std::string const&)> say)
      : input_(io, ::dup(STDIN_FILENO)), person_(std::move(person)), say_(std::move(say)) {}

  std::string person() const override { return person_; }

  Task<bool> connect(Connection const& connection, int step, int of) override {
    say_(fmt::format("\nStep {} of {}: connect", step, of));
    say_(connection_in_words(connection));
    say_("Leave the area and close the gate when it is done.");
    Question question{"connect.done", "Connected as shown, area empty, gate closed?", {"done", "stop"}};
    auto const answer = co_await ask(std::move(question));
    co_return answer == "done";
  }

  Task<bool> set_tap(int position) override {
    Question question{"tap.set",
                      fmt::format("Set the tap changer to position {}, leave and close the gate.", position),
                      {"done", "stop"}};
    auto const answer = co_await ask(std::move(question));
    co_return answer == "done";
  }

  Task<bool> start(Connection const& connection) override {
    Question question{"start",
                      fmt::format("Ready to energise: {}. Highest voltage at any terminal {}.", connection.name,
                                  volts_in_words(connection.worst_volts)),
                      {"start", "stop"}};
    auto const answer = co_await ask(std::move(question));
    co_return answer == "start";
  }

  Task<std::string> ask(Question question) override {
    for (;;) {
      say_(question.text);
      if (!question.choices.empty()) say_("  type one of: " + joined(question.choices, ", "));
      auto const line = co_await read_line();
      if (gone_) {
        // Where the question has no "stop", no answer at all may be made up: a hand check would be kept as failed.
        for (auto const& choice : question.choices) {
          if (choice == "stop") co_return choice;
        }
        throw StepStopped(StopCause::person, "nobody answers any more: the input has ended");
      }
      if (question.choices.empty() && !line.empty()) co_return line;
      for (auto const& choice : question.choices) {
        if (line == choice) co_return line;
      }
      say_(line.empty() ? "An empty answer is no answer." : fmt::format("\"{}\" is none of them.", line));
    }
  }

  Task<bool> acknowledge_trip(std::string cause) override {
    Question question{
        "trip.acknowledge",
        fmt::format("Tripped: {}. Find the cause. When it is gone, press and release the local reset.", cause),
        {"acknowledge", "stop"}};
    auto const answer = co_await ask(std::move(question));
    co_return answer == "acknowledge";
  }

  Task<bool> make_as_shipped(Connection const& as_shipped) override {
    say_("\nPut the unit as it ships:");
    say_(connection_in_words(as_shipped));
    Question question{"as-shipped.done", "Done as shown?", {"done", "stop"}};
    auto const answer = co_await ask(std::move(question));
    co_return answer == "done";
  }

 private:
  Task<std::string> read_line() {
    boost::system::error_code error;
    co_await asio::async_read_until(input_, buffer_, '\n', asio::redirect_error(asio::use_awaitable, error));
    if (error) {
      gone_ = true;
      co_return std::string();
    }
    std::istream stream(&buffer_);
    std::string line;
    std::getline(stream, line);
    while (!line.empty() && (line.back() == '\r' || line.back() == ' ')) line.pop_back();
    co_return line;
  }

  asio::posix::stream_descriptor input_;
  asio::streambuf buffer_{4096};
  std::string person_;
  std::function<void(std::string const&)> say_;
  bool gone_ = false;  ///< no person is there any more
};

}  // namespace

std::unique_ptr<Operator> terminal_operator(asio::io_context& io, std::string person,
                                            std::function<void(std::string const&)> say) {
  return std::make_unique<TerminalOperator>(io, std::move(person), std::move(say));
}

std::string connection_in_words(Connection const& connection) {
  std::string text = "  " + connection.name;
  auto const add = [&text](std::string const& line) { text += "\n    " + line; };
  for (auto const& leads : connection.feed) {
    if (!leads.empty()) add(fmt::format("feed   {} ({})", joined(leads, ", "), connection.instrument));
  }
  for (auto const& leads : connection.measure) {
    if (!leads.empty()) add("read   " + joined(leads, ", "));
  }
  for (auto const& list : connection.tie) add("tie    " + joined(list, " to "));
  for (auto const& list : connection.short_bar) add("short  " + joined(list, ", ") + " with the bar, bolts tight");
  if (!connection.earth.empty()) add("earth  " + joined(connection.earth, ", "));
  if (!connection.open.empty()) add("open   " + joined(connection.open, ", ") + " (insulated, clear, treat as live)");
  for (auto const& accessory : connection.accessories) add("set    " + accessory.name + ": " + accessory.state);
  if (connection.tap) add(fmt::format("tap    position {}", *connection.tap));
  std::string live, unclipped;
  for (auto const& terminal : connection.live) {
    auto& list = terminal.clipped ? live : unclipped;
    list += (list.empty() ? "" : ", ") + terminal.terminal + " " + volts_in_words(terminal.volts_to_earth);
  }
  if (!live.empty()) add("LIVE   " + live);
  if (!unclipped.empty()) add("LIVE though nothing is clipped to it: " + unclipped);
  return text;
}

}  // namespace benchward
