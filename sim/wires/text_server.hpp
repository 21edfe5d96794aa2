// SPDX-License-Identifier: MIT
#pragma once

/// An instrument that speaks text, on a pseudo terminal (at the pace of the line) or on TCP.

#include <cstdint>
#include <memory>
#include <string>

#include "text_device.hpp"
#include "wire_context.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward::sim {

/// What serves one text device; must outlive the server.
struct TextEndpoint {
  std::string name;
  TextDevice* device = nullptr;
  SimInstrument* instrument = nullptr;
  std::string terminator = "\n";
  double time_limit_s = 1.0;
};

class TextSerialServer {
 public:
  TextSerialServer(boost::asio::io_context& io, WireContext& context, TextEndpoint endpoint, int baud);
  ~TextSerialServer();
  TextSerialServer(TextSerialServer const&) = delete;
  TextSerialServer& operator=(TextSerialServer const&) = delete;

  std::string const& path() const;
  std::string address() const;  ///< "text:///dev/pts/7?baud=9600"

  struct Body;

 private:
  std::shared_ptr<Body> body_;
};

class TextTcpServer {
 public:
  TextTcpServer(boost::asio::io_context& io, WireContext& context, TextEndpoint endpoint, std::uint16_t port = 0);
  ~TextTcpServer();
  TextTcpServer(TextTcpServer const&) = delete;
  TextTcpServer& operator=(TextTcpServer const&) = delete;

  std::uint16_t port() const;
  std::string address() const;  ///< "text-tcp://127.0.0.1:PORT"

  struct Body;

 private:
  std::shared_ptr<Body> body_;
};

}  // namespace benchward::sim
