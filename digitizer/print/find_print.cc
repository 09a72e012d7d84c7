#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/print/glyphs.h"
#include "digitizer/print/ink_tree.h"
#include "digitizer/print/line_cut.h"
#include "digitizer/print/print.h"
#include "digitizer/print/word_lines.h"

namespace islebook {
namespace {

constexpr double kDegree = std::numbers::pi / 180.0;

std::vector<int> Steps(double noise) {
  std::vector<int> steps;
  double t = std::clamp(5.0 * noise, 26.0, 70.0);
  while (t < 200.0) {
    steps.push_back(static_cast<int>(std::lround(t)));
    t = std::max(t + 12.0, 1.33 * t);
  }
  return steps;
}

std::vector<InkRun> GlyphRuns(const InkTree& tree, const Glyph& g) { return g.blob < 0 ? g.runs : tree.RunsOf(g.step, g.blob); }

// Median color of the darker half of the glyphs' pixels.
cv::Vec3f WordColor(const Page& page, const InkTree& tree, const std::vector<Glyph>& glyphs, const std::vector<int>& members) {
  if (page.color.empty()) return {};
  std::vector<cv::Vec3b> pixels;
  for (const int m : members) {
    const Glyph& g = glyphs[static_cast<std::size_t>(m)];
    for (const InkRun& run : GlyphRuns(tree, g))
      for (int x = run.x0; x < run.x1; ++x)
        if (page.ink(run.y, x) * 4 >= g.peak * 3) pixels.push_back(page.color(run.y, x));
  }
  if (pixels.empty()) return {};
  cv::Mat3b one(1, 1);
  for (int c = 0; c < 3; ++c) {
    std::vector<std::uint8_t> v;
    v.reserve(pixels.size());
    for (const cv::Vec3b& p : pixels) v.push_back(p[c]);
    std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
    one(0, 0)[c] = v[v.size() / 2];
  }
  cv::Mat3f lab;
  one.convertTo(lab, CV_32FC3, 1.0 / 255.0);
  cv::cvtColor(lab, lab, cv::COLOR_BGR2Lab);
  return lab(0, 0);
}

// Covers the word's glyphs and the pale rim around them, and gives back every pixel of other ink.
void PaintMask(cv::Mat1b& mask, const InkTree& tree, const std::vector<Glyph>& glyphs, const std::vector<int>& members, int rim) {
  for (const int m : members) {
    const Glyph& g = glyphs[static_cast<std::size_t>(m)];
    const cv::Rect roi = cv::Rect(g.box.x - rim, g.box.y - rim, g.box.width + 2 * rim, g.box.height + 2 * rim) & cv::Rect(0, 0, mask.cols, mask.rows);
    cv::Mat1b cover(roi.size(), 0);
    for (const InkRun& run : GlyphRuns(tree, g)) cover.row(run.y - roi.y).colRange(run.x0 - roi.x, run.x1 - roi.x).setTo(255);
    cv::dilate(cover, cover, cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * rim + 1, 2 * rim + 1}));
    // Other ink at the glyph's own step.
    for (int y = roi.y; y < roi.y + roi.height; ++y) {
      for (const InkRun& run : tree.Row(g.step, y)) {
        if (run.x1 <= roi.x) continue;
        if (run.x0 >= roi.x + roi.width) break;
        const bool own = std::any_of(members.begin(), members.end(), [&](int k) {
          const Glyph& other = glyphs[static_cast<std::size_t>(k)];
          if (other.blob >= 0)
            return other.step == g.step ? other.blob == run.blob
                                        : (other.box & cv::Rect(run.x0, y, run.x1 - run.x0, 1)).area() > 0 && other.step > g.step;
          return std::any_of(other.runs.begin(), other.runs.end(), [&](const InkRun& r) { return r.y == y && r.x0 < run.x1 && run.x0 < r.x1; });
        });
        if (!own) cover.row(y - roi.y).colRange(std::max(run.x0, roi.x) - roi.x, std::min(run.x1, roi.x + roi.width) - roi.x).setTo(0);
      }
    }
    cv::bitwise_or(mask(roi), cover, mask(roi));
  }
}

