// SPDX-License-Identifier: MIT
#pragma once

/// Small dense linear systems (at most some forty unknowns) by elimination with row pivoting, real or complex.

#include <cmath>
#include <complex>
#include <cstddef>
#include <vector>

namespace benchward::sim {

template <class Number>
class Dense {
 public:
  void resize(int size) {
    size_ = size;
    cells_.assign(static_cast<std::size_t>(size) * static_cast<std::size_t>(size), Number{});
    pivot_.resize(static_cast<std::size_t>(size));
  }
  int size() const { return size_; }
  Number& operator()(int row, int column) { return cells_[index(row, column)]; }
  Number const& operator()(int row, int column) const { return cells_[index(row, column)]; }

  /// Factors in place. False: singular to working precision (the caller's network has a node that hangs on nothing).
  bool factor() {
    for (int k = 0; k < size_; ++k) {
      int best = k;
      double largest = weight((*this)(k, k));
      for (int r = k + 1; r < size_; ++r) {
        double const w = weight((*this)(r, k));
        if (w > largest) {
          largest = w;
          best = r;
        }
      }
      if (!(largest > 0.0)) return false;
      pivot_[static_cast<std::size_t>(k)] = best;
      if (best != k)
        for (int c = 0; c < size_; ++c) std::swap((*this)(k, c), (*this)(best, c));
      Number const inverse = Number(1.0) / (*this)(k, k);
      (*this)(k, k) = inverse;
      for (int r = k + 1; r < size_; ++r) {
        Number const factor = multiply((*this)(r, k), inverse);
        if (weight(factor) == 0.0) continue;
        (*this)(r, k) = factor;
        for (int c = k + 1; c < size_; ++c) (*this)(r, c) -= multiply(factor, (*this)(k, c));
      }
    }
    return true;
  }

  /// Solves for one right-hand side of size() numbers, in place.
  void solve(Number* right) const {
    for (int k = 0; k < size_; ++k) {
      int const p = pivot_[static_cast<std::size_t>(k)];
      if (p != k) std::swap(right[k], right[p]);
    }
    for (int r = 1; r < size_; ++r) {
      Number sum = right[r];
      for (int c = 0; c < r; ++c) sum -= multiply((*this)(r, c), right[c]);
      right[r] = sum;
    }
    for (int r = size_ - 1; r >= 0; --r) {
      Number sum = right[r];
      for (int c = r + 1; c < size_; ++c) sum -= multiply((*this)(r, c), right[c]);
      right[r] = multiply(sum, (*this)(r, r));
    }
  }

  // The library's complex product checks for infinities; these numbers are finite.
  static double multiply(double a, double b) { return a * b; }
  static std::complex<double> multiply(std::complex<double> const& a, std::complex<double> const& b) {
    return {a.real() * b.real() - a.imag() * b.imag(), a.real() * b.imag() + a.imag() * b.real()};
  }

 private:
  static double weight(double x) { return std::abs(x); }
  static double weight(std::complex<double> const& x) { return std::abs(x.real()) + std::abs(x.imag()); }
  std::size_t index(int row, int column) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(size_) + static_cast<std::size_t>(column);
  }
  int size_ = 0;
  std::vector<Number> cells_;
  std::vector<int> pivot_;
};

}  // namespace benchward::sim
