// SPDX-License-Identifier: MIT
#pragma once

/// A Modbus TCP server on loopback: as many clients as a real device takes, any of which may send garbage, stop in the
/// middle of a frame, or come and go.

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "wire_context.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward::sim {

class ModbusTcpServer {
 public:
  /// Port 0: any free one. Throws CannotServe "cannot listen on ...: cause" where the port is taken.
  /// Unit ids 0, 1 and 255 reach the first device (the address of the connection is the device's), its own id too; an
  /// id that nobody has is answered with exception 11.
  ModbusTcpServer(boost::asio::io_context& io, WireContext& context, std::vector<ModbusDevice> devices,
                  std::uint16_t port = 0);
  ~ModbusTcpServer();
  ModbusTcpServer(ModbusTcpServer const&) = delete;
  ModbusTcpServer& operator=(ModbusTcpServer const&) = delete;

  std::uint16_t port() const;
  std::string address() const;  ///< "modbus-tcp://127.0.0.1:PORT"

  struct Body;

 private:
  std::shared_ptr<Body> body_;
};

}  // namespace benchward::sim
