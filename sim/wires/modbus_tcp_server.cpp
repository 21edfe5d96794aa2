// SPDX-License-Identifier: MIT
#include "sim/wires/modbus_tcp_server.hpp"

#include <fmt/format.h>

#include <array>
#include <list>
#include <utility>

#include "sim/wires/asio_parts.hpp"

namespace benchward::sim {

namespace {

/// Open connections that a device takes; the one that has been quiet for longest makes room for a newcomer.
constexpr std::size_t most_connections = 32;

}  // namespace

Tcp::acceptor listen_on_loopback(asio::io_context& io, std::uint16_t port) {
  Tcp::endpoint const endpoint(asio::ip::address_v4::loopback(), port);
  Tcp::acceptor acceptor(io);
  boost::system::error_code error;
  acceptor.open(endpoint.protocol(), error);
  // A port that the last run has just left is free; one on which somebody listens is not.
  if (!error) acceptor.set_option(Tcp::acceptor::reuse_address(true), error);
  if (!error) acceptor.bind(endpoint, error);
  if (!error) acceptor.listen(asio::socket_base::max_listen_connections, error);
  if (error) throw CannotServe(fmt::format("cannot listen on 127.0.0.1:{}: {}", port, error.message()));
  return acceptor;
}

struct ModbusTcpServer::Body {
  Body(asio::io_context& io, WireContext& wire_context, std::vector<ModbusDevice> wire_devices, std::uint16_t wanted)
      : context(wire_context),
        devices(std::move(wire_devices)),
        acceptor(listen_on_loopback(io, wanted)),
        port(acceptor.local_endpoint().port()) {}

  ModbusDevice const* device_at(std::uint8_t unit) const {
    for (auto const& device : devices) {
      if (device.unit_id == unit) return &device;
    }
    return unit == 0 || unit == 1 || unit == 255 ? &devices.front() : nullptr;
  }

  void make_room() {
    if (sessions.size() < most_connections) return;
    auto quietest = sessions.begin();
    for (auto entry = sessions.begin(); entry != sessions.end(); ++entry) {
      if (entry->last_heard < quietest->last_heard) quietest = entry;
    }
    boost::system::error_code ignored;
    quietest->socket->close(ignored);
    quietest->last_heard = ~std::uint64_t{0};  // its own coroutine takes it off the list
  }

  /// Said at the first, the tenth, the hundredth: garbage must not fill a log.
  void tell_garbage() {
    if (++garbage != next_told) return;
    next_told *= 10;
    if (context.notice) {
      context.notice(fmt::format("{}: a client sent what is no Modbus TCP frame ({} so far); its connection is closed",
                                 devices.front().name, garbage));
    }
  }

  struct Session {
    Tcp::socket* socket = nullptr;
    std::uint64_t last_heard = 0;
  };

  WireContext& context;
  std::vector<ModbusDevice> devices;
  Tcp::acceptor acceptor;
  std::uint16_t port;
  std::list<Session> sessions;
  std::uint64_t heard = 0, garbage = 0, next_told = 1;
};

namespace {

using BodyPointer = std::shared_ptr<ModbusTcpServer::Body>;

/// False: the connection has to be closed.
asio::awaitable<bool> serve(ModbusTcpServer::Body& body, Tcp::socket& socket, TcpFrame const& request) {
  auto const* device = body.device_at(request.unit);
  WireAnswer answer;
  if (device == nullptr) {
    auto refusal = exception_pdu(request.pdu[0], ModbusException::gateway_no_response);
    answer.pieces.push_back({0.0, encode_tcp({request.transaction, request.unit, std::move(refusal)})});
  } else {
    if (device->instrument != nullptr) {
      co_await wait_simulated(body.context.time, device->instrument->answer_delay_s());
    }
    body.context.bring_up_to_date();
    auto sound = answer_pdu(request.pdu, *device->registers);
    answer = body.context.faults.shape(device->name, request, std::move(sound),
                                       body.context.answer_context(device->time_limit_s));
  }
  for (auto const& piece : answer.pieces) {
    co_await wait_simulated(body.context.time, piece.wait_s);
    auto const bytes = asio::buffer(piece.bytes);
    auto const [error, written] = co_await asio::async_write(socket, bytes, with_error);
    if (error) co_return false;
  }
  co_return !answer.close_after;
}

asio::awaitable<void> hold_session(BodyPointer body, Tcp::socket socket) {
  boost::system::error_code ignored;
  socket.set_option(Tcp::no_delay(true), ignored);
  body->make_room();
  auto const entry = body->sessions.insert(body->sessions.end(), {&socket, ++body->heard});
  TcpFrameReader reader;
  std::array<std::uint8_t, 1024> buffer;
  bool open = true;
  while (open) {
    auto const [error, count] = co_await socket.async_read_some(asio::buffer(buffer), with_error);
    if (error) break;
    entry->last_heard = ++body->heard;
    reader.feed(std::span(buffer.data(), count));
    while (open) {
      auto const request = reader.next();
      if (!request) break;
      open = co_await serve(*body, socket, *request);
    }
    if (reader.broken()) {
      body->tell_garbage();
      open = false;
    }
  }
  body->sessions.erase(entry);
}

asio::awaitable<void> accept_clients(BodyPointer body) {
  auto const executor = co_await asio::this_coro::executor;
  while (body->acceptor.is_open()) {
    auto [error, socket] = co_await body->acceptor.async_accept(with_error);
    if (error == asio::error::operation_aborted || error == asio::error::bad_descriptor) co_return;
    if (error) {  // out of descriptors, or the client has gone already: the next one may do better
      asio::steady_timer pause(executor, std::chrono::milliseconds(10));
      co_await pause.async_wait(with_error);
      continue;
    }
    asio::co_spawn(executor, hold_session(body, std::move(socket)), OrThrow{});
  }
}

}  // namespace

ModbusTcpServer::ModbusTcpServer(asio::io_context& io, WireContext& context, std::vector<ModbusDevice> devices,
                                 std::uint16_t port)
    : body_(std::make_shared<Body>(io, context, std::move(devices), port)) {
  asio::co_spawn(io, accept_clients(body_), OrThrow{});
}

ModbusTcpServer::~ModbusTcpServer() {
  boost::system::error_code ignored;
  body_->acceptor.close(ignored);
  for (auto& session : body_->sessions) session.socket->close(ignored);
}

std::uint16_t ModbusTcpServer::port() const { return body_->port; }
std::string ModbusTcpServer::address() const { return fmt::format("modbus-tcp://127.0.0.1:{}", body_->port); }

}  // namespace benchward::sim
