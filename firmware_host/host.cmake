# SPDX-License-Identifier: MIT
include(BenchwardPanel)  # the panel's page, compiled in

# Drawing of reports: apart, so that nothing else compiles with the drawing libraries' headers.
find_package(PkgConfig REQUIRED)
pkg_check_modules(report_libraries REQUIRED IMPORTED_TARGET pangocairo cairo-pdf libqpdf)
add_library(benchward_report_drawing STATIC
  report/chart_scale.cpp
  report/html_page.cpp
  report/pdf_attachments.cpp
  report/pdf_pages.cpp)
target_include_directories(benchward_report_drawing PUBLIC ${PROJECT_SOURCE_DIR})
target_compile_definitions(benchward_report_drawing PRIVATE POINTERHOLDER_TRANSITION=4)  # the library's new pointers only
# C++20's constexpr vector meets a class that qpdf's header only declares: Clang 14 refuses that, and takes it as C++17.
if(CMAKE_CXX_COMPILER_ID STREQUAL "Clang")
  set_source_files_properties(report/pdf_attachments.cpp PROPERTIES COMPILE_OPTIONS -std=c++17)
endif()
target_link_libraries(benchward_report_drawing PRIVATE benchward_flags fmt::fmt PkgConfig::report_libraries)

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
  command/records_recompute.cpp
  command/records_report.cpp
  command/records_standing.cpp
  command/records_tables.cpp
  command/records_verify.cpp
  command/rework.cpp
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
  record/affected.cpp
  record/lot.cpp
  record/recompute.cpp
  record/record_csv.cpp
  record/record_json.cpp
  record/result_table.cpp
  record/verification.cpp
  report/report_parts.cpp
  report/report_wishes.cpp
  report/unit_report.cpp
  session/bench_on_wires.cpp
  session/check_object_document.cpp
  session/program_start.cpp
  session/session_virtual.cpp
  session/session_wires.cpp
  session/signals.cpp
  session/unit_past.cpp
  session/unit_run.cpp
  store/backup.cpp
  store/durable_file.cpp
  store/journal_database.cpp
  store/journal_store.cpp
  store/record_catalogue.cpp
  store/signed_head.cpp
  terminal/terminal_view.cpp
  time/guard_wake.cpp
  time/wall_clock.cpp
  "${panel_generated}")
target_link_libraries(benchward_host PRIVATE benchward_flags
  PUBLIC benchward::tests_seq benchward::drivers benchward::sim benchward::documents benchward_version
  PRIVATE benchward_report_drawing fmt::fmt nlohmann_json::nlohmann_json SQLite::SQLite3 PkgConfig::libsodium Boost::headers Threads::Threads)

benchward_apart(command/bench_watch.cpp command/station.cpp panel/server/accounts.cpp panel/server/http_server.cpp
                store/record_catalogue.cpp)
benchward_together(benchward_host)

add_executable(benchward main.cpp)
target_link_libraries(benchward PRIVATE benchward_flags benchward_host CLI11::CLI11)
