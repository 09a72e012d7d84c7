#include "digitizer/curves/curves.h"

#include <algorithm>
#include <cmath>
#include <string>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/curves/along_lines.h"
#include "digitizer/curves/drawn_curves.h"
#include "digitizer/curves/finishing.h"
#include "digitizer/curves/graph_lines.h"
#include "digitizer/curves/hidden_ways.h"
#include "digitizer/curves/ink_layers.h"
#include "digitizer/curves/joining.h"
#include "digitizer/curves/left_over.h"
#include "digitizer/curves/loose_ends.h"
#include "digitizer/curves/marker_rows.h"
#include "digitizer/curves/markers.h"
#include "digitizer/curves/strokes.h"

namespace islebook {
namespace {

constexpr double kFilledPx = 15.0;    // wider ink than this is an area, on a plot 1,200 px wide
constexpr double kPad = 0.8;          // digit heights: how far the white pad around print reaches
constexpr double kBeside = 0.5;       // digit heights: short pieces so close to print are scraps of it
constexpr double kFreePx = 16.0;      // between two markers: a shorter piece of line is not a stroke of its own
constexpr double kScrap = 1.2;        // digit heights
constexpr double kHiddenPart = 0.16;  // of a line over expansion ratio, between seen stretches
constexpr double kHiddenEnd = 0.05;   // and at an end
constexpr double kTouchPart = 0.13;   // of the frame's width: how long a curve may touch a heavier line
constexpr double kLeastInked = 0.5;   // of a solid curve's length: less is a chain of crumbs, not a line

cv::Rect FrameBox(const Panel& panel, const cv::Size& size) {
  std::vector<cv::Point2f> corners;
  for (const ImagePoint& p : panel.frame.Corners()) corners.emplace_back(static_cast<float>(p.x), static_cast<float>(p.y));
  cv::Rect box = cv::boundingRect(corners);
  const int slack = 8;
  box.x -= slack;
  box.y -= slack;
  box.width += 2 * slack;
  box.height += 2 * slack;
  return box & cv::Rect(0, 0, size.width, size.height);
}

// Whether much of a line was not seen: at an end little is needed to go astray, between two seen stretches the way is known.
bool IsHidden(const Path& path) {
  const std::size_t n = path.points.size();
  std::size_t from = 0;
  for (std::size_t i = 0; i <= n; ++i) {
    if (i < n && path.points[i].bridged) continue;
    const double part = static_cast<double>(i - from) / static_cast<double>(std::max<std::size_t>(1, n));
    if (part > (from == 0 || i == n ? kHiddenEnd : kHiddenPart)) return true;
    from = i + 1;
  }
  return false;
}

double PartOnInk(const Path& path, const cv::Mat1b& ink) {
  std::size_t on = 0;
  for (const PathPoint& p : path.points)
    on += !p.bridged || ink(std::clamp(cvRound(p.at.y), 0, ink.rows - 1), std::clamp(cvRound(p.at.x), 0, ink.cols - 1)) > 0.4 * path.level;
  return path.points.empty() ? 0.0 : static_cast<double>(on) / static_cast<double>(path.points.size());
}

// Filled areas (logos, legend keys) are no lines: their boxes are left out.
void BlockFilledAreas(const cv::Mat1b& ink, cv::Rect box, double unit, cv::Mat1b& blocked) {
  constexpr int kShrink = 4;
  cv::Mat1b small;
  cv::resize(ink(box), small, {}, 1.0 / kShrink, 1.0 / kShrink, cv::INTER_AREA);
  cv::Mat1b filled = small > 70, core;
  const int across = std::max(3, cvRound(kFilledPx * unit / kShrink));
  cv::morphologyEx(filled, core, cv::MORPH_OPEN, cv::getStructuringElement(cv::MORPH_RECT, {across, across}));
  cv::dilate(core, core, cv::getStructuringElement(cv::MORPH_RECT, {2 * across + 1, 2 * across + 1}));
  cv::Mat labels, stats, centers;
  const int n = cv::connectedComponentsWithStats(core, labels, stats, centers);
  for (int i = 1; i < n; ++i) {
    cv::Rect area(stats.at<int>(i, cv::CC_STAT_LEFT) * kShrink + box.x, stats.at<int>(i, cv::CC_STAT_TOP) * kShrink + box.y,
                  stats.at<int>(i, cv::CC_STAT_WIDTH) * kShrink, stats.at<int>(i, cv::CC_STAT_HEIGHT) * kShrink);
    if (area.width > box.width / 3 || area.height > box.height / 3) continue;  // tinted plot areas and bands
    blocked(area & cv::Rect(0, 0, ink.cols, ink.rows)).setTo(255);
  }
}

// Short pieces that lie under print and its pad are scraps of glyphs: a line joined to one would turn aside.
void DropScraps(const cv::Mat1b& cover, double digit_height, std::vector<Stroke>& strokes) {
  std::erase_if(strokes, [&](const Stroke& s) {
    if (s.is_dash || s.length_px > kScrap * digit_height) return false;
    const auto under = std::count_if(s.points.begin(), s.points.end(), [&](const ImagePoint& p) {
      return cover(std::clamp(cvRound(p.y), 0, cover.rows - 1), std::clamp(cvRound(p.x), 0, cover.cols - 1)) > 0;
    });
    return 10 * under >= 7 * static_cast<long>(s.points.size());
  });
}

// Print with the pad that is usually left white around it.
cv::Mat1b PadPrint(const cv::Mat1b& print, double digit_height, double pad) {
  cv::Mat1b padded;
  const int r = std::max(2, cvRound(pad * digit_height));
  cv::dilate(print, padded, cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * r + 1, 2 * r + 1}));
  return padded;
}

