#include "digitizer/page/page.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/page/flatten.h"
#include "digitizer/page/paper_light.h"
#include "digitizer/page/paper_outline.h"

namespace islebook {
namespace {

constexpr int kDarkPicture = 140;   // brightness below which a dark page is looked for
constexpr int kReducedSide = 1000;  // px of the longer side at which paper and light are judged

cv::Mat3b Reduce(const cv::Mat3b& pixels) {
  const int factor = std::max(1, (std::max(pixels.cols, pixels.rows) + kReducedSide / 2) / kReducedSide);
  if (factor == 1) return pixels;
  cv::Mat3b small;
  cv::resize(pixels, small, {(pixels.cols + factor - 1) / factor, (pixels.rows + factor - 1) / factor}, 0, 0, cv::INTER_AREA);
  return small;
}

cv::Mat1b Enlarge(const cv::Mat1b& mask, cv::Size size) {
  if (mask.empty() || mask.size() == size) return mask;
  cv::Mat1b large;
  cv::resize(mask, large, size, 0, 0, cv::INTER_LINEAR);
  return large > 127;
}

}  // namespace

Result<void> PageOptions::Check() const {
  if (!(paper_scale > 0.0 && paper_scale < 0.5))
    return Fail(ErrorCode::kInvalidArgument, "the paper window must lie between 0 and half of the picture.", "paper_scale");
  if (!(min_page_area > 0.0 && min_page_area < 1.0))
    return Fail(ErrorCode::kInvalidArgument, "the smallest page must lie between 0 and the whole picture.", "min_page_area");
  return {};
}

Result<Page> FlattenPage(const Sheet& sheet, const PageOptions& options) {
  if (const auto checked = options.Check(); !checked) return std::unexpected(checked.error());
  if (sheet.pixels.empty()) return Fail(ErrorCode::kNoPage, "the sheet has no pixels.", sheet.file);
  try {
    Page page;
    cv::Mat3b pixels = sheet.pixels, small = Reduce(pixels);
    PaperOutline outline;
    std::optional<PaperOutline> desk;
    page.panel = FindGroundPanel(pixels, small);
    if (!page.panel) {
      // On a desk the page shows first.
      desk = FindPaper(small, options.min_page_area);
      if (!desk->mask.empty()) page.panel = FindGroundPanel(pixels, small, desk->mask);
    }
    if (page.panel && page.panel->dark) {
      pixels = WithLightGround(pixels, *page.panel);
      small = Reduce(pixels);
      page.report.notes.push_back("the plot's light lines on dark ground turned to dark on light");
    } else if (page.panel) {
      page.report.notes.push_back("the plot has a ground of its own");
    }
    page.inverted = IsInverted(small);
    if (!page.inverted) {
      outline = desk ? *desk : FindPaper(small, options.min_page_area);  // a panel turned light lies well inside its paper
      // A dark page on a desk shows as dark only when the desk is left out.
      page.inverted = !outline.mask.empty() && IsInverted(small, outline.mask);
    }
    if (page.inverted || (outline.mask.empty() && MedianBrightness(small) < kDarkPicture)) {
      cv::Mat3b turned;  // not in place: a small sheet is its own reduction
      cv::bitwise_not(small, turned);
      const PaperOutline dark = FindPaper(turned, options.min_page_area);
      if (page.inverted || (!dark.mask.empty() && IsInverted(small, dark.mask))) {
        if (!dark.mask.empty() || outline.mask.empty()) outline = dark;
        page.inverted = true;
        small = turned;
        page.report.notes.push_back("light lines on a dark ground, turned to dark on light");
      }
    }
    page.report.notes.push_back(outline.note);
    const int window = static_cast<int>(std::lround(options.paper_scale * std::max(small.cols, small.rows)));
    const cv::Mat3f level = PaperLevel(small, outline.mask, window);
    page.paper = Enlarge(outline.mask, sheet.pixels.size());
    page.extent = page.paper.empty() ? cv::Rect(0, 0, sheet.pixels.cols, sheet.pixels.rows) : cv::boundingRect(page.paper);
    if (page.panel && !page.panel->dark && !page.inverted) page.light = LightLines(pixels, small, *page.panel);
    const InkScale scale = MeasureInk(pixels, level, page.paper, page.inverted);
    Flatten(pixels, level, page.paper, page.inverted, scale, page.ink, page.color);
    page.noise = scale.noise;
    page.blur_px = EstimateBlur(page.ink);
    page.report.notes.push_back(fmt::format("noise {:.1f} of 255, blur {:.2f} px, ink gain {:.2f}", page.noise, page.blur_px, scale.gain));
    return page;
  } catch (const cv::Exception& failure) {
    return Fail(ErrorCode::kNoPage, fmt::format("the page could not be evened out: {}.", failure.err), sheet.file);
  }
}

}  // namespace islebook
