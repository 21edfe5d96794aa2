// SPDX-License-Identifier: MIT
#include "firmware_host/terminal/terminal_view.hpp"

#include <fmt/core.h>
#include <unistd.h>

#include <algorithm>

#include "firmware_host/operator/terminal_operator.hpp"
#include "firmware_host/record/result_table.hpp"
#include "tests_seq/guard/words.hpp"

namespace benchward {
namespace {

// In a pipe one reading line a while is enough to see that it lives; bench time.
constexpr std::int64_t plain_reading_every_ns = 5'000'000'000;
constexpr std::int64_t live_line_every_ns = 100'000'000;

std::string spaced(std::string word) {
  std::replace(word.begin(), word.end(), '_', ' ');
  return word;
}

void write_text(int descriptor, std::string const& text) {
  std::size_t written = 0;
  while (written < text.size()) {
    auto const n = ::write(descriptor, text.data() + written, text.size() - written);
    if (n <= 0) return;  // nobody looks any more
    written += static_cast<std::size_t>(n);
  }
}

}  // namespace

std::string guard_in_words(GuardStatus const& status) {
  std::string text(words_of(status.state));
  if (status.left.in(seconds) > 0.05) text += fmt::format(" ({:.0f} s left)", status.left.in(seconds));
  return text;
}

TerminalView::TerminalView(Where where, Clock const& clock, bool)
    : descriptor_(where == Where::standard_output ? STDOUT_FILENO : STDERR_FILENO), clock_(clock) {
  live_ = ::isatty(descriptor_) == 1;
}

TerminalView::~TerminalView() { wipe_live(); }

void TerminalView::wipe_live() {
  if (shown_) write_text(descriptor_, "\r\x1b[K");
  shown_ = false;
}

void TerminalView::show_live() {
  if (!live_) return;
  auto const now = clock_.now().monotonic_ns;
  if (shown_ && now - last_shown_ns_ < live_line_every_ns) return;
  last_shown_ns_ = now;
  std::string line = step_ + "  " + guard_;
  if (!reading_.empty()) line += "  " + reading_;
  if (!hold_.empty()) line += "  " + hold_;
  if (!missing_.empty()) line += "  missing: " + missing_;
  constexpr std::size_t widest = 150;
  if (line.size() > widest) line.resize(widest);
  write_text(descriptor_, "\r\x1b[K" + line);
  shown_ = true;
}

void TerminalView::say(std::string const& words) {
  wipe_live();
  write_text(descriptor_, words + "\n");
  show_live();
}

void TerminalView::step_started(int step, int of, PlanStep const& plan_step) {
  step_ = fmt::format("[{}/{}] {}", step, of, spaced(plan_step.test));
  reading_.clear();
  hold_.clear();
  last_reading_ns_ = -1;
  say(fmt::format("\nStep {} of {}: {}  (about {:.1f} min)", step, of, spaced(plan_step.test),
                  plan_step.predicted.in(minutes)));
  if (!plan_step.connection.name.empty()) say(connection_in_words(plan_step.connection));
}

void TerminalView::act(std::string const& words) { say("  > " + words); }

void TerminalView::reading(std::string const& what, double value, std::string const& unit) {
  reading_ = fmt::format("{} {} {}", what, number_in_words(value, 0.0), unit);
  auto const now = clock_.now().monotonic_ns;
  if (live_) {
    show_live();
  } else if (last_reading_ns_ < 0 || now - last_reading_ns_ >= plain_reading_every_ns || what != last_reading_name_) {
    last_reading_ns_ = now;
    last_reading_name_ = what;
    say("    " + reading_ + (hold_.empty() ? "" : "  " + hold_));
  }
}

void TerminalView::hold_left(Duration left) {
  hold_ = left.in(seconds) > 0.0 ? fmt::format("{:.0f} s left", left.in(seconds)) : std::string();
  show_live();
}

void TerminalView::guard(GuardStatus const& status) {
  auto const words = guard_in_words(status);
  std::string missing;
  for (auto const& condition : status.missing) missing += (missing.empty() ? "" : "; ") + condition.words;
  bool const changed =
      std::string(words_of(status.state)) != guard_.substr(0, words_of(status.state).size()) || missing != missing_;
  guard_ = words;
  missing_ = missing;
  if (status.trip.happened && (status.state == GuardState::tripped || status.state == GuardState::lockout) && changed) {
    say(fmt::format("  ! {}: {} (I{:02})", words, status.trip.first.words, status.trip.first.number));
  } else if (!live_ && changed) {
    say("    guard: " + words + (missing.empty() ? "" : "; missing: " + missing));
  } else {
    show_live();
  }
}

void TerminalView::evaluated(Evaluation const& evaluation) {
  if (evaluation.invalid_reason) say("  no verdict: " + *evaluation.invalid_reason);
  for (auto const& result : evaluation.results) {
    if (result.verdict == Verdict::not_judged) continue;
    auto const what = quantity_in_words(result);
    say(fmt::format("  {}: {} {}  limit {}  margin {}  {}{}", what,
                    number_in_words(result.value, result.uncertainty ? result.uncertainty->standard : 0.0), result.unit,
                    result.limit ? limit_in_words(*result.limit) : "-", margin_in_words(result),
                    verdict_in_words(result.verdict), result.remark.empty() ? "" : "  (" + result.remark + ")"));
  }
  for (auto const& words : evaluation.warnings) say("  warning: " + words);
}

void TerminalView::step_ended(int, std::string const& how, std::string const& words) {
  if (how == "finished") return;
  say(fmt::format("  step {}{}", how, words.empty() ? "" : ": " + words));
}

}  // namespace benchward
