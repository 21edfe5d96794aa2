// SPDX-License-Identifier: MIT
#pragma once

/// Hands at the simulated bench and the panel of the source in use.

#include <cmath>
#include <string>

#include "scene.hpp"
#include "sim/bench/sim_bench.hpp"

namespace benchward::guard::runs {

class HandAndSource {
 public:
  HandAndSource(sim::SimBench& bench, Scene const& scene) : bench_(bench), scene_(scene) {}

  /// Leads, taps and accessories of the step.
  void dress() {
    for (auto const& accessory : scene_.step.connection.accessories)
      bench_.set_accessory(accessory.name, accessory.state);
    auto const why = bench_.connect(scene_.step.connection);
    if (!why.empty()) throw std::logic_error("the planned connection cannot be laid: " + why);
  }
  void undress() { bench_.disconnect_all(); }

  void open_gate() {
    open_ = true;
    bench_.set_gate(true);
  }
  void close_gate() {
    if (inside_) return;
    open_ = false;
    bench_.set_gate(false);
  }
  /// Through the gate only where it stands open; it is shut behind: nobody outside sees it.
  void walk_in() {
    if (!open_) return;
    inside_ = true;
    bench_.enter_area(true);
    bench_.set_gate(false);
  }
  void walk_out() {
    if (!inside_) return;
    inside_ = false;
    bench_.set_gate(true);
    bench_.enter_area(false);
    bench_.set_gate(false);
    open_ = false;
  }
  void tick(std::int64_t now_ns) { now_ns_ = now_ns; }

  /// The procedure's order, as a share of the step's volts or amperes.
  void set_source(double share, double ramp_s) {
    auto const& energy = *scene_.step.energy;
    auto const& feed = scene_.step.connection.feed;
    auto const& measure = scene_.step.connection.measure;
    set_at_ns_ = now_ns_;
    switch (energy.source) {
      case SourcePath::ac_source: {
        auto& source = panel("ac_source");
        source.write("voltage_set", energy.set.in(volts)*share);
        source.write("frequency_set", scene_.hertz);
        source.write("phases_set", scene_.phases);
        source.write("ramp_s", ramp_s);
        source.write("current_limit", 0.0);
        source.write("do.set", 1.0);
        return;
      }
      case SourcePath::dielectric: {
        auto& set = panel("dielectric_tester");
        set.write("level_set", energy.set.in(volts)*share);
        set.write("frequency_set", scene_.hertz);
        set.write("ramp_s", 3.0 * ramp_s);
        set.write("trip_current", energy.trip_current.in(amperes));
        set.write("do.set", 1.0);
        return;
      }
      case SourcePath::resistance: {
        auto& meter = panel("resistance_meter");
        if (!feed.empty() && feed[0].size() > 1) {
          meter.write_text("from", feed[0][0]);
          meter.write_text("to", feed[0][1]);
          meter.write("do.select", 1.0);
        }
        meter.write("set_current", energy.set_direct.in(amperes)*share);
        meter.write("do.set_current", 1.0);
        return;
      }
      case SourcePath::ratio: {
        auto& meter = panel("ratio_meter");
        if (!feed.empty() && feed[0].size() > 1) {
          meter.write_text("feed_from", feed[0][0]);
          meter.write_text("feed_to", feed[0][1]);
        }
        if (!measure.empty() && measure[0].size() > 1) {
          meter.write_text("read_from", measure[0][0]);
          meter.write_text("read_to", measure[0].back());
        }
        meter.write("applied_set", energy.set.in(volts)*share);
        meter.write("do.measure", 1.0);
        return;
      }
      case SourcePath::insulation:
      case SourcePath::none:
        return;
    }
  }
  void source_to_zero() {
    auto const source = scene_.step.energy->source;
    if (source == SourcePath::ac_source) panel("ac_source").write("do.to_zero", 1.0);
    if (source == SourcePath::dielectric) panel("dielectric_tester").write("do.to_zero", 1.0);
    if (source == SourcePath::resistance) panel("resistance_meter").write("do.current_off", 1.0);
    if (source == SourcePath::ratio) panel("ratio_meter").write("do.output_off", 1.0);
  }
  bool at_set(double) {
    auto const source = scene_.step.energy->source;
    if (source == SourcePath::ac_source) return panel("ac_source").point("at_set").value_or(0.0) > 0.5;
    if (source == SourcePath::dielectric) return panel("dielectric_tester").point("at_set").value_or(0.0) > 0.5;
    return now_ns_ - set_at_ns_ > 1'500'000'000;  // the meters have no such signal
  }

 private:
  sim::SimInstrument& panel(std::string const& role) {
    for (auto* instrument : bench_.instruments()) {
      if (instrument->role() == role) return *instrument;
    }
    throw std::logic_error("the bench has no " + role);
  }

  sim::SimBench& bench_;
  Scene const& scene_;
  std::int64_t now_ns_ = 0, set_at_ns_ = 0;
  bool open_ = false, inside_ = false;
};

}  // namespace benchward::guard::runs
