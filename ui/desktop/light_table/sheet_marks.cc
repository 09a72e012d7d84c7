#include "ui/desktop/light_table/sheet_marks.h"

#include <algorithm>
#include <cmath>

#include <QFont>
#include <QFontMetricsF>
#include <QPainter>

#include "ui/chart/chart_words.h"

namespace islebook {
namespace {

constexpr double kStepPx = 2.5;     // screen px between the points that are drawn
constexpr double kBeyondPx = 40.0;  // lines this far beyond what is seen still count
constexpr double kHaloPx = 7.0;     // from the curve to its halo
constexpr double kHatchStep = 12.0, kHatchLength = 10.0;
constexpr double kFlagHalf = 9.0;
constexpr double kLabelShare = 4.0;  // a labeled curve is at least this many times as long as its label

// The line on the screen, with no more points than can be told apart there, in the pieces that are seen.
std::vector<QPolygonF> OnScreen(const QPolygonF& line, const QTransform& screen_from_sheet, const QRectF& shown) {
  const QRectF near = shown.adjusted(-kBeyondPx, -kBeyondPx, kBeyondPx, kBeyondPx);
  std::vector<QPolygonF> pieces;
  QPolygonF piece;
  QPointF last;
  bool last_seen = false;
  for (qsizetype i = 0; i < line.size(); ++i) {
    const QPointF p = screen_from_sheet.map(line[i]);
    const bool end = i == 0 || i + 1 == line.size();
    if (!end && std::abs(p.x() - last.x()) + std::abs(p.y() - last.y()) < kStepPx) continue;
    const bool seen = near.contains(p);
    if (seen || last_seen || (i > 0 && near.intersects(QRectF(last, p).normalized().adjusted(0, 0, 1e-6, 1e-6)))) {
      if (piece.isEmpty() && i > 0) piece << last;
      piece << p;
    } else if (!piece.isEmpty()) {
      pieces.push_back(std::move(piece));
      piece = {};
    }
    last = p, last_seen = seen;
  }
  if (piece.size() > 1) pieces.push_back(std::move(piece));
  return pieces;
}

// The line moved sideways.
QPolygonF Beside(const QPolygonF& line, double side) {
  QPolygonF moved;
  for (qsizetype i = 0; i < line.size(); ++i) {
    const QPointF along = line[std::min(i + 1, line.size() - 1)] - line[std::max<qsizetype>(i - 1, 0)];
    const double length = std::hypot(along.x(), along.y());
    if (length > 0.0) moved << line[i] + QPointF(-along.y(), along.x()) * (side / length);
  }
  return moved;
}

QPen InkPen(const QColor& color, double width, Qt::PenStyle style = Qt::SolidLine) {
  return QPen(color, width, style, style == Qt::SolidLine ? Qt::RoundCap : Qt::FlatCap, Qt::RoundJoin);
}

QPen RolePen(CurveRole role, const ChartLook& look) {
  switch (role) {
    case CurveRole::kSpeedLine:
    case CurveRole::kFlowLine: return InkPen(look.ink, 1.8);
    case CurveRole::kSurgeLine: return InkPen(look.oxide, 3.2);
    case CurveRole::kChokeLine: {
      QPen pen(look.ink, 2.2, Qt::CustomDashLine, Qt::RoundCap, Qt::RoundJoin);
      pen.setDashPattern({0.1, 2.4});
      return pen;
    }
    case CurveRole::kEfficiencyIsland: return InkPen(look.sea, 1.6);
    case CurveRole::kEfficiencyLine: {
      QPen pen = InkPen(look.sea, 1.8, Qt::CustomDashLine);
      pen.setDashPattern({6, 3});
      return pen;
    }
    case CurveRole::kOther: break;
  }
  QPen pen = InkPen(look.faint_ink, 1.8, Qt::CustomDashLine);
  pen.setDashPattern({3, 3});
  return pen;
}

// Short strokes on the forbidden side: the left of a line that runs upward.
void DrawHatch(QPainter& painter, const QPolygonF& line, const ChartLook& look) {
  painter.setPen(QPen(look.oxide, 1.2, Qt::SolidLine, Qt::FlatCap));
  const double upward = line.back().y() < line.front().y() ? 1.0 : -1.0;
  double since = kHatchStep / 2;
  for (qsizetype i = 1; i < line.size(); ++i) {
    const QPointF step = line[i] - line[i - 1];
    const double length = std::hypot(step.x(), step.y());
    if (length <= 0.0) continue;
    const QPointF up = step * (upward / length), left(up.y(), -up.x());
    for (; since <= length; since += kHatchStep) {
      const QPointF foot = line[i - 1] + step * (since / length);
      painter.drawLine(foot, foot + (left * 0.82 - up * 0.57) * kHatchLength);
    }
    since -= length;
  }
}

QFont SmallFont(double px, bool bold) {
  QFont font = ChartFont(Print::kSmall);
  font.setPixelSize(static_cast<int>(px));
  font.setBold(bold);
  return font;
}

bool IsSea(CurveRole role) { return role == CurveRole::kEfficiencyIsland || role == CurveRole::kEfficiencyLine; }

const QPolygonF& Longest(const std::vector<QPolygonF>& pieces) {
  return *std::ranges::max_element(pieces, {}, [](const QPolygonF& piece) { return piece.size(); });
}

// Flags and labels, each where it hides no other.
class Words {
 public:
  Words(QPainter& painter, const QRectF& shown, const ChartLook& look) : painter_(painter), shown_(shown), look_(look) {}