// Frame, grid and ticks, painted.
cv::Mat1b PaintFurniture(const RidgesFound& ridges, const AxesFound& axes, const cv::Size& size) {
  cv::Mat1b mask(size, static_cast<unsigned char>(0));
  for (std::size_t c = 0; c < ridges.chains.size() && c < axes.chain_is_furniture.size(); ++c)
    if (axes.chain_is_furniture[c])
      for (const ImagePoint& p : ridges.chains[c].points) cv::circle(mask, {cvRound(p.x), cvRound(p.y)}, 2, 255, cv::FILLED);
  return mask;
}

// Whether a dashed line ends in front of ink that leads on: among lines that run together its end may be another's.
bool MayGoOn(const Path& path, const Page& page, const cv::Mat1b& cover, const cv::Mat1b& furniture, double unit) {
  constexpr double kFrom = 4.0, kTo = 28.0, kAside = 0.5, kInked = 0.75;  // px ahead of the end, rad, part of the way
  constexpr std::size_t kBack = 15;                                       // points that tell the direction
  if (!path.Dashed() || path.points.size() < 2 * kBack) return false;
  const auto at = [](const cv::Mat1b& m, ImagePoint p) {
    return m(std::clamp(cvRound(p.y), 0, m.rows - 1), std::clamp(cvRound(p.x), 0, m.cols - 1));
  };
  for (const bool front : {true, false}) {
    const ImagePoint end = (front ? path.points.front() : path.points.back()).at;
    const ImagePoint inner = (front ? path.points[kBack] : path.points[path.points.size() - 1 - kBack]).at;
    const double heading = std::atan2(end.y - inner.y, end.x - inner.x);
    for (double aside = -kAside; aside <= kAside + 1e-9; aside += 0.1) {
      int steps = 0, inked = 0;
      for (double r = kFrom * unit; r < kTo * unit; r += 1.0, ++steps) {
        const ImagePoint p{end.x + r * std::cos(heading + aside), end.y + r * std::sin(heading + aside)};
        inked += at(page.ink, p) > std::max(60.0, 0.5 * path.level) && at(cover, p) == 0 && at(furniture, p) == 0;
      }
      if (inked >= kInked * steps) return true;
    }
  }
  return false;
}

// A row whose markers could be put in another order makes a doubtful curve of the one that runs through them.
void DoubtUnsureRows(const std::vector<MarkerRow>& rows, std::vector<TracedCurve>& curves) {
  for (const MarkerRow& row : rows) {
    if (!row.unsure) continue;
    for (TracedCurve& curve : curves) {
      const auto on = std::count_if(row.markers.begin(), row.markers.end(), [&](const Marker& m) {
        return std::any_of(curve.points.begin(), curve.points.end(),
                           [&](ImagePoint p) { return std::hypot(p.x - m.center.x, p.y - m.center.y) < std::max(2.0, 0.5 * m.radius_px); });
      });
      if (2 * on > static_cast<long>(row.markers.size()))
        curve.doubts.push_back("no line joins its markers, and some of them may belong to the curve beside it");
    }
  }
}

