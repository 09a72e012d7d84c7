#include "mapstore/map/performance_map.h"

#include <utility>

namespace islebook {
namespace {

template <typename T>
using Spelling = std::pair<T, const char*>;

constexpr Spelling<Quantity> kQuantities[] = {
    {Quantity::kCorrectedMassFlow, "corrected_mass_flow"},
    {Quantity::kCorrectedVolumeFlow, "corrected_volume_flow"},
    {Quantity::kPressureRatioTotalToTotal, "pressure_ratio_tt"},
    {Quantity::kPressureRatioTotalToStatic, "pressure_ratio_ts"},
    {Quantity::kExpansionRatioTotalToStatic, "expansion_ratio_ts"},
    {Quantity::kExpansionRatioTotalToTotal, "expansion_ratio_tt"},
    {Quantity::kTurbineFlowParameter, "turbine_flow_parameter"},
    {Quantity::kEfficiencyTotalToStatic, "efficiency_ts"},
    {Quantity::kEfficiencyTotalToTotal, "efficiency_tt"},
    {Quantity::kCorrectedSpeed, "corrected_speed"},
    {Quantity::kVelocityRatio, "velocity_ratio"},
};
constexpr Spelling<CurveRole> kRoles[] = {
    {CurveRole::kSpeedLine, "speed_line"}, {CurveRole::kSurgeLine, "surge_line"},
    {CurveRole::kChokeLine, "choke_line"}, {CurveRole::kEfficiencyIsland, "efficiency_island"},
    {CurveRole::kFlowLine, "flow_line"},   {CurveRole::kEfficiencyLine, "efficiency_line"},
    {CurveRole::kOther, "other"},
};
constexpr Spelling<MapKind> kKinds[] = {{MapKind::kCompressor, "compressor"}, {MapKind::kTurbine, "turbine"}};
constexpr Spelling<AxisScale> kScales[] = {{AxisScale::kLinear, "linear"}, {AxisScale::kLog, "log"}};

template <typename T, std::size_t N>
const char* NameOf(const Spelling<T> (&table)[N], T value) {
  for (const auto& [known, name] : table)
    if (known == value) return name;
  return "";
}

template <typename T, std::size_t N>
std::optional<T> ValueOf(const Spelling<T> (&table)[N], const std::string& name) {
  for (const auto& [value, known] : table)
    if (name == known) return value;
  return std::nullopt;
}

}  // namespace

const char* QuantityName(Quantity quantity) { return NameOf(kQuantities, quantity); }
const char* CurveRoleName(CurveRole role) { return NameOf(kRoles, role); }
const char* MapKindName(MapKind kind) { return NameOf(kKinds, kind); }
const char* AxisScaleName(AxisScale scale) { return NameOf(kScales, scale); }
std::optional<Quantity> ParseQuantity(const std::string& name) { return ValueOf(kQuantities, name); }
std::optional<CurveRole> ParseCurveRole(const std::string& name) { return ValueOf(kRoles, name); }
std::optional<MapKind> ParseMapKind(const std::string& name) { return ValueOf(kKinds, name); }
std::optional<AxisScale> ParseAxisScale(const std::string& name) { return ValueOf(kScales, name); }

}  // namespace islebook
