// SPDX-License-Identifier: MIT
#pragma once

/// What a person's hands do at a simulated bench: over the bench's `hands` socket, or on the bench object in process.

#include <memory>
#include <string>

#include "drivers/roles/connection.hpp"
#include "drivers/task.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward {

namespace sim {
class SimBench;
}

/// Each act answers an empty text, or why it cannot be done.
class Hands {
 public:
  Hands() = default;
  Hands(Hands const&) = delete;
  Hands& operator=(Hands const&) = delete;
  virtual ~Hands() = default;

  virtual Task<std::string> connect(Connection connection) = 0;
  virtual Task<std::string> disconnect_all() = 0;
  virtual Task<std::string> set_tap(int position) = 0;
  virtual Task<std::string> set_gate(bool open) = 0;
  virtual Task<std::string> press(std::string button) = 0;
  virtual Task<std::string> set_accessory(std::string name, std::string state) = 0;
  /// Empty if the accessory is in this state; else how it is.
  virtual Task<std::string> look(std::string name, std::string state) = 0;
};

/// Over the socket named in the ready line ("HOST:PORT"), one JSON line an act.
std::unique_ptr<Hands> hands_on_socket(boost::asio::io_context& io, std::string const& address);

/// On the simulated bench object itself (virtual runs).
std::unique_ptr<Hands> hands_in_process(sim::SimBench& bench);

}  // namespace benchward
