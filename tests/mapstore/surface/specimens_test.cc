// Exact curves of the shared specimen sheets in, exact field values out.

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>

#include <nlohmann/json.hpp>

#include "mapstore/surface/compressor_surface.h"
#include "mapstore/surface/turbine_surface.h"

namespace islebook {
namespace {

PerformanceMap FromTruth(const nlohmann::json& truth) {
  PerformanceMap map;
  map.kind = ParseMapKind(truth.at("kind").get<std::string>());
  const auto axis = [&](const char* name) {
    const nlohmann::json& from = truth.at("axes").at(name);
    return Axis{*ParseQuantity(from.at("quantity").get<std::string>()), from.at("unit").get<std::string>(), AxisScale::kLinear,
                from.at("min").get<double>(), from.at("max").get<double>()};
  };
  map.x = axis("x");
  map.y = axis("y");
  if (truth.at("axes").contains("efficiency")) map.efficiency = axis("efficiency");
  for (const nlohmann::json& from : truth.at("curves")) {
    Curve curve;
    curve.role = *ParseCurveRole(from.at("role").get<std::string>());
    if (!from.at("value").is_null()) {
      curve.value = from.at("value").get<double>();
      curve.unit = from.at("unit").get<std::string>();
    }
    curve.closed = from.at("closed").get<bool>();
    for (const nlohmann::json& point : from.at("points")) curve.points.push_back({point.at(0).get<double>(), point.at(1).get<double>()});
    if (curve.closed && curve.points.size() > 1 && curve.points.front() == curve.points.back()) curve.points.pop_back();
    map.curves.push_back(std::move(curve));
  }
  return map;
}

TEST(Specimens, ExactCurvesGiveTheFieldBetweenThem) {
  const std::filesystem::path folder = std::filesystem::path(ISLEBOOK_SHARED_DIR) / "specimens" / "clean";
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << "the shared specimens are not here: " << folder;
  double speed_squares = 0.0, inside_squares = 0.0, beyond_squares = 0.0, flow_squares = 0.0, turbine_squares = 0.0, speed_width = 0.0;
  int speeds = 0, inside = 0, beyond = 0, turbines = 0, in_band = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (!entry.path().string().ends_with(".truth.json")) continue;
    const nlohmann::json truth = nlohmann::json::parse(std::ifstream(entry.path()));
    const PerformanceMap map = FromTruth(truth);
    if (map.kind == MapKind::kTurbine) {
      const Result<TurbineSurface> surface = TurbineSurface::Build(map);
      ASSERT_TRUE(surface.has_value()) << entry.path() << surface.error().message;
      for (const nlohmann::json& sample : truth.at("field_samples")) {
        const std::optional<TurbineValue> flow = surface->Flow(sample.at("speed"), sample.at("x")),
                                          efficiency = surface->Efficiency(sample.at("speed"), sample.at("x"));
        ASSERT_TRUE(flow && efficiency) << entry.path();
        flow_squares += std::pow(flow->value / sample.at("y").get<double>() - 1.0, 2);
        turbine_squares += std::pow(efficiency->value - sample.at("efficiency").get<double>(), 2);
        ++turbines;
      }
      continue;
    }
    const Result<CompressorSurface> surface = CompressorSurface::Build(map);
    ASSERT_TRUE(surface.has_value()) << entry.path() << surface.error().message;
    for (const nlohmann::json& sample : truth.at("field_samples")) {
      const std::optional<MapPlace> place = surface->Locate(sample.at("x"), sample.at("y"));
      ASSERT_TRUE(place.has_value() && surface->IsOnMap(*place)) << entry.path() << sample;
      const double error = place->speed / sample.at("speed").get<double>() - 1.0;
      speed_squares += error * error;
      ++speeds;
      const PlaceSigma sigma = *surface->SigmaAt(*place);
      in_band += std::abs(error) <= 1.96 * sigma.speed / place->speed;
      speed_width += 3.92 * sigma.speed / place->speed;
      const EfficiencyJet efficiency = surface->EfficiencyAt(*place);
      const double missed = efficiency.value - sample.at("efficiency").get<double>();
      (efficiency.extrapolated ? beyond_squares : inside_squares) += missed * missed;
      ++(efficiency.extrapolated ? beyond : inside);
    }
  }
  ASSERT_GT(speeds, 1000);
  EXPECT_LT(std::sqrt(speed_squares / speeds), 1.5e-3);   // 0.15 %
  EXPECT_LT(std::sqrt(inside_squares / inside), 1.5e-3);  // 0.15 points
  EXPECT_LT(std::sqrt(beyond_squares / beyond), 5e-3);    // 0.5 points
  EXPECT_GT(static_cast<double>(in_band) / speeds, 0.95);
  EXPECT_LT(speed_width / speeds, 6.0 * std::sqrt(speed_squares / speeds));
  ASSERT_GT(turbines, 100);
  EXPECT_LT(std::sqrt(flow_squares / turbines), 1.5e-3);
  EXPECT_LT(std::sqrt(turbine_squares / turbines), 1.5e-3);
}

}  // namespace
}  // namespace islebook
