// Labels, notes and legend of a painted chart.

#include <algorithm>
#include <cmath>
#include <numbers>

#include <QFontMetricsF>

#include "tests/support/chart_drawing.h"

namespace islebook::paint {
namespace {

QString Q(const std::string& text) { return QString::fromStdString(text); }

struct Walk {
  QPolygonF line;
  std::vector<double> at;  // arc length at each point

  explicit Walk(QPolygonF l) : line(std::move(l)) {
    at.assign(static_cast<std::size_t>(line.size()), 0.0);
    for (int i = 1; i < line.size(); ++i)
      at[static_cast<std::size_t>(i)] =
          at[static_cast<std::size_t>(i) - 1] + std::hypot(line[i].x() - line[i - 1].x(), line[i].y() - line[i - 1].y());
  }
  double length() const { return at.back(); }
  QPointF Point(double s) const {
    s = std::clamp(s, 0.0, length());
    const auto next = std::ranges::upper_bound(at, s);
    const auto i = std::clamp<std::ptrdiff_t>(next - at.begin(), 1, static_cast<std::ptrdiff_t>(at.size()) - 1);
    const double span = at[static_cast<std::size_t>(i)] - at[static_cast<std::size_t>(i) - 1];
    const double t = span > 0 ? (s - at[static_cast<std::size_t>(i) - 1]) / span : 0.0;
    return line[i - 1] + (line[i] - line[i - 1]) * t;
  }
  QPointF Direction(double s, double reach) const {
    QPointF d = Point(s + reach) - Point(s - reach);
    const double size = std::hypot(d.x(), d.y());
    return size > 0 ? d / size : QPointF(1, 0);
  }
};

double Upright(QPointF d) {
  double angle = std::atan2(d.y(), d.x()) * 180 / std::numbers::pi;
  if (angle > 90) angle -= 180;
  if (angle <= -90) angle += 180;
  return angle;
}

}  // namespace

bool ChartDrawing::IsFree(const QPolygonF& box) const {
  if (!area_.contains(box.boundingRect())) return false;
  return std::ranges::none_of(taken_, [&](const QPolygonF& other) { return !other.intersected(box).isEmpty(); });
}

bool ChartDrawing::CrossesSurge(const QPolygonF& box) const {
  for (std::size_t i = 0; i < plan_.truth.curves.size(); ++i) {
    if (plan_.truth.curves[i].role != CurveRole::kSurgeLine) continue;
    for (const QPointF& p : lines_[i])
      if (box.containsPoint(p, Qt::OddEvenFill)) return true;
  }
  return false;
}

int ChartDrawing::InkUnder(const QPolygonF& box, std::size_t own) const {
  const QRectF bounds = box.boundingRect();
  int count = 0;
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    if (i == own) continue;
    for (const QPointF& p : lines_[i]) count += bounds.contains(p) && box.containsPoint(p, Qt::OddEvenFill);
  }
  return count;
}

QPolygonF ChartDrawing::BoxOf(const QString& text, QPointF center, double angle, const QFont& font) const {
  const QFontMetricsF metrics(font);
  const double w = metrics.horizontalAdvance(text) / 2 + 4, h = metrics.capHeight() / 2 + 4, a = angle * std::numbers::pi / 180;
  const QPointF u(std::cos(a), std::sin(a)), v(-u.y(), u.x());
  return QPolygonF({center - u * w - v * h, center + u * w - v * h, center + u * w + v * h, center - u * w + v * h});
}

void ChartDrawing::Print(const QString& text, QPointF center, double angle, const QFont& font, const QColor& color, LabelLook look) {
  const QPolygonF box = BoxOf(text, center, angle, font);
  if (look == LabelLook::kOnPad || look == LabelLook::kBoxed || look == LabelLook::kTurned) {
    painter_.setPen(look == LabelLook::kBoxed ? QPen(color, 1.1) : QPen(Qt::NoPen));
    painter_.setBrush(Ground());
    painter_.drawPolygon(box);
    painter_.setBrush(Qt::NoBrush);
  }
  painter_.save();
  painter_.translate(center);
  painter_.rotate(angle);
  Text({0, 0}, text, Qt::AlignHCenter | Qt::AlignVCenter, font, color);
  painter_.restore();
  taken_.push_back(box);
}

bool ChartDrawing::TryPrint(std::size_t curve, const QString& text, QPointF center, double angle, const QFont& font, LabelLook look) {
  if (!IsFree(BoxOf(text, center, angle, font))) return false;
  Print(text, center, angle, font, style_.color_labels ? ColorOf(curve) : style_.ink, look);
  plan_.truth.curves[curve].printed_label = text.toStdString();
  return true;
}

