#include "tests/digitizer/print/drawn_words.h"

#include <algorithm>
#include <cmath>

#include <QFont>
#include <QFontMetricsF>
#include <QPainter>
#include <QPainterPath>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "tests/support/gui_application.h"

namespace islebook {
namespace {

constexpr double kCapital = 0.729;  // height of DejaVu's digits, in em

}  // namespace

WordSheet::WordSheet(int width, int height) {
  paint::NeedGuiApplication();
  image_ = QImage(width, height, QImage::Format_RGB32);
  image_.fill(Qt::white);
}

void WordSheet::Write(const std::string& text, double x, double y, double angle_deg, double digit_height, bool pad, const char* color,
                      const char* font_name) {
  QFont font(font_name);
  font.setPixelSize(100);
  QPainterPath path;
  path.addText(0, 0, font, QString::fromStdString(text));
  const double scale = digit_height / (100.0 * kCapital);
  const QRectF box = path.boundingRect();
  QPainter painter(&image_);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.translate(x + 0.5, y + 0.5);
  painter.rotate(angle_deg);
  painter.scale(scale, scale);
  painter.translate(-box.center().x(), 50.0 * kCapital);
  if (pad) painter.fillRect(QRectF(box.left() - 12, -100.0 * kCapital - 12, box.width() + 24, 100.0 * kCapital + 36), Qt::white);
  painter.fillPath(path, QColor(color));
  words_.push_back({text, {x, y}, angle_deg, digit_height});
}

void WordSheet::Line(const std::vector<ImagePoint>& points, double width, const char* color, bool dashed) {
  QPainter painter(&image_);
  painter.setRenderHint(QPainter::Antialiasing);
  QPen pen(QColor(color), width);
  if (dashed) pen.setDashPattern({8.0 / width, 5.0 / width});
  pen.setCapStyle(Qt::FlatCap);
  painter.setPen(pen);
  QPainterPath path;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const QPointF p(points[i].x + 0.5, points[i].y + 0.5);
    if (i == 0)
      path.moveTo(p);
    else
      path.lineTo(p);
  }
  painter.drawPath(path);
}

void WordSheet::Ring(double x, double y, double radius, double width) {
  QPainter painter(&image_);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setPen(QPen(Qt::black, width));
  painter.setBrush(Qt::white);
  painter.drawEllipse(QPointF(x + 0.5, y + 0.5), radius, radius);
}

Page WordSheet::ToPage(double blur, double noise, unsigned seed) const {
  Page page;
  page.color = cv::Mat3b(image_.height(), image_.width());
  for (int y = 0; y < image_.height(); ++y) {
    const auto* row = reinterpret_cast<const QRgb*>(image_.constScanLine(y));
    for (int x = 0; x < image_.width(); ++x)
      page.color(y, x) =
          cv::Vec3b(static_cast<std::uint8_t>(qBlue(row[x])), static_cast<std::uint8_t>(qGreen(row[x])), static_cast<std::uint8_t>(qRed(row[x])));
  }
  if (blur > 0.0) cv::GaussianBlur(page.color, page.color, {}, blur);
  if (noise > 0.0) {
    cv::RNG rng(seed);
    cv::Mat grain(page.color.size(), CV_16SC3);
    rng.fill(grain, cv::RNG::NORMAL, 0.0, noise);
    cv::Mat wide;
    page.color.convertTo(wide, CV_16SC3);
    wide += grain;
    wide.convertTo(page.color, CV_8UC3);
  }
  cv::Mat1b gray;
  cv::cvtColor(page.color, gray, cv::COLOR_BGR2GRAY);
  page.ink = cv::Mat1b(gray.size());
  cv::bitwise_not(gray, page.ink);
  page.extent = {0, 0, gray.cols, gray.rows};
  page.noise = 0.6 * noise;  // gray is a mean of three channels
  page.blur_px = std::max(0.3, blur);
  return page;
}

const Word* Nearest(const PrintFound& found, const DrawnWord& drawn) {
  const Word* best = nullptr;
  double nearest = 0.6 * drawn.digit_height_px;
  for (const Word& w : found.words) {
    const double d = std::hypot(w.center.x - drawn.center.x, w.center.y - drawn.center.y);
    if (d < nearest) {
      nearest = d;
      best = &w;
    }
  }
  return best;
}

}  // namespace islebook
