// SPDX-License-Identifier: MIT
#pragma once

/// Ownership of a libmodbus context: closed, then freed.

#include <cstdint>
#include <memory>

#include <modbus.h>

namespace benchward {

struct CloseAndFree {
  void operator()(modbus_t* context) const noexcept {
    modbus_close(context);
    modbus_free(context);
  }
};
using ModbusContext = std::unique_ptr<modbus_t, CloseAndFree>;

/// The library's own recovery (it reconnects and sleeps inside) stays off, and its time between bytes too: with it a
/// device that dribbles holds the thread for minutes, without it the whole reply must come within the response time.
inline void set_library_times(modbus_t* context, std::int64_t response_ns) {
  auto const us = response_ns < 1'000'000 ? 1'000 : response_ns / 1000;
  modbus_set_error_recovery(context, MODBUS_ERROR_RECOVERY_NONE);
  modbus_set_response_timeout(context, static_cast<std::uint32_t>(us / 1'000'000),
                              static_cast<std::uint32_t>(us % 1'000'000));
  modbus_set_byte_timeout(context, 0, 0);
}

}  // namespace benchward
