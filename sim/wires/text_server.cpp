// SPDX-License-Identifier: MIT
#include "sim/wires/text_server.hpp"

#include <fmt/format.h>

#include <array>
#include <set>
#include <utility>

#include "sim/wires/serial_line.hpp"
#include "sim/wires/serial_stream.hpp"

namespace benchward::sim {

namespace {

constexpr std::size_t longest_line = 4096;

/// Cuts what arrives into lines; "\n" ends one, "\r" before it is dropped, a lone "\r" ends one where the device says
/// so.
class LineCutter {
 public:
  explicit LineCutter(std::string const& terminator) : end_(terminator == "\r" ? '\r' : '\n') {}
  void feed(std::span<std::uint8_t const> bytes) { pending_.append(bytes.begin(), bytes.end()); }
  std::optional<std::string> next() {
    auto const end = pending_.find(end_);
    if (end == std::string::npos) return std::nullopt;
    auto line = pending_.substr(0, end + 1);
    pending_.erase(0, end + 1);
    return line;
  }
  bool too_long() {
    if (pending_.size() <= longest_line) return false;
    pending_.clear();
    return true;
  }

 private:
  char end_;
  std::string pending_;
};

/// What leaves for one line.
WireAnswer answer_to(WireContext& context, TextEndpoint const& endpoint, std::string const& line) {
  context.bring_up_to_date();
  Bytes reply;
  if (auto const text = endpoint.device->answer(line)) {
    reply.assign(text->begin(), text->end());
    reply.insert(reply.end(), endpoint.terminator.begin(), endpoint.terminator.end());
  }
  Bytes const request(line.begin(), line.end());
  return context.faults.shape_text(endpoint.name, request, std::move(reply),
                                   context.answer_context(endpoint.time_limit_s));
}

}  // namespace

struct TextSerialServer::Body {
  Body(asio::io_context& io, WireContext& wire_context, TextEndpoint text_endpoint, int baud)
      : context(wire_context), endpoint(std::move(text_endpoint)), line(io, baud) {}
  WireContext& context;
  TextEndpoint endpoint;
  SerialStream line;
};

struct TextTcpServer::Body {
  Body(asio::io_context& io, WireContext& wire_context, TextEndpoint text_endpoint, std::uint16_t wanted)
      : context(wire_context),
        endpoint(std::move(text_endpoint)),
        acceptor(listen_on_loopback(io, wanted)),
        port(acceptor.local_endpoint().port()) {}
  WireContext& context;
  TextEndpoint endpoint;
  Tcp::acceptor acceptor;
  std::uint16_t port;
  std::set<Tcp::socket*> sockets;
};

namespace {

asio::awaitable<void> serve_line(TextSerialServer::Body& body, std::string const& line) {
  double const request_s = static_cast<double>(line.size()) * byte_time_s(body.line.baud());
  co_await wait_simulated(body.context.time, request_s + body.endpoint.instrument->answer_delay_s());
  auto const answer = answer_to(body.context, body.endpoint, line);
  for (auto const& piece : answer.pieces) {
    co_await wait_simulated(body.context.time, piece.wait_s);
    co_await body.line.write(body.context.time, piece.bytes);
  }
  if (answer.close_after) body.line.pull_out();
}

asio::awaitable<void> listen(std::shared_ptr<TextSerialServer::Body> body) {
  LineCutter cutter(body->endpoint.terminator);
  while (body->line.open()) {
    auto const arrived = co_await body->line.read(std::chrono::milliseconds(2000));
    if (arrived.empty()) body->line.forget_exclusive_opening();
    cutter.feed(arrived);
    auto line = cutter.next();
    while (line) {
      co_await serve_line(*body, *line);
      line = cutter.next();
    }
    if (cutter.too_long()) body->endpoint.device->overrun();
  }
}

/// False: the connection has to be closed.
asio::awaitable<bool> serve_line(TextTcpServer::Body& body, Tcp::socket& socket, std::string const& line) {
  co_await wait_simulated(body.context.time, body.endpoint.instrument->answer_delay_s());
  auto const answer = answer_to(body.context, body.endpoint, line);
  for (auto const& piece : answer.pieces) {
    co_await wait_simulated(body.context.time, piece.wait_s);
    auto const bytes = asio::buffer(piece.bytes);
    auto const [error, written] = co_await asio::async_write(socket, bytes, with_error);
    if (error) co_return false;
  }
  co_return !answer.close_after;
}

asio::awaitable<void> hold_session(std::shared_ptr<TextTcpServer::Body> body, Tcp::socket socket) {
  boost::system::error_code ignored;
  socket.set_option(Tcp::no_delay(true), ignored);
  body->sockets.insert(&socket);
  std::array<std::uint8_t, 1024> buffer;
  LineCutter cutter(body->endpoint.terminator);
  bool open = true;
  while (open) {
    auto const [error, count] = co_await socket.async_read_some(asio::buffer(buffer), with_error);
    if (error) break;
    cutter.feed(std::span(buffer.data(), count));
    auto line = cutter.next();
    while (open && line) {
      open = co_await serve_line(*body, socket, *line);
      line = cutter.next();
    }
    if (cutter.too_long()) body->endpoint.device->overrun();
  }
  body->sockets.erase(&socket);
}

asio::awaitable<void> accept_clients(std::shared_ptr<TextTcpServer::Body> body) {
  auto const executor = co_await asio::this_coro::executor;
  while (body->acceptor.is_open()) {
    auto [error, socket] = co_await body->acceptor.async_accept(with_error);
    if (error == asio::error::operation_aborted || error == asio::error::bad_descriptor) co_return;
    if (error) {
      asio::steady_timer pause(executor, std::chrono::milliseconds(10));
      co_await pause.async_wait(with_error);
      continue;
    }
    asio::co_spawn(executor, hold_session(body, std::move(socket)), OrThrow{});
  }
}

}  // namespace

TextSerialServer::TextSerialServer(asio::io_context& io, WireContext& context, TextEndpoint endpoint, int baud)
    : body_(std::make_shared<Body>(io, context, std::move(endpoint), baud)) {
  asio::co_spawn(io, listen(body_), OrThrow{});
}
TextSerialServer::~TextSerialServer() { body_->line.pull_out(); }
std::string const& TextSerialServer::path() const { return body_->line.path(); }
std::string TextSerialServer::address() const {
  return fmt::format("text://{}?baud={}", body_->line.path(), body_->line.baud());
}

TextTcpServer::TextTcpServer(asio::io_context& io, WireContext& context, TextEndpoint endpoint, std::uint16_t port)
    : body_(std::make_shared<Body>(io, context, std::move(endpoint), port)) {
  asio::co_spawn(io, accept_clients(body_), OrThrow{});
}
TextTcpServer::~TextTcpServer() {
  boost::system::error_code ignored;
  body_->acceptor.close(ignored);
  for (auto* socket : body_->sockets) socket->close(ignored);
}
std::uint16_t TextTcpServer::port() const { return body_->port; }
std::string TextTcpServer::address() const { return fmt::format("text-tcp://127.0.0.1:{}", body_->port); }

}  // namespace benchward::sim
