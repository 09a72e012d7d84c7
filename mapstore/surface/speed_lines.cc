#include "mapstore/surface/speed_lines.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

namespace islebook {
namespace {

constexpr double kExponent = 2.0 / 7.0;

bool Usable(const Point2& point) { return std::isfinite(point.x) && std::isfinite(point.y) && point.y > 0.0 && point.x >= 0.0; }

std::vector<LinePoint> PointsOf(const Curve& curve) {
  std::vector<LinePoint> points;
  points.reserve(curve.points.size());
  for (std::size_t i = 0; i < curve.points.size(); ++i) {
    if (!Usable(curve.points[i])) continue;
    LinePoint point;
    point.flow = curve.points[i].x;
    point.head = HeadOf(curve.points[i].y);
    if (i < curve.sigma.size()) {
      if (std::isfinite(curve.sigma[i].x)) point.sigma_flow = std::abs(curve.sigma[i].x);
      if (std::isfinite(curve.sigma[i].y)) point.sigma_head = std::abs(curve.sigma[i].y) / PressureRatioByHead(point.head);
    }
    if (!points.empty() && points.back().flow == point.flow && points.back().head == point.head) continue;
    points.push_back(point);
  }
  return points;
}

// From surge to choke: rising flow, or falling head where the line is steep. `head_per_flow` brings head to the size of flow.
double Run(const LinePoint& point, double flow_per_head) { return point.flow - point.head * flow_per_head; }

void TurnToChoke(std::vector<LinePoint>& points, double flow_per_head) {
  if (points.size() > 1 && Run(points.front(), flow_per_head) > Run(points.back(), flow_per_head)) std::reverse(points.begin(), points.end());
}

// Pieces of one speed line in order; a piece that mostly overlaps a longer one is left out.
std::vector<LinePoint> JoinPieces(std::vector<std::vector<LinePoint>> pieces, double flow_per_head, bool& overlaps) {
  std::sort(pieces.begin(), pieces.end(),
            [&](const auto& a, const auto& b) { return Run(a.front(), flow_per_head) < Run(b.front(), flow_per_head); });
  std::vector<LinePoint> joined = std::move(pieces.front());
  for (std::size_t i = 1; i < pieces.size(); ++i) {
    std::vector<LinePoint>& piece = pieces[i];
    const double end = Run(joined.back(), flow_per_head);
    const double length = Run(piece.back(), flow_per_head) - Run(piece.front(), flow_per_head);
    const double past = Run(piece.back(), flow_per_head) - end;
    if (past < 0.5 * length) {
      if (length > Run(joined.back(), flow_per_head) - Run(joined.front(), flow_per_head)) joined = std::move(piece);
      overlaps = true;
      continue;
    }
    for (const LinePoint& point : piece)
      if (Run(point, flow_per_head) > end) joined.push_back(point);
  }
  return joined;
}

// Cuts what lies left of the surge line, or reaches out to it where the line stops short.
void MeetSurge(SpeedLine& line, const SurgeCurve& surge, const std::string& unit, std::vector<std::string>& notes) {
  std::vector<LinePoint>& points = line.points;
  const double width = points.back().flow - points.front().flow;
  const double reach = 0.02 * (surge.MaxHead() - surge.MinHead());
  const auto left_of_surge = [&](const LinePoint& point) { return point.flow - surge.FlowAt(point.head); };
  const auto covered = [&](double head) { return head > surge.MinHead() - reach && head < surge.MaxHead() + reach; };
  if (!covered(points.front().head)) return;
  // The last crossing within the left half.
  std::size_t keep = 0;
  for (std::size_t i = 0; i + 1 < points.size() && points[i].flow < points.front().flow + 0.5 * width; ++i)
    if (covered(points[i].head) && left_of_surge(points[i]) < 0.0 && left_of_surge(points[i + 1]) >= 0.0) keep = i + 1;
  if (keep > 0) {
    const double before = left_of_surge(points[keep - 1]), after = left_of_surge(points[keep]);
    const double part = after - before > 0.0 ? -before / (after - before) : 1.0;
    LinePoint crossing = points[keep - 1];
    crossing.flow += part * (points[keep].flow - crossing.flow);
    crossing.head += part * (points[keep].head - crossing.head);
    crossing.flow = surge.FlowAt(crossing.head);
    const double cut = crossing.flow - points.front().flow;
    if (cut > 0.08 * width)
      notes.push_back(fmt::format("The {} line begins {:.0f} % of its width left of the surge line; that part is left out.",
                                  SpeedWords(line.speed, unit), 100.0 * cut / width));
    points.erase(points.begin(), points.begin() + static_cast<std::ptrdiff_t>(keep));
    if (points.front().flow - crossing.flow > 1e-4 * width || points.front().head != crossing.head) points.insert(points.begin(), crossing);
    return;
  }
  const double gap = left_of_surge(points.front());
  if (gap == 0.0) return;
  // Straight on along the line's own beginning, if that soon meets the surge line; level otherwise.
  std::size_t ahead = 1;
  while (ahead + 1 < points.size() && std::hypot(points[ahead].flow - points[0].flow,
                                                 (points[ahead].head - points[0].head) * width / std::max(points[0].head, 1e-6)) < 0.05 * width)
    ++ahead;
  const double slope = points[ahead].flow > points[0].flow ? (points[ahead].head - points[0].head) / (points[ahead].flow - points[0].flow) : 0.0;
  LinePoint start = points.front();
  double flow = start.flow;
  bool met = false;
  for (int i = 0; i < 40; ++i) {
    const double head = start.head + slope * (flow - start.flow);
    const double next = surge.FlowAt(head);
    if (std::abs(next - start.flow) > 0.3 * width || !covered(head)) break;
    if (std::abs(next - flow) < 1e-12 * width) {
      met = true;
      break;
    }
    flow = 0.5 * (flow + next);
  }
  if (met || std::abs(slope * (flow - start.flow)) < 1e-9) {
    start.head += slope * (flow - start.flow);
    start.flow = surge.FlowAt(start.head);
  } else {
    start.flow = surge.FlowAt(start.head);
  }
  if (start.flow < points.front().flow) {
    if (gap > 0.08 * width)
      notes.push_back(fmt::format("The {} line stops {:.0f} % of its width short of the surge line; the surface reaches out to it.",
                                  SpeedWords(line.speed, unit), 100.0 * gap / width));
    if (points.front().flow - start.flow < 0.002 * width) points.erase(points.begin());
    points.insert(points.begin(), start);
  } else if (start.flow > points.front().flow && start.flow < points.front().flow + 0.3 * width) {
    while (points.size() > 3 && points.front().flow <= start.flow) points.erase(points.begin());
    points.insert(points.begin(), start);
  }
}

double Cross(const LinePoint& a, const LinePoint& b, const LinePoint& c) {
  return (b.flow - a.flow) * (c.head - a.head) - (b.head - a.head) * (c.flow - a.flow);
}

// Leaves out lines whose labels cannot be theirs. Similarity keeps head / speed^2 nearly constant, and a faster line lies above and right of a slower one: a line that is
// far off the one or out of the others' order carries another line's label, or a misread one. At least two lines stay.
void DropMislabeled(PreparedMap& prepared) {
  constexpr double kFarOff = 1.5, kFarOffFlagged = 1.3;  // in speed; real maps stay within 1.15 or so
  std::vector<SpeedLine>& lines = prepared.lines;
  const auto root = [](const SpeedLine& line) {
    double head = 1e-9;
    for (const LinePoint& point : line.points) head = std::max(head, point.head);
    return std::sqrt(head);
  };
  const auto leave_out = [&](std::size_t i, const char* why) {
    prepared.notes.push_back(
        fmt::format("The {} line {} and is left out: its label must be wrong.", SpeedWords(lines[i].speed, prepared.speed_unit), why));
    lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(i));
  };
  while (lines.size() > 2) {
    std::vector<double> shares;
    for (const SpeedLine& line : lines) shares.push_back(root(line) / line.speed);
    std::vector<double> sorted = shares;
    std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2), sorted.end());
    const double usual = sorted[sorted.size() / 2];
    std::size_t worst = lines.size();
    double most = 1.0;
    for (std::size_t i = 0; i < lines.size(); ++i) {
      const double off = std::max(shares[i] / usual, usual / shares[i]) / (lines[i].flagged ? kFarOffFlagged : kFarOff);
      if (off > most) most = off, worst = i;
    }
    if (worst == lines.size()) break;
    leave_out(worst, "gives a pressure ratio that its speed cannot");
  }
  // A flagged line off the straight course that this share takes over speed on the lines that are not flagged: a label one step off is.
  constexpr double kOffCourse = 0.06, kStraight = 0.015;
  constexpr int kFewestSure = 4;
  double sum = 0.0, speeds = 0.0, shares = 0.0, squares = 0.0, products = 0.0;
  for (const SpeedLine& line : lines) {
    if (line.flagged) continue;
    const double share = root(line) / line.speed;
    sum += 1.0, speeds += line.speed, shares += share, squares += line.speed * line.speed, products += line.speed * share;
  }
  const double spread = sum * squares - speeds * speeds;
  if (sum >= kFewestSure && spread > 0.0) {
    const double slope = (sum * products - speeds * shares) / spread, start = (shares - slope * speeds) / sum;
    const auto off = [&](const SpeedLine& line) { return std::abs(root(line) / line.speed / (start + slope * line.speed) - 1.0); };
    const bool straight = std::all_of(lines.begin(), lines.end(), [&](const SpeedLine& line) { return line.flagged || off(line) < kStraight; });
    for (std::size_t i = lines.size(); straight && i-- > 0;)
      if (lines[i].flagged && off(lines[i]) > kOffCourse) leave_out(i, "gives a pressure ratio that its speed cannot");
  }
  while (lines.size() > 2) {
    // Pairs whose labels say the opposite of both their heads and their flows.
    const std::size_t count = lines.size();
    std::vector<int> against(count, 0);
    for (std::size_t i = 0; i < count; ++i) {
      for (std::size_t k = i + 1; k < count; ++k) {
        if (root(lines[i]) <= root(lines[k]) || lines[i].points.back().flow <= lines[k].points.back().flow) continue;
        ++against[i];
        ++against[k];
      }
    }
    const int most = *std::max_element(against.begin(), against.end());
    if (most == 0) break;
    std::vector<std::size_t> worst;
    for (std::size_t i = 0; i < count; ++i)
      if (against[i] == most) worst.push_back(i);
    // Of several alike the flagged ones; where none or all are flagged nobody can tell which.
    const bool any = std::any_of(worst.begin(), worst.end(), [&](std::size_t i) { return lines[i].flagged; });
    if (any) std::erase_if(worst, [&](std::size_t i) { return !lines[i].flagged; });
    if (count - worst.size() < 2) break;
    for (auto i = worst.rbegin(); i != worst.rend(); ++i) leave_out(*i, "is out of the order of the others");
  }
}