void ChartDrawing::LabelIslands() {
  if (style_.island_labels == LabelLook::kNone) return;
  const QFont font = PageFont(style_, style_.label_size);
  const QFontMetricsF metrics(font);
  const double habit = random_.Between(0.2, 0.8);  // where this draftsman likes them
  for (std::size_t i = 0; i < plan_.truth.curves.size(); ++i) {
    if (plan_.truth.curves[i].role != CurveRole::kEfficiencyIsland || plan_.labels[i].empty()) continue;
    const Walk walk(LineOf(i));
    const QString text = Q(plan_.labels[i]);
    const double width = metrics.horizontalAdvance(text);
    if (walk.length() < 3.2 * width) continue;
    // A second arc of a level often goes without a number.
    const bool repeated =
        i > 0 && plan_.truth.curves[i - 1].role == CurveRole::kEfficiencyIsland && plan_.truth.curves[i - 1].value == plan_.truth.curves[i].value;
    if (repeated && random_.Chance(0.4)) continue;
    for (int attempt = 0; attempt < 24; ++attempt) {
      const double part = std::fmod(habit + attempt * 0.618 + random_.Between(-0.03, 0.03) + 1, 1.0);
      const double s = plan_.truth.curves[i].closed ? part * walk.length() : width + part * std::max(walk.length() - 2 * width, 0.0);
      const QPointF d = walk.Direction(s, width / 2);
      QPointF center = walk.Point(s);
      double angle = 0;
      if (style_.island_labels == LabelLook::kTurned || style_.island_labels == LabelLook::kTurnedBeside) angle = Upright(d);
      if (style_.island_labels == LabelLook::kTurnedBeside) center += QPointF(-d.y(), d.x()) * (d.x() >= 0 ? -1 : 1) * (metrics.capHeight() / 2 + 7);
      const QPolygonF box = BoxOf(text, center, angle, font);
      if (!main_.plot.adjusted(4, 4, -4, -4).contains(box.boundingRect())) continue;
      // A careful draftsman keeps his numbers off the surge line while there is other room.
      if (attempt < 16 && CrossesSurge(box)) continue;
      if (attempt < 18 && style_.island_labels == LabelLook::kTurnedBeside && InkUnder(box, i) > 0) continue;
      if (TryPrint(i, text, center, angle, font, style_.island_labels)) break;
    }
  }
}

void ChartDrawing::LabelSpeedLines() {
  const QFont font = PageFont(style_, style_.label_size);
  const QFontMetricsF metrics(font);
  for (std::size_t i = 0; i < plan_.truth.curves.size(); ++i) {
    if (plan_.truth.curves[i].role != CurveRole::kSpeedLine || plan_.labels[i].empty()) continue;
    const Walk walk(LineOf(i));
    const QString text = Q(plan_.labels[i]);
    const double w = metrics.horizontalAdvance(text) / 2 + 5, h = metrics.capHeight() / 2 + 5;
    if (style_.speed_labels == SpeedLabelAt::kInline && walk.length() > 5 * w) {
      bool done = false;
      for (int attempt = 0; attempt < 12 && !done; ++attempt) {
        const double s = (0.55 + (attempt % 2 ? -1 : 1) * 0.03 * attempt) * walk.length();
        const double angle = style_.speed_label_look == LabelLook::kTurned ? Upright(walk.Direction(s, w)) : 0;
        done = TryPrint(i, text, walk.Point(s), angle, font, style_.speed_label_look);
      }
      continue;
    }
    if (style_.speed_labels == SpeedLabelAt::kStart) {
      for (int attempt = 0; attempt < 8; ++attempt)
        if (TryPrint(i, text, walk.Point(0) + QPointF(-w - 6 - style_.surge_line.width, -2.0 - 4 * attempt), 0, font, LabelLook::kNone)) break;
      continue;
    }
    const QPointF end = walk.Point(walk.length()), d = walk.Direction(walk.length(), 12);
    std::vector<QPointF> places;
    for (int step : {0, 1, -1, 2, -2, 3, -3, 4, -4}) {
      const double a = std::atan2(d.y() * 0.6, d.x() * 0.6 + 0.7) + step * 0.3;
      const QPointF way(std::cos(a), std::sin(a));
      const double rim = std::min(std::abs(way.x()) > 1e-6 ? w / std::abs(way.x()) : 1e9, std::abs(way.y()) > 1e-6 ? h / std::abs(way.y()) : 1e9);
      places.push_back(end + way * (rim + 4));
    }
    PrintAtBest(i, text, places, font);
  }
}

