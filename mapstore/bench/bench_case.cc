#include "mapstore/bench/bench_case.h"

#include <cmath>

#include <fmt/format.h>

namespace islebook {

std::string AltitudeWords(double altitude_m, const UnitHabit& units) {
  if (std::abs(altitude_m) < 0.5) return "sea level";
  const ShopUnit& unit = units.Of(ShopQuantity::kLength);
  return GroupThousands(std::lround(altitude_m / unit.factor)) + ' ' + unit.name;
}

std::string GroupThousands(long whole) {
  std::string digits = fmt::format("{}", std::labs(whole));
  for (std::ptrdiff_t i = static_cast<std::ptrdiff_t>(digits.size()) - 3; i > 0; i -= 3) digits.insert(static_cast<std::size_t>(i), ",");
  return whole < 0 ? "-" + digits : digits;
}

}  // namespace islebook
