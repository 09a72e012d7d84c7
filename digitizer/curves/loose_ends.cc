#include "digitizer/curves/loose_ends.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

#include <opencv2/core.hpp>

namespace islebook {
namespace {

constexpr double kInkedCounts = 1.3;       // bare points that one on ink outweighs
constexpr double kLeastBare = 14.0;        // px more bare than inked at an end: what is taken off is no gap in the line
constexpr double kLeastBareInside = 40.0;  // the same between two inked parts, times the unit
constexpr double kLeastLeft = 0.4;         // of a path's ink that must stay together
constexpr double kOnGridPx = 3.0;          // from a grid line
constexpr double kOnGridPart = 0.7;        // of the points
constexpr double kShortPart = 0.25;        // of the frame: a longer one would have been seen to be grid before

unsigned char At(const cv::Mat1b& m, ImagePoint p) { return m(std::clamp(cvRound(p.y), 0, m.rows - 1), std::clamp(cvRound(p.x), 0, m.cols - 1)); }

Path PartOf(const Path& path, std::size_t from, std::size_t to) {
  Path part = path;
  part.points.assign(path.points.begin() + static_cast<long>(from), path.points.begin() + static_cast<long>(to));
  if (from > 0) part.head.clear();
  if (to < path.points.size()) part.tail.clear();
  part.inked_px = static_cast<double>(std::count_if(part.points.begin(), part.points.end(), [](const PathPoint& p) { return !p.bridged; }));
  return part;
}

// What a point counts for bare paper: nothing where print may hide the line.
double Bareness(const Path& path, std::size_t k, const cv::Mat1b& ink, const cv::Mat1b& cover) {
  const PathPoint& p = path.points[k];
  if (!p.bridged) return -kInkedCounts;
  if (At(cover, p.at) > 0) return 0.0;
  return At(ink, p.at) < 0.4 * path.level ? 1.0 : -kInkedCounts;
}

// How many points to take off an end, so that most of them are bare.
std::size_t BareTail(const Path& path, bool front, const cv::Mat1b& ink, const cv::Mat1b& cover) {
  const std::size_t n = path.points.size();
  double sum = 0, most = 0;
  std::size_t cut = 0;
  for (std::size_t k = 0; k < n && sum > -4.0 * kLeastBare; ++k) {
    sum += Bareness(path, front ? k : n - 1 - k, ink, cover);
    if (sum <= most) continue;
    most = sum;
    cut = k + 1;
  }
  return most < kLeastBare ? 0 : cut;
}

// The stretch with most bare paper over what is inked of it; empty where that is less than `least`.
std::pair<std::size_t, std::size_t> BareInside(const Path& path, const cv::Mat1b& ink, const cv::Mat1b& cover, double least) {
  double sum = 0, most = least;
  std::size_t start = 0;
  std::pair<std::size_t, std::size_t> stretch{0, 0};
  for (std::size_t k = 0; k < path.points.size(); ++k) {
    if (sum <= 0) {
      sum = 0;
      start = k;
    }
    sum += Bareness(path, k, ink, cover);
    if (sum <= most) continue;
    most = sum;
    stretch = {start, k + 1};
  }
  return stretch;
}

}  // namespace

void CutBareStretches(std::vector<Path>& paths, const cv::Mat1b& ink, const cv::Mat1b& cover, double unit_px) {
  std::vector<Path> cut_off;
  for (Path& path : paths) {
    if (path.closed || path.Dashed()) continue;
    for (const bool front : {true, false}) {
      const std::size_t cut = BareTail(path, front, ink, cover);
      if (cut == 0) continue;
      Path rest = front ? PartOf(path, cut, path.points.size()) : PartOf(path, 0, path.points.size() - cut);
      if (rest.inked_px >= kLeastLeft * path.inked_px) path = std::move(rest);
    }
    const auto [from, to] = BareInside(path, ink, cover, kLeastBareInside * unit_px);
    if (from == to) continue;
    Path front = PartOf(path, 0, from), back = PartOf(path, to, path.points.size());
    if (front.inked_px < back.inked_px) std::swap(front, back);
    if (front.inked_px < kLeastLeft * path.inked_px) continue;  // bare for the most part: dropped elsewhere
    path = std::move(front);
    if (back.inked_px > 0.0) cut_off.push_back(std::move(back));
  }
  paths.insert(paths.end(), std::make_move_iterator(cut_off.begin()), std::make_move_iterator(cut_off.end()));
}

void DropGridLines(const Panel& panel, double unit_px, std::vector<Path>& paths) {
  const double width = panel.frame.WidthPx(), height = panel.frame.HeightPx();
  // The frame's own sides are lines of it too.
  std::vector<double> along = panel.grid_u, across = panel.grid_v;
  for (std::vector<double>* places : {&along, &across}) places->insert(places->end(), {0.0, 1.0});
  const auto lies_on = [&](const Path& path, const std::vector<double>& places, bool vertical) {
    const double size = vertical ? width : height;
    for (const double place : places) {
      std::size_t on = 0;
      for (const PathPoint& p : path.points) {
        const FramePoint f = panel.frame.FrameFromImage(p.at);
        on += std::abs((vertical ? f.u : f.v) - place) * size < kOnGridPx * unit_px;
      }
      if (static_cast<double>(on) > kOnGridPart * static_cast<double>(path.points.size())) return true;
    }
    return false;
  };
  std::erase_if(paths, [&](const Path& path) {
    if (path.closed || path.points.size() < 2) return false;
    const FramePoint a = panel.frame.FrameFromImage(path.points.front().at), b = panel.frame.FrameFromImage(path.points.back().at);
    const double du = std::abs(b.u - a.u), dv = std::abs(b.v - a.v);
    return (du < kShortPart && du * width > 4.0 * dv * height && lies_on(path, across, false)) ||
           (dv < kShortPart && dv * height > 4.0 * du * width && lies_on(path, along, true));
  });
}

}  // namespace islebook
