#pragma once
// Units as charts print them and people type them. Factors come from UDUNITS-2; spellings, half powers and the trade's habits are ours.
// Every call is thread-safe.

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "mapstore/units/error.h"

namespace islebook {

// What a unit measures.
enum class Dimension {
  kRatio,            // dimensionless; SI: 1
  kMassFlow,         // kg/s
  kVolumeFlow,       // m3/s
  kFlowParameter,    // a turbine's W sqrt(T) / p; kg s-1 K0.5 Pa-1
  kRotationalSpeed,  // rad/s
  kVelocity,         // m/s
  kTemperature,      // K
  kPressure,         // Pa
  kLength,           // m
  kArea,             // m2
  kVolume,           // m3
  kMass,             // kg
  kTime,             // s
  kDensity,          // kg/m3
  kPower,            // W
  kTorque,           // N m
  kSpecificEnergy,   // J/kg
  kFuelConsumption,  // fuel per work; kg/J
};

// A pressure counted from vacuum or from the barometer; kUnstated where the spelling does not say ("psi", "bar").
enum class PressureBasis { kUnstated, kAbsolute, kGauge };

struct Unit {
  std::string spelling;  // as documents spell it where they can ("lb/min"), else in the same manner ("degF", "kg s-1 K0.5 bar-1")
  Dimension dimension = Dimension::kRatio;
  double factor = 1.0;  // SI value = value * factor + offset; gauge pressures come out as gauge pressures
  double offset = 0.0;  // 0 but for degC and degF
  PressureBasis basis = PressureBasis::kUnstated;
  bool repaired = false;  // understood only by allowing for misread letters ("Ib/min")
  bool operator==(const Unit&) const = default;
};

// kUnknownUnit, with the reason where it is known: not a unit, ambiguous ("m?/s"), or a unit that needs more to mean anything ("scfm").
Result<Unit> ParseUnit(std::string_view text);

double ToSi(double value, const Unit& unit);
double FromSi(double value_in_si, const Unit& unit);

// kIncompatibleUnit: another dimension (mass and volume flow part at the reference density), or gauge against absolute pressure.
// A pressure whose basis is not stated is taken for absolute.
Result<double> ConvertValue(double value, const Unit& from, const Unit& to);
Result<double> ConvertValue(double value, std::string_view from, std::string_view to);

// The unit spellings of map documents.
std::span<const char* const> DocumentUnits();
bool IsDocumentUnit(std::string_view spelling);

// A unit of documents in which a value of `unit` can be written, and what to multiply by: itself and 1 where it is one, else the one that keeps the printed digits best.
// Nullopt where documents know no unit of its dimension.
struct DocumentUnitChoice {
  std::string unit;
  double multiply = 1.0;
};
std::optional<DocumentUnitChoice> ToDocumentUnit(const Unit& unit);

const char* DimensionName(Dimension dimension);  // in words: "mass flow"

}  // namespace islebook
