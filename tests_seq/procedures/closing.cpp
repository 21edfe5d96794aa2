// SPDX-License-Identifier: MIT
// What needs no power: hand checks, results of other stations; and the unit as it ships, with one ratio reading.
#include <fmt/format.h>

#include "limits/documents/json_writer.hpp"
#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/procedures/readings_text.hpp"

namespace benchward {

namespace {

Task<bool> ask_item(StepContext& at, std::string id, std::string text, std::string item) {
  Question question;
  question.id = std::move(id);
  question.text = std::move(text);
  question.choices = {"passed", "failed"};
  auto const answer = co_await ask(at, std::move(question));
  JsonWriter json;
  json.begin_object()
      .field("item", item)
      .field("answer", answer)
      .field("person", at.world.person.person())
      .end_object();
  co_await keep_readings(at, at.plan_step.test, json.text());
  co_return answer == "passed";
}

}  // namespace

Task<bool> do_hand_check(StepContext& at, HandCheckWork const& work) {
  co_return co_await ask_item(at, "hand_check." + work.item, "Hand check: " + work.item, work.item);
}

Task<bool> take_result_from_elsewhere(StepContext& at, ElsewhereWork const& work) {
  co_return co_await ask_item(at, "elsewhere." + work.item,
                              "Result of another station: " + work.item + ". What does its report say?", work.item);
}

Task<RatioReadings> measure_as_shipped(StepContext& at, AsShippedWork const& work) {
  auto const readings = co_await measure_ratio(at, work.ratio);
  Connection bare = at.plan_step.connection;
  bare.name = "As shipped: all leads off, caps on";
  bare.instrument = "none";
  bare.accessories = work.shipped;
  bare.feed.clear();
  bare.measure.clear();
  bare.live.clear();
  bare.worst_volts = 0.0;
  at.world.progress.act(bare.name);
  bool const made = co_await at.world.person.make_as_shipped(bare);
  if (!made) throw StepStopped(StopCause::person, "as_shipped: the unit was not put as it ships");
  // Named before it is awaited: a conditional with temporaries inside the await expression is destroyed twice (GCC 12).
  std::string words = bare.tap ? fmt::format("tap {}, ", *bare.tap) : std::string();
  words += "straps, arresters, switches and caps as ordered, leads off";
  co_await keep_act(at, "made as shipped", std::move(words));
  co_return readings;
}

}  // namespace benchward
