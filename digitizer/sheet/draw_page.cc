// PDF and SVG pages, drawn by separate programs; a PDF page that is a scan at the scan's own resolution.

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <sstream>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <opencv2/imgproc.hpp>

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

constexpr double kPageDpi = 300.0;
constexpr double kSameDpi = 0.02;       // apart, as a part: printed resolutions are rounded
constexpr double kExactDpi = 0.0002;    // half a pixel over a page
constexpr double kScanCover = 0.6;      // of the page, from which on its pictures are what the page is
constexpr double kMostScanDpi = 400.0;  // finer scans are drawn at a half, a third ...: each pixel the mean of whole ones
constexpr double kLeastScanDpi = 36.0;

struct PagePicture {
  double width_px = 0.0, height_px = 0.0;
  double x_ppi = 0.0, y_ppi = 0.0;
  double Ppi() const { return std::max(x_ppi, y_ppi); }
  double Area() const { return width_px / x_ppi * height_px / y_ppi; }  // square inches
};

// The pictures on a page, soft masks apart, from the table that pdfimages prints.
std::vector<PagePicture> ListPictures(Bytes pdf, const std::string& page) {
  std::vector<PagePicture> pictures;
  const auto table = RunHelper({"pdfimages", "-list", "-f", page, "-l", page, "-"}, pdf, {.wall_s = 20.0, .cpu_s = 10});
  if (!table || table->timed_out || table->exit_code != 0) return pictures;
  std::istringstream lines(TextOf(table->output));
  for (std::string line; std::getline(lines, line);) {
    char type[16] = {};
    PagePicture picture;
    if (std::sscanf(line.c_str(), " %*d %*d %15s %lf %lf %*s %*s %*s %*s %*s %*s %*s %lf %lf", type, &picture.width_px, &picture.height_px,
                    &picture.x_ppi, &picture.y_ppi) != 5)
      continue;
    if (std::strcmp(type, "smask") != 0 && picture.x_ppi > 0.0 && picture.y_ppi > 0.0) pictures.push_back(picture);
  }
  return pictures;
}

// The resolution of a page that is a scan: the finest that covers most of it (its text may be a finer layer than its paper, and either may come in
// strips). 0 where the page is no scan.
double FindScanDpi(const std::vector<PagePicture>& pictures, double page_width_in, double page_height_in) {
  double finest = 0.0;
  for (const PagePicture& one : pictures) {
    double covered = 0.0;
    for (const PagePicture& other : pictures)
      if (std::abs(other.Ppi() - one.Ppi()) < kSameDpi * one.Ppi()) covered += other.Area();
    if (covered < kScanCover * page_width_in * page_height_in) continue;
    // Printed resolutions are rounded; a picture as wide as the page says it to the pixel.
    const double whole = one.width_px / page_width_in;
    finest = std::max(finest, std::abs(whole - one.Ppi()) < kSameDpi * one.Ppi() ? whole : one.Ppi());
  }
  return finest < kLeastScanDpi ? 0.0 : finest / std::ceil(finest / kMostScanDpi);
}

// The picture, drawn at the scan's resolution, becomes its scan, and the picture itself what a drawing at the page's resolution would be.
void KeepScan(Picture& picture, double scale, cv::Size2d size) {
  PageScan scan{picture.pixels, scale};
  const double shift = 0.5 * scale - 0.5;  // pixel centers are whole numbers
  picture.pixels = cv::Mat3b();
  cv::warpAffine(scan.pixels, picture.pixels, cv::Matx23d(scale, 0.0, shift, 0.0, scale, shift), {cvRound(size.width), cvRound(size.height)},
                 cv::INTER_LINEAR | cv::WARP_INVERSE_MAP, cv::BORDER_REPLICATE);
  picture.scan = std::move(scan);
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
  const double width_in = width_pt / 72.0, height_in = height_pt / 72.0;
  const std::vector<PagePicture> pictures = options.page_dpi ? std::vector<PagePicture>{} : ListPictures(bytes, page);
  const double page_dpi = options.page_dpi.value_or(kPageDpi), scan_dpi = FindScanDpi(pictures, width_in, height_in);
  const bool is_scan = scan_dpi > 0.0 && std::abs(scan_dpi - page_dpi) > kExactDpi * page_dpi;
  const double dpi = is_scan ? scan_dpi : page_dpi;
  // Drawn to whole pixels, so that the picture's size is the page's, not a part of a pixel more.
  const auto width = std::llround(width_in * dpi), height = std::llround(height_in * dpi);
  if (const auto size = CheckSize(width, height, options); !size) return std::unexpected(size.error());

  const auto drawn = RunHelper({"pdftocairo", "-png", "-singlefile", "-cropbox", "-scale-to-x", std::to_string(width), "-scale-to-y",
                                std::to_string(height), "-f", page, "-l", page, "-", "-"},
                               bytes);
  if (!drawn) return std::unexpected(drawn.error());
  if (drawn->timed_out || drawn->too_much) return FailSlow("PDF");
  if (drawn->exit_code != 0 || drawn->output.empty()) return FailDamaged("PDF", "");
  auto picture = DecodePng(drawn->output, options);
  if (!picture) return picture;
  picture->dpi = page_dpi;
  // Rounding may give a column or a row more than was asked for.
  const cv::Size asked(static_cast<int>(width), static_cast<int>(height));
  if (picture->pixels.size() != asked) picture->pixels = picture->pixels(cv::Rect({0, 0}, asked) & cv::Rect({0, 0}, picture->pixels.size())).clone();
  if (is_scan) KeepScan(*picture, dpi / page_dpi, cv::Size2d(width_in * page_dpi, height_in * page_dpi));
  picture->source = AskForSource(bytes, page);
  return picture;
}

Result<Picture> DrawSvgPage(Bytes bytes, const SheetOptions& options) {
  const double dpi = options.page_dpi.value_or(kPageDpi);
  // Lengths without a unit are 1/96 inch, so drawing at 96 dpi and zooming treats all units alike.
  const auto drawn = RunHelper(
      {"rsvg-convert", "--format=png", "--background-color=white", "--dpi-x=96", "--dpi-y=96", fmt::format("--zoom={}", dpi / 96.0)}, bytes);
  if (!drawn) return std::unexpected(drawn.error());
  if (drawn->timed_out || drawn->too_much) return FailSlow("SVG");
  if (drawn->exit_code != 0 || drawn->output.empty()) {
    if (drawn->errors.find("larger than") != std::string::npos || drawn->errors.find("memory") != std::string::npos)
      return Fail(ErrorCode::kSheetTooLarge, "the SVG page is too large to draw; save the chart alone as a PNG at 300 dpi.");
    return FailDamaged("SVG", "");
  }
  auto picture = DecodePng(drawn->output, options);
  if (!picture) return picture;
  picture->dpi = dpi;
  // Its lines and words come by way of a PDF page, so that styles, scripts of coordinates and fonts are settled by the same program that draws it;
  // enlarged, because PDF pages round to a part of a point.
  const auto page = RunHelper({"rsvg-convert", "--format=pdf", "--dpi-x=96", "--dpi-y=96", fmt::format("--zoom={}", kEnlarged)}, bytes, kPathLimits);
  if (page && !page->timed_out && !page->too_much && page->exit_code == 0)
    picture->source = AskForSource(page->output, "1", dpi / 72.0 / kEnlarged);  // pictures end with whole pixels, pages do not
  else
    picture->source = PageSource{.doubt = "the page's own lines could not be had; it was read as a picture"};
  return picture;
}

}  // namespace islebook
