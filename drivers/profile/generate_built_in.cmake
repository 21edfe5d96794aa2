# SPDX-License-Identifier: MIT
# cmake -DOUTPUT=... -DINPUTS=a.json,b.json -P generate_built_in.cmake: the texts of profiles as a C++ source.
string(REPLACE "," ";" inputs "${INPUTS}")
set(text "// SPDX-License-Identifier: MIT\n// Generated from drivers/profiles/*.json.\n#include \"drivers/profile/built_in.hpp\"\n\n")
string(APPEND text "namespace benchward {\n\nstd::vector<std::pair<std::string_view, std::string_view>> const& built_in_profile_texts() {\n")
string(APPEND text "  static std::vector<std::pair<std::string_view, std::string_view>> const texts{\n")
foreach(input IN LISTS inputs)
  get_filename_component(id "${input}" NAME_WE)
  file(READ "${input}" json)
  string(APPEND text "{\"${id}\", R\"~profile~(${json})~profile~\"},\n")
endforeach()
string(APPEND text "  };\n  return texts;\n}\n\n}  // namespace benchward\n")
file(WRITE "${OUTPUT}" "${text}")
