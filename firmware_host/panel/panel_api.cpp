// SPDX-License-Identifier: MIT
#include "firmware_host/panel/panel_api.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <chrono>
#include <cmath>
#include <optional>

#include "firmware_host/panel/panel_files.hpp"
#include "firmware_host/panel/record_pages.hpp"
#include "firmware_host/record/result_table.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"
#include "tests_seq/plan/retest.hpp"

namespace benchward::panel {
namespace {

namespace asio = boost::asio;
using documents::ObjectReader;

constexpr std::size_t most_records = 200;

std::int64_t wall_ns() {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch())
      .count();
}

Task<Act> done(Act act) { co_return act; }

Response answer_of(Act const& act) {
  return act.status == 200 ? json_answer(R"({"ok":true})") : refusal(act.status, act.words);
}

Response wrong_method(char const* allowed) {
  auto response = refusal(405, fmt::format("this path takes {}", allowed));
  response.headers.emplace_back("Allow", allowed);
  return response;
}

/// A value of the query, percent-decoded; empty where it is not there.
std::string query_value(std::string const& query, std::string const& key) {
  std::size_t at = 0;
  while (at <= query.size()) {
    auto const end = std::min(query.find('&', at), query.size());
    if (query.compare(at, key.size() + 1, key + "=") == 0) {
      std::string value;
      for (auto i = at + key.size() + 1; i < end; ++i) {
        auto const digit = [&](std::size_t place) {
          char const c = place < end ? query[place] : '?';
          return c >= '0' && c <= '9'   ? c - '0'
                 : c >= 'a' && c <= 'f' ? c - 'a' + 10
                 : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                        : -1;
        };
        if (query[i] == '%' && digit(i + 1) >= 0 && digit(i + 2) >= 0) {
          value += static_cast<char>(digit(i + 1) * 16 + digit(i + 2));
          i += 2;
        } else {
          value += query[i] == '+' ? ' ' : query[i];
        }
      }
      return value;
    }
    at = end + 1;
  }
  return "";
}

char const* type_of(std::string_view path) {
  auto const ends = [path](std::string_view end) {
    return path.size() >= end.size() && path.substr(path.size() - end.size()) == end;
  };
  if (ends(".js")) return "text/javascript; charset=utf-8";
  if (ends(".css")) return "text/css; charset=utf-8";
  if (ends(".svg")) return "image/svg+xml";
  return "text/html; charset=utf-8";
}

constexpr char const* no_page =
    "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>Bench panel</title></head><body><main>"
    "<h1>The panel's page is not in this program</h1><p>It was built without npm. Install npm, configure and build "
    "again; or run units at the terminal: <code>benchward test</code> does the same work.</p></main></body></html>";

std::optional<Response> page_file(std::string const& path) {
  auto const wanted = path == "/" ? std::string("/index.html") : path;
  auto const files = panel_files();
  for (auto const& file : files) {
    if (file.path != wanted) continue;
    Response response;
    response.content_type = type_of(file.path);
    response.body = std::string(file.bytes);
    response.headers.emplace_back("Cache-Control", "no-store");
    return response;
  }
  if (wanted != "/index.html") return std::nullopt;
  Response response;
  response.content_type = "text/html; charset=utf-8";
  response.body = no_page;
  response.headers.emplace_back("Cache-Control", "no-store");
  return response;
}

Who who_of(Session const& session) { return {session.name, session.panel, session.role}; }

std::string me_json(Session const& session) {
  return JsonWriter()
      .begin_object()
      .field("name", session.name)
      .field("role", to_word(session.role))
      .field("panel", session.panel)
      .field("csrf", session.csrf)
      .end_object()
      .text();
}

Task<std::optional<Role>> check_password(Accounts const& accounts, std::string name, std::string password) {
  co_return accounts.check(name, password);
}

std::string records_json(std::vector<RecordLine> const& lines) {
  JsonWriter json;
  json.begin_object().key("records").begin_list();
  for (auto const& line : lines) {
    json.begin_object()
        .field("record_id", line.record_id)
        .field("serial", line.serial)
        .field("started", line.started)
        .field("outcome", line.outcome)
        .field("disposition", line.disposition)
        .field("reason", line.reason)
        .field("simulated", line.simulated)
        .end_object();
  }
  return json.end_list().end_object().text();
}

std::string limits_json(LimitSheet const* sheet) {
  JsonWriter json;
  json.begin_object().key("lines").begin_list();
  if (sheet != nullptr) {
    for (auto const& line : sheet->lines) {
      auto quantity = line.quantity + (line.at.empty() ? "" : ", " + line.at);
      std::replace(quantity.begin(), quantity.end(), '_', ' ');
      json.begin_object()
          .field("test", line.test)
          .field("quantity", quantity)
          .field("limit", limit_in_words(line.limit) + (line.limit.warns_only ? " (warns only)" : ""))
          .field("origin", line.limit.origin)
          .field("source", line.limit.source)
          .end_object();
    }
  }
  json.end_list();
  if (sheet != nullptr) {
    json.field("serial", sheet->unit_serial)
        .field("limit_set", sheet->limit_set)
        .field("limit_set_version", sheet->limit_set_version)
        .field("no_requirement", sheet->no_requirement);
  }
  return json.end_object().text();
}

void put_counts(JsonWriter& json, DeviceCounts const& counts) {
  auto const count = [&json](char const* key, std::uint64_t number) { json.key(key).raw(std::to_string(number)); };
  auto const time = [&json](char const* key, bool known, Duration took) {
    json.key(key);
    if (known) {
      json.value(took.in(milliseconds));
    } else {
      json.raw("null");
    }
  };
  count("asked", counts.asked);
  count("answered", counts.answered);
  count("silent", counts.timeouts);
  count("garbled", counts.noise + counts.collisions + counts.noisy);
  count("refused", counts.exceptions);
  count("lost", counts.lost);
  bool const known = counts.answered > 0;
  time("fastest_ms", known, counts.fastest);
  time("mean_ms", known, known ? counts.total / static_cast<double>(counts.answered) : Duration());
  time("slowest_ms", known, counts.slowest);
}

/// What may be done to a unit, and what it opens again.
std::string reworks_json() {
  JsonWriter json;
  json.begin_object().key("reworks").begin_list();
  for (auto const& rule : retest_table()) {
    json.begin_object().field("done", std::string(rule.done)).key("repeat").begin_list();
    for (auto const& test : rule.repeat) json.value(std::string(test));
    json.end_list().field("level", std::string(rule.level)).field("before", std::string(rule.before)).end_object();
  }
  return json.end_list().end_object().text();
}

std::string instruments_json(std::vector<InstrumentLine> const& lines, GuardStatus const& guard) {
  JsonWriter json;
  json.begin_object().key("instruments").begin_list();
  for (auto const& line : lines) {
    json.begin_object()
        .field("name", line.name)
        .field("role", line.role)
        .field("ok", line.ok)
        .field("words", line.words);
    json.key("round_trip_ms");
    if (line.asked && line.ok) {
      json.value(line.round_trip_ms);
    } else {
      json.raw("null");
    }
    json.field("calibration_due", line.calibration_due).field("at", line.at).field("link", line.link);
    put_counts(json, line.counts);
    json.key("values").begin_list();
    for (auto const& value : line.values) {
      json.begin_object().field("name", value.name).field("unit", value.unit).field("raw", value.raw).key("value");
      if (value.value && std::isfinite(*value.value)) {
        json.value(*value.value);
      } else {
        json.raw("null");
      }
      json.end_object();
    }
    json.end_list().field("values_at", line.values_at).end_object();
  }
  json.end_list();
  // Turns that came too late are what an overloaded computer shows first.
  json.key("guard").begin_object();
  json.key("turns").raw(std::to_string(guard.turns)).key("overruns").raw(std::to_string(guard.overruns));
  return json.end_object().end_object().text();
}

}  // namespace

