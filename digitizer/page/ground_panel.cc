#include "digitizer/page/ground_panel.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr double kLeastContrast = 8.0;  // gray levels between the panel and the page
constexpr double kLeastArea = 0.08, kMostArea = 0.97;
constexpr double kLeastPage = 0.12;  // part of the sheet that is bare page
constexpr double kDarkPart = 0.55;   // of the page's brightness: a ground darker than this carries light lines
constexpr int kProbes = 160;         // places along a side

double MedianOf(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double GrayAt(const cv::Mat3b& pixels, double x, double y) {
  const int x0 = static_cast<int>(std::floor(x)), y0 = static_cast<int>(std::floor(y));
  if (x0 < 0 || y0 < 0 || x0 + 1 >= pixels.cols || y0 + 1 >= pixels.rows) return -1.0;
  const double fx = x - x0, fy = y - y0;
  const auto gray = [&](int r, int c) {
    const cv::Vec3b& p = pixels(r, c);
    return 0.114 * p[0] + 0.587 * p[1] + 0.299 * p[2];
  };
  return (1 - fy) * ((1 - fx) * gray(y0, x0) + fx * gray(y0, x0 + 1)) + fy * ((1 - fx) * gray(y0 + 1, x0) + fx * gray(y0 + 1, x0 + 1));
}

// Where the gray steps from the page's to the panel's across a side that runs from a to b with the panel on its right.
std::vector<ImagePoint> Step(const cv::Mat3b& pixels, ImagePoint a, ImagePoint b, double reach, double contrast) {
  const double length = std::hypot(b.x - a.x, b.y - a.y);
  const double dx = (b.x - a.x) / length, dy = (b.y - a.y) / length, nx = -dy, ny = dx;  // into the panel, y down
  struct Found {
    double s, d;
  };
  std::vector<Found> found;
  constexpr double kStep = 0.5;
  const int half = static_cast<int>(reach / kStep);
  for (int i = 0; i < kProbes; ++i) {
    const double s = length * (0.03 + 0.94 * (i + 0.5) / kProbes);
    std::vector<double> profile;
    bool whole = true;
    for (int k = -half; k <= half && whole; ++k) {
      const double v = GrayAt(pixels, a.x + s * dx + k * kStep * nx, a.y + s * dy + k * kStep * ny);
      whole = v >= 0.0;
      profile.push_back(-v);  // rises into the panel
    }
    if (!whole) continue;
    // Levels of the page and the panel well away from the step; lines may cross either.
    const auto third = static_cast<std::ptrdiff_t>(profile.size() / 3);
    const double outside = MedianOf({profile.begin(), profile.begin() + third}), inside = MedianOf({profile.end() - third, profile.end()});
    if (inside - outside < 0.6 * contrast) continue;
    const double middle = 0.5 * (outside + inside);
    // The last crossing upward from outside that is followed by nothing but panel for a while.
    double at = 0.0;
    int crossings = 0;
    for (std::size_t k = 1; k < profile.size(); ++k) {
      if ((profile[k - 1] < middle) == (profile[k] < middle)) continue;
      ++crossings;
      at = (static_cast<double>(k - 1) + (middle - profile[k - 1]) / (profile[k] - profile[k - 1]) - half) * kStep;
    }
    if (crossings == 1) found.push_back({s, at});
  }
  // A straight or gently bowed edge: what strays from the running median goes.
  std::vector<ImagePoint> out;
  for (std::size_t i = 0; i < found.size(); ++i) {
    std::vector<double> near;
    for (std::size_t k = i > 6 ? i - 6 : 0; k < std::min(found.size(), i + 7); ++k) near.push_back(found[k].d);
    if (std::abs(found[i].d - MedianOf(near)) > 1.2) continue;
    out.push_back({a.x + found[i].s * dx + found[i].d * nx, a.y + found[i].s * dy + found[i].d * ny});
  }
  return out;
}

// a + b s through the points, s along the side's longer direction.
struct Straight {
  double a = 0.0, b = 0.0;
  bool level = true;
};

Straight FitStraight(const std::vector<ImagePoint>& points, bool level) {
  double n = 0, ss = 0, sd = 0, sss = 0, ssd = 0;
  for (const ImagePoint& p : points) {
    const double s = level ? p.x : p.y, d = level ? p.y : p.x;
    n += 1, ss += s, sd += d, sss += s * s, ssd += s * d;
  }
  Straight line;
  line.level = level;
  const double determinant = n * sss - ss * ss;
  if (std::abs(determinant) < 1e-9) return line;
  line.b = (n * ssd - ss * sd) / determinant;
  line.a = (sd - line.b * ss) / n;
  return line;
}

ImagePoint Meet(const Straight& row, const Straight& column) {
  const double x = (column.a + column.b * row.a) / (1.0 - column.b * row.b);
  return {x, row.a + row.b * x};
}

}  // namespace

