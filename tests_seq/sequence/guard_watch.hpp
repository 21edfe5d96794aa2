// SPDX-License-Identifier: MIT
#pragma once

/// Beside a run: shows every change of the guard to the progress sink, and keeps the guard's own events in the journal.
/// The guard never waits for either: it posts to its bounded ring, and what the ring could not take is itself an event.

#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "../../drivers/time/clock.hpp"
#include "../guard/desk.hpp"
#include "../journal/journal.hpp"
#include "../procedures/progress.hpp"

namespace benchward {

class GuardCore;

/// The guard's next event, or nothing. Called on the io_context's thread alone.
using GuardEventSource = std::function<std::optional<GuardNotice>()>;

/// Events of a core, in the journal's words; of a trip with the images of the second before it. The core outlives it.
GuardEventSource events_of(GuardCore& core);

class GuardWatch {
 public:
  /// `attempt`: the id that the events belong to now; empty between attempts. All of them outlive the watch.
  GuardWatch(GuardDesk const& desk, GuardEventSource source, Clock& clock, Journal& journal, ProgressSink& progress,
             std::function<std::string()> attempt);

  /// Runs until `stop()`, at most `period` longer. A journal that fails is the run's to notice: it is broken for all.
  Task<void> run(Duration period = milliseconds(100));
  void stop() { stopped_ = true; }
  /// Keeps what is there now: at the end of a run, before the process ends.
  Task<void> drain();

 private:
  GuardDesk const& desk_;
  GuardEventSource source_;
  Clock& clock_;
  Journal& journal_;
  ProgressSink& progress_;
  std::function<std::string()> attempt_;
  std::uint64_t lost_ = 0;
  bool stopped_ = false;
};

}  // namespace benchward