// A piece that begins far right of the surge line is no speed line to go by: where the rest of it ran, and whose it is, nobody can tell from it.
void DropParts(PreparedMap& prepared) {
  constexpr double kFar = 0.8, kFarFlagged = 0.4;  // of its own width
  for (std::size_t i = prepared.lines.size(); i-- > 0 && prepared.lines.size() > 2;) {
    const SpeedLine& line = prepared.lines[i];
    const LinePoint& start = line.points.front();
    const double width = line.points.back().flow - start.flow;
    const std::optional<double> surge = prepared.surge.FlowWithin(start.head);
    if (!surge || !(start.flow - *surge > (line.flagged ? kFarFlagged : kFar) * std::max(width, 0.0))) continue;
    prepared.notes.push_back(fmt::format("The {} line begins far from the surge line and is only a part of a line; it is left out.",
                                         SpeedWords(line.speed, prepared.speed_unit)));
    prepared.lines.erase(prepared.lines.begin() + static_cast<std::ptrdiff_t>(i));
  }
}

// Cuts what lies beyond the choke line.
bool MeetChoke(SpeedLine& line, const std::vector<LinePoint>& choke) {
  std::vector<LinePoint>& points = line.points;
  for (std::size_t i = points.size() / 2; i + 1 < points.size(); ++i) {
    for (std::size_t k = 0; k + 1 < choke.size(); ++k) {
      const double a = Cross(choke[k], choke[k + 1], points[i]), b = Cross(choke[k], choke[k + 1], points[i + 1]);
      const double c = Cross(points[i], points[i + 1], choke[k]), d = Cross(points[i], points[i + 1], choke[k + 1]);
      if ((a < 0.0) == (b < 0.0) || (c < 0.0) == (d < 0.0) || a == b) continue;
      const double part = a / (a - b);
      LinePoint end = points[i];
      end.flow += part * (points[i + 1].flow - end.flow);
      end.head += part * (points[i + 1].head - end.head);
      points.resize(i + 1);
      points.push_back(end);
      return true;
    }
  }
  return false;
}

}  // namespace

