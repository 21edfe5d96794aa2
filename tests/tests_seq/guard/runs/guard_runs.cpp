// SPDX-License-Identifier: MIT
// The guard against the simulated bench in virtual time, many random runs of one energised step each. Exit 1 if any run
// has a dangerous moment that the controller could have prevented, shows something as safe that is not, or does not
// come to rest.
#include <atomic>
#include <charconv>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <map>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include <fmt/format.h>

#include "blame.hpp"
#include "random_run.hpp"
#include "tests_seq/guard/words.hpp"

using namespace benchward;
using namespace benchward::guard::runs;

namespace {

struct Options {
  std::uint64_t first = 1, runs = 500, jobs = 1;
  bool tell = false;
};

struct Tally {
  std::uint64_t runs = 0, energised = 0, quiet = 0, turns = 0;
  double seconds = 0.0;
  std::map<int, std::uint64_t> ends;
  std::map<int, std::uint64_t> first;
  std::map<int, std::uint64_t> states;
  std::map<std::string, std::uint64_t> excused, had;
  std::vector<std::string> bad;  ///< seed and what
  std::uint64_t with_moments = 0;
};

void tell(RunReport const& run) {
  fmt::print("seed {}: {}\n{}\n", run.seed, run.scene, text_of(run.script));
  for (auto const& one : run.had) fmt::print("  happened: {}\n", one);
  fmt::print("  energised {}, rest {}, killed {}, end state {}, first I{:02d}, {:.1f} s\n", run.energised,
             run.came_to_rest, run.killed, static_cast<int>(run.at_end), run.first_condition, run.seconds);
  for (auto const& one : run.moments) fmt::print("  moment {}\n", one);
  for (auto const& one : run.false_safe) fmt::print("  false safe {}\n", one);
}

void add(Tally& tally, RunReport const& run) {
  ++tally.runs;
  tally.energised += run.energised ? 1 : 0;
  tally.quiet += run.had.empty() && run.script.events.empty() ? 1 : 0;
  tally.turns += run.turns;
  tally.seconds += run.seconds;
  ++tally.ends[run.killed ? -1 : static_cast<int>(run.at_end)];
  if (run.first_condition != 0) ++tally.first[run.first_condition];
  for (int state = 0; state < guard_state_count; ++state) {
    tally.states[state] += run.visited[static_cast<std::size_t>(state)] ? 1 : 0;
  }
  for (auto const& one : run.had) {
    if (one.find(',') == std::string::npos) ++tally.had[one];
  }
  tally.with_moments += run.moments.empty() ? 0 : 1;
  for (auto const& moment : run.moments) {
    auto const excuse = excuse_of(moment, run.had);
    if (excuse.empty()) {
      tally.bad.push_back(fmt::format("seed {}: dangerous moment {}", run.seed, moment));
    } else {
      ++tally.excused[excuse];
    }
  }
  for (auto const& one : run.false_safe) tally.bad.push_back(fmt::format("seed {}: {}", run.seed, one));
  if (!run.came_to_rest) {
    tally.bad.push_back(fmt::format("seed {}: not at rest after {:.0f} s, state {}", run.seed, run.seconds,
                                    static_cast<int>(run.at_end)));
  }
}

bool number(char const* text, std::uint64_t& value) {
  std::string_view const all(text);
  auto const read = std::from_chars(all.data(), all.data() + all.size(), value);
  return read.ec == std::errc() && read.ptr == all.data() + all.size();
}

void print(Tally const& tally, double spent) {
  fmt::print("guard runs: {} runs, {} energised, {} with nothing wrong; {:.0f} simulated hours, {} turns, {:.0f} s\n",
             tally.runs, tally.energised, tally.quiet, tally.seconds / 3600.0, tally.turns, spent);
  fmt::print("ended: ");
  for (auto const& [state, count] : tally.ends) {
    fmt::print("{} {}; ", state < 0 ? std::string_view("program killed") : words_of(static_cast<GuardState>(state)),
               count);
  }
  fmt::print("\nfirst cause of a trip or lockout: ");
  for (auto const& [condition, count] : tally.first) fmt::print("I{:02d} {}; ", condition, count);
  fmt::print("\nwent wrong in so many runs: ");
  for (auto const& [name, count] : tally.had) fmt::print("{} {}; ", name, count);
  fmt::print("\nruns with a dangerous moment: {}; moments that no controller could prevent:\n", tally.with_moments);
  for (auto const& [name, count] : tally.excused) fmt::print("  {:6} {}\n", count, name);
  fmt::print("preventable moments, false \"safe\", runs without rest: {}\n", tally.bad.size());
  for (std::size_t n = 0; n < tally.bad.size() && n < 40; ++n) fmt::print("  {}\n", tally.bad[n]);
  if (tally.bad.empty() && tally.energised > 0) {
    fmt::print(
        "95 % upper bound on the share of energised runs with one: {:.2g} (zero in {}); of the modelled faults,"
        " mistakes and timings only. No safety integrity level is claimed.\n",
        1.0 - std::pow(0.05, 1.0 / static_cast<double>(tally.energised)), tally.energised);
  }
}

}  // namespace

int main(int argc, char** argv) {
  Options options;
  for (int n = 1; n < argc; ++n) {
    std::string const word = argv[n];
    bool good = n + 1 < argc;
    if (word == "--runs") {
      good = good && number(argv[++n], options.runs);
    } else if (word == "--first") {
      good = good && number(argv[++n], options.first);
    } else if (word == "--jobs") {
      good = good && number(argv[++n], options.jobs) && options.jobs >= 1;
    } else if (word == "--tell") {
      options.tell = good = true;
    } else {
      good = false;
    }
    if (!good) {
      fmt::print(stderr, "usage: guard_runs [--first SEED] [--runs N] [--jobs N] [--tell]\n");
      return 2;
    }
  }
  auto const began = std::chrono::steady_clock::now();  // for the line printed below
  auto const stock = read_stock(BENCHWARD_SOURCE_DIR);
  std::atomic<std::uint64_t> next{0};
  std::mutex mutex;
  Tally tally;
  auto const work = [&] {
    for (auto n = next.fetch_add(1); n < options.runs; n = next.fetch_add(1)) {
      auto const run = one_run(stock, options.first + n);
      std::lock_guard const hold(mutex);
      if (options.tell) tell(run);
      add(tally, run);
    }
  };
  std::vector<std::thread> threads;
  for (std::uint64_t job = 1; job < options.jobs; ++job) threads.emplace_back(work);
  work();
  for (auto& thread : threads) thread.join();
  std::chrono::duration<double> const spent = std::chrono::steady_clock::now() - began;
  print(tally, spent.count());
  return tally.bad.empty() && tally.energised > 0 ? 0 : 1;
}