Response refusal(int status, std::string const& words) {
  Response response;
  response.status = status;
  response.body = JsonWriter().begin_object().field("error", words).end_object().text();
  response.headers.emplace_back("Cache-Control", "no-store");
  return response;
}

Response json_answer(std::string body) {
  Response response;
  response.body = std::move(body);
  response.headers.emplace_back("Cache-Control", "no-store");
  return response;
}

struct PanelApi::Route {
  std::string path;
  /// Reads what it needs of the body; `finish` follows, so that an unknown key is refused before anything is done.
  std::function<std::function<Task<Act>(StationControl&, Who const&)>(ObjectReader&)> read;
};

/// Passwords and old records are looked at on this thread: a tenth of a second each that no run waits for.
class PanelApi::Work {
 public:
  asio::thread_pool threads{1};
};

PanelApi::PanelApi(asio::io_context&, StationControl& control, Accounts const& accounts, InstrumentWatch& watch,
                   std::string records)
    : control_(control),
      accounts_(accounts),
      watch_(watch),
      records_(std::move(records)),
      work_(std::make_unique<Work>()) {}

PanelApi::~PanelApi() { work_->threads.join(); }

void PanelApi::set_port(std::uint16_t port) {
  host_ = fmt::format("127.0.0.1:{}", port);
  other_host_ = fmt::format("localhost:{}", port);
}

bool PanelApi::ours(std::string const& host) const { return host == host_ || host == other_host_; }

bool PanelApi::own_origin(std::string const& origin) const {
  return origin == "http://" + host_ || origin == "http://" + other_host_;
}

