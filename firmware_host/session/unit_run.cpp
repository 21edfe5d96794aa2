// SPDX-License-Identifier: MIT
#include "firmware_host/session/unit_run.hpp"

#include <fmt/core.h>

#include "firmware_host/command/limit_choice.hpp"
#include "firmware_host/version.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/readings_json.hpp"
#include "limits/documents/unit_document.hpp"

namespace benchward {

UnitOrder make_order(Unit unit, LimitSet const& set, std::string const& stage, Bench const& bench) {
  UnitOrder order;
  order.unit_document = write_unit(unit);
  order.sheet = work_out(set, unit);
  order.plan = make_plan(unit, stage.empty() ? stages_of(unit).front() : stage, order.sheet, bench);
  order.unit = std::move(unit);
  if (!order.plan.testable()) {
    std::string reasons;
    for (auto const& reason : order.plan.why_not) reasons += (reasons.empty() ? "" : "; ") + reason;
    throw SessionError(ExitCode::bad_input,
                       fmt::format("bench {} cannot test unit {}: {}", bench.name, order.unit.serial, reasons));
  }
  return order;
}

UnitOrder make_order(std::string const& unit_file, std::string const& limits_file, std::string const& stage,
                     Bench const& bench) {
  auto unit = read_unit(unit_file);
  auto const set = chosen_limit_set(limits_file, unit);
  return make_order(std::move(unit), set, stage, bench);
}

std::string calibration_document(Bench const& bench) {
  JsonWriter json;
  json.begin_object();
  for (auto const& instrument : bench.instruments) json.key(instrument.name).raw(write_json(instrument.calibration));
  json.end_object();
  return json.text();
}

Task<AttemptResult> run_order(BenchSession& session, Bench const& bench, UnitOrder const& order, Operator& person,
                              Journal& journal, ProgressSink& progress, StopRequest& stop, std::string attempt,
                              RunPast past) {
  RunWorld world{order.unit, bench, session.roles(), person, session.guard(), session.clock(), journal, progress};
  AttemptOptions options;
  options.attempt = std::move(attempt);
  options.program_version = program_version().version + " " + program_version().commit;
  options.unit_document = order.unit_document;
  options.sheet_document = write_json(order.sheet);
  options.calibration_document = calibration_document(bench);
  options.unit_is_held = past.unit_is_held;
  options.repeat_reason = std::move(past.repeat_reason);
  options.gate_openings_before = past.gate_openings_before;
  options.after = std::move(past.after);
  if (!past.release) past.release = MayRelease{"the journal was not asked whether bench and unit allow it", "", {}, ""};
  options.withheld = std::move(past.release->withheld);
  options.broke_down = std::move(past.release->broke_down);
  options.still_open = std::move(past.release->still_open);
  options.why_still_open = std::move(past.release->why_still_open);
  options.resumption = std::move(past.resumption);
  options.unit_hash = sha256_hex(order.unit_document);
  Sequencer sequencer(world, order.sheet, stop, std::move(options));
  auto result = co_await sequencer.run(order.plan);
  co_return result;
}

}  // namespace benchward
