// SPDX-License-Identifier: MIT
#include "block.hpp"

#include <atomic>
#include <csignal>
#include <cstdlib>
#include <stdexcept>
#include <vector>

#include <arpa/inet.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sched.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "drivers/bench/io_image.hpp"

namespace benchward::latency {

std::int64_t now_ns() {
  timespec now{};
  ::clock_gettime(CLOCK_MONOTONIC, &now);
  return static_cast<std::int64_t>(now.tv_sec) * 1'000'000'000 + now.tv_nsec;
}

bool become_realtime(int above_minimum) {
  sched_param priority{};
  priority.sched_priority = sched_get_priority_min(SCHED_FIFO) + above_minimum;
  return ::sched_setscheduler(0, SCHED_FIFO, &priority) == 0;
}

struct Shared {
  std::atomic<std::int64_t> gate_at{0}, latency{-1};
  std::atomic<std::uint64_t> requests{0};
  std::atomic<bool> realtime{false};
};

namespace {

constexpr std::int64_t ms = 1'000'000;

/// Contacts that follow what was ordered.
struct Contacts {
  std::int64_t first_ns[max_sources] = {}, second_ns[max_sources] = {}, earth_ns = 0;
  bool first[max_sources] = {}, second[max_sources] = {};
  bool earth_ordered_open = false;
  std::uint16_t scan = 0;

  static void follow(bool ordered, bool& is, std::int64_t& since, std::int64_t now) {
    if (ordered == is) since = now;
    if (now - since >= 5 * ms) is = ordered;
  }
  BenchInputs image(BenchOutputs const& out, bool gate_closed, std::int64_t now) {
    if (out.open_earth != earth_ordered_open) earth_ns = now;
    earth_ordered_open = out.open_earth;
    bool const arrived = now - earth_ns >= 20 * ms;
    BenchInputs in;
    in.stop_a = in.stop_b = in.chain_closed = in.red_ok = in.siren_ok = in.source_healthy = in.hooks_home = true;
    in.covers_closed = in.ground_ok = in.breaker_closed = in.output_good = in.direct_good = in.two_hand = true;
    in.keys_home = in.area_searched = in.crane_clear = true;
    in.gate_a[0] = in.gate_b[0] = gate_closed;
    in.gate_locked[0] = out.lock_gate && gate_closed;
    in.earth_closed = arrived && !out.open_earth;
    in.earth_open = arrived && out.open_earth;
    in.resistor_on = out.resistor;
    in.red_lit = out.red;
    in.short_closed = !out.open_short;
    bool on = false;
    for (int path = 1; path < max_sources; ++path) {
      follow(out.first[path], first[path], first_ns[path], now);
      follow(out.second[path], second[path], second_ns[path], now);
      in.source[path].first_open = !first[path];
      in.source[path].second_open = !second[path];
      in.source[path].isolated = !(out.first[path] || out.second[path] || first[path] || second[path]) || path == 1;
      in.source[path].store_discharged = true;
      on = on || (first[path] && second[path]);
    }
    in.output_mv = on && out.ramp_permitted ? 20'000 : 0;
    in.output_ma = on && out.ramp_permitted ? 100 : 0;
    in.regulator_at_zero = in.voltage_absent = in.output_mv == 0;
    in.watchdog_ms = out.watchdog_ms;
    in.heartbeat_echo = out.heartbeat;
    in.owner_echo = out.owner;
    in.scan = ++scan;
    in.challenge_answer = simulated_answer(out.challenge);
    return in;
  }
};

bool read_all(int fd, std::uint8_t* to, std::size_t size) {
  for (std::size_t got = 0; got < size;) {
    auto const n = ::recv(fd, to + got, size - got, 0);
    if (n <= 0) return false;
    got += static_cast<std::size_t>(n);
  }
  return true;
}
std::uint16_t word(std::uint8_t const* at) { return static_cast<std::uint16_t>(at[0] << 8 | at[1]); }
void put(std::vector<std::uint8_t>& to, std::uint16_t value) {
  to.push_back(static_cast<std::uint8_t>(value >> 8));
  to.push_back(static_cast<std::uint8_t>(value));
}

class Served {
 public:
  Served(Bench const& bench, Shared& shared) : image_(bench.io), shared_(shared) {}

