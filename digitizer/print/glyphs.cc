#include "digitizer/print/glyphs.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr float kWidestRun = 9.0F;  // letters that run together: at most this many heights long

bool OnPaper(const cv::Mat1b& paper, const cv::Rect& box) {
  return paper.empty() || paper(box.y + box.height / 2, box.x + box.width / 2) != 0;
}

// The step at which a blob of this peak shows its half-darkness outline.
int HalfStep(const InkTree& tree, int step, int peak) {
  int half = step;
  while (half + 1 < tree.step_count() && tree.threshold(half + 1) <= peak / 2) ++half;
  return half;
}

// The blobs that a blob falls into on the way up to step `to`; what is too pale to get there stays as it last was.
void Descend(const InkTree& tree, int step, int blob, int to, std::vector<std::pair<int, int>>& out) {
  const auto children = tree.Children(step, blob);
  if (step == to || children.empty()) {
    out.emplace_back(step, blob);
    return;
  }
  for (const int child : children) Descend(tree, step + 1, child, to, out);
}

}  // namespace

Extent ExtentAlong(const std::vector<cv::Point2f>& hull, cv::Point2f direction) {
  Extent e{1e9F, -1e9F};
  for (const cv::Point2f& p : hull) {
    const float t = p.dot(direction);
    e.low = std::min(e.low, t);
    e.high = std::max(e.high, t);
  }
  return e;
}

Glyph MeasureGlyph(const std::vector<InkRun>& runs, const InkBlob& blob, const GlyphLimits& limits) {
  Glyph g;
  g.box = blob.box;
  g.area = blob.area;
  g.peak = blob.peak;
  std::vector<cv::Point2f> outline;
  outline.reserve(4 * runs.size());
  for (std::size_t i = 0; i < runs.size();) {
    std::size_t j = i;
    while (j < runs.size() && runs[j].y == runs[i].y) ++j;
    const float x0 = static_cast<float>(runs[i].x0) - 0.5F, x1 = static_cast<float>(runs[j - 1].x1) - 0.5F, y = static_cast<float>(runs[i].y);
    outline.insert(outline.end(), {{x0, y - 0.5F}, {x0, y + 0.5F}, {x1, y - 0.5F}, {x1, y + 0.5F}});
    i = j;
  }
  cv::convexHull(outline, g.hull);
  const cv::RotatedRect rect = cv::minAreaRect(g.hull);
  g.length = std::max(rect.size.width, rect.size.height);
  g.breadth = std::min(rect.size.width, rect.size.height);
  g.center = rect.center;
  // Outline length from how often rows and columns cross it (Crofton's formula with two directions).
  const float outline_length = std::numbers::pi_v<float> / 2.0F * static_cast<float>(blob.row_runs + blob.column_runs);
  g.stroke = 2.0F * static_cast<float>(blob.area) / outline_length;
  g.turns = outline_length / (2.0F * g.length);
  if (g.length < 0.9F * limits.min_height) {
    g.shape = GlyphShape::kDot;
  } else if (g.turns >= 1.42F || g.breadth >= 0.45F * g.length) {
    g.shape = GlyphShape::kLetter;
  } else {
    g.shape = GlyphShape::kStroke;
  }
  return g;
}

std::vector<Glyph> CollectGlyphs(const InkTree& tree, const GlyphLimits& limits, const cv::Mat1b& paper) {
  std::vector<Glyph> glyphs;
  const auto add = [&](int step, int blob, const InkBlob& b) {
    Glyph g = MeasureGlyph(tree.RunsOf(step, blob), b, limits);
    g.step = step;
    g.blob = blob;
    if (g.length > limits.max_height && (g.breadth > limits.max_height || g.length > kWidestRun * g.breadth || g.turns < 1.8F)) return;
    glyphs.push_back(std::move(g));
  };
  const int widest = static_cast<int>(kWidestRun * limits.max_height);
  std::vector<std::pair<int, int>> open;
  for (int i = 0; i < static_cast<int>(tree.blobs(0).size()); ++i) open.emplace_back(0, i);
  std::vector<std::pair<int, int>> parts;
  for (std::size_t k = 0; k < open.size(); ++k) {
    const auto [step, id] = open[k];
    const InkBlob& b = tree.blobs(step)[static_cast<std::size_t>(id)];
    if (!OnPaper(paper, b.box)) continue;
    const int side = std::max(b.box.width, b.box.height), small = std::min(b.box.width, b.box.height);
    if (side < 2 && b.peak < 2 * tree.threshold(0)) continue;  // a pale single pixel
    // A net of lines: too large, or too thinly filled to be letters that touch.
    const bool net = side > static_cast<int>(limits.max_height) &&
                     (side > widest || static_cast<float>(b.area) < 0.14F * static_cast<float>(b.box.area()) || small > static_cast<int>(1.5F * limits.max_height));
    if (net) {
      for (const int child : tree.Children(step, id)) open.emplace_back(step + 1, child);
      continue;
    }
    const int half = HalfStep(tree, step, b.peak);
    if (half > step && side > 4) {
      parts.clear();
      Descend(tree, step, id, half, parts);
      const auto part = [&](const std::pair<int, int>& p) -> const InkBlob& { return tree.blobs(p.first)[static_cast<std::size_t>(p.second)]; };
      const auto extent = [&](const std::pair<int, int>& p) { return std::max(part(p).box.width, part(p).box.height); };
      const auto sizable = std::count_if(parts.begin(), parts.end(), [&](const auto& p) { return extent(p) >= 0.55 * small && part(p).area >= 4; });
      if (sizable >= 1) {
        // Pale crumbs of a letter are left off; a dark one may be a point, and of several letters every part may be.
        for (const auto& p : parts)
          if (part(p).peak * 4 >= b.peak && (sizable >= 2 || extent(p) >= 0.2 * side || part(p).peak * 2 >= b.peak)) add(p.first, p.second, part(p));
        continue;
      }
    }
    add(step, id, b);
  }
  return glyphs;
}

}  // namespace islebook
