// SPDX-License-Identifier: MIT
#pragma once

/// The bench document: instruments, links, envelope, I/O map, guard times. Plain data; read from JSON by
/// `bench_document.hpp` in this folder.

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "../../limits/calibration.hpp"
#include "../../limits/quantity.hpp"
#include "bench_io.hpp"

namespace benchward {

/// One physical wire. Several instruments may share a serial bus; each has then its own unit number.
struct LinkDeclaration {
  std::string name;     ///< e.g. "bus-1"; the name in the simulator's ready line
  std::string kind;     ///< "modbus_tcp", "modbus_rtu", "text", "text_tcp"
  std::string address;  ///< "modbus-tcp://127.0.0.1:1502", "modbus-rtu:///dev/serial/by-id/...?baud=9600",
                        ///< "text:///dev/..." empty on a simulated bench: the ready line's address serves
  bool echo = false;    ///< adapter returns the sent bytes: consumed and compared
};

struct InstrumentDeclaration {
  std::string name;  ///< unique on the bench
  std::string role;  ///< "ratio_meter", "resistance_meter", "power_analyzer", "ac_source", "thermometer_scanner",
                     ///< "dielectric_tester", "insulation_meter"
  std::string
      profile;  ///< id of a profile (drivers/profiles/<id>.json, compiled in) or a path relative to the bench file
  std::string link;
  int unit_id = 1;
  std::string serial;                  ///< checked against what the device says
  std::optional<Duration> time_limit;  ///< overrides the profile's
  std::optional<Duration> gap;         ///< extra silence before a request on a serial line
  Calibration calibration;
};

/// The largest unit and the largest outputs that the bench is built for.
struct Envelope {
  std::vector<int> phases{1, 3};
  ApparentPower rated_power;
  Voltage terminal;  ///< highest volts at any terminal
  Voltage source;    ///< AC source, line volts
  Current source_current;
  ApparentPower source_power;
  Frequency lowest, highest;
  Voltage dielectric;
  Current dielectric_current;
  Current direct_current;
};

/// Where one signal of the I/O block lives: word of the input or output image, bit, or a whole word / word pair.
struct IoPoint {
  int word = 0;
  std::optional<int> bit;  ///< absent: the whole word (or two words, high first, where the signal is 32 bit)
  bool inverted = false;
};

/// The I/O map: one read/write request (function 23) a turn. Signal names as in bench_io.hpp ("stop_a", "gate_a.0",
/// "source.1.first_open", "output_mv", "first.1", "open_earth", "heartbeat", ...).
struct IoMap {
  std::string link;
  int unit_id = 1;
  int input_address = 0, input_words = 0;
  int output_address = 0, output_words = 0;
  std::map<std::string, IoPoint> inputs, outputs;
  double output_least_count_v = 0.01;  ///< resolution of the guard's voltage channel: what may prove LOW
  double output_noise_v = 0.01;
  Duration time_limit = milliseconds(50);
};

/// Times and thresholds of the guard; defaults of practice, floors enforced by the reader.
struct GuardTimes {
  Duration period = milliseconds(10);
  Duration stale = seconds(1);
  Duration warning = seconds(5);
  Duration search_window = seconds(30);
  Duration armed = seconds(30);
  Duration discrepancy = milliseconds(500);
  Duration pick_up = milliseconds(300), drop_out = milliseconds(200);
  Duration earth_travel = seconds(2);
  Duration heartbeat = milliseconds(200);
  Duration watchdog = seconds(1);
  Duration low_dwell = seconds(2), low_for = seconds(1);
  Duration ramp_down = seconds(15);
  Duration regulator = seconds(2);   ///< no change when commanded (I14)
  Duration discharge = seconds(30);  ///< LOW must be proven within
  Duration over_current = milliseconds(200);
  double low_v = 50.0;  ///< at the highest terminal
};

/// A condition that this bench does not wire up, with the reason. Never silently true.
struct AbsentCondition {
  int number = 0;  ///< 1 to 36
  std::string reason;
};

struct SourceDeclaration {
  SourcePath path = SourcePath::none;
  std::string instrument;                         ///< instrument that drives it
  std::string first_contactor, second_contactor;  ///< names for people: "K1", "K2"
};

/// How temperatures stand for the winding's on this bench (10 CFR 431 subpart K appendix A 3.2.1).
struct TemperatureMode {
  std::string mode = "own_sensors";  ///< "own_sensors", "witness_unit", "family_resistance", "wall_sensor"
  double standard_uncertainty_k = 0.5;
  bool fit_for_certified_figure = true;
};

struct Bench {
  std::string note, name, plant_area;
  bool simulated = false;
  std::vector<LinkDeclaration> links;
  std::vector<InstrumentDeclaration> instruments;
  std::vector<SourceDeclaration> sources;
  Envelope envelope;
  IoMap io;
  GuardTimes guard;
  std::vector<AbsentCondition> absent;
  bool walk_in = false;
  int gates = 1;
  TemperatureMode temperature;
  /// Of the shorting bar with its two clamps, between neighbouring terminals (a three-phase short has two of them).
  std::optional<Resistance> shorting_bar;
  std::optional<Inductance> shorting_bar_inductance;
  std::optional<Current> dielectric_stray_current_per_kv;  ///< of leads and cage at rated frequency
  std::string simulation_json;  ///< the document's "simulation" object as text: the simulator's business
  std::string file;             ///< where it was read from
  std::string hash;             ///< SHA-256 of the document's bytes, hex

  InstrumentDeclaration const* instrument(std::string const& instrument_name) const {
    for (auto const& entry : instruments) {
      if (entry.name == instrument_name) return &entry;
    }
    return nullptr;
  }
  InstrumentDeclaration const* in_role(std::string const& role) const {
    for (auto const& entry : instruments) {
      if (entry.role == role) return &entry;
    }
    return nullptr;
  }
  LinkDeclaration const* link(std::string const& link_name) const {
    for (auto const& entry : links) {
      if (entry.name == link_name) return &entry;
    }
    return nullptr;
  }
};

}  // namespace benchward
