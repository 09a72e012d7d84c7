// Paints sample_maps: paint_samples DIR. The same pictures every time, given the same fonts.

#include <cstdio>
#include <filesystem>
#include <string>
#include <vector>

#include <QGuiApplication>

#include "tests/support/page_wear.h"
#include "tests/support/sheet_painter.h"

namespace {

using islebook::paint::WearClass;

struct Sample {
  const char* folder;
  const char* wheel;
  double size_mm;  // inducer of a compressor, wheel of a turbine
  const char* style;
  std::uint64_t seed;
  std::vector<WearClass> wears;
};

const std::vector<Sample>& Samples() {
  static const std::vector<Sample> kSamples = {
      {"hazel-40", "Hazel 40", 40, "topaxis", 3, {WearClass::kScan, WearClass::kWeb}},
      {"alder-44", "Alder 44", 44, "ledger", 12, {WearClass::kScan, WearClass::kCopy, WearClass::kPhoto}},
      {"birch-52", "Birch 52", 52, "atlas", 6, {WearClass::kPhoto, WearClass::kWeb, WearClass::kScan}},
      {"rowan-64", "Rowan 64", 64, "kurve", 4, {WearClass::kScan, WearClass::kCopy}},
      {"larch-83", "Larch 83", 83, "typist", 9, {WearClass::kPhoto, WearClass::kCopy}},
      {"oak-110", "Oak 110", 110, "heavy", 2, {WearClass::kWeb, WearClass::kPhoto}},
      {"elm-58", "Elm 58", 58, "tledger", 5, {WearClass::kScan, WearClass::kPhoto}},
      {"yew-70", "Yew 70", 70, "tvane", 7, {WearClass::kScan, WearClass::kWeb, WearClass::kCopy}},
  };
  return kSamples;
}

}  // namespace

int main(int argc, char** argv) {
  using namespace islebook::paint;
  if (argc != 2) {
    std::fprintf(stderr, "Usage: paint_samples DIR\n");
    return 2;
  }
  qputenv("QT_QPA_PLATFORM", "offscreen");
  QGuiApplication application(argc, argv);
  const WearLimits limits{3264, 0.8};
  for (const Sample& sample : Samples()) {
    const std::filesystem::path folder = std::filesystem::path(argv[1]) / sample.folder;
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    for (WearClass wear : sample.wears) {
      Random random(sample.seed * 100 + static_cast<std::uint64_t>(wear)), style_random(sample.seed);
      const SheetStyle style = DrawStyle(sample.style, style_random);
      const PaintedSheet sheet = PaintWheel(sample.style, sample.seed, PaintScale(style, wear, limits, random), sample.wheel, sample.size_mm);
      const auto done = WriteWorn(Wear(sheet, wear, limits, random), sample.style, folder, std::string(sample.folder) + "-" + WearClassName(wear));
      if (!done) {
        std::fprintf(stderr, "%s %s\n", done.error().message.c_str(), done.error().place.c_str());
        return 1;
      }
    }
  }
  return 0;
}
