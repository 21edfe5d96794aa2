// SPDX-License-Identifier: MIT
#pragma once

/// A connection as JSON: what the station sends to the simulated hands and the panel, and what the record keeps. Keys:
/// `name`, `instrument`, `feed`, `measure`, `tie`, `short`, `earth`, `open`, `accessories` [{name, state}], `live`
/// [{terminal, volts_to_earth, clipped}], `worst_volts`, `tap`. Every key may be absent: nothing of that kind.

#include <string>
#include <string_view>

#include "connection.hpp"

namespace benchward {

/// Throws DocumentError (ids `document.*`, `connection.terminal`, `connection.instrument`) with the path of the place.
Connection parse_connection(std::string_view text, std::string const& name);

/// Compact JSON in the order of keys above that `parse_connection` reads back as the same connection. Empty lists and
/// a tap of 0 are left out.
std::string connection_json(Connection const& connection);

}  // namespace benchward
