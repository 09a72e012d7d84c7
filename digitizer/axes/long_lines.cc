#include "digitizer/axes/long_lines.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>
#include <unordered_map>

#include <Eigen/Cholesky>
#include <Eigen/Core>

namespace islebook {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr int kPiecePoints = 260;  // chains are cut into pieces of at most this many points: a bow is invisible within one

struct Piece {
  int chain = 0;
  int from = 0, to = 0;  // point indices, inclusive
  ImagePoint a, b;
  double length = 0.0, angle = 0.0;  // angle in (-90, 90] degrees
};

double ChordDeviation(const std::vector<ImagePoint>& p, int from, int to, int* at) {
  const double dx = p[to].x - p[from].x, dy = p[to].y - p[from].y, length = std::hypot(dx, dy);
  double worst = 0.0;
  *at = (from + to) / 2;
  if (length < 1e-9) return 0.0;
  for (int i = from + 1; i < to; ++i) {
    const double d = std::abs((p[i].x - p[from].x) * dy - (p[i].y - p[from].y) * dx) / length;
    if (d > worst) worst = d, *at = i;
  }
  return worst;
}

// Ends carried onto the least-squares line: a chain's last points are dragged toward whatever it meets.
void StraightenEnds(const std::vector<ImagePoint>& points, Piece* piece) {
  const double dx = (piece->b.x - piece->a.x) / piece->length, dy = (piece->b.y - piece->a.y) / piece->length;
  const int trim = std::min(4, (piece->to - piece->from) / 6);
  double n = 0, ss = 0, sd = 0, sss = 0, ssd = 0;
  for (int i = piece->from + trim; i <= piece->to - trim; ++i) {
    const double s = (points[i].x - piece->a.x) * dx + (points[i].y - piece->a.y) * dy,
                 d = -(points[i].x - piece->a.x) * dy + (points[i].y - piece->a.y) * dx;
    n += 1, ss += s, sd += d, sss += s * s, ssd += s * d;
  }
  const double determinant = n * sss - ss * ss;
  if (n < 4 || determinant < 1e-6) return;
  const double slope = (n * ssd - ss * sd) / determinant, at = (sd - slope * ss) / n;
  const ImagePoint a = piece->a, b = piece->b;
  const double da = at, db = at + slope * piece->length;
  piece->a = {a.x - da * dy, a.y + da * dx};
  piece->b = {b.x - db * dy, b.y + db * dx};
}

void AddPieces(const RidgeChain& chain, int index, int from, int to, double min_length, std::vector<Piece>* out) {
  if (to - from < static_cast<int>(min_length * 0.7)) return;
  if (to - from > kPiecePoints) {
    const int middle = (from + to) / 2;
    AddPieces(chain, index, from, middle, min_length, out);
    AddPieces(chain, index, middle, to, min_length, out);
    return;
  }
  const double length = std::hypot(chain.points[to].x - chain.points[from].x, chain.points[to].y - chain.points[from].y);
  if (length < 0.35 * (to - from)) {
    const int middle = (from + to) / 2;
    if (to - from > 24) AddPieces(chain, index, from, middle, min_length, out), AddPieces(chain, index, middle, to, min_length, out);
    return;
  }
  int at = 0;
  const double deviation = ChordDeviation(chain.points, from, to, &at);
  if (deviation > 0.9 + 0.004 * length) {
    AddPieces(chain, index, from, std::max(from, at - 2), min_length, out);
    AddPieces(chain, index, std::min(to, at + 2), to, min_length, out);
    return;
  }
  if (length < min_length) return;
  Piece piece{index, from, to, chain.points[from], chain.points[to], length, 0.0};
  StraightenEnds(chain.points, &piece);
  double angle = std::atan2(piece.b.y - piece.a.y, piece.b.x - piece.a.x) * 180.0 / kPi;
  if (angle <= -90.0) angle += 180.0;
  if (angle > 90.0) angle -= 180.0;
  piece.angle = angle;
  out->push_back(piece);
}

double AngleOff(double a, double b, double period) {
  double d = std::fmod(a - b, period);
  if (d < -period / 2) d += period;
  if (d > period / 2) d -= period;
  return d;
}

// The strongest direction, degrees, among pieces within `reach` of `about` (period 180), or mod 90 over all.
double PeakDirection(const std::vector<Piece>& pieces, double period, double about, double reach) {
  const int bins = static_cast<int>(period * 4);
  std::vector<double> histogram(bins, 0.0);
  for (const Piece& p : pieces) {
    if (reach < period && std::abs(AngleOff(p.angle, about, 180.0)) > reach) continue;
    const double weight = std::pow(p.length, 1.6);
    double place = std::fmod(p.angle + 360.0, period) * 4.0;
    histogram[static_cast<int>(place) % bins] += weight;
  }
  double best = -1.0;
  int at = 0;
  for (int i = 0; i < bins; ++i) {
    double sum = 0.0;
    for (int k = -14; k <= 14; ++k) sum += histogram[(i + k + bins) % bins] * (15 - std::abs(k));
    if (sum > best) best = sum, at = i;
  }
  return best > 0.0 ? (at + 0.5) / 4.0 : -1.0;
}

struct Located {
  int piece = 0;
  double s0 = 0.0, s1 = 0.0;  // along, s0 < s1
  double d0 = 0.0, d1 = 0.0;  // across at both
  bool reversed = false;      // the chain runs against `along`
  bool used = false;
};

struct Growing {
  std::vector<int> members;  // Located indices, in order along
};

std::vector<double> FitPolynomial(const std::vector<double>& s, const std::vector<double>& d, double from, double to, int degree) {
  const double middle = (from + to) / 2, half = std::max(1.0, (to - from) / 2);
  std::vector<double> weight(s.size(), 1.0), out(degree + 1, 0.0);
  for (int pass = 0; pass < 4; ++pass) {
    Eigen::MatrixXd m = Eigen::MatrixXd::Zero(degree + 1, degree + 1);
    Eigen::VectorXd rhs = Eigen::VectorXd::Zero(degree + 1);
    std::array<double, 8> power{};
    for (std::size_t i = 0; i < s.size(); ++i) {
      const double x = (s[i] - middle) / half;
      power[0] = 1.0;
      for (int k = 1; k <= degree; ++k) power[k] = power[k - 1] * x;
      for (int r = 0; r <= degree; ++r) {
        for (int c = 0; c <= degree; ++c) m(r, c) += weight[i] * power[r] * power[c];
        rhs(r) += weight[i] * power[r] * d[i];
      }
    }
    for (int r = 0; r <= degree; ++r) m(r, r) += 1e-9 * (1.0 + m(0, 0));
    const Eigen::VectorXd c = m.ldlt().solve(rhs);
    for (int r = 0; r <= degree; ++r) out[r] = c(r);
    for (std::size_t i = 0; i < s.size(); ++i) {
      const double x = (s[i] - middle) / half;
      double value = 0.0;
      for (int k = degree; k >= 0; --k) value = value * x + out[k];
      const double e = std::abs(d[i] - value);
      weight[i] = e < 0.4 ? 1.0 : 0.4 / e * std::min(1.0, 0.8 / e);
    }
  }
  return out;
}

class Joiner {
 public:
  Joiner(const RidgesFound& ridges, const std::vector<Piece>& pieces, const LongLineFamily& family, double family_deg, const LongLineOptions& options)
      : ridges_(ridges), pieces_(pieces), family_(family), options_(options) {
    const double main = family.angle_rad * 180.0 / kPi;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      if (std::abs(AngleOff(pieces[i].angle, main, 180.0)) > family_deg) continue;
      Located l;
      l.piece = static_cast<int>(i);
      const double sa = family.Along(pieces[i].a), sb = family.Along(pieces[i].b);
      l.reversed = sa > sb;
      l.s0 = std::min(sa, sb);
      l.s1 = std::max(sa, sb);
      l.d0 = family.Across(l.reversed ? pieces[i].b : pieces[i].a);
      l.d1 = family.Across(l.reversed ? pieces[i].a : pieces[i].b);
      located_.push_back(l);
    }
    for (std::size_t i = 0; i < located_.size(); ++i) {
      by_start_[Bin(located_[i].d0)].push_back(static_cast<int>(i));
      by_end_[Bin(located_[i].d1)].push_back(static_cast<int>(i));
    }
  }