LineWidths MeasureLines(const Page& page, const RidgesFound& ridges, const AxesFound& axes, cv::Rect box) {
  constexpr double kLongEnough = 20.0, kFine = 0.1;
  std::vector<std::pair<double, double>> widths, darkness;  // and the length that has it
  double total = 0;
  for (std::size_t c = 0; c < ridges.chains.size(); ++c) {
    const RidgeChain& chain = ridges.chains[c];
    if ((c < axes.chain_is_furniture.size() && axes.chain_is_furniture[c]) || chain.length_px < kLongEnough) continue;
    const ImagePoint mid = chain.points[chain.points.size() / 2];
    if (!box.contains({cvRound(mid.x), cvRound(mid.y)})) continue;
    std::vector<int> levels;
    for (const ImagePoint& q : chain.points)
      levels.push_back(page.ink(std::clamp(cvRound(q.y), 0, page.ink.rows - 1), std::clamp(cvRound(q.x), 0, page.ink.cols - 1)));
    std::nth_element(levels.begin(), levels.begin() + static_cast<long>(levels.size() / 2), levels.end());
    widths.emplace_back(chain.ink_mass * 255.0 / std::max(40, levels[levels.size() / 2]), chain.length_px);
    darkness.emplace_back(levels[levels.size() / 2], chain.length_px);
    total += chain.length_px;
  }
  std::sort(darkness.begin(), darkness.end());
  std::sort(widths.begin(), widths.end());
  LineWidths out;
  const auto at = [&](const std::vector<std::pair<double, double>>& of, double part) {
    double sum = 0;
    for (const auto& [value, length] : of)
      if ((sum += length) > part * total) return value;
    return of.back().first;
  };
  if (!widths.empty()) out = {at(widths, kFine), at(widths, 0.5), at(darkness, 0.5)};
  return out;
}

}  // namespace

Result<void> CurveOptions::Check() const {
  if (point_spacing_px < 0.5 || point_spacing_px > 50)
    return Fail(ErrorCode::kInvalidArgument, "Curve points must be 0.5 to 50 px apart.", "point_spacing_px");
  if (hand_px <= 0 || hand_px > 50) return Fail(ErrorCode::kInvalidArgument, "A hand's unsteadiness must lie between 0 and 50 px.", "hand_px");
  return {};
}

