#include "digitizer/drawing/drawn_lines.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/drawing/strips.h"

namespace islebook {
namespace {

constexpr double kSmallPart = 0.04;   // of the page's shorter side: filled shapes below this in height and width may be letters
constexpr double kShown = 0.12;       // of a line's points: fewer that show, and the line is hidden
constexpr double kAreaPart = 0.05;    // of the page's shorter side: smaller filled areas have no edges worth following
constexpr double kGroundPart = 0.15;  // larger rectangles are grounds to draw on
constexpr double kPaper = 0.02;       // less blackness is paper
constexpr double kAlongPx = 1.5;      // an edge closer than this to a stroke is that stroke's
constexpr float kFree = -100.0F;
constexpr double kAlongTurn = 0.2;         // rad
constexpr std::size_t kCrossing = 16;      // points
constexpr std::size_t kLeastEdge = 24;     // points of an edge
constexpr double kMostPoints = 3'000'000;  // of all chains

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

// Points about 1 px apart, every corner kept.
std::vector<ImagePoint> Densify(const std::vector<ImagePoint>& line, bool closed) {
  std::vector<ImagePoint> out;
  const std::size_t n = line.size(), segments = closed ? n : n - 1;
  out.push_back(line[0]);
  double since = 0.0;
  for (std::size_t i = 0; i < segments; ++i) {
    const ImagePoint &a = line[i], &b = line[(i + 1) % n];
    const double length = Distance(a, b);
    if (length < 1e-9) continue;
    double at = std::max(0.0, 1.0 - since);
    for (; at < length - 1e-6; at += 1.0) out.push_back({a.x + at / length * (b.x - a.x), a.y + at / length * (b.y - a.y)});
    since = length - (at - 1.0);
    const bool last = !closed && i + 1 == segments;
    bool corner = false;
    if (!last && !(closed && i + 1 == segments)) {
      const ImagePoint& c = line[(i + 2) % n];
      const double turn = std::remainder(std::atan2(c.y - b.y, c.x - b.x) - std::atan2(b.y - a.y, b.x - a.x), 2 * M_PI);
      corner = std::abs(turn) > 0.1;
    }
    if (last || corner) {
      if (Distance(out.back(), b) < 0.05 && out.size() > 1)
        out.back() = b;
      else
        out.push_back(b);
      since = 0.0;
    }
  }
  if (closed && out.size() > 2 && Distance(out.front(), out.back()) < 0.3) out.pop_back();
  return out;
}

double LengthOf(const std::vector<ImagePoint>& points, bool closed) {
  double length = closed && points.size() > 1 ? Distance(points.back(), points.front()) : 0.0;
  for (std::size_t i = 1; i < points.size(); ++i) length += Distance(points[i - 1], points[i]);
  return length;
}

// An upright rectangle, as most clips are.
std::optional<cv::Rect2d> AsRect(const std::vector<Polyline>& clip) {
  if (clip.size() != 1 || clip[0].points.size() != 4) return std::nullopt;
  const cv::Rect2d box = BoxOf(clip);
  for (const ImagePoint& p : clip[0].points)
    if (std::min(std::abs(p.x - box.x), std::abs(p.x - box.x - box.width)) > 1e-3 ||
        std::min(std::abs(p.y - box.y), std::abs(p.y - box.y - box.height)) > 1e-3)
      return std::nullopt;
  return box;
}

class Clips {
 public:
  explicit Clips(const DrawnPage& drawn) : drawn_(drawn) {
    for (const auto& clip : drawn.clips) rects_.push_back(AsRect(clip));
  }
  bool Inside(const std::vector<int>& clips, ImagePoint p) const {
    for (const int c : clips) {
      const auto i = static_cast<std::size_t>(c);
      constexpr double kSlack = 0.05;  // a line along the clip's own edge shows with half its width
      if (rects_[i]) {
        const cv::Rect2d& r = *rects_[i];
        if (p.x < r.x - kSlack || p.x > r.x + r.width + kSlack || p.y < r.y - kSlack || p.y > r.y + r.height + kSlack) return false;
      } else if (!drawn_.clips[i].empty() && !InsideClip(drawn_.clips[i], p)) {
        return false;
      }
    }
    return true;
  }

