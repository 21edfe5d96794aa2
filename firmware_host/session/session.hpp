// SPDX-License-Identifier: MIT
#pragma once

/// A bench that is alive: clock, instruments by role, guard, and (on a simulated bench) the hands. Two makes: on wires,
/// with a thread for the guard and one for each bus; and virtual, everything in one thread and time that jumps.

#include <cstdint>
#include <functional>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "drivers/bench/bench_document.hpp"
#include "firmware_host/exit_code.hpp"
#include "firmware_host/operator/hands.hpp"
#include "tests_seq/guard/core_desk.hpp"
#include "tests_seq/procedures/step_context.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward {

struct OpenedInstruments;

/// The bench cannot be brought to life; the message is for the person, the code for the exit.
class SessionError : public std::runtime_error {
 public:
  SessionError(ExitCode code, std::string const& words) : std::runtime_error(words), code_(code) {}
  ExitCode code() const { return code_; }

 private:
  ExitCode code_;
};

class BenchSession {
 public:
  BenchSession() = default;
  BenchSession(BenchSession const&) = delete;
  BenchSession& operator=(BenchSession const&) = delete;
  virtual ~BenchSession() = default;

  virtual boost::asio::io_context& io() = 0;
  virtual Clock& clock() = 0;
  virtual TestRoles const& roles() = 0;
  virtual CoreDesk& guard() = 0;
  virtual Hands* hands() = 0;  ///< nullptr on a real bench
  /// The instruments behind the roles, for the technician's view; nullptr where there are no wires.
  virtual OpenedInstruments* wires() { return nullptr; }
  virtual bool virtual_time() const = 0;
  virtual std::uint64_t seed() const = 0;  ///< of a simulated run; 0 on a real one
  virtual std::string boot() const = 0;
  /// {"truth": what the judge of a virtual run saw, "true_values": of its unit and room}; empty elsewhere (on wires:
  /// benchward-sim's control socket).
  virtual std::string truth() const { return {}; }
  /// Lines about the machine worth a log: priorities refused, memory not locked.
  virtual std::vector<std::string> remarks() const = 0;
  /// What the simulator's judge saw of a virtual run that must never be, in words; on wires the judge is asked at its
  /// own socket.
  virtual std::vector<std::string> dangerous_moments() const { return {}; }
  /// Runs until `done`. False: nothing is left that could happen (a defect).
  virtual bool run(std::function<bool()> const& done) = 0;
};

/// On wires. Brings the guard up first and proves by the challenge that document and wire agree about being simulated,
/// in either direction, before anything else; throws SessionError (2: they disagree; 3: a device does not answer).
std::unique_ptr<BenchSession> session_on_wires(Bench const& bench, ReadyLine const* ready);

struct VirtualOptions {
  std::uint64_t seed = 1;
  std::string start;                ///< RFC 3339; empty = 2030-01-01T00:00:00Z
  std::vector<std::string> faults;  ///< NAME or NAME=VALUE
  bool as_declared = false;         ///< the unit has exactly its document's data: a check object
};
/// Throws DocumentError for an unknown fault or a unit that cannot be simulated; SessionError 2 where the bench
/// document is not of a simulated bench.
std::unique_ptr<BenchSession> session_virtual(Bench const& bench, Unit const& unit, VirtualOptions const& options);

}  // namespace benchward
