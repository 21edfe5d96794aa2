// SPDX-License-Identifier: MIT
#pragma once

/// The bench I/O block as registers, by the bench document's I/O map. Function 23 over all outputs and inputs is one
/// turn of the station: outputs in, inputs out. A plain read of the inputs is a stranger's look: it is no heartbeat.

#include <vector>

#include "../../drivers/bench/bench.hpp"
#include "../../drivers/bench/io_image.hpp"
#include "modbus_pdu.hpp"
#include "wire_context.hpp"

namespace benchward::sim {

class IoBlock final : public RegisterSpace {
 public:
  IoBlock(IoMap const& map, WireContext& context);

  std::optional<ModbusException> read(RegisterTable table, std::uint16_t address,
                                      std::span<std::uint16_t> words) override;
  std::optional<ModbusException> write(std::uint16_t address, std::span<std::uint16_t const> words) override;
  std::optional<ModbusException> exchange(std::uint16_t write_address, std::span<std::uint16_t const> written,
                                          std::uint16_t read_address, std::span<std::uint16_t> read_words) override;

 private:
  bool inside(std::size_t address, std::size_t count, int first, int words) const;
  void take_outputs(std::size_t address, std::span<std::uint16_t const> words);
  std::vector<std::uint16_t> input_words(BenchInputs const& now);
  BenchInputs turn();

  IoImage image_;
  int input_address_, output_address_;
  std::vector<std::uint16_t> outputs_;  ///< as last written
  std::vector<std::uint16_t> frozen_words_;
  double time_limit_s_;
  WireContext& context_;
};

}  // namespace benchward::sim
