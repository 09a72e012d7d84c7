#include "digitizer/assemble/ink_evidence.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <opencv2/core.hpp>

#include "digitizer/assemble/parting.h"

namespace islebook {
namespace {

constexpr double kCoverPart = 0.004;  // of the frame's height: a line this close to a curve is the curve's own
constexpr double kLeastCoverPx = 3.0;
constexpr double kInset = 0.008;       // of the frame: the frame's own neighborhood holds no curve
constexpr double kLeastLoose = 0.012;  // of the frame's height
constexpr double kEndReach = 0.03;     // of the frame's height
constexpr double kTangent = 0.40;      // rad
constexpr double kPadPart = 1.0;       // of a digit's height: how wide the white pad around print may be
constexpr double kLongGap = 2.5;       // times the usual gap of a dashed line
constexpr int kShareSkip = 8;          // points near the ends, where curves meet
constexpr double kShared = 0.012;      // of the frame's height: a shorter stretch is a crossing

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

double Turned(double a, double b) {  // angle between two undirected lines
  const double d = std::abs(std::remainder(a - b, M_PI));
  return d;
}

// Which curve covers each pixel (first of them, and a second one); -1: none.
class Cover {
 public:
  Cover(cv::Size size, double radius) : first_(size, -1), second_(size, -1), radius_(radius) {}
  void Draw(const TracedCurve& curve, int index) {
    const auto n = curve.points.size();
    for (std::size_t i = 0; i + 1 < n + (curve.closed ? 1 : 0); ++i) {
      const ImagePoint a = curve.points[i], b = curve.points[(i + 1) % n];
      const int steps = std::max(1, static_cast<int>(std::ceil(Distance(a, b) / std::max(1.0, 0.5 * radius_))));
      for (int k = 0; k <= steps; ++k) Spot({a.x + (b.x - a.x) * k / steps, a.y + (b.y - a.y) * k / steps}, index);
    }
  }
  bool IsCovered(ImagePoint p) const { return Inside(p) && first_(cvRound(p.y), cvRound(p.x)) >= 0; }
  // Another curve than `index` here.
  int OtherAt(ImagePoint p, int index) const {
    if (!Inside(p)) return -1;
    const int a = first_(cvRound(p.y), cvRound(p.x)), b = second_(cvRound(p.y), cvRound(p.x));
    return a >= 0 && a != index ? a : b >= 0 && b != index ? b : -1;
  }

