// Where the labels, flags and words of a plot go.

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <QFontMetricsF>

#include "ui/chart/curve_marks.h"
#include "ui/chart/key_block.h"
#include "ui/chart/said.h"

namespace islebook {
namespace {

constexpr double kLabelGap = 7.0;  // between a curve's end and its number
constexpr double kPad = 3.0;       // air around print on a line

double LengthOf(const QPolygonF& line) {
  double length = 0.0;
  for (int i = 0; i + 1 < line.size(); ++i) length += std::hypot(line[i + 1].x() - line[i].x(), line[i + 1].y() - line[i].y());
  return length;
}

QPointF PointAt(const QPolygonF& line, double at) {
  for (int i = 0; i + 1 < line.size(); ++i) {
    const QPointF step = line[i + 1] - line[i];
    const double length = std::hypot(step.x(), step.y());
    if (at <= length && length > 0) return line[i] + step * (std::max(at, 0.0) / length);
    at -= length;
  }
  return line.isEmpty() ? QPointF() : line.back();
}

QPointF Unit(QPointF v) {
  const double length = std::hypot(v.x(), v.y());
  return length > 0 ? v / length : QPointF(1, 0);
}

QSizeF TextSize(const QString& text, Print print) {
  const QFontMetricsF metrics(ChartFont(print));
  return {metrics.horizontalAdvance(text) + 2 * kPad, metrics.capHeight() + 2 * kPad + 2};
}

double UprightAngle(QPointF tangent) {
  double angle = std::atan2(tangent.y(), tangent.x()) * 180 / std::numbers::pi;
  if (angle > 90) angle -= 180;
  if (angle <= -90) angle += 180;
  return angle;
}

struct Candidate {
  LabelBox box;
  double cost = LabelLayout::kBlocked;
  std::vector<QPointF> leader;
};

class MarkPlacer {
 public:
  MarkPlacer(const ChartPanel& panel, const ChartOptions& options, const ChartLook& look)
      : panel_(panel), options_(options), look_(look), layout_(panel.plot.adjusted(2, 2, 26, -2)) {
    marks_.plot = panel.plot;
  }

  void AddCurves(const PerformanceMap& map) {
    for (std::size_t i = 0; i < map.curves.size(); ++i) {
      const Curve& curve = map.curves[i];
      if ((curve.role == CurveRole::kEfficiencyLine) != panel_.is_efficiency || curve.points.size() < 2) continue;
      QPolygonF line;
      for (const Point2& p : curve.points)
        if (std::isfinite(p.x) && std::isfinite(p.y)) line << panel_.At(p);
      if (curve.closed && line.size() > 2) line << line.front();
      if (line.size() < 2) continue;
      if (curve.role == CurveRole::kSurgeLine && line.front().y() < line.back().y()) std::reverse(line.begin(), line.end());
      const double weight = curve.role == CurveRole::kSurgeLine ? 4.0 : 1.0;
      layout_.AddInk(line, static_cast<int>(marks_.curves.size()), weight);
      marks_.curves.push_back({&curve, i, line, LengthOf(line)});
    }
  }

  void ReserveOverlay(const ChartOverlay& overlay) {
    for (const ChartPoint& p : overlay.points) {
      if (panel_.is_efficiency && !p.efficiency) continue;
      const QPointF at = panel_.At(panel_.is_efficiency ? Point2{p.at.x, *p.efficiency} : p.at);
      layout_.AddArea(QRectF(at.x() - kDiscRadius - 4, at.y() - kDiscRadius - 4, 2 * kDiscRadius + 8, 2 * kDiscRadius + 8));
    }
    if (panel_.is_efficiency) return;
    for (const ChartLine& line : overlay.lines) {
      QPolygonF drawn;
      for (const Point2& p : line.points) drawn << panel_.At(p);
      layout_.AddInk(drawn, -2, 6.0);
      if (line.words.empty() || drawn.isEmpty()) continue;
      const QSizeF size = TextSize(Said(line.words), Print::kLabel);
      Place(AroundEnd(drawn.back(), drawn.size() > 1 ? Unit(drawn.back() - drawn[drawn.size() - 2]) : QPointF(1, 0), size, 16.0), Said(line.words),
            look_.ink, -1);
    }
  }

