#include "digitizer/ridges/ridges.h"

#include <algorithm>
#include <cmath>
#include <string>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/ridges/dashes.h"
#include "digitizer/ridges/ridge_points.h"

namespace islebook {
namespace {

constexpr int kThickRun = 28;             // px of length that a core needs
constexpr int kThickPx = 7;               // strokes at least this thick are traced on the half-size picture
constexpr double kNoiseGain = 0.153 * 5;  // five times the noise of the second derivative times sigma^2, for sigma near 1.6

// Areas of strokes too thick for the fine scale; empty when there are none.
cv::Mat1b ThickInk(const cv::Mat1b& ink, cv::Rect extent) {
  const cv::Mat1b dark = ink(extent) > 110;
  cv::Mat1b core;
  cv::erode(dark, core, cv::getStructuringElement(cv::MORPH_ELLIPSE, {kThickPx, kThickPx}));
  if (cv::countNonZero(core) == 0) return {};
  // A stroke of just this width is thick here and thin there: only long cores count, so that a line keeps to one scale.
  cv::morphologyEx(core, core, cv::MORPH_CLOSE, cv::getStructuringElement(cv::MORPH_ELLIPSE, {kThickPx + 2, kThickPx + 2}));
  cv::Mat labels, stats, centers;
  const int n = cv::connectedComponentsWithStats(core, labels, stats, centers);
  std::vector<unsigned char> keep(static_cast<std::size_t>(n), 0);
  bool any = false;
  for (int i = 1; i < n; ++i) {
    keep[static_cast<std::size_t>(i)] = std::max(stats.at<int>(i, cv::CC_STAT_WIDTH), stats.at<int>(i, cv::CC_STAT_HEIGHT)) >= kThickRun ? 255 : 0;
    any |= keep[static_cast<std::size_t>(i)] != 0;
  }
  if (!any) return {};
  for (int y = 0; y < core.rows; ++y)
    for (int x = 0; x < core.cols; ++x)
      if (core(y, x) != 0) core(y, x) = keep[static_cast<std::size_t>(labels.at<int>(y, x))];
  cv::Mat1b all(ink.rows, ink.cols, static_cast<unsigned char>(0));
  cv::dilate(core, all(extent), cv::getStructuringElement(cv::MORPH_ELLIPSE, {kThickPx + 2, kThickPx + 2}));
  return all;
}

float Sample(const cv::Mat1b& m, double x, double y) {
  x = std::clamp(x, 0.0, m.cols - 1.001);
  y = std::clamp(y, 0.0, m.rows - 1.001);
  const int ix = static_cast<int>(x), iy = static_cast<int>(y);
  const auto fx = static_cast<float>(x - ix), fy = static_cast<float>(y - iy);
  const unsigned char* a = m[iy] + ix;
  const unsigned char* b = m[iy + 1] + ix;
  return (1 - fy) * ((1 - fx) * a[0] + fx * a[1]) + fy * ((1 - fx) * b[0] + fx * b[1]);
}

template <typename T>
T MedianOf(std::vector<T>& v) {
  if (v.empty()) return T{};
  auto mid = v.begin() + static_cast<long>(v.size() / 2);
  std::nth_element(v.begin(), mid, v.end());
  return *mid;
}

RidgeChain MakeChain(const RidgePointField& field, const LinkedChain& linked, const Page& page) {
  RidgeChain chain;
  chain.closed = linked.closed;
  chain.points.reserve(linked.points.size());
  chain.strength.reserve(linked.points.size());
  for (int i : linked.points) {
    const RidgePoint& p = field.points[i];
    if (!chain.points.empty()) chain.length_px += std::hypot(p.x - chain.points.back().x, p.y - chain.points.back().y);
    chain.points.push_back({p.x, p.y});
    chain.strength.push_back(p.strength);
  }
  const double floor_level = std::max(6.0, 2.0 * page.noise);
  const int stride = std::max<int>(1, static_cast<int>(linked.points.size()) / 40);
  std::vector<double> masses;
  std::vector<float> b, g, r;
  for (std::size_t k = 0; k < linked.points.size(); k += static_cast<std::size_t>(stride)) {
    const RidgePoint& p = field.points[linked.points[k]];
    masses.push_back(InkMassAcross(page.ink, {p.x, p.y}, std::atan2(p.ty, p.tx), floor_level));
    if (!page.color.empty()) {
      // The darkest pixel nearby: beside the center the paper shines in.
      int bx = std::clamp(cvRound(p.x), 1, page.ink.cols - 2), by = std::clamp(cvRound(p.y), 1, page.ink.rows - 2);
      const int cx = bx, cy = by;
      for (int dy = -1; dy <= 1; ++dy)
        for (int dx = -1; dx <= 1; ++dx)
          if (page.ink(cy + dy, cx + dx) > page.ink(by, bx)) {
            bx = cx + dx;
            by = cy + dy;
          }
      const cv::Vec3b c = page.color(by, bx);
      b.push_back(c[0]);
      g.push_back(c[1]);
      r.push_back(c[2]);
    }
  }
  chain.ink_mass = MedianOf(masses);
  if (!b.empty()) {
    cv::Mat3f one(1, 1, cv::Vec3f(MedianOf(b) / 255, MedianOf(g) / 255, MedianOf(r) / 255)), lab;
    cv::cvtColor(one, lab, cv::COLOR_BGR2Lab);
    chain.lab = lab(0, 0);
  }
  return chain;
}

// The end of a stroke pulls the ridge toward one of its corners: such hooks are cut off.
void TrimHooks(LinkedChain& linked, const RidgePointField& field) {
  if (linked.closed) return;
  constexpr int kHook = 3;
  for (int side = 0; side < 2; ++side) {
    std::vector<int>& v = linked.points;
    std::reverse(v.begin(), v.end());
    const int n = static_cast<int>(v.size());
    if (n < 5) continue;
    const int inner = std::min(n - 1, kHook + 6), start = std::min(kHook, n / 3);
    const RidgePoint &a = field.points[v[inner]], &b = field.points[v[start]];
    const float dx = b.x - a.x, dy = b.y - a.y, length = std::sqrt(dx * dx + dy * dy);
    if (length < 1) continue;
    int keep_from = 0;
    for (int k = 0; k < start; ++k) {
      const RidgePoint& p = field.points[v[k]];
      const float across = std::abs((p.x - b.x) * dy - (p.y - b.y) * dx) / length;
      const float along = ((p.x - b.x) * dx + (p.y - b.y) * dy) / length;
      if (across > 0.35f * std::max(0.6f, along)) keep_from = k + 1;
    }
    v.erase(v.begin(), v.begin() + keep_from);
  }
}

// Crumbs beside a longer chain: short chains, all of whose points lie within a stroke's width of it.
void DropCrumbs(std::vector<LinkedChain>& chains, RidgePointField& field) {
  constexpr int kCrumb = 4;
  cv::Mat1i& owner = field.index;  // no longer needed as the index of points
  owner.setTo(-1);
  for (int c = 0; c < static_cast<int>(chains.size()); ++c) {
    if (static_cast<int>(chains[c].points.size()) <= kCrumb) continue;
    for (int i : chains[c].points) {
      const RidgePoint& p = field.points[i];
      owner(std::clamp(cvRound(p.y), 0, owner.rows - 1), std::clamp(cvRound(p.x), 0, owner.cols - 1)) = c;
    }
  }
  std::erase_if(chains, [&](const LinkedChain& chain) {
    if (static_cast<int>(chain.points.size()) > kCrumb) return false;
    for (int i : chain.points) {
      const int cx = cvRound(field.points[i].x), cy = cvRound(field.points[i].y);
      for (int y = std::max(0, cy - 2); y <= std::min(owner.rows - 1, cy + 2); ++y)
        for (int x = std::max(0, cx - 2); x <= std::min(owner.cols - 1, cx + 2); ++x)
          if (owner(y, x) >= 0) return true;
    }
    return false;
  });
}

// The thick strokes' center lines, traced on the half-size picture and given back in full-size pixels.
RidgePointField ThickField(const Page& page, const cv::Mat1b& thick, const RidgeOptions& options, double low) {
  cv::Mat1b half, half_allowed;
  const cv::Size size((page.ink.cols + 1) / 2, (page.ink.rows + 1) / 2);
  cv::resize(page.ink, half, size, 0, 0, cv::INTER_AREA);
  cv::resize(thick, half_allowed, size, 0, 0, cv::INTER_AREA);
  half_allowed = half_allowed > 0;
  const cv::Rect extent(page.extent.x / 2, page.extent.y / 2, page.extent.width / 2, page.extent.height / 2);
  RidgePointField field = FindRidgePoints(half, extent, half_allowed, options.sigma_px, low);
  const double kx = static_cast<double>(page.ink.cols) / size.width, ky = static_cast<double>(page.ink.rows) / size.height;
  for (RidgePoint& p : field.points) {
    p.x = static_cast<float>((p.x + 0.5) * kx - 0.5);
    p.y = static_cast<float>((p.y + 0.5) * ky - 0.5);
  }
  return field;
}

// Points twice as far apart as the fine scale's are filled in by halves.
void FillIn(RidgeChain& chain) {
  RidgeChain fine = chain;
  fine.points.clear();
  fine.strength.clear();
  for (std::size_t i = 0; i < chain.points.size(); ++i) {
    if (i > 0) {
      const ImagePoint a = chain.points[i - 1], b = chain.points[i];
      fine.points.push_back({(a.x + b.x) / 2, (a.y + b.y) / 2});
      fine.strength.push_back((chain.strength[i - 1] + chain.strength[i]) / 2);
    }
    fine.points.push_back(chain.points[i]);
    fine.strength.push_back(chain.strength[i]);
  }
  chain = std::move(fine);
}

}  // namespace

double InkMassAcross(const cv::Mat1b& ink, ImagePoint p, double direction, double floor_level) {
  constexpr double kStep = 0.5, kReach = 10.0;
  const double nx = -std::sin(direction), ny = std::cos(direction);
  const float center = Sample(ink, p.x, p.y);
  double sum = center;
  for (double sign : {-1.0, 1.0}) {
    float lowest = center;
    double side = 0, at_lowest = 0;
    for (double d = kStep; d <= kReach; d += kStep) {
      const float v = Sample(ink, p.x + sign * d * nx, p.y + sign * d * ny);
      if (v > lowest + 18) break;  // another line begins
      side += v;
      if (v < lowest) {
        lowest = v;
        at_lowest = side;
      }
      if (v < floor_level) break;
    }
    sum += lowest < floor_level ? side : at_lowest;
  }
  return sum * kStep / 255.0;
}

Result<void> RidgeOptions::Check() const {
  if (sigma_px < 0.8 || sigma_px > 4.0)
    return Fail(ErrorCode::kInvalidArgument, "The ridge filter's sigma must lie between 0.8 and 4 px.", "sigma_px");
  if (low_contrast <= 0 || high_contrast < low_contrast)
    return Fail(ErrorCode::kInvalidArgument, "The ridge contrasts must be positive and the high one at least the low one.", "low_contrast");
  return {};
}

Result<RidgesFound> TraceRidges(const Page& page, const RidgeOptions& options) {
  if (auto ok = options.Check(); !ok) return std::unexpected(ok.error());
  if (page.ink.empty()) return Fail(ErrorCode::kInvalidArgument, "The page holds no ink picture; flatten the sheet first.");
  const cv::Rect whole(0, 0, page.ink.cols, page.ink.rows);
  const cv::Rect extent = page.extent.area() > 0 ? page.extent & whole : whole;
  const double low = std::max(options.low_contrast, kNoiseGain * page.noise);
  const double high = std::max(options.high_contrast, 1.8 * kNoiseGain * page.noise);

  cv::Mat1b allowed = page.paper;
  const cv::Mat1b thick = ThickInk(page.ink, extent);
  if (!thick.empty()) {
    cv::Mat1b thin;
    cv::bitwise_not(thick, thin);
    if (!allowed.empty()) cv::bitwise_and(thin, allowed, thin);
    allowed = thin;
  }
  RidgesFound found;
  const int min_points = std::max(2, static_cast<int>(options.min_length_px));
  {
    RidgePointField field = FindRidgePoints(page.ink, extent, allowed, options.sigma_px, low);
    std::vector<LinkedChain> linked = LinkRidgePoints(field, high, min_points);
    DropCrumbs(linked, field);
    for (LinkedChain& chain : linked) {
      TrimHooks(chain, field);
      if (static_cast<int>(chain.points.size()) >= min_points) found.chains.push_back(MakeChain(field, chain, page));
    }
    found.report.notes.push_back(std::to_string(field.points.size()) + " ridge points");
  }
  if (!thick.empty()) {
    RidgePointField field = ThickField(page, thick, options, low);
    // The index still stands in half-size pixels while linking.
    RidgePointField linked_field = field;
    const double kx = static_cast<double>(page.ink.cols) / field.index.cols, ky = static_cast<double>(page.ink.rows) / field.index.rows;
    for (RidgePoint& p : linked_field.points) {
      p.x = static_cast<float>((p.x + 0.5) / kx - 0.5);
      p.y = static_cast<float>((p.y + 0.5) / ky - 0.5);
    }
    for (const LinkedChain& linked : LinkRidgePoints(linked_field, high, std::max(2, min_points / 2))) {
      RidgeChain chain = MakeChain(field, linked, page);
      FillIn(chain);
      found.chains.push_back(std::move(chain));
    }
  }
  std::erase_if(found.chains, [&](const RidgeChain& c) { return c.length_px < options.min_length_px - 1; });
  ClaimDashes(page.ink, found.chains, found.dash_mask);
  const auto dashes = std::count_if(found.chains.begin(), found.chains.end(), [](const RidgeChain& c) { return c.is_dash; });
  found.report.notes.push_back(std::to_string(found.chains.size()) + " chains, " + std::to_string(dashes) + " of them dashes");
  return found;
}

}  // namespace islebook
