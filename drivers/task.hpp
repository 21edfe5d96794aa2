// SPDX-License-Identifier: MIT
#pragma once

/// The coroutine type of every role, procedure and runner. The one place where an Asio type stands in a public header.

#include <boost/asio/awaitable.hpp>

namespace benchward {

template <class T = void>
using Task = boost::asio::awaitable<T>;

}  // namespace benchward
