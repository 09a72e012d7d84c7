#include "digitizer/drawing/drawing.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/drawing/drawn_lines.h"
#include "digitizer/drawing/drawn_page.h"
#include "digitizer/drawing/drawn_print.h"

namespace islebook {
namespace {

// Part of the page that raster pictures cover.
double PictureShare(const DrawnPage& drawn, cv::Size size) {
  if (drawn.images.empty()) return 0.0;
  constexpr int kShrink = 8;
  cv::Mat1b covered(size.height / kShrink + 1, size.width / kShrink + 1, static_cast<unsigned char>(0));
  for (const auto& corners : drawn.images) {
    std::vector<cv::Point> quad;
    for (const cv::Point2d& p : corners)
      quad.emplace_back(cvRound(std::clamp(p.x / kShrink, -10.0, covered.cols + 10.0)),
                        cvRound(std::clamp(p.y / kShrink, -10.0, covered.rows + 10.0)));
    cv::fillConvexPoly(covered, quad, 255);
  }
  return static_cast<double>(cv::countNonZero(covered)) / static_cast<double>(covered.total());
}

constexpr std::size_t kFewestLetters = 24;

// Short chains under print are its own strokes.
void DropLettersStrokes(const PrintFound& print, std::vector<RidgeChain>& chains) {
  const double longest = 2.5 * print.digit_height_px;
  std::erase_if(chains, [&](const RidgeChain& chain) {
    if (chain.length_px > longest) return false;
    const auto under = std::ranges::count_if(chain.points, [&](const ImagePoint& p) {
      const int x = cvRound(p.x), y = cvRound(p.y);
      return x >= 0 && y >= 0 && x < print.mask.cols && y < print.mask.rows && print.mask(y, x) != 0;
    });
    return 2 * static_cast<std::size_t>(under) > chain.points.size();
  });
}

DrawingFound NotUsable(std::string note, std::string doubt = {}) {
  DrawingFound none;
  none.report.confidence = 0.0;
  none.report.notes.push_back(std::move(note));
  if (!doubt.empty()) none.report.doubts.push_back(std::move(doubt));
  return none;
}

}  // namespace

Result<void> DrawingOptions::Check() const {
  if (!(most_picture >= 0.0 && most_picture <= 1.0))
    return Fail(ErrorCode::kInvalidArgument, "The part of a page that pictures may cover lies between 0 and 1.", "most_picture");
  if (!(least_line_part > 0.0 && least_line_part < 1.0))
    return Fail(ErrorCode::kInvalidArgument, "The shortest line of a chart must lie between 0 and the whole page.", "least_line_part");
  return {};
}

Result<DrawingFound> ReadDrawing(const Sheet& sheet, const Page& page, const PrintOptions& print, const DrawingOptions& options) {
  if (const auto checked = options.Check(); !checked) return std::unexpected(checked.error());
  if (!sheet.source) return NotUsable("the sheet is a picture");
  if (sheet.source->paths.empty()) return NotUsable("no paths", sheet.source->doubt);
  const PageScale scale{sheet.pixels.size(), sheet.source->px_per_point, sheet.source->quarter_turns};
  auto drawn = ReadDrawnPage(sheet.source->paths, scale);
  if (!drawn) return NotUsable(drawn.error().message, drawn.error().message + "; it was read as a picture");
  if (const double share = PictureShare(*drawn, sheet.pixels.size()); share > options.most_picture) {
    const bool mixed = drawn->shapes.size() > 40;
    return NotUsable(fmt::format("a picture covers {:.0f} % of the page", 100.0 * share),
                     mixed ? "the page mixes a picture with drawn lines; it was read as a picture" : "");
  }
  try {
    SortedShapes sorted = SortShapes(*drawn, page);
    const double least = options.least_line_part * std::max(page.ink.cols, page.ink.rows);
    const auto lines = std::count_if(sorted.chains.begin(), sorted.chains.end(), [&](const RidgeChain& chain) { return chain.length_px > least; });
    if (lines < 2) return NotUsable("the page's paths make no chart");
    std::vector<const DrawnShape*> letters = sorted.small;
    // No letter at all: they may have been drawn with a pen.
    if (drawn->glyphs.size() + letters.size() < kFewestLetters)
      letters.insert(letters.end(), sorted.small_strokes.begin(), sorted.small_strokes.end());
    auto words = FindDrawnPrint(*drawn, ReadPageWords(sheet.source->words, scale), letters, page, print);
    if (!words) return std::unexpected(words.error());
    DropLettersStrokes(words->print, sorted.chains);
    DrawingFound found;
    found.usable = true;
    found.ridges.exact = true;
    found.ridges.chains = std::move(sorted.chains);
    found.ridges.dash_mask = cv::Mat1b(page.ink.size(), static_cast<unsigned char>(0));
    const auto dashed = std::count_if(found.ridges.chains.begin(), found.ridges.chains.end(), [](const RidgeChain& c) { return c.dash_pattern; });
    found.ridges.report.notes.push_back(fmt::format("{} drawn lines, {} of them dashed, {} hidden; {} small filled shapes",
                                                    found.ridges.chains.size(), dashed, sorted.hidden, sorted.small.size()));
    found.print = std::move(words->print);
    found.letters = std::move(words->letters);
    found.print_page = std::move(words->print_page);
    found.report.notes.push_back("read from the page's own lines and words");
    return found;
  } catch (const cv::Exception& failure) {
    return NotUsable(fmt::format("the page's paths could not be followed: {}", failure.err));
  }
}

std::unique_ptr<PrintReader> MakeExactReader(const DrawingFound& drawing, PrintReader& reader) {
  return MakeExactReader(drawing.letters, drawing.print.words, drawing.print_page, reader);
}

}  // namespace islebook
