#pragma once
// What is drawn over a sheet: the recovered curves in their trade's signs, the chosen one, doubts with their numbered flags, and lines that only show how far
// the work has come. Prepared once for a map, then drawn for any view of the sheet.

#include <optional>
#include <string>
#include <vector>

#include <QPolygonF>
#include <QRectF>
#include <QTransform>

#include "mapstore/map/performance_map.h"
#include "ui/chart/chart_look.h"

class QPainter;

namespace islebook {

struct SheetCurve {
  QPolygonF line;  // sheet px; closed curves repeat their first point
  QRectF bounds;
  CurveRole role = CurveRole::kOther;
  bool doubted = false;
  std::vector<int> flags;  // numbers of its doubts
  QString label;           // "90,000"
};

class SheetMarks {
 public:
  void SetMap(const PerformanceMap& map);
  void SetWork(std::vector<QPolygonF> lines) { work_lines_ = std::move(lines); }
  void SetFrames(std::vector<QPolygonF> frames) { frames_ = std::move(frames); }
  void Clear();

  const std::vector<SheetCurve>& curves() const { return curves_; }

  // `screen_from_sheet` takes sheet pixels to the painter's units; `shown` is the part of the painter that is seen.
  // `rough`: without flags and labels, which are placed by what is seen.
  void Draw(QPainter& painter, const QTransform& screen_from_sheet, const QRectF& shown, std::optional<std::size_t> chosen, const ChartLook& look,
            bool rough = false) const;

 private:
  std::vector<SheetCurve> curves_;
  std::vector<QPolygonF> work_lines_;
  std::vector<QPolygonF> frames_;
};

}  // namespace islebook
