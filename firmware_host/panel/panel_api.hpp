// SPDX-License-Identifier: MIT
#pragma once

/// Which request may do what: paths, methods, sessions, origins, tokens. The page is never trusted; every act goes on
/// to StationControl, which judges it again.

#include <memory>
#include <string>
#include <utility>

#include "firmware_host/panel/instrument_watch.hpp"
#include "firmware_host/panel/server/accounts.hpp"
#include "firmware_host/panel/server/http_server.hpp"
#include "firmware_host/panel/station_control.hpp"

namespace benchward::panel {

inline constexpr char const* events_path = "/events";

class PanelApi {
 public:
  /// All outlive the api. `records`: the journal's folder, read on another thread and connection of its own.
  PanelApi(boost::asio::io_context& io, StationControl& control, Accounts const& accounts, InstrumentWatch& watch,
           std::string records);
  ~PanelApi();
  PanelApi(PanelApi const&) = delete;
  PanelApi& operator=(PanelApi const&) = delete;

  /// The port that was bound: only its own addresses are taken for Host and Origin.
  void set_port(std::uint16_t port);

  Task<Response> handle(Request request);
  /// Whether this request may watch the events path: 0 and "" if so.
  std::pair<int, std::string> gate(Request const& request);

 private:
  struct Route;
  class Work;
  static std::vector<Route> const& routes();

  bool ours(std::string const& host) const;
  bool own_origin(std::string const& origin) const;
  Task<Response> post(Request request, std::string body);
  Task<Response> get(Request request);
  Task<Response> old_record(Request const& request) const;
  Task<Response> log_in(Request request);

  StationControl& control_;
  Accounts const& accounts_;
  InstrumentWatch& watch_;
  std::string records_;
  Sessions sessions_;
  std::string host_, other_host_;
  std::unique_ptr<Work> work_;
  bool checking_password_ = false;
};

}  // namespace benchward::panel
