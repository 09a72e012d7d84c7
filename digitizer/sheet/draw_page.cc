// PDF and SVG pages, drawn at `page_dpi` by separate programs.

#include <cmath>
#include <cstdlib>
#include <cstring>
#include <string>

#include <fmt/format.h>

#include "digitizer/sheet/decoders.h"
#include "digitizer/sheet/helper_program.h"

namespace islebook {
namespace {

std::unexpected<Error> FailSlow(const char* format) {
  return Fail(ErrorCode::kSheetTooLarge, fmt::format("the {} page takes too long to draw; save the chart alone as a PNG at 300 dpi.", format));
}

// The value behind "NAME:" in pdfinfo's text.
std::string FindFact(const std::string& text, const std::string& name) {
  const std::size_t at = text.find(name);
  if (at == std::string::npos) return {};
  const std::size_t colon = text.find(':', at), end = text.find('\n', at);
  if (colon == std::string::npos || (end != std::string::npos && colon > end)) return {};
  return text.substr(colon + 1, end == std::string::npos ? end : end - colon - 1);
}

constexpr int kEnlarged = 4;
constexpr std::int64_t kMostPathBytes = 48 << 20;
constexpr HelperLimits kPathLimits{.wall_s = 30.0, .cpu_s = 15, .output_bytes = kMostPathBytes};

std::string TextOf(const std::vector<std::uint8_t>& bytes) { return {bytes.begin(), bytes.end()}; }

// The page's paths and words. Never an error: without them the picture serves.
PageSource AskForSource(Bytes pdf, const std::string& page, double px_per_point = 0.0) {
  PageSource source;
  source.px_per_point = px_per_point;
  // Unless told otherwise, the program fits pages to paper of whole points.
  const auto paths = RunHelper({"pdftocairo", "-svg", "-noshrink", "-nocenter", "-f", page, "-l", page, "-", "-"}, pdf, kPathLimits);
  if (!paths || paths->timed_out || paths->too_much || paths->exit_code != 0 || paths->output.empty()) {
    source.doubt = paths && (paths->timed_out || paths->too_much)
                       ? "the page holds too many drawn lines to follow one by one; it was read as a picture"
                       : "the page's own lines could not be had; it was read as a picture";
    return source;
  }
  source.paths = TextOf(paths->output);
  const auto words = RunHelper({"pdftotext", "-raw", "-bbox", "-cropbox", "-f", page, "-l", page, "-", "-"}, pdf, kPathLimits);
  if (words && !words->timed_out && !words->too_much && words->exit_code == 0) source.words = TextOf(words->output);
  return source;
}

}  // namespace

int CountPdfPages(Bytes bytes) {
  const auto facts = RunHelper({"pdfinfo", "-"}, bytes, {.wall_s = 20.0, .cpu_s = 10});
  return facts && !facts->timed_out ? std::atoi(FindFact(TextOf(facts->output), "Pages").c_str()) : 0;
}

Result<Picture> DrawPdfPage(Bytes bytes, const SheetOptions& options) {
  const std::string page = std::to_string(options.page);
  const auto facts = RunHelper({"pdfinfo", "-f", page, "-l", page, "-"}, bytes, {.wall_s = 20.0, .cpu_s = 10});
  if (!facts) return std::unexpected(facts.error());
  if (facts->timed_out) return FailSlow("PDF");
  const std::string text(facts->output.begin(), facts->output.end());
  if (facts->errors.find("password") != std::string::npos && text.empty())
    return Fail(ErrorCode::kNotASheet, "the PDF is locked by a password; save an unlocked copy.");
  const int pages = std::atoi(FindFact(text, "Pages").c_str());
  if (facts->errors.find("page range") != std::string::npos || (pages > 0 && options.page > pages))
    return Fail(ErrorCode::kNotFound, fmt::format("the PDF has fewer pages, so there is no page {}.", options.page));
  if (facts->exit_code != 0 && text.empty()) return FailDamaged("PDF", "");
  double width_pt = 0.0, height_pt = 0.0;
  for (const std::string& name : {fmt::format("Page {:4} size", options.page), std::string("Page size")})
    if (std::sscanf(FindFact(text, name).c_str(), " %lf x %lf", &width_pt, &height_pt) == 2) break;
  if (!(width_pt > 0.0 && height_pt > 0.0)) return FailDamaged("PDF", "no page size");
  if (const int turned = std::atoi(FindFact(text, " rot:").c_str()); turned % 180 != 0) std::swap(width_pt, height_pt);
  // Drawn to whole pixels, so that the picture's size is the page's, not a part of a pixel more.
  const auto width = std::llround(width_pt * options.page_dpi / 72.0), height = std::llround(height_pt * options.page_dpi / 72.0);
  if (const auto size = CheckSize(width, height, options); !size) return std::unexpected(size.error());

  const auto drawn = RunHelper({"pdftocairo", "-png", "-singlefile", "-cropbox", "-scale-to-x", std::to_string(width), "-scale-to-y",
                                std::to_string(height), "-f", page, "-l", page, "-", "-"},
                               bytes);
  if (!drawn) return std::unexpected(drawn.error());
  if (drawn->timed_out || drawn->too_much) return FailSlow("PDF");
  if (drawn->exit_code != 0 || drawn->output.empty()) return FailDamaged("PDF", "");
  auto picture = DecodePng(drawn->output, options);
  if (!picture) return picture;
  picture->dpi = options.page_dpi;
  // Rounding may give a column or a row more than was asked for.
  const cv::Size asked(static_cast<int>(width), static_cast<int>(height));
  if (picture->pixels.size() != asked) picture->pixels = picture->pixels(cv::Rect({0, 0}, asked) & cv::Rect({0, 0}, picture->pixels.size())).clone();
  picture->source = AskForSource(bytes, page);
  return picture;
}

Result<Picture> DrawSvgPage(Bytes bytes, const SheetOptions& options) {
  // Lengths without a unit are 1/96 inch, so drawing at 96 dpi and zooming treats all units alike.
  const auto drawn = RunHelper(
      {"rsvg-convert", "--format=png", "--background-color=white", "--dpi-x=96", "--dpi-y=96", fmt::format("--zoom={}", options.page_dpi / 96.0)},
      bytes);
  if (!drawn) return std::unexpected(drawn.error());
  if (drawn->timed_out || drawn->too_much) return FailSlow("SVG");
  if (drawn->exit_code != 0 || drawn->output.empty()) {
    if (drawn->errors.find("larger than") != std::string::npos || drawn->errors.find("memory") != std::string::npos)
      return Fail(ErrorCode::kSheetTooLarge, "the SVG page is too large to draw; save the chart alone as a PNG at 300 dpi.");
    return FailDamaged("SVG", "");
  }
  auto picture = DecodePng(drawn->output, options);
  if (!picture) return picture;
  picture->dpi = options.page_dpi;
  // Its lines and words come by way of a PDF page, so that styles, scripts of coordinates and fonts are settled by the same program that draws it;
  // enlarged, because PDF pages round to a part of a point.
  const auto page = RunHelper({"rsvg-convert", "--format=pdf", "--dpi-x=96", "--dpi-y=96", fmt::format("--zoom={}", kEnlarged)}, bytes, kPathLimits);
  if (page && !page->timed_out && !page->too_much && page->exit_code == 0)
    picture->source = AskForSource(page->output, "1", options.page_dpi / 72.0 / kEnlarged);  // pictures end with whole pixels, pages do not
  else
    picture->source = PageSource{.doubt = "the page's own lines could not be had; it was read as a picture"};
  return picture;
}

}  // namespace islebook