  std::vector<LongLine> Join(bool horizontal) {
    std::vector<int> order(located_.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<int>(i);
    std::sort(order.begin(), order.end(), [this](int a, int b) { return Length(a) > Length(b); });
    std::vector<LongLine> out;
    for (int seed : order) {
      if (located_[seed].used) continue;
      std::vector<int> members{seed};
      located_[seed].used = true;
      for (int next = Next(members, true); next >= 0; next = Next(members, true)) {
        located_[next].used = true;
        members.push_back(next);
      }
      for (int next = Next(members, false); next >= 0; next = Next(members, false)) {
        located_[next].used = true;
        members.insert(members.begin(), next);
      }
      const double length = located_[members.back()].s1 - located_[members.front()].s0;
      if (length < options_.min_length_px) {
        for (int m : members) {
          if (m != seed) located_[m].used = false;
        }
        continue;
      }
      out.push_back(Finish(members, horizontal));
    }
    Merge(&out);
    return out;
  }

 private:
  // Long lines that carry each other on across a gap that no single piece bridged.
  void Merge(std::vector<LongLine>* lines) const {
    const auto value = [](const LongLine& l, double along, double* slope) {
      const double middle = (l.along_from + l.along_to) / 2, half = std::max(1.0, (l.along_to - l.along_from) / 2);
      const double x = std::clamp((along - middle) / half, -1.0, 1.0);
      double v = 0.0, d = 0.0;
      for (int k = static_cast<int>(l.polynomial.size()) - 1; k >= 0; --k) d = d * x + v, v = v * x + l.polynomial[k];
      *slope = d / half;
      return v + d * ((along - middle) / half - x);
    };
    bool changed = true;
    while (changed) {
      changed = false;
      std::sort(lines->begin(), lines->end(), [](const LongLine& a, const LongLine& b) { return a.Length() > b.Length(); });
      for (std::size_t i = 0; i < lines->size() && !changed; ++i) {
        for (std::size_t j = i + 1; j < lines->size() && !changed; ++j) {
          const LongLine &a = (*lines)[i], &b = (*lines)[j];
          const bool b_after = b.along_from > a.along_from;
          const LongLine &first = b_after ? a : b, &second = b_after ? b : a;
          const double gap = second.along_from - first.along_to;
          if (gap < -0.3 * b.Length() || gap > std::min(0.05 * options_.longer_side_px, 0.6 * b.Length() + 10.0)) continue;
          const double middle = 0.5 * (first.along_to + second.along_from);
          double slope_first, slope_second;
          const double off = std::abs(value(first, middle, &slope_first) - value(second, middle, &slope_second));
          if (off > std::max(1.3, 0.0008 * options_.longer_side_px) + 0.012 * std::max(0.0, gap)) continue;
          if (std::abs(std::atan(slope_first) - std::atan(slope_second)) * 180.0 / kPi > 1.2 + 60.0 / std::max(30.0, b.Length())) continue;
          LongLine joined = first;
          joined.points.insert(joined.points.end(), second.points.begin(), second.points.end());
          joined.chains.insert(joined.chains.end(), second.chains.begin(), second.chains.end());
          joined.ink_px += second.ink_px;
          joined.ink_mass = a.ink_mass;
          joined.along_to = std::max(first.along_to, second.along_to);
          Refit(&joined);
          // The union must still turn little.
          double slope_from, slope_to;
          value(joined, joined.along_from, &slope_from);
          value(joined, joined.along_to, &slope_to);
          if (std::abs(std::atan(slope_from) - std::atan(slope_to)) * 180.0 / kPi > options_.max_turn_deg) continue;
          (*lines)[i] = std::move(joined);
          lines->erase(lines->begin() + static_cast<long>(j));
          changed = true;
        }
      }
    }
  }

  void Refit(LongLine* line) const {
    std::vector<double> s, d;
    for (const ImagePoint& p : line->points) s.push_back(family_.Along(p)), d.push_back(family_.Across(p));
    const double length = line->along_to - line->along_from;
    const int degree = length > 500 ? 4 : length > 200 ? 3 : length > 80 ? 2 : 1;
    line->polynomial = FitPolynomial(s, d, line->along_from, line->along_to, degree);
  }

  static int Bin(double d) { return static_cast<int>(std::floor(d / 12.0)); }
  double Length(int i) const { return located_[i].s1 - located_[i].s0; }
  double SlopeOf(int i) const { return (located_[i].d1 - located_[i].d0) / std::max(1.0, Length(i)); }

  // Slope and place at the growing end, from the last 160 px or so.
  void EndTangent(const std::vector<int>& members, bool forward, double* s, double* d, double* slope, double* span) const {
    const int n = static_cast<int>(members.size());
    const Located& last = located_[forward ? members.back() : members.front()];
    *s = forward ? last.s1 : last.s0;
    *d = forward ? last.d1 : last.d0;
    // Go back until 160 px are spanned.
    double far_s = forward ? last.s0 : last.s1, far_d = forward ? last.d0 : last.d1;
    for (int i = 1; i < n && std::abs(far_s - *s) < 160.0; ++i) {
      const Located& l = located_[members[forward ? n - 1 - i : i]];
      far_s = forward ? l.s0 : l.s1;
      far_d = forward ? l.d0 : l.d1;
    }
    *span = std::abs(*s - far_s);
    *slope = (*d - far_d) / std::max(1e-6, std::abs(*s - far_s)) * (*s > far_s ? 1.0 : -1.0);
    if (last.s1 - last.s0 > 60.0 && *span > 0.0) {
      // The last piece alone says more about the direction here.
      *slope = 0.5 * (*slope + (last.d1 - last.d0) / (last.s1 - last.s0));
    }
  }

  int Next(const std::vector<int>& members, bool forward) const {
    double s, d, slope, span;
    EndTangent(members, forward, &s, &d, &slope, &span);
    const double line_length = located_[members.back()].s1 - located_[members.front()].s0;
    const double max_gap = std::min(0.05 * options_.longer_side_px, 0.015 * options_.longer_side_px + 0.08 * line_length);
    const double reach = 0.03 * max_gap + 14.0;
    int best = -1;
    double best_cost = 1e9;
    const double first_slope = SlopeOf(members.front()), last_slope = SlopeOf(members.back());
    for (int bin = Bin(d - reach); bin <= Bin(d + reach); ++bin) {
      const auto& table = forward ? by_start_ : by_end_;
      const auto found = table.find(bin);
      if (found == table.end()) continue;
      for (int i : found->second) {
        const Located& l = located_[i];
        if (l.used) continue;
        const double near_s = forward ? l.s0 : l.s1, near_d = forward ? l.d0 : l.d1;
        const double gap = forward ? near_s - s : s - near_s;
        if (gap < -6.0 || gap > max_gap) continue;
        if (forward ? l.s1 < s + 2.0 : l.s0 > s - 2.0) continue;
        const double predicted = d + slope * (near_s - s);
        const double off = std::abs(near_d - predicted);
        const double tolerance =
            std::max(1.1, 0.0006 * options_.longer_side_px) + 0.013 * std::max(0.0, gap) + (span < 30.0 ? 0.03 * std::max(0.0, gap) : 0.0);
        if (off > tolerance) continue;
        const double piece_slope = SlopeOf(i);
        const double turn = std::abs(std::atan(piece_slope) - std::atan(slope)) * 180.0 / kPi;
        const double shortest = std::min(span, l.s1 - l.s0);
        if (turn > 2.0 + 90.0 / std::max(6.0, shortest)) continue;
        const double total = std::abs(std::atan(piece_slope) - std::atan(forward ? first_slope : last_slope)) * 180.0 / kPi;
        if (l.s1 - l.s0 > 20.0 && total > options_.max_turn_deg) continue;
        const double cost = std::max(0.0, gap) + 6.0 * off + 0.5 * turn - 0.05 * std::min(100.0, l.s1 - l.s0);
        if (cost < best_cost) best_cost = cost, best = i;
      }
    }
    return best;
  }

  LongLine Finish(const std::vector<int>& members, bool horizontal) const {
    LongLine line;
    line.horizontal = horizontal;
    std::vector<double> masses;
    for (int m : members) {
      const Located& l = located_[m];
      const Piece& piece = pieces_[l.piece];
      const RidgeChain& chain = ridges_.chains[piece.chain];
      if (line.chains.empty() || line.chains.back() != piece.chain) line.chains.push_back(piece.chain);
      masses.push_back(chain.ink_mass);
      for (int k = piece.from; k <= piece.to; ++k) {
        const ImagePoint& p = chain.points[l.reversed ? piece.to - (k - piece.from) : k];
        line.points.push_back(p);
      }
      line.ink_px += l.s1 - l.s0;
    }
    line.along_from = located_[members.front()].s0;
    line.along_to = located_[members.back()].s1;
    Refit(&line);
    std::nth_element(masses.begin(), masses.begin() + static_cast<long>(masses.size() / 2), masses.end());
    line.ink_mass = masses[masses.size() / 2];
    return line;
  }

  const RidgesFound& ridges_;
  const std::vector<Piece>& pieces_;
  LongLineFamily family_;
  LongLineOptions options_;
  std::vector<Located> located_;
  std::unordered_map<int, std::vector<int>> by_start_, by_end_;
};

}  // namespace

