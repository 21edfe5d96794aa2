// SPDX-License-Identifier: MIT
// Prints, as JSON lines, what no topic of `calc` answers: the phase-check volts of vector groups, and load loss with
// correlated inputs. The scripts of this folder compute the same with outside means and compare.
#include <fmt/format.h>

#include <cstdio>

#include "limits/correct/load_loss.hpp"
#include "limits/uncertainty/uncertain.hpp"
#include "limits/unit/vector_group.hpp"

using namespace benchward;

namespace {

void phase_checks() {
  for (char const* notation : {"Dyn1", "Dyn5", "Dyn7", "Dyn11", "YNyn0", "Yyn6", "Yd1", "Yd5", "Yd11", "Dd0", "Dd6",
                               "Yzn1", "Yzn11", "Dzn0"}) {
    for (double const ratio : {0.0385, 0.4, 1.3}) {
      std::string volts;
      for (auto const& [name, value] : phase_check_volts(parse_vector_group(notation), ratio)) {
        volts += fmt::format("{}\"{}\": {}", volts.empty() ? "" : ", ", name, value);
      }
      std::fputs(
          fmt::format("{{\"kind\": \"phase-check\", \"group\": \"{}\", \"lv_over_hv\": {}, \"volts\": {{{}}}}}\n",
                      notation, ratio, volts)
              .c_str(),
          stdout);
    }
  }
}

/// Watts, apparent power, phase error, current, resistance, its temperature, winding temperature; all correlated.
void load_loss(double correlation, double power_factor) {
  double const va = 15000.0;
  std::vector<double> const values{va * power_factor, va, 1e-3, 23.15, 9.0, 24.0, 25.0};
  std::vector<double> const u{0.4, 3.0, 2e-4, 0.004, 2e-3, 0.3, 0.3};
  std::vector<double> covariance(49);
  for (std::size_t i = 0; i < 7; ++i) {
    for (std::size_t j = 0; j < 7; ++j) covariance[i * 7 + j] = u[i] * u[j] * (i == j ? 1.0 : correlation);
  }
  UncertaintyInputs inputs;
  auto const in = inputs.correlated("input", values, covariance);
  LoadLossInput<Uncertain> loss;
  loss.measured_w = correct_phase_error(in[0], in[1], in[2]);
  loss.test_current_a = in[3];
  loss.rated_current_a = 23.15;
  loss.winding_c = in[6];
  loss.windings = {{in[4], in[5], 234.5, 13.37}};
  auto const found = correct_load_loss(loss);
  auto const line = [&](char const* name, Uncertain const& value) {
    std::fputs(fmt::format("{{\"kind\": \"load-loss\", \"correlation\": {}, \"values\": [{}], \"u\": [{}], "
                           "\"result\": \"{}\", \"value\": {}, \"standard_uncertainty\": {}}}\n",
                           correlation, fmt::join(values, ", "), fmt::join(u, ", "), name, value.value(),
                           inputs.of(value).standard)
                   .c_str(),
               stdout);
  };
  line("ohmic_w", found.ohmic_w);
  line("stray_w", found.stray_w);
  line("corrected_w", found.corrected_w);
}

}  // namespace

int main() {
  phase_checks();
  for (double const correlation : {0.0, 0.2, 0.6, 0.95, -0.1}) {
    for (double const power_factor : {0.28, 0.12}) load_loss(correlation, power_factor);
  }
}
