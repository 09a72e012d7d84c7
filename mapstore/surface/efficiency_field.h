#pragma once
// Efficiency over the unit square (x: relative speed from the lowest to the highest line, y: beta), from islands. Internal to mapstore/surface.
//
// A bicubic B-spline sheet that lies on every island within the island's own uncertainty and otherwise has the least third derivative: between islands that is the
// smoothest sheet, beyond the outermost and inside the innermost it goes on as the parabola that the islands began. The same view of it as a random field
// gives the uncertainty of every value.

#include <cstdint>
#include <string>
#include <vector>

#include "mapstore/surface/efficiency_points.h"

namespace islebook {

class PackedReader;
class PackedWriter;

struct IslandPoint {
  double x = 0.0, y = 0.0;
  double sigma_x = 0.0, sigma_y = 0.0;
  double trust = 1.0;  // 0..1, weight beside its uncertainty
};

struct Island {
  double level = 0.0;  // fraction
  bool closed = false;
  bool doubtful = false;            // flagged for review: believed less where it disagrees
  double confidence = 1.0;          // 0..1, of the curve
  double level_sigma = 0.0;         // of the level as a whole
  std::vector<IslandPoint> points;  // along the curve
};

class EfficiencyField {
 public:
  EfficiencyField() = default;
  // `spots`: single efficiencies that the map prints beside its islands. `left_out`: an island's index to leave out, to see how well the others predict it.
  EfficiencyField(const std::vector<Island>& islands, const std::vector<EfficiencySpot>& spots, bool with_sigma, int left_out = -1);
  // Without islands, from single points alone. `line_gap`: widest distance in x between two speed lines.
  static EfficiencyField FromPoints(EfficiencyPoints& points, const std::vector<EfficiencySpot>& spots, double line_gap, bool with_sigma);

  bool empty() const { return coefficients_.empty(); }
  struct Jet {
    double value = 0.0, by_x = 0.0, by_y = 0.0;
  };
  Jet At(double x, double y) const;
  // 1 standard deviation; 0 if built without.
  double SigmaAt(double x, double y) const;
  // Whether no island bounds the value from below on this side.
  bool ExtrapolatedAt(double x, double y) const;
  // Whether a level next to the value, above or below, is known from doubtful islands only.
  bool DoubtfulAt(double x, double y) const;
  double lowest_level() const { return levels_.back(); }
  const std::vector<double>& levels() const { return levels_; }  // descending
  const std::vector<std::string>& notes() const { return notes_; }

  // Without the notes.
  void Pack(PackedWriter& to) const;
  static EfficiencyField Unpack(PackedReader& from);

 private:
  Jet Raw(double x, double y) const;
  double Fit(const std::vector<Island>& islands, const std::vector<char>& used, double base_sigma, double roughness, bool with_sigma);
  void DropStrays(std::vector<Island>& islands, std::vector<char>& used, double roughness);
  std::vector<double> JudgeLevels(const std::vector<Island>& islands, std::vector<char>& used, double roughness);
  void LevelSigma(const std::vector<Island>& islands, const std::vector<char>& used);
  void MarkExtrapolated(const std::vector<Island>& islands, const std::vector<char>& used);

  static constexpr std::size_t kCoefficients = 625, kSigmas = 625, kFlags = 4096;  // of the vectors below

  std::vector<EfficiencySpot> spots_;  // while fitting
  std::vector<double> coefficients_;   // row by row in y
  std::vector<double> levels_;
  double peak_start_ = 1.0, peak_room_ = 1.0;  // the value bends towards peak_start_ + peak_room_ above peak_start_
  std::vector<float> sigma_;                   // grid of kSigmaGrid squared
  std::vector<std::uint8_t> extrapolated_;     // grid of kFlagGrid squared
  std::vector<std::uint8_t> doubtful_;         // the same; empty: none
  std::vector<std::string> notes_;
};

}  // namespace islebook
