// SPDX-License-Identifier: MIT
// Reads through role driver, profile and bus beside a bare libmodbus loop on the same server, in one run: one bus, four
// at once, paced serial lines beside their computed limit, and allocations a read. Prints a table; no pass or fail.
#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstdlib>
#include <ctime>
#include <new>
#include <thread>
#include <vector>

#include <fmt/core.h>
#include <modbus.h>

#include "drivers/bus/modbus_pdu.hpp"
#include "drivers/instruments/role_drivers.hpp"
#include "drivers/profile/profile_document.hpp"
#include "tests/drivers/wire_bench.hpp"

namespace {
std::atomic<std::uint64_t> allocations{0};
}

void* operator new(std::size_t size) {
  allocations.fetch_add(1, std::memory_order_relaxed);
  if (void* made = std::malloc(size)) return made;
  throw std::bad_alloc();
}
void operator delete(void* made) noexcept { std::free(made); }
void operator delete(void* made, std::size_t) noexcept { std::free(made); }

namespace {

using namespace benchward;
using namespace benchward::test;

/// A libmodbus server of its own process, with the registers of the demo AC source.
class Server {
 public:
  explicit Server(long answer_ns) {
    modbus_t* context = modbus_new_tcp("127.0.0.1", 0);
    int const listening = modbus_tcp_listen(context, 4);
    sockaddr_in address{};
    socklen_t size = sizeof address;
    ::getsockname(listening, reinterpret_cast<sockaddr*>(&address), &size);
    port = ntohs(address.sin_port);
    process_ = ::fork();
    if (process_ != 0) {
      ::close(listening);
      modbus_free(context);
      return;
    }
    modbus_mapping_t* map = modbus_mapping_new(0, 0, 1100, 16);
    auto const text = [&](int at, char const* words) {
      for (int i = 0; words[i] != 0; ++i)
        map->tab_registers[at + i / 2] =
            static_cast<std::uint16_t>(map->tab_registers[at + i / 2] | (i % 2 == 0 ? words[i] << 8 : words[i]));
    };
    text(1000, "Demo Instruments");
    text(1008, "Source Twelve");
    text(1016, "SR-0009");
    text(1022, "5.2");
    map->tab_registers[1026] = static_cast<std::uint16_t>(2018915346u >> 16);
    map->tab_registers[1027] = static_cast<std::uint16_t>(2018915346u & 0xFFFF);
    map->tab_input_registers[2] = 4711;
    int listener = listening;
    for (;;) {
      if (modbus_tcp_accept(context, &listener) < 0) ::_exit(0);
      std::uint8_t request[MODBUS_TCP_MAX_ADU_LENGTH];
      for (int got = modbus_receive(context, request); got >= 0; got = modbus_receive(context, request)) {
        timespec const pause{0, answer_ns};
        if (answer_ns > 0) ::clock_nanosleep(CLOCK_MONOTONIC, 0, &pause, nullptr);
        if (got > 0) modbus_reply(context, request, got, map);
      }
      modbus_close(context);
    }
  }
  ~Server() {
    ::kill(process_, SIGKILL);
    ::waitpid(process_, nullptr, 0);
  }
  LinkDeclaration link() const {
    LinkDeclaration made;
    made.name = "link";
    made.kind = "modbus_tcp";
    made.address = "modbus-tcp://127.0.0.1:" + std::to_string(port);
    return made;
  }
  int port = 0;

