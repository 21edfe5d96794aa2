// SPDX-License-Identifier: MIT
#pragma once

/// Lines for people: whole lines, at once, and a closed pipe is not an error of ours.

#include <string>

namespace benchward {

void say_out(std::string const& line);
void say_err(std::string const& line);

}  // namespace benchward
