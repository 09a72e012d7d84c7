#pragma once
// Graph lines being followed: the ridge points that lines may claim, and the lines that grow at both ends. Internal to curves.

#include <array>
#include <cmath>
#include <cstdint>
#include <deque>
#include <optional>
#include <unordered_map>
#include <vector>

#include <opencv2/core/types.hpp>

#include "digitizer/axes/axes.h"
#include "digitizer/curves/joining.h"
#include "digitizer/curves/line_follower.h"

namespace islebook {

inline constexpr double kLineMarkPx = 1.3;  // marks this close to a line belong to it

// One ridge point that a line may claim.
struct LineMark {
  ImagePoint at;
  double tx = 1, ty = 0;  // unit tangent, sign free
  std::size_t stroke = 0;
  int owner = -1;  // index of a track
};

struct LineNode {
  ImagePoint at;
  bool seen = false;   // a mark of the line's own
  bool inked = false;  // some ink
};

struct LineTip {
  FollowState state;
  bool alive = true;
  double blank = 0, coasted = 0, covered = 0;  // px since ink, since a mark; under print since a mark
  int meets = -1;                              // the track whose marks it has been following, and for how long, px
  double meet_run = 0;
  double way = 1;  // toward the right (1) or the left (-1)
};

struct LineTrack {
  std::deque<LineNode> nodes;   // about 1 px apart
  std::array<LineTip, 2> tips;  // 0 at nodes.front(), 1 at nodes.back()
  double ink_mass = 0, level = 0;
  double longest_dash = 0, gap = 0;  // px
  double worst_join = 0;
  cv::Vec3f lab{};
  bool dashed = false;
  bool has_dashes = false;  // bars that were told apart, not only a beat in the ink
  bool gone = false;        // taken over by another

  // k-th node from the tip.
  const LineNode& FromTip(int side, std::size_t k) const { return nodes[side == 0 ? k : nodes.size() - 1 - k]; }
  void Add(int side, const LineNode& node) { side == 0 ? nodes.push_front(node) : nodes.push_back(node); }
  void DropLast(int side) { side == 0 ? nodes.pop_front() : nodes.pop_back(); }
};

class GraphField {
 public:
  GraphField(const std::vector<Stroke>& strokes, const JoinField& field, const FrameMapping& frame, double digit_height_px);

  template <typename F>
  void MarksNear(ImagePoint p, double radius, F&& visit) {
    const int r = static_cast<int>(std::ceil(radius / kCellPx));
    for (int dy = -r; dy <= r; ++dy)
      for (int dx = -r; dx <= r; ++dx) {
        const auto cell = cells_.find(Key({p.x + dx * kCellPx, p.y + dy * kCellPx}));
        if (cell == cells_.end()) continue;
        for (std::size_t m : cell->second) visit(marks_[m]);
      }
  }

  const Stroke& StrokeOf(const LineMark& mark) const { return strokes_[mark.stroke]; }
  // Whether the ink of a stroke can be the line's.
  bool Alike(const LineTrack& line, const Stroke& stroke) const;
  // Marks at p become the track's own.
  void Claim(ImagePoint p, const LineTrack& line, int id, const FollowState* state);
  void HandOver(int from, int to);
  // The part of a seed's points that other lines have.
  double TakenPart(const Path& seed);
  // Stretches of strokes that no line has claimed, at least this long; of longer ones the middle.
  std::vector<Path> Unclaimed(double least_px, double most_px) const;
  // In a small picture dashes run into each other, and what is left of them is a beat in the ink.
  bool Beats(const Path& seed) const;
  bool Inked(ImagePoint p, double level) const;
  bool Covered(ImagePoint p) const;
  // Where the ink's middle lies across the way at p, px to the right; nothing where there is none within `reach`.
  std::optional<double> InkMiddle(ImagePoint p, double heading, double reach) const;
  // More ink than one line has: two lines lie on each other there.
  bool Merged(ImagePoint p, double heading, const LineTrack& line) const;

  const FrameMapping& frame() const { return frame_; }
  double digit() const { return digit_; }
  double unit() const { return unit_; }                      // the plot's width over 1,200 px, within bounds
  double full_unit() const { return std::max(1.0, unit_); }  // the same, not below 1
  double width() const { return field_.frame_width_px; }
  ImagePoint right() const { return right_; }  // unit vector along the x axis

  static constexpr double kCellPx = 4.0;
  static std::int64_t Key(ImagePoint p) {
    return (static_cast<std::int64_t>(std::floor(p.x / kCellPx)) << 32) ^ (static_cast<std::int64_t>(std::floor(p.y / kCellPx)) & 0xffffffff);
  }

 private:
  const std::vector<Stroke>& strokes_;
  const JoinField& field_;
  const FrameMapping& frame_;
  double digit_, unit_;
  ImagePoint right_;
  std::vector<LineMark> marks_;
  std::unordered_map<std::int64_t, std::vector<std::size_t>> cells_;
};

}  // namespace islebook
