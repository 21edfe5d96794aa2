// SPDX-License-Identifier: MIT
#include <unistd.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <stdexcept>

#include "drivers/time/virtual_clock.hpp"
#include "firmware_host/panel/panel_progress.hpp"
#include "firmware_host/panel/record_index.hpp"
#include "firmware_host/panel/units_folder.hpp"
#include "tests_seq/journal/journal.hpp"

using namespace benchward;
using namespace benchward::panel;

namespace {

struct Folder {
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / ("benchward-units-" + std::string(6, 'X'))).string();
    path = ::mkdtemp(name.data());
  }
  ~Folder() { std::filesystem::remove_all(path); }
  void copy(std::string const& unit, std::string const& as) const {
    std::filesystem::copy_file(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/units/" + unit, path + "/" + as);
  }
  std::string path;
};

template <class Data>
Task<void> kept(Journal& journal, Data event) {
  auto const written = co_await journal.record_event(event, Durability::ordinary);
  if (!written) throw std::runtime_error(written.error().text());
}

/// A journal in memory.
struct Kept {
  template <class Data>
  void keep(Data event) {
    boost::asio::co_spawn(io, kept(journal, event), [](std::exception_ptr failure) {
      if (failure) std::rethrow_exception(failure);
    });
    io.restart();
    io.run();
  }

  boost::asio::io_context io;
  VirtualClock clock{1'000'000'000'000'000};
  MemoryEventStore store;
  Journal journal{store, clock, "boot"};
};

constexpr char const* single = "single-phase-pad-50kva.json";

}  // namespace

TEST_CASE("Units are found by serial; a bad document is named and hides no other", "[panel]") {
  Folder const folder;
  folder.copy(single, "one.json");
  std::ofstream(folder.path + "/bad.json") << "{\"serial\": 5}";
  std::ofstream(folder.path + "/notes.txt") << "not a unit";
  auto const found = read_units_folder(folder.path);
  REQUIRE(found.units.size() == 1);
  CHECK(found.units[0].unit.serial == "DEMO-1P-0050");
  REQUIRE(found.unusable.size() == 1);
  CHECK_THAT(found.unusable[0], Catch::Contains("bad.json"));
}

TEST_CASE("Two documents of one serial: neither is taken and both are named", "[panel]") {
  Folder const folder;
  folder.copy(single, "one.json");
  folder.copy(single, "two.json");
  auto const found = read_units_folder(folder.path);
  CHECK(found.units.empty());
  REQUIRE(found.unusable.size() == 1);
  CHECK_THAT(found.unusable[0], Catch::Contains("one.json") && Catch::Contains("two.json"));
}

TEST_CASE("No folder is no unit; one that is not there is said", "[panel]") {
  CHECK(read_units_folder("").unusable.empty());
  CHECK(read_units_folder("/nonexistent-folder-of-units").unusable.size() == 1);
}

TEST_CASE("What a scanner sends around a serial is dropped; what is no serial is none", "[panel]") {
  CHECK(clean_serial("  A-1 \r\n") == "A-1");
  CHECK(clean_serial("\x02"
                     "A-1\x03") == "A-1");
  CHECK_FALSE(clean_serial(""));
  CHECK_FALSE(clean_serial(" \t\r\n"));
  CHECK_FALSE(clean_serial(std::string(81, 'x')));
  CHECK(clean_serial(std::string(80, 'x')).has_value());
}

TEST_CASE("The index has a line an attempt, the last of a serial, and the shift's own", "[panel]") {
  Kept book;
  auto const keep = [&](auto event) { book.keep(event); };
  auto const& store = book.store;
  for (auto const* id : {"first", "second", "open"}) {
    AttemptStarted started;
    started.attempt = id;
    started.serial = std::string(id) == "open" ? "B-1" : "A-1";
    started.simulated = true;
    keep(started);
    if (std::string(id) == "open") continue;
    AttemptEnded ended;
    ended.attempt = id;
    ended.outcome = std::string(id) == "first" ? Outcome::pass : Outcome::fail;
    ended.disposition = std::string(id) == "first" ? Disposition::release : Disposition::hold;
    ended.reason = "because";
    keep(ended);
  }
  RecordIndex index;
  index.read(store);
  CHECK(index.why_a_reason("A-1") == "On hold: because");
  CHECK(index.why_a_reason("A").empty());
  auto const found = [&](std::string serial, std::string outcome = "", std::string from = "", std::string to = "") {
    return index.find(RecordSearch{std::move(serial), std::move(outcome), std::move(from), std::move(to)}, 10);
  };
  CHECK(found("A").size() == 2);
  CHECK(found("A-1", "PASS").size() == 1);
  CHECK(found("B-1", "ABORTED").size() == 1);
  CHECK(found("", "", "2001-09-09", "2001-09-09").size() == 3);
  CHECK(found("", "", "2001-09-10").empty());
  CHECK(found("", "", "", "2001-09-08").empty());
  CHECK(index.find(RecordSearch(), 2).size() == 2);
  CHECK(index.find(RecordSearch(), 2)[0].record_id == "open");
  CHECK(index.since(0).size() == 3);
  CHECK(index.since(std::int64_t{1} << 60).empty());
}

