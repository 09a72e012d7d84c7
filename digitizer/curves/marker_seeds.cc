#include "digitizer/curves/marker_seeds.h"

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/curves/marker_look.h"

namespace islebook {
namespace {

constexpr int kDark = 70;                // ink
constexpr double kLargestRadius = 0.02;  // of the frame's shorter side
constexpr double kSmallestHole = 3.0;    // px across
constexpr double kSmallestRadius = 4.0;  // px, of a spot
constexpr double kSpotPerLine = 2.2;     // a spot is this much wider than a line
constexpr double kDotPerLine = 2.6;      // the dots of a dash-dotted line are less wide
constexpr double kThickPerLine = 1.8;    // two lines that cross are thick by less
constexpr double kAspect = 1.27;         // a nought is taller
constexpr double kBar = 1.5;             // length to width
constexpr double kAreaToReach = 1.15;    // reach of a square's corners by the radius of a disc as large is 1.25
constexpr double kStretched = 0.88;      // likeness to itself a little farther on: a piece of line
constexpr double kShift = 0.55;          // radii, for that
constexpr double kHoleFill = 0.42;       // of its box that a hole takes; a triangle takes half
constexpr double kFurnitureRim = 0.45;   // of a hole's rim on grid lines: a cell of the grid
constexpr double kUnlike = 1.3;          // glyphs whose sizes differ by more are unlike
constexpr double kNarrow = 0.85;         // width to height of a glyph
constexpr double kLevelDeg = 8.0;
constexpr double kEvenPitch = 1.35;     // widest to narrowest step between glyphs
constexpr double kFurniturePart = 0.4;  // of a seed's ink
constexpr std::size_t kMostSeeds = 1500;

struct Scene {
  const Page& page;
  cv::Rect where;
  const cv::Mat1b& furniture;
  double largest;  // px, radius