void AddCutGlyphs(const cv::Mat1b& ink, const InkTree& tree, cv::Rect extent, const cv::Mat1b& paper, const GlyphLimits& limits,
                  const WordLinesFound& lines, std::vector<Glyph>& glyphs) {
  std::vector<int> peaks;
  std::vector<float> strokes;
  for (const GlyphLine& line : lines.lines) {
    if (line.height() < 0.7 * lines.digit_height || line.height() > 1.4 * lines.digit_height) continue;
    for (const int m : line.glyphs) {
      peaks.push_back(glyphs[static_cast<std::size_t>(m)].peak);
      strokes.push_back(glyphs[static_cast<std::size_t>(m)].stroke);
    }
  }
  if (peaks.empty()) return;
  std::nth_element(peaks.begin(), peaks.begin() + static_cast<std::ptrdiff_t>(peaks.size() / 2), peaks.end());
  std::nth_element(strokes.begin(), strokes.begin() + static_cast<std::ptrdiff_t>(strokes.size() / 2), strokes.end());
  CutOptions cut;
  cut.digit_height = lines.digit_height;
  cut.stroke = strokes[strokes.size() / 2];
  cut.limits = limits;
  while (cut.step + 1 < tree.step_count() && tree.threshold(cut.step + 1) <= 0.45 * peaks[peaks.size() / 2]) ++cut.step;
  // Blobs of that step that are print already, or hold print found at a higher step.
  std::vector<char> taken(tree.blobs(cut.step).size(), 0);
  for (const GlyphLine& line : lines.lines)
    for (const std::vector<int>* members : {&line.glyphs, &line.small})
      for (const int m : *members) {
        const Glyph& g = glyphs[static_cast<std::size_t>(m)];
        if (g.step == cut.step) taken[static_cast<std::size_t>(g.blob)] = 1;
      }
  std::vector<Glyph> cuts = CutGlyphs(ink, tree, taken, extent, paper, cut);
  // The same ink may have come free at a higher step already.
  std::erase_if(cuts, [&](const Glyph& c) {
    return std::any_of(glyphs.begin(), glyphs.end(), [&](const Glyph& g) {
      return g.blob >= 0 && g.step > cut.step && (g.box & c.box).area() * 2 > std::min(g.box.area(), c.box.area()) && g.length > 0.3F * c.length;
    });
  });
  glyphs.insert(glyphs.end(), std::make_move_iterator(cuts.begin()), std::make_move_iterator(cuts.end()));
}

// The word's own ink where lines touch it.
void KeepOwnInk(Word& word, const InkTree& tree, const std::vector<Glyph>& glyphs, const std::vector<int>& members, int rim) {
  if (std::none_of(members.begin(), members.end(), [&](int m) { return glyphs[static_cast<std::size_t>(m)].cut; })) return;
  cv::Rect all;
  for (const int m : members) all |= glyphs[static_cast<std::size_t>(m)].box;
  all = cv::Rect(all.x - rim, all.y - rim, all.width + 2 * rim, all.height + 2 * rim);
  word.own = cv::Mat1b(all.size(), 0);
  word.own_at = all.tl();
  for (const int m : members)
    for (const InkRun& run : GlyphRuns(tree, glyphs[static_cast<std::size_t>(m)]))
      word.own.row(run.y - all.y).colRange(run.x0 - all.x, run.x1 - all.x).setTo(255);
  cv::dilate(word.own, word.own, cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * rim + 1, 2 * rim + 1}));
}

}  // namespace

Result<void> PrintOptions::Check() const {
  if (min_glyph_px < 3.0 || min_glyph_px > 200.0)
    return Fail(ErrorCode::kInvalidArgument, "The smallest digit height must lie between 3 and 200 px.", "min_glyph_px");
  if (max_glyph_part <= 0.0 || max_glyph_part > 0.5)
    return Fail(ErrorCode::kInvalidArgument, "The largest glyph height must be a part of the picture between 0 and 0.5.", "max_glyph_part");
  return {};
}

