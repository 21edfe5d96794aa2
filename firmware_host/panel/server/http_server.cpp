// SPDX-License-Identifier: MIT
// The one file that includes Beast (50 s of compilation).
#include "firmware_host/panel/server/http_server.hpp"

#include <array>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/websocket.hpp>
#include <chrono>
#include <list>
#include <optional>

namespace benchward::panel {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
namespace websocket = beast::websocket;
using tcp = asio::ip::tcp;

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

/// Percent-decodes; nothing for a bad escape, a control character or a path that climbs.
std::optional<std::string> decoded_path(std::string_view raw) {
  std::string path;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    char c = raw[i];
    if (c == '%') {
      if (i + 2 >= raw.size()) return std::nullopt;
      int const high = hex_digit(raw[i + 1]);
      int const low = hex_digit(raw[i + 2]);
      if (high < 0 || low < 0) return std::nullopt;
      c = static_cast<char>(high * 16 + low);
      i += 2;
    }
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) return std::nullopt;
    path += c;
  }
  if (path.empty() || path.front() != '/' || path.find("..") != std::string::npos) return std::nullopt;
  return path;
}

std::string text_of(beast::string_view view) { return std::string(view.data(), view.size()); }

template <class Head>
std::optional<Request> plain_request(Head const& head, std::string body) {
  Request request;
  request.method = text_of(head.method_string());
  auto const target = text_of(head.target());
  auto const question = target.find('?');
  auto const path = decoded_path(std::string_view(target).substr(0, question));
  if (!path) return std::nullopt;
  request.path = *path;
  if (question != std::string::npos) request.query = target.substr(question + 1);
  request.body = std::move(body);
  request.host = text_of(head[http::field::host]);
  request.origin = text_of(head[http::field::origin]);
  request.cookie = text_of(head[http::field::cookie]);
  request.content_type = text_of(head[http::field::content_type]);
  request.token = text_of(head["X-Bench-Token"]);
  return request;
}

}  // namespace

class HttpServer::Body : public std::enable_shared_from_this<HttpServer::Body> {
 public:
  struct Watcher {
    explicit Watcher(asio::io_context& io) : wake(io) {}
    asio::steady_timer wake;
    std::shared_ptr<std::string const> newest;
    bool gone = false;
  };

  Body(asio::io_context& io, std::uint16_t port, std::string events_path, ServerLimits limits, Handler handler,
       Gate gate)
      : io_(io),
        acceptor_(io, tcp::endpoint(asio::ip::address_v4::loopback(), port)),
        events_path_(std::move(events_path)),
        limits_(limits),
        handler_(std::move(handler)),
        gate_(std::move(gate)) {}

  void start() { asio::co_spawn(io_, accept(shared_from_this()), asio::detached); }

  std::uint16_t port() const { return acceptor_.local_endpoint().port(); }
  std::size_t watchers() const { return watchers_.size(); }

  void broadcast(std::string snapshot) {
    last_ = std::make_shared<std::string const>(std::move(snapshot));
    for (auto const& watcher : watchers_) {
      watcher->newest = last_;
      watcher->wake.cancel();
    }
  }

  void stop() {
    stopping_ = true;
    boost::system::error_code ignored;
    acceptor_.close(ignored);
    for (auto const& watcher : watchers_) {
      watcher->gone = true;
      watcher->wake.cancel();
    }
  }

 private:
  static Task<void> accept(std::shared_ptr<Body> self) {
    while (!self->stopping_) {
      boost::system::error_code error;
      tcp::socket socket = co_await self->acceptor_.async_accept(asio::redirect_error(asio::use_awaitable, error));
      if (self->stopping_) co_return;
      if (error) {
        // Out of descriptors or a client that is gone already: wait a little, never end.
        asio::steady_timer pause(self->io_, std::chrono::milliseconds(50));
        co_await pause.async_wait(asio::redirect_error(asio::use_awaitable, error));
        continue;
      }
      if (self->connections_ >= self->limits_.connections) continue;  // the socket closes: busy
      boost::system::error_code ignored;
      socket.set_option(tcp::no_delay(true), ignored);
      asio::co_spawn(self->io_, serve(self, std::move(socket)), asio::detached);
    }
  }

  struct Counted {
    explicit Counted(std::size_t& count) : count_(count) { ++count_; }
    ~Counted() { --count_; }
    Counted(Counted const&) = delete;
    Counted& operator=(Counted const&) = delete;
    std::size_t& count_;
  };

