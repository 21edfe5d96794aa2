// SPDX-License-Identifier: MIT
#pragma once

/// What the folder's topic files hand to calc.cpp. Not installed.

#include <vector>

#include "limits/documents/calc/calc.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"

namespace benchward::documents {

/// A topic and its computation: reads all keys, calls `in.finish()`, computes, writes the fields of an open object.
struct Topic {
  CalcTopic about;
  void (*run)(ObjectReader& in, JsonWriter& out);
};

std::vector<Topic> connection_topics();  ///< resistance, ratio, phase relation, polarity
std::vector<Topic> loss_topics();        ///< no-load loss, load loss, impedance, equivalent circuit, regulation
std::vector<Topic> efficiency_topics();  ///< efficiency and what the regulation asks
std::vector<Topic> dielectric_topics();  ///< induced test
std::vector<Topic> statistics_topics();  ///< uncertainty, conformity, capability, control chart
std::vector<Topic> wire_topics();        ///< Modbus check word

}  // namespace benchward::documents
