#pragma once
// Quantities that carry their unit: SI inside, no way in from a bare number. Corrected and actual flow, corrected and actual speed, absolute and gauge pressure are
// different types, so that one cannot stand where the other is meant. Values are plain doubles in cost; all of it constexpr.

#include <compare>

namespace islebook {

namespace units_detail {
inline constexpr double kPi = 3.141592653589793238462643383279502884;
inline constexpr double kPound = 0.45359237;                   // kg, exact
inline constexpr double kFoot = 0.3048;                        // m, exact
inline constexpr double kInch = 0.0254;                        // m, exact
inline constexpr double kPoundForce = kPound * 9.80665;        // N, exact
inline constexpr double kPsi = kPoundForce / (kInch * kInch);  // Pa
inline constexpr double kInchOfMercury = 3386.388640341;       // Pa, conventional; as UDUNITS-2 has it

// What every quantity has: order, sums of its own kind, plain factors, and the ratio of two.
template <typename Self>
class Scalar {
 public:
  constexpr auto operator<=>(const Scalar&) const = default;
  friend constexpr Self operator*(Self a, double k) { return Self::FromSi(a.si_ * k); }
  friend constexpr Self operator*(double k, Self a) { return Self::FromSi(a.si_ * k); }
  friend constexpr Self operator/(Self a, double k) { return Self::FromSi(a.si_ / k); }
  friend constexpr double operator/(Self a, Self b) { return a.si_ / b.si_; }
  friend constexpr Self operator+(Self a, Self b) { return Self::FromSi(a.si_ + b.si_); }
  friend constexpr Self operator-(Self a, Self b) { return Self::FromSi(a.si_ - b.si_); }

 protected:
  constexpr Scalar() = default;
  static constexpr Self FromSi(double si) {
    Self self;
    self.si_ = si;
    return self;
  }
  double si_ = 0.0;
};

// Mass flow in all its usual units; MassFlow and CorrectedMassFlow are different types of this one shape.
template <typename Self>
class MassFlowLike : public Scalar<Self> {
 public:
  static constexpr Self KilogramsPerSecond(double v) { return Scalar<Self>::FromSi(v); }
  static constexpr Self KilogramsPerMinute(double v) { return Scalar<Self>::FromSi(v / 60.0); }
  static constexpr Self KilogramsPerHour(double v) { return Scalar<Self>::FromSi(v / 3600.0); }
  static constexpr Self GramsPerSecond(double v) { return Scalar<Self>::FromSi(v / 1000.0); }
  static constexpr Self PoundsPerMinute(double v) { return Scalar<Self>::FromSi(v * kPound / 60.0); }
  static constexpr Self PoundsPerSecond(double v) { return Scalar<Self>::FromSi(v * kPound); }
  constexpr double kilograms_per_second() const { return this->si_; }
  constexpr double kilograms_per_minute() const { return this->si_ * 60.0; }
  constexpr double kilograms_per_hour() const { return this->si_ * 3600.0; }
  constexpr double grams_per_second() const { return this->si_ * 1000.0; }
  constexpr double pounds_per_minute() const { return this->si_ * 60.0 / kPound; }
  constexpr double pounds_per_second() const { return this->si_ / kPound; }
};

template <typename Self>
class VolumeFlowLike : public Scalar<Self> {
 public:
  static constexpr Self CubicMetersPerSecond(double v) { return Scalar<Self>::FromSi(v); }
  static constexpr Self CubicMetersPerMinute(double v) { return Scalar<Self>::FromSi(v / 60.0); }
  static constexpr Self CubicMetersPerHour(double v) { return Scalar<Self>::FromSi(v / 3600.0); }
  static constexpr Self CubicFeetPerMinute(double v) { return Scalar<Self>::FromSi(v * kFoot * kFoot * kFoot / 60.0); }
  constexpr double cubic_meters_per_second() const { return this->si_; }
  constexpr double cubic_meters_per_minute() const { return this->si_ * 60.0; }
  constexpr double cubic_meters_per_hour() const { return this->si_ * 3600.0; }
  constexpr double cubic_feet_per_minute() const { return this->si_ * 60.0 / (kFoot * kFoot * kFoot); }
};

// Turning speed; SI is rad/s.
template <typename Self>
class SpeedLike : public Scalar<Self> {
 public:
  static constexpr Self RadiansPerSecond(double v) { return Scalar<Self>::FromSi(v); }
  static constexpr Self RevolutionsPerMinute(double v) { return Scalar<Self>::FromSi(v * 2.0 * kPi / 60.0); }
  constexpr double radians_per_second() const { return this->si_; }
  constexpr double revolutions_per_minute() const { return this->si_ * 60.0 / (2.0 * kPi); }
};
}  // namespace units_detail

class MassFlow : public units_detail::MassFlowLike<MassFlow> {};                          // through the machine
class CorrectedMassFlow : public units_detail::MassFlowLike<CorrectedMassFlow> {};        // W sqrt(theta)/delta
class VolumeFlow : public units_detail::VolumeFlowLike<VolumeFlow> {};                    // at inlet total conditions
class CorrectedVolumeFlow : public units_detail::VolumeFlowLike<CorrectedVolumeFlow> {};  // V/sqrt(theta)
class RotationalSpeed : public units_detail::SpeedLike<RotationalSpeed> {};
class CorrectedSpeed : public units_detail::SpeedLike<CorrectedSpeed> {};  // N/sqrt(theta)

// W sqrt(T0)/p0 of a turbine, without reference conditions.
class TurbineFlowParameter : public units_detail::Scalar<TurbineFlowParameter> {
 public:
  static constexpr TurbineFlowParameter KilogramRootKelvinPerSecondKilopascal(double v) { return FromSi(v / 1000.0); }
  static constexpr TurbineFlowParameter KilogramRootKelvinPerSecondPascal(double v) { return FromSi(v); }
  constexpr double kilogram_root_kelvin_per_second_kilopascal() const { return si_ * 1000.0; }
  constexpr double kilogram_root_kelvin_per_second_pascal() const { return si_; }
};

// Absolute temperature. A difference of two is a number of kelvins, not a temperature: see KelvinsBetween.
class Temperature {
 public:
  static constexpr Temperature Kelvins(double v) { return Temperature(v); }
  static constexpr Temperature Celsius(double v) { return Temperature(v + 273.15); }
  static constexpr Temperature Fahrenheit(double v) { return Temperature((v + 459.67) / 1.8); }
  static constexpr Temperature Rankine(double v) { return Temperature(v / 1.8); }
  constexpr double kelvins() const { return kelvins_; }
  constexpr double celsius() const { return kelvins_ - 273.15; }
  constexpr double fahrenheit() const { return kelvins_ * 1.8 - 459.67; }
  constexpr double rankine() const { return kelvins_ * 1.8; }
  constexpr auto operator<=>(const Temperature&) const = default;
  friend constexpr double operator/(Temperature a, Temperature b) { return a.kelvins_ / b.kelvins_; }
  constexpr Temperature Plus(double kelvins) const { return Temperature(kelvins_ + kelvins); }