void ChartDrawing::PrintAtBest(std::size_t curve, const QString& text, const std::vector<QPointF>& places, const QFont& font) {
  std::optional<QPointF> best;
  int least = 0;
  for (const QPointF& place : places) {  // the first place is the favorite
    const QPolygonF box = BoxOf(text, place, 0, font);
    if (!IsFree(box)) continue;
    const int ink = InkUnder(box, lines_.size());
    if (best && ink >= least) continue;
    best = place, least = ink;
    if (ink == 0) break;
  }
  if (best) TryPrint(curve, text, *best, 0, font, LabelLook::kNone);
}

void ChartDrawing::LabelTurbineLines() {
  const QFont font = PageFont(style_, style_.label_size);
  const QFontMetricsF metrics(font);
  for (std::size_t i = 0; i < plan_.truth.curves.size(); ++i) {
    const TrueCurve& curve = plan_.truth.curves[i];
    if ((curve.role != CurveRole::kFlowLine && curve.role != CurveRole::kEfficiencyLine) || plan_.labels[i].empty()) continue;
    const QString text = Q(plan_.labels[i]);
    const QPointF end = LineOf(i).back();
    const double w = metrics.horizontalAdvance(text) / 2 + 5, h = metrics.capHeight();
    std::vector<QPointF> places;
    for (int step : {0, 1, -1, 2, -2, 3, -3}) places.push_back(end + QPointF(w + 3, 0.55 * h * step));
    for (int step : {-1, 1}) places.push_back(end + QPointF(-w, 1.3 * h * step));
    PrintAtBest(i, text, places, font);
  }
}

void ChartDrawing::DrawNotes() {
  if (plan_.truth.notes.empty()) return;
  const QFont font = PageFont(style_, style_.label_size * 0.95);
  const QFontMetricsF metrics(font);
  const double line = metrics.height() * 1.15;
  const bool compressor = plan_.truth.kind == MapKind::kCompressor;
  QPointF at(main_.plot.left() + 22, main_.plot.top() + 16 + metrics.capHeight());
  if (!compressor) at = {main_.plot.right() - 60, main_.plot.bottom() - 18 - line * static_cast<double>(plan_.truth.notes.size() - 1)};
  const bool legend_below = style_.legend;
  if (legend_below) at.ry() += 4.6 * style_.label_size * 1.5;
  for (const std::string& note : plan_.truth.notes) {
    const double width = metrics.horizontalAdvance(Q(note));
    const QPointF start(compressor ? at.x() : at.x() - width, at.y());
    const QRectF box(start.x() - 6, start.y() - metrics.capHeight() - 6, width + 12, metrics.capHeight() + 12);
    if (style_.grid != GridKind::kNone && style_.grid != GridKind::kMajorDotted) painter_.fillRect(box, Ground());
    Text(start, Q(note), Qt::AlignLeft, font, style_.ink);
    taken_.push_back(QPolygonF(box));
    at.ry() += line;
  }
}

void ChartDrawing::DrawLegend() {
  const QFont font = PageFont(style_, style_.label_size * 0.95);
  const QFontMetricsF metrics(font);
  struct Entry {
    LineLook look;
    QString words;
  };
  std::vector<Entry> entries{{style_.speed, Q(SpeedWord(style_.language))},
                             {style_.island, Q(EfficiencyWord(style_.language))},
                             {style_.surge_line, Q(SurgeWord(style_.language))}};
  double width = 0;
  for (const Entry& entry : entries) width = std::max(width, metrics.horizontalAdvance(entry.words));
  const double line = style_.label_size * 1.5;
  const QRectF box(main_.plot.left() + 18, main_.plot.top() + 16, width + 84, line * static_cast<double>(entries.size()) + 12);
  painter_.setPen(QPen(style_.ink, 1.0));
  painter_.setBrush(style_.paper);
  painter_.drawRect(box);
  painter_.setBrush(Qt::NoBrush);
  double y = box.top() + 6 + line / 2;
  for (const Entry& entry : entries) {
    painter_.setPen(PenOf(entry.look));
    painter_.drawLine(QPointF(box.left() + 10, y), QPointF(box.left() + 58, y));
    Text({box.left() + 68, y}, entry.words, Qt::AlignLeft | Qt::AlignVCenter, font, style_.ink);
    y += line;
  }
  taken_.push_back(QPolygonF(box));
}

}  // namespace islebook::paint
