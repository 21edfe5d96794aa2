// SPDX-License-Identifier: MIT
#pragma once

/// The three kinds of wire.

#include <memory>

#include "../bench/bench_document.hpp"
#include "wire.hpp"

namespace benchward {

/// How the links of real benches are opened: libmodbus sets up sockets and serial lines of Modbus, the text wire its
/// own.
OpenStream open_modbus_tcp(LinkAddress address, WallTime now);
OpenStream open_modbus_rtu(LinkAddress address, WallTime now);
OpenStream open_text(LinkAddress address, WallTime now);

/// The rules of each kind of wire, over any stream of bytes.
std::unique_ptr<Wire> make_modbus_tcp_wire(OpenStream open, WireTime time);
std::unique_ptr<Wire> make_modbus_rtu_wire(OpenStream open, int baud, bool echo, WireTime time);
std::unique_ptr<Wire> make_text_wire(OpenStream open, bool echo, WireTime time);

}  // namespace benchward
