// SPDX-License-Identifier: MIT
#pragma once

/// The bench's interlock as wires, relays and springs: it acts whatever the program does. The gate, the emergency stop
/// and the I/O block's watchdog drop every contactor by themselves; the earth switch and the shorting contact close by
/// spring; the green lamp is an AND of contacts. The I/O block's image of inputs and outputs lives here too.
/// A model for tests, not a design for a bench.

#include <array>
#include <cstdint>

#include "../../drivers/bench/bench.hpp"
#include "../../drivers/bench/bench_io.hpp"
#include "../faults/fault_set.hpp"
#include "contactor.hpp"
#include "simulation_parameters.hpp"

namespace benchward::sim {

class InterlockHardware {
 public:
  InterlockHardware(Bench const& bench, SimulationParameters const& parameters, FaultSet const& faults);

  /// The outputs of one request; a changed heartbeat feeds the watchdog.
  void write(BenchOutputs const& outputs, std::int64_t now_ns);
  /// The next moment at which something here moves by itself.
  std::int64_t next_event_ns() const;
  /// Moves what is due and settles the coils. Time may not jump over next_event_ns().
  void advance(std::int64_t now_ns);
  /// Re-reads coils and chain at once, e.g. after a fault was set.
  void settle(std::int64_t now_ns);

  // People.
  void set_gate(bool open, std::int64_t now_ns);
  void press_stop(std::int64_t now_ns);
  void release_stop(std::int64_t now_ns);
  void press_reset(std::int64_t now_ns);

  // What the wiring sees of the sources: limit switch of each source's regulator.
  std::array<bool, max_sources> regulator_at_zero{};
  bool person_inside = false, searched = true;

  // States.
  bool source_on(int source) const;  ///< both contactors closed, upstream breaker closed
  bool any_source_on() const;
  bool contactor_closed(int source, int which) const;  ///< which: 0, 1
  bool mirror_open(int source, int which) const;
  bool short_closed() const { return !short_open_.closed(); }
  bool resistor_on() const { return resistor_.closed(); }
  bool earth_fully_closed() const { return earth_position_ <= 0.0; }
  bool earth_fully_open() const { return earth_position_ >= 1.0; }
  bool gate_open() const { return gate_open_; }
  bool gate_locked() const { return gate_locked_; }
  bool stop_pressed() const { return stop_pressed_; }
  bool reset_pressed(std::int64_t now_ns) const { return now_ns < reset_until_ns_ || faults_.on("reset-button-stuck"); }
  bool chain_closed() const { return chain_closed_; }
  bool red_lit() const;
  bool green_lit() const;
  bool siren_sounds() const { return outputs_.siren && !faults_.on("siren-failed"); }
  bool ramp_permitted() const { return outputs_.ramp_permitted && chain_closed_; }
  bool breaker_tripped() const { return breaker_tripped_; }
  bool watchdog_alive(std::int64_t now_ns) const;
  double heartbeat_age_s(std::int64_t now_ns) const;
  /// Seconds of red lamp and siren with the earth closed since the gate was last shut and locked.
  double warned_s() const { return warned_s_; }
  std::uint16_t watchdog_ms() const;
  /// Outputs as they act: all off once the watchdog has run out.
  BenchOutputs const& outputs() const { return outputs_; }
  /// As they were last written, the watchdog's cut apart: connection code, challenge, owner.
  BenchOutputs const& written() const { return written_; }

  /// Contacts of the image (transducers, hands' switches and seed are not this object's).
  void fill(BenchInputs& inputs, std::int64_t now_ns) const;

 private:
  bool gate_reads_closed(int channel) const;
  bool stop_reads_healthy(int channel) const;
  void judge_chain(std::int64_t now_ns);
  void move_earth(std::int64_t now_ns);
  bool earth_coil() const;
  bool held(int source, int which) const;

  Bench const& bench_;
  SimulationParameters const& parameters_;
  FaultSet const& faults_;
  BenchOutputs outputs_{}, written_{};
  std::array<std::array<Contactor, 2>, max_sources> contactors_;
  Contactor short_open_, resistor_;
  double earth_position_ = 0.0;  // 0 closed, 1 open
  std::int64_t moved_ns_ = 0;
  bool gate_open_ = false, gate_locked_ = false, stop_pressed_ = false;
  bool chain_closed_ = false, latched_ = false, breaker_tripped_ = false;
  bool heartbeat_seen_ = false;
  std::int64_t heartbeat_ns_ = 0, reset_until_ns_ = 0;
  double warned_s_ = 0.0;
};

}  // namespace benchward::sim