 private:
  explicit constexpr Temperature(double kelvins) : kelvins_(kelvins) {}
  double kelvins_;
};
constexpr double KelvinsBetween(Temperature from, Temperature to) { return to.kelvins() - from.kelvins(); }

// Counted from vacuum.
class Pressure : public units_detail::Scalar<Pressure> {
 public:
  static constexpr Pressure Pascals(double v) { return FromSi(v); }
  static constexpr Pressure Kilopascals(double v) { return FromSi(v * 1000.0); }
  static constexpr Pressure Bar(double v) { return FromSi(v * 1e5); }
  static constexpr Pressure Millibar(double v) { return FromSi(v * 100.0); }
  static constexpr Pressure PoundsPerSquareInch(double v) { return FromSi(v * units_detail::kPsi); }
  static constexpr Pressure InchesOfMercury(double v) { return FromSi(v * units_detail::kInchOfMercury); }
  constexpr double pascals() const { return si_; }
  constexpr double kilopascals() const { return si_ / 1000.0; }
  constexpr double bar() const { return si_ / 1e5; }
  constexpr double millibar() const { return si_ / 100.0; }
  constexpr double pounds_per_square_inch() const { return si_ / units_detail::kPsi; }
  constexpr double inches_of_mercury() const { return si_ / units_detail::kInchOfMercury; }
};

// Counted from the barometer: what a boost gauge shows. Becomes a Pressure only with a barometer.
class GaugePressure : public units_detail::Scalar<GaugePressure> {
 public:
  static constexpr GaugePressure Pascals(double v) { return FromSi(v); }
  static constexpr GaugePressure Kilopascals(double v) { return FromSi(v * 1000.0); }
  static constexpr GaugePressure Bar(double v) { return FromSi(v * 1e5); }
  static constexpr GaugePressure PoundsPerSquareInch(double v) { return FromSi(v * units_detail::kPsi); }
  constexpr double pascals() const { return si_; }
  constexpr double kilopascals() const { return si_ / 1000.0; }
  constexpr double bar() const { return si_ / 1e5; }
  constexpr double pounds_per_square_inch() const { return si_ / units_detail::kPsi; }
  constexpr Pressure Above(Pressure barometer) const { return Pressure::Pascals(si_ + barometer.pascals()); }
};

class Length : public units_detail::Scalar<Length> {
 public:
  static constexpr Length Meters(double v) { return FromSi(v); }
  static constexpr Length Millimeters(double v) { return FromSi(v / 1000.0); }
  static constexpr Length Feet(double v) { return FromSi(v * units_detail::kFoot); }
  static constexpr Length Inches(double v) { return FromSi(v * units_detail::kInch); }
  constexpr double meters() const { return si_; }
  constexpr double millimeters() const { return si_ * 1000.0; }
  constexpr double feet() const { return si_ / units_detail::kFoot; }
  constexpr double inches() const { return si_ / units_detail::kInch; }
};

class Volume : public units_detail::Scalar<Volume> {
 public:
  static constexpr Volume CubicMeters(double v) { return FromSi(v); }
  static constexpr Volume Liters(double v) { return FromSi(v / 1000.0); }
  static constexpr Volume CubicInches(double v) { return FromSi(v * units_detail::kInch * units_detail::kInch * units_detail::kInch); }
  constexpr double cubic_meters() const { return si_; }
  constexpr double liters() const { return si_ * 1000.0; }
  constexpr double cubic_inches() const { return si_ / (units_detail::kInch * units_detail::kInch * units_detail::kInch); }
};

class TipSpeed : public units_detail::Scalar<TipSpeed> {
 public:
  static constexpr TipSpeed MetersPerSecond(double v) { return FromSi(v); }
  static constexpr TipSpeed FeetPerSecond(double v) { return FromSi(v * units_detail::kFoot); }
  constexpr double meters_per_second() const { return si_; }
  constexpr double feet_per_second() const { return si_ / units_detail::kFoot; }
};

class Power : public units_detail::Scalar<Power> {
 public:
  static constexpr Power Watts(double v) { return FromSi(v); }
  static constexpr Power Kilowatts(double v) { return FromSi(v * 1000.0); }
  static constexpr Power Horsepower(double v) { return FromSi(v * 550.0 * units_detail::kFoot * units_detail::kPoundForce); }
  constexpr double watts() const { return si_; }
  constexpr double kilowatts() const { return si_ / 1000.0; }
  constexpr double horsepower() const { return si_ / (550.0 * units_detail::kFoot * units_detail::kPoundForce); }
};

// Work or heat per mass of gas.
class SpecificEnergy : public units_detail::Scalar<SpecificEnergy> {
 public:
  static constexpr SpecificEnergy JoulesPerKilogram(double v) { return FromSi(v); }
  static constexpr SpecificEnergy KilojoulesPerKilogram(double v) { return FromSi(v * 1000.0); }
  constexpr double joules_per_kilogram() const { return si_; }
  constexpr double kilojoules_per_kilogram() const { return si_ / 1000.0; }
};

class Density : public units_detail::Scalar<Density> {
 public:
  static constexpr Density KilogramsPerCubicMeter(double v) { return FromSi(v); }
  static constexpr Density PoundsPerCubicFoot(double v) {
    return FromSi(v * units_detail::kPound / (units_detail::kFoot * units_detail::kFoot * units_detail::kFoot));
  }
  constexpr double kilograms_per_cubic_meter() const { return si_; }
  constexpr double pounds_per_cubic_foot() const {
    return si_ * units_detail::kFoot * units_detail::kFoot * units_detail::kFoot / units_detail::kPound;
  }
};

constexpr TipSpeed TipSpeedOf(RotationalSpeed speed, Length wheel_diameter) {
  return TipSpeed::MetersPerSecond(speed.radians_per_second() * wheel_diameter.meters() / 2.0);
}
constexpr MassFlow operator*(VolumeFlow flow, Density density) {
  return MassFlow::KilogramsPerSecond(flow.cubic_meters_per_second() * density.kilograms_per_cubic_meter());
}
constexpr VolumeFlow operator/(MassFlow flow, Density density) {
  return VolumeFlow::CubicMetersPerSecond(flow.kilograms_per_second() / density.kilograms_per_cubic_meter());
}
constexpr Power operator*(MassFlow flow, SpecificEnergy work) { return Power::Watts(flow.kilograms_per_second() * work.joules_per_kilogram()); }

}  // namespace islebook
