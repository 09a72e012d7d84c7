#include <cmath>

#include <QBuffer>
#include <QImage>
#include <QPainter>
#include <QPdfWriter>
#include <QSaveFile>
#include <QString>
#include <QSvgGenerator>

#include <fmt/format.h>

#include "mapstore/bench/goal_words.h"
#include "ui/chart/strip.h"
#include "ui/report/bench_report.h"

namespace islebook {
namespace {

// Room for twenty rows is all that one can take in.
constexpr std::size_t kMostBars = 24;
constexpr double kWidth = 1400.0, kPrint = 20.0;

}  // namespace

std::vector<StripBar> ChangeBars(const WhatFirst& found, const UnitHabit& units) {
  std::vector<StripBar> bars;
  for (const RankedChange& change : found.changes) {
    if (bars.size() == kMostBars) break;
    if (!change.gain) continue;
    bars.push_back({change.words, *change.gain, GainWords(found, change, units), change.estimated});
  }
  return bars;
}

std::string ChangesTitle(const WhatFirst& found, const UnitHabit& units) {
  return fmt::format("What to change first: {}, at {}{}", DefinitionOf(found.goal).words, found.point,
                     found.now ? fmt::format(" (now {})", GoalValueWords(found.goal, *found.now, units)) : " (now it holds nowhere)");
}

Result<void> WriteChangesChart(const std::filesystem::path& file, const WhatFirst& found, const UnitHabit& units) {
  const std::vector<StripBar> bars = ChangeBars(found, units);
  StripOptions options;
  options.title = ChangesTitle(found, units);
  options.text_size = kPrint;
  const double height = BarsHeight(bars.size(), kPrint);
  const QRectF area(0, 0, kWidth, height);
  const auto draw = [&](QPaintDevice& device, double scale) {
    QPainter painter;
    if (!painter.begin(&device)) return false;
    painter.scale(scale, scale);
    DrawBars(painter, area, bars, options);
    return painter.end();
  };
  QBuffer buffer;
  buffer.open(QIODevice::WriteOnly);
  bool drawn = false;
  const std::string ending = file.extension().string();
  if (ending == ".svg") {
    QSvgGenerator svg;
    svg.setOutputDevice(&buffer);
    svg.setResolution(96);
    svg.setSize(QSize(static_cast<int>(kWidth), static_cast<int>(std::ceil(height))));
    svg.setViewBox(area);
    svg.setTitle(QString::fromStdString(options.title));
    drawn = draw(svg, 1.0);
  } else if (ending == ".png") {
    QImage image(static_cast<int>(kWidth), static_cast<int>(std::ceil(height)), QImage::Format_RGB32);
    drawn = draw(image, 1.0) && image.save(&buffer, "PNG");
  } else if (ending == ".pdf") {
    QPdfWriter pdf(&buffer);
    pdf.setPageSize(QPageSize(QPageSize::A4));
    pdf.setPageOrientation(QPageLayout::Landscape);
    pdf.setResolution(600);
    pdf.setTitle(QString::fromStdString(options.title));
    drawn = draw(pdf, std::min(pdf.width() / kWidth, pdf.height() / height));
  } else {
    return Fail(ErrorCode::kInvalidArgument, "The chart of changes is written as .svg, .png or .pdf.", file.string());
  }
  if (!drawn) return Fail(ErrorCode::kInternal, "The chart of changes could not be drawn.", file.string());
  QSaveFile out(QString::fromStdString(file.string()));
  if (!out.open(QIODevice::WriteOnly) || out.write(buffer.data()) != buffer.data().size() || !out.commit())
    return Fail(ErrorCode::kCannotWrite,
                "The chart cannot be written: " + out.errorString().toStdString() + ". Check that the folder exists, is writable and has room.",
                file.string());
  return {};
}

}  // namespace islebook
