#include "digitizer/curves/graph_tracks.h"

#include <algorithm>

#include <opencv2/core.hpp>

namespace islebook {
namespace {

constexpr double kInked = 0.45;    // of a line's own ink
constexpr double kBeat = 0.7;      // of the darker part's ink: a line whose lighter part is below this is dashed
constexpr double kMerged = 1.35;   // of a line's ink mass
constexpr double kSameWay = 0.85;  // cosine between a mark's tangent and the way of the line that claims it

int LevelAt(const cv::Mat1b& m, ImagePoint p) { return m(std::clamp(cvRound(p.y), 0, m.rows - 1), std::clamp(cvRound(p.x), 0, m.cols - 1)); }

}  // namespace

GraphField::GraphField(const std::vector<Stroke>& strokes, const JoinField& field, const FrameMapping& frame, double digit_height_px)
    : strokes_(strokes), field_(field), frame_(frame), digit_(digit_height_px), unit_(std::clamp(field.frame_width_px / 1200.0, 0.6, 2.5)) {
  const auto corners = frame.Corners();
  const double rx = corners[1].x - corners[0].x + corners[2].x - corners[3].x, ry = corners[1].y - corners[0].y + corners[2].y - corners[3].y;
  const double length = std::max(1e-9, std::hypot(rx, ry));
  right_ = {rx / length, ry / length};
  for (std::size_t s = 0; s < strokes.size(); ++s) {
    std::vector<ImagePoint> p = strokes[s].head;
    p.insert(p.end(), strokes[s].points.begin(), strokes[s].points.end());
    p.insert(p.end(), strokes[s].tail.begin(), strokes[s].tail.end());
    for (std::size_t i = 0; i < p.size(); ++i) {
      const ImagePoint a = p[i < 3 ? 0 : i - 3], b = p[std::min(p.size() - 1, i + 3)];
      const double l = std::hypot(b.x - a.x, b.y - a.y);
      if (l < 1e-6) continue;
      cells_[Key(p[i])].push_back(marks_.size());
      marks_.push_back({p[i], (b.x - a.x) / l, (b.y - a.y) / l, s, -1});
    }
  }
}

bool GraphField::Alike(const LineTrack& line, const Stroke& stroke) const {
  const double mass = std::abs(std::log((stroke.ink_mass + 0.1) / (line.ink_mass + 0.1)));
  const bool brief = stroke.length_px < 14 * unit_;  // says little about its mass
  if (mass > (brief ? 0.75 : stroke.is_dash == line.dashed ? 0.5 : 0.3)) return false;
  if (!line.dashed && stroke.is_dash && mass > 0.25) return false;
  if (line.dashed && !stroke.is_dash && stroke.length_px > 5 * std::max(6.0, line.longest_dash) && mass > 0.25) return false;
  const double hue = std::hypot(static_cast<double>(stroke.lab[1] - line.lab[1]), static_cast<double>(stroke.lab[2] - line.lab[2]));
  return hue < (brief ? 30 : 20);
}

void GraphField::Claim(ImagePoint p, const LineTrack& line, int id, const FollowState* state) {
  MarksNear(p, kLineMarkPx, [&](LineMark& m) {
    if (m.owner >= 0 || std::hypot(m.at.x - p.x, m.at.y - p.y) > kLineMarkPx || !Alike(line, StrokeOf(m))) return;
    if (state != nullptr && std::abs(m.tx * std::cos(state->heading) + m.ty * std::sin(state->heading)) < kSameWay) return;
    m.owner = id;
  });
}

void GraphField::HandOver(int from, int to) {
  for (LineMark& m : marks_)
    if (m.owner == from) m.owner = to;
}

double GraphField::TakenPart(const Path& seed) {
  std::size_t taken = 0;
  for (const PathPoint& p : seed.points) {
    bool near = false;
    MarksNear(p.at, kLineMarkPx, [&](const LineMark& m) { near |= m.owner >= 0 && std::hypot(m.at.x - p.at.x, m.at.y - p.at.y) < kLineMarkPx; });
    taken += near;
  }
  return seed.points.empty() ? 1.0 : static_cast<double>(taken) / static_cast<double>(seed.points.size());
}

std::vector<Path> GraphField::Unclaimed(double least_px, double most_px) const {
  std::vector<Path> found;
  std::vector<ImagePoint> run;
  const auto close = [&](const Stroke& stroke) {
    if (static_cast<double>(run.size()) >= least_px) {
      const auto keep = std::min(run.size(), static_cast<std::size_t>(most_px)), from = (run.size() - keep) / 2;
      Path p;
      for (std::size_t k = from; k < from + keep; ++k) p.points.push_back({run[k], false});
      p.inked_px = static_cast<double>(keep);
      p.ink_mass = stroke.ink_mass;
      p.level = stroke.level;
      p.lab = stroke.lab;
      found.push_back(std::move(p));
    }
    run.clear();
  };
  for (std::size_t m = 0; m < marks_.size(); ++m) {
    const Stroke& stroke = strokes_[marks_[m].stroke];
    if (marks_[m].owner < 0 && !stroke.is_dash && !stroke.closed) run.push_back(marks_[m].at);
    if (m + 1 == marks_.size() || marks_[m + 1].stroke != marks_[m].stroke || marks_[m].owner >= 0) close(stroke);
  }
  std::stable_sort(found.begin(), found.end(), [](const Path& a, const Path& b) { return a.inked_px > b.inked_px; });
  return found;
}

bool GraphField::Beats(const Path& seed) const {
  std::vector<double> mass;
  const double floor_level = std::max(6.0, 2.0 * field_.page->noise);
  for (std::size_t i = 3; i + 3 < seed.points.size(); ++i) {
    if (seed.points[i].bridged) continue;
    const ImagePoint a = seed.points[i - 3].at, b = seed.points[i + 3].at;
    mass.push_back(InkMassAcross(field_.page->ink, seed.points[i].at, std::atan2(b.y - a.y, b.x - a.x), floor_level));
  }
  if (mass.size() < 20) return false;
  std::sort(mass.begin(), mass.end());
  return mass[mass.size() / 8] < kBeat * mass[mass.size() * 5 / 8];
}

bool GraphField::Inked(ImagePoint p, double level) const {
  for (int dy = -1; dy <= 1; ++dy)
    for (int dx = -1; dx <= 1; ++dx)
      if (LevelAt(field_.page->ink, {p.x + dx, p.y + dy}) > kInked * level) return true;
  return false;
}

bool GraphField::Covered(ImagePoint p) const { return LevelAt(field_.cover, p) > 0; }

std::optional<double> GraphField::InkMiddle(ImagePoint p, double heading, double reach) const {
  double sum = 0, moment = 0;
  for (double z = -reach; z <= reach; z += 0.5) {
    const int ink = LevelAt(field_.page->ink, {p.x - z * std::sin(heading), p.y + z * std::cos(heading)});
    if (ink < 60) continue;
    sum += ink;
    moment += z * ink;
  }
  if (sum <= 0) return std::nullopt;
  return moment / sum;
}

bool GraphField::Merged(ImagePoint p, double heading, const LineTrack& line) const {
  return InkMassAcross(field_.page->ink, p, heading, std::max(6.0, 2.0 * field_.page->noise)) > kMerged * line.ink_mass + 0.2;
}

}  // namespace islebook
