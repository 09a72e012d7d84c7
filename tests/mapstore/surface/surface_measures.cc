#include "tests/mapstore/surface/surface_measures.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/query/compressor_query.h"
#include "mapstore/surface/speed_lines.h"

namespace islebook {
namespace {

constexpr double kChoked = 0.995;  // of a line's largest flow, beyond which a reading's own scatter in flow (0.1 %) says more than any surface

PerformanceMap MapOfTruth(const nlohmann::json& truth) {
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

// Whether the line is choked at a point of it, by the surface of the whole map.
bool Choked(const CompressorSurface& whole, double speed, const Point2& point) { return point.x > kChoked * whole.ChokePoint(speed).flow; }

// Pressure ratio that the surface has at `speed` against a point known to be there.
void MissLinePoint(const CompressorSurface& surface, const CompressorSurface& whole, double speed, const Point2& point, Tally& at_beta,
                   Tally& at_flow, int& unanswered) {
  const std::optional<MapPlace> place = surface.Locate(point.x, point.y);
  if (!place) {
    ++unanswered;
    return;
  }
  at_beta.Add(surface.At({speed, place->beta}).pressure_ratio / point.y - 1.0);
  const std::vector<MapPlace> there = surface.AtFlow(speed, point.x);
  if (there.size() != 1) return;
  if (!Choked(whole, speed, point)) at_flow.Add(surface.At(there.front()).pressure_ratio / point.y - 1.0);
}

}  // namespace

void Tally::Add(double error, double sigma) {
  squares_ += error * error;
  worst_ = std::max(worst_, std::abs(error));
  width_ += 3.92 * sigma;
  in_band_ += std::abs(error) <= 1.96 * sigma;
  ++count_;
}
void Tally::Add(const Tally& other) {
  squares_ += other.squares_;
  worst_ = std::max(worst_, other.worst_);
  width_ += other.width_;
  in_band_ += other.in_band_;
  count_ += other.count_;
}
double Tally::Rms() const { return count_ > 0 ? std::sqrt(squares_ / count_) : 0.0; }
double Tally::InBand() const { return count_ > 0 ? static_cast<double>(in_band_) / count_ : 0.0; }
double Tally::WidthOverRms() const { return count_ > 0 && squares_ > 0.0 ? width_ / count_ / Rms() : 0.0; }
std::string Tally::Words(double scale, const char* unit) const {
  std::string words = fmt::format("rms {:.4f} {}, worst {:.3f}, {} places", Rms() * scale, unit, worst_ * scale, count_);
  if (width_ > 0.0) words += fmt::format("; {:.1f} % in the band, its width {:.1f} x rms", 100.0 * InBand(), WidthOverRms());
  return words;
}

std::vector<TrueSheet> ReadTrueSheets(const std::filesystem::path& folder) {
  std::vector<TrueSheet> sheets;
  if (!std::filesystem::exists(folder)) return sheets;
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder))
    if (entry.path().string().ends_with(".truth.json")) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  for (const std::filesystem::path& file : files) {
    const nlohmann::json truth = nlohmann::json::parse(std::ifstream(file));
    TrueSheet sheet;
    sheet.name = file.filename().string();
    sheet.name.resize(sheet.name.size() - std::string(".truth.json").size());
    sheet.map = MapOfTruth(truth);
    if (truth.contains("field_samples"))
      for (const nlohmann::json& sample : truth.at("field_samples"))
        sheet.samples.push_back(
            {sample.at("x").get<double>(), sample.at("y").get<double>(), sample.at("speed").get<double>(), sample.at("efficiency").get<double>()});
    sheets.push_back(std::move(sheet));
  }
  return sheets;
}

SpeedReadings AtNominalSpeeds(const std::vector<RawReading>& readings) {
  SpeedReadings lines;
  for (const RawReading& reading : readings) {
    const double nominal = std::round(reading.speed / 2.5) * 2.5, ratio = nominal / reading.speed;
    lines[nominal].push_back({reading.flow * ratio, PressureRatioOf(HeadOf(reading.pressure_ratio) * ratio * ratio), reading.efficiency});
  }
  for (auto& [speed, line] : lines)
    std::sort(line.begin(), line.end(),
              [](const Reading& a, const Reading& b) { return a.flow / 12.0 - a.pressure_ratio / 5.0 < b.flow / 12.0 - b.pressure_ratio / 5.0; });
  return lines;
}