  static Task<void> serve(std::shared_ptr<Body> self, tcp::socket socket) {
    Counted const counted(self->connections_);
    try {
      beast::tcp_stream stream(std::move(socket));
      beast::flat_buffer buffer(self->limits_.header_bytes + self->limits_.body_bytes + 1024);
      bool first = true;
      while (!self->stopping_) {
        http::request_parser<http::string_body> parser;
        parser.header_limit(static_cast<std::uint32_t>(self->limits_.header_bytes));
        parser.body_limit(self->limits_.body_bytes);
        stream.expires_after(std::chrono::seconds(first ? self->limits_.header_seconds : self->limits_.idle_seconds));
        first = false;
        boost::system::error_code error;
        co_await http::async_read_header(stream, buffer, parser, asio::redirect_error(asio::use_awaitable, error));
        if (error == http::error::end_of_stream || error == beast::error::timeout) break;
        if (error) {
          // A body announced as too long is refused on its head.
          co_await refuse(self, stream,
                          error == http::error::header_limit ? 431
                          : error == http::error::body_limit ? 413
                                                             : 400);
          co_await linger(stream);
          break;
        }
        if (websocket::is_upgrade(parser.get())) {
          auto const watch = plain_request(parser.get(), std::string());
          auto const refusal = !watch                              ? std::make_pair(400, std::string("bad path"))
                               : watch->path != self->events_path_ ? std::make_pair(404, std::string("no such path"))
                               : self->watchers_.size() >= self->limits_.watchers
                                   ? std::make_pair(503, std::string("too many watchers"))
                                   : self->gate_(*watch);
          if (refusal.second.empty()) {
            co_await watch_over(self, std::move(stream), parser.release(), *watch);
            co_return;
          }
          co_await refuse(self, stream, refusal.first);
          break;
        }
        stream.expires_after(std::chrono::seconds(self->limits_.body_seconds));
        co_await http::async_read(stream, buffer, parser, asio::redirect_error(asio::use_awaitable, error));
        if (error) {
          if (error == http::error::body_limit) {
            co_await refuse(self, stream, 413);
            co_await linger(stream);
          }
          break;
        }
        bool const keep = parser.get().keep_alive();
        bool const head_only = parser.get().method() == http::verb::head;
        auto request = plain_request(parser.get(), std::move(parser.get().body()));
        Response response;
        if (!request) {
          response.status = 400;
          response.body = R"({"error":"bad path"})";
        } else {
          if (head_only) request->method = "GET";
          response = co_await self->handler_(std::move(*request));
        }
        co_await answer(self, stream, std::move(response), keep, head_only);
        if (!keep) break;
      }
      boost::system::error_code ignored;
      stream.socket().shutdown(tcp::socket::shutdown_send, ignored);
    } catch (std::exception const&) {
      // One connection's end; the server goes on. What matters was answered by the handler, which does not throw.
    }
  }

  /// Reads on for a moment after a refusal: closing with unread bytes would reset the connection, and the client would
  /// never see why.
  static Task<void> linger(beast::tcp_stream& stream) {
    boost::system::error_code error;
    stream.socket().shutdown(tcp::socket::shutdown_send, error);
    stream.expires_after(std::chrono::seconds(2));
    std::array<char, 16 * 1024> thrown_away;
    auto const into = asio::buffer(thrown_away);
    for (std::size_t seen = 0; seen < 8 * 1024 * 1024;) {
      auto const n = co_await stream.async_read_some(into, asio::redirect_error(asio::use_awaitable, error));
      if (error) co_return;
      seen += n;
    }
  }

  static Task<void> refuse(std::shared_ptr<Body> self, beast::tcp_stream& stream, int status) {
    Response response;
    response.status = status;
    response.body = R"({"error":"refused"})";
    co_await answer(self, stream, std::move(response), false, false);
  }

