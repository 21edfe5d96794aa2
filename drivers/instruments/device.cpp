// SPDX-License-Identifier: MIT
#include "drivers/instruments/device.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "drivers/profile/register_codec.hpp"

namespace benchward {
namespace {

constexpr int read_retries = 2;

bool link_trouble(std::string const& id) {
  return id == "bus.lost" || id == "bus.connect" || id == "bus.down" || id == "bus.closed";
}

/// Bits that are set, and whether one of them makes the sample bad.
void take_bits(DeviceSample& sample, std::vector<NamedBit> const& names, Decoded const& value) {
  if (!value.good) {  // a status that cannot be read says nothing good of the numbers beside it
    sample.bad = true;
    sample.why = value.why;
    return;
  }
  for (auto const& bit : names) {
    if (((static_cast<unsigned>(value.bits) >> static_cast<unsigned>(bit.bit)) & 1u) == 0) continue;
    sample.bits.push_back(bit.name);
    if (bit.makes_bad) {
      sample.bad = true;
      sample.why = bit.words.empty() ? bit.name : bit.words;
    }
  }
}

}  // namespace

Device::Device(InstrumentDeclaration declaration, Profile profile, Bus& bus, Clock& clock)
    : declaration_(std::move(declaration)), profile_(std::move(profile)), bus_(bus), clock_(clock) {}

Fault Device::fault(std::string id, std::string operation, std::string what, std::string next) const {
  Fault made;
  made.id = std::move(id);
  made.device = declaration_.name;
  made.operation = std::move(operation);
  made.what = std::move(what);
  made.next = std::move(next);
  return made;
}

std::vector<LoggedFrame> Device::frames() const {
  auto frames = bus_.frames();
  std::erase_if(frames, [this](LoggedFrame const& frame) { return frame.device != declaration_.name; });
  return frames;
}

BusRequest Device::request(std::string operation) const {
  BusRequest made;
  made.device = declaration_.name;
  made.operation = std::move(operation);
  made.retries = read_retries;
  made.attempt = declaration_.time_limit.value_or(profile_.time_limit);
  // Room for the attempts, one draining, and what the other devices of the bus do first.
  made.deadline = made.attempt * (read_retries + 2.0) + seconds(1);
  made.gap = declaration_.gap.value_or(profile_.gap);
  made.unit = declaration_.unit_id;
  made.terminator = profile_.terminator;
  return made;
}

Task<Answer<BusReply>> Device::ask(BusRequest asked) {
  auto answer = co_await bus_.ask(std::move(asked));
  if (!answer.ok()) note(answer.error());
  co_return answer;
}

void Device::note(Fault const& fault) {
  // Behind a link that came back another device may stand.
  if (link_trouble(fault.id)) proven_ = false;
}

Task<Answer<std::map<std::string, Decoded>>> Device::read_values(std::string group_name, std::string operation,
                                                                 Stamp& received) {
  auto asked = request(operation);
  if (group_name ==
      "identity") {  // a wrong or silent device is known as such within two seconds, if it has 0.6 at most
    asked.retries = 1;
    asked.deadline = std::max(asked.attempt * 3.0, seconds(2));
  }
  std::map<std::string, Decoded> values;
  if (profile_.text_device) {
    auto const& command = *profile_.command(group_name);
    TextValues const none;
    asked.line = format_command(command, none);
    auto const reply = co_await ask(std::move(asked));
    if (!reply.ok()) co_return reply.error();
    received = reply.value().received;
    auto parsed = parse_reply(command, reply.value().line, profile_.separator);
    if (!parsed) {
      co_return fault("device.reply", operation,
                      fmt::format("\"{}\" is not an answer to {}: {} fields expected", reply.value().line, command.line,
                                  command.reply.size()),
                      "check that the device is the one of the profile");
    }
    co_return *parsed;
  }
  auto const& group = *profile_.group(group_name);
  asked.function = group.table == RegisterTable::holding ? 3 : 4;
  asked.address = group.address;
  asked.count = group.words;
  auto const reply = co_await ask(std::move(asked));
  if (!reply.ok()) co_return reply.error();
  received = reply.value().received;
  values = decode_group(reply.value().words, group, profile_);
  co_return values;
}

Task<Answer<Identity>> Device::identify() {
  std::string const operation = "identify";
  Stamp received;
  auto const answer = co_await read_values("identity", operation, received);
  if (!answer.ok()) co_return answer.error();
  auto const& values = answer.value();
  auto const word = [&](char const* name) { return values.count(name) != 0 ? values.at(name).text : std::string(); };
  Identity identity;
  identity.maker = word("maker");
  identity.model = word("model");
  identity.serial = word("serial");
  identity.firmware = word("firmware");
  if (identity.maker != profile_.maker || identity.model != profile_.model) {
    co_return fault("device.identity", operation,
                    fmt::format("says it is \"{} {}\", expected \"{} {}\"", identity.maker, identity.model,
                                profile_.maker, profile_.model),
                    "another device answers here: check unit number, cable and the bench document");
  }
  if (identity.serial != declaration_.serial) {
    co_return fault(
        "device.identity", operation,
        fmt::format("has serial number \"{}\", the bench document says \"{}\"", identity.serial, declaration_.serial),
        "an exchanged instrument needs its own calibration data in the bench document");
  }
  if (std::find(profile_.firmware.begin(), profile_.firmware.end(), identity.firmware) == profile_.firmware.end()) {
    co_return fault("device.firmware", operation,
                    fmt::format("has firmware \"{}\", the profile is proven with {}", identity.firmware,
                                fmt::join(profile_.firmware, ", ")),
                    "prove the profile with this version and add it there");
  }
  if (!profile_.known_row.empty()) {
    auto const& row = *profile_.row(profile_.known_row);
    auto asked = request("check known value");
    asked.function = row.table == RegisterTable::holding ? 3 : 4;
    asked.address = row.address;
    asked.count = row.words;
    auto const reply = co_await ask(std::move(asked));
    if (!reply.ok()) co_return reply.error();
    auto const value = decode(reply.value().words, row);
    auto const expected = encode(*profile_.known_value * unit_named(row.unit)->in_base, row);
    if (!expected || value.words != *expected) {
      co_return fault("device.known-value", operation,
                      fmt::format("register {} holds {}, expected {}", row.address, hex_of(value.words),
                                  expected ? hex_of(*expected) : "nothing"),
                      "the register map is off: check zero-based addresses and word order of the profile");
    }
  }
  co_return identity;
}

Task<Answer<Done>> Device::prove() {
  if (proven_) co_return Done{};
  auto const identity = co_await identify();
  if (!identity.ok()) co_return identity.error();
  proven_ = true;
  if (profile_.sequence("start_up") != nullptr) {
    TextValues none;
    auto const started = co_await run("start_up", std::move(none), nullptr);
    if (!started.ok()) {
      proven_ = false;
      co_return started.error();
    }
  }
  co_return Done{};
}

std::unique_ptr<Device::SampleRoom> Device::room() {
  if (!rooms_.empty()) {
    auto used_before = std::move(rooms_.back());
    rooms_.pop_back();
    return used_before;
  }
  auto made = std::make_unique<SampleRoom>(request("read"));
  made->sample.instrument = declaration_.name;
  if (profile_.text_device) return made;
  auto const& group = *profile_.group("sample");
  auto& asked = made->call.request();
  asked.function = group.table == RegisterTable::holding ? 3 : 4;
  asked.address = group.address;
  asked.count = group.words;
  GroupPlan const plan(group, profile_);
  for (auto const& row : plan.rows()) made->rows.emplace_back(row, &made->sample.values[row.row->name]);
  return made;
}

bool Device::plain_read() const { return proven_ && !profile_.text_device && profile_.sequence("hold") == nullptr; }

void Device::take_sample(SampleRoom& room) {
  auto& sample = room.sample;
  sample.bits.clear();
  sample.bad = false;
  sample.why.clear();
  room.fault.reset();
  if (auto const* fault = room.call.fault()) {
    note(*fault);
    room.fault = *fault;
    return;
  }
  auto const& reply = room.call.reply();
  sample.received = reply.received;
  for (auto const& [row, value] : room.rows) {
    GroupPlan::decode_row(row, reply.words, *value);
    if (row.row->type == ValueType::bits) take_bits(sample, row.row->bits, *value);
  }
}

Task<void> Device::sample_now(SampleRoom& room, std::string operation) {
  if (!profile_.text_device) {
    room.call.request().operation = std::move(operation);
    co_await bus_.ask(room.call);
    take_sample(room);
    room.call.request().operation = "read";
    co_return;
  }
  auto& sample = room.sample;
  sample.bits.clear();
  sample.bad = false;
  sample.why.clear();
  room.fault.reset();
  auto answer = co_await read_values("sample", std::move(operation), sample.received);
  if (!answer.ok()) {
    room.fault = answer.error();
    co_return;
  }
  sample.values = std::move(answer.value());
  for (auto const& field : profile_.command("sample")->reply) {
    if (field.kind == TextField::Kind::bits) take_bits(sample, field.bits, sample.values.at(field.name));
  }
}

Task<void> Device::sample_with_sequences(SampleRoom& room) {
  auto const proof = co_await prove();
  if (!proof.ok()) {
    room.fault = proof.error();
    co_return;
  }
  if (profile_.sequence("hold") == nullptr) {
    co_await sample_now(room, "read");
    co_return;
  }
  TextValues none;
  auto const held = co_await run("hold", none, nullptr);
  if (!held.ok()) {
    room.fault = held.error();
    co_return;
  }
  co_await sample_now(room, "read");
  if (profile_.sequence("release") == nullptr) co_return;
  auto const released = co_await run("release", none, nullptr);
  if (!released.ok()) room.fault = released.error();
}

Task<Answer<DeviceSample>> Device::sample() {
  auto const copy = [](DeviceSample const& sample) { return sample; };
  return read_as<DeviceSample>(+copy);
}

Task<Answer<Done>> Device::run(std::string sequence, TextValues values, std::shared_ptr<PermitLink const> permit) {
  auto const proof = co_await prove();
  if (!proof.ok()) co_return proof.error();
  auto const* steps = profile_.sequence(sequence);
  if (steps == nullptr)
    co_return fault("device.sequence", sequence, "the profile has no such sequence", "add it to the profile");
  for (auto const& step : *steps) {
    switch (step.kind) {
      case SequenceStep::Kind::write: {
        auto const done = co_await write(step, values, sequence, permit);
        if (!done.ok()) co_return done.error();
        break;
      }
      case SequenceStep::Kind::send: {
        auto const done = co_await send(step, values, sequence, permit);
        if (!done.ok()) co_return done.error();
        break;
      }
      case SequenceStep::Kind::wait: {
        auto const done = co_await wait(step, sequence);
        if (!done.ok()) co_return done.error();
        break;
      }
    }
  }
  co_return Done{};
}

Task<Answer<Done>> Device::write(SequenceStep const& step, TextValues const& values, std::string const& sequence,
                                 std::shared_ptr<PermitLink const> permit) {
  auto asked = request(sequence);
  asked.command = true;
  asked.energising = step.energising;
  asked.permit = permit;
  asked.function = profile_.write_function;
  asked.address = profile_.row(step.rows.front())->address;
  for (auto const& name : step.rows) {
    auto const& row = *profile_.row(name);
    auto const constant = step.constants.find(name);
    auto const given = values.find(name);
    if (constant == step.constants.end() && given == values.end()) {
      co_return fault("device.sequence", sequence, fmt::format("no value for \"{}\"", name),
                      "check the profile's sequence");
    }
    double const number =
        constant != step.constants.end() ? constant->second * unit_named(row.unit)->in_base : given->second.number;
    double const in_unit = number / unit_named(row.unit)->in_base;
    auto const words = encode(number, row);
    if (!words || (row.lowest && in_unit < *row.lowest) || (row.highest && in_unit > *row.highest)) {
      co_return fault("device.range", sequence,
                      fmt::format("{} {} is beyond what \"{}\" can be set to", in_unit, row.unit, name),
                      "this instrument is too small for the step");
    }
    asked.words.insert(asked.words.end(), words->begin(), words->end());
  }
  auto const address = asked.address;
  auto const words = asked.words;
  auto const reply = co_await ask(std::move(asked));
  if (reply.ok()) co_return Done{};
  auto const& failed = reply.error();
  if (failed.id != "bus.timeout" && failed.id != "bus.noise") co_return failed;
  // The device may have taken it, or not: look, and never send it again.
  auto look = request("read back " + sequence);
  look.function = 3;
  look.address = address;
  look.count = static_cast<int>(words.size());
  auto const seen = co_await ask(std::move(look));
  if (seen.ok() && seen.value().words == words) co_return Done{};
  auto unconfirmed = failed;
  unconfirmed.id = "device.unconfirmed";
  unconfirmed.what +=
      seen.ok() ? fmt::format("; read back {} where {} was written", hex_of(seen.value().words), hex_of(words))
                : "; reading back failed too";
  co_return unconfirmed;
}

Task<Answer<Done>> Device::send(SequenceStep const& step, TextValues const& values, std::string const& sequence,
                                std::shared_ptr<PermitLink const> permit) {
  auto const& command = *profile_.command(step.command);
  auto asked = request(sequence);
  asked.command = true;
  asked.energising = step.energising;
  asked.permit = permit;
  for (auto const& argument : command.arguments) {
    auto const given = values.find(argument.name);
    if (given == values.end()) {
      co_return fault("device.sequence", sequence, fmt::format("no value for \"{}\"", argument.name),
                      "check the profile's sequence");
    }
    double const in_unit = given->second.number / unit_named(argument.unit)->in_base;
    if ((argument.lowest && in_unit < *argument.lowest) || (argument.highest && in_unit > *argument.highest)) {
      co_return fault("device.range", sequence,
                      fmt::format("{} {} is beyond what \"{}\" can be set to", in_unit, argument.unit, argument.name),
                      "this instrument is too small for the step");
    }
  }
  asked.line = format_command(command, values);
  asked.expects_reply = !command.reply.empty();
  auto const reply = co_await ask(std::move(asked));
  if (!reply.ok()) co_return reply.error();
  auto const* errors = profile_.command("errors");
  if (errors == nullptr) co_return Done{};
  // The device's own error queue says whether the command was understood.
  Stamp received;
  auto const answer = co_await read_values("errors", "error queue after " + sequence, received);
  if (!answer.ok()) {
    auto unconfirmed = answer.error();
    unconfirmed.id = "device.unconfirmed";
    co_return unconfirmed;
  }
  auto const& first = answer.value().at(errors->reply.front().name);
  if (!first.good) co_return fault("device.reply", sequence, "the error queue gives no number", "check the profile");
  if (first.number != 0.0) {
    auto const text = errors->reply.size() > 1 ? answer.value().at(errors->reply[1].name).text : std::string();
    co_return fault("device.refused", sequence, fmt::format("the device refuses: {} {}", first.number, text),
                    "check the profile against the device's manual");
  }
  co_return Done{};
}

Task<Answer<Done>> Device::wait(SequenceStep const& step, std::string const& sequence) {
  Lease const room(*this);
  auto const end_ns = clock_.now().monotonic_ns + static_cast<std::int64_t>(step.at_most.in(seconds)*1e9);
  for (;;) {
    co_await sample_now(*room, "wait for " + step.bit);
    if (room->fault) co_return *room->fault;
    if (room->sample.bit(step.bit) == step.until) co_return Done{};
    if (clock_.now().monotonic_ns >= end_ns) {
      co_return fault("device.slow", sequence,
                      fmt::format("\"{}\" did not become {} within {} s{}", step.bit, step.until,
                                  step.at_most.in(seconds), room->sample.why.empty() ? "" : ": " + room->sample.why),
                      "check leads and the instrument's own display");
    }
    co_await clock_.wait(step.poll);
  }
}

}  // namespace benchward