Result<CurvesFound> TraceCurves(const Page& page, const RidgesFound& ridges, const PrintFound& print, const AxesFound& axes, std::size_t panel,
                                const CurveOptions& options) {
  if (auto ok = options.Check(); !ok) return std::unexpected(ok.error());
  if (panel >= axes.panels.size()) return Fail(ErrorCode::kInvalidArgument, "There is no such panel on this sheet.");
  const Panel& where = axes.panels[panel];
  if (ridges.exact) return CollectDrawnCurves(page, ridges, print, axes, where, options);
  const cv::Rect box = FrameBox(where, page.ink.size());
  CurvesFound found;
  if (box.width < 20 || box.height < 20) return found;
  const double width = where.frame.WidthPx();
  const double unit = std::max(1.0, width / 1200.0);

  cv::Mat1b glyphs = print.mask.empty() ? cv::Mat1b(page.ink.rows, page.ink.cols, static_cast<unsigned char>(0)) : print.mask;
  const cv::Mat1b furniture = PaintFurniture(ridges, axes, page.ink.size());
  std::vector<Marker> markers = FindMarkers(page, box, print, MeasureLines(page, ridges, axes, box), furniture);
  const std::vector<MarkerRow> rows = FindMarkerRows(page, markers, kFreePx * unit, furniture);
  cv::Mat1b not_lines(page.ink.rows, page.ink.cols, static_cast<unsigned char>(0));
  JoinField field;
  field.page = &page;
  field.frame_width_px = width;
  field.cover = cv::Mat1b(page.ink.rows, page.ink.cols, static_cast<unsigned char>(0));
  const double digit_height = print.digit_height_px > 0 ? print.digit_height_px : 12.0;
  PadPrint(glyphs(box), digit_height, kPad).copyTo(field.cover(box));
  cv::Mat1b beside(page.ink.rows, page.ink.cols, static_cast<unsigned char>(0));
  PadPrint(glyphs(box), digit_height, kBeside).copyTo(beside(box));
  for (const Marker& m : markers) {
    const cv::Point center(cvRound(m.center.x), cvRound(m.center.y));
    cv::circle(not_lines, center, cvRound(m.radius_px + 1.5), 255, cv::FILLED);
    for (cv::Mat1b* cover : {&field.cover, &beside}) cv::circle(*cover, center, cvRound(m.radius_px + 4), 255, cv::FILLED);
    found.markers.push_back(m.center);
  }

  BlockFilledAreas(page.ink, box, unit, not_lines);
  if (HoldsGraphLines(where)) {
    const std::vector<Stroke> strokes = CutStrokes(page, ridges, axes.chain_is_furniture, where, glyphs, print.digit_height_px, not_lines);
    for (const Path& p : FollowGraphLines(strokes, field, print, where.frame)) {
      found.curves.push_back(FinishCurve(p, page, glyphs, options.point_spacing_px));
      if (IsHidden(p))
        found.curves.back().doubts.push_back("a stretch of it is hidden among other lines");
      else if (MayGoOn(p, page, field.cover, furniture, unit))
        found.curves.back().doubts.push_back("it ends among other lines and may go on with them");
    }
    found.report.notes = {std::to_string(strokes.size()) + " strokes", std::to_string(found.curves.size()) + " lines over expansion ratio"};
    return found;
  }
  auto layers = SeparateInkLayers(page, ridges, axes, box);
  if (!layers) return std::unexpected(layers.error());
  std::size_t stroke_count = 0;
  std::vector<Stroke> all_strokes;
  std::vector<Path> paths;
  const auto join = [&](const Page& inked, const RidgesFound& lines, const std::vector<bool>& is_furniture) {
    std::vector<Stroke> strokes = CutStrokes(inked, lines, is_furniture, where, glyphs, print.digit_height_px, not_lines);
    if (!layers->empty()) DropGridInk(where.frame, strokes);
    all_strokes.insert(all_strokes.end(), strokes.begin(), strokes.end());
    DropScraps(beside, print.digit_height_px, strokes);
    LayMarkerRows(inked, rows, strokes);
    stroke_count += strokes.size();
    for (Path& path : JoinStrokes(strokes, field)) paths.push_back(std::move(path));
  };
  if (layers->empty()) join(page, ridges, axes.chain_is_furniture);
  for (const InkLayer& layer : *layers) join(layer.page, layer.ridges, layer.chain_is_furniture);
  CutBareStretches(paths, page.ink, field.cover, unit);
  const double shortest = std::max(12.0, 0.012 * width);
  std::erase_if(paths, [&](const Path& p) { return p.inked_px < shortest || (!p.Dashed() && PartOnInk(p, page.ink) < kLeastInked); });
  DropGridLines(where, unit, paths);
  AttachTails(all_strokes, page.ink, field.cover, unit, paths);
  for (Path& p : paths) RestoreEnds(p);
  DropDoubles(paths, 2.5);
  CutRiders(paths, 3.0 * std::max(1.0, 0.7 * unit));
  SmoothHiddenWays(paths, page.ink, field.cover);
  MeetAtShallowAngle(paths, 14.0 * unit);
  FollowInkToLine(paths, page.ink, field.cover, 90.0 * unit);
  ExtendToJunctions(paths, page.ink, field.cover, 14.0 * unit);
  JoinAlongLines(paths, page.ink, kTouchPart * width);
  for (const Path& p : paths) found.curves.push_back(FinishCurve(p, page, glyphs, options.point_spacing_px));
  DoubtCutEnds(paths, all_strokes, unit, found.curves);
  DoubtUnsureRows(rows, found.curves);
  found.report.notes = {std::to_string(stroke_count) + " strokes", std::to_string(found.curves.size()) + " curves",
                        std::to_string(markers.size()) + " markers", std::to_string(std::max<std::size_t>(1, layers->size())) + " inks"};
  return found;
}

}  // namespace islebook
