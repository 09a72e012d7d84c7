#include "ui/chart/comparison_chart.h"

#include <algorithm>
#include <cmath>

#include <QFontMetricsF>
#include <QPainter>

#include "ui/chart/chart_axes.h"
#include "ui/chart/chart_words.h"
#include "ui/chart/drawing_files.h"
#include "ui/chart/key_block.h"
#include "ui/chart/label_layout.h"
#include "ui/chart/said.h"

namespace islebook {
namespace {

constexpr double kKeyLine = 26.0;
constexpr double kSampleWidth = 84.0;
constexpr double kLetterWidth = 34.0;
constexpr double kKeySide = 74.0;  // of the area that is no key

QString Text(const std::string& text) { return QString::fromStdString(text); }

// Dash patterns in multiples of a unit line width; empty: a full line.
QList<qreal> PatternOf(std::size_t place) {
  switch (place % kMostCompared) {
    case 1: return {7, 4};
    case 2: return {9, 3.5, 1, 3.5};
    case 3: return {1.5, 3};
    case 4: return {16, 5};
    case 5: return {9, 3, 1, 3, 1, 3};
    default: return {};
  }
}

QPen PatternPen(const QColor& color, double width, std::size_t place) {
  QPen pen(color, width, Qt::SolidLine, Qt::FlatCap, Qt::RoundJoin);
  QList<qreal> pattern = PatternOf(place);
  if (pattern.isEmpty()) return pen;
  // A pattern is in line widths; it shall be as long on a thick line as on a thin one.
  for (qreal& part : pattern) part *= 2.0 / width;
  pen.setDashPattern(pattern);
  return pen;
}

// All curves in one map, which the frame is laid out for.
PerformanceMap Together(const std::vector<ComparedMap>& maps) {
  PerformanceMap all;
  if (maps.empty()) return all;
  const PerformanceMap& first = maps.front().on_axes.map;
  all.kind = first.kind;
  all.x = first.x;
  all.y = first.y;
  all.reference_conditions = first.reference_conditions;
  for (const ComparedMap& map : maps) {
    if (!all.efficiency) all.efficiency = map.on_axes.map.efficiency;
    for (const Curve& curve : map.on_axes.map.curves) all.curves.push_back({.role = curve.role, .points = curve.points});
  }
  return all;
}

struct KeyRow {
  std::size_t map = 0;
  QStringList lines;
};

std::vector<KeyRow> PlanRows(double width, const std::vector<ComparedMap>& maps, const ChartOptions& options) {
  std::vector<KeyRow> rows;
  if (!options.show_key) return rows;
  for (std::size_t i = 0; i < maps.size(); ++i) {
    const MapOnAxes& on_axes = maps[i].on_axes;
    std::string words = maps[i].name;
    if (!on_axes.map.title.empty() && on_axes.map.title != maps[i].name) words += " (" + on_axes.map.title + ")";
    words += ".";
    for (const std::string& sentence : on_axes.words) words += " " + sentence;
    for (const std::string& sentence : on_axes.doubts) words += " " + sentence;
    rows.push_back({i, WrapWords(Text(words), Print::kSmall, width - kSampleWidth - kLetterWidth)});
  }
  return rows;
}

double RowsHeight(const std::vector<KeyRow>& rows) {
  double height = rows.empty() ? 0.0 : 10.0;
  for (const KeyRow& row : rows) height += kKeyLine * static_cast<double>(row.lines.size()) + 6;
  return height;
}

ChartFrame Frame(const QRectF& area, const std::vector<ComparedMap>& maps, const ChartOptions& options, const PerformanceMap& all,
                 const std::vector<KeyRow>& rows) {
  ChartOptions layout = options;
  layout.x = layout.y = std::nullopt;
  static_cast<void>(maps);
  return LayOutChart(area, all, {}, layout, RowsHeight(rows));
}

void DrawLetter(QPainter& painter, QPointF center, const std::string& letter, const ChartLook& look) {
  painter.setPen(QPen(look.paper, 2.5));
  painter.setBrush(look.ink);
  painter.drawEllipse(center, kDiscRadius, kDiscRadius);
  painter.setBrush(Qt::NoBrush);
  painter.setPen(look.paper);
  painter.setFont(ChartFont(Print::kDisc));
  const QFontMetricsF metrics(painter.font());
  painter.drawText(QPointF(center.x() - metrics.horizontalAdvance(Text(letter)) / 2, center.y() + metrics.capHeight() / 2), Text(letter));
}

// One curve ready to draw.
struct DrawnLine {
  const Curve* curve = nullptr;
  std::size_t map = 0;
  QPolygonF line;
};

// Which islands are drawn: all of two maps, of more the innermost alone, lest nothing can be told apart.
bool ShowsIsland(const Curve& island, const PerformanceMap& map, std::size_t maps) {
  if (maps <= 2) return true;
  double best = -1e300;
  for (const Curve& curve : map.curves)
    if (curve.role == CurveRole::kEfficiencyIsland && curve.value) best = std::max(best, *curve.value);
  return island.value && *island.value >= best;
}

std::vector<DrawnLine> LinesOf(const ChartPanel& panel, const std::vector<ComparedMap>& maps) {
  std::vector<DrawnLine> lines;
  for (std::size_t i = 0; i < maps.size(); ++i) {
    const PerformanceMap& map = maps[i].on_axes.map;
    for (const Curve& curve : map.curves) {
      if ((curve.role == CurveRole::kEfficiencyLine) != panel.is_efficiency || curve.points.size() < 2 || curve.role == CurveRole::kOther) continue;
      if (curve.role == CurveRole::kEfficiencyIsland && !ShowsIsland(curve, map, maps.size())) continue;
      DrawnLine drawn{&curve, i, {}};
      for (const Point2& p : curve.points) drawn.line << panel.At(p);
      if (curve.closed) drawn.line << drawn.line.front();
      lines.push_back(std::move(drawn));
    }
  }
  return lines;
}

void DrawLines(QPainter& painter, const std::vector<DrawnLine>& lines, const ChartLook& look) {
  painter.setBrush(Qt::NoBrush);
  const auto all = [&](CurveRole role, const QColor& color, double width) {
    for (const DrawnLine& line : lines) {
      if (line.curve->role != role) continue;
      painter.setPen(PatternPen(color, width, line.map));
      painter.drawPolyline(line.line);
    }
  };
  all(CurveRole::kEfficiencyIsland, look.sea, look.night ? kIslandWidth * 1.25 : kIslandWidth);
  all(CurveRole::kEfficiencyLine, look.sea, kSpeedWidth);
  all(CurveRole::kSpeedLine, look.ink, kSpeedWidth * 0.85);
  all(CurveRole::kFlowLine, look.ink, kSpeedWidth * 0.85);
  all(CurveRole::kChokeLine, Mix(look.ink, look.paper, 0.6), kSpeedWidth * 0.7);
  all(CurveRole::kSurgeLine, look.oxide, kSurgeWidth * 0.8);
}

class ComparisonLabels {
 public:
  ComparisonLabels(const ChartPanel& panel, const std::vector<DrawnLine>& lines) : layout_(panel.plot.adjusted(-6, -24, 60, 6)) {
    for (std::size_t i = 0; i < lines.size(); ++i) layout_.AddInk(lines[i].line, static_cast<int>(i), 0.6);
  }