  void serve(int fd) {
    int const yes = 1;
    ::setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &yes, sizeof yes);
    outputs_ = {};
    std::vector<std::uint8_t> answer;
    for (std::uint8_t frame[300];;) {
      if (!read_all(fd, frame, 7)) return;
      auto const length = word(frame + 4);
      if (length < 2 || length > 260 || !read_all(fd, frame + 7, length - 1u)) return;
      auto const arrived = now_ns();
      shared_.requests.fetch_add(1);
      auto const* pdu = frame + 7;
      answer.assign(frame, frame + 4);
      put(answer, 0);
      answer.push_back(frame[6]);
      answer.push_back(pdu[0]);
      if (pdu[0] == 23) {
        take(pdu + 10, word(pdu + 7), arrived);
        give(answer, word(pdu + 3), arrived);
      } else if (pdu[0] == 16) {
        take(pdu + 6, word(pdu + 3), arrived);
        put(answer, word(pdu + 1));
        put(answer, word(pdu + 3));
      } else if (pdu[0] == 3) {
        give(answer, word(pdu + 3), arrived);
      } else {
        return;
      }
      answer[4] = static_cast<std::uint8_t>((answer.size() - 6) >> 8);
      answer[5] = static_cast<std::uint8_t>(answer.size() - 6);
      if (::send(fd, answer.data(), answer.size(), MSG_NOSIGNAL) < 0) return;
    }
  }

 private:
  void take(std::uint8_t const* data, std::size_t count, std::int64_t arrived) {
    std::vector<std::uint16_t> words;
    for (std::size_t n = 0; n < count; ++n) words.push_back(word(data + 2 * n));
    outputs_ = image_.unpack_outputs(words);
    auto const at = shared_.gate_at.load();
    bool const coils = outputs_.first[1] || outputs_.second[1];
    if (at != 0 && arrived >= at && shared_.latency.load() < 0 && !coils) shared_.latency.store(arrived - at);
  }
  void give(std::vector<std::uint8_t>& answer, std::size_t count, std::int64_t arrived) {
    auto const at = shared_.gate_at.load();
    auto words = image_.pack_inputs(contacts_.image(outputs_, at == 0 || arrived < at, arrived));
    words.resize(count);
    answer.push_back(static_cast<std::uint8_t>(2 * count));
    for (auto const one : words) put(answer, one);
  }

  IoImage image_;
  Shared& shared_;
  Contacts contacts_;
  BenchOutputs outputs_;
};

}  // namespace

Block::Block(Bench const& bench, bool realtime) {
  void* const memory = ::mmap(nullptr, sizeof(Shared), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  if (memory == MAP_FAILED) throw std::runtime_error("no shared memory");
  shared_ = new (memory) Shared;
  int const listener = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof address;
  if (::bind(listener, reinterpret_cast<sockaddr*>(&address), size) != 0 || ::listen(listener, 8) != 0 ||
      ::getsockname(listener, reinterpret_cast<sockaddr*>(&address), &size) != 0) {
    throw std::runtime_error("cannot listen on the loopback");
  }
  port_ = ntohs(address.sin_port);
  child_ = ::fork();
  if (child_ < 0) throw std::runtime_error("cannot fork");
  if (child_ == 0) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (realtime) shared_->realtime.store(become_realtime(29));
    Served served(bench, *shared_);
    for (;;) {
      int const fd = ::accept(listener, nullptr, nullptr);
      if (fd < 0) std::_Exit(1);
      served.serve(fd);
      ::close(fd);
    }
  }
  ::close(listener);
}

Block::~Block() {
  ::kill(child_, SIGKILL);
  ::waitpid(child_, nullptr, 0);
  ::munmap(shared_, sizeof(Shared));
}

std::string Block::address() const { return "modbus-tcp://127.0.0.1:" + std::to_string(port_); }
bool Block::realtime() const { return shared_->realtime.load(); }
void Block::begin() {
  shared_->gate_at.store(0);
  shared_->latency.store(-1);
}
void Block::open_gate_at(std::int64_t ns) { shared_->gate_at.store(ns); }
std::int64_t Block::latency_ns() const { return shared_->latency.load(); }
std::uint64_t Block::requests() const { return shared_->requests.load(); }

}  // namespace benchward::latency
