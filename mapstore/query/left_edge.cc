#include "mapstore/query/left_edge.h"

#include <algorithm>
#include <iterator>
#include <vector>

namespace islebook {

bool LeftEdgeIsDoubtful(const CompressorAnswer& answer, const CompressorSurface& surface) {
  if (surface.SurgeLinePrinted() || (answer.doubts & kBadQuestion) != 0) return false;
  if (answer.inside || (answer.doubts & kOffMap) == 0) return (answer.doubts & kSpeedFromFlagged) != 0;
  if (answer.speed) return surface.SpeedFlaggedAt({std::clamp(*answer.speed, surface.MinSpeed(), surface.MaxSpeed()), 0.0});
  if (!answer.pressure_ratio) return false;
  // The lines whose left ends are next above and below it; beyond the outermost, that one.
  const std::vector<double>& speeds = surface.LineSpeeds();
  const auto above =
      std::find_if(speeds.begin(), speeds.end(), [&](double speed) { return surface.SurgePoint(speed).pressure_ratio >= *answer.pressure_ratio; });
  return (above != speeds.end() && surface.SpeedFlaggedAt({*above, 0.0})) ||
         (above != speeds.begin() && surface.SpeedFlaggedAt({*std::prev(above), 0.0}));
}

std::string DoubtfulEdgeWords(const CompressorAnswer& answer, const CompressorSurface& surface) {
  std::string words =
      "The map has no surge line, and the speed lines next to the point, whose left ends would stand for it, are flagged for review: whether "
      "the point lies on the map and how far from surge cannot be told.";
  CompressorAnswer rest = answer;
  rest.doubts &= kSeveralAnswers | (answer.inside ? kNoIslands | kEfficiencyExtrapolated | kEfficiencyUnknown | kEfficiencyFromFlagged : kNoDoubt);
  if (const std::string more = DoubtWords(rest, surface); !more.empty()) words += " " + more;
  return words;
}

}  // namespace islebook