std::optional<GroundPanel> FindGroundPanel(const cv::Mat3b& pixels, const cv::Mat3b& small, const cv::Mat1b& paper) {
  if (small.rows < 60 || small.cols < 60) return std::nullopt;
  cv::Mat1b gray, ground;
  cv::cvtColor(small, gray, cv::COLOR_BGR2GRAY);
  // The page's ground: what most of its rim is; on a sheet that is all page, or has a scanner's bed around it, its brightest level of some extent.
  double page = 0.0, least = kLeastContrast;
  if (paper.empty()) {
    cv::medianBlur(gray, ground, 17);
    std::vector<double> levels;
    for (int y = 0; y < ground.rows; y += 3)
      for (int x = 0; x < ground.cols; x += 3) levels.push_back(ground(y, x));
    const auto high = levels.begin() + static_cast<std::ptrdiff_t>(0.85 * static_cast<double>(levels.size()));
    std::nth_element(levels.begin(), high, levels.end());
    page = *high;
    const auto even = std::ranges::count_if(levels, [&](double v) { return std::abs(v - page) < 6.0; });
    // A desk, a shadow: no even page around a panel.
    if (static_cast<double>(even) < kLeastPage * static_cast<double>(levels.size())) return std::nullopt;
  } else {
    const int band = std::max(2, std::min(gray.rows, gray.cols) / 60);
    cv::Mat1b rim_mask = paper.clone(), inner;
    cv::erode(rim_mask, inner, cv::getStructuringElement(cv::MORPH_RECT, {2 * band + 1, 2 * band + 1}), {-1, -1}, 1, cv::BORDER_CONSTANT, 0);
    rim_mask.setTo(0, inner);
    std::vector<double> rim, strays;
    for (int y = 0; y < gray.rows; y += 2)
      for (int x = 0; x < gray.cols; x += 2)
        if (rim_mask(y, x) != 0) rim.push_back(gray(y, x));
    page = MedianOf(rim);
    for (const double v : rim) strays.push_back(std::abs(v - page));
    const double uneven = MedianOf(strays);
    if (uneven > 20.0) return std::nullopt;
    least = std::max(kLeastContrast, 3.0 * uneven);
    cv::medianBlur(gray, ground, 17);
  }
  cv::Mat1b unlike = cv::Mat1b::zeros(gray.size());
  for (int y = 0; y < ground.rows; ++y)
    for (int x = 0; x < ground.cols; ++x)
      if (page - ground(y, x) > least && (paper.empty() || paper(y, x) != 0)) unlike(y, x) = 255;
  cv::morphologyEx(unlike, unlike, cv::MORPH_CLOSE, cv::getStructuringElement(cv::MORPH_RECT, {9, 9}));
  cv::Mat labels, stats, centers;
  const int n = cv::connectedComponentsWithStats(unlike, labels, stats, centers, 8);
  // The largest that fills four sides; a scanner's bed around the paper does not.
  std::vector<int> order;
  for (int i = 1; i < n; ++i) order.push_back(i);
  std::ranges::stable_sort(order, std::greater<>(), [&](int i) { return stats.at<int>(i, cv::CC_STAT_AREA); });
  std::vector<cv::Point> inside, quad;
  bool found = false;
  for (std::size_t k = 0; k < order.size() && k < 3 && !found; ++k) {
    const int area = stats.at<int>(order[k], cv::CC_STAT_AREA);
    if (area < kLeastArea * static_cast<double>(gray.total()) || area > kMostArea * static_cast<double>(gray.total())) continue;
    std::vector<cv::Point> hull;
    cv::findNonZero(labels == order[k], inside);
    cv::convexHull(inside, hull);
    cv::approxPolyDP(hull, quad, 0.02 * cv::arcLength(hull, true), true);
    found = quad.size() == 4 && area >= 0.88 * cv::contourArea(quad);
  }
  if (!found) return std::nullopt;
  std::vector<double> levels;
  for (std::size_t i = 0; i < inside.size(); i += 7) levels.push_back(ground(inside[i]));
  const double level = MedianOf(levels);

  const double sx = static_cast<double>(pixels.cols) / small.cols, sy = static_cast<double>(pixels.rows) / small.rows;
  // Clockwise from the top left.
  double cx = 0.0, cy = 0.0;
  for (const cv::Point& p : quad) cx += p.x / 4.0, cy += p.y / 4.0;
  std::ranges::sort(quad, {}, [&](const cv::Point& p) { return std::atan2(p.y - cy, p.x - cx); });
  const auto first = std::ranges::min_element(quad, {}, [](const cv::Point& p) { return p.x + p.y; });
  std::ranges::rotate(quad, first);
  std::array<ImagePoint, 4> rough;
  for (std::size_t i = 0; i < 4; ++i) {
    const cv::Point &p = quad[i], &q = quad[(i + 1) % 4];
    // Sides of a plot are near to level and upright.
    const double lean = std::abs(std::remainder(std::atan2(q.y - p.y, q.x - p.x) * 180.0 / CV_PI, 90.0));
    if (lean > (paper.empty() ? 5.0 : 32.0)) return std::nullopt;
    rough[i] = {(p.x + 0.5) * sx - 0.5, (p.y + 0.5) * sy - 0.5};
  }
  GroundPanel panel;
  panel.contrast = page - level;
  panel.dark = level < kDarkPart * page;
  const double reach = 8.0 * std::max(sx, sy) + 4.0;
  std::array<Straight, 4> sides;
  for (std::size_t i = 0; i < 4; ++i) {
    panel.edges[i] = Step(pixels, rough[i], rough[(i + 1) % 4], reach, panel.contrast);
    if (panel.edges[i].size() < 0.5 * kProbes) return std::nullopt;
    sides[i] = FitStraight(panel.edges[i], i % 2 == 0);
  }
  panel.corners = {Meet(sides[0], sides[3]), Meet(sides[0], sides[1]), Meet(sides[2], sides[1]), Meet(sides[2], sides[3])};
  return panel;
}

