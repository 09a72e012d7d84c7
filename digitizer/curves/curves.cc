#include "digitizer/curves/curves.h"

#include <algorithm>
#include <cmath>
#include <string>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/curves/drawn_curves.h"
#include "digitizer/curves/finishing.h"
#include "digitizer/curves/graph_lines.h"
#include "digitizer/curves/hidden_ways.h"
#include "digitizer/curves/ink_layers.h"
#include "digitizer/curves/joining.h"
#include "digitizer/curves/left_over.h"
#include "digitizer/curves/marker_steps.h"
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

}  // namespace

Result<void> CurveOptions::Check() const {
  if (point_spacing_px < 0.5 || point_spacing_px > 50)
    return Fail(ErrorCode::kInvalidArgument, "Curve points must be 0.5 to 50 px apart.", "point_spacing_px");
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
  const std::vector<Marker> markers = FindMarkers(page, box, glyphs);
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
      if (IsHidden(p)) found.curves.back().doubts.push_back("a stretch of it is hidden among other lines");
    }
    found.report.notes = {std::to_string(strokes.size()) + " strokes", std::to_string(found.curves.size()) + " lines over expansion ratio"};
    return found;
  }
  auto layers = SeparateInkLayers(page, ridges, axes, box);
  if (!layers) return std::unexpected(layers.error());
  std::size_t stroke_count = 0;
  std::vector<Stroke> all_strokes;
  std::vector<Path> paths;
  const auto join = [&](const Page& inked, const RidgesFound& lines, const std::vector<bool>& furniture) {
    std::vector<Stroke> strokes = CutStrokes(inked, lines, furniture, where, glyphs, print.digit_height_px, not_lines);
    all_strokes.insert(all_strokes.end(), strokes.begin(), strokes.end());
    DropScraps(beside, print.digit_height_px, strokes);
    AddMarkerSteps(inked, markers, kFreePx * unit, strokes);
    stroke_count += strokes.size();
    for (Path& path : JoinStrokes(strokes, field)) paths.push_back(std::move(path));
  };
  if (layers->empty()) join(page, ridges, axes.chain_is_furniture);
  for (const InkLayer& layer : *layers) join(layer.page, layer.ridges, layer.chain_is_furniture);
  const double shortest = std::max(12.0, 0.012 * width);
  std::erase_if(paths, [&](const Path& p) { return p.inked_px < shortest || (!p.Dashed() && PartOnInk(p, page.ink) < kLeastInked); });
  AttachTails(all_strokes, page.ink, field.cover, unit, paths);
  for (Path& p : paths) RestoreEnds(p);
  DropDoubles(paths, 2.5);
  CutRiders(paths, 3.0 * std::max(1.0, 0.7 * unit));
  SmoothHiddenWays(paths, page.ink, field.cover);
  MeetAtShallowAngle(paths, 14.0 * unit);
  FollowInkToLine(paths, page.ink, field.cover, 90.0 * unit);
  ExtendToJunctions(paths, page.ink, field.cover, 14.0 * unit);
  for (const Path& p : paths) found.curves.push_back(FinishCurve(p, page, glyphs, options.point_spacing_px));
  DoubtCutEnds(paths, all_strokes, unit, found.curves);
  found.report.notes = {std::to_string(stroke_count) + " strokes", std::to_string(found.curves.size()) + " curves",
                        std::to_string(markers.size()) + " markers", std::to_string(std::max<std::size_t>(1, layers->size())) + " inks"};
  return found;
}

}  // namespace islebook
