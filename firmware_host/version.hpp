// SPDX-License-Identifier: MIT
#pragma once

/// Which program this is: for `--version`, for every record, for the line that a fatal signal leaves.

#include <string>

namespace benchward {

struct Version {
  std::string version, commit, build_id;
};

Version const& program_version();

/// "benchward 0.1.0 (commit, build)".
std::string version_line(std::string const& program);

/// One JSON object: program, version, commit, build id, document and event versions, libraries with their versions.
std::string version_json(std::string const& program);

}  // namespace benchward
