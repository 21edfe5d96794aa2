// SPDX-License-Identifier: MIT
// From a gate bit that changes in the I/O block to the arrival there of "coils off", at scale 1 on the loopback: the
// guard as the station runs it, beside a bare loop (clock_nanosleep, one libmodbus read, one write) and the machine's
// own scheduling gaps, with the other buses saturated and four busy processes. Blocks of trips alternate.
#include <algorithm>
#include <atomic>
#include <charconv>
#include <cmath>
#include <csignal>
#include <cstring>
#include <memory>
#include <random>
#include <thread>
#include <vector>

#include <fmt/format.h>
#include <linux/capability.h>
#include <modbus.h>
#include <sched.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "block.hpp"
#include "drivers/bench/bench_document.hpp"
#include "drivers/instruments/bench_io_link.hpp"
#include "tests_seq/guard/declaration.hpp"
#include "tests_seq/guard/runner.hpp"

using namespace benchward;
using namespace benchward::latency;

namespace {

using S = GuardState;
constexpr std::int64_t ms = 1'000'000, period_ns = 10 * ms;

void sleep_to(std::int64_t ns) {
  timespec until{};
  until.tv_sec = static_cast<time_t>(ns / 1'000'000'000);
  until.tv_nsec = static_cast<long>(ns % 1'000'000'000);
  while (::clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, nullptr) == EINTR) {
  }
}

class Wall final : public Clock, public WakeClock {
 public:
  Stamp now() const override { return {now_ns(), now_ns() / 1000}; }
  double scale() const noexcept override { return 1.0; }
  Task<void> wait_until(std::int64_t) override { co_return; }  // no coroutine waits here
  std::int64_t wall_ns() const noexcept override { return now_ns(); }
  Stamp bench_now() const noexcept override { return {now_ns(), now_ns() / 1000}; }
  void sleep_until(std::int64_t wall, std::atomic<bool> const& stop) noexcept override {
    // Of the guard's thread, from one sleep to the next: its turn and its wait for the link, and the machine's time.
    thread_local std::int64_t cpu_before = -1, wall_before = 0;
    timespec spent{};
    ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &spent);
    auto const cpu = static_cast<std::int64_t>(spent.tv_sec) * 1'000'000'000 + spent.tv_nsec, now = now_ns();
    if (cpu_before >= 0) {
      cpu_ns_ += cpu - cpu_before;
      wall_ns_ += now - wall_before;
      ++turns_;
    }
    cpu_before = cpu;
    wall_before = now;
    target_ns_.store(wall);
    if (!stop.load()) sleep_to(wall);
  }
  /// The guard's next wake-up.
  std::int64_t target_ns() const { return target_ns_.load(); }
  std::string share() const {
    return fmt::format("{:.2f} % of a core, {:.1f} us a turn with its exchange, {} turns",
                       100.0 * static_cast<double>(cpu_ns_.load()) / static_cast<double>(wall_ns_.load()),
                       1e-3 * static_cast<double>(cpu_ns_.load()) / static_cast<double>(turns_.load()), turns_.load());
  }

 private:
  std::atomic<std::int64_t> cpu_ns_{0}, wall_ns_{0}, turns_{0}, target_ns_{0};
};

/// Where in the period the gate opens: the same evenly spread phases for the guard and the bare loop (multiples of the
/// golden section), so that medians of 10^3 instants do not differ by chance alone; which period is drawn.
std::int64_t gate_instant(std::int64_t next_wake_ns, int trip, std::mt19937_64& random) {
  double const golden = 0.6180339887498949 * trip;
  auto const phase = static_cast<std::int64_t>((golden - std::floor(golden)) * static_cast<double>(period_ns));
  return next_wake_ns + static_cast<std::int64_t>(3 + random() % 5) * period_ns + phase;
}

/// One arming, one trip. Nanoseconds, or -1 where the guard did not get there.
std::int64_t guard_trip(Bench const& bench, Block& block, Wall& wall, int trip, std::mt19937_64& random, bool realtime,
                        std::uint64_t& overruns) {
  block.begin();
  auto link = *bench.link(bench.io.link);
  link.address = block.address();
  BenchIoLink io(bench.io, link, wall);
  GuardCore core(guard_declaration(bench, static_cast<std::uint16_t>(random() | 1u)), io, 7);
  ThreadGuard guard(core, wall, wall, bench.guard.period);
  auto const rights = guard.start();
  if (realtime && !rights.realtime) throw std::runtime_error(rights.words);
  StepEnergy step;
  step.test = "latency";
  step.source = SourcePath::ac_source;
  step.set = volts(20);
  step.ceiling = volts(25);
  step.trip_current = amperes(5);
  step.longest = seconds(20);
  auto const limits = step_limits(step, core.declaration());
  if (!limits.ok()) throw std::runtime_error(limits.error());
  auto const until = [&](S state, guard::Stage stage) {
    auto const end = now_ns() + 5000 * ms;
    while (now_ns() < end) {
      auto const seen = core.snapshot();
      if (seen.machine.at == state && seen.machine.stage == stage) return true;
      sleep_to(now_ns() + ms);
    }
    auto const seen = core.snapshot();
    fmt::print(stderr, "not reached: state {} while in {}, missing {:x}, trip I{:02d}\n", static_cast<int>(state),
               static_cast<int>(seen.machine.at), seen.missing, seen.trip.first);
    return false;
  };
  auto permit = std::make_shared<PermitLink>();
  if (!until(S::safe_earthed, guard::Stage::first)) return -1;
  core.post_prepare(limits.value());
  if (!until(S::armed, guard::Stage::second)) return -1;
  core.post_close(permit.get());
  if (!until(S::ramp_up, guard::Stage::first)) return -1;
  auto const at = gate_instant(wall.target_ns(), trip, random);
  block.open_gate_at(at);
  auto const end = at + 3000 * ms;
  while (block.latency_ns() < 0 && now_ns() < end) sleep_to(now_ns() + 5 * ms);
  auto const first = core.snapshot().trip.first;
  overruns += core.snapshot().overruns;
  return first == 2 || first == 3 ? block.latency_ns() : -1;
}

/// The same by a loop that knows nothing but two registers.
std::vector<std::int64_t> bare_trips(Bench const& bench, Block& block, int trip, std::mt19937_64& random, int count,
                                     bool realtime) {
  std::vector<std::int64_t> list;
  std::thread loop([&] {
    if (realtime && !become_realtime(19)) throw std::runtime_error("no real-time priority for the bare loop");
    auto* context = modbus_new_tcp("127.0.0.1", block.port());
    modbus_set_slave(context, 1);
    if (modbus_connect(context) != 0) throw std::runtime_error("the bare loop cannot connect");
    auto const gate = bench.io.inputs.at("gate_a.0");
    auto const first = bench.io.outputs.at("first.1"), second = bench.io.outputs.at("second.1");
    auto const coils = static_cast<std::uint16_t>(1u << first.bit.value() | 1u << second.bit.value());
    if (first.word != second.word) throw std::runtime_error("both coils are expected in one word");
    std::vector<std::uint16_t> in(static_cast<std::size_t>(bench.io.input_words)),
        out(static_cast<std::size_t>(bench.io.output_words));
    auto next = now_ns();
    for (int n = 0; n < count; ++n) {
      block.begin();
      out.at(static_cast<std::size_t>(first.word)) = coils;
      modbus_write_registers(context, bench.io.output_address, bench.io.output_words, out.data());
      block.open_gate_at(gate_instant(next, trip + n, random));
      while (block.latency_ns() < 0) {
        next += period_ns;
        if (next < now_ns()) next = now_ns() + period_ns;
        sleep_to(next);
        modbus_read_registers(context, bench.io.input_address, bench.io.input_words, in.data());
        bool const closed = (in.at(static_cast<std::size_t>(gate.word)) >> gate.bit.value() & 1) != 0;
        out.at(static_cast<std::size_t>(first.word)) = closed ? coils : std::uint16_t{0};
        modbus_write_registers(context, bench.io.output_address, bench.io.output_words, out.data());
      }
      list.push_back(block.latency_ns());
    }
    modbus_close(context);
    modbus_free(context);
  });
  loop.join();
  return list;
}

/// How late the machine wakes a thread that sleeps a period.
std::vector<std::int64_t> gaps(int count, bool realtime) {
  std::vector<std::int64_t> list;
  std::thread([&] {
    if (realtime) become_realtime(19);
    auto next = now_ns() + period_ns;
    for (int n = 0; n < count; ++n, next += period_ns) {
      sleep_to(next);
      list.push_back(now_ns() - next);
      if (next + period_ns < now_ns()) next = now_ns();
    }
  }).join();
  return list;
}

std::string figures(std::vector<std::int64_t> list) {
  if (list.empty()) return "none";
  std::sort(list.begin(), list.end());
  auto const at = [&](double share) {
    auto const n = static_cast<std::size_t>(std::ceil(share * static_cast<double>(list.size()))) - 1;
    return static_cast<double>(list[std::min(n, list.size() - 1)]) * 1e-6;
  };
  return fmt::format("p50 {:7.3f}  p99 {:7.3f}  p99.9 {:7.3f}  max {:7.3f} ms of {}", at(0.5), at(0.99), at(0.999),
                     static_cast<double>(list.back()) * 1e-6, list.size());
}

/// Root may set any priority: this thread, and those that it starts, from now on not.
void give_up_nice() {
  __user_cap_header_struct header{_LINUX_CAPABILITY_VERSION_3, 0};
  __user_cap_data_struct data[2] = {};
  if (::syscall(SYS_capget, &header, data) != 0) return;
  data[0].effective &= ~(1u << CAP_SYS_NICE);
  data[0].permitted &= ~(1u << CAP_SYS_NICE);
  static_cast<void>(::syscall(SYS_capset, &header, data));
}

template <class Work>
pid_t forked(Work const& work) {
  auto const child = ::fork();
  if (child == 0) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    work();
    std::_Exit(0);
  }
  return child;
}

}  // namespace

