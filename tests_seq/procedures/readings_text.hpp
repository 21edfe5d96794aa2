// SPDX-License-Identifier: MIT
#pragma once

/// Readings as the text that the journal keeps: those of limits/documents, and who the instruments said they are.

#include <string>
#include <utility>
#include <vector>

#include "../../drivers/roles/roles.hpp"
#include "../../limits/documents/readings_json.hpp"

namespace benchward {

template <class Readings>
std::string readings_text(Readings const& readings) {
  return write_json(readings);
}

/// {"instruments":[{"name","maker","model","serial","firmware"}]}
std::string identity_json(std::vector<std::pair<std::string, Identity>> const& found);

}  // namespace benchward