TEST_CASE("Released is released, held is held, until a later run judges: an aborted one changes neither", "[panel]") {
  RecordIndex index;
  auto const add = [&](std::string serial, std::string disposition, bool simulated, std::int64_t started_us = 10) {
    RecordLine line;
    line.serial = std::move(serial);
    line.disposition = std::move(disposition);
    line.started = "2026-03-01T10:00:00.000000Z";
    line.started_us = started_us;
    line.reason = "ratio";
    line.simulated = simulated;
    index.add(std::move(line));
  };
  CHECK(index.why_a_reason("A").empty());
  add("A", "release", true);
  CHECK(index.why_a_reason("A").empty());  // nothing simulated releases
  add("A", "release", false);
  CHECK(index.why_a_reason("A") == "Released already on 2026-03-01");
  add("A", "repeat", false);
  CHECK(index.why_a_reason("A") == "Released already on 2026-03-01");
  add("A", "hold", false);
  add("A", "repeat", false);
  CHECK(index.why_a_reason("A") == "On hold: ratio");
  CHECK(index.why_a_reason("B").empty());
  // A record kept while the clock was five hours behind hides nothing of the shift before it.
  add("C", "repeat", false, 1);
  add("C", "repeat", false, 12);
  CHECK(index.since(10).size() == 6);
}

TEST_CASE("How a bench stands is told by the journal from the oldest of its objects' newest measurements on",
          "[panel]") {
  Kept book;
  auto const keep = [&](auto event) { book.keep(event); };
  auto const& store = book.store;
  auto const check = [&](std::string const& attempt, std::string const& object, std::string const& hash) {
    AttemptStarted started;
    started.attempt = attempt;
    started.serial = object;
    keep(started);
    auto const first = store.events.back().seq;
    ObjectChecked checked;
    checked.attempt = attempt;
    checked.object = object;
    checked.bench_hash = hash;
    keep(checked);
    return first;
  };
  check("a", "SINGLE", "today");
  auto const three_phase = check("b", "THREE", "today");
  check("c", "SINGLE", "today");
  auto const before = check("d", "SINGLE", "before calibration");
  RecordIndex index;
  index.read(store);
  CHECK(index.bench_checked_at("today") == three_phase);
  CHECK(index.bench_checked_at("before calibration") == before);
  CHECK_FALSE(index.bench_checked_at("never").has_value());
}

TEST_CASE("A limit stands beside a live reading of its own kind and unit only", "[panel]") {
  LimitSheet sheet;
  auto const line = [&](std::string test, std::string quantity, std::string at, std::string unit, double upper) {
    SheetLine made;
    made.test = std::move(test);
    made.quantity = std::move(quantity);
    made.at = std::move(at);
    made.limit.unit = std::move(unit);
    made.limit.upper = upper;
    sheet.lines.push_back(std::move(made));
  };
  line("no_load", "corrected_no_load_loss_w", "", "W", 99.0);
  line("applied", "level_kv", "hv", "kV", 35.0);
  line("applied", "level_kv", "lv", "kV", 10.3);
  line("load_loss", "total_loss_w", "", "W", 689.0);
  auto const beside = [&](std::string name, std::string unit, std::string test, std::string at) {
    ShownReading reading;
    reading.name = std::move(name);
    reading.unit = std::move(unit);
    put_limit(reading, sheet, test, at);
    return reading;
  };
  CHECK(beside("no-load loss", "W", "no_load", "").upper == 99.0);
  CHECK(beside("no-load loss", "W", "no_load", "").limit_of == "corrected no load loss");
  CHECK(beside("level", "kV", "applied", "hv").upper == 35.0);
  CHECK(beside("level", "kV", "applied", "lv").upper == 10.3);
  CHECK_FALSE(beside("level", "kV", "applied", "").upper);
  CHECK_FALSE(beside("level", "V", "applied", "hv").upper);
  // At the day's temperature it is not what the sheet limits.
  CHECK_FALSE(beside("load loss", "W", "load_loss", "").upper);
  CHECK(beside("load loss", "W", "load_loss", "").limit_of.empty());
}