SpeedReadings ReadMeasured(const std::filesystem::path& file) {
  std::vector<RawReading> readings;
  std::ifstream stream(file);
  std::map<std::string, std::size_t> columns;
  for (std::string line; std::getline(stream, line);) {
    if (line.starts_with('#')) continue;
    std::vector<std::string> fields;
    std::stringstream cells(line);
    for (std::string field; std::getline(cells, field, ',');) fields.push_back(field);
    if (columns.empty()) {
      for (std::size_t i = 0; i < fields.size(); ++i) columns[fields[i]] = i;
      continue;
    }
    readings.push_back({std::stod(fields[columns["NC"]]), std::stod(fields[columns["MDOTC"]]), std::stod(fields[columns["TPR70"]]),
                        std::stod(fields[columns["ETA70"]])});
  }
  return AtNominalSpeeds(readings);
}

PerformanceMap MapOf(const SpeedReadings& readings) {
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  map.x = Axis{Quantity::kCorrectedMassFlow, "lb/s", AxisScale::kLinear, 0.0, 15.0};
  map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 6.0};
  for (const auto& [speed, line] : readings) {
    Curve curve;
    curve.role = CurveRole::kSpeedLine;
    curve.value = speed;
    curve.unit = "%";
    for (const Reading& reading : line) curve.points.push_back({reading.flow, reading.pressure_ratio});
    map.curves.push_back(std::move(curve));
  }
  return map;
}

CompressorSurfaceOptions OptionsWithPoints(const SpeedReadings& readings) {
  CompressorSurfaceOptions options;
  for (const auto& [speed, line] : readings)
    for (const Reading& reading : line) options.efficiency_points.push_back({reading.flow, reading.pressure_ratio, reading.efficiency, 0.0});
  return options;
}

HalfLeftOut LeaveHalfOut(const SpeedReadings& readings) {
  HalfLeftOut result;
  const Result<CompressorSurface> whole = CompressorSurface::Build(MapOf(readings));
  if (!whole) return result;
  for (int parity = 0; parity < 2; ++parity) {
    SpeedReadings kept, left_out;
    for (const auto& [speed, line] : readings) {
      for (std::size_t i = 0; i < line.size(); ++i) {
        const bool keep = i == 0 || i + 1 == line.size() || static_cast<int>(i % 2) == parity;
        (keep ? kept : left_out)[speed].push_back(line[i]);
      }
    }
    const Result<CompressorSurface> surface = CompressorSurface::Build(MapOf(kept), OptionsWithPoints(kept));
    if (!surface) {
      ++result.unanswered;
      continue;
    }
    for (const auto& [speed, line] : left_out) {
      for (const Reading& reading : line) {
        const std::optional<MapPlace> place = surface->Locate(reading.flow, reading.pressure_ratio);
        if (!place) {
          ++result.unanswered;
          continue;
        }
        const PlaceSigma sigma = surface->SigmaAt(*place).value_or(PlaceSigma{});
        result.speed.Add(place->speed / speed - 1.0, sigma.speed / speed);
        if (surface->HasEfficiency()) result.efficiency.Add(surface->EfficiencyAt(*place).value - reading.efficiency, sigma.efficiency);
        const std::size_t before = static_cast<std::size_t>(result.ratio.count());
        MissLinePoint(*surface, *whole, speed, {reading.flow, reading.pressure_ratio}, result.ratio_at_beta, result.ratio, result.unanswered);
        result.choked += static_cast<std::size_t>(result.ratio.count()) == before;
      }
    }
  }
  return result;
}