double LongLineFamily::Along(ImagePoint p) const { return p.x * std::cos(angle_rad) + p.y * std::sin(angle_rad); }
double LongLineFamily::Across(ImagePoint p) const { return -p.x * std::sin(angle_rad) + p.y * std::cos(angle_rad); }
ImagePoint LongLineFamily::At(double along, double across) const {
  return {along * std::cos(angle_rad) - across * std::sin(angle_rad), along * std::sin(angle_rad) + across * std::cos(angle_rad)};
}

double LongLines::AcrossAt(const LongLine& line, double along) const {
  const double middle = (line.along_from + line.along_to) / 2, half = std::max(1.0, (line.along_to - line.along_from) / 2);
  const double x = (along - middle) / half, inside = std::clamp(x, -1.0, 1.0);
  double value = 0.0, slope = 0.0;
  for (int k = static_cast<int>(line.polynomial.size()) - 1; k >= 0; --k) {
    slope = slope * inside + value;
    value = value * inside + line.polynomial[k];
  }
  return value + slope * (x - inside);
}

ImagePoint LongLines::PointAt(const LongLine& line, double along) const { return FamilyOf(line).At(along, AcrossAt(line, along)); }

ImagePoint LongLines::Meet(const LongLine& row, const LongLine& column) const {
  double along = (row.along_from + row.along_to) / 2;
  ImagePoint p{};
  for (int i = 0; i < 12; ++i) {
    p = PointAt(row, along);
    const ImagePoint q = PointAt(column, columns.Along(p));
    const double next = rows.Along(q);
    if (std::abs(next - along) < 1e-6) break;
    along = next;
  }
  return PointAt(row, along);
}

