// SPDX-License-Identifier: MIT
#include "firmware_host/store/record_catalogue.hpp"

#include <sqlite3.h>
#include <unistd.h>

#include <algorithm>
#include <map>
#include <stdexcept>

#include "limits/documents/json_reader.hpp"
#include "limits/documents/readings_json.hpp"
#include "tests_seq/journal/event.hpp"
#include "tests_seq/journal/events.hpp"

namespace benchward {
namespace {

using documents::Json;

constexpr char const* layout =
    "BEGIN; CREATE TABLE IF NOT EXISTS attempts (first_seq INTEGER PRIMARY KEY, attempt TEXT NOT NULL, serial TEXT NOT "
    "NULL,"
    " order_name TEXT NOT NULL, design TEXT NOT NULL, stage TEXT NOT NULL, bench TEXT NOT NULL, person TEXT NOT NULL,"
    " outcome TEXT NOT NULL, disposition TEXT NOT NULL, reason TEXT NOT NULL, instruments TEXT NOT NULL,"
    " started_us INTEGER NOT NULL, ended_us INTEGER NOT NULL, simulated INTEGER NOT NULL, last_seq INTEGER NOT NULL);"
    "CREATE INDEX IF NOT EXISTS by_attempt ON attempts (attempt);"
    "CREATE INDEX IF NOT EXISTS by_serial ON attempts (serial);"
    "CREATE INDEX IF NOT EXISTS by_order ON attempts (order_name);"
    "CREATE INDEX IF NOT EXISTS by_design ON attempts (design);"
    "CREATE INDEX IF NOT EXISTS by_start ON attempts (started_us);"
    "CREATE TABLE IF NOT EXISTS read_up_to (one INTEGER PRIMARY KEY, seq INTEGER NOT NULL, hash TEXT NOT NULL);"
    "PRAGMA user_version = 1; COMMIT;";
constexpr char const* columns =
    "attempt, serial, order_name, design, stage, bench, person, outcome, disposition, reason, instruments, started_us,"
    " ended_us, simulated, first_seq, last_seq";

struct Trouble : std::runtime_error {
  using std::runtime_error::runtime_error;
};

class Statement {
 public:
  Statement(sqlite3* database, std::string const& sql) {
    if (sqlite3_prepare_v2(database, sql.c_str(), -1, &handle_, nullptr) != SQLITE_OK)
      throw Trouble(sqlite3_errmsg(database));
  }
  ~Statement() { sqlite3_finalize(handle_); }
  Statement(Statement const&) = delete;
  Statement& operator=(Statement const&) = delete;
  Statement& bind(std::string const& text) {
    sqlite3_bind_text(handle_, ++bound_, text.data(), static_cast<int>(text.size()), SQLITE_TRANSIENT);
    return *this;
  }
  Statement& bind(std::int64_t number) {
    sqlite3_bind_int64(handle_, ++bound_, number);
    return *this;
  }
  bool step() {
    int const got = sqlite3_step(handle_);
    if (got != SQLITE_ROW && got != SQLITE_DONE) throw Trouble(sqlite3_errmsg(sqlite3_db_handle(handle_)));
    return got == SQLITE_ROW;
  }
  std::string text(int column) const {
    auto const* bytes = sqlite3_column_text(handle_, column);
    return bytes == nullptr ? std::string()
                            : std::string(reinterpret_cast<char const*>(bytes),
                                          static_cast<std::size_t>(sqlite3_column_bytes(handle_, column)));
  }
  std::int64_t number(int column) const { return sqlite3_column_int64(handle_, column); }