double HeadOf(double pressure_ratio) { return std::pow(pressure_ratio, kExponent) - 1.0; }
double PressureRatioOf(double head) {
  const double x = std::max(1.0 + head, 0.0);
  return x * x * x * std::sqrt(x);
}
double PressureRatioByHead(double head) {
  const double x = std::max(1.0 + head, 0.0);
  return 3.5 * x * x * std::sqrt(x);
}

std::string SpeedWords(double speed, const std::string& unit) {
  std::string digits = fmt::format("{:.10g}", speed);
  const std::size_t dot = digits.find('.');
  const std::size_t whole = dot == std::string::npos ? digits.size() : dot;
  if (digits.find('e') == std::string::npos)
    for (std::size_t i = whole; i > 3; i -= 3)
      if (i - 3 > (digits.front() == '-' ? 1u : 0u)) digits.insert(i - 3, ",");
  return unit.empty() || unit == "1" ? digits : digits + " " + unit;
}

SurgeCurve::SurgeCurve(std::vector<LinePoint> points) {
  std::sort(points.begin(), points.end(), [](const LinePoint& a, const LinePoint& b) { return a.head < b.head; });
  std::vector<double> heads, flows;
  double sigma_sum = 0.0;
  for (const LinePoint& point : points) {
    sigma_sum += point.sigma_flow;
    if (!heads.empty() && point.head - heads.back() < 1e-9 * (std::abs(points.back().head) + 1e-3)) continue;
    heads.push_back(point.head);
    flows.push_back(point.flow);
  }
  if (heads.size() < 2) return;
  sigma_flow_ = sigma_sum / static_cast<double>(points.size());
  flow_at_head_ = HermiteCurve::Monotone(std::move(heads), std::move(flows));
}

