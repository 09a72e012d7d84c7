#pragma once
// A sheet: one source picture, decoded and upright as its EXIF orientation says, with the hash of its bytes.

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "mapstore/units/error.h"

namespace islebook {

struct SheetOptions {
  int page = 1;                           // of a PDF or a multi-page TIFF, from 1
  std::optional<double> page_dpi;         // at which PDF and SVG pages are drawn; unset: 300
  std::int64_t max_pixels = 120'000'000;  // larger pictures are refused before they are decoded
  int min_side_px = 64;                   // smaller pictures cannot hold a map
  Result<void> Check() const;
};

// A page that is a scan, drawn at the scan's own resolution: it holds all that the sheet's pixels do, and no more.
struct PageScan {
  cv::Mat3b pixels;    // BGR
  double scale = 1.0;  // of its pixels per pixel of the sheet
};

// What a PDF or SVG page says of itself, as the programs that draw it tell it; digitizer/drawing reads it.
struct PageSource {
  std::string paths;          // SVG as cairo writes it
  std::string words;          // XHTML: every word with its box, in the order in which it is drawn
  double px_per_point = 0.0;  // of the picture; 0: the page fills the picture
  int quarter_turns = 0;      // clockwise, that the picture was turned after it was drawn
  std::string doubt;          // why there are no paths, in words; empty where there are
};

struct Sheet {
  std::string file;    // name without folder
  std::string sha256;  // of the bytes, lower-case hex
  int page = 1;
  std::string format;                // "jpeg", "png", "tiff", "webp", "bmp", "pnm", "pdf", "svg"
  cv::Mat3b pixels;                  // BGR, upright
  double dpi = 0.0;                  // 0: not said
  std::optional<PageSource> source;  // of PDF and SVG pages
  std::optional<PageScan> scan;      // of PDF pages that are scans, where their resolution is another than that of `pixels`
};

// Errors: kCannotRead, kNotASheet (empty, truncated, no picture), kSheetTooLarge, kSheetTooSmall. Thread safe.
Result<std::vector<std::uint8_t>> ReadSheetBytes(const std::filesystem::path& file);
Result<Sheet> ReadSheet(const std::filesystem::path& file, const SheetOptions& options = {});
Result<Sheet> DecodeSheet(std::span<const std::uint8_t> bytes, std::string file_name, const SheetOptions& options = {});

// How many pages a PDF or TIFF has, without drawing one; 1 for every other sheet. What cannot be counted is found out when it is decoded: 1. Thread safe.
int CountPages(std::span<const std::uint8_t> bytes);

}  // namespace islebook
