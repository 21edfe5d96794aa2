// SPDX-License-Identifier: MIT
#pragma once

/// The person at the terminal. Every question must be answered by a word; Enter alone asks again.

#include <functional>
#include <memory>
#include <string>

#include "drivers/roles/operator.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward {

/// `say` prints a whole line for the person (the live display must not be torn).
std::unique_ptr<Operator> terminal_operator(boost::asio::io_context& io, std::string person,
                                            std::function<void(std::string const&)> say);

/// The connection in words, one line an act, for terminal and record: what to tie, feed, short, earth, leave open and
/// what will be live at which voltage.
std::string connection_in_words(Connection const& connection);

}  // namespace benchward
