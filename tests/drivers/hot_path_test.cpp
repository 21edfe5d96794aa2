// SPDX-License-Identifier: MIT
// What a read in steady state allocates: nothing on the way to the device and back, whatever wire it is on; of the
// readings that come of it each keeps its own raw words. Counted in every thread but the scripted device's.
#include <catch2/catch.hpp>

#include <atomic>
#include <cstdlib>
#include <new>

#include "drivers/instruments/role_drivers.hpp"
#include "drivers/profile/profile_document.hpp"
#include "tests/drivers/register_device.hpp"
#include "tests/drivers/wire_bench.hpp"

namespace {
std::atomic<long> allocations{0};
thread_local bool is_the_device = false;
}  // namespace

void* operator new(std::size_t size) {
  if (!is_the_device) allocations.fetch_add(1, std::memory_order_relaxed);
  if (void* made = std::malloc(size)) return made;
  throw std::bad_alloc();
}
void operator delete(void* made) noexcept { std::free(made); }
void operator delete(void* made, std::size_t) noexcept { std::free(made); }

using namespace benchward;
using namespace benchward::test;

namespace {

constexpr int warm = 600, reads = 300;  // the frame log's ring of 512 is full when counting begins

long sum_of_values(DeviceSample const& sample) {
  long good = 0;
  for (auto const& [name, value] : sample.values) good += value.good ? 1 : 0;
  return good;
}

template <class Read>
Task<long> allocations_of(Read read) {
  for (int i = 0; i < warm; ++i) static_cast<void>(co_await read());
  auto const before = allocations.load();
  for (int i = 0; i < reads; ++i) static_cast<void>(co_await read());
  co_return allocations.load() - before;
}

InstrumentDeclaration source_declaration() {
  InstrumentDeclaration entry;
  entry.name = entry.role = "ac_source";
  entry.profile = "demo-ac-source";
  entry.link = "link";
  entry.serial = "SR-0009";
  return entry;
}

/// An AC source on a socket that answers at once, or only when its line has been quiet for a while.
class Source {
 public:
  explicit Source(int quiet_ms = 0) : quiet_ms_(quiet_ms) {
    registers_.identity(1000, "Source Twelve", "SR-0009", "5.2", 2018915346u);
  }
  ProfiledAcSource& driver() { return source_; }

 private:
  void serve(DeviceEnd& end) {
    is_the_device = true;
    auto const wait = [&](Octets const&) {
      if (quiet_ms_ > 0) end.quiet_for(quiet_ms_);
    };
    while (registers_.serve_one(end, wait)) {
    }
  }

  int quiet_ms_;
  RegisterDevice registers_;
  TcpDevice device_{[this](DeviceEnd& end, int) { serve(end); }};
  WallClock clock_;
  Bus bus_{device_.link(), clock_};
  ProfiledAcSource source_{Device(source_declaration(), built_in_profile("demo-ac-source"), bus_, clock_)};
};

BusRequest request_of(char const* device) {
  BusRequest made;
  made.device = device;
  made.operation = "read";
  made.attempt = seconds(2);
  made.deadline = seconds(5);
  return made;
}

}  // namespace

TEST_CASE("a read group of a device that answers at once is read without an allocation", "[drivers][hot-path][wires]") {
  Source on;
  auto& device = on.driver().device();
  CHECK(get(allocations_of([&] { return device.read_as<long>(&sum_of_values); })) == 0);
}

TEST_CASE("nor does the way to a slow device, whose caller sleeps, allocate", "[drivers][hot-path][wires]") {
  Source on(1);
  auto& device = on.driver().device();
  CHECK(get(allocations_of([&] { return device.read_as<long>(&sum_of_values); })) == 0);
}

TEST_CASE("a role's reading allocates the raw words that it keeps, one list a reading", "[drivers][hot-path][wires]") {
  Source on;
  CHECK(get(allocations_of([&] { return on.driver().read(); })) == 3L * reads);  // volts, hertz, amperes
}

TEST_CASE("registers on a serial line are read without an allocation", "[drivers][hot-path][wires]") {
  SerialDevice line([](DeviceEnd& end) {
    is_the_device = true;
    Octets bytes{1, 3, 20};
    bytes.resize(23, 7);
    auto const reply = rtu_frame(bytes);
    while (end.read(8).size() == 8) end.write(reply);
  });
  WallClock clock;
  Bus bus(line.link(), clock);
  BusCall call(request_of("meter"));
  call.request().count = 10;
  CHECK(get(allocations_of([&] { return bus.ask(call); })) == 0);
  CHECK(call.ok());
}

TEST_CASE("a line of text is asked for without an allocation", "[drivers][hot-path][wires]") {
  SerialDevice line([](DeviceEnd& end) {
    is_the_device = true;
    while (!end.read_line().empty()) end.write("+1.2345E+00,60.000\n");
  });
  WallClock clock;
  Bus bus(line.link("text"), clock);
  BusCall call(request_of("meter"));
  call.request().line = "MEAS?";
  CHECK(get(allocations_of([&] { return bus.ask(call); })) == 0);
  CHECK(call.ok());
}
