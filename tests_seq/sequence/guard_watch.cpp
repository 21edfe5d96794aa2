// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/guard_watch.hpp"

#include <utility>

#include <fmt/format.h>

#include "limits/documents/json_writer.hpp"
#include "tests_seq/guard/core.hpp"
#include "tests_seq/guard/words.hpp"

namespace benchward {

namespace {

/// What a person looks at after a trip: volts, amperes, gate, stop, earth, contactors; a line an image.
std::string frozen_json(std::vector<GuardImage> const& images) {
  JsonWriter json;
  json.begin_list();
  for (auto const& image : images) {
    auto const& in = image.inputs;
    unsigned open = 0;
    for (int path = 1; path < max_sources; ++path) {
      if (in.source[path].first_open) open |= 1u << (2 * path);
      if (in.source[path].second_open) open |= 2u << (2 * path);
    }
    json.begin_object()
        .field("monotonic_ns", image.monotonic_ns)
        .field("output_mv", in.output_mv)
        .field("output_ma", in.output_ma)
        .field("direct_ua", in.direct_ua)
        .field("stop", in.stop_a && in.stop_b)
        .field("gate", in.gate_a[0] && in.gate_b[0])
        .field("chain", in.chain_closed)
        .field("earth_closed", in.earth_closed)
        .field("earth_open", in.earth_open)
        .field("supply", in.source_healthy)
        .field("contactors_open", open)
        .field("scan", in.scan)
        .end_object();
  }
  json.end_list();
  return json.text();
}

std::string words_of_kind(GuardEvent const& event) {
  std::string condition;
  if (event.condition != 0) condition = words_of_guard_condition(event.condition);
  switch (event.kind) {
    case GuardEventKind::state:
      return condition.empty() ? "state" : "state: " + condition;
    case GuardEventKind::trip:
      return trip_words(event.condition, condition, words_of_silence(event.condition, event.silence));
    case GuardEventKind::later:
      return fmt::format("later I{:02d}: {}", event.condition, condition);
    case GuardEventKind::refused:
      return "arming refused: " + condition;
    case GuardEventKind::link_lost:
      return "link to the bench I/O lost";
    case GuardEventKind::link_back:
      return "link to the bench I/O back";
    case GuardEventKind::bypass_key:
      return event.inputs.bypass_key ? "bypass key in: what is measured is not for record"
                                     : fmt::format("bypass key out after {:.1f} s: what was measured is not for record",
                                                   event.bypass_ms * 1e-3);
    case GuardEventKind::reset:
      return "local reset accepted";
  }
  return condition;
}

}  // namespace

GuardEventSource events_of(GuardCore& core) {
  return [&core]() -> std::optional<GuardNotice> {
    GuardEvent event;
    if (!core.take_event(event)) return std::nullopt;
    GuardNotice notice;
    notice.from = event.from;
    notice.to = event.state;
    notice.words = words_of_kind(event);
    if (event.kind == GuardEventKind::trip) {
      TripRecord trip;
      trip.happened = true;
      trip.first.number = event.condition;
      trip.first.words = std::string(words_of_guard_condition(event.condition));
      trip.detail = words_of_silence(event.condition, event.silence);
      trip.in_state = event.from;
      trip.at = event.stamp;
      trip.output = millivolts(event.inputs.output_mv);
      trip.current = milliamperes(event.inputs.output_ma);
      notice.trip = std::move(trip);
      notice.frozen = frozen_json(core.take_frozen());
    }
    return notice;
  };
}

GuardWatch::GuardWatch(GuardDesk const& desk, GuardEventSource source, Clock& clock, Journal& journal,
                       ProgressSink& progress, std::function<std::string()> attempt)
    : desk_(desk),
      source_(std::move(source)),
      clock_(clock),
      journal_(journal),
      progress_(progress),
      attempt_(std::move(attempt)) {}

Task<void> GuardWatch::drain() {
  for (;;) {
    auto notice = source_ ? source_() : std::nullopt;
    if (!notice) break;
    notice->attempt = attempt_ ? attempt_() : std::string();
    auto const durability = notice->trip ? Durability::durable : Durability::ordinary;
    auto const kept = co_await journal_.record(body_of(*notice), durability);
    if (!kept) co_return;
  }
  auto const lost = desk_.status().events_lost;
  if (lost > lost_) {
    EventsLost event;
    event.count = lost - lost_;
    lost_ = lost;
    auto const kept = co_await journal_.record(body_of(event), Durability::ordinary);
    if (!kept) co_return;
  }
}

Task<void> GuardWatch::run(Duration period) {
  auto shown = desk_.status();
  progress_.guard(shown);
  while (!stopped_) {
    co_await clock_.wait(period);
    co_await drain();
    auto const status = desk_.status();
    bool const changed = status.state != shown.state || status.missing.size() != shown.missing.size() ||
                         status.trip.happened != shown.trip.happened || status.link_lost != shown.link_lost ||
                         (!status.missing.empty() && status.missing.front().number != shown.missing.front().number);
    if (changed) progress_.guard(status);
    shown = status;
  }
  co_await drain();
}

}  // namespace benchward
