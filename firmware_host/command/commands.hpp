// SPDX-License-Identifier: MIT
#pragma once

/// The commands of the program, a file each. Options are plain data, filled by the command line (`main.cpp`).

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "firmware_host/exit_code.hpp"

namespace benchward {

struct TestOptions {
  std::string bench, unit, links, limits, stage, records, start, truth;
  std::vector<std::string> faults;
  std::uint64_t seed = 1;
  bool virtual_run = false, yes = false, json = false;
  std::string operator_name;
  std::string resume;                ///< id of an interrupted attempt; empty: a new sequence
  std::string after;                 ///< rework by the retest table; empty: the whole sequence
  std::string reason;                ///< signed: why a unit on hold is energised again
  std::vector<std::string> answers;  ///< of the simulated operator: "QUESTION=ANSWER"
  std::string object;                ///< check object document, in place of `unit`: the bench is judged, not the unit
  bool for_record = false;           ///< refuse to begin where the bench's check object does not allow it
};
ExitCode run_test(TestOptions const& options);

struct PlanOptions {
  std::vector<std::string> benches;
  std::string unit, limits, stage;
  std::string after;            ///< rework by the retest table; empty: the whole sequence
  std::string resume, records;  ///< an interrupted attempt in that folder's journal; empty: a new sequence
  bool json = false;
};
ExitCode run_plan(PlanOptions const& options);

struct ReworkOptions {
  std::string records, serial, done, person, words;
  bool list = false;  ///< print the retest table
};
ExitCode run_rework(ReworkOptions const& options);
/// Quality signs: the unit of that serial is off hold.
ExitCode run_sign(ReworkOptions const& options);

struct CalcOptions {
  std::string topic, input;  ///< input: a file, "-" or empty for standard input
  bool list = false;
};
ExitCode run_calc(CalcOptions const& options);

struct LimitsSheetOptions {
  std::string unit, limits;
  bool json = false;
};
ExitCode run_limits_sheet(LimitsSheetOptions const& options);

struct BenchCheckOptions {
  std::string bench, links;
  bool json = false;
};
ExitCode run_bench_check(BenchCheckOptions const& options);

struct BenchWatchOptions {
  std::string bench, links;
  double every_s = 1.0;  ///< wall time
  int turns = 0;         ///< 0: until a signal
  bool json = false;
};
ExitCode run_bench_watch(BenchWatchOptions const& options);

struct StationCommand {
  std::string bench, records, links, units, limits;
  std::uint16_t port = 0;  ///< 0: any free one
  std::string add_account, role;
};
ExitCode run_station(StationCommand const& options);

struct RecordsOptions {
  std::string verb, records;
  std::vector<std::string> ids;
  bool json = false;
  // which records
  std::string serial, order, design, outcome, instrument, since, until;
  // verify
  std::string key, head, extract;
  bool from_last_head = false;
  // recompute
  std::string limits;
  // affected
  std::string found;
  // backup, restore, report, export
  std::string to, from;
  bool csv = false;
  // report
  std::string wishes, paper, replaces, reason, issued, authorised_by;
  bool html = false, lot = false;
};
ExitCode run_records(RecordsOptions const& options);
/// The verbs, each with a word of what it does.
std::string records_verbs();

}  // namespace benchward