  // The runs of a dense line that lie inside, their ends brought to the edge.
  std::vector<Polyline> Cut(const std::vector<int>& clips, const Polyline& line) const {
    if (clips.empty()) return {line};
    const std::size_t n = line.points.size();
    std::vector<char> in(n);
    for (std::size_t i = 0; i < n; ++i) in[i] = Inside(clips, line.points[i]) ? 1 : 0;
    if (std::find(in.begin(), in.end(), 0) == in.end()) return {line};
    std::size_t start = 0;
    if (line.closed) {
      while (start < n && in[start] != 0) ++start;  // a place outside, so that no run crosses the seam
    }
    std::vector<Polyline> out;
    bool open = false;
    const std::size_t steps = line.closed ? n + 1 : n;
    for (std::size_t k = 0; k < steps; ++k) {
      const std::size_t i = (start + k) % n, before = (start + k + n - 1) % n;
      const bool has_before = k > 0;
      if (in[i] != 0) {
        if (!open) {
          out.emplace_back();
          if (has_before) out.back().points.push_back(Edge(clips, line.points[i], line.points[before]));
          open = true;
        }
        out.back().points.push_back(line.points[i]);
      } else if (open) {
        out.back().points.push_back(Edge(clips, line.points[before], line.points[i]));
        open = false;
      }
    }
    std::erase_if(out, [](const Polyline& run) { return run.points.size() < 2; });
    return out;
  }

 private:
  ImagePoint Edge(const std::vector<int>& clips, ImagePoint inside, ImagePoint outside) const {
    for (int i = 0; i < 20; ++i) {
      const ImagePoint middle{(inside.x + outside.x) / 2, (inside.y + outside.y) / 2};
      (Inside(clips, middle) ? inside : outside) = middle;
    }
    return inside;
  }

  const DrawnPage& drawn_;
  std::vector<std::optional<cv::Rect2d>> rects_;
};

// Darkness against white paper, 0..1, colored ink counting more than its luminance.
double Blackness(cv::Vec3b color, bool inverted) {
  if (inverted) color = cv::Vec3b(255 - color[0], 255 - color[1], 255 - color[2]);
  const double light = 0.114 * color[0] + 0.587 * color[1] + 0.299 * color[2];
  return 1.0 - (0.5 * light + 0.5 * std::min({color[0], color[1], color[2]})) / 255.0;
}

cv::Vec3f LabOf(cv::Vec3b color, bool inverted) {
  if (inverted) color = cv::Vec3b(255 - color[0], 255 - color[1], 255 - color[2]);
  cv::Mat3f one(1, 1, cv::Vec3f(color[0] / 255.0F, color[1] / 255.0F, color[2] / 255.0F)), lab;
  cv::cvtColor(one, lab, cv::COLOR_BGR2Lab);
  return lab(0, 0);
}

// Part of the points under which the picture has ink.
double PartShown(const cv::Mat1b& ink, const std::vector<ImagePoint>& points) {
  std::size_t shown = 0, looked = 0;
  const std::size_t stride = std::max<std::size_t>(1, points.size() / 400);
  for (std::size_t i = 0; i < points.size(); i += stride) {
    const int x = cvRound(points[i].x), y = cvRound(points[i].y);
    ++looked;
    bool dark = false;
    for (int dy = -1; dy <= 1 && !dark; ++dy)
      for (int dx = -1; dx <= 1 && !dark; ++dx)
        dark = x + dx >= 0 && y + dy >= 0 && x + dx < ink.cols && y + dy < ink.rows && ink(y + dy, x + dx) > 12;
    shown += dark ? 1 : 0;
  }
  return looked == 0 ? 0.0 : static_cast<double>(shown) / static_cast<double>(looked);
}

bool IsBar(const DrawnShape& shape) { return shape.lines.size() == 1 && shape.lines[0].points.size() == 4; }

bool IsUprightRect(const DrawnShape& shape) { return AsRect(shape.lines).has_value(); }

class Sorter {
 public:
  Sorter(const DrawnPage& drawn, const Page& page) : drawn_(drawn), page_(page), clips_(drawn) {}