  // The word beside the surge or the choke line, along it, on the forbidden side.
  void PlaceLimitWord(CurveRole role, const QString& word, const QColor& color, double offset) {
    for (std::size_t i = 0; i < marks_.curves.size(); ++i) {
      const DrawnCurve& drawn = marks_.curves[i];
      if (drawn.curve->role != role) continue;
      const QSizeF size = TextSize(word, Print::kLabel);
      if (drawn.length < 1.5 * size.width()) continue;
      Candidate best;
      for (double part = 0.25; part <= 0.93; part += 0.02) {
        const QPointF at = PointAt(drawn.line, part * drawn.length);
        const QPointF before = PointAt(drawn.line, part * drawn.length - size.width() / 2),
                      after = PointAt(drawn.line, part * drawn.length + size.width() / 2);
        const QPointF tangent = Unit(after - before);
        QPointF left(tangent.y(), -tangent.x());  // of a line that runs up the drawing
        if (role == CurveRole::kChokeLine) left = left.x() > 0 ? left : -left;
        const QPointF bow = at - (before + after) / 2;
        const double bulge = std::max(0.0, QPointF::dotProduct(bow, left));
        LabelBox box{at + left * (offset + size.height() / 2 + bulge), size, UprightAngle(tangent)};
        const double cost = layout_.Cost(box) * 3 + 30 * std::abs(part - 0.62);
        if (cost < best.cost) best = {box, cost, {}};
      }
      if (best.cost < LabelLayout::kBlocked) Accept(best, word, color, -1);
      return;
    }
  }

  // Hatching takes room that labels keep off.
  void ReserveHatch(double width) {
    for (const DrawnCurve& drawn : marks_.curves) {
      if (drawn.curve->role != CurveRole::kSurgeLine) continue;
      QPolygonF beside;
      for (int i = 0; i + 1 < drawn.line.size(); ++i) {
        const QPointF tangent = Unit(drawn.line[i + 1] - drawn.line[i]);
        beside << drawn.line[i] + QPointF(tangent.y(), -tangent.x()) * width;
      }
      layout_.AddInk(beside, -3, 2.0);
    }
  }

  void LabelSpeedLines() {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < marks_.curves.size(); ++i)
      if (marks_.curves[i].curve->role == CurveRole::kSpeedLine && marks_.curves[i].curve->value) order.push_back(i);
    std::ranges::sort(order, [&](std::size_t a, std::size_t b) { return *marks_.curves[a].curve->value > *marks_.curves[b].curve->value; });
    bool unit_said = false;
    for (std::size_t i : order) {
      const DrawnCurve& drawn = marks_.curves[i];
      QString text = QString::fromStdString(CurveLabel(*drawn.curve));
      const bool takes_unit = !unit_said && !UnitOf(*drawn.curve).isEmpty() && drawn.curve->unit != "%";
      if (takes_unit) text += u' ' + UnitOf(*drawn.curve);
      const bool last = drawn.line.back().x() >= drawn.line.front().x();
      const QPointF end = last ? drawn.line.back() : drawn.line.front();
      const QPointF inward = PointAt(drawn.line, last ? drawn.length - 14 : 14.0);
      std::vector<Candidate> places = AroundEnd(end, Unit(end - inward), TextSize(text, Print::kLabel), kLabelGap);
      const QPointF start = last ? drawn.line.front() : drawn.line.back();
      for (Candidate& c :
           AroundEnd(start, Unit(start - PointAt(drawn.line, last ? 14.0 : drawn.length - 14)), TextSize(text, Print::kLabel), kLabelGap)) {
        c.cost += 60;  // the other end, only in need
        places.push_back(std::move(c));
      }
      if (Place(std::move(places), text, look_.ink, -1)) unit_said = unit_said || takes_unit;
    }
  }