std::optional<double> SurgeCurve::FlowWithin(double head) const {
  const double reach = 0.1 * (MaxHead() - MinHead());
  if (empty() || head < MinHead() - reach || head > MaxHead() + reach) return std::nullopt;
  return FlowAt(head);
}

std::optional<double> SurgeCurve::HeadAt(double flow) const {
  if (empty()) return std::nullopt;
  const double reach = 0.1 * (MaxHead() - MinHead());
  // From the top down over the knots and the straight ends.
  const std::vector<double>& knots = flow_at_head_.knots();
  double high = MaxHead() + reach;
  for (int i = static_cast<int>(knots.size()); i >= 0; --i) {
    const double low = i > 0 ? knots[i - 1] : MinHead() - reach;
    double a = low, b = high;
    const double fa = FlowAt(a) - flow, fb = FlowAt(b) - flow;
    if ((fa <= 0.0) != (fb < 0.0) || fa == 0.0) {
      if (fa == 0.0) return a;
      for (int step = 0; step < 80 && b - a > 1e-14 * (1.0 + std::abs(b)); ++step) {
        const double middle = 0.5 * (a + b);
        ((FlowAt(middle) - flow <= 0.0) == (fa <= 0.0) ? a : b) = middle;
      }
      return 0.5 * (a + b);
    }
    high = low;
  }
  return std::nullopt;
}

