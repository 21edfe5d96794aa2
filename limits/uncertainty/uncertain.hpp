// SPDX-License-Identifier: MIT
#pragma once

/// A value with its uncertainty, carried through arithmetic: linear propagation (JCGM 100:2008 clause 5) with
/// sensitivity coefficients by forward automatic differentiation. Two values that rest on the same input (an
/// instrument's gain error, say) share it by name, so that correlation is kept without a matrix.

#include <array>
#include <cmath>
#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "../correct/scalar.hpp"
#include "../result.hpp"

namespace benchward {

inline constexpr double infinite_degrees_of_freedom = 1e9;

class Uncertain;

/// The inputs of one evaluation: each an independent source of error with a standard uncertainty, found by name.
class UncertaintyInputs {
 public:
  /// An independent input of value `value`. A name that exists already is the same source of error: the same number of
  /// standard deviations is off in both, whatever their sizes.
  Uncertain input(std::string_view name, double value, double standard_uncertainty,
                  double degrees_of_freedom = infinite_degrees_of_freedom);
  /// Inputs with a covariance matrix (row by row), by Cholesky; for data that come with correlation coefficients.
  std::vector<Uncertain> correlated(std::string_view name, std::vector<double> const& values,
                                    std::vector<double> const& covariance,
                                    double degrees_of_freedom = infinite_degrees_of_freedom);

  /// Standard uncertainty and effective degrees of freedom (Welch-Satterthwaite, JCGM 100 G.4).
  Uncertainty of(Uncertain const& value) const;

  /// The sources named so far: their number, and the degrees of freedom of one.
  std::size_t count() const { return names_.size(); }
  double degrees_of_freedom(std::size_t source_number) const { return degrees_of_freedom_.at(source_number); }

  struct Share {
    std::string name;
    double contribution;  ///< c_i u_i, with its sign, in the unit of the value
  };
  /// The budget, in the order in which the inputs were named.
  std::vector<Share> budget(Uncertain const& value) const;

 private:
  std::uint32_t source(std::string_view name, double degrees_of_freedom);
  std::map<std::string, std::uint32_t, std::less<>> index_;
  std::vector<std::string> names_;
  std::vector<double> degrees_of_freedom_;
};

/// One number with its dependence on the inputs. A bare double is a value without uncertainty.
class Uncertain {
 public:
  struct Term {
    std::uint32_t source;
    double contribution;  ///< sensitivity times standard uncertainty of the source
  };
  /// Terms sorted by source: a few inside the object, the rest on the heap (most values rest on few inputs, and an
  /// allocation costs more than the arithmetic).
  class Terms {
   public:
    Term const* begin() const { return count_ > inside_.size() ? outside_.data() : inside_.data(); }
    Term const* end() const { return begin() + count_; }
    std::size_t size() const { return count_; }
    void append(Term term) {
      if (count_ < inside_.size()) {
        inside_[count_++] = term;
        return;
      }
      if (count_ == inside_.size()) outside_.assign(inside_.begin(), inside_.end());
      outside_.push_back(term);
      ++count_;
    }
    void scale(double factor) {
      Term* const first = count_ > inside_.size() ? outside_.data() : inside_.data();
      for (std::size_t i = 0; i < count_; ++i) first[i].contribution *= factor;
    }

   private:
    std::array<Term, 6> inside_{};
    std::vector<Term> outside_;
    std::size_t count_ = 0;
  };

  Uncertain() = default;
  Uncertain(double value) : value_(value) {}  // NOLINT: a constant is a value without uncertainty

  double value() const { return value_; }
  double standard() const {
    double sum = 0.0;
    for (auto const& term : terms_) sum += term.contribution * term.contribution;
    return std::sqrt(sum);
  }
  Terms const& terms() const { return terms_; }

