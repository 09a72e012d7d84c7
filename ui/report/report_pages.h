#pragma once
// Pages of a report, filled from top to bottom: blocks of rich text, and drawings of a wanted height. A block that does not fit begins the next page.

#include <functional>
#include <memory>
#include <string>

#include <QByteArray>
#include <QRectF>
#include <QString>

#include "mapstore/units/error.h"

class QPagedPaintDevice;
class QPainter;

namespace islebook {

class ReportPages {
 public:
  // A4, upright. `footer` stands under every page, with the page's number.
  ReportPages(const std::string& title, const std::string& footer);
  // On a device of the caller's, on the paper that it has; margins are drawn within what it can print on.
  ReportPages(QPagedPaintDevice& device, const std::string& footer);
  ~ReportPages();
  ReportPages(const ReportPages&) = delete;
  ReportPages& operator=(const ReportPages&) = delete;

  void Text(const QString& html);
  // `height` in millimeters.
  void Drawing(double height, const std::function<void(QPainter&, const QRectF&)>& draw);
  void NewPage();
  // Print of the body, in painter units: drawings take theirs from it.
  double TextSize() const;
  // The finished PDF; empty on a device of the caller's.
  Result<QByteArray> Finish();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace islebook
