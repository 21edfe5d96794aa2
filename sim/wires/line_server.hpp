// SPDX-License-Identifier: MIT
#pragma once

/// A TCP server on loopback that answers one line with one line: the `hands` and `control` sockets.

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

namespace boost::asio {
class io_context;
}

namespace benchward::sim {

class LineServer {
 public:
  /// Lines end with "\n" ("\r\n" is taken too). A line of more than 4 MB is answered by an error and the connection is
  /// closed. `answer` gives one line without its end. Throws CannotServe where the port is taken.
  using Answer = std::function<std::string(std::string_view line)>;
  LineServer(boost::asio::io_context& io, Answer answer, std::uint16_t port = 0);
  ~LineServer();
  LineServer(LineServer const&) = delete;
  LineServer& operator=(LineServer const&) = delete;

  std::string address() const;  ///< "127.0.0.1:PORT"

  struct Body;

 private:
  std::shared_ptr<Body> body_;
};

}  // namespace benchward::sim