  // A turbine's lines end flat and close together: their numbers stand in columns to the right, spread so that none touch.
  void LabelFlatEnds() {
    struct End {
      std::size_t index;
      QPointF at;
      QString text;
      QSizeF size;
      double y;
    };
    std::vector<End> ends;
    std::size_t top_speed = marks_.curves.size();
    for (std::size_t i = 0; i < marks_.curves.size(); ++i) {
      const Curve& curve = *marks_.curves[i].curve;
      if ((curve.role != CurveRole::kFlowLine && curve.role != CurveRole::kEfficiencyLine) || !curve.value) continue;
      if (top_speed == marks_.curves.size() || *curve.value > *marks_.curves[top_speed].curve->value) top_speed = i;
    }
    for (std::size_t i = 0; i < marks_.curves.size(); ++i) {
      const DrawnCurve& drawn = marks_.curves[i];
      const CurveRole role = drawn.curve->role;
      if ((role != CurveRole::kFlowLine && role != CurveRole::kEfficiencyLine) || !drawn.curve->value) continue;
      QString text = QString::fromStdString(CurveLabel(*drawn.curve));
      if (i == top_speed && drawn.curve->unit != "%") text += u' ' + UnitOf(*drawn.curve);
      const QPointF at = drawn.line.back().x() >= drawn.line.front().x() ? drawn.line.back() : drawn.line.front();
      ends.push_back({i, at, text.trimmed(), TextSize(text, Print::kLabel), at.y()});
    }
    std::ranges::sort(ends, [](const End& a, const End& b) { return a.at.y() < b.at.y(); });
    // Columns: ends whose labels would share some width.
    std::vector<bool> done(ends.size(), false);
    for (std::size_t i = 0; i < ends.size(); ++i) {
      if (done[i]) continue;
      std::vector<std::size_t> column{i};
      double left = ends[i].at.x(), right = left + ends[i].size.width() + 2 * kLabelGap;
      for (std::size_t k = i + 1; k < ends.size(); ++k) {
        const double from = ends[k].at.x(), to = from + ends[k].size.width() + 2 * kLabelGap;
        if (done[k] || from > right || to < left) continue;
        column.push_back(k);
        left = std::min(left, from), right = std::max(right, to);
      }
      for (std::size_t k : column) done[k] = true;
      Spread(column, ends);
      const bool moved = std::ranges::any_of(column, [&](std::size_t k) { return std::abs(ends[k].y - ends[k].at.y()) > 2.5; });
      for (std::size_t k : column) {
        End& end = ends[k];
        const double x = end.at.x() + kLabelGap + (moved ? 14 : 0);
        Candidate place{{QPointF(x + end.size.width() / 2, end.y), end.size, 0.0}, 0.0, {}};
        if (moved) place.leader = {end.at + QPointF(3, 0), QPointF(x + 1, end.y)};
        if (!layout_.IsFree(place.box)) {
          Place(AroundEnd(end.at, QPointF(1, 0), end.size, kLabelGap), end.text, EndColor(), -1);
          continue;
        }
        Accept(place, end.text, EndColor(), -1);
      }
    }
  }

  // On the line, where it is straight and alone.
  void LabelIslands() {
    struct Branch {
      std::size_t index;
      double value;
      double length;
    };
    std::vector<Branch> branches;
    for (std::size_t i = 0; i < marks_.curves.size(); ++i) {
      const DrawnCurve& drawn = marks_.curves[i];
      if (drawn.curve->role == CurveRole::kEfficiencyIsland && drawn.curve->value) branches.push_back({i, *drawn.curve->value, drawn.length});
    }
    std::ranges::sort(branches, [](const Branch& a, const Branch& b) { return a.value != b.value ? a.value > b.value : a.length > b.length; });
    for (std::size_t b = 0; b < branches.size(); ++b) {
      const DrawnCurve& drawn = marks_.curves[branches[b].index];
      const QString text = QString::fromStdString(CurveLabel(*drawn.curve));
      const QSizeF size = TextSize(text, Print::kSmall);
      const bool repeated = b > 0 && branches[b - 1].value == branches[b].value;
      if (repeated && drawn.length < 3 * size.width()) continue;
      const std::optional<Candidate> best = BestOnLine(drawn, static_cast<int>(branches[b].index), size);
      if (best && (!repeated || best->cost < 40)) Accept(*best, text, look_.sea_print, static_cast<std::ptrdiff_t>(branches[b].index), Print::kSmall);
    }
  }