LineLeftOut LeaveLinesOut(const PerformanceMap& map) {
  LineLeftOut result;
  std::vector<double> speeds;
  for (const Curve& curve : map.curves)
    if (curve.role == CurveRole::kSpeedLine && curve.value) speeds.push_back(*curve.value);
  std::sort(speeds.begin(), speeds.end());
  speeds.erase(std::unique(speeds.begin(), speeds.end()), speeds.end());
  const Result<CompressorSurface> whole = CompressorSurface::Build(map);
  if (speeds.size() < 4 || !whole) return result;
  for (const double gone : speeds) {
    PerformanceMap others = map;
    std::erase_if(others.curves, [&](const Curve& curve) { return curve.role == CurveRole::kSpeedLine && curve.value == gone; });
    CompressorSurfaceOptions options;
    options.estimate_sigma = false;
    const bool outermost = gone == speeds.front() || gone == speeds.back();
    if (gone == speeds.front()) options.extrapolate_below = 1.05 * (1.0 - gone / speeds[1]) + 0.02;
    if (gone == speeds.back()) options.extrapolate_above = 1.05 * (gone / speeds[speeds.size() - 2] - 1.0) + 0.02;
    const Result<CompressorSurface> surface = CompressorSurface::Build(others, options);
    if (!surface) {
      ++result.unanswered;
      continue;
    }
    for (const Curve& curve : map.curves) {
      if (curve.role != CurveRole::kSpeedLine || curve.value != gone) continue;
      for (const Point2& point : curve.points)
        MissLinePoint(*surface, *whole, gone, point, outermost ? result.outermost : result.inner,
                      outermost ? result.outermost_at_flow : result.inner_at_flow, result.unanswered);
    }
  }
  return result;
}

IslandLeftOut LeaveIslandsOut(const PerformanceMap& map) {
  IslandLeftOut result;
  std::vector<double> levels;
  for (const Curve& curve : map.curves)
    if (curve.role == CurveRole::kEfficiencyIsland && curve.value) levels.push_back(*curve.value);
  std::sort(levels.begin(), levels.end());
  levels.erase(std::unique(levels.begin(), levels.end()), levels.end());
  if (levels.size() < 3) return result;
  for (const double gone : levels) {
    PerformanceMap others = map;
    std::erase_if(others.curves, [&](const Curve& curve) { return curve.role == CurveRole::kEfficiencyIsland && curve.value == gone; });
    const Result<CompressorSurface> surface = CompressorSurface::Build(others);
    if (!surface || !surface->HasEfficiency()) {
      ++result.unanswered;
      continue;
    }
    Tally& tally = gone == levels.front() ? result.outermost : gone == levels.back() ? result.innermost : result.between;
    for (const Curve& curve : map.curves) {
      if (curve.role != CurveRole::kEfficiencyIsland || curve.value != gone) continue;
      const double level = curve.unit == "%" ? gone / 100.0 : gone;
      for (const Point2& point : curve.points) {
        const std::optional<MapPlace> place = surface->Locate(point.x, point.y);
        if (place)
          tally.Add(surface->EfficiencyAt(*place).value - level, surface->SigmaAt(*place).value_or(PlaceSigma{}).efficiency);
        else
          ++result.unanswered;
      }
    }
  }
  return result;
}

void MissField(const CompressorSurface& surface, const std::vector<FieldSample>& samples, FieldMisses& misses) {
  for (const FieldSample& sample : samples) {
    const std::optional<MapPlace> place = surface.Locate(sample.x, sample.y);
    if (!place || !surface.IsOnMap(*place)) {
      ++misses.unanswered;
      continue;
    }
    const PlaceSigma sigma = surface.SigmaAt(*place).value_or(PlaceSigma{});
    misses.speed.Add(place->speed / sample.speed - 1.0, sigma.speed / sample.speed);
    if (!surface.HasEfficiency()) continue;
    const EfficiencyJet efficiency = surface.EfficiencyAt(*place);
    if (sigma.efficiency > kEfficiencyTooUnsure || efficiency.value < surface.LowestIsland() - kFarBelowOutermost) {
      ++misses.unsure;
      continue;
    }
    (efficiency.extrapolated ? misses.beyond : misses.inside).Add(efficiency.value - sample.efficiency, sigma.efficiency);
  }
}

}  // namespace islebook
