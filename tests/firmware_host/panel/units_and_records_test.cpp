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
  boost::asio::io_context io;
  VirtualClock clock(1'000'000'000'000'000);
  MemoryEventStore store;
  Journal journal(store, clock, "boot");
  auto const keep = [&](auto event) {
    boost::asio::co_spawn(io, kept(journal, event), [](std::exception_ptr failure) {
      if (failure) std::rethrow_exception(failure);
    });
    io.restart();
    io.run();
  };
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
  REQUIRE(index.last_of("A-1") != nullptr);
  CHECK(index.last_of("A-1")->record_id == "second");
  CHECK(index.last_of("A-1")->disposition == "hold");
  CHECK(index.last_of("A-1")->simulated);
  CHECK(index.last_of("A") == nullptr);
  CHECK(index.find("A", 10).size() == 2);
  CHECK(index.find("", 2).size() == 2);
  CHECK(index.find("", 2)[0].record_id == "open");
  CHECK(index.last_of("B-1")->outcome == "ABORTED");
  CHECK(index.since(0).size() == 3);
  CHECK(index.since(std::int64_t{1} << 60).empty());
}
