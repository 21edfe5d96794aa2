// SPDX-License-Identifier: MIT
#pragma once

/// The station behind the panel: which unit is on the bench, who has the controls, the run, and what is shown of it.
/// Every act is judged here, whatever the browser showed. All on the program's one thread.

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "firmware_host/exit_code.hpp"
#include "firmware_host/panel/panel_operator.hpp"
#include "firmware_host/panel/panel_progress.hpp"
#include "firmware_host/panel/record_index.hpp"
#include "firmware_host/panel/server/accounts.hpp"
#include "firmware_host/panel/unit_ways.hpp"
#include "firmware_host/panel/units_folder.hpp"
#include "firmware_host/session/unit_run.hpp"

namespace benchward::panel {

/// What came of an act: 200, or an HTTP status with the reason in words.
struct Act {
  int status = 200;
  std::string words;
};

/// Who asks.
struct Who {
  std::string name;
  int panel = 0;
  Role role = Role::watcher;
};

struct StationOptions {
  std::string units, limits;
  std::string records;  ///< folder: what it says of a unit decides how that may be gone about
  double time_scale = 1.0;
  std::function<std::string()> next_id;
  std::function<void(std::string const&)> say;  ///< a line for the log
};

class StationControl {
 public:
  /// `hands`: nullptr on a real bench. All outlive the control.
  StationControl(BenchSession& session, Bench const& bench, Journal& journal, SimulatedOperator* hands,
                 StationOptions options);
  ~StationControl();
  StationControl(StationControl const&) = delete;
  StationControl& operator=(StationControl const&) = delete;

  Act take_controls(Who const& who, bool from_another);
  Act release_controls(Who const& who);
  /// A panel logged in; somebody was turned away; a panel logged out. Kept in the journal, as are the controls'
  /// changes.
  void came(Who const& who);
  void turned_away();
  void gone(Who const& who);
  /// `stage`: empty for what the journal says comes next.
  Task<Act> select_unit(Who who, std::string typed, std::string stage);
  /// Another of the chosen unit's ways; nothing is begun.
  Act choose_way(Who const& who, std::string const& key);
  /// What was done to the chosen unit, kept for good: the ways follow.
  Task<Act> rework(Who who, ReworkDone rework);
  Act clear_unit(Who const& who);
  Task<Act> start(Who who, std::string serial, std::string reason, bool for_record);
  Act answer(Who const& who, int number, std::string const& text);
  /// Any panel of an operator or above, whoever has the controls: stopping is never wrong.
  Act stop(Who const& who);
  Act acknowledge(Who const& who);
  Act release_lockout(Who const& who, std::string const& reason);

  /// The program ends: the run, if any, is stopped, and no unit is taken any more.
  void stop_by_signal(std::string const& reason);
  bool running() const { return running_; }
  /// Something waits for the bench: a run, or a way back after a trip.
  bool busy() const { return running_ || leading_out_; }
  std::string attempt() const { return running_ ? attempt_ : std::string(); }
  ExitCode worst() const { return worst_; }

  ProgressSink& progress() { return progress_; }
  RecordIndex& records() { return records_; }
  bool simulated() const { return bench_.simulated || session_.guard().status().simulated; }
  GuardStatus guard_status() const { return session_.guard().status(); }
  LimitSheet const* sheet() const { return chosen_ ? &chosen_->order.sheet : nullptr; }

  /// True once after something shown has changed.
  bool take_changed();
  std::string snapshot() const;

 private:
  struct LiveRun;
  class Background;
  Act may_act(Who const& who) const;
  /// The same, where the bench must be free to take a unit up.
  Act may_prepare(Who const& who) const;
  Task<UnitWays> look_back(Unit unit);
  void show_ways(UnitWays ways, std::string const& key);
  Act begin_chosen(Who const& who, std::string const& reason, bool for_record);
  void note(std::string const& person, std::string act, std::string words);
  void drop_controls();
  void look_for_units();
  void ended(AttemptResult const& result);
  Task<void> lead_out(std::string person, std::string reason, bool lockout);

  BenchSession& session_;
  Bench const& bench_;
  Journal& journal_;
  SimulatedOperator* hands_;
  StationOptions options_;
  mutable PanelState shown_;
  PanelProgress progress_;
  PanelOperator person_;
  RecordIndex records_;
  UnitsFolder units_;
  std::vector<std::string> said_unusable_;
  UnitWays ways_;
  std::optional<UnitWay> chosen_;
  std::unique_ptr<Background> background_;
  std::unique_ptr<LiveRun> live_;
  std::string attempt_, closed_;
  std::int64_t began_us_ = 0;
  std::optional<std::uint32_t> gate_openings_;
  GuardStatus last_;
  ExitCode worst_ = ExitCode::done;
  int holder_ = 0;
  std::string holder_name_;
  bool running_ = false, leading_out_ = false, looking_ = false, changed_ = true;
};

}  // namespace benchward::panel
