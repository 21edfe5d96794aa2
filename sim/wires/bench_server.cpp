// SPDX-License-Identifier: MIT
#include "sim/wires/bench_server.hpp"

#include <fmt/format.h>
#include <boost/asio/signal_set.hpp>

#include <csignal>
#include <deque>
#include <utility>

#include "drivers/bench/bench_document.hpp"
#include "drivers/profile/profile_document.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_writer.hpp"
#include "sim/wires/asio_parts.hpp"
#include "sim/wires/control_lines.hpp"
#include "sim/wires/hands_lines.hpp"
#include "sim/wires/instrument_registers.hpp"
#include "sim/wires/io_block.hpp"
#include "sim/wires/line_server.hpp"
#include "sim/wires/modbus_rtu_server.hpp"
#include "sim/wires/modbus_tcp_server.hpp"
#include "sim/wires/text_server.hpp"

namespace benchward::sim {

namespace {

constexpr std::chrono::milliseconds tick(4);
constexpr std::string_view io_name = "io";

WireKind kind_of(std::string const& word) {
  if (word == "modbus_rtu") return WireKind::modbus_rtu;
  if (word == "text") return WireKind::text;
  if (word == "text_tcp") return WireKind::text_tcp;
  return WireKind::modbus_tcp;
}

}  // namespace

class BenchServer::Body {
 public:
  Body(Bench const& bench, ServedBench& served, Options options)
      : bench_(bench),
        options_(std::move(options)),
        faults_(options_.seed),
        context_{options_.time, served, faults_, std::nullopt, options_.notice} {
    for (auto const& link : bench_.links) serve_link(link, served);
    for (auto const& instrument : bench_.instruments) {
      faults_.add_device(instrument.name, instrument.role, kind_of(bench_.link(instrument.link)->kind));
    }
    faults_.add_device(std::string(io_name), "io", kind_of(bench_.link(bench_.io.link)->kind));
    hands_ = std::make_unique<LineServer>(
        io_, [this](std::string_view line) { return answer_hands(line, context_); }, options_.hands_port);
    control_ = std::make_unique<LineServer>(
        io_, [this](std::string_view line) { return answer_control(line, context_); }, options_.control_port);
    asio::co_spawn(io_, let_time_pass(), OrThrow{});
  }

  std::string ready_line() const {
    JsonWriter json;
    json.begin_object().field("ready", true).field("simulated", true).field("time_scale", options_.time.scale);
    json.field("seed", options_.seed).field("control", control_->address()).field("hands", hands_->address());
    json.key("links").begin_object();
    for (auto const& [name, address] : addresses_) json.field(name, address);
    return json.end_object().end_object().text();
  }
  WireContext& context() { return context_; }

  void stop_on_signals() {
    for (int const number : {SIGINT, SIGTERM, SIGHUP}) signals_.add(number);
    signals_.async_wait([this](boost::system::error_code error, int) {
      if (!error) io_.stop();
    });
  }
  void run() { io_.run(); }
  void stop() { io_.stop(); }

 private:
  SimInstrument& instrument_of(InstrumentDeclaration const& declaration, ServedBench& served) {
    auto* const instrument = served.instrument(declaration.name);
    if (instrument == nullptr) {
      throw DocumentError("bench.instrument-not-simulated", bench_.file, "/instruments",
                          fmt::format("the simulated bench has no instrument \"{}\"", declaration.name));
    }
    return *instrument;
  }

  double limit_of(InstrumentDeclaration const& declaration, Profile const& profile) const {
    return declaration.time_limit.value_or(profile.time_limit).in(seconds);
  }

