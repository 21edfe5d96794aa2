# SPDX-License-Identifier: MIT
include(BenchwardPanel)  # the panel's page, compiled in

# The station program: everything but main() is a library, so that tests can reach it.
add_library(benchward_host STATIC
  bench_lock.cpp
  say.cpp
  command/bench_check.cpp
  command/bench_watch.cpp
  command/calc.cpp
  command/limits_sheet.cpp
  command/plan.cpp
  command/records.cpp
  command/station.cpp
  command/test.cpp
  operator/hands_in_process.cpp
  operator/hands_on_socket.cpp
  operator/simulated_operator.cpp
  operator/terminal_operator.cpp
  panel/instrument_watch.cpp
  panel/panel_api.cpp
  panel/panel_operator.cpp
  panel/panel_progress.cpp
  panel/panel_state.cpp
  panel/record_index.cpp
  panel/server/accounts.cpp
  panel/server/http_server.cpp
  panel/station_control.cpp
  panel/units_folder.cpp
  record/recompute.cpp
  record/record_json.cpp
  record/result_table.cpp
  session/session_virtual.cpp
  session/session_wires.cpp
  session/signals.cpp
  session/unit_run.cpp
  store/journal_database.cpp
  store/journal_store.cpp
  terminal/terminal_view.cpp
  time/guard_wake.cpp
  time/wall_clock.cpp
  "${panel_generated}")
target_link_libraries(benchward_host PRIVATE benchward_flags
  PUBLIC benchward::tests_seq benchward::drivers benchward::sim benchward::documents benchward_version
  PRIVATE fmt::fmt nlohmann_json::nlohmann_json SQLite::SQLite3 PkgConfig::libsodium Boost::headers Threads::Threads)

add_executable(benchward main.cpp)
target_link_libraries(benchward PRIVATE benchward_flags benchward_host CLI11::CLI11)