  Uncertain operator-() const { return linear(-value_, *this, -1.0); }
  friend Uncertain operator+(Uncertain const& a, Uncertain const& b) {
    return linear(a.value_ + b.value_, a, 1.0, b, 1.0);
  }
  friend Uncertain operator-(Uncertain const& a, Uncertain const& b) {
    return linear(a.value_ - b.value_, a, 1.0, b, -1.0);
  }
  friend Uncertain operator*(Uncertain const& a, Uncertain const& b) {
    return linear(a.value_ * b.value_, a, b.value_, b, a.value_);
  }
  friend Uncertain operator/(Uncertain const& a, Uncertain const& b) {
    double const quotient = a.value_ / b.value_;
    return linear(quotient, a, 1.0 / b.value_, b, -quotient / b.value_);
  }
  friend Uncertain operator+(Uncertain const& a, double b) { return linear(a.value_ + b, a, 1.0); }
  friend Uncertain operator+(double a, Uncertain const& b) { return linear(a + b.value_, b, 1.0); }
  friend Uncertain operator-(Uncertain const& a, double b) { return linear(a.value_ - b, a, 1.0); }
  friend Uncertain operator-(double a, Uncertain const& b) { return linear(a - b.value_, b, -1.0); }
  friend Uncertain operator*(Uncertain const& a, double b) { return linear(a.value_ * b, a, b); }
  friend Uncertain operator*(double a, Uncertain const& b) { return linear(a * b.value_, b, a); }
  friend Uncertain operator/(Uncertain const& a, double b) { return linear(a.value_ / b, a, 1.0 / b); }
  friend Uncertain operator/(double a, Uncertain const& b) {
    double const quotient = a / b.value_;
    return linear(quotient, b, -quotient / b.value_);
  }
  Uncertain& operator+=(Uncertain const& other) { return *this = *this + other; }
  Uncertain& operator-=(Uncertain const& other) { return *this = *this - other; }
  Uncertain& operator*=(double factor) {
    value_ *= factor;
    terms_.scale(factor);
    return *this;
  }

  friend Uncertain sqrt(Uncertain const& a) {
    double const root = std::sqrt(a.value_);
    return linear(root, a, 0.5 / root);
  }
  friend Uncertain exp(Uncertain const& a) {
    double const power = std::exp(a.value_);
    return linear(power, a, power);
  }
  friend Uncertain log(Uncertain const& a) { return linear(std::log(a.value_), a, 1.0 / a.value_); }
  friend Uncertain sin(Uncertain const& a) { return linear(std::sin(a.value_), a, std::cos(a.value_)); }
  friend Uncertain cos(Uncertain const& a) { return linear(std::cos(a.value_), a, -std::sin(a.value_)); }
  friend Uncertain acos(Uncertain const& a) {
    return linear(std::acos(a.value_), a, -1.0 / std::sqrt(1.0 - a.value_ * a.value_));
  }
  friend double value_of(Uncertain const& a) { return a.value_; }

 private:
  friend class UncertaintyInputs;
  static Uncertain linear(double value, Uncertain const& a, double slope);
  static Uncertain linear(double value, Uncertain const& a, double slope_a, Uncertain const& b, double slope_b);
  double value_ = 0.0;
  Terms terms_;
};

inline Uncertain Uncertain::linear(double value, Uncertain const& a, double slope) {
  Uncertain out = a;
  out.value_ = value;
  out.terms_.scale(slope);
  return out;
}

inline Uncertain Uncertain::linear(double value, Uncertain const& a, double slope_a, Uncertain const& b,
                                   double slope_b) {
  Uncertain out(value);
  Term const* i = a.terms_.begin();
  Term const* j = b.terms_.begin();
  Term const* const i_end = a.terms_.end();
  Term const* const j_end = b.terms_.end();
  while (i != i_end || j != j_end) {
    if (j == j_end || (i != i_end && i->source < j->source)) {
      out.terms_.append({i->source, slope_a * i->contribution});
      ++i;
    } else if (i == i_end || j->source < i->source) {
      out.terms_.append({j->source, slope_b * j->contribution});
      ++j;
    } else {
      out.terms_.append({i->source, slope_a * i->contribution + slope_b * j->contribution});
      ++i;
      ++j;
    }
  }
  return out;
}

// ---- a budget given as a table -------------------------------------------------------------------------------------

struct UncertaintyComponent {
  std::string name;
  double standard_uncertainty = 0.0;
  double sensitivity = 1.0;
  double degrees_of_freedom = infinite_degrees_of_freedom;
};

struct CombinedUncertainty {
  double combined = 0.0;
  double effective_degrees_of_freedom = infinite_degrees_of_freedom;
  double coverage_factor = 0.0;
  double expanded = 0.0;
};

/// Root sum of squares of independent components, Welch-Satterthwaite, Student's t (JCGM 100 annex G).
CombinedUncertainty combine(std::vector<UncertaintyComponent> const& components, double coverage = 0.95);

/// Two-sided factor of Student's t; of the normal distribution from 1e8 degrees of freedom on. `whole` cuts the degrees
/// of freedom to the next lower integer first, as JCGM 100 G.4.1 note 1 allows (its printed examples do so).
double coverage_factor(double coverage, double degrees_of_freedom, bool whole = false);

}  // namespace benchward
