#include "ui/chart/drawing_files.h"

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

Result<void> CheckPaper(const ChartPaper& paper) {
  if (!(paper.width >= 100 && paper.height >= 100 && paper.width <= kLargestSide && paper.height <= kLargestSide))
    return Fail(ErrorCode::kInvalidArgument, "A chart is between 100 and 30,000 units wide and high.", "size");
  return {};
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

}  // namespace

Result<std::string> DrawingAsSvgText(const Drawing& drawing, const ChartPaper& paper) {
  if (auto ok = CheckPaper(paper); !ok) return std::unexpected(ok.error());
  QBuffer buffer;
  buffer.open(QIODevice::WriteOnly);
  QSvgGenerator svg;
  svg.setOutputDevice(&buffer);
  svg.setResolution(96);
  svg.setSize(QSize(static_cast<int>(paper.width), static_cast<int>(paper.height)));
  svg.setViewBox(QRectF(0, 0, paper.width, paper.height));
  svg.setTitle(QString::fromStdString(drawing.title));
  svg.setDescription(QStringLiteral("Performance map"));
  QPainter painter;
  if (!painter.begin(&svg)) return Fail(ErrorCode::kInternal, "The SVG drawing could not be started.");
  drawing.draw(painter, QRectF(0, 0, paper.width, paper.height));
  painter.end();
  return buffer.data().toStdString();
}

Result<void> WriteDrawingSvg(const std::filesystem::path& file, const Drawing& drawing, const ChartPaper& paper) {
  const Result<std::string> text = DrawingAsSvgText(drawing, paper);
  if (!text) return Fail(text.error().code, text.error().message, text.error().place.empty() ? file.string() : text.error().place);
  return WriteWhole(file, QByteArray::fromStdString(*text));
}

Result<void> WriteDrawingPng(const std::filesystem::path& file, const Drawing& drawing, const ChartPaper& paper) {
  if (auto ok = CheckPaper(paper); !ok) return ok;
  QImage image(static_cast<int>(paper.width), static_cast<int>(paper.height), QImage::Format_RGB32);
  if (image.isNull()) return Fail(ErrorCode::kInvalidArgument, "The picture is too large for the memory at hand; ask for a smaller one.", "size");
  image.setDotsPerMeterX(static_cast<int>(std::lround(paper.dpi / 0.0254)));
  image.setDotsPerMeterY(static_cast<int>(std::lround(paper.dpi / 0.0254)));
  QPainter painter(&image);
  drawing.draw(painter, QRectF(0, 0, paper.width, paper.height));
  painter.end();
  QBuffer buffer;
  buffer.open(QIODevice::WriteOnly);
  if (!image.save(&buffer, "PNG")) return Fail(ErrorCode::kInternal, "The picture could not be packed as PNG.", file.string());
  return WriteWhole(file, buffer.data());
}

Result<void> WriteDrawingPdf(const std::filesystem::path& file, const Drawing& drawing, const ChartPaper& paper) {
  if (auto ok = CheckPaper(paper); !ok) return ok;
  QBuffer buffer;
  buffer.open(QIODevice::WriteOnly);
  QPdfWriter pdf(&buffer);
  pdf.setPageSize(QPageSize(QPageSize::A4));
  pdf.setPageOrientation(paper.landscape ? QPageLayout::Landscape : QPageLayout::Portrait);
  pdf.setPageMargins(QMarginsF(0, 0, 0, 0));
  pdf.setResolution(1200);
  pdf.setTitle(QString::fromStdString(drawing.title));
  pdf.setCreator(QStringLiteral("Islebook"));
  QPainter painter;
  if (!painter.begin(&pdf)) return Fail(ErrorCode::kInternal, "The PDF drawing could not be started.", file.string());
  drawing.draw(painter, QRectF(0, 0, pdf.width(), pdf.height()));
  painter.end();
  return WriteWhole(file, buffer.data());
}

}  // namespace islebook
