# SPDX-License-Identifier: MIT
add_subdirectory(formulas)
