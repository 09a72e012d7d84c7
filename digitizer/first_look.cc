#include "digitizer/first_look.h"

#include <algorithm>

#include <opencv2/imgproc.hpp>

#include "digitizer/page/page.h"
#include "digitizer/ridges/ridges.h"

namespace islebook {

Result<void> FirstLookOptions::Check() const {
  if (side_px < 64 || !(min_length_px >= 0.0))
    return Fail(ErrorCode::kInvalidArgument, "the copy must be at least 64 pixels on its longer side.", "side_px");
  return {};
}

std::vector<std::vector<Point2>> TakeFirstLook(const Sheet& sheet, const FirstLookOptions& options) {
  std::vector<std::vector<Point2>> lines;
  if (!options.Check() || sheet.pixels.empty()) return lines;
  const double scale = std::min(1.0, static_cast<double>(options.side_px) / std::max(sheet.pixels.rows, sheet.pixels.cols));
  Sheet copy;
  copy.file = sheet.file;
  if (scale < 1.0)
    cv::resize(sheet.pixels, copy.pixels, {}, scale, scale, cv::INTER_AREA);
  else
    copy.pixels = sheet.pixels;
  // A copy rounds to whole pixels: each way has its own scale.
  const double scale_x = static_cast<double>(copy.pixels.cols) / sheet.pixels.cols,
               scale_y = static_cast<double>(copy.pixels.rows) / sheet.pixels.rows;
  const auto page = FlattenPage(copy);
  if (!page) return lines;
  const auto ridges = TraceRidges(*page);
  if (!ridges) return lines;
  std::vector<const RidgeChain*> chains;
  for (const RidgeChain& chain : ridges->chains)
    if (chain.length_px >= options.min_length_px) chains.push_back(&chain);
  std::ranges::stable_sort(chains, [](const RidgeChain* a, const RidgeChain* b) { return a->length_px > b->length_px; });
  for (const RidgeChain* chain : chains) {
    std::vector<Point2>& line = lines.emplace_back();
    for (const ImagePoint& p : chain->points) line.push_back({(p.x + 0.5) / scale_x - 0.5, (p.y + 0.5) / scale_y - 0.5});
  }
  return lines;
}

}  // namespace islebook
