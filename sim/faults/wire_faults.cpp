// SPDX-License-Identifier: MIT
#include "sim/faults/fault_parts.hpp"

namespace benchward::sim::parts {
namespace {

// VALUE of the faults of one device: which one. Where the fault cannot happen on the analyser's wire (a wrong check on
// TCP), 0 is the first device of the bench on whose wire it can.
constexpr char const* which = "device: 0 = power analyser, n = n-th instrument of the bench document, -1 = I/O block";

FaultDescription device(std::string name, double device_number, std::string effect, std::string outcome, bool check,
                        bool dangerous = false) {
  return {std::move(name),    "wires", which, "1",      device_number, -1.0, 40.0, std::move(effect), {"all"},
          std::move(outcome), "",      check, dangerous};
}

FaultDescription valued(std::string name, std::string parameter, std::string unit, double value, double low,
                        double high, std::string effect, std::string outcome, bool check) {
  return {std::move(name),
          "wires",
          std::move(parameter),
          std::move(unit),
          value,
          low,
          high,
          std::move(effect),
          {"all"},
          std::move(outcome),
          "",
          check,
          false};
}

}  // namespace

/// Served by the simulator's servers (sim/wires): in virtual time there are no wires and these change nothing.
std::vector<FaultDescription> wire_faults() {
  return {
      device("no-answer", 0, "The device never answers.", "INVALID", true),
      device("late-answer", 0, "Each answer comes after one and a half times the profile's time limit.", "INVALID",
             true),
      device("stale-answer", 0, "Each request is answered with the answer to the request before it.", "INVALID", true),
      device("frozen-values", 0, "The values stop changing: the same bits for ever, whatever the unit does.", "INVALID",
             false),
      device("words-swapped", 0, "The two words of every 32-bit value are exchanged.", "INVALID", true),
      device("register-off-by-one", 0, "Every register is served one address too high.", "INVALID", true),
      device("busy-device", 0, "The device answers 'busy' to every request.", "INVALID", true),
      device("wrong-identity", 0, "Another instrument of the same kind answers: other serial number.", "INVALID", true),
      device("wrong-unit-number", 0, "The answer carries another unit number than the request.", "INVALID", true),
      device("not-a-number", 0, "Values are served as NaN, or as text that is no number.", "INVALID", true),
      device("torn-value", 0, "The two words of a value come from two moments.", "INVALID", false),
      device("split-answers", 0, "Each answer comes in two parts with a pause between.", "PASS", false),
      device("doubled-answers", 0, "Each answer is sent twice.", "PASS", false),
      device("half-answers", 0, "Each answer stops in the middle and the rest never comes.", "INVALID", true),
      device("wrong-check", 0, "The check of each frame on the serial bus does not fit its bytes.", "INVALID", true),
      device("wrong-transaction", 0, "Each answer carries the transaction number of another request (Modbus TCP).",
             "INVALID", true),
      device("dribbled-answers", 0, "The bytes of each answer come one by one, a third of the time limit apart.",
             "INVALID", true),
      // The frames' own check finds the answer behind the noise: values are sound, the line wants mending.
      device("noise-before-answers", 0, "A noise byte stands before each answer on the serial line.", "PASS", true),
      device("link-drops", 0, "The connection is closed after every twentieth answer.", "INVALID", false),
      device("adapter-unplugged", 0, "The device's line goes away and does not come back.", "INVALID", true),
      valued("corrupted-frames", "share of frames with a flipped bit", "%", 2.0, 0.0, 100.0,
             "Noise on the serial buses: one bit of a frame is wrong now and then, which the frame's check shows.",
             "PASS", false),
      valued("corrupted-text", "share of answers with a flipped bit", "%", 100.0, 0.0, 100.0,
             "Noise on the text lines, which carry no check: in small shares a wrong digit passes for a right one.",
             "INVALID", true),
      valued("line-echo", "1 = on", "1", 1.0, 0.0, 1.0,
             "The serial adapters return the sent bytes, though the bench document does not say so.", "INVALID", true),
      valued("io-link-lost", "after the contactors closed", "s", 1.0, 0.0, 3600.0,
             "The I/O block stops answering while the unit is energised; its watchdog cuts.", "INVALID", false),
      valued("io-late", "answer time, wall time as all limits of links are", "ms", 400.0, 0.0, 10000.0,
             "The I/O block answers late.", "INVALID", true),
      valued("io-frozen", "after the contactors closed", "s", 1.0, 0.0, 3600.0,
             "The I/O block goes on answering, with inputs that no longer change.", "INVALID", false),
  };
}

}  // namespace benchward::sim::parts
