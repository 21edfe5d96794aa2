// SPDX-License-Identifier: MIT
#include <charconv>
#include <stdexcept>
#include <string>
#include <string_view>

#include "drivers/bench/bench_document.hpp"

namespace benchward {
namespace {

int whole_number(std::string_view text, int lowest, int highest, std::string const& what, std::string const& address) {
  int value = 0;
  auto const end = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || end.ec != std::errc() || end.ptr != text.data() + text.size() || value < lowest ||
      value > highest) {
    throw std::invalid_argument("expected " + what + " from " + std::to_string(lowest) + " to " +
                                std::to_string(highest) + " in \"" + address + "\", got \"" + std::string(text) + "\"");
  }
  return value;
}

void read_host_and_port(LinkAddress& link, std::string_view rest, std::string const& address) {
  auto const colon = rest.rfind(':');
  if (colon == std::string_view::npos) throw std::invalid_argument("\"" + address + "\" has no port: write HOST:PORT");
  link.host = rest.substr(0, colon);
  if (link.host.size() >= 2 && link.host.front() == '[' && link.host.back() == ']') {
    link.host = link.host.substr(1, link.host.size() - 2);
  }
  if (link.host.empty()) throw std::invalid_argument("\"" + address + "\" has no host: write HOST:PORT");
  link.port = whole_number(rest.substr(colon + 1), 1, 65535, "a port", address);
}

void read_device(LinkAddress& link, std::string_view rest, std::string const& address) {
  auto const question = rest.find('?');
  link.device = rest.substr(0, question);
  if (link.device.empty() || link.device.front() != '/') {
    throw std::invalid_argument("\"" + address + "\" names no device: write three slashes, as in text:///dev/...");
  }
  if (link.device.rfind("/dev/ttyUSB", 0) == 0 || link.device.rfind("/dev/ttyACM", 0) == 0) {
    throw std::invalid_argument("\"" + link.device +
                                "\" is a number that changes when adapters are replugged, and then names another "
                                "instrument; use the adapter's own name under /dev/serial/by-id/");
  }
  if (question == std::string_view::npos) return;
  for (auto options = rest.substr(question + 1); !options.empty();) {
    auto const next = options.find('&');
    auto const option = options.substr(0, next);
    auto const equals = option.find('=');
    auto const key = option.substr(0, equals);
    auto const value = equals == std::string_view::npos ? std::string_view() : option.substr(equals + 1);
    if (key == "baud") {
      link.baud = whole_number(value, 300, 921600, "a baud rate", address);
    } else if (key == "parity") {
      link.parity = value == "none" ? 'N' : value == "even" ? 'E' : value == "odd" ? 'O' : '?';
      if (link.parity == '?') throw std::invalid_argument("parity in \"" + address + "\" is none, even or odd");
    } else if (key == "stop") {
      link.stop_bits = whole_number(value, 1, 2, "stop bits", address);
    } else {
      throw std::invalid_argument("\"" + std::string(key) + "\" in \"" + address +
                                  "\" is no option of a serial line; known are baud, parity, stop");
    }
    options = next == std::string_view::npos ? std::string_view() : options.substr(next + 1);
  }
}

}  // namespace

LinkAddress parse_link_address(std::string const& address) {
  LinkAddress link;
  auto const scheme_end = address.find("://");
  auto const scheme = scheme_end == std::string::npos ? std::string() : address.substr(0, scheme_end);
  auto const rest =
      scheme_end == std::string::npos ? std::string_view() : std::string_view(address).substr(scheme_end + 3);
  if (scheme == "modbus-tcp" || scheme == "text-tcp") {
    link.kind = scheme == "modbus-tcp" ? "modbus_tcp" : "text_tcp";
    read_host_and_port(link, rest, address);
  } else if (scheme == "modbus-rtu" || scheme == "text") {
    link.kind = scheme == "modbus-rtu" ? "modbus_rtu" : "text";
    read_device(link, rest, address);
  } else {
    throw std::invalid_argument(
        "expected modbus-tcp://HOST:PORT, modbus-rtu:///dev/NAME?baud=9600, text:///dev/NAME or "
        "text-tcp://HOST:PORT, got \"" +
        address + "\"");
  }
  return link;
}

double serial_exchange_s(IoMap const& io, int baud) {
  // Function 23: unit, function, read address and count, write address and count, byte count, words, CRC; the reply is
  // unit, function, byte count, words, CRC. Between frames 3.5 characters of silence (Modbus over serial
  // line, 2.5.1.1).
  double const characters = (13.0 + 2.0 * io.output_words) + (5.0 + 2.0 * io.input_words) + 2.0 * 3.5;
  return characters * 11.0 / baud;
}

}  // namespace benchward