  void Flag(const QPolygonF& line, const std::vector<int>& numbers) {
    QStringList words;
    for (const int number : numbers) words << QString::number(number);
    const QString text = words.join(QStringLiteral(", "));
    painter_.setFont(SmallFont(11, true));
    const QRectF box = FlagBox(line, std::max(kFlagHalf, QFontMetricsF(painter_.font()).horizontalAdvance(text) / 2 + 4));
    taken_.push_back(box);
    painter_.setPen(QPen(look_.oxide, 1.6));
    painter_.setBrush(look_.paper);
    painter_.drawRect(box);
    painter_.setBrush(Qt::NoBrush);
    painter_.setPen(look_.oxide_print);
    painter_.drawText(box, Qt::AlignCenter, text);
  }

  void Label(const QPolygonF& line, const QString& text, bool sea) {
    painter_.setFont(SmallFont(11, false));
    const QFontMetricsF metrics(painter_.font());
    const QSizeF size(metrics.horizontalAdvance(text) + 6, metrics.height());
    const QRectF seen = line.boundingRect();
    if (std::hypot(seen.width(), seen.height()) < kLabelShare * size.width()) return;  // it would hide what it names
    for (const double part : {0.5, 0.62, 0.38, 0.74, 0.26, 0.86, 0.14}) {
      const QPointF center = line[static_cast<qsizetype>(part * static_cast<double>(line.size() - 1))];
      const QRectF box(center.x() - size.width() / 2, center.y() - size.height() / 2, size.width(), size.height());
      if (!Free(box)) continue;
      taken_.push_back(box);
      QColor pad = look_.paper;
      pad.setAlpha(225);
      painter_.fillRect(box, pad);
      painter_.setPen(sea ? look_.sea_print : look_.ink);
      painter_.drawText(box, Qt::AlignCenter, text);
      return;
    }
  }

 private:
  bool Free(const QRectF& box) const {
    return shown_.contains(box) && std::ranges::none_of(taken_, [&](const QRectF& other) { return other.intersects(box); });
  }

  QRectF FlagBox(const QPolygonF& line, double half_width) const {
    QRectF first;
    for (const double part : {0.5, 0.6, 0.4, 0.7, 0.3, 0.8, 0.2, 0.9, 0.1}) {
      const auto at = static_cast<qsizetype>(part * static_cast<double>(line.size() - 1));
      const QPointF along = line[std::min(at + 1, line.size() - 1)] - line[std::max<qsizetype>(at - 1, 0)];
      const double length = std::max(1e-9, std::hypot(along.x(), along.y()));
      for (const double side : {1.0, -1.0}) {
        const QPointF center = line[at] + QPointF(-along.y(), along.x()) * (side * (kHaloPx + kFlagHalf + 4) / length);
        const QRectF box(center.x() - half_width, center.y() - kFlagHalf, 2 * half_width, 2 * kFlagHalf);
        if (Free(box)) return box;
        if (first.isNull()) first = box;
      }
    }
    return first;
  }

