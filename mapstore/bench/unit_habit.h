#pragma once
// The units that a shop is used to, each quantity by itself: what texts, reports and windows show numbers in. Documents and JSON do not depend on it.

#include <array>
#include <cstddef>
#include <span>
#include <string>
#include <string_view>

#include "mapstore/units/error.h"

namespace islebook {

enum class ShopQuantity { kFlow, kPressure, kTemperature, kSpeed, kPower, kLength };
inline constexpr std::size_t kShopQuantities = 6;

struct ShopUnit {
  const char* name;      // as it is written and shown: "lb/min"
  const char* document;  // as map documents spell it; empty where they have none
  double factor;         // SI = shown * factor + offset; of a temperature's difference only the factor counts
  double offset;
  int decimals;  // of a shown number; -1: four digits whatever its size
};

// "flow", "pressure", "temperature", "speed", "power", "length".
const char* ShopQuantityName(ShopQuantity quantity);
// What can be chosen; the first is SI's, and one is the US's.
std::span<const ShopUnit> ShopUnits(ShopQuantity quantity);

class UnitHabit {
 public:
  static const UnitHabit kSi, kUs;
  constexpr UnitHabit() = default;

  const ShopUnit& Of(ShopQuantity quantity) const;
  // kUnknownUnit: the sentence names what can be chosen.
  Result<void> Set(ShopQuantity quantity, std::string_view unit);

  bool operator==(const UnitHabit&) const = default;

 private:
  constexpr explicit UnitHabit(std::array<unsigned char, kShopQuantities> chosen) : chosen_(chosen) {}
  std::array<unsigned char, kShopQuantities> chosen_{};  // number in ShopUnits
};

// "si", "us", or one of them and what is different: "si, flow lb/min, temperature °F".
Result<UnitHabit> ParseUnitHabit(std::string_view text);
std::string WriteUnitHabit(const UnitHabit& habit);

}  // namespace islebook