std::vector<PanelApi::Route> const& PanelApi::routes() {
  using Control = StationControl;
  using Do = std::function<Task<Act>(Control&, Who const&)>;
  static std::vector<Route> const all = {
      {"/api/login", nullptr},
      {"/api/logout", nullptr},
      {"/api/controls/take",
       [](ObjectReader& body) -> Do {
         bool const from_another = body.boolean_or("from_another", false);
         return [from_another](Control& control, Who const& who) {
           return done(control.take_controls(who, from_another));
         };
       }},
      {"/api/controls/release",
       [](ObjectReader&) -> Do {
         return [](Control& control, Who const& who) { return done(control.release_controls(who)); };
       }},
      {"/api/unit",
       [](ObjectReader& body) -> Do {
         auto const serial = body.text("serial");
         auto const stage = body.text_or("stage", "");
         return [serial, stage](Control& control, Who const& who) { return control.select_unit(who, serial, stage); };
       }},
      {"/api/unit/way",
       [](ObjectReader& body) -> Do {
         auto const way = body.text("way");
         return [way](Control& control, Who const& who) { return done(control.choose_way(who, way)); };
       }},
      {"/api/unit/rework",
       [](ObjectReader& body) -> Do {
         ReworkDone rework;
         rework.serial = body.text("serial");
         rework.done = body.text("done");
         rework.words = body.text_or("words", "");
         return [rework](Control& control, Who const& who) { return control.rework(who, rework); };
       }},
      {"/api/unit/clear",
       [](ObjectReader&) -> Do {
         return [](Control& control, Who const& who) { return done(control.clear_unit(who)); };
       }},
      {"/api/start",
       [](ObjectReader& body) -> Do {
         auto const serial = body.text("serial");
         auto const reason = body.text_or("reason", "");
         bool const for_record = body.boolean_or("for_record", false);
         return [serial, reason, for_record](Control& control, Who const& who) {
           return control.start(who, serial, reason, for_record);
         };
       }},
      {"/api/answer",
       [](ObjectReader& body) -> Do {
         auto const number = static_cast<int>(body.integer("number", "the question's number", 1, 1'000'000'000));
         auto const answer = body.text("answer");
         body.known("id");
         return
             [number, answer](Control& control, Who const& who) { return done(control.answer(who, number, answer)); };
       }},
      {"/api/stop",
       [](ObjectReader&) -> Do { return [](Control& control, Who const& who) { return done(control.stop(who)); }; }},
      {"/api/acknowledge",
       [](ObjectReader&) -> Do {
         return [](Control& control, Who const& who) { return done(control.acknowledge(who)); };
       }},
      {"/api/lockout/release",
       [](ObjectReader& body) -> Do {
         auto const reason = body.text("reason");
         return [reason](Control& control, Who const& who) { return done(control.release_lockout(who, reason)); };
       }},
  };
  return all;
}

std::pair<int, std::string> PanelApi::gate(Request const& request) {
  if (!ours(request.host)) return {403, "this host is not the station's"};
  if (!own_origin(request.origin)) return {403, "this origin is not the station's"};
  if (sessions_.find(request.cookie, wall_ns()) == nullptr) return {401, "log in first"};
  return {0, ""};
}

Task<Response> PanelApi::log_in(Request request) {
  std::string name, password;
  if (!request.body.empty()) {
    try {
      auto const json = documents::parse_json(request.body, "login");
      ObjectReader body(json, "login");
      name = body.text_or("name", "");
      password = body.text_or("password", "");
      body.finish();
    } catch (DocumentError const& wrong) {
      co_return refusal(400, wrong.what());
    }
  }
  if (name.empty() || password.empty()) co_return refusal(401, "name and password are needed");
  auto const pause = sessions_.pause_s(name, wall_ns());
  if (pause > 0 || checking_password_) {
    auto response = refusal(429, fmt::format("too many tries: wait {} s", std::max(pause, 1)));
    response.headers.emplace_back("Retry-After", std::to_string(std::max(pause, 1)));
    co_return response;
  }
  // One at a time, or many tries at once would run past the brake before it is pulled.
  struct Checking {
    explicit Checking(bool& is_on) : on(is_on) { on = true; }
    ~Checking() { on = false; }
    bool& on;
  };
  Checking const checking(checking_password_);
  auto look = check_password(accounts_, name, std::move(password));
  auto const role = co_await asio::co_spawn(work_->threads, std::move(look), asio::use_awaitable);
  if (!role) {
    sessions_.wrong(name, wall_ns());
    control_.turned_away();
    co_return refusal(401, "name or password is wrong");
  }
  auto const session = sessions_.admit(name, *role, wall_ns());
  control_.came(who_of(session));
  auto response = json_answer(me_json(session));
  response.headers.emplace_back("Set-Cookie", session_cookie(session.token));
  co_return response;
}

Task<Response> PanelApi::post(Request request, std::string path) {
  if (!request.origin.empty() && !own_origin(request.origin))
    co_return refusal(403, "this origin is not the station's");
  if (path == "/api/login") {
    auto response = co_await log_in(std::move(request));
    co_return response;
  }
  auto const* found = sessions_.find(request.cookie, wall_ns());
  if (found == nullptr) co_return refusal(401, "log in first");
  Session const session = *found;
  if (request.token != session.csrf) co_return refusal(403, "the header X-Bench-Token is missing or wrong");
  if (path == "/api/logout") {
    sessions_.log_out(session.token);
    control_.gone(who_of(session));
    auto response = json_answer(R"({"ok":true})");
    response.headers.emplace_back("Set-Cookie", forgotten_cookie());
    co_return response;
  }
  auto const& all = routes();
  auto const route = std::find_if(all.begin(), all.end(), [&](Route const& known) { return known.path == path; });
  std::function<Task<Act>(StationControl&, Who const&)> act;
  try {
    auto const json = documents::parse_json(request.body.empty() ? "{}" : request.body, "body");
    ObjectReader body(json, "body");
    act = route->read(body);
    body.finish();
  } catch (DocumentError const& wrong) {
    co_return refusal(400, wrong.what());
  }
  auto acting = act(control_, who_of(session));
  auto const acted = co_await std::move(acting);
  co_return answer_of(acted);
}

Task<Response> PanelApi::get(Request request) {
  auto const& path = request.path;
  if (path == "/api/routes") {
    JsonWriter json;
    json.begin_object().key("routes").begin_list();
    for (auto const& route : routes()) json.begin_object().field("path", route.path).end_object();
    co_return json_answer(json.end_list().end_object().text());
  }
  auto const* session = sessions_.find(request.cookie, wall_ns());
  if (session == nullptr) co_return refusal(401, "log in first");
  if (path == "/api/me") co_return json_answer(me_json(*session));
  if (path == "/api/snapshot") co_return json_answer(control_.snapshot());
  if (path == "/api/limits") co_return json_answer(limits_json(control_.sheet()));
  if (path == "/api/instruments") {
    watch_.looked_at();
    co_return json_answer(instruments_json(watch_.lines(), control_.guard_status()));
  }
  if (path == "/api/records") {
    RecordSearch wanted;
    wanted.serial = query_value(request.query, "serial");
    wanted.outcome = query_value(request.query, "outcome");
    wanted.from = query_value(request.query, "from");
    wanted.to = query_value(request.query, "to");
    co_return json_answer(records_json(control_.records().find(wanted, most_records)));
  }
  if (path == "/api/reworks") co_return json_answer(reworks_json());
  auto look = old_record(request);
  auto response = co_await asio::co_spawn(work_->threads, std::move(look), asio::use_awaitable);
  co_return response;
}

Task<Response> PanelApi::old_record(Request const& request) const {
  auto id = query_value(request.query, "id");
  if (request.path == "/api/record") return record_page_of(records_, std::move(id));
  if (request.path == "/api/report") return report_of(records_, std::move(id));
  ChartWishes wishes;
  wishes.design = query_value(request.query, "design");
  wishes.what = query_value(request.query, "what");
  wishes.simulated = control_.simulated();
  return chart_of(records_, std::move(wishes));
}

Task<Response> PanelApi::handle(Request request) {
  static constexpr std::string_view looks[] = {"/api/routes",  "/api/me",         "/api/snapshot", "/api/limits",
                                               "/api/reworks", "/api/records",    "/api/record",   "/api/report",
                                               "/api/chart",   "/api/instruments"};
  // Another name that was made to point here (a rebound name server entry) is not us.
  if (!ours(request.host)) co_return refusal(403, "this host is not the station's");
  auto const path = request.path;
  auto const& all = routes();
  bool const acts = std::any_of(all.begin(), all.end(), [&](Route const& known) { return known.path == path; });
  if (acts) {
    if (request.method != "POST") co_return wrong_method("POST");
    auto response = co_await post(std::move(request), path);
    co_return response;
  }
  bool const shows = std::any_of(std::begin(looks), std::end(looks), [&](auto known) { return known == path; });
  if (shows) {
    if (request.method != "GET") co_return wrong_method("GET");
    auto response = co_await get(std::move(request));
    co_return response;
  }
  if (path == events_path) co_return refusal(426, "this path is for WebSocket");
  auto page = page_file(path);
  if (!page) co_return refusal(404, "there is no such path");
  if (request.method != "GET") co_return wrong_method("GET");
  co_return std::move(*page);
}

}  // namespace benchward::panel
