// SPDX-License-Identifier: MIT
#include <CLI/CLI.hpp>
#include <csignal>
#include <cstdio>
#include <exception>
#include <functional>
#include <string>

#include "firmware_host/command/commands.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/session/session.hpp"
#include "firmware_host/session/signals.hpp"
#include "firmware_host/version.hpp"
#include "limits/documents/document_error.hpp"

namespace {

using namespace benchward;

constexpr char const* footer =
    "\nExit codes: 0 accepted, 1 unit rejected, 2 bad usage or document, 3 instrument or bench fault, 4 stopped,\n"
    "5 record could not be kept, 6 a defect of the program.\n\n"
    "Not a safety function: the hard-wired chain is. Test dead and apply a visible earth before touching a "
    "terminal.\n\n"
    "Try it without hardware:\n"
    "  benchward test --virtual --yes --bench sim/demo/benches/01-scaled.json \\\n"
    "                 --unit sim/demo/units/single-phase-pad-50kva.json\n"
    "  benchward calc --list\n";

int run(int argc, char** argv) {
  CLI::App app{"Benchward: the routine-test bench of a distribution-transformer factory", "benchward"};
  app.footer(footer);
  app.require_subcommand(0, 1);
  bool version = false, version_as_json = false;
  app.add_flag("--version", version, "Version, commit and build; with --json as one JSON object");
  app.add_flag("--json", version_as_json, "With --version: as JSON");

  std::function<ExitCode()> chosen;

  TestOptions test;
  auto* test_command = app.add_subcommand("test", "Run one unit through its routine sequence");
  test_command->add_option("--bench", test.bench, "Bench document")->required();
  test_command->add_option("--unit", test.unit, "Unit document")->required();
  auto* links = test_command->add_option("--links", test.links,
                                         "Ready line of benchward-sim (a file): a simulated bench on real wires");
  auto* virtual_flag = test_command->add_flag("--virtual", test.virtual_run,
                                              "Simulate the bench inside the program, as fast as the processor goes");
  links->excludes(virtual_flag);
  test_command->add_option("--seed", test.seed, "Seed of a virtual run (1)");
  test_command->add_option("--start", test.start, "Start instant of a virtual run (2030-01-01T00:00:00Z)");
  test_command
      ->add_option("--fault", test.faults,
                   "NAME or NAME=VALUE, for a virtual run; benchward-sim --list-faults names them")
      ->allow_extra_args(false);
  test_command
      ->add_option("--truth", test.truth,
                   "Write here, at the end of a virtual run, what the simulator's judge saw and the true values (JSON)")
      ->needs(virtual_flag);
  test_command->add_option("--limits", test.limits, "Limit set (built-in one if absent)");
  test_command->add_option("--stage", test.stage, "before_closing, before_shipping or routine");
  test_command->add_option("--records", test.records, "Folder of the journal (none: nothing is kept)");
  test_command->add_option("--operator", test.operator_name, "Who runs the test");
  test_command->add_option("--resume", test.resume, "Take up an interrupted attempt: its id in --records");
  test_command->add_option("--after", test.after,
                           "Rework, e.g. \"bushing replaced\": only what the retest table repeats");
  test_command->add_option("--reason", test.reason, "Signed reason to energise a unit that is on hold");
  test_command->add_option("--answer", test.answers, "QUESTION=ANSWER of the simulated operator; may be repeated")
      ->allow_extra_args(false);
  test_command->add_flag("--for-record", test.for_record,
                         "Begin only where the check object of this bench was measured, and well, since the last trip");
  test_command->add_flag("--yes", test.yes, "A simulated operator moves the leads (simulated bench only)");
  test_command->add_flag("--json", test.json,
                         "Print the record as JSON on standard output, progress on standard error");
  test_command->callback([&] { chosen = [&] { return run_test(test); }; });

  TestOptions object;
  auto* object_command =
      app.add_subcommand("check-object", "Measure a known object and judge the bench by it, not the object");
  object_command->add_option("--bench", object.bench, "Bench document")->required();
  object_command->add_option("--object", object.object, "Check object document: unit, declared values, limits")
      ->required();
  object_command->add_option("--records", object.records, "Folder of the journal")->required();
  object_command->add_option("--links", object.links, "Ready line of benchward-sim (a file)");
  object_command->add_option("--operator", object.operator_name, "Who runs it");
  object_command->add_flag("--virtual", object.virtual_run, "Simulator and station in one process, in virtual time");
  object_command->add_option("--seed", object.seed, "Seed of a virtual run (1)");
  object_command->add_option("--start", object.start, "Start instant of a virtual run (2030-01-01T00:00:00Z)");
  object_command->add_option("--fault", object.faults, "NAME or NAME=VALUE, for a virtual run")
      ->allow_extra_args(false);
  object_command->add_flag("--yes", object.yes, "A simulated operator moves the leads (simulated bench only)");
  object_command->callback([&] { chosen = [&] { return run_test(object); }; });

  PlanOptions plan;
  auto* plan_command = app.add_subcommand("plan", "What would be done to a unit, in which order, and why");
  plan_command->add_option("--bench", plan.benches, "Bench document(s)")->required();
  plan_command->add_option("--unit", plan.unit, "Unit document")->required();
  plan_command->add_option("--limits", plan.limits, "Limit set (built-in one if absent)");
  plan_command->add_option("--stage", plan.stage, "before_closing, before_shipping or routine");
  plan_command->add_option("--after", plan.after,
                           "Rework, e.g. \"bushing replaced\": only what the retest table repeats");
  plan_command->add_option("--resume", plan.resume, "An interrupted attempt: what stands and what is repeated");
  plan_command->add_option("--records", plan.records, "Folder of the journal that has it");
  plan_command->add_flag("--json", plan.json, "As one JSON object");
  plan_command->callback([&] { chosen = [&] { return run_plan(plan); }; });

  ReworkOptions rework;
  auto* rework_command =
      app.add_subcommand("rework", "Keep what was done to a unit between two tests: opens its tests again");
  rework_command->add_option("--records", rework.records, "Folder of the journal");
  rework_command->add_option("--serial", rework.serial, "Serial of the unit");
  rework_command->add_option("--done", rework.done, "What was done, in a word of the retest table");
  rework_command->add_option("--operator", rework.person, "Who did it");
  rework_command->add_option("--words", rework.words, "What else there is to say");
  rework_command->add_flag("--list", rework.list, "Print the retest table: what is repeated after what");
  rework_command->callback([&] { chosen = [&] { return run_rework(rework); }; });
  auto* sign_command =
      app.add_subcommand("sign", "Quality signs: takes a unit off hold, and lets a repeat's pass stand");
  sign_command->add_option("--records", rework.records, "Folder of the journal");
  sign_command->add_option("--serial", rework.serial, "Serial of the unit");
  sign_command->add_option("--operator", rework.person, "Who signs");
  sign_command->add_option("--words", rework.words, "Why: cause found, what was done");
  sign_command->callback([&] { chosen = [&] { return run_sign(rework); }; });

  CalcOptions calc;
  auto* calc_command = app.add_subcommand("calc", "One computation that the tests use: one JSON object in, one out");
  calc_command->add_option("topic", calc.topic, "Topic; --list names them");
  calc_command->add_option("input", calc.input, "File with the JSON object (standard input if absent)");
  calc_command->add_flag("--list", calc.list, "Topics with keys and units");
  calc_command->callback([&] { chosen = [&] { return run_calc(calc); }; });

  LimitsSheetOptions sheet;
  auto* limits_command = app.add_subcommand("limits", "Limits of a unit");
  limits_command->require_subcommand(1);
  auto* sheet_command = limits_command->add_subcommand("sheet", "Each limit of a unit, its number and its source");
  sheet_command->add_option("--unit", sheet.unit, "Unit document")->required();
  sheet_command->add_option("--limits", sheet.limits, "Limit set (built-in one if absent)");
  sheet_command->add_flag("--json", sheet.json, "As one JSON object");
  sheet_command->callback([&] { chosen = [&] { return run_limits_sheet(sheet); }; });

  BenchCheckOptions check;
  auto* bench_command = app.add_subcommand("bench", "The bench itself");
  bench_command->require_subcommand(1);
  auto* check_command = bench_command->add_subcommand("check", "Speak to every instrument once and say what is wrong");
  check_command->add_option("--bench", check.bench, "Bench document")->required();
  check_command->add_option("--links", check.links, "Ready line of benchward-sim (a file)");
  check_command->add_flag("--json", check.json, "As one JSON object");
  check_command->callback([&] { chosen = [&] { return run_bench_check(check); }; });

  BenchWatchOptions watch;
  auto* watch_command =
      bench_command->add_subcommand("watch", "Live values of every instrument with the raw words beside; only reads");
  watch_command->add_option("--bench", watch.bench, "Bench document")->required();
  watch_command->add_option("--links", watch.links, "Ready line of benchward-sim (a file)");
  watch_command->add_option("--every", watch.every_s, "Seconds from one turn to the next (1)")
      ->check(CLI::Range(0.05, 3600.0));
  watch_command->add_option("--turns", watch.turns, "How many turns (until interrupted)")
      ->check(CLI::Range(1, 1000000));
  watch_command->add_flag("--json", watch.json, "One JSON object a line, a device and turn");
  watch_command->callback([&] { chosen = [&] { return run_bench_watch(watch); }; });

  StationCommand station;
  auto* station_command = app.add_subcommand("station", "Serve the operator panel on loopback");
  station_command->add_option("--bench", station.bench, "Bench document");
  station_command->add_option("--records", station.records, "Folder of the journal and the accounts")->required();
  station_command->add_option("--port", station.port, "Port on 127.0.0.1 (any free one)");
  station_command->add_option("--links", station.links, "Ready line of benchward-sim (a file)");
  station_command->add_option("--units", station.units, "Folder of the orders waiting: unit documents (none)");
  station_command->add_option("--limits", station.limits, "Limit set (built-in one if absent)");
  auto* add_account = station_command->add_option("--add-account", station.add_account,
                                                  "Add or change an account and end; password on standard input");
  auto* role = station_command->add_option("--role", station.role, "watcher, operator, quality or technician");
  add_account->needs(role);
  role->needs(add_account);
  station_command->callback([&] { chosen = [&] { return run_station(station); }; });

  RecordsOptions records;
  auto* records_command = app.add_subcommand("records", "What was measured, by whom, with what, against which limit");
  records_command->add_option("verb", records.verb, records_verbs())->required();
  records_command->add_option("id", records.ids, "Record ids (none: all)");
  records_command->add_option("--records", records.records, "Folder of the journal");
  records_command->add_flag("--json", records.json, "As JSON");
  records_command->add_option("--serial", records.serial, "Only this serial number")->group("Which records");
  records_command->add_option("--order", records.order, "Only this order")->group("Which records");
  records_command->add_option("--design", records.design, "Only this design")->group("Which records");
  records_command->add_option("--outcome", records.outcome, "Only PASS, FAIL, INVALID, ABORTED, NOT_RUN or OPEN")
      ->group("Which records");
  records_command
      ->add_option("--instrument", records.instrument, "Only with this instrument: name, serial, certificate")
      ->group("Which records");
  records_command->add_option("--since", records.since, "From this day on (YYYY-MM-DD, UTC)")->group("Which records");
  records_command->add_option("--until", records.until, "To this day")->group("Which records");
  records_command->add_option("--key", records.key,
                              "verify: file with the public keys to be trusted (the folder's own)");
  records_command->add_option("--head", records.head, "verify: a head kept outside, as line or as file with lines");
  records_command->add_flag("--from-last-head", records.from_last_head,
                            "verify: only what stands behind the newest head");
  records_command->add_option("--extract", records.extract, "verify: the extract out of a report instead of a folder");
  records_command->add_option("--limits", records.limits, "recompute: with another limit set: what would have been");
  records_command->add_option("--found", records.found,
                              "affected: what it did wrong, QUANTITY=PERCENT (power=0.5: it read too much)");
  records_command->add_option("--to", records.to, "backup: new folder; report, export: file or folder to write");
  records_command->add_option("--from", records.from, "restore: the backup");
  records_command->add_flag("--csv", records.csv, "export: a line a result, for tables");
  records_command->add_flag("--html", records.html, "report: a page that needs nothing else, instead of PDF");
  records_command->add_flag("--lot", records.lot, "report: of all units of --order or --design together");
  records_command->add_option("--wishes", records.wishes,
                              "report: laboratory, customer, columns, second language, reference temperature (JSON)");
  records_command->add_option("--paper", records.paper, "report: A4 or letter");
  records_command->add_option("--replaces", records.replaces, "report: number of the report that this one replaces");
  records_command->add_option("--reason", records.reason, "report: why it is replaced");
  records_command->add_option("--issued", records.issued, "report: day of issue (day of the last entry)");
  records_command->add_option("--authorised-by", records.authorised_by, "report: who authorises it");
  records_command->callback([&] { chosen = [&] { return run_records(records); }; });

  try {
    app.parse(argc, argv);
  } catch (CLI::CallForHelp const& help) {
    return app.exit(help);
  } catch (CLI::CallForAllHelp const& help) {
    return app.exit(help);
  } catch (CLI::ParseError const& error) {
    app.exit(error);
    return static_cast<int>(ExitCode::bad_input);
  }
  if (version) {
    say_out(version_as_json ? version_json("benchward") : version_line("benchward"));
    return 0;
  }
  if (!chosen) {
    say_out(app.help());
    return static_cast<int>(ExitCode::bad_input);
  }
  return static_cast<int>(chosen());
}

}  // namespace

int main(int argc, char** argv) {
  std::signal(SIGPIPE, SIG_IGN);
  // A file that may not grow (a quota, a limit) is a failing write, handled as a full disk, not a death in mid-run.
  std::signal(SIGXFSZ, SIG_IGN);
  benchward::write_a_line_on_fatal_signals();
  try {
    return run(argc, argv);
  } catch (benchward::DocumentError const& error) {
    benchward::say_err(error.what());
    return static_cast<int>(benchward::ExitCode::bad_input);
  } catch (benchward::SessionError const& error) {
    benchward::say_err(error.what());
    return static_cast<int>(error.code());
  } catch (std::exception const& error) {
    benchward::say_err(std::string("benchward: a defect of the program: ") + error.what());
    return static_cast<int>(benchward::ExitCode::defect);
  }
}
