#include "mapstore/units/atmosphere.h"

#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

// ISO 2533:1975, clause 2: primary constants and the first two layers.
constexpr double kSeaLevelTemperature = 288.15, kSeaLevelPressure = 101325.0;
constexpr double kLapse = 0.0065;           // K/m
constexpr double kGravity = 9.80665;        // m/s2
constexpr double kGasConstant = 287.05287;  // J/(kg K)
constexpr double kTropopause = 11000.0;     // m
constexpr double kTropopauseTemperature = kSeaLevelTemperature - kLapse * kTropopause;
constexpr double kExponent = kGravity / (kLapse * kGasConstant);  // 5.25588
constexpr double kLowest = -2000.0, kHighest = 20000.0;
constexpr double kEarthRadius = 6356766.0;

double PressureAt(double height) {
  if (height <= kTropopause) return kSeaLevelPressure * std::pow(1.0 - kLapse * height / kSeaLevelTemperature, kExponent);
  return PressureAt(kTropopause) * std::exp(-kGravity * (height - kTropopause) / (kGasConstant * kTropopauseTemperature));
}

}  // namespace

Result<Air> StandardAtmosphere(Length geopotential) {
  const double height = geopotential.meters();
  if (!(height >= kLowest && height <= kHighest))
    return Fail(ErrorCode::kOutOfRange,
                fmt::format("an altitude of {:.0f} m is outside {:.0f} to {:.0f} m; check its unit.", height, kLowest, kHighest));
  const double temperature = height <= kTropopause ? kSeaLevelTemperature - kLapse * height : kTropopauseTemperature;
  const double pressure = PressureAt(height);
  return Air{Temperature::Kelvins(temperature), Pressure::Pascals(pressure),
             Density::KilogramsPerCubicMeter(pressure / (kGasConstant * temperature))};
}

Length GeopotentialHeight(Length geometric) { return Length::Meters(kEarthRadius * geometric.meters() / (kEarthRadius + geometric.meters())); }

Result<Length> PressureAltitude(Pressure pressure) {
  const double p = pressure.pascals();
  if (!(p >= PressureAt(kHighest) && p <= PressureAt(kLowest)))
    return Fail(ErrorCode::kOutOfRange,
                fmt::format("{:.1f} kPa is no barometer reading between {:.0f} and {:.0f} m; check its unit.", p / 1000.0, kLowest, kHighest));
  const double at_tropopause = PressureAt(kTropopause);
  if (p >= at_tropopause) return Length::Meters(kSeaLevelTemperature / kLapse * (1.0 - std::pow(p / kSeaLevelPressure, 1.0 / kExponent)));
  return Length::Meters(kTropopause + kGasConstant * kTropopauseTemperature / kGravity * std::log(at_tropopause / p));
}

}  // namespace islebook
