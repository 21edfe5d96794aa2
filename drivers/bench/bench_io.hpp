// SPDX-License-Identifier: MIT
#pragma once

/// The bench I/O block as the guard sees it: one image of all inputs, one of all outputs, exchanged in one request.
/// Freestanding: fixed sizes, trivially copyable, no heap. Which register and bit carries what is data of the bench
/// document (`io`); a signal that the bench does not wire up is declared absent there and stays at its idle value here.
/// Not a safety function: the hard-wired chain is.

#include <cstdint>

namespace benchward {

inline constexpr int max_sources = 6;
inline constexpr int max_gates = 2;

/// Index of a source path: which of the bench's sources can drive the unit. One at a time.
enum class SourcePath : std::uint8_t { none, ac_source, dielectric, resistance, ratio, insulation };

struct SourceInputs {
  bool first_open = false, second_open = false;  ///< mirror contacts of the two series contactors
  bool isolated = false;                         ///< earthed on its own side, or its leads on the home hook
  bool store_discharged = false;                 ///< source energy store measured discharged
};

struct BenchInputs {
  bool stop_a = false, stop_b = false;                  ///< emergency stop, two channels: true = healthy, not pressed
  bool gate_a[max_gates] = {}, gate_b[max_gates] = {};  ///< true = closed
  bool gate_locked[max_gates] = {};
  bool chain_closed = false;  ///< hard-wired chain as read back
  bool reset_pressed = false;
  bool earth_closed = false, earth_open = false;  ///< end contacts of the earth switch
  bool resistor_on = false;                       ///< discharge resistor engaged
  bool red_ok = false, siren_ok = false;          ///< lamp and siren prove themselves by current
  bool red_lit = false, green_lit = false;        ///< as measured; green is a hardware AND, never an output of ours
  bool regulator_at_zero = false;
  bool source_healthy = false;  ///< supply phases, sequence, source's own relay
  bool voltage_absent = false;  ///< independent voltage relay says: no voltage
  bool short_closed = false;    ///< shorting contact across the winding (direct current)
  bool hooks_home = false, keys_home = false, covers_closed = false, area_searched = false, person_inside = false;
  bool two_hand = false, ground_ok = false, breaker_closed = false, bypass_key = false, crane_clear = false;
  SourceInputs source[max_sources] = {};

  std::int32_t output_mv = 0;  ///< of the selected source path, at its output, rms (dielectric: crest/sqrt2)
  std::int32_t output_ma = 0;
  std::int32_t direct_ua = 0;                     ///< direct current through the winding
  bool output_good = false, direct_good = false;  ///< transducer's own status

  std::uint16_t watchdog_ms = 0;  ///< read back; 0 = the block would hold its outputs
  std::uint16_t heartbeat_echo = 0;
  std::uint16_t owner_echo = 0;
  std::uint16_t scan = 0;  ///< counts the block's own scans: a frozen block is stale
  std::uint16_t challenge_answer = 0;
  std::uint16_t seed_high = 0, seed_low = 0;  ///< the simulated run's seed; 0 on a real block
};

struct BenchOutputs {
  bool first[max_sources] = {}, second[max_sources] = {};  ///< contactor coils, two in series a source
  bool open_earth = false;                                 ///< energise to open: loss of power closes the earth
  bool resistor = false;
  bool lock_gate = false;
  bool red = false, siren = false;
  bool ramp_permitted = false;  ///< lowered: the source runs itself down to zero
  bool open_short = false;      ///< energise to open the shorting contact
  bool trip_breaker = false;    ///< upstream breaker (contactor weld)
  std::uint16_t heartbeat = 0;
  std::uint16_t owner = 0;
  std::uint16_t watchdog_ms = 0;
  std::uint16_t live_terminals = 0;  ///< connection code: bit n = Terminal n may be live
  std::uint16_t earthed_terminals = 0;
  std::uint16_t challenge = 0;
};

/// The answer of a simulated block to a challenge word; a real block answers 0.
constexpr std::uint16_t simulated_answer(std::uint16_t challenge) {
  auto const mixed = static_cast<std::uint32_t>(challenge) * 40503u + 12345u;
  return static_cast<std::uint16_t>((mixed ^ (mixed >> 16) ^ 0x5AA5u) | 1u);  // never 0
}

/// The guard's own link. Synchronous, owned by the guard's runner alone; bounded by its own time limit.
class BenchLink {
 public:
  struct Exchange {
    bool ok = false;  ///< false: no answer in time, or not a possible one; `inputs` is then the last good image
    BenchInputs inputs;
    std::int64_t age_ns = 0;   ///< of `inputs`
    std::int64_t took_ns = 0;  ///< until the answer, on the clock of `now_ns`
  };
  BenchLink() = default;
  BenchLink(BenchLink const&) = delete;
  BenchLink& operator=(BenchLink const&) = delete;
  virtual ~BenchLink() = default;
  virtual Exchange exchange(BenchOutputs const& outputs, std::int64_t now_ns) = 0;
};

}  // namespace benchward
