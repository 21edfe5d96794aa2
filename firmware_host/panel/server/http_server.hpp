// SPDX-License-Identifier: MIT
#pragma once

/// The panel's server: HTTP and one WebSocket path on loopback, on the program's one io_context. It knows limits and
/// time limits, nothing of benches: requests go to a handler, snapshots to whoever watches.

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "drivers/task.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward::panel {

struct Request {
  std::string method;  ///< "GET", "POST", "HEAD"
  std::string path;    ///< without query, percent-decoded, no ".." in it
  std::string query;
  std::string body;
  std::string host, origin, cookie, content_type;
  std::string token;  ///< header X-Bench-Token: proof that our own page sends the act
};

struct Response {
  int status = 200;
  std::string content_type = "application/json; charset=utf-8";
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;
};

/// Bounds against hostile or broken clients. Wall time.
struct ServerLimits {
  std::size_t body_bytes = 256 * 1024;
  std::size_t header_bytes = 16 * 1024;
  int header_seconds = 10;  ///< for the whole head of a request
  int body_seconds = 20;
  int idle_seconds = 60;  ///< between requests of one connection
  std::size_t connections = 256;
  std::size_t watchers = 64;
  std::size_t watcher_message_bytes = 1024;  ///< watchers have nothing to say
  int watcher_messages_a_second = 20;
};

class HttpServer {
 public:
  using Handler = std::function<Task<Response>(Request)>;
  /// Whether this request may become a watcher of the events path; the text is why not ("" = it may) with its status.
  using Gate = std::function<std::pair<int, std::string>(Request const&)>;

  /// Listens on 127.0.0.1:port (0: any free one). Throws std::system_error where the port is taken.
  HttpServer(boost::asio::io_context& io, std::uint16_t port, std::string events_path, ServerLimits limits,
             Handler handler, Gate gate);
  ~HttpServer();
  HttpServer(HttpServer const&) = delete;
  HttpServer& operator=(HttpServer const&) = delete;

  std::uint16_t port() const;
  /// Sends a snapshot to every watcher. One that is slower than the snapshots gets the newest, not all.
  void broadcast(std::string snapshot);
  std::size_t watchers() const;
  void stop();

 private:
  class Body;
  std::shared_ptr<Body> body_;
};

}  // namespace benchward::panel
