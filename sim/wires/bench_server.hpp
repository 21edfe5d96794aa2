// SPDX-License-Identifier: MIT
#pragma once

/// The whole simulated bench on real wires: a server a link of the bench document, the hands and control sockets, and
/// the ticker that lets simulated time pass even when nobody asks. One thread: the one that calls run().

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "../../drivers/bench/bench.hpp"
#include "wire_context.hpp"

namespace benchward::sim {

class BenchServer {
 public:
  struct Options {
    BenchTime time;
    std::uint64_t seed = 1;        ///< of noise on the wires; also in the ready line
    std::uint16_t hands_port = 0;  ///< 0: any free one
    std::uint16_t control_port = 0;
    std::function<void(std::string const&)> notice{};  ///< gets a line about clients that send what is no frame
  };
  /// Opens everything. A link with an address in the bench document is served at that port (TCP) or speed (serial), one
  /// without at any free port, 9600 baud. Throws DocumentError for a bench that cannot be served, CannotServe
  /// where a port is taken or the system gives no terminal. Bench and served bench must outlive the server.
  BenchServer(Bench const& bench, ServedBench& served, Options options);
  ~BenchServer();
  BenchServer(BenchServer const&) = delete;
  BenchServer& operator=(BenchServer const&) = delete;

  /// One line of JSON, without its end.
  std::string ready_line() const;
  WireContext& context();

  /// From now on INT, TERM and HUP end run().
  void stop_on_signals();
  /// Serves until stop(). Rethrows what a server threw: a defect.
  void run();
  /// From any thread.
  void stop();

 private:
  class Body;
  std::unique_ptr<Body> body_;
};

}  // namespace benchward::sim
