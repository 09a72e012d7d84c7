#include "digitizer/print/glyphs.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr float kWidestRun = 9.0F;  // letters that run together: at most this many heights long

bool OnPaper(const cv::Mat1b& paper, const cv::Rect& box) { return paper.empty() || paper(box.y + box.height / 2, box.x + box.width / 2) != 0; }

int Longest(const InkBlob& b) { return std::max(b.box.width, b.box.height); }

// Takes a blob apart: into the blobs that it falls into at higher thresholds, up to half of each one's own darkness. A letter that merely
// goes to pieces, because it is paler in places, stays whole.
class Divider {
 public:
  Divider(const InkTree& tree, const GlyphLimits& limits) : tree_(tree), limits_(limits) {}
  std::vector<std::pair<int, int>> parts;  // step and blob

  void Visit(int step, int id) {
    const InkBlob& b = At(step, id);
    if (IsNet(b)) {
      for (const int child : tree_.Children(step, id)) Visit(step + 1, child);
      return;
    }
    const auto children = tree_.Children(step, id);
    if (step + 1 >= tree_.step_count() || tree_.threshold(step + 1) > b.peak / 2 || children.empty() || Longest(b) <= 4) {
      parts.emplace_back(step, id);
      return;
    }
    const int small = std::min(b.box.width, b.box.height);
    const bool letter_like = Longest(b) * 10 <= small * 22 && b.area * 100 >= b.box.area() * 22;
    if (children.size() == 1) {
      if (letter_like && Longest(At(step + 1, children[0])) * 10 < Longest(b) * 6)
        parts.emplace_back(step, id);
      else
        Visit(step + 1, children[0]);
      return;
    }
    int sizable = 0, largest = 0;
    for (const int child : children) {
      const InkBlob& c = At(step + 1, child);
      if (Longest(c) >= 0.55 * small && c.area >= 4) ++sizable;
      largest = std::max(largest, Longest(c));
    }
    if (letter_like && (sizable == 0 || (sizable == 1 && largest * 10 < Longest(b) * 6))) {
      parts.emplace_back(step, id);
      return;
    }
    for (const int child : children) {
      const InkBlob& c = At(step + 1, child);
      // Pale crumbs go; dark ones may be points.
      if (Longest(c) >= 0.3 * largest || c.peak * 5 >= b.peak * 2) Visit(step + 1, child);
    }
  }

 private:
  const InkBlob& At(int step, int id) const { return tree_.blobs(step)[static_cast<std::size_t>(id)]; }
  // A net of lines: too large, or too thinly filled to be letters that touch.
  bool IsNet(const InkBlob& b) const {
    const int side = Longest(b), small = std::min(b.box.width, b.box.height);
    if (side <= static_cast<int>(limits_.max_height)) return false;
    return side > static_cast<int>(kWidestRun * limits_.max_height) || static_cast<float>(b.area) < 0.14F * static_cast<float>(b.box.area()) ||
           small > static_cast<int>(1.5F * limits_.max_height);
  }
  const InkTree& tree_;
  const GlyphLimits& limits_;
};

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
  cv::Point2f corner[4];
  rect.points(corner);
  const cv::Point2f one = corner[1] - corner[0], two = corner[2] - corner[1];
  g.axis = one.dot(one) > two.dot(two) ? one : two;
  g.axis *= 1.0F / std::max(1e-3F, std::hypot(g.axis.x, g.axis.y));
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
  Divider divider(tree, limits);
  for (int i = 0; i < static_cast<int>(tree.blobs(0).size()); ++i) {
    const InkBlob& b = tree.blobs(0)[static_cast<std::size_t>(i)];
    if (Longest(b) < 2 && b.peak < 2 * tree.threshold(0)) continue;  // a pale single pixel
    if (Longest(b) < limits.max_height && !OnPaper(paper, b.box)) continue;
    divider.Visit(0, i);
  }
  std::vector<Glyph> glyphs;
  for (const auto& [step, id] : divider.parts) {
    const InkBlob& b = tree.blobs(step)[static_cast<std::size_t>(id)];
    if (!OnPaper(paper, b.box)) continue;
    Glyph g = MeasureGlyph(tree.RunsOf(step, id), b, limits);
    g.step = step;
    g.blob = id;
    if (g.length > limits.max_height && (g.breadth > limits.max_height || g.length > kWidestRun * g.breadth || g.turns < 1.8F)) continue;
    glyphs.push_back(std::move(g));
  }
  return glyphs;
}

}  // namespace islebook