 private:
  sqlite3_stmt* handle_ = nullptr;
  int bound_ = 0;
};

std::string text_of(Json const& data, char const* key) {
  auto const found = data.find(key);
  return found != data.end() && found->is_string() ? found->get<std::string>() : std::string();
}

CatalogueRow row_of_start(Event const& event, Json const& data) {
  CatalogueRow row;
  row.attempt = event.attempt;
  row.serial = text_of(data, "serial");
  if (auto const unit = data.find("unit"); unit != data.end() && unit->is_object()) {
    row.order = text_of(*unit, "order");
    row.design = text_of(*unit, "design");
  }
  row.stage = text_of(data, "stage");
  row.bench = text_of(data, "bench");
  row.person = text_of(data, "person");
  row.outcome = "OPEN";
  row.disposition = "repeat";
  row.reason = "has not ended: it runs, or its program was stopped";
  row.simulated = data.value("simulated", false);
  if (auto const all = data.find("calibration"); all != data.end() && all->is_object()) {
    row.instruments = "|";
    for (auto const& [name, calibration] : all->items()) {
      row.instruments += name + "|";
      if (calibration.is_object()) row.instruments += text_of(calibration, "certificate") + "|";
    }
  }
  row.started_us = event.at.utc_us;
  row.first_seq = event.seq;
  return row;
}

void take_end(CatalogueRow& row, Event const& event, Json const& data) {
  row.outcome = text_of(data, "outcome");
  row.disposition = text_of(data, "disposition");
  row.reason = text_of(data, "reason");
  row.ended_us = event.at.utc_us;
  row.last_seq = event.seq;
}

CatalogueRow row_of(Statement const& row) {
  CatalogueRow one;
  one.attempt = row.text(0);
  one.serial = row.text(1);
  one.order = row.text(2);
  one.design = row.text(3);
  one.stage = row.text(4);
  one.bench = row.text(5);
  one.person = row.text(6);
  one.outcome = row.text(7);
  one.disposition = row.text(8);
  one.reason = row.text(9);
  one.instruments = row.text(10);
  one.started_us = row.number(11);
  one.ended_us = row.number(12);
  one.simulated = row.number(13) != 0;
  one.first_seq = static_cast<std::uint64_t>(row.number(14));
  one.last_seq = static_cast<std::uint64_t>(row.number(15));
  return one;
}

bool asked_for(CatalogueRow const& row, CatalogueQuery const& query) {
  auto const is = [](std::string const& asked, std::string const& value) { return asked.empty() || asked == value; };
  auto const day = utc_text(row.started_us).substr(0, 10);
  return is(query.attempt, row.attempt) && is(query.serial, row.serial) && is(query.order, row.order) &&
         is(query.design, row.design) && is(query.outcome, row.outcome) &&
         (query.instrument.empty() || row.instruments.find("|" + query.instrument + "|") != std::string::npos) &&
         (query.since.empty() || day >= query.since) && (query.until.empty() || day <= query.until);
}

/// Attempts by id, as entries tell them.
using Rows = std::map<std::string, CatalogueRow>;

/// Calls `started` and `ended` for the entries that are of interest. Entries that this program cannot read are passed
/// over: what the journal thinks of them is said by its verification.
template <class OnStart, class OnEnd>
void read_entry(StoredEvent const& stored, OnStart const& started, OnEnd const& ended) {
  if (!starts_or_ends_attempt(stored.bytes)) return;
  try {
    auto const event = parse_event(stored.bytes);
    auto const data = documents::parse_json(event.data, "journal entry");
    if (event.type == event_type::attempt_started) started(row_of_start(event, data));
    if (event.type == event_type::attempt_ended) ended(event, data);
  } catch (DocumentError const&) {
  }
}

}  // namespace

bool starts_or_ends_attempt(std::string const& bytes) {
  return bytes.compare(0, 25, "{\"type\":\"attempt started\"") == 0 ||
         bytes.compare(0, 23, "{\"type\":\"attempt ended\"") == 0;
}

struct RecordCatalogue::Inside {
  sqlite3* database = nullptr;
  std::uint64_t seq = 0;  // read up to here, the file's
  std::string hash;       // of that entry
  Rows beside;            // read-only: what the file does not have