  SortedShapes Sort() {
    const double side = std::min(page_.ink.cols, page_.ink.rows);
    const auto is_small = [&](const cv::Rect2d& box) { return box.width < kSmallPart * side && box.height < kSmallPart * side; };
    std::vector<const DrawnShape*> areas;
    std::vector<cv::Vec3b> grounds;  // colors of large rectangles: what pads under labels are filled with
    for (const DrawnShape& shape : drawn_.shapes) {
      const cv::Rect2d box = BoxOf(shape.lines);
      if (shape.stroked) {
        for (const Polyline& line : shape.lines) AddChains(shape, line, shape.width_px, false);
        if (is_small(box)) sorted_.small_strokes.push_back(&shape);
        continue;
      }
      const bool rect = IsUprightRect(shape);
      if (rect && std::min(box.width, box.height) > kGroundPart * side) grounds.push_back(shape.color);
      if (Blackness(shape.color, page_.inverted) < kPaper || std::ranges::find(grounds, shape.color) != grounds.end()) continue;
      if (std::ranges::all_of(shape.lines, [&](const Polyline& line) { return is_small(BoxOf({line})); })) {
        sorted_.small.push_back(&shape);
        if (!IsBar(shape)) continue;  // a bar may be a letter's stem, a tick or a dash
      }
      if (const std::vector<Strip> strips = FindStrips(shape.lines); !strips.empty())
        for (const Strip& strip : strips) AddChains(shape, strip.middle, strip.width_px, false);
      else if (!rect && std::min(box.width, box.height) > kAreaPart * side)
        areas.push_back(&shape);
    }
    AddEdges(areas);
    return std::move(sorted_);
  }

 private:
  void AddChains(const DrawnShape& shape, const Polyline& line, double width_px, bool edge) {
    if (points_ > kMostPoints || line.points.size() < 2) return;
    const double reach = LengthOf(line.points, line.closed);
    if (!(reach < 4e5)) return;
    for (Polyline& run : clips_.Cut(shape.clips, {Densify(line.points, line.closed), line.closed})) AddChain(shape, std::move(run), width_px, edge);
  }

  void AddChain(const DrawnShape& shape, Polyline run, double width_px, bool edge) {
    if (run.points.size() < 2) return;
    if (!edge && (Blackness(shape.color, page_.inverted) < kPaper || PartShown(page_.ink, run.points) < kShown)) {
      ++sorted_.hidden;
      return;
    }
    RidgeChain chain;
    chain.closed = run.closed;
    // A line that comes back to its beginning is closed, however it was written.
    if (!chain.closed && run.points.size() > 12 && Distance(run.points.front(), run.points.back()) < 0.05) {
      chain.closed = true;
      run.points.pop_back();
    }
    chain.length_px = LengthOf(run.points, chain.closed);
    chain.points = std::move(run.points);
    chain.strength.assign(chain.points.size(), 40.0F);
    chain.ink_mass = std::max(0.3, width_px) * Blackness(shape.color, page_.inverted);
    chain.lab = LabOf(shape.color, page_.inverted);
    chain.dash_pattern = !shape.dashes_px.empty();
    chain.area_edge = edge;
    points_ += static_cast<double>(chain.points.size());
    sorted_.chains.push_back(std::move(chain));
  }

