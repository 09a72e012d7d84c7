#include <algorithm>
#include <cmath>
#include <numbers>

#include <opencv2/core.hpp>

#include "digitizer/print/print.h"

namespace islebook {
namespace {

constexpr double kDegree = std::numbers::pi / 180.0;

// Does q follow p on p's base line, within `gap` heights? The longer of the two words knows the direction better.
bool Follows(const Word& p, const Word& q, double gap) {
  const double h = std::max(p.height_px, q.height_px);
  if (std::min(p.height_px, q.height_px) < 0.55 * h) return false;
  const Word& guide = p.width_px >= q.width_px ? p : q;
  const double c = std::cos(guide.angle_deg * kDegree), s = std::sin(guide.angle_deg * kDegree);
  const double dx = q.center.x - p.center.x, dy = q.center.y - p.center.y;
  const double along = c * dx + s * dy, across = -s * dx + c * dy;
  if (along <= 0.0 || std::abs(across) > 0.3 * h + 0.03 * along) return false;
  if (p.glyphs.size() > 3 && q.glyphs.size() > 3 && std::abs(std::remainder(p.angle_deg - q.angle_deg, 180.0)) > 10.0) return false;
  const double between = along - (p.width_px + q.width_px) / 2.0;
  return between < gap * h && between > -0.4 * h;
}

}  // namespace

Word JoinWords(const std::vector<Word>& words) {
  Word joined;
  if (words.empty()) return joined;
  const auto longest = std::max_element(words.begin(), words.end(), [](const Word& p, const Word& q) { return p.width_px < q.width_px; });
  joined = *longest;
  if (words.size() == 1) return joined;
  // The longest word's direction, made better by the line through the words' centers where they lie far apart.
  double angle = longest->angle_deg;
  const auto far_apart = [&](double at) {
    const double c = std::cos(at * kDegree), s = std::sin(at * kDegree);
    const auto along = [&](const Word& w) { return w.center.x * c + w.center.y * s; };
    return std::minmax_element(words.begin(), words.end(), [&](const Word& p, const Word& q) { return along(p) < along(q); });
  };
  const auto [first, last] = far_apart(angle);
  const double dx = last->center.x - first->center.x, dy = last->center.y - first->center.y;
  if (std::hypot(dx, dy) > 1.5 * longest->width_px) {
    const double through = std::atan2(dy, dx) / kDegree;
    if (std::abs(through - angle) < 5.0) angle = through;
  }
  const double c = std::cos(angle * kDegree), s = std::sin(angle * kDegree);
  double start = 1e9, end = -1e9, top = 1e9, base = -1e9;
  std::vector<std::pair<double, cv::Rect>> boxes;
  for (const Word& w : words) {
    const double a = w.center.x * c + w.center.y * s, b = -w.center.x * s + w.center.y * c;
    start = std::min(start, a - w.width_px / 2.0);
    end = std::max(end, a + w.width_px / 2.0);
    if (w.height_px < 0.7 * longest->height_px) continue;  // a raised figure does not set the height
    top = std::min(top, b - w.height_px / 2.0);
    base = std::max(base, b + w.height_px / 2.0);
  }
  for (const Word& w : words)
    for (const cv::Rect& g : w.glyphs) boxes.emplace_back((g.x + g.width / 2.0) * c + (g.y + g.height / 2.0) * s, g);
  std::sort(boxes.begin(), boxes.end(), [](const auto& p, const auto& q) { return p.first < q.first; });
  if (std::any_of(words.begin(), words.end(), [](const Word& w) { return !w.own.empty(); })) {
    // One mask for all: a word that no line touches owns its boxes.
    cv::Rect all;
    for (const Word& w : words) {
      for (const cv::Rect& g : w.glyphs) all |= g;
      if (!w.own.empty()) all |= cv::Rect(w.own_at, w.own.size());
    }
    joined.own = cv::Mat1b(all.size(), 0);
    joined.own_at = all.tl();
    for (const Word& w : words) {
      if (w.own.empty()) {
        for (const cv::Rect& g : w.glyphs) joined.own(g - all.tl()).setTo(cv::Scalar(255));
      } else {
        cv::Mat1b part = joined.own(cv::Rect(w.own_at - all.tl(), w.own.size()));
        cv::bitwise_or(part, w.own, part);
      }
    }
  }
  joined.glyphs.clear();
  for (const auto& [at, box] : boxes) joined.glyphs.push_back(box);
  const double a = (start + end) / 2.0, b = (top + base) / 2.0;
  joined.center = {a * c - b * s, a * s + b * c};
  joined.angle_deg = angle;
  joined.width_px = end - start;
  joined.height_px = std::max(longest->height_px, base - top);
  return joined;
}

std::vector<std::vector<std::size_t>> GroupIntoLines(const std::vector<Word>& words, double gap) {
  const std::size_t n = words.size();
  constexpr std::size_t kNone = static_cast<std::size_t>(-1);
  std::vector<std::size_t> next(n, kNone), previous(n, kNone);
  struct Pair {
    double distance;
    std::size_t p, q;
  };
  std::vector<Pair> pairs;
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) {
      if (i == j || !Follows(words[i], words[j], gap)) continue;
      pairs.push_back(
          {std::hypot(words[j].center.x - words[i].center.x, words[j].center.y - words[i].center.y) - (words[i].width_px + words[j].width_px) / 2.0,
           i, j});
    }
  std::stable_sort(pairs.begin(), pairs.end(), [](const Pair& a, const Pair& b) { return a.distance < b.distance; });
  for (const Pair& pair : pairs) {
    if (next[pair.p] != kNone || previous[pair.q] != kNone) continue;
    std::size_t end = pair.q;  // no rings
    while (next[end] != kNone) end = next[end];
    if (end == pair.p) continue;
    next[pair.p] = pair.q;
    previous[pair.q] = pair.p;
  }
  std::vector<std::vector<std::size_t>> lines;
  for (std::size_t i = 0; i < n; ++i) {
    if (previous[i] != kNone) continue;
    std::vector<std::size_t> line;
    for (std::size_t k = i; k != kNone; k = next[k]) line.push_back(k);
    lines.push_back(std::move(line));
  }
  return lines;
}

}  // namespace islebook