  static Task<void> answer(std::shared_ptr<Body> self, beast::tcp_stream& stream, Response response, bool keep,
                           bool head_only) {
    http::response<http::string_body> message;
    message.version(11);
    message.result(static_cast<unsigned>(response.status));
    message.keep_alive(keep);
    message.set(http::field::content_type, response.content_type);
    message.set("X-Content-Type-Options", "nosniff");
    message.set("Referrer-Policy", "no-referrer");
    message.set("X-Frame-Options", "DENY");
    message.set("Cross-Origin-Resource-Policy", "same-origin");
    message.set("Content-Security-Policy",
                "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
                "font-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'");
    for (auto const& [name, value] : response.headers) message.set(name, value);
    message.body() = std::move(response.body);
    message.prepare_payload();
    if (head_only) message.body().clear();
    stream.expires_after(std::chrono::seconds(self->limits_.body_seconds));
    boost::system::error_code error;
    http::response_serializer<http::string_body> serializer(message);
    if (head_only) {
      co_await http::async_write_header(stream, serializer, asio::redirect_error(asio::use_awaitable, error));
    } else {
      co_await http::async_write(stream, serializer, asio::redirect_error(asio::use_awaitable, error));
    }
  }

  using WebSocket = websocket::stream<beast::tcp_stream, false>;  // no compression: it is never offered

  /// Reads what a watcher says (it has nothing to say) so that pings and the close are seen; a flood ends it.
  static Task<void> listen(std::shared_ptr<Body> self, std::shared_ptr<WebSocket> socket,
                           std::shared_ptr<Watcher> watcher) {
    auto second = std::chrono::steady_clock::now();
    int messages = 0;
    beast::flat_buffer buffer(self->limits_.watcher_message_bytes);
    for (;;) {
      boost::system::error_code error;
      co_await socket->async_read(buffer, asio::redirect_error(asio::use_awaitable, error));
      if (error) break;
      buffer.consume(buffer.size());
      auto const now = std::chrono::steady_clock::now();
      if (now - second > std::chrono::seconds(1)) {
        second = now;
        messages = 0;
      }
      if (++messages > self->limits_.watcher_messages_a_second) break;
    }
    watcher->gone = true;
    watcher->wake.cancel();
    beast::get_lowest_layer(*socket).close();
  }

  static Task<void> watch_over(std::shared_ptr<Body> self, beast::tcp_stream stream,
                               http::request<http::string_body> request, Request asked) {
    auto socket = std::make_shared<WebSocket>(std::move(stream));
    beast::get_lowest_layer(*socket).expires_never();
    websocket::stream_base::timeout timeout;
    timeout.handshake_timeout = std::chrono::seconds(self->limits_.header_seconds);
    timeout.idle_timeout = std::chrono::seconds(30);
    timeout.keep_alive_pings = true;
    socket->set_option(timeout);
    socket->read_message_max(self->limits_.watcher_message_bytes);
    boost::system::error_code error;
    co_await socket->async_accept(request, asio::redirect_error(asio::use_awaitable, error));
    if (error) co_return;
    auto const watcher = std::make_shared<Watcher>(self->io_);
    watcher->newest = self->last_;
    self->watchers_.push_back(watcher);
    asio::co_spawn(self->io_, listen(self, socket, watcher), asio::detached);
    socket->text(true);
    socket->auto_fragment(false);
    while (!watcher->gone && !self->stopping_) {
      if (auto const snapshot = std::exchange(watcher->newest, nullptr)) {
        if (!self->gate_(asked).second.empty()) break;  // logged out, or the session ran out
        co_await socket->async_write(asio::buffer(*snapshot), asio::redirect_error(asio::use_awaitable, error));
        if (error) break;
        continue;
      }
      watcher->wake.expires_after(std::chrono::hours(1));
      co_await watcher->wake.async_wait(asio::redirect_error(asio::use_awaitable, error));
    }
    watcher->gone = true;
    self->watchers_.remove(watcher);
    beast::get_lowest_layer(*socket).close();
  }

  asio::io_context& io_;
  tcp::acceptor acceptor_;
  std::string events_path_;
  ServerLimits limits_;
  Handler handler_;
  Gate gate_;
  std::size_t connections_ = 0;
  bool stopping_ = false;
  std::list<std::shared_ptr<Watcher>> watchers_;
  std::shared_ptr<std::string const> last_;
};

HttpServer::HttpServer(asio::io_context& io, std::uint16_t port, std::string events_path, ServerLimits limits,
                       Handler handler, Gate gate)
    : body_(std::make_shared<Body>(io, port, std::move(events_path), limits, std::move(handler), std::move(gate))) {
  body_->start();
}
HttpServer::~HttpServer() { body_->stop(); }
std::uint16_t HttpServer::port() const { return body_->port(); }
void HttpServer::broadcast(std::string snapshot) { body_->broadcast(std::move(snapshot)); }
std::size_t HttpServer::watchers() const { return body_->watchers(); }
void HttpServer::stop() { body_->stop(); }

}  // namespace benchward::panel
