#include "tests/support/sheet_painter.h"

#include <cmath>

#include <QBuffer>
#include <QMarginsF>
#include <QPageSize>
#include <QPainter>
#include <QPdfWriter>
#include <QSvgGenerator>

#include "tests/support/chart_drawing.h"

namespace islebook::paint {
namespace {

void DrawFurniture(QPainter& painter, const SheetStyle& style, Random& random) {
  const QFont font = ChartDrawing::PageFont(style, style.label_size * 0.9);
  painter.setFont(font);
  painter.setPen(style.ink);
  const QString number = QStringLiteral("FR-%1").arg(random.Whole(100, 999));
  painter.drawText(QPointF(40, 34), QStringLiteral("Fellside Rotors   Data sheet %1").arg(number));
  painter.drawText(QPointF(style.width - 120, style.height - 20), QString::number(random.Whole(3, 48)));
  painter.setPen(QPen(style.ink, 1.0));
  painter.drawLine(QPointF(40, 44), QPointF(style.width - 40, 44));
}

// Mean of `k` x `k` pixels. Painted finer and averaged, lines are smoother and lie more exactly.
QImage Averaged(const QImage& fine, int k) {
  QImage out(fine.width() / k, fine.height() / k, QImage::Format_RGB32);
  for (int y = 0; y < out.height(); ++y) {
    QRgb* line = reinterpret_cast<QRgb*>(out.scanLine(y));
    std::vector<int> sum(static_cast<std::size_t>(out.width()) * 3, 0);
    for (int j = 0; j < k; ++j) {
      const QRgb* from = reinterpret_cast<const QRgb*>(fine.constScanLine(y * k + j));
      for (int x = 0; x < out.width(); ++x)
        for (int i = 0; i < k; ++i) {
          const QRgb p = from[x * k + i];
          int* s = &sum[static_cast<std::size_t>(x) * 3];
          s[0] += qRed(p), s[1] += qGreen(p), s[2] += qBlue(p);
        }
    }
    const int half = k * k / 2, whole = k * k;
    for (int x = 0; x < out.width(); ++x) {
      const int* s = &sum[static_cast<std::size_t>(x) * 3];
      line[x] = qRgb((s[0] + half) / whole, (s[1] + half) / whole, (s[2] + half) / whole);
    }
  }
  return out;
}

}  // namespace

const std::vector<std::string>& TreeNames() {
  static const std::vector<std::string> kNames = {"Alder", "Aspen", "Beech",  "Birch",    "Cedar",   "Cherry", "Elder",  "Elm",
                                                  "Fir",   "Hazel", "Holly",  "Hornbeam", "Juniper", "Larch",  "Linden", "Maple",
                                                  "Oak",   "Pine",  "Poplar", "Rowan",    "Spruce",  "Willow", "Yew"};
  return kNames;
}

namespace {

// Charts and furniture in page units; the painter is scaled already. Fills the truths' pixels at `scale` per page unit.
std::vector<TrueMap> PaintPage(QPainter& painter, const SheetStyle& style, std::vector<ChartPlan> plans, double scale, Random& random) {
  const double margin = std::round(std::min(style.width, style.height) * random.Between(0.025, 0.06));
  QRectF room(margin, margin, style.width - 2 * margin, style.height - 2 * margin);
  if (style.furniture) {
    DrawFurniture(painter, style, random);
    room.adjust(0, 34, 0, -20);
  }
  const double each = room.height() / static_cast<double>(plans.size());
  std::vector<TrueMap> maps;
  for (std::size_t i = 0; i < plans.size(); ++i) {
    ChartDrawing drawing(painter, style, plans[i], random);
    drawing.Draw(QRectF(room.left(), room.top() + each * static_cast<double>(i) + (i ? 24 : 0), room.width(), each - (i ? 24 : 0)));
    drawing.Locate(scale);
    maps.push_back(std::move(plans[i].truth));
  }
  return maps;
}

}  // namespace

PaintedSheet PaintSheet(const SheetStyle& style, std::vector<ChartPlan> plans, double scale, Random& random) {
  PaintedSheet sheet;
  sheet.scale = scale;
  const int finer = scale < 2 ? 2 : 1;
  QImage fine(static_cast<int>(std::lround(style.width * scale)) * finer, static_cast<int>(std::lround(style.height * scale)) * finer,
              QImage::Format_RGB32);
  fine.setDotsPerMeterX(2835);  // 72 per inch: a point of print is a page unit
  fine.setDotsPerMeterY(2835);
  fine.fill(style.paper);
  QPainter painter(&fine);
  painter.setRenderHints(QPainter::Antialiasing | QPainter::TextAntialiasing);
  painter.scale(scale * finer, scale * finer);
  sheet.maps = PaintPage(painter, style, std::move(plans), scale, random);
  painter.end();
  sheet.image = Averaged(fine, finer);
  return sheet;
}

namespace {

constexpr double kPointsPerUnit = 0.5;  // of a page unit

void PaintVector(QPainter& painter, const SheetStyle& style, std::vector<ChartPlan> plans, Random& random, PaintedPage& sheet) {
  if (style.paper != QColor(Qt::white)) painter.fillRect(QRectF(0, 0, style.width, style.height), style.paper);
  const double scale = kPointsPerUnit * 300 / 72;
  sheet.maps = PaintPage(painter, style, std::move(plans), scale, random);
  painter.end();
  sheet.size_px = {static_cast<int>(std::ceil(style.width * scale - 1e-6)), static_cast<int>(std::ceil(style.height * scale - 1e-6))};
}

}  // namespace

PaintedPage PaintPdf(const SheetStyle& style, std::vector<ChartPlan> plans, Random& random) {
  PaintedPage sheet;
  QBuffer buffer(&sheet.bytes);
  buffer.open(QIODevice::WriteOnly);
  QPdfWriter pdf(&buffer);
  pdf.setPageSize(QPageSize(QSizeF(style.width * kPointsPerUnit, style.height * kPointsPerUnit), QPageSize::Point, QString(), QPageSize::ExactMatch));
  pdf.setPageMargins(QMarginsF(0, 0, 0, 0));
  pdf.setResolution(72);
  QPainter painter(&pdf);
  painter.scale(kPointsPerUnit, kPointsPerUnit);
  PaintVector(painter, style, std::move(plans), random, sheet);
  return sheet;
}

PaintedPage PaintSvg(const SheetStyle& style, std::vector<ChartPlan> plans, Random& random) {
  PaintedPage sheet;
  QBuffer buffer(&sheet.bytes);
  buffer.open(QIODevice::WriteOnly);
  QSvgGenerator svg;
  svg.setOutputDevice(&buffer);
  svg.setResolution(72);  // so that a pixel of a font is a point
  const QSizeF points(style.width * kPointsPerUnit, style.height * kPointsPerUnit);
  svg.setSize(points.toSize());
  svg.setViewBox(QRectF(QPointF(0, 0), points));
  QPainter painter(&svg);
  painter.scale(kPointsPerUnit, kPointsPerUnit);
  PaintVector(painter, style, std::move(plans), random, sheet);
  return sheet;
}

namespace {

ChartPlan PlanWheel(const SheetStyle& style, const std::string& wheel, double size_mm, Random& random) {
  if (style.kind == MapKind::kCompressor) return PlanCompressor(CompressorModel::Draw(random, size_mm, wheel), style, random);
  return PlanTurbine(TurbineModel::Draw(random, size_mm, wheel, style.has_vanes), style, random);
}

}  // namespace

namespace {

std::vector<ChartPlan> PlanStyle(const SheetStyle& style, Random& random) {
  std::vector<ChartPlan> plans;
  for (int i = 0; i < style.charts; ++i) {
    const double size = random.Whole(38, 112);
    const std::string wheel = random.Pick(TreeNames()) + " " + std::to_string(static_cast<int>(size));
    plans.push_back(PlanWheel(style, wheel, size, random));
  }
  return plans;
}

}  // namespace

PaintedSheet PaintStyle(const std::string& name, std::uint64_t seed, double scale) {
  Random random(seed);
  const SheetStyle style = DrawStyle(name, random);
  std::vector<ChartPlan> plans = PlanStyle(style, random);
  return PaintSheet(style, std::move(plans), scale, random);
}

PaintedPage PaintStylePdf(const std::string& name, std::uint64_t seed) {
  Random random(seed);
  const SheetStyle style = DrawStyle(name, random);
  std::vector<ChartPlan> plans = PlanStyle(style, random);
  return PaintPdf(style, std::move(plans), random);
}

PaintedPage PaintStyleSvg(const std::string& name, std::uint64_t seed) {
  Random random(seed);
  const SheetStyle style = DrawStyle(name, random);
  std::vector<ChartPlan> plans = PlanStyle(style, random);
  return PaintSvg(style, std::move(plans), random);
}

PaintedSheet PaintWheel(const std::string& name, std::uint64_t seed, double scale, const std::string& wheel, double size_mm) {
  Random random(seed);
  const SheetStyle style = DrawStyle(name, random);
  std::vector<ChartPlan> plans;
  plans.push_back(PlanWheel(style, wheel, size_mm, random));
  return PaintSheet(style, std::move(plans), scale, random);
}

}  // namespace islebook::paint
