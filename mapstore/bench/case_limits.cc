#include "mapstore/bench/case_limits.h"

#include <array>

#include <fmt/format.h>

namespace islebook {
namespace {

const MeasureSpec kEfficiency{Dimension::kRatio, "72 %", 0.1, 1.0, "from 10 to 100 %"};
const MeasureSpec kMargin{Dimension::kRatio, "15 %", 0.0, 2.0, "from 0 to 200 %"};
const MeasureSpec kSpeedShare{Dimension::kRatio, "95 %", 0.3, 1.0, "from 30 to 100 %"};
const MeasureSpec kOutletTemperature{Dimension::kTemperature, "180 °C", 300.0, 900.0, "from 27 to 627 °C"};
const MeasureSpec kDriveRatio{Dimension::kRatio, "1.15", 0.1, 10.0, "from 0.1 to 10"};
const MeasureSpec kTurbineTemperature{Dimension::kTemperature, "700 °C", 500.0, 1500.0, "from 227 to 1,227 °C"};

struct Limit {
  const char* key;
  const MeasureSpec* spec;
  double BenchLimits::* value;
};

constexpr std::array<Limit, 13> kLimits{{
    {"surge_margin_room", &kMargin, &BenchLimits::surge_margin_room},
    {"choke_margin_room", &kMargin, &BenchLimits::choke_margin_room},
    {"efficiency_room", &kEfficiency, &BenchLimits::efficiency_room},
    {"efficiency_over", &kEfficiency, &BenchLimits::efficiency_over},
    {"speed_room", &kSpeedShare, &BenchLimits::speed_room},
    {"outlet_temperature_room", &kOutletTemperature, &BenchLimits::outlet_K_room},
    {"outlet_temperature_over", &kOutletTemperature, &BenchLimits::outlet_K_over},
    {"manifold_temperature_room", &kOutletTemperature, &BenchLimits::manifold_K_room},
    {"manifold_temperature_over", &kOutletTemperature, &BenchLimits::manifold_K_over},
    {"drive_ratio_room", &kDriveRatio, &BenchLimits::drive_ratio_room},
    {"drive_ratio_over", &kDriveRatio, &BenchLimits::drive_ratio_over},
    {"turbine_temperature_room", &kTurbineTemperature, &BenchLimits::turbine_K_room},
    {"turbine_temperature_over", &kTurbineTemperature, &BenchLimits::turbine_K_over},
}};

}  // namespace

const std::vector<const char*>& LimitKeys() {
  static const std::vector<const char*> keys = [] {
    std::vector<const char*> all;
    for (const Limit& limit : kLimits) all.push_back(limit.key);
    return all;
  }();
  return keys;
}

BenchLimits ParseLimits(const CaseSection& section, CaseReader& reader) {
  BenchLimits limits;
  for (const Limit& limit : kLimits)
    if (const auto given = section.Value(limit.key, *limit.spec)) limits.*limit.value = given->si;
  const auto order = [&](bool wrong, const char* a, const char* b) {
    if (wrong)
      reader.Refuse(section.Line(section.Has(a) ? a : b),
                    fmt::format("limits.{} and limits.{} contradict each other: \"over\" lies beyond \"room\".", a, b));
  };
  order(limits.efficiency_over > limits.efficiency_room, "efficiency_room", "efficiency_over");
  order(limits.outlet_K_over < limits.outlet_K_room, "outlet_temperature_room", "outlet_temperature_over");
  order(limits.manifold_K_over < limits.manifold_K_room, "manifold_temperature_room", "manifold_temperature_over");
  order(limits.drive_ratio_over < limits.drive_ratio_room, "drive_ratio_room", "drive_ratio_over");
  order(limits.turbine_K_over < limits.turbine_K_room, "turbine_temperature_room", "turbine_temperature_over");
  return limits;
}

}  // namespace islebook