  void PlaceFlags(const std::vector<ChartDoubt>& doubts) {
    if (!options_.show_doubts) return;
    for (const ChartDoubt& doubt : doubts) {
      if (doubt.curve < 0) continue;
      for (const DrawnCurve& drawn : marks_.curves) {
        if (drawn.index != static_cast<std::size_t>(doubt.curve)) continue;
        Candidate best;
        const QSizeF size(2 * kFlagHalf + 2, 2 * kFlagHalf + 2);
        for (double part = 0.1; part <= 0.9; part += 0.02) {
          const QPointF at = PointAt(drawn.line, part * drawn.length);
          const QPointF tangent = Unit(PointAt(drawn.line, part * drawn.length + 4) - at);
          for (double side : {-1.0, 1.0}) {
            const LabelBox box{at + QPointF(-tangent.y(), tangent.x()) * (side * (kFlagHalf + 13)), size, 0.0};
            const double cost = layout_.Cost(box) + 8 * std::abs(part - 0.5);
            if (cost < best.cost) best = {box, cost, {}};
          }
        }
        const QPointF center = best.cost < LabelLayout::kBlocked ? best.box.center : PointAt(drawn.line, 0.5 * drawn.length);
        layout_.AddBox({center, size, 0.0});
        marks_.flags.push_back({center, doubt.number});
      }
    }
  }

  PlotMarks Take() { return std::move(marks_); }

 private:
  QColor EndColor() const { return panel_.is_efficiency ? look_.sea_print : look_.ink; }

  static QString UnitOf(const Curve& curve) {
    return curve.unit == "krpm" ? QStringLiteral("\u00d7 1,000 rpm") : QString::fromStdString(UnitWords(curve.unit));
  }

  // Least movement that leaves a label's height between neighbors: blocks of touching labels share their mean shift.
  template <typename Ends>
  void Spread(const std::vector<std::size_t>& column, Ends& ends) const {
    struct Block {
      double center, height;
      std::vector<std::size_t> members;
    };
    std::vector<Block> blocks;
    for (std::size_t k : column) {
      blocks.push_back({ends[k].at.y(), ends[k].size.height(), {k}});
      while (blocks.size() > 1) {
        Block& a = blocks[blocks.size() - 2];
        Block& b = blocks.back();
        if (a.center + a.height / 2 <= b.center - b.height / 2) break;
        // The merged block's center is the mean of what each member wishes, seen from its place in the block.
        a.members.insert(a.members.end(), b.members.begin(), b.members.end());
        a.height += b.height;
        double sum = 0.0, offset = 0.0;
        for (std::size_t m : a.members) sum += ends[m].at.y() - (offset + ends[m].size.height() / 2), offset += ends[m].size.height();
        a.center = sum / static_cast<double>(a.members.size()) + a.height / 2;
        blocks.pop_back();
      }
    }
    for (Block& block : blocks) {
      block.center = std::clamp(block.center, panel_.plot.top() + block.height / 2 + 2,
                                std::max(panel_.plot.top() + block.height / 2 + 2, panel_.plot.bottom() - block.height / 2 - 3));
      double y = block.center - block.height / 2;
      for (std::size_t m : block.members) ends[m].y = y + ends[m].size.height() / 2, y += ends[m].size.height();
    }
  }

  // Places about an end that points along `outward`, then places farther off with a hairline.
  std::vector<Candidate> AroundEnd(QPointF end, QPointF outward, QSizeF size, double gap) const {
    std::vector<Candidate> places;
    const QPointF wish = Unit(outward * 0.55 + QPointF(0.75, 0));
    for (int step = -9; step <= 9; ++step) {
      const double angle = std::atan2(wish.y(), wish.x()) + step * std::numbers::pi / 12;
      const QPointF way(std::cos(angle), std::sin(angle));
      // Distance from the center of the box to its rim along `way`, so that the gap is the same all around.
      const double rim = std::min(std::abs(way.x()) > 1e-9 ? size.width() / 2 / std::abs(way.x()) : 1e9,
                                  std::abs(way.y()) > 1e-9 ? size.height() / 2 / std::abs(way.y()) : 1e9);
      places.push_back({{end + way * (gap + rim), size, 0.0}, 1.6 * std::abs(step), {}});
    }
    for (int row = 1; row <= 7; ++row) {
      for (double side : {-1.0, 1.0}) {
        const double drop = side * row * (size.height() * 0.7);
        const QPointF center(end.x() + gap + 18 + size.width() / 2, end.y() + drop);
        places.push_back({{center, size, 0.0}, 24.0 + 5 * row, {end + QPointF(3, 0), QPointF(center.x() - size.width() / 2 + 1, center.y())}});
      }
    }
    return places;
  }