  // At the given place or a little off it; false where all is taken.
  bool Place(QPointF from, QPointF way, QSizeF size, QPointF& center) {
    const double length = std::max(std::hypot(way.x(), way.y()), 1e-9);
    way /= length;
    double best = LabelLayout::kBlocked;
    for (int turn = 0; turn <= 12; ++turn) {
      const double angle = std::atan2(way.y(), way.x()) + (turn % 2 == 0 ? turn / 2 : -(turn + 1) / 2) * 0.35;
      for (double gap : {6.0, 16.0, 30.0}) {
        const QPointF direction(std::cos(angle), std::sin(angle));
        const double rim = std::min(std::abs(direction.x()) > 1e-9 ? size.width() / 2 / std::abs(direction.x()) : 1e9,
                                    std::abs(direction.y()) > 1e-9 ? size.height() / 2 / std::abs(direction.y()) : 1e9);
        const QPointF at = from + direction * (gap + rim);
        const double cost = layout_.Cost({at, size, 0.0}) * 2 + turn * 1.5 + gap * 0.4;
        if (cost < best) best = cost, center = at;
      }
    }
    if (best >= LabelLayout::kBlocked) return false;
    layout_.AddBox({center, size, 0.0});
    return true;
  }

 private:
  LabelLayout layout_;
};

void DrawLabels(QPainter& painter, const ChartPanel& panel, const std::vector<DrawnLine>& lines, const std::vector<ComparedMap>& maps,
                const ChartLook& look) {
  ComparisonLabels labels(panel, lines);
  // A letter at the head of every surge line, or of the topmost line where there is none.
  for (std::size_t i = 0; i < maps.size(); ++i) {
    const DrawnLine* head = nullptr;
    for (const DrawnLine& line : lines) {
      if (line.map != i) continue;
      if (line.curve->role == CurveRole::kSurgeLine) {
        head = &line;
        break;
      }
      const auto top = [](const DrawnLine& l) {
        return std::min_element(l.line.begin(), l.line.end(), [](QPointF a, QPointF b) { return a.y() < b.y(); })->y();
      };
      if (head == nullptr || top(line) < top(*head)) head = &line;
    }
    if (head == nullptr) continue;
    const QPointF tip = *std::min_element(head->line.begin(), head->line.end(), [](QPointF a, QPointF b) { return a.y() < b.y(); });
    QPointF center;
    if (labels.Place(tip, QPointF(0.2, -1), QSizeF(2 * kDiscRadius + 4, 2 * kDiscRadius + 4), center))
      DrawLetter(painter, center, ComparisonLetter(i), look);
  }
  const QFont font = ChartFont(Print::kSmall);
  const QFontMetricsF metrics(font);
  // A limit is never told by its color alone.
  for (const DrawnLine& line : lines) {
    if (line.curve->role != CurveRole::kSurgeLine) continue;
    const QString word = Text("surge " + ComparisonLetter(line.map));  // of which map: it may stand between two lines
    QPointF center;
    if (!labels.Place(line.line[line.line.size() / 2], QPointF(-1, -0.4), QSizeF(metrics.horizontalAdvance(word) + 4, metrics.capHeight() + 8),
                      center))
      continue;
    painter.setFont(font);
    painter.setPen(look.oxide_print);
    painter.drawText(QPointF(center.x() - metrics.horizontalAdvance(word) / 2, center.y() + metrics.capHeight() / 2), word);
  }
  const auto write = [&](const DrawnLine& line, QPointF from, QPointF way, const QColor& color) {
    Curve rounded = {.role = line.curve->role, .value = line.curve->value, .unit = line.curve->unit};
    // A converted speed is no printed number: four digits say what can be told apart.
    if (rounded.value && maps[line.map].on_axes.speed_factor != 1.0 && *rounded.value > 0) {
      const double step = std::pow(10.0, std::floor(std::log10(*rounded.value)) - 3);
      rounded.value = std::round(*rounded.value / step) * step;
    }
    const std::string value = CurveLabel(rounded);
    if (value.empty()) return;
    const QString words = Text(ComparisonLetter(line.map) + " " + value);
    const QSizeF size(metrics.horizontalAdvance(words) + 4, metrics.capHeight() + 6);
    QPointF center;
    if (!labels.Place(from, way, size, center)) return;
    painter.setFont(font);
    painter.setPen(Qt::NoPen);
    painter.setBrush(look.paper);
    painter.drawRect(QRectF(center.x() - size.width() / 2, center.y() - size.height() / 2, size.width(), size.height()));
    painter.setBrush(Qt::NoBrush);
    painter.setPen(color);
    painter.drawText(QPointF(center.x() - metrics.horizontalAdvance(words) / 2, center.y() + metrics.capHeight() / 2), words);
  };
  for (const DrawnLine& line : lines) {
    const CurveRole role = line.curve->role;
    if (role != CurveRole::kSpeedLine && role != CurveRole::kFlowLine && role != CurveRole::kEfficiencyLine) continue;
    const QPointF end = line.line.back();
    write(line, end, end - line.line[line.line.size() - 2] + QPointF(2, 0), role == CurveRole::kEfficiencyLine ? look.sea_print : look.ink);
  }
  for (std::size_t i = 0; i < maps.size(); ++i) {
    const DrawnLine* inner = nullptr;
    for (const DrawnLine& line : lines)
      if (line.map == i && line.curve->role == CurveRole::kEfficiencyIsland && line.curve->value &&
          (inner == nullptr || *line.curve->value > *inner->curve->value))
        inner = &line;
    if (inner != nullptr)
      write(*inner, *std::min_element(inner->line.begin(), inner->line.end(), [](QPointF a, QPointF b) { return a.y() < b.y(); }), QPointF(0, -1),
            look.sea_print);
  }
}

void DrawRows(QPainter& painter, const QRectF& area, const std::vector<KeyRow>& rows, const ChartLook& look) {
  painter.setPen(QPen(look.grid, kHairWidth));
  painter.drawLine(area.topLeft(), area.topRight());
  double y = area.top() + 10;
  for (const KeyRow& row : rows) {
    const double middle = y + kKeyLine / 2;
    painter.setPen(PatternPen(look.ink, kSpeedWidth, row.map));
    painter.drawLine(QPointF(area.left(), middle), QPointF(area.left() + kSampleWidth - 14, middle));
    DrawLetter(painter, QPointF(area.left() + kSampleWidth + 6, middle), ComparisonLetter(row.map), look);
    painter.setFont(ChartFont(Print::kSmall));
    painter.setPen(look.ink);
    const QFontMetricsF metrics(painter.font());
    for (qsizetype l = 0; l < row.lines.size(); ++l)
      painter.drawText(QPointF(area.left() + kSampleWidth + kLetterWidth, y + kKeyLine * l + kKeyLine / 2 + metrics.capHeight() / 2), row.lines[l]);
    y += kKeyLine * static_cast<double>(row.lines.size()) + 6;
  }
}

std::string TitleOf(const std::vector<ComparedMap>& maps) {
  std::string title;
  for (std::size_t i = 0; i < maps.size(); ++i) title += (i == 0 ? "" : ", ") + ComparisonLetter(i) + " " + maps[i].name;
  return title;
}

Drawing DrawingOf(const std::vector<ComparedMap>& maps, const ChartOptions& options) {
  return {TitleOf(maps), [&maps, options](QPainter& painter, const QRectF& area) { DrawComparison(painter, area, maps, options); }};
}

}  // namespace

std::string ComparisonLetter(std::size_t place) { return std::string(1, static_cast<char>('A' + place % 26)); }

Result<std::vector<ComparedMap>> PrepareComparison(const std::vector<std::string>& names, const std::vector<PerformanceMap>& maps,
                                                   const CommonAxesOptions& options) {
  if (maps.size() < 2 || maps.size() > kMostCompared || names.size() != maps.size())
    return Fail(ErrorCode::kInvalidArgument, "Two to six maps can be laid over each other; more could not be told apart.");
  Result<std::vector<MapOnAxes>> brought = BringToCommonAxes(maps, options);
  if (!brought) {
    const std::size_t number = brought.error().place.empty() ? 0 : std::stoul(brought.error().place);
    return Fail(brought.error().code, brought.error().message, number >= 1 && number <= names.size() ? names[number - 1] : "");
  }
  std::vector<ComparedMap> compared;
  for (std::size_t i = 0; i < names.size(); ++i) compared.push_back({names[i], std::move((*brought)[i])});
  return compared;
}

ChartFrame FrameOfComparison(const QRectF& area, const std::vector<ComparedMap>& maps, const ChartOptions& options) {
  if (area.width() <= 0 || area.height() <= 0) return {};
  const double unit = ChartUnit(area, options);
  return Frame(area, maps, options, Together(maps), PlanRows(area.width() / unit - kKeySide, maps, options));
}

void DrawComparison(QPainter& painter, const QRectF& area, const std::vector<ComparedMap>& maps, const ChartOptions& options) {
  if (area.width() <= 0 || area.height() <= 0) return;
  const ChartLook look = options.night ? ChartLook::Night() : ChartLook::Day();
  const double unit = ChartUnit(area, options);
  const PerformanceMap all = Together(maps);
  const std::vector<KeyRow> rows = PlanRows(area.width() / unit - kKeySide, maps, options);
  const ChartFrame frame = Frame(area, maps, options, all, rows);
  painter.save();
  painter.setRenderHints(QPainter::Antialiasing | QPainter::TextAntialiasing);
  painter.translate(area.topLeft());
  painter.scale(unit, unit);
  painter.fillRect(QRectF(0, 0, area.width() / unit, area.height() / unit), look.paper);
  if (options.show_title) {
    const char* kind = all.kind == MapKind::kTurbine ? "turbine maps" : "compressor maps";
    const std::string caption = std::to_string(maps.size()) + " " + kind + " on common axes" +
                                (maps.size() > 2 && all.kind == MapKind::kCompressor ? "; of each the innermost efficiency island" : "");
    DrawChartTitle(painter, InChartUnits(frame.title, area, unit), TitleOf(maps),
                   options.caption.empty() ? Said(caption).toStdString() : options.caption, look);
  }
  for (const ChartPanel& placed : frame.panels) {
    const ChartPanel panel = InChartUnits(placed, area, unit);
    DrawAxes(painter, panel, all.reference_conditions, look);
    const std::vector<DrawnLine> lines = LinesOf(panel, maps);
    painter.save();
    painter.setClipRect(panel.plot);
    DrawLines(painter, lines, look);
    painter.restore();
    DrawLabels(painter, panel, lines, maps, look);
  }
  if (!rows.empty()) DrawRows(painter, InChartUnits(frame.key, area, unit), rows, look);
  painter.restore();
}

Result<void> WriteComparisonSvg(const std::filesystem::path& file, const std::vector<ComparedMap>& maps, const ChartOptions& options,
                                const ChartPaper& paper) {
  if (auto ok = options.Check(); !ok) return ok;
  return WriteDrawingSvg(file, DrawingOf(maps, options), paper);
}

Result<void> WriteComparisonPng(const std::filesystem::path& file, const std::vector<ComparedMap>& maps, const ChartOptions& options,
                                const ChartPaper& paper) {
  if (auto ok = options.Check(); !ok) return ok;
  return WriteDrawingPng(file, DrawingOf(maps, options), paper);
}

Result<void> WriteComparisonPdf(const std::filesystem::path& file, const std::vector<ComparedMap>& maps, const ChartOptions& options,
                                const ChartPaper& paper) {
  if (auto ok = options.Check(); !ok) return ok;
  return WriteDrawingPdf(file, DrawingOf(maps, options), paper);
}

}  // namespace islebook