  ~Inside() { close(); }
  void close() {
    sqlite3_close(database);
    database = nullptr;
  }
  void run(char const* sql) const {
    if (sqlite3_exec(database, sql, nullptr, nullptr, nullptr) != SQLITE_OK) throw Trouble(sqlite3_errmsg(database));
  }
  void open(std::string const& file, bool writing) {
    int const flags = writing ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE : SQLITE_OPEN_READONLY;
    if (sqlite3_open_v2(file.c_str(), &database, flags, nullptr) != SQLITE_OK) throw Trouble("cannot be opened");
    sqlite3_busy_timeout(database, 2000);
    if (writing) {
      run("PRAGMA journal_mode = WAL");
      // Derived data: a power cut may lose the newest rows, never damage the file; they are caught up.
      run("PRAGMA synchronous = NORMAL");
      run(layout);
    }
    Statement version(database, "PRAGMA user_version");
    if (!version.step() || version.number(0) != 1) throw Trouble("is of another version");
    Statement place(database, "SELECT seq, hash FROM read_up_to");
    if (place.step()) {
      seq = static_cast<std::uint64_t>(place.number(0));
      hash = place.text(1);
    }
  }
  /// Whether the journal still holds what the file was made from.
  bool belongs_to(JournalDatabase const& journal) const {
    if (seq == 0) return true;
    bool same = false;
    journal.scan(seq, [&](StoredEvent const& entry) {
      same = entry.seq == seq && entry.hash == hash;
      return false;
    });
    return same;
  }
  void insert(CatalogueRow const& row) {
    Statement add(database, std::string("INSERT OR REPLACE INTO attempts (") + columns +
                                ") VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)");
    add.bind(row.attempt).bind(row.serial).bind(row.order).bind(row.design).bind(row.stage).bind(row.bench);
    add.bind(row.person).bind(row.outcome).bind(row.disposition).bind(row.reason).bind(row.instruments);
    add.bind(row.started_us).bind(row.ended_us).bind(std::int64_t{row.simulated});
    add.bind(static_cast<std::int64_t>(row.first_seq)).bind(static_cast<std::int64_t>(row.last_seq));
    add.step();
  }
  void end(Event const& event, Json const& data) {
    CatalogueRow row;
    take_end(row, event, data);
    Statement change(database,
                     "UPDATE attempts SET outcome = ?, disposition = ?, reason = ?, ended_us = ?, last_seq = ? WHERE "
                     "attempt = ?");
    change.bind(row.outcome).bind(row.disposition).bind(row.reason).bind(row.ended_us);
    change.bind(static_cast<std::int64_t>(row.last_seq)).bind(event.attempt);
    change.step();
  }
  void take_entry(StoredEvent const& entry) {
    read_entry(
        entry, [this](CatalogueRow const& row) { insert(row); },
        [this](Event const& event, Json const& data) { end(event, data); });
    seq = entry.seq;
    hash = entry.hash;
  }
  void keep_place() {
    Statement place(database, "INSERT OR REPLACE INTO read_up_to (one, seq, hash) VALUES (1, ?, ?)");
    place.bind(static_cast<std::int64_t>(seq)).bind(hash);
    place.step();
  }
  void catch_up(JournalDatabase const& journal) {
    run("BEGIN");
    journal.scan(seq + 1, [this](StoredEvent const& entry) {
      take_entry(entry);
      return true;
    });
    keep_place();
    run("COMMIT");
  }
  void read_beside(JournalDatabase const& journal) {
    journal.scan(seq + 1, [this](StoredEvent const& entry) {
      read_entry(
          entry, [this](CatalogueRow row) { beside[row.attempt] = std::move(row); },
          [this](Event const& event, Json const& data) {
            auto& row = beside[event.attempt];
            if (row.attempt.empty()) {  // it began before: its row is the file's
              if (auto const old = rows(" WHERE attempt = ?", event.attempt); !old.empty()) row = old.front();
            }
            take_end(row, event, data);
          });
      return true;
    });
  }
  std::vector<CatalogueRow> rows(std::string const& where, std::string const& value) const {
    std::vector<CatalogueRow> found;
    if (database == nullptr) return found;
    Statement select(database, std::string("SELECT ") + columns + " FROM attempts" + where + " ORDER BY first_seq");
    if (!where.empty()) select.bind(value);
    while (select.step()) found.push_back(row_of(select));
    return found;
  }
};

RecordCatalogue::RecordCatalogue(std::string const& folder, JournalDatabase const& journal,
                                 JournalDatabase::Access access)
    : inside_(std::make_unique<Inside>()) {
  auto const file = folder + "/catalogue.db";
  bool const writing = access == JournalDatabase::Access::read_write;
  // Twice: what cannot be read, or is of another journal, is made anew.
  for (int attempt = 0; attempt < 2 && (writing || ::access(file.c_str(), F_OK) == 0); ++attempt) {
    try {
      inside_->open(file, writing);
      if (!inside_->belongs_to(journal)) throw Trouble("is of another journal");
      if (writing) inside_->catch_up(journal);
      break;
    } catch (Trouble const&) {
      inside_ = std::make_unique<Inside>();
      if (!writing) break;
      for (char const* tail : {"", "-wal", "-shm"}) ::unlink((file + tail).c_str());
    }
  }
  if (!writing || inside_->database == nullptr) inside_->read_beside(journal);
}

RecordCatalogue::~RecordCatalogue() = default;

void RecordCatalogue::take(std::vector<StoredEvent> const& events) noexcept {
  if (inside_->database == nullptr) return;
  bool any = false;
  for (auto const& event : events) any = any || starts_or_ends_attempt(event.bytes);
  if (!any) return;
  try {
    inside_->run("BEGIN");
    for (auto const& event : events) inside_->take_entry(event);
    inside_->keep_place();
    inside_->run("COMMIT");
  } catch (std::exception const&) {
    inside_->close();  // caught up, or made anew, at the next start
  }
}

std::vector<CatalogueRow> RecordCatalogue::find(CatalogueQuery const& query) const {
  std::vector<CatalogueRow> found;
  try {
    if (!query.attempt.empty()) {
      found = inside_->rows(" WHERE attempt = ?", query.attempt);
    } else if (!query.serial.empty()) {
      found = inside_->rows(" WHERE serial = ?", query.serial);
    } else if (!query.order.empty()) {
      found = inside_->rows(" WHERE order_name = ?", query.order);
    } else if (!query.design.empty()) {
      found = inside_->rows(" WHERE design = ?", query.design);
    } else {
      found = inside_->rows("", "");
    }
  } catch (Trouble const& trouble) {
    throw StoreError("journal.catalogue", std::string("catalogue.db cannot be read: ") + trouble.what() +
                                              ". Move it away: it is made anew from the journal");
  }
  for (auto const& [attempt, row] : inside_->beside) {
    auto const same = std::find_if(found.begin(), found.end(),
                                   [&id = attempt](CatalogueRow const& other) { return other.attempt == id; });
    if (same != found.end()) {
      *same = row;
    } else {
      found.push_back(row);
    }
  }
  found.erase(
      std::remove_if(found.begin(), found.end(), [&](CatalogueRow const& row) { return !asked_for(row, query); }),
      found.end());
  std::sort(found.begin(), found.end(),
            [](CatalogueRow const& a, CatalogueRow const& b) { return a.first_seq < b.first_seq; });
  return found;
}

std::optional<std::string> RecordCatalogue::difference(std::string const& folder, JournalDatabase const& journal) {
  auto const file = folder + "/catalogue.db";
  if (::access(file.c_str(), F_OK) != 0) return std::nullopt;
  try {
    Inside there;
    try {
      there.open(file, false);
    } catch (Trouble const&) {
      // Half made by a program that was killed, or not one of ours: nobody reads it, the next start makes it anew.
      return std::nullopt;
    }
    auto const kept = there.rows("", "");
    std::vector<CatalogueRow> right;
    Rows rows;
    journal.scan(0, [&](StoredEvent const& entry) {
      if (entry.seq > there.seq) return false;
      read_entry(
          entry, [&rows](CatalogueRow row) { rows[row.attempt] = std::move(row); },
          [&rows](Event const& event, Json const& data) {
            if (auto const at = rows.find(event.attempt); at != rows.end()) take_end(at->second, event, data);
          });
      return true;
    });
    for (auto& [id, row] : rows) right.push_back(std::move(row));
    std::sort(right.begin(), right.end(),
              [](CatalogueRow const& a, CatalogueRow const& b) { return a.first_seq < b.first_seq; });
    for (std::size_t i = 0; i < std::max(kept.size(), right.size()); ++i) {
      if (i < kept.size() && i < right.size() && kept[i] == right[i]) continue;
      return "catalogue.db is not what the journal says, from attempt " +
             (i < right.size() ? right[i].attempt : kept[i].attempt) + " on: move it away, it is made anew";
    }
    return std::nullopt;
  } catch (Trouble const& trouble) {
    return std::string("catalogue.db: ") + trouble.what() + ": move it away, it is made anew";
  }
}

}  // namespace benchward
