// SPDX-License-Identifier: MIT
#include "drivers/instruments/bench_io_link.hpp"

#include <sys/select.h>

#include <algorithm>
#include <cerrno>
#include <mutex>

#include <fmt/format.h>

#include "drivers/bench/bench_document.hpp"
#include "drivers/bench/io_image.hpp"
#include "drivers/bus/descriptor.hpp"
#include "drivers/bus/modbus_context.hpp"

namespace benchward {

struct BenchIoLink::State {
  State(IoMap io, LinkDeclaration const& link, Clock const& given)
      : map(std::move(io)),
        image(map),
        name(link.name),
        address(parse_link_address(link.address)),
        clock(given),
        out(static_cast<std::size_t>(image.output_words())),
        in(static_cast<std::size_t>(image.input_words())) {}

  IoMap map;
  IoImage image;
  std::string name;
  LinkAddress address;
  Clock const& clock;
  Descriptor lock;
  ModbusContext context;
  BenchInputs last;
  std::int64_t last_ns = 0;
  bool ever = false;
  std::int64_t next_attempt_ns = 0;
  std::vector<std::uint16_t> out, in;  // made once: an exchange does not allocate

  // The fault is written by the guard's thread and read by slower ones: it never waits for them. What they read just
  // then is told again at the next exchange. A good exchange after a good one does not look at the lock at all.
  mutable std::mutex mutex;
  std::optional<Fault> fault;   // the readers'
  std::optional<Fault> latest;  // the guard's thread's
  bool untold = false;

  void say(std::optional<Fault> made) {
    if (!made && !latest && !untold) return;
    latest = std::move(made);
    untold = true;
    tell();
  }
  void tell() {
    if (!untold) return;
    std::unique_lock const held(mutex, std::try_to_lock);
    if (!held) return;
    fault = latest;
    untold = false;
  }

  std::int64_t wall() const {
    return static_cast<std::int64_t>(static_cast<double>(clock.now().monotonic_ns) / clock.scale());
  }
  std::int64_t limit_ns() const {
    return std::max<std::int64_t>(static_cast<std::int64_t>(map.time_limit.in(seconds)*1e9), 20'000'000);
  }

  bool failed(char const* id, std::string operation, std::string what, std::string next) {
    Fault made;
    made.id = id;
    made.device = name;
    made.operation = std::move(operation);
    made.what = std::move(what);
    made.next = std::move(next);
    say(std::move(made));
    context.reset();
    lock.reset();
    return false;
  }

  bool connect(BenchOutputs const& outputs) {
    auto const now = wall();
    if (now < next_attempt_ns) return false;  // the fault of the last attempt stands
    next_attempt_ns = now + 100'000'000;
    if (descriptors_used_up())
      return failed("bus.descriptor", "connect", "this program has too many files open for libmodbus",
                    "restart the station");
    ModbusContext made;
    if (address.device.empty()) {
      made.reset(modbus_new_tcp_pi(address.host.c_str(), std::to_string(address.port).c_str()));
    } else {
      std::string why;
      lock = lock_terminal(address.device, why);
      if (!lock) return failed("bus.connect", "connect", why, "end the other program, or check the adapter");
      made.reset(modbus_new_rtu(address.device.c_str(), address.baud, address.parity, 8, address.stop_bits));
    }
    if (!made)
      return failed("bus.connect", "connect", modbus_strerror(errno), "check the address in the bench document");
    set_library_times(made.get(), limit_ns());
    if (modbus_set_slave(made.get(), map.unit_id) != 0) {
      return failed("bus.connect", "connect", fmt::format("unit {} cannot be addressed on this link", map.unit_id),
                    "use 1 to 247, or 255 on TCP");
    }
    if (modbus_connect(made.get()) != 0) {
      int const cause = errno;
      return failed("bus.connect", "connect", modbus_strerror(cause),
                    "check cable, address and power of the I/O block");
    }
    if (modbus_get_socket(made.get()) >= FD_SETSIZE)
      return failed("bus.descriptor", "connect", "descriptor beyond 1023", "restart the station");
    context = std::move(made);
    BenchOutputs safe;
    safe.watchdog_ms = outputs.watchdog_ms;
    safe.heartbeat = outputs.heartbeat;
    safe.owner = outputs.owner;
    BenchInputs seen;
    // A block may show what was written only in its next scan.
    for (int attempt = 0; attempt < 3; ++attempt) {
      if (!request(safe, seen)) return false;
      if (seen.watchdog_ms == safe.watchdog_ms && seen.watchdog_ms != 0) return true;
    }
    return failed("io.watchdog", "set watchdog",
                  fmt::format("wrote {} ms, the block says {} ms", safe.watchdog_ms, seen.watchdog_ms),
                  "without a watchdog the block may hold its outputs for ever: check its settings");
  }

  bool request(BenchOutputs const& outputs, BenchInputs& inputs) {
    image.pack_outputs(outputs, out);
    errno = 0;
    int const got = modbus_write_and_read_registers(context.get(), map.output_address, map.output_words, out.data(),
                                                    map.input_address, map.input_words, in.data());
    int const cause = errno;
    if (got == map.input_words) {
      inputs = image.unpack_inputs(in);
      return true;
    }
    auto const what = cause == ETIMEDOUT ? fmt::format("no answer in {} ms", limit_ns() / 1'000'000)
                                         : std::string(modbus_strerror(cause));
    return failed(cause == ETIMEDOUT                        ? "bus.timeout"
                  : cause >= EMBXILFUN && cause < EMBBADCRC ? "device.refused"
                                                            : "bus.lost",
                  "exchange", what, "check cable and power of the I/O block");
  }
};

BenchIoLink::BenchIoLink(IoMap map, LinkDeclaration const& link, Clock const& clock)
    : state_(std::make_unique<State>(std::move(map), link, clock)) {}
BenchIoLink::~BenchIoLink() = default;

BenchLink::Exchange BenchIoLink::exchange(BenchOutputs const& outputs, std::int64_t now_ns) {
  auto& state = *state_;
  Exchange exchange;
  BenchInputs inputs;
  if ((state.context || state.connect(outputs)) && state.request(outputs, inputs)) {
    state.last = inputs;
    state.last_ns = now_ns;
    state.ever = true;
    state.say(std::nullopt);
    exchange.ok = true;
    exchange.took_ns = std::max<std::int64_t>(0, state.clock.now().monotonic_ns - now_ns);
  } else {
    state.tell();
  }
  exchange.inputs = state.last;
  exchange.age_ns = state.ever ? now_ns - state.last_ns : now_ns;
  return exchange;
}

std::optional<Fault> BenchIoLink::last_fault() const {
  std::lock_guard const held(state_->mutex);
  return state_->fault;
}

}  // namespace benchward