  QPainter& painter_;
  QRectF shown_;
  const ChartLook& look_;
  std::vector<QRectF> taken_;
};

}  // namespace

void SheetMarks::Clear() { *this = SheetMarks(); }

void SheetMarks::SetMap(const PerformanceMap& map) {
  curves_.clear();
  for (const Curve& curve : map.curves) {
    SheetCurve& drawn = curves_.emplace_back();
    for (const Point2& p : curve.points_px) drawn.line << QPointF(p.x, p.y);
    if (curve.closed && !drawn.line.isEmpty()) drawn.line << drawn.line.front();
    drawn.bounds = drawn.line.boundingRect();
    drawn.role = curve.role;
    drawn.doubted = curve.needs_review;
    drawn.label = QString::fromStdString(CurveLabel(curve));
  }
  for (const ChartDoubt& doubt : NumberDoubts(map))
    if (doubt.curve >= 0) curves_[static_cast<std::size_t>(doubt.curve)].flags.push_back(doubt.number);
  frames_.clear();
  if (map.calibration) {
    QPolygonF frame;
    for (const Point2& p : map.calibration->frame_px) frame << QPointF(p.x, p.y);
    frame << frame.front();
    if (frame.boundingRect().width() > 1.0) frames_.push_back(frame);
  }
  work_lines_.clear();
}

void SheetMarks::Draw(QPainter& painter, const QTransform& screen_from_sheet, const QRectF& shown, std::optional<std::size_t> chosen,
                      const ChartLook& look, bool rough) const {
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setBrush(Qt::NoBrush);
  for (const QPolygonF& line : work_lines_) {
    painter.setPen(QPen(look.sea, 1.2));
    for (const QPolygonF& piece : OnScreen(line, screen_from_sheet, shown)) painter.drawPolyline(piece);
  }
  for (const QPolygonF& frame : frames_) {
    painter.setPen(QPen(look.faint_ink, 1.0, Qt::DashDotLine));
    for (const QPolygonF& piece : OnScreen(frame, screen_from_sheet, shown)) painter.drawPolyline(piece);
  }

  std::vector<std::vector<QPolygonF>> pieces(curves_.size());
  for (std::size_t i = 0; i < curves_.size(); ++i)
    if (screen_from_sheet.mapRect(curves_[i].bounds).adjusted(-kBeyondPx, -kBeyondPx, kBeyondPx, kBeyondPx).intersects(shown))
      pieces[i] = OnScreen(curves_[i].line, screen_from_sheet, shown);

  QPen halo(look.oxide, 1.3, Qt::CustomDashLine, Qt::FlatCap);
  halo.setDashPattern({5, 4});
  for (std::size_t i = 0; i < curves_.size(); ++i) {
    if (!curves_[i].doubted) continue;
    painter.setPen(halo);
    for (const QPolygonF& piece : pieces[i])
      for (const double side : {-kHaloPx, kHaloPx}) painter.drawPolyline(Beside(piece, side));
  }
  if (chosen && *chosen < curves_.size()) {
    painter.setPen(InkPen(look.ochre, 7.0));
    for (const QPolygonF& piece : pieces[*chosen]) painter.drawPolyline(piece);
  }
  for (const CurveRole role : {CurveRole::kOther, CurveRole::kEfficiencyIsland, CurveRole::kEfficiencyLine, CurveRole::kChokeLine,
                               CurveRole::kFlowLine, CurveRole::kSpeedLine, CurveRole::kSurgeLine}) {
    for (std::size_t i = 0; i < curves_.size(); ++i) {
      if (curves_[i].role != role) continue;
      for (const QPolygonF& piece : pieces[i]) {
        if (role == CurveRole::kSurgeLine) DrawHatch(painter, piece, look);
        painter.setPen(RolePen(role, look));
        painter.drawPolyline(piece);
      }
    }
  }

  if (rough) return;
  Words words(painter, shown, look);
  for (std::size_t i = 0; i < curves_.size(); ++i)  // flags first: they are what a person looks for
    if (!curves_[i].flags.empty() && !pieces[i].empty()) words.Flag(Longest(pieces[i]), curves_[i].flags);
  for (std::size_t i = 0; i < curves_.size(); ++i)
    if (!curves_[i].label.isEmpty() && !pieces[i].empty()) words.Label(Longest(pieces[i]), curves_[i].label, IsSea(curves_[i].role));
}

}  // namespace islebook