Result<PrintFound> FindPrint(const Page& page, const cv::Mat1b& not_print, const PrintOptions& options) {
  if (auto ok = options.Check(); !ok) return std::unexpected(ok.error());
  if (page.ink.empty()) return Fail(ErrorCode::kInvalidArgument, "There is no page to look for print on.");
  if (!not_print.empty() && not_print.size() != page.ink.size())
    return Fail(ErrorCode::kInvalidArgument, "The mask of what is no print must have the page's size.");
  const cv::Rect all(0, 0, page.ink.cols, page.ink.rows);
  const cv::Rect extent = page.extent.empty() ? all : page.extent & all;

  cv::Mat1b ink = page.ink;
  if (!not_print.empty() && cv::countNonZero(not_print(extent)) > 0) {
    ink = page.ink.clone();
    ink.setTo(0, not_print);
  }
  const InkTree tree(ink, extent, Steps(page.noise));
  GlyphLimits limits;
  limits.min_height = static_cast<float>(options.min_glyph_px);
  limits.max_height = std::max(8.0F * limits.min_height, static_cast<float>(options.max_glyph_part * std::min(page.ink.cols, page.ink.rows)));
  std::vector<Glyph> glyphs = CollectGlyphs(tree, limits, page.paper);
  WordLinesFound lines = GroupGlyphs(glyphs, 0.0);
  // With the print's size known, the letters that lines touch can be cut free.
  const std::size_t clean = glyphs.size();
  if (lines.digit_height > 0.0) {
    AddCutGlyphs(ink, tree, extent, page.paper, limits, lines, glyphs);
    if (glyphs.size() > clean) {
      const WordLinesFound before = lines;
      lines = GroupGlyphs(glyphs, 0.0, &before);
    }
  }

  PrintFound found;
  found.mask = cv::Mat1b(page.ink.size(), 0);
  found.digit_height_px = lines.digit_height;
  const int rim = std::max(2, static_cast<int>(std::lround(1.0 + 1.5 * page.blur_px)));
  for (const GlyphLine& line : lines.lines) {
    Word word;
    const double c = std::cos(line.angle_deg * kDegree), s = std::sin(line.angle_deg * kDegree);
    const double a = (line.start + line.end) / 2.0, b = (line.top + line.base) / 2.0;
    word.center = {a * c - b * s, a * s + b * c};
    word.angle_deg = line.angle_deg;
    word.width_px = line.end - line.start;
    word.height_px = line.height();
    std::vector<int> members = line.glyphs;
    members.insert(members.end(), line.small.begin(), line.small.end());
    const auto along = [&](int m) { return glyphs[static_cast<std::size_t>(m)].center.x * c + glyphs[static_cast<std::size_t>(m)].center.y * s; };
    std::sort(members.begin(), members.end(), [&](int p, int q) { return along(p) < along(q); });
    for (const int m : members) word.glyphs.push_back(glyphs[static_cast<std::size_t>(m)].box);
    word.lab = WordColor(page, tree, glyphs, line.glyphs);
    PaintMask(found.mask, tree, glyphs, members, rim);
    KeepOwnInk(word, tree, glyphs, members, 1);
    found.words.push_back(std::move(word));
  }
  std::sort(found.words.begin(), found.words.end(),
            [](const Word& p, const Word& q) { return p.center.y != q.center.y ? p.center.y < q.center.y : p.center.x < q.center.x; });
  found.report.notes.push_back(fmt::format("{} words of {} glyphs, digits {:.1f} px high, print runs at {:.1f} degrees", found.words.size(),
                                           glyphs.size(), lines.digit_height, lines.print_angle_deg));
  if (found.words.empty()) {
    found.report.confidence = 0.0;
    found.report.doubts.push_back("No print was found on the page.");
  } else if (lines.digit_height < 8.0) {
    found.report.confidence = 0.5;
    found.report.doubts.push_back(fmt::format("The digits are only {:.0f} px high; numbers may be misread.", lines.digit_height));
  }
  return found;
}

}  // namespace islebook
