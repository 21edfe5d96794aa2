// SPDX-License-Identifier: MIT
#pragma once

/// Physical quantities as small strong types.
///
/// A number gets its unit when it enters (`kilovolts(28)`) and names it when it leaves (`.in(kilovolts)`). There is no
/// constructor from a bare number and no conversion back, so a value cannot change its unit on the way. Active,
/// reactive and apparent power are three types; a temperature and a temperature rise are two. There is no `==`:
/// measured values are compared against limits, never for equality.

#include <cmath>

namespace benchward {

template <class Dimension>
class Quantity;

/// A unit of one dimension: how many base units one of it is. Calling it makes a quantity.
template <class Dimension>
struct MeasureUnit {
  double in_base_units;
  constexpr Quantity<Dimension> operator()(double number) const;
};

/// A value of one dimension, kept in the SI base unit of that dimension.
template <class Dimension>
class Quantity {
 public:
  constexpr Quantity() = default;  // zero, so that aggregates can be built step by step

  constexpr double in(MeasureUnit<Dimension> unit) const { return base_ / unit.in_base_units; }
  bool finite() const { return std::isfinite(base_); }

  constexpr Quantity operator-() const { return Quantity(-base_); }
  constexpr Quantity& operator+=(Quantity other) {
    base_ += other.base_;
    return *this;
  }
  constexpr Quantity& operator-=(Quantity other) {
    base_ -= other.base_;
    return *this;
  }
  friend constexpr Quantity operator+(Quantity a, Quantity b) { return Quantity(a.base_ + b.base_); }
  friend constexpr Quantity operator-(Quantity a, Quantity b) { return Quantity(a.base_ - b.base_); }
  friend constexpr Quantity operator*(Quantity a, double factor) { return Quantity(a.base_ * factor); }
  friend constexpr Quantity operator*(double factor, Quantity a) { return Quantity(factor * a.base_); }
  friend constexpr Quantity operator/(Quantity a, double divisor) { return Quantity(a.base_ / divisor); }
  friend constexpr double operator/(Quantity a, Quantity b) { return a.base_ / b.base_; }

  // A verdict reads `lower <= x && x <= upper`: with a value that is not a number both are false, so it never passes.
  friend constexpr bool operator<(Quantity a, Quantity b) { return a.base_ < b.base_; }
  friend constexpr bool operator<=(Quantity a, Quantity b) { return a.base_ <= b.base_; }
  friend constexpr bool operator>(Quantity a, Quantity b) { return a.base_ > b.base_; }
  friend constexpr bool operator>=(Quantity a, Quantity b) { return a.base_ >= b.base_; }
  bool operator==(Quantity const&) const = delete;

