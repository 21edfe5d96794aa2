// SPDX-License-Identifier: MIT
#pragma once

/// The roles that instruments play in a test: small abstract classes, implemented by drivers on wires and by the
/// simulator's instruments in process. Roles that can drive the unit take a Permit. Every call answers within the
/// device's own deadline, a Fault where it cannot.

#include <optional>
#include <string>
#include <vector>

#include "../../limits/evaluate/readings.hpp"
#include "../../limits/quantity.hpp"
#include "../fault.hpp"
#include "../permit.hpp"
#include "../task.hpp"
#include "logged_frame.hpp"

namespace benchward {

/// Who an instrument says it is.
struct Identity {
  std::string maker, model, serial, firmware;
};

class Instrument {
 public:
  Instrument() = default;
  Instrument(Instrument const&) = delete;
  Instrument& operator=(Instrument const&) = delete;
  virtual ~Instrument() = default;

  virtual std::string name() const = 0;           ///< the bench document's name
  virtual Task<Answer<Identity>> identify() = 0;  ///< also checks it against profile and bench document
  /// The last frames that went to it and came from it, oldest first; none where there is no wire.
  virtual std::vector<LoggedFrame> frames() const { return {}; }
};

/// Turns-ratio meter with a terminal selector. Feeds the high side only.
class RatioMeter : public Instrument {
 public:
  struct Request {
    std::string feed_from, feed_to;      ///< "H1", "H3"; tied terminals "H2+H3"
    std::string read_from, read_to;      ///< "X1", "X0"; on a polarity join any two
    std::optional<std::string> shorted;  ///< "X3-X1": the selector shorts this pair
    Voltage applied;
  };
  struct Sample {
    Reading<Voltage> applied;
    Reading<Voltage> read;
    Reading<Number> ratio;  ///< applied over read
    Reading<Angle> phase;   ///< of read against applied, -180 to 180 degrees
    Reading<Current> exciting_current;
  };
  virtual Voltage highest_applied() const = 0;
  virtual Task<Answer<Sample>> measure(Permit const& permit, Request request) = 0;
  virtual Task<Answer<Done>> output_off() = 0;
};

/// Four-wire winding-resistance meter with a terminal selector: a direct-current source with its own discharge path
/// and a shorting contact that the guard owns.
class ResistanceMeter : public Instrument {
 public:
  struct Sample {
    Reading<Voltage> volts;
    Reading<Current> current;
    bool in_compliance = true;  ///< false: the source cannot reach the set current
  };
  virtual Current highest_current() const = 0;
  virtual Task<Answer<Done>> select(std::string from, std::string to) = 0;  ///< only with no current flowing
  virtual Task<Answer<Done>> set_current(Permit const& permit, Current current) = 0;
  virtual Task<Answer<Sample>> read() = 0;       ///< at zero current: the offset
  virtual Task<Answer<Done>> current_off() = 0;  ///< into the discharge path
};

class PowerAnalyzer : public Instrument {
 public:
  enum class Wiring { single_phase, three_phase_neutral, three_phase_floating };
  struct Setup {
    Wiring wiring = Wiring::single_phase;
    Voltage expected_voltage;  ///< line to line three-phase: chooses the range
    Current expected_current;
    Frequency frequency = hertz(60);
  };
  virtual Task<Answer<Done>> set_up(Setup setup) = 0;  ///< ranges are changed with the current at zero
  virtual Task<Answer<PowerSnapshot>> read() = 0;      ///< one request: what must be read together is
};

/// Regulated alternating-current source, single- or three-phase.
class AcSource : public Instrument {
 public:
  struct Setting {
    Voltage voltage;  ///< line to line three-phase
    Frequency frequency = hertz(60);
    int phases = 1;
    Duration ramp = seconds(1);  ///< from the present output to the set one
    Current current_limit;       ///< the source's own over-current relay
  };
  struct State {
    Reading<Voltage> voltage;
    Reading<Frequency> frequency;
    Reading<Current> current;
    bool at_zero = false, at_set = false, tripped = false, healthy = false;
  };
  virtual Task<Answer<Done>> set(Permit const& permit, Setting setting) = 0;
  virtual Task<Answer<Done>> to_zero(Duration ramp) = 0;  ///< no permit: lowering is always allowed
  virtual Task<Answer<State>> read() = 0;
};

class ThermometerScanner : public Instrument {
 public:
  struct Sample {
    Reading<Temperature> top, bottom, ambient;
  };
  virtual Task<Answer<Sample>> read() = 0;
};

/// Dielectric (applied-voltage) set: level is crest/sqrt(2) on the high-voltage terminal.
class DielectricTester : public Instrument {
 public:
  struct Setting {
    Voltage level;
    Frequency frequency = hertz(60);
    Duration ramp = seconds(10);
    Current trip_current;
  };
  struct State {
    Reading<Voltage> level;
    Reading<Current> current;
    Reading<Frequency> frequency;
    bool at_zero = false, at_set = false, tripped = false;
  };
  virtual Voltage highest_level() const = 0;
  virtual Task<Answer<Done>> set(Permit const& permit, Setting setting) = 0;
  virtual Task<Answer<Done>> to_zero(Duration ramp) = 0;
  virtual Task<Answer<State>> read() = 0;
};

/// Insulation-resistance meter (direct current).
class InsulationMeter : public Instrument {
 public:
  struct Sample {
    Reading<Voltage> test_voltage;
    Reading<Resistance> resistance;
  };
  virtual Task<Answer<Done>> start(Permit const& permit, Voltage test_voltage) = 0;
  virtual Task<Answer<Sample>> read() = 0;
  virtual Task<Answer<Done>> stop_and_discharge() = 0;
};

}  // namespace benchward
