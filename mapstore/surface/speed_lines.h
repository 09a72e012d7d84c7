#pragma once
// The curves of a compressor map made ready for the surface: speed lines joined, turned and sorted, cut at the surge and choke lines. Internal to mapstore/surface.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/surface/spline.h"

namespace islebook {

// Head, the similarity variable behind pressure ratio: PR^(2/7) - 1, proportional to the isentropic work of air over inlet temperature (gamma 1.4).
// A coordinate, not a claim about the gas: any smooth monotone function of pressure ratio would serve.
double HeadOf(double pressure_ratio);
double PressureRatioOf(double head);
double PressureRatioByHead(double head);  // derivative

// A point of a curve in the surface's own variables.
struct LinePoint {
  double flow = 0.0;
  double head = 0.0;
  double sigma_flow = 0.0;  // 0: none stated
  double sigma_head = 0.0;
};

struct SpeedLine {
  double speed = 0.0;
  std::vector<LinePoint> points;  // from surge to choke
  bool flagged = false;           // for review
};

// Flow as a function of head along the surge line, and back.
class SurgeCurve {
 public:
  SurgeCurve() = default;
  // From points of one or more drawn pieces, any order; keeps those that rise. Fewer than two usable points: empty().
  explicit SurgeCurve(std::vector<LinePoint> points);
  bool empty() const { return flow_at_head_.empty(); }
  double MinHead() const { return flow_at_head_.front(); }
  double MaxHead() const { return flow_at_head_.back(); }
  double FlowAt(double head) const { return flow_at_head_.Value(head); }
  double FlowSlope(double head) const { return flow_at_head_.Slope(head); }
  // The head on the curve at that flow, the highest if several; nullopt farther than a tenth of its reach outside the curve.
  std::optional<double> HeadAt(double flow) const;
  std::optional<double> FlowWithin(double head) const;  // the same caution for FlowAt
  double sigma_flow() const { return sigma_flow_; }     // typical

  void Pack(PackedWriter& to) const;
  static SurgeCurve Unpack(PackedReader& from);

 private:
  HermiteCurve flow_at_head_;
  double sigma_flow_ = 0.0;
};

struct PreparedMap {
  std::string speed_unit;
  std::vector<SpeedLine> lines;  // ascending speed
  SurgeCurve surge;              // empty: none printed or usable
  bool choke_printed = false;
  std::vector<std::string> notes;
};

PreparedMap PrepareSpeedLines(const PerformanceMap& map);

// "90,000 rpm", for sentences.
std::string SpeedWords(double speed, const std::string& unit);

}  // namespace islebook