namespace {

// The edges of a plot's own ground are lines too, where none is drawn on them.
RidgesFound WithPanelEdges(const RidgesFound& ridges, const GroundPanel& panel) {
  RidgesFound all = ridges;
  for (const std::vector<ImagePoint>& edge : panel.edges) {
    if (edge.size() < 2) continue;
    const bool level = std::abs(edge.back().x - edge.front().x) > std::abs(edge.back().y - edge.front().y);
    std::size_t drawn = 0;
    for (std::size_t i = 0; i < edge.size(); i += 4) {
      const bool near = std::ranges::any_of(ridges.chains, [&](const RidgeChain& chain) {
        return chain.length_px > 40.0 && std::ranges::any_of(chain.points, [&](const ImagePoint& p) {
                 return level ? std::abs(p.x - edge[i].x) < 1.5 && std::abs(p.y - edge[i].y) < 6.0
                              : std::abs(p.y - edge[i].y) < 1.5 && std::abs(p.x - edge[i].x) < 6.0;
               });
      });
      if (near) ++drawn;
    }
    if (2 * drawn > edge.size() / 4) continue;
    RidgeChain chain;
    chain.ink_mass = 1.0;
    // On to the corners, a point a pixel.
    const ImagePoint a = edge.front(), b = edge.back();
    const std::array<ImagePoint, 4>& c = panel.corners;
    const auto nearest = [&](ImagePoint p) {
      return *std::ranges::min_element(c, {}, [&](const ImagePoint& q) { return std::hypot(q.x - p.x, q.y - p.y); });
    };
    std::vector<ImagePoint> knots{nearest(a)};
    knots.insert(knots.end(), edge.begin(), edge.end());
    knots.push_back(nearest(b));
    for (std::size_t k = 1; k < knots.size(); ++k) {
      const double length = std::hypot(knots[k].x - knots[k - 1].x, knots[k].y - knots[k - 1].y);
      const int n = std::max(1, static_cast<int>(length));
      for (int i = 0; i < n; ++i)
        chain.points.push_back({knots[k - 1].x + (knots[k].x - knots[k - 1].x) * i / n, knots[k - 1].y + (knots[k].y - knots[k - 1].y) * i / n});
      chain.length_px += length;
    }
    chain.points.push_back(knots.back());
    chain.strength.assign(chain.points.size(), 20.0F);
    all.chains.push_back(std::move(chain));
  }
  return all;
}

}  // namespace