 private:
  pid_t process_ = -1;
};

double seconds_of(std::function<void()> const& work) {
  auto const begin = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

InstrumentDeclaration source() {
  InstrumentDeclaration entry;
  entry.name = entry.role = "ac_source";
  entry.profile = "demo-ac-source";
  entry.link = "link";
  entry.serial = "SR-0009";
  return entry;
}

Task<void> read_times(ProfiledAcSource& device, int times, int& right) {
  for (int i = 0; i < times; ++i) {
    auto const answer = co_await device.read();
    if (answer.ok() && answer.value().voltage.good()) ++right;
  }
}

void bare_loop(int port, int times) {
  modbus_t* context = modbus_new_tcp("127.0.0.1", port);
  if (modbus_connect(context) != 0) std::abort();
  std::uint16_t words[6];
  for (int i = 0; i < times; ++i) {
    if (modbus_read_input_registers(context, 0, 6, words) != 6 || words[2] != 4711) std::abort();
  }
  modbus_close(context);
  modbus_free(context);
}

double driver_loops(std::vector<std::unique_ptr<Server>> const& servers, int times,
                    double* allocations_a_read = nullptr) {
  WallClock clock;
  std::vector<std::unique_ptr<Bus>> buses;
  std::vector<std::unique_ptr<ProfiledAcSource>> devices;
  boost::asio::io_context io{1};
  int right = 0;
  for (auto const& server : servers) {
    buses.push_back(std::make_unique<Bus>(server->link(), clock));
    devices.push_back(
        std::make_unique<ProfiledAcSource>(Device(source(), built_in_profile("demo-ac-source"), *buses.back(), clock)));
    boost::asio::co_spawn(io, read_times(*devices.back(), 300, right), [](std::exception_ptr) {});
  }
  io.run();  // proven, warm; the frame log is not yet full: it is a ring of 512
  for (auto const& device : devices)
    boost::asio::co_spawn(io, read_times(*device, times, right), [](std::exception_ptr) {});
  io.restart();
  auto const before = allocations.load();
  auto const took = seconds_of([&] { io.run(); });
  if (allocations_a_read != nullptr)
    *allocations_a_read =
        static_cast<double>(allocations.load() - before) / (times * static_cast<double>(servers.size()));
  if (right != (times + 300) * static_cast<int>(servers.size())) std::abort();
  return took;
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

void beside_bare_loops(std::size_t count, int times, long answer_ns) {
  std::vector<std::unique_ptr<Server>> servers;
  for (std::size_t i = 0; i < count; ++i) servers.push_back(std::make_unique<Server>(answer_ns));
  std::vector<double> ratios, bare_rates, rates;
  double allocated = 0.0;
  for (int turn = 0; turn < 7; ++turn) {
    auto const bare = seconds_of([&] {
      std::vector<std::thread> threads;
      for (auto const& server : servers) threads.emplace_back(bare_loop, server->port, times);
      for (auto& thread : threads) thread.join();
    });
    auto const mine = driver_loops(servers, times, &allocated);
    ratios.push_back(bare / mine);
    bare_rates.push_back(static_cast<double>(count) * times / bare);
    rates.push_back(static_cast<double>(count) * times / mine);
  }
  auto const server = answer_ns == 0 ? std::string("a server that answers at once")
                                     : fmt::format("a server that needs {} ms", answer_ns / 1000000);
  fmt::print("| {} bus(es), {}: bare libmodbus, driver, ratio (median of 7) | {:.0f}/s, {:.0f}/s, {:.2f} |\n", count,
             server, median(bare_rates), median(rates), median(ratios));
  fmt::print("| allocations a read (role, profile, bus; 6 words, 4 readings) | {:.1f} |\n", allocated);
}

/// A line that hands bytes on no faster than they would travel: 11 bits each, and the device's silence before it
/// speaks.
void paced_serial(int baud, int times) {
  double const character_s = 11.0 / baud, silent_s = silence_s(baud);
  constexpr int asked_bytes = 8, reply_bytes = 25;
  SerialDevice device([&](DeviceEnd& end) {
    auto const reply = rtu_frame([] {
      Octets bytes{1, 3, 20};
      bytes.resize(23, 7);
      return bytes;
    }());
    timespec at{};
    while (end.read(asked_bytes).size() == asked_bytes) {
      ::clock_gettime(CLOCK_MONOTONIC, &at);
      auto const wait_ns = static_cast<long>(((asked_bytes + reply_bytes) * character_s + silent_s) * 1e9);
      at.tv_nsec += wait_ns;
      at.tv_sec += at.tv_nsec / 1'000'000'000;
      at.tv_nsec %= 1'000'000'000;
      while (::clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &at, nullptr) != 0) {
      }
      end.write(reply);
    }
  });
  auto link = device.link();
  link.address = "modbus-rtu://" + device.path() + "?baud=" + std::to_string(baud);
  WallClock clock;
  double took = 0.0;
  {
    Bus bus(link, clock);
    BusRequest request;
    request.device = "meter";
    request.count = 10;
    request.attempt = seconds(1);
    request.deadline = seconds(5);
    if (!get(bus.ask(request)).ok()) std::abort();
    took = seconds_of([&] {
      for (int i = 0; i < times; ++i) {
        if (!get(bus.ask(request)).ok()) std::abort();
      }
    });
  }
  double const limit = 1.0 / ((asked_bytes + reply_bytes) * character_s + 2.0 * silent_s);
  fmt::print(
      "| paced serial line, {} baud, 10 registers: computed limit, driver, ratio | {:.2f}/s, {:.2f}/s, {:.3f} |\n",
      baud, limit, times / took, times / took / limit);
}

}  // namespace

int main() {
  fmt::print("| what | figure |\n| --- | --- |\n");
  beside_bare_loops(1, 4000, 0);
  beside_bare_loops(4, 2000, 0);
  beside_bare_loops(1, 300, 1'000'000);
  beside_bare_loops(4, 300, 1'000'000);
  paced_serial(9600, 100);
  paced_serial(19200, 200);
  paced_serial(115200, 500);
  return 0;
}
