#pragma once
// Reference conditions: the inlet total temperature and pressure to which a map's flow and speed are corrected. A number read off a map means nothing without them:
// the two pairs commonest in the trade differ by 7.4 % in flow.

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace islebook {

struct ReferenceConditions {
  double temperature_K = 288.15;  // > 0
  double pressure_Pa = 101325.0;  // > 0, absolute
  enum class Basis { kPrinted, kAssumed } basis = Basis::kAssumed;
  bool operator==(const ReferenceConditions&) const = default;
};

// Pairs in use, in the trade's words. For a person to choose from and for remarks; nothing is taken from here unless a sheet says so.
struct NamedReferenceConditions {
  const char* name;
  double temperature_K;
  double pressure_Pa;
  const char* source;
};
std::span<const NamedReferenceConditions> ReferenceConditionsInUse();

// The pair of the list within 0.3 K and 0.1 % of `conditions`, nullptr if there is none.
const NamedReferenceConditions* FindNamedReferenceConditions(const ReferenceConditions& conditions);

// A printed note read: "Corrected to 85 °F, 28.4 inHg", "T ref 293 K, p ref 981 mbar", "bezogen auf 20 °C und 0,981 bar", also through misreadings ("l00 kPa", "85 oF", "28.4 inHig").
struct ReferenceReading {
  std::optional<ReferenceConditions> conditions;  // basis kPrinted, values as printed
  std::string reason;                   // in words, where there are no conditions: only half found, implausible, gauge pressure, several that differ
  std::optional<double> temperature_K;  // the half that was found
  std::optional<double> pressure_Pa;
  bool repaired = false;  // a digit had to be guessed from a letter: worth a look
};
// Plausible is 233 to 333 K and 60 to 120 kPa. Thread-safe.
ReferenceReading ParseReferenceConditions(std::string_view text);

}  // namespace islebook