  std::optional<Candidate> BestOnLine(const DrawnCurve& drawn, int own, QSizeF size) const {
    const double half = size.width() / 2;
    const bool closed = drawn.curve->closed;
    const double margin = closed ? 0.0 : std::max(half + 4, 0.08 * drawn.length);
    if (drawn.length < 2.0 * size.width()) return std::nullopt;
    const auto wrap = [&](double s) { return closed ? std::fmod(s + drawn.length, drawn.length) : std::clamp(s, 0.0, drawn.length); };
    Candidate best;
    for (double s = margin; s <= drawn.length - margin; s += 7) {
      const QPointF before = PointAt(drawn.line, wrap(s - half)), after = PointAt(drawn.line, wrap(s + half)), middle = PointAt(drawn.line, s);
      const QPointF chord = after - before;
      const double bow =
          std::abs(chord.x() * (middle.y() - before.y()) - chord.y() * (middle.x() - before.x())) / std::max(std::hypot(chord.x(), chord.y()), 1e-9);
      const LabelBox box{(before + after + middle) / 3, size, UprightAngle(Unit(chord))};
      double cost = layout_.Cost(box, own);
      if (cost >= LabelLayout::kBlocked) continue;
      cost += 5 * bow + 0.06 * std::abs(box.angle_deg) + 0.004 * std::abs(s - drawn.length / 2);
      if (!closed) cost += 20 * std::max(0.0, 1 - std::min(s, drawn.length - s) / (2.5 * size.width()));
      if (cost < best.cost) best = {box, cost, {}};
    }
    if (best.cost >= LabelLayout::kBlocked) return std::nullopt;
    return best;
  }

  bool Place(std::vector<Candidate> places, const QString& text, const QColor& color, std::ptrdiff_t on_line) {
    Candidate best;
    for (Candidate& c : places) {
      const double ink = layout_.Cost(c.box);
      if (ink >= LabelLayout::kBlocked) continue;
      c.cost += 2.5 * ink;
      if (c.cost < best.cost) best = std::move(c);
    }
    if (best.cost >= LabelLayout::kBlocked) return false;
    Accept(best, text, color, on_line);
    return true;
  }

  void Accept(const Candidate& place, const QString& text, const QColor& color, std::ptrdiff_t on_line, Print print = Print::kLabel) {
    layout_.AddBox(place.box);
    marks_.labels.push_back({place.box, text, print, color, on_line, place.leader});
  }

  const ChartPanel& panel_;
  const ChartOptions& options_;
  const ChartLook& look_;
  LabelLayout layout_;
  PlotMarks marks_;
};

}  // namespace

PlotMarks PlaceMarks(const ChartPanel& panel, const PerformanceMap& map, const ChartOverlay& overlay, const std::vector<ChartDoubt>& doubts,
                     const ChartOptions& options, const ChartLook& look) {
  MarkPlacer placer(panel, options, look);
  placer.AddCurves(map);
  placer.ReserveHatch(14.0);
  placer.ReserveOverlay(overlay);
  placer.LabelSpeedLines();
  placer.LabelFlatEnds();
  placer.PlaceLimitWord(CurveRole::kSurgeLine, QStringLiteral("surge"), look.oxide_print, 19.0);
  placer.LabelIslands();
  placer.PlaceLimitWord(CurveRole::kChokeLine, QStringLiteral("choke"), look.ink, 8.0);
  placer.PlaceFlags(doubts);
  return placer.Take();
}

}  // namespace islebook
