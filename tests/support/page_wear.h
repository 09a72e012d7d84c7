#pragma once
// What life does to a page, with its truth carried along exactly: the scanner, the telephone's camera, the web, the copier.

#include <filesystem>
#include <optional>
#include <string>

#include <QByteArray>

#include "tests/support/random.h"
#include "tests/support/sheet_painter.h"
#include "tests/support/sheet_truth.h"

namespace islebook::paint {

enum class WearClass { kClean, kScan, kPhoto, kWeb, kCopy, kVector, kSvg };  // kVector: a PDF page, kSvg: a drawing; from PaintAndWrite only
const char* WearClassName(WearClass wear);
std::optional<WearClass> ParseWearClass(const std::string& name);

struct WearLimits {
  int photo_width = 4032;  // longer side of a photograph
  double harshness = 1.0;  // scales tilt, bend, noise and stains
};

struct WornSheet {
  QByteArray bytes;       // the file
  std::string extension;  // "png" or "jpg"
  std::vector<TrueMap> maps;
  SheetFacts facts;  // without the image's name
};

// Pixels per page unit at which to paint for this wear.
double PaintScale(const SheetStyle& style, WearClass wear, const WearLimits& limits, Random& random);
WornSheet Wear(const PaintedSheet& sheet, WearClass wear, const WearLimits& limits, Random& random);

// NAME.png or .jpg with NAME.truth.json (and NAME-2.truth.json for a second chart).
Result<void> WriteWorn(const WornSheet& worn, const std::string& style, const std::filesystem::path& folder, const std::string& name);
Result<void> PaintAndWrite(const std::string& style, std::uint64_t seed, WearClass wear, const std::filesystem::path& folder, const std::string& name,
                           const WearLimits& limits = {});

}  // namespace islebook::paint
