// SPDX-License-Identifier: MIT
#pragma once

/// The guard as a plain object: one call a turn, time handed in. A runner gives it turns; a desk (sequencer, panel)
/// posts wishes and reads what it published; the journal takes its events. Nothing here waits for any of them, takes a
/// lock or allocates.

#include <array>
#include <atomic>
#include <cstdint>
#include <memory>
#include <vector>

#include "../../drivers/bench/bench_io.hpp"
#include "../../drivers/permit.hpp"
#include "../../limits/reading.hpp"
#include "exchange.hpp"
#include "guard.hpp"

namespace benchward {

/// What the journal is told. `from` and `state` differ for a change of state; `condition` is the number that a person
/// should hear, `conditions` all that are broken or missing then.
enum class GuardEventKind : std::uint8_t {
  state,    ///< another state was entered
  trip,     ///< first-out: the first condition that fell, with the image
  later,    ///< a further condition fell while tripped or locked out
  refused,  ///< an arming ended without energy; `conditions` were missing
  link_lost,
  link_back,
  bypass_key,  ///< the key bypass was turned on or off: results are not for record
  reset        ///< the local reset was accepted
};

/// Which silence it was that I23 found: of this program, of the link, or of the block's own scan.
struct GuardSilence {
  std::uint32_t turn_ms = 0;    ///< since the turn before
  std::uint32_t answer_ms = 0;  ///< since the last answer
  std::uint32_t scan_ms = 0;    ///< since the block's scan number last changed
};

struct GuardEvent {
  Stamp stamp;
  GuardEventKind kind = GuardEventKind::state;
  GuardState from = GuardState::unknown, state = GuardState::unknown;
  std::uint8_t condition = 0;
  guard::Mask conditions = 0;
  BenchInputs inputs;
  BenchOutputs outputs;         ///< ordered from now on
  std::uint32_t bypass_ms = 0;  ///< how long the bypass key was in, when it was taken out
  GuardSilence silence;
};

/// A trip or lockout, as numbers.
struct GuardTrip {
  bool happened = false;
  std::uint8_t first = 0, later_count = 0;
  std::array<std::uint8_t, 12> later{};
  GuardState in_state = GuardState::unknown;
  Stamp at;
  std::int32_t output_mv = 0, output_ma = 0;
  GuardSilence silence;
};

/// Everything a turn publishes.
struct GuardSnapshot {
  guard::Machine machine;
  guard::Findings findings;
  guard::Orders orders;
  GuardTrip trip;
  guard::Mask missing = 0, broken = 0;
  guard::Mask refused = 0;  ///< what was missing when the last arming ended without energy
  std::uint8_t refused_cause = 0;
  std::int32_t output_mv = 0, output_ma = 0, direct_ua = 0;
  bool output_good = false, direct_good = false, fresh = false, simulated = false, bypass_key = false;
  std::uint16_t seed_high = 0, seed_low = 0;
  std::uint32_t left_ms = 0, gate_openings = 0, energised_ms = 0;
  std::uint64_t bypassed_ms = 0;  ///< bypass key in, together since the start
  std::uint64_t turns = 0, overruns = 0, changes = 0, handled = 0;
  GuardSilence silence;
  Stamp at;
};

/// One image of the second before a trip.
struct GuardImage {
  std::int64_t monotonic_ns = 0;
  BenchInputs inputs;
};

class GuardCore {
 public:
  /// The link outlives the core. `challenge`: a random word for the simulated block to answer.
  GuardCore(guard::Declaration const& bench, BenchLink& link, std::uint16_t challenge);
  GuardCore(GuardCore const&) = delete;
  GuardCore& operator=(GuardCore const&) = delete;

  guard::Declaration const& declaration() const { return bench_; }

  // --- the runner's ---
  /// One exchange, judged, advanced, published. Never throws, never allocates.
  void turn(Stamp now) noexcept;
  void overran(std::uint64_t turns) noexcept { overruns_ += turns; }

  // --- the desk's ---
  GuardSnapshot snapshot() const { return published_.read(); }
  /// Posts a wish; it has been looked at when snapshot().handled has reached the answer. From any thread, never waits.
  std::uint64_t post(guard::Request request) noexcept;
  /// PREPARE with its declaration. From the desk's thread alone, one at a time.
  std::uint64_t post_prepare(guard::StepLimits const& step) noexcept;
  /// START with the link of the permit to come; the desk keeps `link` alive until a later step was prepared.
  std::uint64_t post_close(PermitLink* link) noexcept;

  // --- the journal's ---
  bool take_event(GuardEvent& event) { return events_.take(event); }
  std::uint64_t events_lost() const { return events_.lost(); }
  /// The images of the second before the last trip, oldest first; empty if there is none that was not taken yet.
  std::vector<GuardImage> take_frozen();

 private:
  void choose(std::uint64_t& handled, guard::Request& request) noexcept;
  void remember(std::int64_t now_ns, BenchInputs const& in) noexcept;
  void tell(GuardEventKind kind, Stamp now, GuardState from, std::uint8_t condition, guard::Mask conditions) noexcept;
  void record(Stamp now, guard::Machine const& before, guard::Request request) noexcept;
  void publish(Stamp now, std::uint64_t handled) noexcept;

  static constexpr std::size_t images = 128;

  guard::Declaration const bench_;
  BenchLink& link_;
  std::uint16_t const challenge_;

  guard::Running running_;
  guard::StepLimits step_;
  BenchInputs inputs_;
  GuardSnapshot last_;
  std::int64_t last_ms_ = 0, beat_ms_ = 0, last_image_ns_ = 0;
  std::uint16_t heartbeat_ = 0;
  bool began_ = false, was_lost_ = false, had_key_ = false;
  std::uint32_t waiting_ = 0;  ///< bit per Request not yet looked at
  std::uint64_t overruns_ = 0, bypassed_ms_ = 0, key_since_ms_ = 0;
  PermitLink* permit_ = nullptr;
  std::array<GuardImage, images> history_{};
  std::size_t history_next_ = 0, history_count_ = 0;

  std::atomic<std::uint32_t> pending_{0};
  std::atomic<std::uint64_t> posted_{0};
  std::atomic<PermitLink*> permit_slot_{nullptr};
  guard::Published<guard::StepLimits> step_slot_;
  guard::Published<GuardSnapshot> published_;
  guard::Ring<GuardEvent, 256> events_;
  std::array<GuardImage, images> frozen_{};
  std::size_t frozen_count_ = 0;
  std::atomic<bool> frozen_full_{false};
};

}  // namespace benchward
