// SPDX-License-Identifier: MIT
#pragma once

// A bench of a few lines behind the servers: remembers what it was told and answers what the test put there.

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "sim/wires/wire_context.hpp"

namespace benchward::sim::testing {

class FakeInstrument final : public SimInstrument {
 public:
  explicit FakeInstrument(std::string instrument_name, std::string instrument_role = "power_analyzer")
      : name_(std::move(instrument_name)), role_(std::move(instrument_role)) {}

  std::string const& name() const override { return name_; }
  std::string const& role() const override { return role_; }
  std::optional<double> point(std::string_view point_name) override {
    ++reads;
    auto const found = values.find(std::string(point_name));
    if (found == values.end()) return std::nullopt;
    return found->second;
  }
  std::optional<std::string> text(std::string_view point_name) override {
    auto const found = texts.find(std::string(point_name));
    if (found == texts.end()) return std::nullopt;
    return found->second;
  }
  bool write(std::string_view point_name, double value) override {
    if (refuses) return false;
    written.emplace_back(std::string(point_name), value);
    values[std::string(point_name)] = value;
    return true;
  }
  bool write_text(std::string_view point_name, std::string_view value) override {
    if (refuses) return false;
    written_texts.emplace_back(std::string(point_name), std::string(value));
    return true;
  }
  double answer_delay_s() const override { return delay_s; }

  std::map<std::string, double> values;
  std::map<std::string, std::string> texts;
  std::vector<std::pair<std::string, double>> written;
  std::vector<std::pair<std::string, std::string>> written_texts;
  double delay_s = 0.0;
  bool refuses = false;
  int reads = 0;

 private:
  std::string name_, role_;
};

class FakeBench final : public ServedBench {
 public:
  void advance_to(std::int64_t monotonic_ns) override { advanced.push_back(monotonic_ns); }
  SimInstrument* instrument(std::string_view name) override {
    auto const found = instruments.find(std::string(name));
    return found == instruments.end() ? nullptr : found->second;
  }
  BenchInputs exchange(BenchOutputs const& outputs) override {
    exchanged.push_back(outputs);
    return shown;
  }
  BenchInputs inputs() override { return shown; }
  Truth truth() override { return true_state; }

  std::string connect(Connection const& connection) override {
    return did("connect", [&] { connected = connection; });
  }
  std::string disconnect_all() override { return did("disconnect"); }
  std::string set_tap(int position) override { return did("tap " + std::to_string(position)); }
  std::string set_gate(bool open) override { return did(open ? "gate open" : "gate closed"); }
  std::string press(std::string_view button) override { return did("press " + std::string(button)); }
  std::string set_accessory(std::string const& name, std::string const& state) override {
    return did("accessory " + name + " " + state);
  }
  std::string put_unit(Unit const& unit) override { return did("unit " + unit.serial); }
  std::string enter_area(bool inside) override { return did(inside ? "inside" : "outside"); }
  std::string set_fault(FaultRequest const& request) override { return did("fault " + request.name); }
  std::string clear_fault(std::string_view name) override { return did("clear " + std::string(name)); }
  std::vector<std::pair<std::string, double>> true_values() override { return {{"no_load_loss_w", 66.5}}; }

  std::map<std::string, SimInstrument*> instruments;
  BenchInputs shown;
  Truth true_state;
  std::string why_not;  ///< what the next act of the hands is answered
  std::vector<std::string> acts;
  Connection connected;
  std::vector<BenchOutputs> exchanged;
  std::vector<std::int64_t> advanced;

 private:
  template <class Act>
  std::string did(std::string act, Act const& act_itself) {
    if (why_not.empty()) act_itself();
    return did(std::move(act));
  }
  std::string did(std::string act) {
    if (why_not.empty()) acts.push_back(std::move(act));
    return why_not;
  }
};

/// Sixteen words from address 100, each holding its own address times 3; 110 to 115 can be written.
class FakeRegisters final : public RegisterSpace {
 public:
  FakeRegisters() {
    for (std::size_t i = 0; i < words.size(); ++i) words[i] = static_cast<std::uint16_t>((100 + i) * 3);
  }
  std::optional<ModbusException> read(RegisterTable, std::uint16_t address, std::span<std::uint16_t> out) override {
    if (address < 100 || address + out.size() > 116u) return ModbusException::illegal_address;
    for (std::size_t i = 0; i < out.size(); ++i) out[i] = words[address - 100u + i];
    return std::nullopt;
  }
  std::optional<ModbusException> write(std::uint16_t address, std::span<std::uint16_t const> in) override {
    if (address < 110 || address + in.size() > 116u) return ModbusException::illegal_address;
    for (std::size_t i = 0; i < in.size(); ++i) words[address - 100u + i] = in[i];
    ++writes;
    return std::nullopt;
  }
  std::vector<std::uint16_t> words = std::vector<std::uint16_t>(16);
  int writes = 0;
};

inline Bytes bytes_of(std::string_view hex) {
  Bytes bytes;
  int high = -1;
  for (char const digit : hex) {
    if (digit == ' ') continue;
    int const value = digit <= '9' ? digit - '0' : (digit | 0x20) - 'a' + 10;
    if (high < 0) {
      high = value;
    } else {
      bytes.push_back(static_cast<std::uint8_t>(high * 16 + value));
      high = -1;
    }
  }
  return bytes;
}

}  // namespace benchward::sim::testing
