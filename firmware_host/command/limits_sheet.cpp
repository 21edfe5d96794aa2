// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include "firmware_host/command/commands.hpp"
#include "firmware_host/command/limit_choice.hpp"
#include "firmware_host/record/result_table.hpp"
#include "firmware_host/say.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/readings_json.hpp"
#include "limits/documents/unit_document.hpp"

namespace benchward {

LimitSet chosen_limit_set(std::string const& file, Unit const& unit) {
  return file.empty() ? builtin_limit_set(unit.standard) : read_limit_set(file);
}

ExitCode run_limits_sheet(LimitsSheetOptions const& options) {
  auto const unit = read_unit(options.unit);
  auto const set = chosen_limit_set(options.limits, unit);
  auto const sheet = work_out(set, unit);
  if (options.json) {
    say_out(write_json(sheet));
    return ExitCode::done;
  }
  say_out(fmt::format("Limit sheet of unit {}: {:.4g} kVA, {} phase(s), {}, made on {}", unit.serial,
                      unit.rated_power.in(kilovolt_amperes), unit.phases, unit.vector_group, unit.manufactured_on));
  say_out(fmt::format("Limit set {} {} (SHA-256 {})", sheet.limit_set, sheet.limit_set_version, sheet.limit_set_hash));
  for (auto const& line : sheet.lines) {
    say_out(fmt::format("\n{} / {}{}: {}{}", line.test, line.quantity, line.at.empty() ? "" : " / " + line.at,
                        limit_in_words(line.limit), line.limit.warns_only ? " (warns only)" : ""));
    say_out("    how     " + line.limit.origin);
    say_out("    source  " + line.limit.source);
    say_out("    decided by " + line.decision.name +
            (line.decision.name == "guard_band" ? fmt::format(", w = {:.4g} U", line.decision.guard_factor)
                                                : std::string()));
  }
  if (!sheet.no_requirement.empty()) say_out("\nNo requirement:");
  for (auto const& words : sheet.no_requirement) say_out("    " + words);
  return ExitCode::done;
}

}  // namespace benchward
