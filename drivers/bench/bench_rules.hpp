// SPDX-License-Identifier: MIT
#pragma once

/// What must hold between the parts of a bench document, besides the form of each part.

#include "bench.hpp"

namespace benchward {

/// Throws DocumentError with the path of the first rule broken (ids in bench_document.hpp).
void judge_bench(Bench const& bench);

}  // namespace benchward