 private:
  bool Inside(ImagePoint p) const { return p.x >= 0 && p.y >= 0 && p.x < first_.cols - 1 && p.y < first_.rows - 1; }
  void Spot(ImagePoint p, int index) {
    const int r = static_cast<int>(std::ceil(radius_));
    for (int y = std::max(0, cvRound(p.y) - r); y <= std::min(first_.rows - 1, cvRound(p.y) + r); ++y)
      for (int x = std::max(0, cvRound(p.x) - r); x <= std::min(first_.cols - 1, cvRound(p.x) + r); ++x) {
        if (std::hypot(x - p.x, y - p.y) > radius_) continue;
        int &a = first_(y, x), &b = second_(y, x);
        if (a < 0)
          a = index;
        else if (a != index && b < 0)
          b = index;
      }
  }
  cv::Mat_<int> first_, second_;
  double radius_;
};

// Directions along a run near its ends and near a place on a curve.
double DirectionOf(const std::vector<ImagePoint>& p, std::size_t from, std::size_t to) {
  return std::atan2(p[to].y - p[from].y, p[to].x - p[from].x);
}

// The uncovered lines of the panel.
std::vector<LooseLine> FindLoose(const SheetSeen& sheet, const AxesFound& axes, const Panel& panel, const Cover& cover) {
  std::vector<LooseLine> loose;
  const double height = std::max(1.0, panel.frame.HeightPx());
  const cv::Mat1b& print = sheet.print->mask;
  for (std::size_t c = 0; c < sheet.ridges->chains.size(); ++c) {
    const RidgeChain& chain = sheet.ridges->chains[c];
    if (c < axes.chain_is_furniture.size() && axes.chain_is_furniture[c]) continue;
    LooseLine run;
    const auto finish = [&] {
      if (run.length >= kLeastLoose) loose.push_back(run);
      run = {};
    };
    for (const ImagePoint p : chain.points) {
      const FramePoint f = panel.frame.FrameFromImage(p);
      const bool in = f.u > kInset && f.u < 1 - kInset && f.v > kInset && f.v < 1 - kInset;
      const int x = std::clamp(cvRound(p.x), 0, print.cols - 1), y = std::clamp(cvRound(p.y), 0, print.rows - 1);
      if (!in || cover.IsCovered(p) || (!chain.is_dash && !print.empty() && print(y, x) != 0)) {
        finish();
        continue;
      }
      if (!run.points.empty()) run.length += Distance(run.points.back(), p) / height;
      run.points.push_back(p);
    }
    finish();
  }
  return loose;
}

// An uncovered line that starts at one of the curve's ends and carries on in its direction, or that starts beside it and runs along with it for a while.
void SeeLoose(const std::vector<LooseLine>& loose, const TracedCurve& curve, double height, InkEvidence& evidence) {
  const std::vector<ImagePoint>& p = curve.points;
  const std::size_t n = p.size();
  if (n < 8) return;
  const double reach = kEndReach * height;
  for (const LooseLine& line : loose) {
    const std::size_t m = line.points.size();
    if (m < 6) continue;
    const std::size_t far = std::min<std::size_t>(m - 1, std::max<std::size_t>(5, m / 2));
    for (const bool front : {true, false}) {
      const ImagePoint start = front ? line.points.front() : line.points.back();
      const ImagePoint on = front ? line.points[far] : line.points[m - 1 - far];
      const double heading = std::atan2(on.y - start.y, on.x - start.x);
      if (!curve.closed) {
        for (const bool at_front : {true, false}) {
          const ImagePoint end = at_front ? p.front() : p.back(),
                           before = at_front ? p[std::min<std::size_t>(n - 1, 5)] : p[n - 1 - std::min<std::size_t>(n - 1, 5)];
          const double away = Distance(end, start);
          const double out = std::atan2(end.y - before.y, end.x - before.x);
          if (away > reach || std::abs(std::remainder(heading - out, 2 * M_PI)) > kTangent) continue;
          // The gap between them lies in the same direction, if there is any to speak of.
          if (away > 0.3 * reach && std::abs(std::remainder(std::atan2(start.y - end.y, start.x - end.x) - out, 2 * M_PI)) > kTangent) continue;
          evidence.goes_on = std::max(evidence.goes_on, line.length);
        }
      }
      // Nearest place on the curve, and where the curve comes from there.
      std::size_t at = 0;
      double nearest = 1e9;
      for (std::size_t i = 0; i < n; ++i)
        if (const double d = Distance(p[i], start); d < nearest) {
          nearest = d;
          at = i;
        }
      if (nearest > std::max(3.0 * kLeastCoverPx, 3.0 * kCoverPart * height)) continue;
      const std::size_t step = 5;
      if (!curve.closed && (at < step + 2 || at + step + 2 >= n)) continue;
      const double along = DirectionOf(p, (at + n - step) % n, (at + step) % n);
      if (Turned(along, heading) > 0.5 * kTangent) continue;
      evidence.leaves = std::max(evidence.leaves, line.length);
    }
  }
}

// What lies on the way on from an end of an open curve, as it bends there.
struct WayOn {
  double on_ink = 0.0;                   // part of the way that lies on ink
  std::optional<ImagePoint> into_print;  // where print begins within `pad` px of the end
};

WayOn LookBeyond(const Page& page, const PrintFound& print, const TracedCurve& curve, bool front, double height, double pad) {
  WayOn way;
  const int n = static_cast<int>(curve.points.size());
  const auto at = [&](int k) { return curve.points[static_cast<std::size_t>(front ? k : n - 1 - k)]; };
  int far = 0;
  double length = 0;
  while (far + 1 < n && length < 0.05 * height) {
    length += Distance(at(far), at(far + 1));
    ++far;
  }
  if (far < 6) return way;
  const ImagePoint end = at(0), middle = at(far / 2), start = at(far);
  const double later = std::atan2(end.y - middle.y, end.x - middle.x), earlier = std::atan2(middle.y - start.y, middle.x - start.x);
  const double bend = std::clamp(std::remainder(later - earlier, 2 * M_PI) / std::max(1.0, 0.5 * length), -0.03, 0.03);  // rad per px
  double heading = later + 0.25 * bend * length;
  ImagePoint p = end;
  const double from = std::max(4.0, 0.006 * height), to = std::max(16.0, 0.03 * height);
  // How dark the line itself is.
  std::vector<int> levels;
  for (int k = 0; k <= far; ++k) {
    const ImagePoint q = at(k);
    levels.push_back(page.ink(std::clamp(cvRound(q.y), 0, page.ink.rows - 1), std::clamp(cvRound(q.x), 0, page.ink.cols - 1)));
  }
  std::nth_element(levels.begin(), levels.begin() + static_cast<std::ptrdiff_t>(levels.size() / 2), levels.end());
  const double level = levels[levels.size() / 2];
  int seen = 0, on = 0;
  for (double d = 1; d <= std::max(to, pad); d += 1) {
    heading += bend;
    p = {p.x + std::cos(heading), p.y + std::sin(heading)};
    const double side = 1.0 + 0.08 * d;
    bool dark = false, printed = false;
    for (double w = -side; w <= side; w += 1.0) {
      const int x = cvRound(p.x - w * std::sin(heading)), y = cvRound(p.y + w * std::cos(heading));
      if (x < 0 || y < 0 || x >= page.ink.cols || y >= page.ink.rows) continue;
      printed |= !print.mask.empty() && print.mask(y, x) != 0;
      dark |= page.ink(y, x) > 0.5 * level;
    }
    if (printed && d <= pad && !way.into_print) way.into_print = p;
    if (d < from || d > to) continue;
    ++seen;
    on += dark && !printed;
  }
  way.on_ink = seen > 0 ? static_cast<double>(on) / seen : 0.0;
  return way;
}

// Least squares a + b t + c t^2 + d t^3 through side points; d stays 0 with few of them. Returns coefficients.
std::array<double, 4> FitCubic(const std::vector<std::array<double, 2>>& p) {
  const int order = p.size() >= 12 ? 4 : 3;
  double a[4][5] = {};
  for (const auto& [t, y] : p) {
    const double power[4] = {1, t, t * t, t * t * t};
    for (int r = 0; r < order; ++r) {
      for (int c = 0; c < order; ++c) a[r][c] += power[r] * power[c];
      a[r][4] += power[r] * y;
    }
  }
  for (int r = 0; r < order; ++r) {
    int pivot = r;
    for (int k = r + 1; k < order; ++k)
      if (std::abs(a[k][r]) > std::abs(a[pivot][r])) pivot = k;
    std::swap(a[r], a[pivot]);
    if (std::abs(a[r][r]) < 1e-12) return {};
    for (int k = 0; k < order; ++k) {
      if (k == r) continue;
      const double f = a[k][r] / a[r][r];
      for (int c = r; c < 5; ++c) a[k][c] -= f * a[r][c];
    }
  }
  std::array<double, 4> out{};
  for (int r = 0; r < order; ++r) out[static_cast<std::size_t>(r)] = a[r][4] / a[r][r];
  return out;
}

// Looks at every stretch that was bridged and is long enough to matter.
double BulgeOf(const TracedCurve& curve, double height) {
  constexpr double kTolerablePx = 1.5, kTolerablePart = 0.0025, kMatters = 0.04;  // of the curve's length
  const int n = static_cast<int>(curve.points.size());
  if (n < 16 || static_cast<int>(curve.bridged.size()) != n) return 0;
  double length = 0, worst = 0;
  for (int k = 1; k < n; ++k) length += Distance(curve.points[static_cast<std::size_t>(k - 1)], curve.points[static_cast<std::size_t>(k)]);
  // Between the bars of a dashed line nothing is hidden: its longer gaps are.
  int least = 3;
  if (curve.dashed) {
    std::vector<int> gaps;
    for (int k = 0; k < n; ++k) {
      if (curve.bridged[static_cast<std::size_t>(k)] == 0) continue;
      if (k == 0 || curve.bridged[static_cast<std::size_t>(k - 1)] == 0) gaps.push_back(0);
      ++gaps.back();
    }
    if (!gaps.empty()) {
      std::nth_element(gaps.begin(), gaps.begin() + static_cast<std::ptrdiff_t>(gaps.size() / 2), gaps.end());
      least = std::max(least, static_cast<int>(kLongGap * gaps[gaps.size() / 2]));
    }
  }
  for (int from = 0; from < n; ++from) {
    if (curve.bridged[static_cast<std::size_t>(from)] == 0) continue;
    int to = from;
    while (to + 1 < n && curve.bridged[static_cast<std::size_t>(to + 1)] != 0) ++to;
    const ImagePoint a = curve.points[static_cast<std::size_t>(from)], b = curve.points[static_cast<std::size_t>(to)];
    const double run = Distance(a, b);
    const int side = std::clamp(to - from + 1, 5, 20);
    if (to - from >= least && run > kMatters * length && from >= 6 && to + 6 < n) {
      const double ux = (b.x - a.x) / run, uy = (b.y - a.y) / run;
      const auto local = [&](int k) {
        const ImagePoint p = curve.points[static_cast<std::size_t>(k)];
        return std::array<double, 2>{((p.x - a.x) * ux + (p.y - a.y) * uy) / run, (p.y - a.y) * ux - (p.x - a.x) * uy};
      };
      std::vector<std::array<double, 2>> sides;
      for (int k = std::max(0, from - side - 1); k < from - 1; ++k)
        if (curve.bridged[static_cast<std::size_t>(k)] == 0) sides.push_back(local(k));
      const std::size_t before = sides.size();
      for (int k = to + 2; k <= std::min(n - 1, to + side + 1); ++k)
        if (curve.bridged[static_cast<std::size_t>(k)] == 0) sides.push_back(local(k));
      if (before >= 4 && sides.size() - before >= 4) {
        const auto c = FitCubic(sides);
        for (int k = from; k <= to; ++k) {
          const auto [t, y] = local(k);
          worst = std::max(worst, std::abs(y - (c[0] + t * (c[1] + t * (c[2] + t * c[3])))));
        }
      }
    }
    from = to;
  }
  return worst / std::max(kTolerablePx, kTolerablePart * height);
}

}  // namespace

InkFound SeeInk(const SheetSeen& sheet, const AxesFound& axes, std::size_t panel_index, const std::vector<TracedCurve>& traces) {
  InkFound found;
  found.curves.resize(traces.size());
  const Panel& panel = axes.panels[panel_index];
  const double height = std::max(1.0, panel.frame.HeightPx());
  const double radius = std::max(kLeastCoverPx, kCoverPart * height);
  Cover cover(sheet.page->ink.size(), radius);
  Cover narrow(sheet.page->ink.size(), 1.5);
  for (std::size_t i = 0; i < traces.size(); ++i) {
    cover.Draw(traces[i], static_cast<int>(i));
    narrow.Draw(traces[i], static_cast<int>(i));
  }
  found.loose = FindLoose(sheet, axes, panel, cover);

  const double digit = std::max(6.0, sheet.print->digit_height_px);
  for (std::size_t i = 0; i < traces.size(); ++i) {
    const TracedCurve& t = traces[i];
    InkEvidence& e = found.curves[i];
    SeeLoose(found.loose, t, height, e);
    e.bulge = BulgeOf(t, height);
    double bare = 0, hidden = 0, shared = 0;
    int with = -1;
    std::size_t since = 0;
    const auto n = t.points.size();
    const auto leave = [&](std::size_t to) {  // the stretch shared with line `with` is over
      if (with < 0 || shared <= std::max(e.shared, kShared)) return;
      const TracedCurve& other = traces[static_cast<std::size_t>(with)];
      if (AreDrawnAlike(t, other) && !PartsOnItsOwnWay({&t, &other, since, to})) e.shared = shared;
    };
    for (std::size_t k = 0; k < n; ++k) {
      const double step = k > 0 ? Distance(t.points[k], t.points[k - 1]) / height : 0.0;
      const bool bridged = k < t.bridged.size() && t.bridged[k] != 0;
      const bool by_print = bridged && std::ranges::any_of(sheet.print->words, [&](const Word& word) {
                              return Distance(word.center, t.points[k]) < 0.5 * word.width_px + 1.6 * digit;
                            });
      bare = bridged && !by_print && !t.dashed ? bare + step : 0;
      hidden = bridged && by_print ? hidden + step : 0;
      e.bare_gap = std::max(e.bare_gap, bare);
      e.hidden = std::max(e.hidden, hidden);
      const int other = k > kShareSkip && k + kShareSkip < n ? narrow.OtherAt(t.points[k], static_cast<int>(i)) : -1;
      if (other == with) {
        shared += other >= 0 ? step : 0;
        continue;
      }
      leave(k - 1);
      shared = 0;
      since = k;
      with = other;
    }
    if (n > 0) leave(n - 1);
    if (!t.closed && n > 1) {
      const WayOn front = LookBeyond(*sheet.page, *sheet.print, t, true, height, kPadPart * digit);
      const WayOn back = LookBeyond(*sheet.page, *sheet.print, t, false, height, kPadPart * digit);
      e.beyond_front = front.on_ink;
      e.beyond_back = back.on_ink;
      e.into_print_front = front.into_print;
      e.into_print_back = back.into_print;
      for (const Word& w : sheet.print->words) {
        e.print_front |= Distance(w.center, t.points.front()) < 0.5 * w.width_px + 1.2 * digit;
        e.print_back |= Distance(w.center, t.points.back()) < 0.5 * w.width_px + 1.2 * digit;
      }
    }
  }
  return found;
}

}  // namespace islebook