cv::Mat3b WithLightGround(const cv::Mat3b& pixels, const GroundPanel& panel) {
  cv::Mat3b out = pixels.clone(), turned;
  cv::bitwise_not(pixels, turned);
  cv::Mat1b mask = cv::Mat1b::zeros(pixels.size());
  std::vector<std::vector<cv::Point>> outline(1);
  constexpr int kShift = 4;  // fractional bits
  const auto add = [&](const ImagePoint& p) {
    outline[0].emplace_back(static_cast<int>(std::lround(p.x * (1 << kShift))), static_cast<int>(std::lround(p.y * (1 << kShift))));
  };
  // Along the edges themselves: lens and page may bow them.
  for (std::size_t i = 0; i < 4; ++i) {
    add(panel.corners[i]);
    for (const ImagePoint& p : panel.edges[i]) add(p);
  }
  cv::fillPoly(mask, outline, 255, cv::LINE_8, kShift);
  turned.copyTo(out, mask);
  return out;
}

cv::Mat1b LightLines(const cv::Mat3b& pixels, const cv::Mat3b& small, const GroundPanel& panel) {
  cv::Mat1b gray, light(pixels.size()), ground;
  cv::cvtColor(small, ground, cv::COLOR_BGR2GRAY);
  cv::medianBlur(ground, ground, 17);  // no line is so wide
  cv::Mat1f level;
  ground.convertTo(level, CV_32F);
  cv::resize(level, level, pixels.size(), 0, 0, cv::INTER_LINEAR);
  cv::cvtColor(pixels, gray, cv::COLOR_BGR2GRAY);
  const float gain = 255.0F / static_cast<float>(std::max(1.0, panel.contrast));
  for (int y = 0; y < light.rows; ++y)
    for (int x = 0; x < light.cols; ++x)
      light(y, x) = static_cast<std::uint8_t>(std::clamp((static_cast<float>(gray(y, x)) - level(y, x)) * gain, 0.0F, 255.0F));
  return light;
}

}  // namespace islebook
