// SPDX-License-Identifier: MIT
#pragma once

/// A device behind its profile: proven identity, samples, sequences. What the driver classes of the roles are made of.

#include <algorithm>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "../../limits/reading.hpp"
#include "../bench/bench.hpp"
#include "../bus/bus.hpp"
#include "../profile/profile.hpp"
#include "../profile/register_codec.hpp"
#include "../profile/text_codec.hpp"
#include "../roles/roles.hpp"

namespace benchward {

/// All that one request read.
struct DeviceSample {
  std::string instrument;
  std::map<std::string, Decoded> values;
  std::vector<std::string> bits;  ///< those that are set
  bool bad = false;               ///< a status bit makes every number BAD
  std::string why;
  Stamp received;

  bool bit(std::string const& name) const { return std::find(bits.begin(), bits.end(), name) != bits.end(); }
  /// The number as a reading; a value that the device does not give is BAD.
  template <class Make>
  auto reading(std::string const& channel, Make const& make) const -> Reading<decltype(make(0.0))> {
    Reading<decltype(make(0.0))> reading;
    reading.source = reading.received = received;
    reading.origin.instrument = instrument;
    reading.origin.channel = channel;
    auto const found = values.find(channel);
    if (found == values.end()) return reading;
    reading.origin.raw_words = found->second.words;
    if (found->second.good && !bad) {
      reading.value = make(found->second.number);
      reading.quality = Quality::good;
    }
    return reading;
  }
};

class Device {
 public:
  Device(InstrumentDeclaration declaration, Profile profile, Bus& bus, Clock& clock);

  InstrumentDeclaration const& declaration() const { return declaration_; }
  Profile const& profile() const { return profile_; }
  Bus& bus() const { return bus_; }

  /// Who it says it is, checked against profile (maker, model, firmware, known value) and bench document (serial).
  /// Faults `device.identity`, `device.known-value`, and the bus's.
  Task<Answer<Identity>> identify();
  /// One request. The identity is proven first where it has not been since the link was last opened.
  Task<Answer<DeviceSample>> sample();
  /// The same as what `make` makes of it. In steady state of a device on registers this allocates nothing itself.
  template <class T>
  Task<Answer<T>> read_as(T (*make)(DeviceSample const&)) {
    Lease const room(*this);
    if (plain_read()) {
      co_await bus_.ask(room->call);
      take_sample(*room);
    } else {
      co_await sample_with_sequences(*room);
    }
    if (room->fault) co_return *room->fault;
    co_return make(room->sample);
  }
  /// A sequence of the profile with these values. An energising step needs the permit. A write whose confirmation was
  /// lost is read back, never sent again: Fault `device.unconfirmed` where that does not show it was taken.
  Task<Answer<Done>> run(std::string sequence, TextValues values, std::shared_ptr<PermitLink const> permit);

  /// The last frames of this device, out of its bus's ring.
  std::vector<LoggedFrame> frames() const;

  Fault fault(std::string id, std::string operation, std::string what, std::string next) const;

 private:
  /// What one sample needs, used again and again: its request with the answer's room, and the sample itself.
  struct SampleRoom {
    explicit SampleRoom(BusRequest request) : call(std::move(request)) {}
    BusCall call;
    DeviceSample sample;
    std::optional<Fault> fault;
    std::vector<std::pair<GroupPlan::Row, Decoded*>> rows;  ///< and where its value stands in `sample`
  };
  /// A room for as long as it is needed.
  class Lease {
   public:
    explicit Lease(Device& device) : device_(device), room_(device.room()) {}
    ~Lease() { device_.rooms_.push_back(std::move(room_)); }
    Lease(Lease const&) = delete;
    Lease& operator=(Lease const&) = delete;
    SampleRoom* operator->() const { return room_.get(); }
    SampleRoom& operator*() const { return *room_; }

   private:
    Device& device_;
    std::unique_ptr<SampleRoom> room_;
  };

  std::unique_ptr<SampleRoom> room();
  /// Whether a sample is one request to registers and nothing else.
  bool plain_read() const;
  void take_sample(SampleRoom& room);
  Task<void> sample_with_sequences(SampleRoom& room);
  Task<void> sample_now(SampleRoom& room, std::string operation);
  BusRequest request(std::string operation) const;
  Task<Answer<BusReply>> ask(BusRequest request);
  void note(Fault const& fault);
  Task<Answer<Done>> prove();
  Task<Answer<std::map<std::string, Decoded>>> read_values(std::string group, std::string operation, Stamp& received);
  Task<Answer<Done>> write(SequenceStep const& step, TextValues const& values, std::string const& sequence,
                           std::shared_ptr<PermitLink const> permit);
  Task<Answer<Done>> send(SequenceStep const& step, TextValues const& values, std::string const& sequence,
                          std::shared_ptr<PermitLink const> permit);
  Task<Answer<Done>> wait(SequenceStep const& step, std::string const& sequence);

  InstrumentDeclaration declaration_;
  Profile profile_;
  Bus& bus_;
  Clock& clock_;
  bool proven_ = false;
  std::vector<std::unique_ptr<SampleRoom>> rooms_;  ///< those that nobody needs just now
};

}  // namespace benchward
