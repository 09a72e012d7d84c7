#pragma once
// Labels: the numbers printed at, on or near curves, what they may mean, and which curves they may belong to.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "digitizer/axes/axes.h"
#include "digitizer/curves/curves.h"
#include "digitizer/print/print.h"

namespace islebook {

struct LabelOptions {
  double reach = 2.5;  // how far from a curve a label may stand, in digit heights
  Result<void> Check() const;
};

enum class LabelPlace {
  kOnLine,  // the curve runs through the label (it stands in a gap of the line, or over it)
  kAtEnd,   // the label stands beyond or beside an end of the curve
  kBeside,  // along the curve, off the line
};

struct LabelCandidate {
  std::size_t curve = 0;  // index into CurvesFound::curves
  double distance_px =
      0.0;  // from the label's box to the curve; on the line, how far the curve runs from the label's middle beyond a third of a digit's height
  LabelPlace place = LabelPlace::kBeside;
};

// What a label may say instead of, or besides, what was read.
struct LabelAlternative {
  std::string text, unit;
  double value = 0.0;
  double cost = 0.0;  // minus the logarithm of its likelihood over that of the likeliest
};

struct CurveLabel {
  std::size_t word = 0;     // index into PrintFound::words (the first, if several were joined)
  std::string text;         // as read
  double value = 0.0;       // as printed: 90000; 0.74; 74 (with unit "%"); 120 for "120k" with unit "krpm"
  std::string unit;         // "rpm", "krpm", "1", "%", "m/s"; empty where the print does not say
  double confidence = 0.0;  // of the reading
  ImagePoint center;
  double angle_deg = 0.0;
  double width_px = 0.0, height_px = 0.0;
  cv::Vec3f lab{};
  std::vector<LabelAlternative>
      alternatives;                        // likeliest first, of numbers printed as the others of its family are; empty where the letters are known
  bool revised = false;                    // the reading by itself was another; this one goes with the family
  std::vector<LabelCandidate> candidates;  // likeliest first: by distance, then by place, color and direction
};

struct LabelsRead {
  std::vector<CurveLabel> labels;
  double print_angle_deg = 0.0;  // of level print in the panel
  StageReport report;
};

// Prose, axis numbers and titles are left out; so is print that is no number.
Result<LabelsRead> ReadLabels(const Page& page, const PrintFound& print, const AxesFound& axes, std::size_t panel, const CurvesFound& curves,
                              PrintReader& reader, const LabelOptions& options = {});

// The same labels by other curves: which of these each may belong to.
void PlaceLabels(LabelsRead& read, const CurvesFound& curves, const LabelOptions& options = {});

}  // namespace islebook
