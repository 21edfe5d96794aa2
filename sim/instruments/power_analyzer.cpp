// SPDX-License-Identifier: MIT
#include <algorithm>
#include <array>
#include <cmath>
#include <complex>

#include "sim/bench/contactor.hpp"
#include "sim/instruments/instrument_base.hpp"

namespace benchward::sim {
namespace {

constexpr double over = 1.2;  // of the range
constexpr double set_up_s = 0.5;

/// Watts as the element's electronics make them: its phase error turns the fundamental's current forward.
double watts_seen(Wave const& volts, Wave const& amperes, double phase_error) {
  auto const fundamental = fundamental_power(volts, amperes);
  double const harmonics = active_power(volts, amperes) - fundamental.real();
  return (fundamental * std::polar(1.0, -phase_error)).real() + harmonics;
}

class PowerAnalyzerModel final : public InstrumentBase {
 public:
  using InstrumentBase::InstrumentBase;

 private:
  struct Element {
    bool used = false;
    double rms = 0.0, average = 0.0, amperes = 0.0, watts = 0.0;
  };

  std::optional<double> sample(std::string_view name) override {
    if (name == "ready") return now_ns() >= ready_ns_ ? 1.0 : 0.0;
    update();
    if (name == "volts_over_range") return volts_over_ ? 1.0 : 0.0;
    if (name == "amperes_over_range") return amperes_over_ ? 1.0 : 0.0;
    if (name == "frequency") return frequency_ > 0.0 ? std::optional<double>(frequency_) : std::nullopt;
    auto const dot = name.find('.');
    if (dot == std::string_view::npos || dot + 2 != name.size()) return std::nullopt;
    auto const index = static_cast<std::size_t>(name[dot + 1] - '1');
    if (index >= elements_.size()) return std::nullopt;
    auto const& element = elements_[index];
    auto const what = name.substr(0, dot);
    if (what == "volts_rms" && !volts_over_) return element.rms;
    if (what == "volts_average" && !volts_over_) return element.average;
    if (what == "amperes" && !amperes_over_) return element.amperes;
    if (what == "active" && !volts_over_ && !amperes_over_) return element.watts;
    return std::nullopt;
  }

  bool perform(std::string_view sequence) override {
    if (sequence == "set_up") {
      ready_ns_ = now_ns() + to_ns(set_up_s);
      turn_ = -1;
    }
    return true;
  }
  std::optional<bool> take(std::string_view name, double value) override {
    if (name == "wiring" && !(value == 0.0 || value == 1.0 || value == 2.0)) return false;
    return std::nullopt;
  }

  /// One set of readings, all of one moment.
  void update() {
    auto const turn = now_ns() / to_ns(parameters().analyser_update_s);
    if (turn == turn_) return;
    turn_ = turn;
    elements_ = {};
    bool const neutral = setting("wiring", 0.0) == 1.0;
    auto view = physics().analyser_view(neutral);
    frequency_ = view.phases.empty() ? 0.0 : errors_.reading("frequency", view.frequency_hz);
    if (setting("wiring", 0.0) == 0.0 && view.phases.size() > 1) view.phases.resize(1);
    wire_wrongly(view);
    double const scale_v = faults().value_or("voltage-scale-wrong", 1.0);
    double const scale_a = faults().value_or("ct-ratio-wrong", 1.0);
    double const drift = 1.0 + faults().value_or("meter-drift", 0.0) / 100.0;
    double const noisy = faults().value_or("meter-noise", 0.0) / 100.0;
    double const magnetised = faults().value_or("ct-magnetised", 0.0) * 1e-3;
    double const range_v = setting("voltage_range", 0.0), range_a = setting("current_range", 0.0);
    volts_over_ = amperes_over_ = false;
    for (std::size_t i = 0; i < view.phases.size() && i < elements_.size(); ++i) {
      auto const& [volts, amperes] = view.phases[i];
      auto& element = elements_[i];
      element.used = true;
      double const v = volts.rms() * scale_v, a = amperes.rms() * scale_a * (1.0 - 0.05 * std::abs(magnetised));
      volts_over_ = volts_over_ || (range_v > 0.0 && v > over * range_v);
      amperes_over_ = amperes_over_ || (range_a > 0.0 && a > over * range_a);
      element.rms = std::max(0.0, errors_.reading("voltage", v));
      element.average = std::max(0.0, errors_.reading("voltage", volts.average_scaled() * scale_v));
      element.amperes = std::max(0.0, errors_.reading("current", a) * (1.0 + noisy * errors_.normal()));
      double const watts = watts_seen(volts, amperes, errors_.phase_error_rad() + magnetised);
      element.watts = errors_.reading("power", watts * scale_v * scale_a * drift);
      if (noisy > 0.0) element.watts *= 1.0 + noisy * errors_.normal();
    }
  }

  void wire_wrongly(Physics::AnalyserView& view) {
    auto& phases = view.phases;
    auto const has = [&](std::size_t i) { return i < phases.size(); };
    auto const index = [&](char const* fault) { return static_cast<std::size_t>(faults().value_or(fault, 1.0)) - 1; };
    if (faults().on("cts-swapped") && phases.size() == 3) std::swap(phases[0].amperes, phases[1].amperes);
    if (faults().on("ct-reversed") && has(index("ct-reversed"))) {
      auto& amperes = phases[index("ct-reversed")].amperes;
      amperes = amperes * -1.0;
    }
    if (faults().on("ct-secondary-open") && has(index("ct-secondary-open")))
      phases[index("ct-secondary-open")].amperes = Wave{};
    if (faults().on("voltage-lead-open") && has(index("voltage-lead-open"))) {
      std::size_t const open = index("voltage-lead-open");
      if (phases.size() == 3 && !view.neutral) {
        // The artificial star stands on two leads now; the open input lies on the star.
        Wave star;
        for (std::size_t i = 0; i < 3; ++i) {
          if (i != open) star += phases[i].volts * 0.5;
        }
        for (auto& phase : phases) phase.volts -= star;
      }
      phases[open].volts = Wave{};
    }
  }

  std::int64_t turn_ = -1, ready_ns_ = 0;
  std::array<Element, 3> elements_{};
  double frequency_ = 0.0;
  bool volts_over_ = false, amperes_over_ = false;
};

}  // namespace

std::unique_ptr<SimInstrument> make_power_analyzer(InstrumentPlace const& place) {
  return std::make_unique<PowerAnalyzerModel>(place);
}

}  // namespace benchward::sim
