// SPDX-License-Identifier: MIT
#pragma once

/// Several steps at once, on the caller's executor.

#include <vector>

#include "../task.hpp"

namespace benchward {

/// Runs all to their ends. Rethrows the first failure (in the order given) once every one has ended; cancelled with its
/// caller.
Task<void> together(std::vector<Task<void>> steps);

}  // namespace benchward