int main(int argc, char** argv) {
  int trips = 1000, busy = 4;
  for (int n = 1; n + 1 < argc; n += 2) {
    std::string_view const word = argv[n], value = argv[n + 1];
    int& into = word == "--busy" ? busy : trips;
    if ((word != "--trips" && word != "--busy") ||
        std::from_chars(value.data(), value.data() + value.size(), into).ec != std::errc()) {
      fmt::print(stderr, "usage: guard_latency [--trips N] [--busy PROCESSES]\n");
      return 2;
    }
  }
  auto const bench = read_bench(BENCHWARD_SOURCE_DIR "/tests/benchmarks/latency/bench.json");
  std::vector<pid_t> children;
  Block other(bench, false);  // the other buses' device
  for (int n = 0; n < busy; ++n) {
    children.push_back(forked([] {
      for (double volatile x = 1.0;;) x = std::sqrt(x + 1.0);
    }));
  }
  children.push_back(forked([&] {  // the other buses: requests as fast as they are answered
    auto* context = modbus_new_tcp("127.0.0.1", other.port());
    modbus_set_slave(context, 1);
    std::uint16_t words[16];
    if (modbus_connect(context) == 0) {
      while (modbus_read_registers(context, 0, 16, words) > 0) {
      }
    }
  }));
  int status = 0;
  for (bool const realtime : {true, false}) {
    Block block(bench, true);
    Wall wall;
    std::mt19937_64 random(20);
    std::vector<std::int64_t> guard, bare, late;
    std::uint64_t overruns = 0;
    int missed = 0;
    rlimit const none{0, 0};
    if (!realtime) {  // the guard asks and is refused
      ::setrlimit(RLIMIT_RTPRIO, &none);
      give_up_nice();
    }
    try {
      for (int done = 0; done < trips;) {
        int const now = std::min(100, trips - done);
        auto const some = bare_trips(bench, block, done, random, now, realtime);
        bare.insert(bare.end(), some.begin(), some.end());
        auto const more = gaps(now, realtime);
        late.insert(late.end(), more.begin(), more.end());
        for (int n = 0; n < now; ++n) {
          auto const one = guard_trip(bench, block, wall, done + n, random, realtime, overruns);
          if (one < 0) {
            ++missed;
          } else {
            guard.push_back(one);
          }
        }
        done += now;
      }
    } catch (std::exception const& error) {
      fmt::print("{} real-time priority: not measured: {}\n", realtime ? "with" : "without", error.what());
      status = 1;
      continue;
    }
    fmt::print("{} real-time priority (block's own: {}), {} busy processes, period 10 ms\n",
               realtime ? "with" : "without", block.realtime() ? "real-time" : "not", busy);
    fmt::print("  guard      {}\n  bare loop  {}\n  wake-ups   {}\n", figures(guard), figures(bare), figures(late));
    fmt::print("  guard's turns missed {}; armings that did not end in a gate trip {}; requests to the other bus {}\n",
               overruns, missed, other.requests());
    fmt::print("  guard's thread at 10 ms: {}\n", wall.share());
    std::sort(guard.begin(), guard.end());
    std::sort(bare.begin(), bare.end());
    if (!guard.empty() && !bare.empty()) {
      auto const ratio = [&](double share) {
        auto const of = [share](std::vector<std::int64_t> const& list) {
          return static_cast<double>(list[static_cast<std::size_t>(share * static_cast<double>(list.size() - 1))]);
        };
        return of(guard) / of(bare);
      };
      fmt::print("  guard over bare loop: p50 {:.3f}, p99 {:.3f}\n", ratio(0.5), ratio(0.99));
    }
  }
  for (auto const child : children) {
    ::kill(child, SIGKILL);
    ::waitpid(child, nullptr, 0);
  }
  return status;
}