PreparedMap PrepareSpeedLines(const PerformanceMap& map) {
  PreparedMap prepared;
  std::vector<LinePoint> surge_points, choke_points;
  std::map<double, std::vector<std::vector<LinePoint>>> pieces;
  std::map<double, bool> flagged;
  std::map<std::string, int> units;
  int unlabeled = 0, short_lines = 0;
  double flow_low = 1e300, flow_high = -1e300, head_low = 1e300, head_high = -1e300;
  for (const Curve& curve : map.curves) {
    if (curve.role == CurveRole::kSpeedLine && curve.value) ++units[curve.unit];
    if (curve.role != CurveRole::kSpeedLine) continue;
    for (const LinePoint& point : PointsOf(curve)) {
      flow_low = std::min(flow_low, point.flow);
      flow_high = std::max(flow_high, point.flow);
      head_low = std::min(head_low, point.head);
      head_high = std::max(head_high, point.head);
    }
  }
  for (const auto& [unit, count] : units)
    if (prepared.speed_unit.empty() || count > units[prepared.speed_unit]) prepared.speed_unit = unit;
  const double flow_per_head = head_high > head_low ? (flow_high - flow_low) / (head_high - head_low) : 1.0;
  for (const Curve& curve : map.curves) {
    std::vector<LinePoint> points = PointsOf(curve);
    switch (curve.role) {
      case CurveRole::kSurgeLine: surge_points.insert(surge_points.end(), points.begin(), points.end()); break;
      case CurveRole::kChokeLine: choke_points.insert(choke_points.end(), points.begin(), points.end()); break;
      case CurveRole::kSpeedLine: {
        if (!curve.value || !(*curve.value > 0.0) || !std::isfinite(*curve.value)) {
          ++unlabeled;
        } else if (curve.unit != prepared.speed_unit) {
          prepared.notes.push_back(fmt::format("The {} line is in another unit than the other labels ({}) and is left out.",
                                               SpeedWords(*curve.value, curve.unit), prepared.speed_unit));
        } else if (points.size() < 2) {
          ++short_lines;
        } else {
          TurnToChoke(points, flow_per_head);
          pieces[*curve.value].push_back(std::move(points));
          flagged[*curve.value] |= curve.needs_review;
          if (curve.needs_review) prepared.notes.push_back(fmt::format("The {} line is flagged for review.", SpeedWords(*curve.value, curve.unit)));
        }
        break;
      }
      default: break;
    }
  }
  if (unlabeled == 1) prepared.notes.push_back("One speed line carries no value and is left out.");
  if (unlabeled > 1) prepared.notes.push_back(fmt::format("{} speed lines carry no value and are left out.", unlabeled));
  if (short_lines > 0) prepared.notes.push_back(fmt::format("{} speed line(s) have fewer than two points and are left out.", short_lines));
  for (auto& [speed, parts] : pieces) {
    SpeedLine line;
    line.speed = speed;
    line.flagged = flagged[speed];
    bool overlaps = false;
    line.points = JoinPieces(std::move(parts), flow_per_head, overlaps);
    if (overlaps) prepared.notes.push_back(fmt::format("Two lines are labeled {}; the longer one is used.", SpeedWords(speed, prepared.speed_unit)));
    prepared.lines.push_back(std::move(line));
  }
  DropMislabeled(prepared);
  if (!surge_points.empty()) prepared.surge = SurgeCurve(std::move(surge_points));
  if (prepared.surge.empty()) {
    prepared.notes.push_back("The map has no surge line: the left ends of the speed lines stand for it.");
  } else {
    DropParts(prepared);
    for (SpeedLine& line : prepared.lines) MeetSurge(line, prepared.surge, prepared.speed_unit, prepared.notes);
  }
  int met = 0;
  for (SpeedLine& line : prepared.lines) met += choke_points.size() > 1 && MeetChoke(line, choke_points);
  prepared.choke_printed = choke_points.size() > 1;
  std::erase_if(prepared.lines, [](const SpeedLine& line) { return line.points.size() < 2; });
  return prepared;
}

}  // namespace islebook
