#include "ui/report/report_pages.h"

#include <cmath>

#include <QAbstractTextDocumentLayout>
#include <QBuffer>
#include <QMarginsF>
#include <QPageLayout>
#include <QPageSize>
#include <QPagedPaintDevice>
#include <QPainter>
#include <QPdfWriter>
#include <QTextDocument>

#include "ui/chart/chart_look.h"

namespace islebook {
namespace {

constexpr int kDotsPerInch = 600;
constexpr double kMargin_mm = 15.0, kFooter_mm = 8.0;
constexpr double kPrint_pt = 8.5;

}  // namespace

struct ReportPages::Impl {
  QBuffer buffer;
  std::unique_ptr<QPdfWriter> pdf;  // null on a device of the caller's
  QPagedPaintDevice* device = nullptr;
  QPainter painter;
  QString footer;
  double y = 0.0;
  int page = 1;
  bool failed = false;

  double Dots(double millimeters) const { return millimeters / 25.4 * device->logicalDpiY(); }
  QRectF Paper() const { return {0, 0, static_cast<double>(device->width()), static_cast<double>(device->height())}; }
  QRectF Room() const { return Paper().adjusted(Dots(kMargin_mm), Dots(kMargin_mm), -Dots(kMargin_mm), -Dots(kMargin_mm + kFooter_mm)); }

  void Begin(QPagedPaintDevice& on) {
    device = &on;
    failed = !painter.begin(device);
    if (!failed) BeginPage();
  }

  void BeginPage() {
    const ChartLook look = ChartLook::Day();
    if (pdf) painter.fillRect(Paper(), look.paper);  // a printer's paper has its own white
    QFont font = ChartFont(Print::kSmall);
    font.setPixelSize(static_cast<int>(std::lround(7.0 / 72 * device->logicalDpiY())));
    painter.setFont(font);
    painter.setPen(look.faint_ink);
    const QRectF line(Room().left(), Room().bottom() + Dots(3), Room().width(), Dots(5));
    painter.drawText(line, Qt::AlignLeft | Qt::AlignVCenter, footer);
    painter.drawText(line, Qt::AlignRight | Qt::AlignVCenter, QString::number(page));
    y = Room().top();
  }
};

ReportPages::ReportPages(const std::string& title, const std::string& footer) : impl_(std::make_unique<Impl>()) {
  impl_->buffer.open(QIODevice::WriteOnly);
  impl_->pdf = std::make_unique<QPdfWriter>(&impl_->buffer);
  QPdfWriter& pdf = *impl_->pdf;
  pdf.setPageSize(QPageSize(QPageSize::A4));
  pdf.setPageOrientation(QPageLayout::Portrait);
  pdf.setPageMargins(QMarginsF(0, 0, 0, 0));
  pdf.setResolution(kDotsPerInch);
  pdf.setTitle(QString::fromStdString(title));
  pdf.setCreator(QStringLiteral("Islebook"));
  impl_->footer = QString::fromStdString(footer);
  impl_->Begin(pdf);
}

ReportPages::ReportPages(QPagedPaintDevice& device, const std::string& footer) : impl_(std::make_unique<Impl>()) {
  impl_->footer = QString::fromStdString(footer);
  impl_->Begin(device);
}

ReportPages::~ReportPages() = default;

double ReportPages::TextSize() const { return kPrint_pt / 72 * impl_->device->logicalDpiY(); }

void ReportPages::NewPage() {
  if (impl_->failed) return;
  impl_->device->newPage();
  ++impl_->page;
  impl_->BeginPage();
}

void ReportPages::Text(const QString& html) {
  if (impl_->failed) return;
  QTextDocument document;
  document.documentLayout()->setPaintDevice(impl_->device);
  QFont font = ChartFont(Print::kBody);
  font.setPixelSize(static_cast<int>(std::lround(TextSize())));
  document.setDefaultFont(font);
  document.setDocumentMargin(0);
  const ChartLook look = ChartLook::Day();
  document.setDefaultStyleSheet(
      QStringLiteral(
          "body, td, th, p { color: %1 } th { color: %2; font-weight: normal } .over { color: %3; font-weight: bold } .close { font-weight: bold }")
          .arg(look.ink.name(), look.faint_ink.name(), look.oxide_print.name()));
  document.setHtml(QStringLiteral("<body>") + html + QStringLiteral("</body>"));
  const QRectF room = impl_->Room();
  document.setTextWidth(room.width());
  // A table wider than the page is printed smaller, never cut.
  for (int step = 0; step < 12 && document.size().width() > room.width() + 1.0; ++step) {
    font.setPixelSize(static_cast<int>(font.pixelSize() * 0.95));
    document.setDefaultFont(font);
    document.setTextWidth(room.width());
  }
  double height = document.size().height();
  if (height > room.bottom() - impl_->y && height <= room.height()) NewPage();
  const auto draw = [&](double from, double most) {
    impl_->painter.save();
    impl_->painter.translate(room.left(), impl_->y - from);
    impl_->painter.setClipRect(QRectF(0, from, room.width(), most));
    document.drawContents(&impl_->painter, QRectF(0, from, room.width(), most));
    impl_->painter.restore();
  };
  if (height <= room.bottom() - impl_->y) {
    draw(0.0, height);
    impl_->y += height;
  } else {
    // Longer than a page: the document breaks itself between its lines.
    if (impl_->y > room.top() + 1.0) NewPage();
    document.setPageSize(QSizeF(room.width(), room.height()));
    for (int page = 0; page < document.pageCount(); ++page) {
      if (page > 0) NewPage();
      draw(page * room.height(), room.height());
    }
    impl_->y = room.bottom();
  }
  impl_->y += impl_->Dots(3);
}

void ReportPages::Drawing(double height, const std::function<void(QPainter&, const QRectF&)>& draw) {
  if (impl_->failed) return;
  const QRectF room = impl_->Room();
  const double wanted = std::min(impl_->Dots(height), room.height());
  if (wanted > room.bottom() - impl_->y) NewPage();
  impl_->painter.save();
  draw(impl_->painter, QRectF(room.left(), impl_->y, room.width(), wanted));
  impl_->painter.restore();
  impl_->y += wanted + impl_->Dots(3);
}

Result<QByteArray> ReportPages::Finish() {
  if (impl_->failed || !impl_->painter.end()) return Fail(ErrorCode::kInternal, "The report could not be drawn.");
  return impl_->buffer.data();
}

}  // namespace islebook
