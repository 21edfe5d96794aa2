// SPDX-License-Identifier: MIT
#include <algorithm>
#include <cmath>

#include "sim/bench/contactor.hpp"
#include "sim/instruments/instrument_base.hpp"

namespace benchward::sim {
namespace {

constexpr double highest_read_v = 300.0;
constexpr double least_read_share = 1e-5;     // of the applied volts: below it the meter shows no ratio
constexpr double least_applied_share = 0.02;  // under it the fed winding takes no volts: no contact

class RatioMeterModel final : public InstrumentBase {
 public:
  using InstrumentBase::InstrumentBase;

 private:
  std::optional<double> sample(std::string_view name) override {
    update();
    if (name == "done") return done_ ? 1.0 : 0.0;
    if (name == "output_on") return physics().ratio_volts() > 0.0 ? 1.0 : 0.0;
    if (name == "over_range") return over_range_ ? 1.0 : 0.0;
    if (name == "no_feed") return no_feed_ ? 1.0 : 0.0;
    if (name == "no_read") return no_read_ ? 1.0 : 0.0;
    if (!done_ || over_range_ || no_feed_) return std::nullopt;
    // Nothing comes back: applied volts and current are what they are, a ratio there is none.
    if (no_read_ && (name == "ratio" || name == "phase")) return std::nullopt;
    if (name == "applied") return applied_;
    if (name == "read") return read_;
    if (name == "ratio") return ratio_;
    if (name == "phase") return phase_;
    if (name == "exciting_current") return current_;
    return std::nullopt;
  }

  bool perform(std::string_view sequence) override {
    if (sequence == "measure") return start();
    if (sequence == "output_off") {
      physics().ratio_off();
      begun_ns_ = -1;
    }
    return true;
  }
  std::optional<bool> take(std::string_view name, double value) override {
    if (name == "applied_set" && !(0.0 <= value && value <= 250.0)) return false;
    return std::nullopt;
  }

  bool start() {
    CircuitBuilder::RatioSelection selection{word("feed_from"), word("feed_to"), word("read_from"), word("read_to"),
                                             ""};
    auto const from = word("short_from"), to = word("short_to");
    if (!from.empty() && !to.empty()) selection.shorted = from + "-" + to;
    done_ = over_range_ = no_feed_ = no_read_ = false;
    begun_ns_ = now_ns();
    physics().ratio_select(selection, setting("applied_set", 0.0));
    return true;
  }

  void update() {
    if (begun_ns_ < 0 || done_ || now_ns() - begun_ns_ < to_ns(parameters().ratio_measure_s)) return;
    done_ = true;
    begun_ns_ = -1;
    double const asked = setting("applied_set", 0.0);
    auto const state = physics().ratio_state();
    physics().ratio_off();
    double const applied = state.applied.rms();
    if (!state.measuring || applied < least_applied_share * asked) {
      no_feed_ = true;
      return;
    }
    auto const u = state.applied.fundamental(), v = state.read.fundamental();
    double const drift = 1.0 + faults().value_or("ratio-meter-drift", 0.0) / 100.0;
    if (state.read.rms() > highest_read_v) {
      over_range_ = true;
      return;
    }
    no_read_ = std::abs(v) < least_read_share * std::abs(u);
    applied_ = errors_.reading("voltage", applied);
    read_ = errors_.reading("voltage", state.read.rms());
    current_ = std::abs(errors_.reading("current", state.current.rms()));
    if (no_read_) return;
    ratio_ = errors_.reading("ratio", std::abs(u) / std::abs(v) * drift);
    // An angle has no over-range: past half a turn it comes round from the other side.
    phase_ = std::remainder(errors_.reading("phase", std::arg(v / u)), 2.0 * 3.14159265358979323846);
  }

  std::int64_t begun_ns_ = -1;
  bool done_ = false, over_range_ = false, no_feed_ = false, no_read_ = false;
  double applied_ = 0.0, read_ = 0.0, ratio_ = 0.0, phase_ = 0.0, current_ = 0.0;
};

}  // namespace

std::unique_ptr<SimInstrument> make_ratio_meter(InstrumentPlace const& place) {
  return std::make_unique<RatioMeterModel>(place);
}

}  // namespace benchward::sim
