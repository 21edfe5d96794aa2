// SPDX-License-Identifier: MIT
// The guard on a Cortex-M3: prints the table that the host prints, and what it needs of memory.
#include "machines.inc"
#include "table.hpp"

using namespace benchward;
using namespace benchward::guard;

extern "C" {
extern char stack_top[];
void* memcpy(void* to, void const* from, unsigned n) {
  auto* t = static_cast<unsigned char volatile*>(to);
  auto const* f = static_cast<unsigned char const*>(from);
  while (n-- > 0) *t++ = *f++;
  return to;
}
void* memset(void* to, int value, unsigned n) {
  auto* t = static_cast<unsigned char volatile*>(to);
  while (n-- > 0) *t++ = static_cast<unsigned char>(value);
  return to;
}
}

namespace {

// Semihosting (Arm's published interface): operation in r0, argument in r1, breakpoint 0xAB.
int host(int operation, void const* argument) {
  register int r0 __asm__("r0") = operation;
  register void const* r1 __asm__("r1") = argument;
  __asm__ volatile("bkpt 0xAB" : "+r"(r0) : "r"(r1) : "memory");
  return r0;
}
void say(char const* text) { host(0x04, text); }
void leave(bool well) { host(0x18, reinterpret_cast<void const*>(well ? 0x20026 : 0x20023)); }
void say_number(std::uint32_t value, unsigned base) {
  char text[12];
  auto* at = text + 11;
  *at = 0;
  do {
    *--at = "0123456789abcdef"[value % base];
    value /= base;
  } while (value != 0);
  say(at);
}

/// Bytes of stack that one turn needs: painted below, then looked at.
[[gnu::noinline]] std::uint32_t stack_of_a_turn(Running& running, BenchInputs const& in, Declaration const& bench,
                                                StepLimits const& step) {
  constexpr std::uint32_t depth = 4096, mark = 0xA5A5A5A5u;
  std::uint32_t volatile* here;
  __asm__ volatile("mov %0, sp" : "=r"(here));
  for (std::uint32_t n = 1; n <= depth / 4; ++n) here[-static_cast<int>(n)] = mark;
  running = turn(running, in, {true, 0, 10}, Request::none, 1, bench, step);
  std::uint32_t n = depth / 4;
  while (n > 0 && here[-static_cast<int>(n)] == mark) --n;
  return 4 * n;
}

void run() {
  for (unsigned n = 0; n < sizeof(machines) / sizeof(machines[0]); ++n) {
    say("state ");
    say_number(machines[n], 16);
    say(" ");
    say_number(table::line_of(table::machine_of(machines[n])), 16);
    say("\n");
  }
  std::uint32_t met = 0;
  for (std::uint32_t seed = 1; seed <= turn_seeds; ++seed) {
    say("turns ");
    say_number(seed, 10);
    say(" ");
    say_number(table::turns_of(seed, turns_a_seed, met), 16);
    say("\n");
  }
  say("states met by whole turns ");
  say_number(met, 16);
  say("\n");

  Running running;
  BenchInputs in;
  Declaration bench;
  StepLimits step;
  auto const stack = stack_of_a_turn(running, in, bench, step);
  say("memory: state ");
  say_number(sizeof(Running), 10);
  say(", image ");
  say_number(sizeof(BenchInputs) + sizeof(BenchOutputs), 10);
  say(", declarations ");
  say_number(sizeof(Declaration) + sizeof(StepLimits), 10);
  say(", stack of a turn ");
  say_number(stack, 10);
  say(", together ");
  say_number(
      sizeof(Running) + sizeof(BenchInputs) + sizeof(BenchOutputs) + sizeof(Declaration) + sizeof(StepLimits) + stack,
      10);
  say(" bytes\n");
}

}  // namespace

extern "C" {
[[noreturn]] void reset() {
  run();
  leave(true);
  for (;;) {
  }
}
[[noreturn]] void fault() {
  say("fault\n");
  leave(false);
  for (;;) {
  }
}
using Vector = void (*)();
[[gnu::section(".vectors"), gnu::used]] Vector const vectors[16] = {reinterpret_cast<Vector>(stack_top),
                                                                    reset,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault,
                                                                    fault};
}
