// SPDX-License-Identifier: MIT
#include <cmath>

#include "sim/bench/contactor.hpp"
#include "sim/instruments/instrument_base.hpp"

namespace benchward::sim {
namespace {

constexpr double highest_v = 100.0;

class ResistanceMeterModel final : public InstrumentBase {
 public:
  using InstrumentBase::InstrumentBase;

 private:
  std::optional<double> sample(std::string_view name) override {
    update();
    if (name == "no_compliance") return limited_ ? 1.0 : 0.0;
    if (name == "output_on") return physics().direct().amperes() > 0.0 ? 1.0 : 0.0;
    if (name == "over_range") return std::abs(volts_) > highest_v ? 1.0 : 0.0;
    if (name == "volts" && std::abs(volts_) <= highest_v) return volts_;
    if (name == "current") return current_;
    return std::nullopt;
  }

  bool perform(std::string_view sequence) override {
    if (sequence == "select") return physics().direct_select(word("from"), word("to"));
    if (sequence == "set_current") return physics().direct().set(setting("set_current", 0.0));
    if (sequence == "current_off") physics().direct().off();
    return true;
  }
  std::optional<bool> take(std::string_view name, double value) override {
    if (name == "set_current" && !(value >= 0.0)) return false;
    return std::nullopt;
  }

  void update() {
    auto const turn = now_ns() / to_ns(parameters().resistance_update_s);
    if (turn == turn_) return;
    turn_ = turn;
    auto const state = physics().direct_state();
    limited_ = state.limited;
    // Resistance is the certified quantity where the certificate says so: its error lies in the volts.
    current_ = errors_.reading("current", state.lead_amperes);
    double volts = state.volts + faults().value_or("thermal-emf", 0.0) * 1e-3;
    if (word("from").substr(0, 1) == "X") {
      volts += state.lead_amperes * faults().value_or("sense-clip-outside-joint", 0.0) * 1e-3;
    }
    volts *= 1.0 + faults().value_or("resistance-meter-drift", 0.0) / 100.0;
    if (errors_.has("resistance")) {
      double const ohms = errors_.reading("resistance", 1.0) - 1.0;
      volts = errors_.reading_without_gain("voltage", volts * (1.0 + ohms + errors_.gain("current")));
    } else {
      volts = errors_.reading("voltage", volts);
    }
    if (faults().on("open-sense-lead")) {
      wander_ = 0.9 * wander_ + 2e-3 * errors_.normal();
      volts = wander_;
    }
    volts_ = volts;
  }

  std::int64_t turn_ = -1;
  bool limited_ = false;
  double volts_ = 0.0, current_ = 0.0, wander_ = 0.0;
};

}  // namespace

std::unique_ptr<SimInstrument> make_resistance_meter(InstrumentPlace const& place) {
  return std::make_unique<ResistanceMeterModel>(place);
}

}  // namespace benchward::sim
