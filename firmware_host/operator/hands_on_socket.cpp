// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include <boost/asio/connect.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>

#include "drivers/roles/connection_json.hpp"
#include "firmware_host/operator/hands.hpp"
#include "limits/documents/json_reader.hpp"

namespace benchward {
namespace {

namespace asio = boost::asio;
using documents::Json;

class HandsOnSocket final : public Hands {
 public:
  HandsOnSocket(asio::io_context& io, std::string address) : socket_(io), resolver_(io), address_(std::move(address)) {}

  Task<std::string> connect(Connection connection) override {
    Json message;
    message["connect"] = Json::parse(connection_json(connection));
    return act(message.dump());
  }
  Task<std::string> disconnect_all() override { return act(R"({"disconnect":"all"})"); }
  Task<std::string> set_tap(int position) override { return act(fmt::format(R"({{"tap":{}}})", position)); }
  Task<std::string> set_gate(bool open) override { return act(open ? R"({"gate":"open"})" : R"({"gate":"closed"})"); }
  Task<std::string> press(std::string button) override {
    Json message;
    message["press"] = button;
    return act(message.dump());
  }
  Task<std::string> set_accessory(std::string name, std::string state) override {
    Json message;
    message["switch"] = {{"name", name}, {"state", state}};
    return act(message.dump());
  }
  Task<std::string> look(std::string name, std::string state) override {
    Json message;
    message["look"] = {{"name", name}, {"state", state}};
    return act(message.dump());
  }

 private:
  Task<std::string> act(std::string line) {
    boost::system::error_code error;
    if (!socket_.is_open()) {
      auto const colon = address_.rfind(':');
      if (colon == std::string::npos) co_return fmt::format("the hands' address \"{}\" is not HOST:PORT", address_);
      auto const ends = co_await resolver_.async_resolve(address_.substr(0, colon), address_.substr(colon + 1),
                                                         asio::redirect_error(asio::use_awaitable, error));
      if (error) co_return fmt::format("the hands at {} cannot be found: {}", address_, error.message());
      co_await asio::async_connect(socket_, ends, asio::redirect_error(asio::use_awaitable, error));
      if (error) {
        close();
        co_return fmt::format("the hands at {} do not answer: {}", address_, error.message());
      }
    }
    line += '\n';
    co_await asio::async_write(socket_, asio::buffer(line), asio::redirect_error(asio::use_awaitable, error));
    if (!error) {
      co_await asio::async_read_until(socket_, asio::dynamic_buffer(received_, 65536), '\n',
                                      asio::redirect_error(asio::use_awaitable, error));
    }
    if (error) {
      close();
      co_return fmt::format("the hands at {} went away: {}", address_, error.message());
    }
    auto const end = received_.find('\n');
    auto const answer = received_.substr(0, end);
    received_.erase(0, end + 1);
    auto const json = documents::parse_json(answer, "hands");
    if (json.is_object() && json.contains("error"))
      co_return json["error"].is_string() ? json["error"].get<std::string>() : json["error"].dump();
    co_return std::string();
  }

  void close() {
    boost::system::error_code ignored;
    socket_.close(ignored);
    received_.clear();
  }

  asio::ip::tcp::socket socket_;
  asio::ip::tcp::resolver resolver_;
  std::string address_, received_;
};

}  // namespace

std::unique_ptr<Hands> hands_on_socket(asio::io_context& io, std::string const& address) {
  return std::make_unique<HandsOnSocket>(io, address);
}

}  // namespace benchward