  // Edges of filled areas, less what runs along strokes or along other edges, and less what is upright or level (the areas' own box).
  void AddEdges(const std::vector<const DrawnShape*>& areas) {
    if (areas.empty()) return;
    cv::Mat1f taken(page_.ink.size(), kFree);  // direction of the line that runs here
    const auto draw = [&](const std::vector<ImagePoint>& points, bool closed) {
      for (std::size_t i = closed ? 0 : 1; i < points.size(); ++i) {
        const ImagePoint &a = points[i == 0 ? points.size() - 1 : i - 1], &b = points[i];
        const auto direction = static_cast<float>(std::atan2(b.y - a.y, b.x - a.x));
        cv::line(taken, {cvRound(a.x), cvRound(a.y)}, {cvRound(b.x), cvRound(b.y)}, cv::Scalar(direction), static_cast<int>(2 * kAlongPx));
      }
    };
    for (const RidgeChain& chain : sorted_.chains) draw(chain.points, chain.closed);
    const cv::Vec3b one_color = areas.front()->color;  // an edge has no color of its own
    for (const DrawnShape* shape : areas) {
      DrawnShape edge;
      edge.clips = shape->clips;
      edge.color = one_color;
      for (const Polyline& line : shape->lines) {
        if (line.points.size() >= 3) AddFreeRuns(edge, {Densify(line.points, true), true}, taken);
      }
      for (const Polyline& line : shape->lines) draw(line.points, true);
    }
  }

  void AddFreeRuns(const DrawnShape& edge, const Polyline& dense, const cv::Mat1f& taken) {
    const std::size_t n = dense.points.size();
    if (n < kLeastEdge) return;
    std::vector<char> free(n, 0);
    for (std::size_t i = 0; i < n; ++i) {
      const ImagePoint p = dense.points[i], q = dense.points[(i + 4) % n];
      const int x = cvRound(p.x), y = cvRound(p.y);
      if (x < 0 || y < 0 || x >= taken.cols || y >= taken.rows) continue;
      const bool upright = std::min(std::abs(p.x - q.x), std::abs(p.y - q.y)) < 1e-3;
      // What crosses is no hindrance.
      const bool along = taken(y, x) != kFree && std::abs(std::remainder(taken(y, x) - std::atan2(q.y - p.y, q.x - p.x), M_PI)) < kAlongTurn;
      free[i] = !along && !upright ? 1 : 0;
    }
    if (std::ranges::find(free, 1) == free.end()) return;
    if (std::ranges::find(free, 0) == free.end()) {
      AddChains(edge, dense, 1.0, true);
      return;
    }
    // Short stretches beside another line are crossings at a shallow angle.
    std::size_t start = 0;
    while (free[start] == 0) ++start;
    for (std::size_t k = 0, since = 0; k < n; ++k) {
      const std::size_t i = (start + k) % n;
      if (free[i] == 0) {
        ++since;
      } else {
        if (since > 0 && since <= kCrossing)
          for (std::size_t back = 1; back <= since; ++back) free[(i + n - back) % n] = 1;
        since = 0;
      }
    }
    start = 0;
    while (start < n && free[start] != 0) ++start;
    if (start == n) {
      AddChains(edge, dense, 1.0, true);
      return;
    }
    Polyline run;
    for (std::size_t k = 0; k <= n; ++k) {
      const std::size_t i = (start + k) % n;
      if (k < n && free[i] != 0) {
        run.points.push_back(dense.points[i]);
      } else {
        if (run.points.size() >= kLeastEdge) AddChains(edge, run, 1.0, true);
        run.points.clear();
      }
    }
  }

  const DrawnPage& drawn_;
  const Page& page_;
  Clips clips_;
  SortedShapes sorted_;
  double points_ = 0.0;
};

}  // namespace

SortedShapes SortShapes(const DrawnPage& drawn, const Page& page) { return Sorter(drawn, page).Sort(); }

}  // namespace islebook
