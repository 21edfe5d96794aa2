// SPDX-License-Identifier: MIT
#include "sim/wires/line_server.hpp"

#include <fmt/format.h>

#include <array>
#include <set>
#include <utility>

#include "sim/wires/asio_parts.hpp"

namespace benchward::sim {

namespace {

constexpr std::size_t longest_line = 4u * 1024u * 1024u;

}  // namespace

struct LineServer::Body {
  Body(asio::io_context& io, Answer answer_line, std::uint16_t wanted)
      : answer(std::move(answer_line)),
        acceptor(listen_on_loopback(io, wanted)),
        port(acceptor.local_endpoint().port()) {}

  Answer answer;
  Tcp::acceptor acceptor;
  std::uint16_t port;
  std::set<Tcp::socket*> sockets;
};

namespace {

using BodyPointer = std::shared_ptr<LineServer::Body>;

/// The first line of `pending`, taken off it; nothing while its end has not come.
std::optional<std::string> take_line(std::string& pending) {
  auto const end = pending.find('\n');
  if (end == std::string::npos) return std::nullopt;
  std::string line = pending.substr(0, end);
  pending.erase(0, end + 1);
  if (!line.empty() && line.back() == '\r') line.pop_back();
  return line;
}

asio::awaitable<void> hold_session(BodyPointer body, Tcp::socket socket) {
  boost::system::error_code ignored;
  socket.set_option(Tcp::no_delay(true), ignored);
  body->sockets.insert(&socket);
  std::array<char, 4096> buffer;
  std::string pending;
  bool open = true;
  while (open) {
    auto const [error, count] = co_await socket.async_read_some(asio::buffer(buffer), with_error);
    if (error) break;
    pending.append(buffer.data(), count);
    while (open) {
      auto const line = take_line(pending);
      std::string answer;
      if (line) {
        if (line->find_first_not_of(" \t") == std::string::npos) continue;
        answer = body->answer(*line);
      } else if (pending.size() > longest_line) {
        answer = "{\"error\":\"line: longer than 4 MB\"}";
        open = false;
      } else {
        break;
      }
      answer += '\n';
      auto const bytes = asio::buffer(answer);
      auto const [lost, written] = co_await asio::async_write(socket, bytes, with_error);
      if (lost) open = false;
    }
  }
  body->sockets.erase(&socket);
}

asio::awaitable<void> accept_clients(BodyPointer body) {
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

LineServer::LineServer(asio::io_context& io, Answer answer, std::uint16_t port)
    : body_(std::make_shared<Body>(io, std::move(answer), port)) {
  asio::co_spawn(io, accept_clients(body_), OrThrow{});
}

LineServer::~LineServer() {
  boost::system::error_code ignored;
  body_->acceptor.close(ignored);
  for (auto* socket : body_->sockets) socket->close(ignored);
}

std::string LineServer::address() const { return fmt::format("127.0.0.1:{}", body_->port); }

}  // namespace benchward::sim
