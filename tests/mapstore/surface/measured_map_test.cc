// A measured compressor: NASA's High Efficiency Centrifugal Compressor with a vaned diffuser (HECC data archive, read-me of 14 April 2023; stage: Medic et al., NASA/CR-2014-218114;
// work of the US Government). Readings: corrected flow in lb/s, total pressure ratio; speeds in percent. The leftmost reading of a line is the last stable one.

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>

#include "mapstore/surface/compressor_surface.h"

namespace islebook {
namespace {

const std::map<double, std::vector<Point2>>& Readings() {
  static const std::map<double, std::vector<Point2>> readings{{70,
                                                               {{4.8832, 2.3684},
                                                                {5.0495, 2.3691},
                                                                {5.1458, 2.3703},
                                                                {5.3104, 2.3682},
                                                                {5.5539, 2.3472},
                                                                {5.7683, 2.3203},
                                                                {5.9283, 2.2926},
                                                                {6.1806, 2.1802},
                                                                {6.2621, 2.1110},
                                                                {6.3916, 1.9159}}},
                                                              {75,
                                                               {{5.6376, 2.6726},
                                                                {5.7583, 2.6667},
                                                                {5.9072, 2.6601},
                                                                {6.0114, 2.6586},
                                                                {6.2414, 2.6397},
                                                                {6.4565, 2.6095},
                                                                {6.6055, 2.5675},
                                                                {6.7692, 2.4936},
                                                                {6.9122, 2.4011},
                                                                {7.0116, 2.3007},
                                                                {7.0754, 2.2037},
                                                                {7.0669, 2.0774}}},
                                                              {85,
                                                               {{7.4616, 3.3689},
                                                                {7.5776, 3.3582},
                                                                {7.6807, 3.3520},
                                                                {7.7944, 3.3398},
                                                                {7.9237, 3.2965},
                                                                {8.0921, 3.2662},
                                                                {8.3086, 3.1986},
                                                                {8.4700, 3.0976},
                                                                {8.5655, 3.0004},
                                                                {8.6288, 2.8970},
                                                                {8.6440, 2.7971},
                                                                {8.6507, 2.6965},
                                                                {8.6691, 2.5355},
                                                                {8.6607, 2.4249}}},
                                                              {90,
                                                               {{8.0775, 3.8256},
                                                                {8.3276, 3.8070},
                                                                {8.4216, 3.7967},
                                                                {8.5842, 3.7886},
                                                                {8.7637, 3.7460},
                                                                {8.9601, 3.6872},
                                                                {9.2246, 3.5912},
                                                                {9.3958, 3.4997},
                                                                {9.4591, 3.3974},
                                                                {9.5204, 3.2919},
                                                                {9.5612, 3.1969},
                                                                {9.5715, 2.9936},
                                                                {9.5569, 2.7481}}},
                                                              {95,
                                                               {{9.4235, 4.2781},
                                                                {9.6177, 4.2453},
                                                                {9.8343, 4.1844},
                                                                {10.0500, 4.1254},
                                                                {10.2856, 4.0054},
                                                                {10.4140, 3.8956},
                                                                {10.4759, 3.8102},
                                                                {10.5535, 3.6145},
                                                                {10.5423, 3.3993},
                                                                {10.5689, 3.2072},
                                                                {10.5517, 3.0706}}},
                                                              {100,
                                                               {{10.3815, 4.8302},
                                                                {10.4754, 4.7608},
                                                                {10.6040, 4.7443},
                                                                {10.7129, 4.7079},
                                                                {10.8142, 4.6752},
                                                                {10.9244, 4.6387},
                                                                {11.1073, 4.5946},
                                                                {11.2838, 4.4953},
                                                                {11.4009, 4.3978},
                                                                {11.4878, 4.2899},
                                                                {11.5354, 4.1962},
                                                                {11.5102, 4.1035},
                                                                {11.5238, 4.0036},
                                                                {11.5461, 3.9013},
                                                                {11.5437, 3.7974},
                                                                {11.5452, 3.6010},
                                                                {11.5493, 3.3927}}},
                                                              {105,
                                                               {{11.5977, 5.3414},
                                                                {11.9373, 5.2455},
                                                                {12.1698, 5.1039},
                                                                {12.3106, 4.9953},
                                                                {12.3760, 4.9236},
                                                                {12.4524, 4.8000},
                                                                {12.5026, 4.7118},
                                                                {12.5370, 4.6119},
                                                                {12.5513, 4.5034},
                                                                {12.5454, 4.3071},
                                                                {12.5667, 4.2031},
                                                                {12.5335, 4.1151},
                                                                {12.5475, 4.0080},
                                                                {12.5451, 3.9016},
                                                                {12.5593, 3.7587}}}};
  return readings;
}

PerformanceMap MapOf(const std::map<double, std::vector<Point2>>& lines) {
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  map.x = Axis{Quantity::kCorrectedMassFlow, "lb/s", AxisScale::kLinear, 0.0, 15.0};
  map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 6.0};
  for (const auto& [speed, points] : lines) {
    Curve curve;
    curve.role = CurveRole::kSpeedLine;
    curve.value = speed;
    curve.unit = "%";
    curve.points = points;
    map.curves.push_back(curve);
  }
  return map;
}

// Every other reading left out, the ends kept: how far the surface passes from the readings left out, as a pressure ratio at constant flow where the line is not
// vertical (it is choked where 1 % of flow is more than 4 % of pressure ratio: the readings' own scatter of 0.1 % of flow is then 0.4 %), and as speed everywhere.
struct Misses {
  double ratio_squares = 0.0, speed_squares = 0.0;
  int ratios = 0, speeds = 0;
  void Add(const std::map<double, std::vector<Point2>>& readings) {
    for (int parity = 0; parity < 2; ++parity) {
      std::map<double, std::vector<Point2>> kept, left_out;
      for (const auto& [speed, points] : readings) {
        for (std::size_t i = 0; i < points.size(); ++i) {
          const bool keep = i == 0 || i + 1 == points.size() || static_cast<int>(i % 2) == parity;
          (keep ? kept : left_out)[speed].push_back(points[i]);
        }
      }
      const Result<CompressorSurface> surface = CompressorSurface::Build(MapOf(kept));
      ASSERT_TRUE(surface.has_value()) << surface.error().message;
      EXPECT_FALSE(surface->Folds());
      for (const auto& [speed, points] : left_out) {
        for (const Point2& point : points) {
          const std::optional<MapPlace> place = surface->Locate(point.x, point.y);
          ASSERT_TRUE(place.has_value()) << speed << " " << point.x;
          speed_squares += std::pow(place->speed / speed - 1.0, 2);
          ++speeds;
          const std::vector<MapPlace> at_flow = surface->AtFlow(speed, point.x);
          if (at_flow.size() != 1) continue;
          const SurfaceJet jet = surface->At(at_flow.front());
          const double steepness = std::abs(jet.pressure_ratio_by_beta / jet.flow_by_beta) * point.x / point.y;
          if (steepness > 4.0) continue;
          ratio_squares += std::pow(jet.pressure_ratio / point.y - 1.0, 2);
          ++ratios;
        }
      }
    }
  }
};

TEST(MeasuredMap, EveryOtherReadingComesBack) {
  Misses misses;
  misses.Add(Readings());
  EXPECT_GT(misses.ratios, 40);
  EXPECT_LT(std::sqrt(misses.ratio_squares / misses.ratios), 0.008);
  EXPECT_LT(std::sqrt(misses.speed_squares / misses.speeds), 0.003);
}

TEST(MeasuredMap, AnInnerSpeedLineComesBack) {
  double squares = 0.0;
  int count = 0;
  for (const double gone : {75.0, 85.0, 90.0, 95.0, 100.0}) {
    std::map<double, std::vector<Point2>> others = Readings();
    others.erase(gone);
    const CompressorSurface surface = *CompressorSurface::Build(MapOf(others));
    for (const Point2& point : Readings().at(gone)) {
      const std::optional<MapPlace> place = surface.Locate(point.x, point.y);
      if (!place) continue;
      const SurfaceJet jet = surface.At(*place);
      squares += std::pow(jet.pressure_ratio_by_speed * (gone - place->speed) / point.y, 2);
      ++count;
    }
  }
  EXPECT_GT(count, 50);
  EXPECT_LT(std::sqrt(squares / count), 0.008);
}

// The other four runs of the archive, where the shared data are at hand.
TEST(MeasuredMap, EveryOtherReadingOfTheVanelessRunsComesBack) {
  const std::filesystem::path folder = std::filesystem::path(ISLEBOOK_SHARED_DIR) / "open_data" / "hecc";
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << "the shared measured data are not here: " << folder;
  Misses misses;
  int files = 0;
  for (const char* name :
       {"hecc_vaneless_blm_12mil.csv", "hecc_vaneless_td00_12mil.csv", "hecc_vaneless_td01_12mil.csv", "hecc_vaneless_td00_12mil_nobleed.csv"}) {
    std::ifstream file(folder / name);
    ASSERT_TRUE(file.good()) << name;
    std::string line;
    std::map<std::string, std::size_t> columns;
    std::map<double, std::vector<Point2>> lines;
    while (std::getline(file, line)) {
      if (line.starts_with('#')) continue;
      std::vector<std::string> fields;
      std::stringstream stream(line);
      for (std::string field; std::getline(stream, field, ',');) fields.push_back(field);
      if (columns.empty()) {
        for (std::size_t i = 0; i < fields.size(); ++i) columns[fields[i]] = i;
        continue;
      }
      lines[std::round(std::stod(fields[columns["NC"]]) / 2.5) * 2.5].push_back(
          {std::stod(fields[columns["MDOTC"]]), std::stod(fields[columns["TPR70"]])});
    }
    for (auto& [speed, points] : lines)
      std::sort(points.begin(), points.end(), [](const Point2& a, const Point2& b) { return a.x / 12.0 - a.y / 5.0 < b.x / 12.0 - b.y / 5.0; });
    misses.Add(lines);
    ++files;
  }
  EXPECT_EQ(4, files);
  EXPECT_LT(std::sqrt(misses.ratio_squares / misses.ratios), 0.005);
  EXPECT_LT(std::sqrt(misses.speed_squares / misses.speeds), 0.003);
}

}  // namespace
}  // namespace islebook
