// SPDX-License-Identifier: MIT
#pragma once

/// A serial bus on a pseudo terminal with one or several Modbus RTU devices on it. Answers leave no faster than the
/// bits would on the wire, divided by the time scale.

#include <memory>
#include <string>
#include <vector>

#include "wire_context.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward::sim {

class ModbusRtuServer {
 public:
  /// Throws CannotServe where the system gives no pseudo terminal.
  ModbusRtuServer(boost::asio::io_context& io, WireContext& context, std::vector<ModbusDevice> devices, int baud);
  ~ModbusRtuServer();
  ModbusRtuServer(ModbusRtuServer const&) = delete;
  ModbusRtuServer& operator=(ModbusRtuServer const&) = delete;

  std::string const& path() const;  ///< "/dev/pts/7"
  std::string address() const;      ///< "modbus-rtu:///dev/pts/7?baud=9600"

  struct Body;

 private:
  std::shared_ptr<Body> body_;
};

}  // namespace benchward::sim
