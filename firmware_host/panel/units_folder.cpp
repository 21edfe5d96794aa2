// SPDX-License-Identifier: MIT
#include "firmware_host/panel/units_folder.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <map>

#include "limits/documents/document_error.hpp"
#include "limits/documents/unit_document.hpp"

namespace benchward::panel {
namespace {

constexpr std::size_t most_files = 2000, longest_serial = 80;

}  // namespace

UnitsFolder read_units_folder(std::string const& folder) {
  UnitsFolder found;
  if (folder.empty()) return found;
  namespace fs = std::filesystem;
  std::error_code error;
  std::vector<std::string> files;
  for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
    if (it->path().extension() == ".json") files.push_back(it->path().string());
  }
  if (error) found.unusable.push_back(fmt::format("units folder {}: {}", folder, error.message()));
  std::sort(files.begin(), files.end());
  if (files.size() > most_files) {
    found.unusable.push_back(fmt::format("units folder {}: {} documents; only the first {} are looked at", folder,
                                         files.size(), most_files));
    files.resize(most_files);
  }
  std::map<std::string, std::vector<WaitingUnit>> by_serial;
  for (auto const& file : files) {
    try {
      WaitingUnit waiting{read_unit(file), file};
      auto const serial = waiting.unit.serial;
      by_serial[serial].push_back(std::move(waiting));
    } catch (DocumentError const& wrong) {
      found.unusable.emplace_back(wrong.what());
    }
  }
  for (auto& [serial, units] : by_serial) {
    if (units.size() > 1) {
      found.unusable.push_back(fmt::format("serial {} stands in {} and {}: neither is taken until one is gone", serial,
                                           units[0].file, units[1].file));
    } else {
      found.units.push_back(std::move(units.front()));
    }
  }
  return found;
}

std::optional<std::string> clean_serial(std::string const& typed) {
  std::string serial;
  for (char const c : typed) {
    if (static_cast<unsigned char>(c) >= 0x20 && c != 0x7f) serial += c;
  }
  auto const first = serial.find_first_not_of(' ');
  if (first == std::string::npos) return std::nullopt;
  serial = serial.substr(first, serial.find_last_not_of(' ') - first + 1);
  if (serial.size() > longest_serial) return std::nullopt;
  return serial;
}

}  // namespace benchward::panel
