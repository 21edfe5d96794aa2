# SPDX-License-Identifier: MIT
benchward_test(documents_test
  SOURCES documents_reader_test.cpp documents_writer_test.cpp documents_unit_test.cpp documents_limit_set_test.cpp
          documents_regulation_test.cpp documents_readings_test.cpp documents_families_test.cpp
  LIBRARIES benchward::documents nlohmann_json::nlohmann_json fmt::fmt
  LABELS sanitize second-compiler)

benchward_test(calc_test
  SOURCES documents_calc_test.cpp documents_worked_examples_test.cpp
  LIBRARIES benchward::documents nlohmann_json::nlohmann_json fmt::fmt)

# Slow to compile (the schema validator): a program of its own.
benchward_test(documents_schema_test
  SOURCES documents_schema_test.cpp
  LIBRARIES benchward::documents nlohmann_json::nlohmann_json)
