// SPDX-License-Identifier: MIT
#pragma once

/// The three kinds of wire.

#include <memory>

#include "../bench/bench_document.hpp"
#include "wire.hpp"

namespace benchward {

std::unique_ptr<Wire> make_modbus_tcp_wire(LinkAddress address, WallTime wall);
std::unique_ptr<Wire> make_modbus_rtu_wire(LinkAddress address, bool echo, WallTime wall);
std::unique_ptr<Wire> make_text_wire(LinkAddress address, bool echo, WallTime wall);

}  // namespace benchward
