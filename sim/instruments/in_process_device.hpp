// SPDX-License-Identifier: MIT
#pragma once

/// A simulated instrument spoken to without a wire: the profile's sequences and samples, the instrument's own answer
/// time on the handed-in clock, the same least counts and raw words as on a wire.

#include <map>
#include <memory>
#include <set>
#include <string>

#include "../../drivers/bench/bench.hpp"
#include "../../drivers/permit.hpp"
#include "../../drivers/profile/profile.hpp"
#include "../../drivers/profile/text_codec.hpp"
#include "../../drivers/roles/roles.hpp"
#include "../../drivers/time/clock.hpp"
#include "../bench/sim_bench.hpp"

namespace benchward::sim {

/// All that one request read.
struct InProcessSample {
  std::string instrument;
  std::map<std::string, Decoded> values;
  std::set<std::string> bits;  ///< those that are set
  bool bad = false;            ///< a status bit makes every number BAD
  Stamp at;

  bool bit(std::string const& name) const { return bits.count(name) != 0; }
  template <class Make>
  auto reading(std::string const& channel, Make const& make) const -> Reading<decltype(make(0.0))> {
    Reading<decltype(make(0.0))> reading;
    reading.source = reading.received = at;
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

class InProcessDevice {
 public:
  /// Throws DocumentError where the profile is unknown. Bench and clock must outlive it.
  InProcessDevice(InstrumentDeclaration const& declaration, Bench const& bench, SimBench& sim, Clock& clock);

  std::string const& name() const { return declaration_.name; }
  Profile const& profile() const { return profile_; }

  Task<Answer<Identity>> identify();
  Task<Answer<InProcessSample>> sample();
  /// An energising step looks at the permit immediately before it acts: Fault `permit.withdrawn`.
  Task<Answer<Done>> run(std::string sequence, TextValues values, std::shared_ptr<PermitLink const> permit);
  Fault fault(std::string id, std::string operation, std::string what, std::string next) const;

 private:
  /// The answer time passes; then the bench stands at the clock's time.
  Task<void> arrive();
  InProcessSample take();
  void take_row(InProcessSample& sample, RegisterRow const& row);
  void take_field(InProcessSample& sample, TextField const& field);
  void take_bits(InProcessSample& sample, std::vector<NamedBit> const& names);
  bool set(std::string const& point, std::string const& unit, TextValue const& value);
  bool act(SequenceStep const& step, std::string const& sequence, TextValues const& values);
  Task<Answer<Done>> wait(SequenceStep const& step, std::string const& sequence);

  InstrumentDeclaration declaration_;
  Profile profile_;
  SimBench& sim_;
  Clock& clock_;
  SimInstrument& instrument_;
};

}  // namespace benchward::sim
