#pragma once
// One decoder a file format. Each checks the header's size before it decodes, refuses what is damaged, and leaves pixels as stored:
// sheet.cc turns them upright. Thread safe.

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>

#include <opencv2/core/mat.hpp>

#include "digitizer/sheet/sheet.h"

namespace islebook {

struct Picture {
  cv::Mat3b pixels;     // BGR, transparent parts on white
  int orientation = 1;  // EXIF: 1 upright ... 8
  double dpi = 0.0;     // 0: not said
  std::optional<PageSource> source;
  std::optional<PageScan> scan;
};

using Bytes = std::span<const std::uint8_t>;

// Whether a picture of this size is worth decoding: kSheetTooLarge, kSheetTooSmall.
Result<void> CheckSize(std::int64_t width, std::int64_t height, const SheetOptions& options);

std::unexpected<Error> FailDamaged(const std::string& format, const std::string& detail);

Result<Picture> DecodeJpeg(Bytes bytes, const SheetOptions& options);
Result<Picture> DecodePng(Bytes bytes, const SheetOptions& options);
Result<Picture> DecodeTiff(Bytes bytes, const SheetOptions& options);
Result<Picture> DecodeWebp(Bytes bytes, const SheetOptions& options);
Result<Picture> DecodeBmp(Bytes bytes, const SheetOptions& options);
Result<Picture> DecodePnm(Bytes bytes, const SheetOptions& options);

// Pages, drawn by a separate program (poppler's pdftocairo, librsvg's rsvg-convert) under limits of time and memory.
Result<Picture> DrawPdfPage(Bytes bytes, const SheetOptions& options);
Result<Picture> DrawSvgPage(Bytes bytes, const SheetOptions& options);

int CountTiffPages(Bytes bytes);
int CountPdfPages(Bytes bytes);

// BGRA rows onto white.
void CompositeOnWhite(const cv::Mat4b& bgra, cv::Mat3b& bgr, bool premultiplied);

}  // namespace islebook
