// SPDX-License-Identifier: MIT
#include "limits/uncertainty/uncertain.hpp"

#include <algorithm>

namespace benchward {

std::uint32_t UncertaintyInputs::source(std::string_view name, double degrees_of_freedom) {
  auto const known = index_.find(name);
  if (known != index_.end()) return known->second;
  auto const number = static_cast<std::uint32_t>(names_.size());
  index_.emplace(std::string(name), number);
  names_.emplace_back(name);
  degrees_of_freedom_.push_back(degrees_of_freedom);
  return number;
}

Uncertain UncertaintyInputs::input(std::string_view name, double value, double standard_uncertainty,
                                   double degrees_of_freedom) {
  require_not_negative(standard_uncertainty, "standard_uncertainty");
  if (!(degrees_of_freedom > 0.0)) throw InputError("degrees_of_freedom", "expected a number above zero");
  Uncertain out(value);
  if (standard_uncertainty > 0.0) out.terms_.append({source(name, degrees_of_freedom), standard_uncertainty});
  return out;
}

std::vector<Uncertain> UncertaintyInputs::correlated(std::string_view name, std::vector<double> const& values,
                                                     std::vector<double> const& covariance, double degrees_of_freedom) {
  std::size_t const count = values.size();
  if (covariance.size() != count * count) throw InputError("covariance", "expected one number per pair of values");
  std::vector<double> root(count * count, 0.0);  // lower triangle L, L L^T = covariance
  for (std::size_t i = 0; i < count; ++i) {
    for (std::size_t j = 0; j <= i; ++j) {
      double rest = covariance[i * count + j];
      for (std::size_t k = 0; k < j; ++k) rest -= root[i * count + k] * root[j * count + k];
      if (i == j) {
        // A correlation of exactly 1 leaves a rest of rounding size, of either sign.
        if (rest < -1e-9 * covariance[i * count + i]) throw InputError("covariance", "not a covariance matrix");
        root[i * count + i] = std::sqrt(std::max(rest, 0.0));
      } else {
        root[i * count + j] = root[j * count + j] > 0.0 ? rest / root[j * count + j] : 0.0;
      }
    }
  }
  std::vector<std::uint32_t> sources;
  for (std::size_t j = 0; j < count; ++j) {
    sources.push_back(source(std::string(name) + "/" + std::to_string(j), degrees_of_freedom));
  }
  std::vector<Uncertain> out;
  for (std::size_t i = 0; i < count; ++i) {
    Uncertain value(values[i]);
    for (std::size_t j = 0; j <= i; ++j) {
      if (root[i * count + j] != 0.0) value.terms_.append({sources[j], root[i * count + j]});
    }
    out.push_back(value);
  }
  return out;
}

Uncertainty UncertaintyInputs::of(Uncertain const& value) const {
  Uncertainty out;
  out.standard = value.standard();
  double sum = 0.0;
  for (auto const& term : value.terms()) {
    double const freedom = degrees_of_freedom_[term.source];
    double const square = term.contribution * term.contribution;
    if (freedom < infinite_degrees_of_freedom) sum += square * square / freedom;
  }
  double const fourth = out.standard * out.standard * out.standard * out.standard;
  out.degrees_of_freedom =
      sum > 0.0 ? std::min(fourth / sum, infinite_degrees_of_freedom) : infinite_degrees_of_freedom;
  return out;
}

std::vector<UncertaintyInputs::Share> UncertaintyInputs::budget(Uncertain const& value) const {
  std::vector<Share> shares;
  for (auto const& term : value.terms()) shares.push_back({names_[term.source], term.contribution});
  return shares;
}

}  // namespace benchward
