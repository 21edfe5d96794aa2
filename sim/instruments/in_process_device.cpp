// SPDX-License-Identifier: MIT
#include "sim/instruments/in_process_device.hpp"

#include <fmt/format.h>
#include <cmath>

#include "drivers/profile/profile_document.hpp"
#include "drivers/profile/register_codec.hpp"
#include "limits/documents/document_error.hpp"

namespace benchward::sim {
namespace {

SimInstrument& find_in(SimBench& sim, InstrumentDeclaration const& declaration) {
  auto* found = sim.instrument(declaration.name);
  if (found == nullptr) {
    throw DocumentError("bench.instrument-unknown", "bench document", "/instruments",
                        "the simulated bench has no instrument \"" + declaration.name + "\"");
  }
  return *found;
}

bool is_terminals(std::string const& unit) {
  auto const known = unit_named(unit);
  return known && known->dimension == "terminals";
}

Decoded no_reading() {
  Decoded value;
  value.why = "no reading";
  return value;
}

}  // namespace

InProcessDevice::InProcessDevice(InstrumentDeclaration const& declaration, Bench const& bench, SimBench& sim,
                                 Clock& clock)
    : declaration_(declaration),
      profile_(profile_of(declaration, bench)),
      sim_(sim),
      clock_(clock),
      instrument_(find_in(sim, declaration)) {}

Fault InProcessDevice::fault(std::string id, std::string operation, std::string what, std::string next) const {
  Fault made;
  made.id = std::move(id);
  made.device = declaration_.name;
  made.operation = std::move(operation);
  made.what = std::move(what);
  made.next = std::move(next);
  return made;
}

Task<void> InProcessDevice::arrive() {
  co_await clock_.wait(seconds(instrument_.answer_delay_s()));
  sim_.advance_to(clock_.now().monotonic_ns);
}

Task<Answer<Identity>> InProcessDevice::identify() {
  co_await arrive();
  Identity identity;
  identity.maker = profile_.maker;
  identity.model = profile_.model;
  identity.serial = instrument_.text("serial").value_or("");
  identity.firmware = profile_.firmware.empty() ? "" : profile_.firmware.front();
  co_return identity;
}

void InProcessDevice::take_bits(InProcessSample& sample, std::vector<NamedBit> const& names) {
  for (auto const& bit : names) {
    if (instrument_.point(bit.name).value_or(0.0) == 0.0) continue;
    sample.bits.insert(bit.name);
    sample.bad = sample.bad || bit.makes_bad;
  }
}

void InProcessDevice::take_row(InProcessSample& sample, RegisterRow const& row) {
  if (row.type == ValueType::bits) {
    take_bits(sample, row.bits);
    return;
  }
  auto const number = instrument_.point(row.name);
  // With a power of ten beside it, as many digits are kept as a signed word has.
  int power = row.exponent.empty() ? 0 : -9;
  double const in_unit = number.value_or(0.0) / unit_named(row.unit).value_or(UnitWord{}).in_base / row.scale;
  while (!row.exponent.empty() && power < 9 && std::abs(in_unit) / std::pow(10.0, power) > 32000.0) ++power;
  auto const words = number ? encode(*number / std::pow(10.0, power), row) : std::nullopt;
  sample.values[row.name] = words ? decode(*words, row, power) : no_reading();
}

void InProcessDevice::take_field(InProcessSample& sample, TextField const& field) {
  if (field.kind == TextField::Kind::bits) {
    take_bits(sample, field.bits);
    return;
  }
  if (field.kind != TextField::Kind::number) return;
  auto const number = instrument_.point(field.name);
  Decoded value = no_reading();
  if (number) {
    auto const token = text_of_number(*number, field);
    auto const read_back = parse_text_number(token, field.unit, field.suffix);
    auto const known = unit_named(field.unit);
    double const in_unit = read_back && known ? *read_back / known->in_base : 0.0;
    bool const inside = (!field.lowest || in_unit >= *field.lowest) && (!field.highest || in_unit <= *field.highest);
    value.good = read_back.has_value() && inside;
    value.number = read_back.value_or(0.0);
    value.text = token;
    value.words.assign(token.begin(), token.end());
    value.why = value.good ? "" : "outside the range";
  }
  sample.values[field.name] = value;
}

InProcessSample InProcessDevice::take() {
  InProcessSample sample;
  sample.instrument = declaration_.name;
  sample.at = clock_.now();
  if (profile_.text_device) {
    for (auto const& field : profile_.command("sample")->reply) take_field(sample, field);
  } else {
    for (auto const& name : profile_.group("sample")->rows) take_row(sample, *profile_.row(name));
  }
  return sample;
}

Task<Answer<InProcessSample>> InProcessDevice::sample() {
  co_await arrive();
  co_return take();
}

bool InProcessDevice::set(std::string const& point, std::string const& unit, TextValue const& value) {
  return is_terminals(unit) ? instrument_.write_text(point, value.word) : instrument_.write(point, value.number);
}

bool InProcessDevice::act(SequenceStep const& step, std::string const& sequence, TextValues const& values) {
  if (step.kind == SequenceStep::Kind::send) {
    auto const& command = *profile_.command(step.command);
    for (auto const& argument : command.arguments) {
      auto const given = values.find(argument.name);
      if (given == values.end() || !set(argument.name, argument.unit, given->second)) return false;
    }
    return instrument_.write("do." + sequence, 1.0);
  }
  bool commands = false;
  for (auto const& name : step.rows) {
    auto const& row = *profile_.row(name);
    if (step.constants.count(name) != 0) {
      commands = true;
      continue;
    }
    auto const given = values.find(name);
    if (given == values.end()) return false;
    TextValue rounded = given->second;
    if (!is_terminals(row.unit)) {
      auto const words = encode(given->second.number, row);
      if (!words) return false;
      rounded.number = decode(*words, row).number;
    }
    if (!set(name, row.unit, rounded)) return false;
  }
  if (!commands) {
    // A sequence without any command register is set off by its last rows.
    for (auto const& other : *profile_.sequence(sequence)) {
      if (other.kind == SequenceStep::Kind::write && (!other.constants.empty() || &other > &step)) return true;
    }
  }
  return instrument_.write("do." + sequence, 1.0);
}

Task<Answer<Done>> InProcessDevice::wait(SequenceStep const& step, std::string const& sequence) {
  auto const end_ns = clock_.now().monotonic_ns + static_cast<std::int64_t>(step.at_most.in(seconds)*1e9);
  for (;;) {
    co_await arrive();
    auto const now = take();
    if (now.bit(step.bit) == step.until) co_return Done{};
    if (clock_.now().monotonic_ns >= end_ns) {
      co_return fault(
          "device.slow", sequence,
          fmt::format("\"{}\" did not become {} within {} s", step.bit, step.until, step.at_most.in(seconds)),
          "check leads and the instrument's own display");
    }
    co_await clock_.wait(step.poll);
  }
}

Task<Answer<Done>> InProcessDevice::run(std::string sequence, TextValues values,
                                        std::shared_ptr<PermitLink const> permit) {
  auto const* steps = profile_.sequence(sequence);
  if (steps == nullptr) {
    co_return fault("device.sequence", sequence, "the profile has no such sequence", "check the profile");
  }
  for (auto const& step : *steps) {
    if (step.kind == SequenceStep::Kind::wait) {
      auto const waited = co_await wait(step, sequence);
      if (!waited.ok()) co_return waited.error();
      continue;
    }
    co_await arrive();
    bool const consent = permit && permit->live.load(std::memory_order_acquire);
    if (step.energising && !consent) {
      co_return fault("permit.withdrawn", sequence, "the guard's consent was withdrawn before the command was sent",
                      "see the guard's cause");
    }
    if (!act(step, sequence, values)) {
      co_return fault("device.refused", sequence, "the device refuses",
                      "a value may be beyond its range, or its ramp is not permitted");
    }
  }
  co_return Done{};
}

}  // namespace benchward::sim
