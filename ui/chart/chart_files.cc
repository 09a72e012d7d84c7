#include "ui/chart/chart_files.h"

#include <cmath>

#include <QBuffer>
#include <QImage>
#include <QMarginsF>
#include <QPageLayout>
#include <QPageSize>
#include <QPainter>
#include <QPdfWriter>
#include <QSaveFile>
#include <QString>
#include <QSvgGenerator>

namespace islebook {
namespace {

constexpr double kLargestSide = 30000.0;

Result<void> CheckPaper(const ChartPaper& paper, const ChartOptions& options) {
  if (!(paper.width >= 100 && paper.height >= 100 && paper.width <= kLargestSide && paper.height <= kLargestSide))
    return Fail(ErrorCode::kInvalidArgument, "A chart is between 100 and 30,000 units wide and high.", "size");
  return options.Check();
}

// QSaveFile renames over the old file only once every byte is written.
Result<void> WriteWhole(const std::filesystem::path& file, const QByteArray& bytes) {
  QSaveFile out(QString::fromStdString(file.string()));
  if (!out.open(QIODevice::WriteOnly) || out.write(bytes) != bytes.size() || !out.commit())
    return Fail(ErrorCode::kCannotWrite,
                "The chart cannot be written: " + out.errorString().toStdString() + ". Check that the folder exists, is writable and has room.",
                file.string());
  return {};
}

QString Title(const PerformanceMap& map) { return map.title.empty() ? QStringLiteral("Performance map") : QString::fromStdString(map.title); }

}  // namespace

Result<std::string> ChartAsSvgText(const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options, const ChartPaper& paper) {
  if (auto ok = CheckPaper(paper, options); !ok) return std::unexpected(ok.error());
  QBuffer buffer;
  buffer.open(QIODevice::WriteOnly);
  QSvgGenerator svg;
  svg.setOutputDevice(&buffer);
  svg.setResolution(96);
  svg.setSize(QSize(static_cast<int>(paper.width), static_cast<int>(paper.height)));
  svg.setViewBox(QRectF(0, 0, paper.width, paper.height));
  svg.setTitle(Title(map));
  svg.setDescription(QStringLiteral("Performance map"));
  QPainter painter;
  if (!painter.begin(&svg)) return Fail(ErrorCode::kInternal, "The SVG drawing could not be started.");
  DrawChart(painter, QRectF(0, 0, paper.width, paper.height), map, overlay, options);
  painter.end();
  return buffer.data().toStdString();
}

Result<void> WriteChartSvg(const std::filesystem::path& file, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options,
                           const ChartPaper& paper) {
  const Result<std::string> text = ChartAsSvgText(map, overlay, options, paper);
  if (!text) return Fail(text.error().code, text.error().message, text.error().place.empty() ? file.string() : text.error().place);
  return WriteWhole(file, QByteArray::fromStdString(*text));
}

Result<void> WriteChartPng(const std::filesystem::path& file, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options,
                           const ChartPaper& paper) {
  if (auto ok = CheckPaper(paper, options); !ok) return ok;
  QImage image(static_cast<int>(paper.width), static_cast<int>(paper.height), QImage::Format_RGB32);
  if (image.isNull()) return Fail(ErrorCode::kInvalidArgument, "The picture is too large for the memory at hand; ask for a smaller one.", "size");
  image.setDotsPerMeterX(static_cast<int>(std::lround(paper.dpi / 0.0254)));
  image.setDotsPerMeterY(static_cast<int>(std::lround(paper.dpi / 0.0254)));
  QPainter painter(&image);
  DrawChart(painter, QRectF(0, 0, paper.width, paper.height), map, overlay, options);
  painter.end();
  QBuffer buffer;
  buffer.open(QIODevice::WriteOnly);
  if (!image.save(&buffer, "PNG")) return Fail(ErrorCode::kInternal, "The picture could not be packed as PNG.", file.string());
  return WriteWhole(file, buffer.data());
}

Result<void> WriteChartPdf(const std::filesystem::path& file, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options,
                           const ChartPaper& paper) {
  if (auto ok = CheckPaper(paper, options); !ok) return ok;
  QBuffer buffer;
  buffer.open(QIODevice::WriteOnly);
  QPdfWriter pdf(&buffer);
  pdf.setPageSize(QPageSize(QPageSize::A4));
  pdf.setPageOrientation(paper.landscape ? QPageLayout::Landscape : QPageLayout::Portrait);
  pdf.setPageMargins(QMarginsF(0, 0, 0, 0));
  pdf.setResolution(1200);
  pdf.setTitle(Title(map));
  pdf.setCreator(QStringLiteral("Islebook"));
  QPainter painter;
  if (!painter.begin(&pdf)) return Fail(ErrorCode::kInternal, "The PDF drawing could not be started.", file.string());
  DrawChart(painter, QRectF(0, 0, pdf.width(), pdf.height()), map, overlay, options);
  painter.end();
  return WriteWhole(file, buffer.data());
}

}  // namespace islebook
