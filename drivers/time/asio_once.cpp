// SPDX-License-Identifier: MIT
// Asio's own functions, compiled here once instead of in every file that includes it (BOOST_ASIO_SEPARATE_COMPILATION).
#include <boost/asio/impl/src.hpp>
