// SPDX-License-Identifier: MIT
#pragma once

#include <string_view>
#include <vector>

namespace benchward::panel {

struct PanelFile {
  std::string_view path;  ///< "/panel.js"
  std::string_view bytes;
};

/// The panel's page, compiled in; empty where the program was built without npm.
std::vector<PanelFile> panel_files();

}  // namespace benchward::panel
