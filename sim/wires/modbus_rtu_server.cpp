// SPDX-License-Identifier: MIT
#include "sim/wires/modbus_rtu_server.hpp"

#include <fmt/format.h>

#include <utility>

#include "sim/wires/serial_line.hpp"
#include "sim/wires/serial_stream.hpp"

namespace benchward::sim {

namespace {

constexpr std::uint8_t broadcast = 0;
/// Wall time without a byte after which a piece of a frame is given up. The rule of 3.5 bytes cannot be kept by a
/// process that others share the processor with; frames are found by length and check instead.
constexpr std::chrono::milliseconds piece_given_up_after(20);
constexpr std::chrono::milliseconds line_idle_after(2000);

}  // namespace

struct ModbusRtuServer::Body {
  Body(asio::io_context& io, WireContext& wire_context, std::vector<ModbusDevice> wire_devices, int baud)
      : context(wire_context), devices(std::move(wire_devices)), line(io, baud) {}

  WireContext& context;
  std::vector<ModbusDevice> devices;
  SerialStream line;
  RtuRequestReader reader;
};

namespace {

using BodyPointer = std::shared_ptr<ModbusRtuServer::Body>;

asio::awaitable<void> serve_one(ModbusRtuServer::Body& body, ModbusDevice const& device, RtuFrame const& request) {
  double const request_s = static_cast<double>(request.pdu.size() + 3) * byte_time_s(body.line.baud());
  double const delay_s = device.instrument == nullptr ? 0.0 : device.instrument->answer_delay_s();
  // The request arrives here in one piece; on a wire it would have taken its time, and a silence would end it.
  co_await wait_simulated(body.context.time, request_s + frame_silence_s(body.line.baud()) + delay_s);
  body.context.bring_up_to_date();
  auto sound = answer_pdu(request.pdu, *device.registers);
  auto const answer = body.context.faults.shape(device.name, request, std::move(sound),
                                                body.context.answer_context(device.time_limit_s));
  for (auto const& piece : answer.pieces) {
    co_await wait_simulated(body.context.time, piece.wait_s);
    co_await body.line.write(body.context.time, piece.bytes);
  }
  if (answer.close_after) body.line.pull_out();
}

asio::awaitable<void> serve(ModbusRtuServer::Body& body, RtuFrame const& request) {
  if (request.unit == broadcast) {  // everybody listens, nobody answers
    body.context.bring_up_to_date();
    for (auto const& device : body.devices) answer_pdu(request.pdu, *device.registers);
    co_return;
  }
  for (auto const& device : body.devices) {
    if (device.unit_id == request.unit) co_await serve_one(body, device, request);
  }
}

asio::awaitable<void> listen(BodyPointer body) {
  while (body->line.open()) {
    auto const limit = body->reader.empty() ? line_idle_after : piece_given_up_after;
    auto const arrived = co_await body->line.read(limit);
    std::optional<RtuFrame> request;
    if (!arrived.empty()) {
      body->reader.feed(arrived);
      request = body->reader.next();
    } else if (body->reader.empty()) {
      body->line.forget_exclusive_opening();
    } else {
      request = body->reader.silence();
    }
    while (request) {
      co_await serve(*body, *request);
      request = body->reader.next();
    }
  }
}

}  // namespace

ModbusRtuServer::ModbusRtuServer(asio::io_context& io, WireContext& context, std::vector<ModbusDevice> devices,
                                 int baud)
    : body_(std::make_shared<Body>(io, context, std::move(devices), baud)) {
  asio::co_spawn(io, listen(body_), OrThrow{});
}

ModbusRtuServer::~ModbusRtuServer() { body_->line.pull_out(); }

std::string const& ModbusRtuServer::path() const { return body_->line.path(); }
std::string ModbusRtuServer::address() const {
  return fmt::format("modbus-rtu://{}?baud={}", body_->line.path(), body_->line.baud());
}

}  // namespace benchward::sim
