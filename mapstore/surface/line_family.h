#pragma once
// The family of speed lines as smooth functions of speed: what lies between the printed lines. Internal to mapstore/surface.
//
// Each line is brought to the same frame: w = (W - W_surge) / width and q = (h - h_surge) / (k h_surge), width the line's extent in flow, k one number for the map.
// Along the line g = w - c q rises steadily, whether the line is flat or steep; beta = g / g_end. What remains, d = w + c q as a function of beta, is smoothed
// along the line. Across speeds the surge point's head over speed squared, its flow and the line's largest flow over speed, g_end
// and d(beta) are interpolated; a printed surge line gives the surge flow instead, bends and all.

#include <vector>

#include "mapstore/surface/speed_lines.h"

namespace islebook {

struct FamilyRow {
  std::vector<double> flow, head;  // at even steps of beta from 0 to 1
};

class LineFamily {
 public:
  // `left_out`: index of a line to leave out, to see how well the others predict it; -1: none. At least two lines must remain.
  LineFamily(const PreparedMap& prepared, int beta_intervals, int left_out = -1);
  // As above with the same frame of every line as `other`, which was made with all lines; quick.
  LineFamily(const LineFamily& other, int left_out);

  double max_speed() const { return max_speed_; }
  // Relative speeds, of max_speed, of the lines in use.
  const std::vector<double>& lines() const { return n_; }
  // The line or what lies between. Beyond the outermost lines the similarity coefficients go on as they began: straight above; below ever less, as the square of
  // speed (their changes are the gas's compressibility, which goes with the square of the Mach number), so that flow goes to zero with speed and head with its square.
  FamilyRow At(double speed) const;
  // Typical standard uncertainty of each line in use across itself, in the frame's unit of flow and of head; 0: none stated.
  struct LineSigma {
    double flow = 0.0, head = 0.0;
  };
  const std::vector<LineSigma>& sigmas() const { return sigmas_; }
  const SurgeCurve& surge() const { return surge_; }  // as printed; empty: none is
  int beta_intervals() const { return intervals_; }

  LineFamily() = default;
  void Pack(PackedWriter& to) const;
  static LineFamily Unpack(PackedReader& from);  // the default where `from` failed

 private:
  struct Member {
    double n = 0.0, surge_flow = 0.0, surge_head = 0.0, width = 0.0, end = 0.0;
    std::vector<double> bulge;  // d at even steps of beta
    LineSigma sigma;
  };
  void Interpolate();
  double SurgeFlow(double n, double head) const;

  double max_speed_ = 1.0;
  double head_share_ = 0.5;   // k
  double head_weight_ = 1.0;  // c
  int intervals_ = 40;
  SurgeCurve surge_;
  std::vector<Member> members_;
  std::vector<double> n_;
  std::vector<LineSigma> sigmas_;
  HermiteCurve surge_head_, surge_flow_, surge_offset_, choke_flow_, end_;
  struct End {
    double value = 0.0, slope = 0.0;
  };
  End surge_low_, surge_high_;                // surge flow over speed at the outermost lines, and its slope there
  std::vector<double> bulge_, bulge_slopes_;  // line by line at even steps of beta
};

// Lines that end well short of choke, as their neighbors have it, go on as their neighbors do. Adds a note for each.
void CompleteShortLines(PreparedMap& prepared, int beta_intervals);

}  // namespace islebook