  // A place of the picture drawn at twice its size, in the page's pixels.
  ImagePoint FromDouble(double x, double y) const { return {(x + 0.5) / 2 - 0.5 + where.x, (y + 0.5) / 2 - 0.5 + where.y}; }
};

bool IsCompact(const cv::Rect& box) {
  const double aspect = static_cast<double>(box.width) / box.height;
  return aspect < kAspect && aspect > 1 / kAspect;
}

// Thickness of the ink around a hole: along eight directions, most of which meet no line that ends there.
double RimThickness(const cv::Mat1b& dark, const cv::Rect& hole) {
  std::vector<double> runs;
  const cv::Point2d center(hole.x + 0.5 * (hole.width - 1), hole.y + 0.5 * (hole.height - 1));
  for (int k = 0; k < 8; ++k) {
    const double a = k * M_PI / 4;
    double enter = -1;
    for (double r = 0; r < 2.5 * std::max(hole.width, hole.height) + 8; r += 0.5) {
      const int x = cvRound(center.x + r * std::cos(a)), y = cvRound(center.y + r * std::sin(a));
      if (x < 0 || y < 0 || x >= dark.cols || y >= dark.rows) break;
      const bool on = dark(y, x) > 0;
      if (on && enter < 0) enter = r;
      if (!on && enter >= 0) {
        runs.push_back(r - enter);
        break;
      }
    }
  }
  if (runs.size() < 3) return 1e9;
  std::sort(runs.begin(), runs.end());
  return runs[runs.size() / 3];
}

bool IsGridCell(const cv::Mat1b& furniture, ImagePoint center, double radius) {
  if (furniture.empty()) return false;
  int on = 0;
  constexpr int kRays = 24;
  for (int k = 0; k < kRays; ++k) {
    const double a = 2 * M_PI * k / kRays;
    const int x = cvRound(center.x + radius * std::cos(a)), y = cvRound(center.y + radius * std::sin(a));
    on += x >= 0 && y >= 0 && x < furniture.cols && y < furniture.rows && furniture(y, x) > 0;
  }
  return on > kFurnitureRim * kRays;
}

cv::Point2d Middle(const cv::Rect& box) { return {box.x + 0.5 * (box.width - 1), box.y + 0.5 * (box.height - 1)}; }

// How far a shape reaches from the middle of its box: for a square that is to its corners.
double ReachOf(const std::vector<cv::Point>& outline, cv::Point2d middle) {
  double reach = 0;
  for (const cv::Point& p : outline) reach = std::max(reach, std::hypot(p.x - middle.x, p.y - middle.y));
  return reach;
}

// A bar at a slant has a square box.
bool IsBar(const std::vector<cv::Point>& outline) {
  const cv::Size2f size = cv::minAreaRect(outline).size;
  return std::max(size.width, size.height) + 1 > kBar * (std::min(size.width, size.height) + 1);
}

void AddHole(const Scene& scene, const cv::Mat1b& dark, const cv::Rect& box, double area, double reach, std::vector<MarkerSeed>& seeds) {
  if (std::max(box.width, box.height) > 4 * scene.largest || std::min(box.width, box.height) < 2 * kSmallestHole || !IsCompact(box)) return;
  if (area < kHoleFill * box.area()) return;
  const double rim = RimThickness(dark, box), inner = 0.5 * std::max(box.width, box.height);
  if (rim > 2.2 * inner + 4) return;
  const double radius = (reach + rim) / 2;
  const cv::Point2d middle = Middle(box);
  const ImagePoint center = scene.FromDouble(middle.x, middle.y);
  if (radius > 1.3 * scene.largest || IsGridCell(scene.furniture, center, inner / 2 + 0.7)) return;
  seeds.push_back({center, radius});
}

// Holes and lone spots, from the outlines of the ink at twice its size, where small ones keep their shape.
void FromOutlines(const Scene& scene, double line_px, std::vector<MarkerSeed>& spots, std::vector<MarkerSeed>& holes) {
  cv::Mat1b big;
  cv::resize(scene.page.ink(scene.where), big, {}, 2, 2, cv::INTER_LINEAR);
  const cv::Mat1b dark = big > kDark;
  std::vector<std::vector<cv::Point>> contours;
  std::vector<cv::Vec4i> hierarchy;
  cv::findContours(dark, contours, hierarchy, cv::RETR_CCOMP, cv::CHAIN_APPROX_NONE);
  cv::Mat1b small_holes(dark.size(), static_cast<unsigned char>(0));
  for (std::size_t i = 0; i < contours.size(); ++i) {
    const cv::Rect box = cv::boundingRect(contours[i]);
    if (box.width > 4 * scene.largest || box.height > 4 * scene.largest) continue;
    if (hierarchy[i][3] < 0) {
      const double half = 0.25 * std::max(box.width, box.height);
      if (!IsCompact(box) || IsBar(contours[i]) || half > scene.largest || half < kSmallestRadius || 2 * half < kSpotPerLine * line_px) continue;
      const cv::Point2d middle = Middle(box);
      spots.push_back({scene.FromDouble(middle.x, middle.y), 0.5 * (ReachOf(contours[i], middle) + 0.5)});
      continue;
    }
    // The outline of a hole runs through the ink around it.
    const cv::Rect hole(box.x + 1, box.y + 1, box.width - 2, box.height - 2);
    if (hole.width < 2 || hole.height < 2) continue;
    cv::drawContours(small_holes, contours, static_cast<int>(i), 255, cv::FILLED);
    cv::drawContours(small_holes, contours, static_cast<int>(i), 0, 1);
    AddHole(scene, dark, hole, cv::contourArea(contours[i]), ReachOf(contours[i], Middle(hole)) - 0.5, holes);
  }
  // A hole that a line runs through is two.
  cv::Mat1b closed;
  const int across = 2 * cvRound(line_px + 0.5) + 3;
  cv::morphologyEx(small_holes, closed, cv::MORPH_CLOSE, cv::getStructuringElement(cv::MORPH_ELLIPSE, {across, across}));
  const cv::Mat1b rims = dark & ~closed;
  cv::findContours(closed, contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  for (const std::vector<cv::Point>& outline : contours) {
    const cv::Rect box = cv::boundingRect(outline);
    AddHole(scene, rims, box, cv::contourArea(outline), ReachOf(outline, Middle(box)) + 0.5, holes);
  }
}

// Ink that stays when lines are worn away.
void FromThickSpots(const Scene& scene, double line_px, std::vector<MarkerSeed>& seeds) {
  const cv::Mat1b dark = scene.page.ink(scene.where) > kDark;
  const int across = 2 * static_cast<int>(0.5 * (kThickPerLine * line_px + 1.5)) + 1;
  if (across > 2 * scene.largest) return;
  cv::Mat1b core;
  cv::morphologyEx(dark, core, cv::MORPH_OPEN, cv::getStructuringElement(cv::MORPH_ELLIPSE, {across, across}));
  std::vector<std::vector<cv::Point>> contours;
  cv::findContours(core, contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  for (const std::vector<cv::Point>& outline : contours) {
    const cv::Rect box = cv::boundingRect(outline);
    const double half = 0.5 * std::max(box.width, box.height);
    if (!IsCompact(box) || IsBar(outline) || half > scene.largest || half < kSmallestRadius || 2 * half < kSpotPerLine * line_px) continue;
    const cv::Point2d middle = Middle(box);
    // By its area: stubs of lines are left at its rim.
    seeds.push_back({{middle.x + scene.where.x, middle.y + scene.where.y}, kAreaToReach * std::sqrt(cv::contourArea(outline) / M_PI) + 0.5});
  }
}

// A piece of line looks the same a little farther on.
bool IsStretched(const Page& page, const MarkerSeed& s) {
  const MarkerLook look = LookAt(page.ink, s.center, s.radius_px);
  for (int k = 0; k < 8; ++k) {
    const double a = k * M_PI / 8, dx = kShift * s.radius_px * std::cos(a), dy = kShift * s.radius_px * std::sin(a);
    if (std::min(Likeness(look, LookAt(page.ink, {s.center.x + dx, s.center.y + dy}, s.radius_px)),
                 Likeness(look, LookAt(page.ink, {s.center.x - dx, s.center.y - dy}, s.radius_px))) > kStretched)
      return true;
  }
  return false;
}

// Ink in the disc that is frame, grid or ticks.
double FurniturePart(const Scene& scene, const MarkerSeed& s) {
  if (scene.furniture.empty()) return 0;
  const int r = cvCeil(s.radius_px);
  int inked = 0, on = 0;
  for (int y = -r; y <= r; ++y)
    for (int x = -r; x <= r; ++x) {
      const cv::Point p(cvRound(s.center.x) + x, cvRound(s.center.y) + y);
      if (x * x + y * y > r * r || p.x < 0 || p.y < 0 || p.x >= scene.page.ink.cols || p.y >= scene.page.ink.rows) continue;
      if (scene.page.ink(p) <= kDark) continue;
      ++inked;
      on += scene.furniture(p) > 0;
    }
  return inked > 0 ? static_cast<double>(on) / inked : 0.0;
}

// Digits and letters are of many sizes, or taller than wide, or stand at an even pitch: markers in a row are none of it.
bool IsWriting(const Word& word) {
  const std::size_t n = word.glyphs.size();
  if (n < 2) return false;
  int low = 1 << 20, high = 0, narrow = 1 << 20, wide = 0;
  std::vector<double> shapes, steps;
  for (std::size_t i = 0; i < n; ++i) {
    const cv::Rect& g = word.glyphs[i];
    low = std::min(low, g.height);
    high = std::max(high, g.height);
    narrow = std::min(narrow, g.width);
    wide = std::max(wide, g.width);
    shapes.push_back(static_cast<double>(g.width) / g.height);
    if (i > 0) steps.push_back(cv::norm(Middle(g) - Middle(word.glyphs[i - 1])));
  }
  if (high > kUnlike * low || wide > kUnlike * narrow) return true;
  std::nth_element(shapes.begin(), shapes.begin() + static_cast<long>(n / 2), shapes.end());
  const bool level = std::abs(std::remainder(word.angle_deg, 90.0)) < kLevelDeg;
  if (level && shapes[n / 2] < kNarrow) return true;
  const auto [least, most] = std::minmax_element(steps.begin(), steps.end());
  return n >= 3 && *most < kEvenPitch * *least;
}

}  // namespace

PrintAt::PrintAt(const PrintFound& print) {
  for (const Word& word : print.words)
    if (IsWriting(word)) glyphs_.insert(glyphs_.end(), word.glyphs.begin(), word.glyphs.end());
}

bool PrintAt::operator()(ImagePoint p) const {
  const cv::Point at(cvRound(p.x), cvRound(p.y));
  return std::any_of(glyphs_.begin(), glyphs_.end(), [&](const cv::Rect& g) { return g.contains(at); });
}

std::vector<MarkerSeed> FindMarkerSeeds(const Page& page, cv::Rect where, const PrintFound& print, const LineWidths& lines,
                                        const cv::Mat1b& furniture) {
  const Scene scene{page, where, furniture, kLargestRadius * std::min(where.width, where.height)};
  std::vector<MarkerSeed> spots, holes, thick, seeds;
  FromOutlines(scene, lines.fine_px, spots, holes);
  FromThickSpots(scene, lines.fine_px, thick);
  if (lines.usual_px > 1.3 * lines.fine_px) FromThickSpots(scene, lines.usual_px, thick);
  // Rings may be small; what is filled must be thicker than any dot of a line.
  const auto dot = [&](const MarkerSeed& s) { return 2 * s.radius_px < kDotPerLine * lines.usual_px; };
  std::erase_if(spots, dot);
  std::erase_if(thick, dot);
  // The surest of several seeds of one place stays.
  for (const std::vector<MarkerSeed>* from : {&spots, &holes, &thick})
    for (const MarkerSeed& s : *from) {
      const bool known = std::any_of(seeds.begin(), seeds.end(), [&](const MarkerSeed& t) {
        return std::hypot(t.center.x - s.center.x, t.center.y - s.center.y) < 0.5 * t.radius_px && s.radius_px < 1.4 * t.radius_px;
      });
      if (!known) seeds.push_back(s);
      if (seeds.size() > kMostSeeds) return {};
    }
  std::erase_if(seeds, [&](const MarkerSeed& s) { return FurniturePart(scene, s) > kFurniturePart || IsStretched(page, s); });
  const PrintAt is_print(print);
  for (MarkerSeed& s : seeds) s.print = is_print(s.center);
  return seeds;
}

}  // namespace islebook