LongLines FindLongLines(const RidgesFound& seen, const Page& page, const LongLineOptions& options) {
  LongLines out;
  std::optional<RidgesFound> more;
  if (page.panel) more = WithPanelEdges(seen, *page.panel);
  const RidgesFound& ridges = more ? *more : seen;
  const double min_piece = std::max(8.0, 0.004 * options.longer_side_px);
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < ridges.chains.size(); ++i) {
    const RidgeChain& chain = ridges.chains[i];
    if (chain.points.size() < 2 || chain.length_px < min_piece) continue;
    AddPieces(chain, static_cast<int>(i), 0, static_cast<int>(chain.points.size()) - 1, min_piece, &pieces);
  }
  if (pieces.empty()) return out;
  const double main = PeakDirection(pieces, 90.0, 0.0, 360.0);
  if (main < 0.0) return out;
  double row_angle = main > 45.0 ? main - 90.0 : main;
  double column_angle = row_angle + 90.0;
  // Perspective: the two families are not quite square to each other.
  const double row_peak = PeakDirection(pieces, 180.0, row_angle, 20.0), column_peak = PeakDirection(pieces, 180.0, column_angle, 20.0);
  if (row_peak >= 0.0) row_angle += AngleOff(row_peak, row_angle, 180.0);
  if (column_peak >= 0.0) column_angle += AngleOff(column_peak, column_angle, 180.0);
  out.rows.angle_rad = row_angle * kPi / 180.0;
  out.columns.angle_rad = column_angle * kPi / 180.0;
  out.found = true;
  std::vector<LongLine> rows = Joiner(ridges, pieces, out.rows, options.family_deg, options).Join(true);
  std::vector<LongLine> columns = Joiner(ridges, pieces, out.columns, options.family_deg, options).Join(false);
  out.lines = std::move(rows);
  out.lines.insert(out.lines.end(), std::make_move_iterator(columns.begin()), std::make_move_iterator(columns.end()));
  std::stable_sort(out.lines.begin(), out.lines.end(), [](const LongLine& a, const LongLine& b) { return a.Length() > b.Length(); });
  return out;
}

}  // namespace islebook
