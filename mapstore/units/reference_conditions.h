#pragma once
// Reference conditions: the inlet total temperature and pressure to which a map's flow and speed are corrected. A number read off a map means nothing without them:
// the two pairs commonest in the trade differ by 7.4 % in flow.

namespace islebook {

struct ReferenceConditions {
  double temperature_K = 288.15;  // > 0
  double pressure_Pa = 101325.0;  // > 0, absolute
  enum class Basis { kPrinted, kAssumed } basis = Basis::kAssumed;
  bool operator==(const ReferenceConditions&) const = default;
};

}  // namespace islebook
