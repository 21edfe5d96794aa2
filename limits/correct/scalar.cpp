// SPDX-License-Identifier: MIT
#include "limits/correct/scalar.hpp"

namespace benchward {

void refuse_number(char const* name, char const* expected) { throw InputError(name, expected); }

}  // namespace benchward
