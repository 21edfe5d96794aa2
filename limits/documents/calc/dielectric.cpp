// SPDX-License-Identifier: MIT
#include "limits/correct/dielectric.hpp"

#include "limits/documents/calc/topic.hpp"
#include "limits/documents/unit_words.hpp"

namespace benchward::documents {
namespace {

void induced(ObjectReader& in, JsonWriter& out) {
  constexpr words::List<InducedCase, 2> cases{
      {{"twice_rated", InducedCase::twice_rated}, {"line_to_ground", InducedCase::line_to_ground}}};
  InducedInput test;
  test.standard = in.word_or("standard", StandardFamily::ieee, words::standards);
  test.rated_v = in.number("rated_v", "a number of volts, of the fed winding", above(0.0));
  test.rated_hz = in.number("rated_hz", "a number of hertz", above(0.0));
  test.test_hz = in.number("test_hz", "a number of hertz", above(0.0));
  test.level = in.word_or("case", InducedCase::twice_rated, cases);
  if (test.level == InducedCase::line_to_ground) {
    test.winding_v = in.number("winding_v", "a number of volts, of the high-voltage winding", above(0.0));
    test.ceiling_v = in.optional_number("ceiling_v", "a number of volts", above(0.0));
  }
  in.finish();
  auto const found = induced_test(test);
  out.field("test_v", found.test_v).field("duration_s", found.duration_s).field("lowest_test_hz", found.lowest_test_hz);
}

}  // namespace

std::vector<Topic> dielectric_topics() {
  return {
      {{"induced-test",
        "level, duration and lowest frequency of the induced-voltage test",
        "IEEE C57.12.90: twice rated volts, 7200 cycles (from memory); C57.12.38-2014: line-to-ground level (extract "
        "read); IEC 60076-3: 120 x rated / test frequency (secondary source), at least 15 s (from memory)",
        {{"standard", "words: ieee, iec", "ieee"},
         {"rated_v", "V, of the fed winding", "required"},
         {"rated_hz", "Hz", "required"},
         {"test_hz", "Hz", "required"},
         {"case", "words: twice_rated, line_to_ground", "twice_rated"},
         {"winding_v", "V, of the high-voltage winding", "case line_to_ground"},
         {"ceiling_v", "V", "optional, case line_to_ground"}},
        {{"test_v", "V, on the fed winding", "always"},
         {"duration_s", "s", "always"},
         {"lowest_test_hz", "Hz", "always"}}},
       induced}};
}

}  // namespace benchward::documents