  void serve_link(LinkDeclaration const& link, ServedBench& served) {
    LinkAddress address;
    if (!link.address.empty()) address = parse_link_address(link.address);
    auto const port = static_cast<std::uint16_t>(address.port);
    if (link.kind == "text" || link.kind == "text_tcp") {
      serve_text(link, served, address.baud, port);
      return;
    }
    std::vector<ModbusDevice> devices;
    for (auto const& declaration : bench_.instruments) {
      if (declaration.link != link.name) continue;
      auto& instrument = instrument_of(declaration, served);
      auto const& profile = profiles_.emplace_back(profile_of(declaration, bench_));
      auto& registers = registers_.emplace_back(
          std::make_unique<InstrumentRegisters>(profile, instrument, faults_, declaration.serial));
      devices.push_back(
          {declaration.name, declaration.unit_id, registers.get(), &instrument, limit_of(declaration, profile)});
    }
    if (bench_.io.link == link.name) {
      auto& block = registers_.emplace_back(std::make_unique<IoBlock>(bench_.io, context_));
      devices.push_back(
          {std::string(io_name), bench_.io.unit_id, block.get(), nullptr, bench_.io.time_limit.in(seconds)});
    }
    if (devices.empty()) {
      throw DocumentError("bench.link-unused", bench_.file, "/links",
                          fmt::format("no instrument and no I/O block is on the link \"{}\"", link.name));
    }
    if (link.kind == "modbus_rtu") {
      auto& server =
          rtu_.emplace_back(std::make_unique<ModbusRtuServer>(io_, context_, std::move(devices), address.baud));
      addresses_.emplace_back(link.name, server->address());
    } else {
      auto& server = tcp_.emplace_back(std::make_unique<ModbusTcpServer>(io_, context_, std::move(devices), port));
      addresses_.emplace_back(link.name, server->address());
    }
  }

  void serve_text(LinkDeclaration const& link, ServedBench& served, int baud, std::uint16_t port) {
    InstrumentDeclaration const* only = nullptr;
    for (auto const& declaration : bench_.instruments) {
      if (declaration.link != link.name) continue;
      if (only != nullptr) {
        throw DocumentError("bench.link-shared", bench_.file, "/links",
                            fmt::format("\"{}\" and \"{}\" are both on the text link \"{}\"; it carries one instrument",
                                        only->name, declaration.name, link.name));
      }
      only = &declaration;
    }
    if (only == nullptr) {
      throw DocumentError("bench.link-unused", bench_.file, "/links",
                          fmt::format("no instrument is on the link \"{}\"", link.name));
    }
    auto& instrument = instrument_of(*only, served);
    auto const& profile = profiles_.emplace_back(profile_of(*only, bench_));
    auto& device = text_devices_.emplace_back(std::make_unique<TextDevice>(profile, instrument, faults_, only->serial));
    TextEndpoint endpoint{only->name, device.get(), &instrument, profile.terminator, limit_of(*only, profile)};
    if (link.kind == "text") {
      auto& server =
          text_serial_.emplace_back(std::make_unique<TextSerialServer>(io_, context_, std::move(endpoint), baud));
      addresses_.emplace_back(link.name, server->address());
    } else {
      auto& server = text_tcp_.emplace_back(std::make_unique<TextTcpServer>(io_, context_, std::move(endpoint), port));
      addresses_.emplace_back(link.name, server->address());
    }
  }

  /// Dangerous moments are seen even when nobody asks for anything.
  asio::awaitable<void> let_time_pass() {
    asio::steady_timer timer(co_await asio::this_coro::executor);
    for (;;) {
      timer.expires_after(tick);
      co_await timer.async_wait(with_error);
      context_.bring_up_to_date();
    }
  }

  Bench const& bench_;
  Options options_;
  WireFaults faults_;
  WireContext context_;
  std::deque<Profile> profiles_;
  std::deque<std::unique_ptr<RegisterSpace>> registers_;
  std::deque<std::unique_ptr<TextDevice>> text_devices_;
  std::vector<std::pair<std::string, std::string>> addresses_;
  // The io_context goes after the servers that use it and before what they refer to: it ends their coroutines.
  asio::io_context io_{1};
  asio::signal_set signals_{io_};
  std::vector<std::unique_ptr<ModbusTcpServer>> tcp_;
  std::vector<std::unique_ptr<ModbusRtuServer>> rtu_;
  std::vector<std::unique_ptr<TextSerialServer>> text_serial_;
  std::vector<std::unique_ptr<TextTcpServer>> text_tcp_;
  std::unique_ptr<LineServer> hands_, control_;
};

BenchServer::BenchServer(Bench const& bench, ServedBench& served, Options options)
    : body_(std::make_unique<Body>(bench, served, std::move(options))) {}
BenchServer::~BenchServer() = default;

std::string BenchServer::ready_line() const { return body_->ready_line(); }
WireContext& BenchServer::context() { return body_->context(); }
void BenchServer::stop_on_signals() { body_->stop_on_signals(); }
void BenchServer::run() { body_->run(); }
void BenchServer::stop() { body_->stop(); }

}  // namespace benchward::sim