 private:
  friend struct MeasureUnit<Dimension>;
  constexpr explicit Quantity(double base) : base_(base) {}
  double base_ = 0.0;
};

template <class Dimension>
constexpr Quantity<Dimension> MeasureUnit<Dimension>::operator()(double number) const {
  return Quantity<Dimension>(number * in_base_units);
}

template <class Dimension>
constexpr Quantity<Dimension> magnitude(Quantity<Dimension> q) {
  return q < Quantity<Dimension>() ? -q : q;
}

namespace dimension {
struct Voltage {};
struct Current {};
struct Resistance {};
struct Capacitance {};
struct Inductance {};
struct ActivePower {};
struct ReactivePower {};
struct ApparentPower {};
struct Frequency {};
struct Duration {};
struct Angle {};
struct TemperatureRise {};
struct FluxLinkage {};
}  // namespace dimension

using Voltage = Quantity<dimension::Voltage>;
using Current = Quantity<dimension::Current>;
using Resistance = Quantity<dimension::Resistance>;
using Capacitance = Quantity<dimension::Capacitance>;
using Inductance = Quantity<dimension::Inductance>;
using ActivePower = Quantity<dimension::ActivePower>;
using ReactivePower = Quantity<dimension::ReactivePower>;
using ApparentPower = Quantity<dimension::ApparentPower>;
using Frequency = Quantity<dimension::Frequency>;
using Duration = Quantity<dimension::Duration>;
using Angle = Quantity<dimension::Angle>;
using TemperatureRise = Quantity<dimension::TemperatureRise>;
using FluxLinkage = Quantity<dimension::FluxLinkage>;

inline constexpr MeasureUnit<dimension::Voltage> volts{1.0}, millivolts{1e-3}, kilovolts{1e3};
inline constexpr MeasureUnit<dimension::Current> amperes{1.0}, milliamperes{1e-3};
inline constexpr MeasureUnit<dimension::Resistance> ohms{1.0}, milliohms{1e-3}, megohms{1e6};
inline constexpr MeasureUnit<dimension::Capacitance> farads{1.0}, nanofarads{1e-9};
inline constexpr MeasureUnit<dimension::Inductance> henries{1.0};
inline constexpr MeasureUnit<dimension::ActivePower> watts{1.0}, kilowatts{1e3};
inline constexpr MeasureUnit<dimension::ReactivePower> vars{1.0};
inline constexpr MeasureUnit<dimension::ApparentPower> volt_amperes{1.0}, kilovolt_amperes{1e3};
inline constexpr MeasureUnit<dimension::Frequency> hertz{1.0};
inline constexpr MeasureUnit<dimension::Duration> seconds{1.0}, milliseconds{1e-3}, minutes{60.0}, hours{3600.0};
inline constexpr MeasureUnit<dimension::Angle> radians{1.0}, milliradians{1e-3},
    degrees{3.14159265358979323846 / 180.0};
inline constexpr MeasureUnit<dimension::TemperatureRise> kelvins{1.0};
inline constexpr MeasureUnit<dimension::FluxLinkage> volt_seconds{1.0};

// The few products that the routine tests need. Anything else is written out where it is used.
constexpr ApparentPower operator*(Voltage v, Current i) { return volt_amperes(v.in(volts)*i.in(amperes)); }
constexpr Voltage operator*(Current i, Resistance r) { return volts(i.in(amperes)*r.in(ohms)); }
constexpr Resistance operator/(Voltage v, Current i) { return ohms(v.in(volts) / i.in(amperes)); }
constexpr Current operator/(Voltage v, Resistance r) { return amperes(v.in(volts) / r.in(ohms)); }

/// A temperature on the Celsius scale. A point, not an amount: two temperatures cannot be added, their difference is a
/// TemperatureRise.
class Temperature {
 public:
  struct Scale {
    constexpr Temperature operator()(double number) const { return Temperature(number); }
  };
  constexpr Temperature() = default;
  constexpr double in(Scale) const { return celsius_; }
  bool finite() const { return std::isfinite(celsius_); }
  friend constexpr TemperatureRise operator-(Temperature a, Temperature b) { return kelvins(a.celsius_ - b.celsius_); }
  friend constexpr Temperature operator+(Temperature a, TemperatureRise b) {
    return Temperature(a.celsius_ + b.in(kelvins));
  }
  friend constexpr Temperature operator-(Temperature a, TemperatureRise b) {
    return Temperature(a.celsius_ - b.in(kelvins));
  }
  friend constexpr bool operator<(Temperature a, Temperature b) { return a.celsius_ < b.celsius_; }
  friend constexpr bool operator<=(Temperature a, Temperature b) { return a.celsius_ <= b.celsius_; }
  friend constexpr bool operator>(Temperature a, Temperature b) { return a.celsius_ > b.celsius_; }
  friend constexpr bool operator>=(Temperature a, Temperature b) { return a.celsius_ >= b.celsius_; }
  bool operator==(Temperature const&) const = delete;

 private:
  constexpr explicit Temperature(double celsius) : celsius_(celsius) {}
  double celsius_ = 0.0;
};
inline constexpr Temperature::Scale celsius{};

}  // namespace benchward
