#include "mapstore/surface/surface_table.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

struct Weights {
  double a, b, c, d;      // value: y0, slope0, y1, slope1
  double da, db, dc, dd;  // by x
};

inline Weights HermiteWeights(double t, double step) {
  const double u = 1.0 - t, tt = t * t, uu = u * u, six = 6.0 * t * u / step;
  return {uu * (1.0 + 2.0 * t), uu * t * step, tt * (1.0 + 2.0 * u), -tt * u * step, -six, u * (1.0 - 3.0 * t), six, t * (3.0 * t - 2.0)};
}

// Where values never fall, slopes that would let the cubic between them fall are held back (Fritsch and Carlson 1980).
void KeepRising(const std::vector<double>& values, double step, std::vector<double>& slopes) {
  if (!std::is_sorted(values.begin(), values.end()) || std::none_of(slopes.begin(), slopes.end(), [](double slope) { return slope < 0.0; })) return;
  for (std::size_t k = 0; k < values.size(); ++k) {
    const double before = k > 0 ? (values[k] - values[k - 1]) / step : 1e300,
                 after = k + 1 < values.size() ? (values[k + 1] - values[k]) / step : 1e300;
    slopes[k] = std::clamp(slopes[k], 0.0, 3.0 * std::min(before, after));
  }
}

}  // namespace

SurfaceTable::SurfaceTable(const LineFamily& family, int beta_intervals, int between, double lowest, double highest, Uses uses, bool known_folds)
    : columns_(beta_intervals + 1), beta_step_(1.0 / beta_intervals) {
  const std::vector<double>& lines = family.lines();
  for (std::size_t i = 0; i + 1 < lines.size(); ++i)
    for (int k = 0; k <= between; ++k) n_.push_back(lines[i] + (lines[i + 1] - lines[i]) * k / (between + 1));
  n_.push_back(lines.back());
  lines_low_ = lines.front();
  lines_high_ = lines.back();
  const double usual_step = (lines_high_ - lines_low_) / static_cast<double>(n_.size() - 1);
  if (lowest < lines_low_) {
    const int more = std::clamp(static_cast<int>(std::ceil((lines_low_ - lowest) / usual_step)), 1, 40);
    std::vector<double> below;
    for (int k = 0; k < more; ++k) below.push_back(lowest + (lines_low_ - lowest) * k / more);
    n_.insert(n_.begin(), below.begin(), below.end());
  }
  if (highest > lines_high_) {
    const int more = std::clamp(static_cast<int>(std::ceil((highest - lines_high_) / usual_step)), 1, 40);
    for (int k = 1; k <= more; ++k) n_.push_back(lines_high_ + (highest - lines_high_) * k / more);
  }
  const int rows = static_cast<int>(n_.size());
  nodes_.resize(static_cast<std::size_t>(rows) * columns_);
  std::vector<double> betas(columns_), line(columns_);
  for (int k = 0; k < columns_; ++k) betas[k] = k * beta_step_;
  for (int r = 0; r < rows; ++r) {
    const FamilyRow row = family.At(n_[r]);
    std::vector<double> flow_slopes = SplineSlopes(betas, row.flow);
    const std::vector<double> head_slopes = SplineSlopes(betas, row.head);
    KeepRising(row.flow, beta_step_, flow_slopes);
    for (int k = 0; k < columns_; ++k) {
      Node& at = nodes_[static_cast<std::size_t>(r) * columns_ + k];
      at.value = {row.flow[k], row.head[k]};
      at.by_beta = {flow_slopes[k], head_slopes[k]};
    }
  }
  std::vector<double> column(rows);
  for (int k = 0; k < columns_; ++k) {
    for (int component = 0; component < 2; ++component) {
      for (int r = 0; r < rows; ++r) column[r] = node(r, k).value[component];
      const std::vector<double> slopes = SplineSlopes(n_, column);
      for (int r = 0; r < rows; ++r) column[r] = node(r, k).by_beta[component];
      const std::vector<double> twists = SplineSlopes(n_, column);
      for (int r = 0; r < rows; ++r) {
        Node& at = nodes_[static_cast<std::size_t>(r) * columns_ + k];
        at.by_n[component] = slopes[r];
        at.by_both[component] = twists[r];
      }
    }
  }
  // Bins that find the row of a speed without searching.
  double narrowest = n_.back() - n_.front();
  for (int r = 0; r + 1 < rows; ++r) narrowest = std::min(narrowest, n_[r + 1] - n_[r]);
  const int bins = std::clamp(static_cast<int>(2.0 * (n_.back() - n_.front()) / narrowest) + 1, 1, 4096);
  bins_per_n_ = bins / (n_.back() - n_.front());
  row_of_bin_.resize(bins + 1);
  for (int bin = 0, row = 0; bin <= bins; ++bin) {
    const double start = n_.front() + bin / bins_per_n_;
    while (row + 2 < rows && n_[row + 1] <= start) ++row;
    row_of_bin_[bin] = row;
  }
  double flow_low = nodes_[0].value[0], flow_high = flow_low, head_low = nodes_[0].value[1], head_high = head_low;
  one_way_flow_ = true;
  for (int r = 0; r < rows; ++r) {
    for (int k = 0; k < columns_; ++k) {
      const Node& at = node(r, k);
      flow_low = std::min(flow_low, at.value[0]);
      flow_high = std::max(flow_high, at.value[0]);
      head_low = std::min(head_low, at.value[1]);
      head_high = std::max(head_high, at.value[1]);
      if (at.by_beta[0] < 0.0) one_way_flow_ = false;
    }
  }
  flow_scale_ = std::max(flow_high - flow_low, 1e-300);
  head_scale_ = std::max(head_high - head_low, 1e-300);
  folds_ = known_folds;
  const TableJet middle = At(0.5 * (n_.front() + n_.back()), 0.5);
  const double usual = middle.by_n[0] * middle.by_beta[1] - middle.by_n[1] * middle.by_beta[0];
  for (int r = 0; r + 1 < rows && !folds_ && uses == Uses::kMany; ++r) {
    for (int k = 0; k + 1 < columns_ && !folds_; ++k) {
      for (const double t : {0.0, 0.5}) {
        const TableJet jet = At(n_[r] + t * (n_[r + 1] - n_[r]), (k + t) * beta_step_);
        if ((jet.by_n[0] * jet.by_beta[1] - jet.by_n[1] * jet.by_beta[0]) * usual <= 0.0) folds_ = true, fold_speeds_ = {n_[r], n_[r + 1]};
      }
    }
  }
  const double middle_low = node(rows / 2, 0).value[0], middle_high = node(rows / 2, columns_ - 1).value[0];
  for (int i = 0, k = 0; i <= kGuesses; ++i) {
    while (k + 2 < columns_ && node(rows / 2, k + 1).value[0] <= middle_low + (middle_high - middle_low) * i / kGuesses) ++k;
    column_guess_[i] = k;
  }
  if (uses == Uses::kMany) BuildStarts();
}

Pair SurfaceTable::Edge(double n, int column) const {
  const double inside = std::clamp(n, n_.front(), n_.back()), over = n - inside;
  const int row = RowOf(inside);
  const double step = n_[row + 1] - n_[row], t = (inside - n_[row]) / step, u = 1.0 - t;
  const double a = u * u * (1.0 + 2.0 * t), b = u * u * t * step, c = t * t * (1.0 + 2.0 * u), d = -t * t * u * step;
  const Node& low = node(row, column);
  const Node& high = node(row + 1, column);
  const Node& end = over < 0.0 ? low : high;
  Pair value;
  for (int i = 0; i < 2; ++i) value[i] = a * low.value[i] + b * low.by_n[i] + c * high.value[i] + d * high.by_n[i] + over * end.by_n[i];
  return value;
}

int SurfaceTable::RowOf(double n) const {
  const double place = (n - n_.front()) * bins_per_n_;
  const int last = static_cast<int>(n_.size()) - 2;
  if (!(place > 0.0)) return 0;
  if (place >= static_cast<double>(row_of_bin_.size() - 1)) return last;
  int row = row_of_bin_[static_cast<int>(place)];
  while (row < last && n >= n_[row + 1]) ++row;
  return row;
}

TableJet SurfaceTable::At(double n, double beta) const {
  const double inside_n = std::clamp(n, n_.front(), n_.back());
  const double inside_beta = std::clamp(beta, 0.0, 1.0);
  const int row = RowOf(inside_n);
  const int column = std::min(static_cast<int>(inside_beta * (columns_ - 1)), columns_ - 2);
  const Node& p00 = node(row, column);
  const Node& p01 = node(row, column + 1);
  const Node& p10 = node(row + 1, column);
  const Node& p11 = node(row + 1, column + 1);
  const double step_n = n_[row + 1] - n_[row];
  const Weights v = HermiteWeights((inside_n - n_[row]) / step_n, step_n);
  const Weights w = HermiteWeights(inside_beta * (columns_ - 1) - column, beta_step_);
  TableJet jet;
  Pair cross{};
  for (int i = 0; i < 2; ++i) {
    const double low = w.a * p00.value[i] + w.b * p00.by_beta[i] + w.c * p01.value[i] + w.d * p01.by_beta[i];
    const double high = w.a * p10.value[i] + w.b * p10.by_beta[i] + w.c * p11.value[i] + w.d * p11.by_beta[i];
    const double low_n = w.a * p00.by_n[i] + w.b * p00.by_both[i] + w.c * p01.by_n[i] + w.d * p01.by_both[i];
    const double high_n = w.a * p10.by_n[i] + w.b * p10.by_both[i] + w.c * p11.by_n[i] + w.d * p11.by_both[i];
    const double low_b = w.da * p00.value[i] + w.db * p00.by_beta[i] + w.dc * p01.value[i] + w.dd * p01.by_beta[i];
    const double high_b = w.da * p10.value[i] + w.db * p10.by_beta[i] + w.dc * p11.value[i] + w.dd * p11.by_beta[i];
    const double low_nb = w.da * p00.by_n[i] + w.db * p00.by_both[i] + w.dc * p01.by_n[i] + w.dd * p01.by_both[i];
    const double high_nb = w.da * p10.by_n[i] + w.db * p10.by_both[i] + w.dc * p11.by_n[i] + w.dd * p11.by_both[i];
    jet.value[i] = v.a * low + v.b * low_n + v.c * high + v.d * high_n;
    jet.by_n[i] = v.da * low + v.db * low_n + v.dc * high + v.dd * high_n;
    jet.by_beta[i] = v.a * low_b + v.b * low_nb + v.c * high_b + v.d * high_nb;
    cross[i] = v.da * low_b + v.db * low_nb + v.dc * high_b + v.dd * high_nb;
  }
  if (inside_n != n || inside_beta != beta) {
    const double over_n = n - inside_n, over_beta = beta - inside_beta;
    for (int i = 0; i < 2; ++i) {
      jet.value[i] += jet.by_n[i] * over_n + jet.by_beta[i] * over_beta + cross[i] * over_n * over_beta;
      jet.by_n[i] += cross[i] * over_beta;
      jet.by_beta[i] += cross[i] * over_n;
    }
  }
  return jet;
}

double SurfaceTable::HeadAt(double n, double beta) const {
  const int row = RowOf(n), column = std::clamp(static_cast<int>(beta * (columns_ - 1)), 0, columns_ - 2);
  const double step_n = n_[row + 1] - n_[row];
  const double t = (n - n_[row]) / step_n, u = 1.0 - t, s = beta * (columns_ - 1) - column, r = 1.0 - s;
  const double va = u * u * (1.0 + 2.0 * t), vb = u * u * t * step_n, vc = t * t * (1.0 + 2.0 * u), vd = -t * t * u * step_n;
  const double wa = r * r * (1.0 + 2.0 * s), wb = r * r * s * beta_step_, wc = s * s * (1.0 + 2.0 * r), wd = -s * s * r * beta_step_;
  const Node* const low = &node(row, column);
  const Node* const high = &node(row + 1, column);
  const auto along = [&](const Node* p) { return wa * p[0].value[1] + wb * p[0].by_beta[1] + wc * p[1].value[1] + wd * p[1].by_beta[1]; };
  const auto along_n = [&](const Node* p) { return wa * p[0].by_n[1] + wb * p[0].by_both[1] + wc * p[1].by_n[1] + wd * p[1].by_both[1]; };
  return va * along(low) + vb * along_n(low) + vc * along(high) + vd * along_n(high);
}

std::optional<TablePlace> SurfaceTable::LocateFrom(TablePlace place, double flow, double head) const {
  const double low = MarginLow(), high = MarginHigh();
  double best = 1e300;
  for (int step = 0; step < 40; ++step) {
    const TableJet jet = At(place.n, place.beta);
    const double df = flow - jet.value[0], dh = head - jet.value[1];
    const double determinant = jet.by_n[0] * jet.by_beta[1] - jet.by_n[1] * jet.by_beta[0];
    if (determinant == 0.0) return std::nullopt;
    double dn = (df * jet.by_beta[1] - dh * jet.by_beta[0]) / determinant;
    double db = (dh * jet.by_n[0] - df * jet.by_n[1]) / determinant;
    const double size = std::abs(dn) + std::abs(db);
    if (!(size < 1e6)) return std::nullopt;
    if (size < 1e-6 || size >= best * 0.999) {
      // The last step squares an error that is already tiny; or it no longer shrinks.
      if (size < 1e-6) return TablePlace{place.n + dn, place.beta + db};
      if (step > 12) return std::nullopt;
    }
    best = std::min(best, size);
    const double limit = 0.3;
    if (size > limit) {
      dn *= limit / size;
      db *= limit / size;
    }
    place.n = std::clamp(place.n + dn, low, high);
    place.beta = std::clamp(place.beta + db, -kMarginBeta, 1.0 + kMarginBeta);
  }
  return std::nullopt;
}

TablePlace SurfaceTable::Start(double flow, double head) const {
  if (starts_.empty()) {
    // The nearest of every other row's and every fourth column's nodes.
    double nearest = 1e300;
    TablePlace place{n_.front(), 0.0};
    for (std::size_t r = 0; r < n_.size(); r += 2)
      for (int k = 0; k < columns_; k += 4) {
        const Pair& at = node(static_cast<int>(r), k).value;
        const double df = (at[0] - flow) / flow_scale_, dh = (at[1] - head) / head_scale_, distance = df * df + dh * dh;
        if (distance < nearest) nearest = distance, place = {n_[r], k * beta_step_};
      }
    return place;
  }
  const double root = start_c_ * std::sqrt(std::max(head, 0.0));
  const double v = flow + root, u = v > 0.0 ? flow / v : 0.5;
  const double x = std::clamp((u - u_low_) / u_step_, 0.0, kStarts - 1.000001), y = std::clamp((v - v_low_) / v_step_, 0.0, kStarts - 1.000001);
  const int i = static_cast<int>(x), j = static_cast<int>(y);
  const double s = x - i, t = y - j;
  const auto& p00 = starts_[j * kStarts + i];
  const auto& p10 = starts_[j * kStarts + i + 1];
  const auto& p01 = starts_[(j + 1) * kStarts + i];
  const auto& p11 = starts_[(j + 1) * kStarts + i + 1];
  const double w00 = (1.0 - s) * (1.0 - t), w10 = s * (1.0 - t), w01 = (1.0 - s) * t, w11 = s * t;
  return {w00 * p00[0] + w10 * p10[0] + w01 * p01[0] + w11 * p11[0], w00 * p00[1] + w10 * p10[1] + w01 * p01[1] + w11 * p11[1]};
}

std::optional<TablePlace> SurfaceTable::Locate(double flow, double head) const {
  if (!std::isfinite(flow) || !std::isfinite(head)) return std::nullopt;
  const double low = MarginLow(), high = MarginHigh();
  std::optional<TablePlace> place = LocateFrom(Start(flow, head), flow, head);
  if (place && place->n >= low && place->n <= high && place->beta >= -kMarginBeta && place->beta <= 1.0 + kMarginBeta) return place;
  // A point that is really inside must not be lost to a bad start.
  for (const TablePlace& other : LocateAll(flow, head)) return other;
  return std::nullopt;
}

std::vector<TablePlace> SurfaceTable::LocateAll(double flow, double head) const {
  std::vector<TablePlace> found;
  if (!std::isfinite(flow) || !std::isfinite(head)) return found;
  const double slack_flow = 0.02 * flow_scale_, slack_head = 0.02 * head_scale_;
  const int rows = static_cast<int>(n_.size());
  for (int r = 0; r + 1 < rows; ++r) {
    for (int k = 0; k + 1 < columns_; ++k) {
      const Pair &a = node(r, k).value, &b = node(r, k + 1).value, &c = node(r + 1, k).value, &d = node(r + 1, k + 1).value;
      const auto [f0, f1] = std::minmax({a[0], b[0], c[0], d[0]});
      const auto [h0, h1] = std::minmax({a[1], b[1], c[1], d[1]});
      const bool edge = r == 0 || k == 0 || r + 2 == rows || k + 2 == columns_;
      const double reach = edge ? 1.0 : 0.05;
      if (flow < f0 - reach * slack_flow || flow > f1 + reach * slack_flow || head < h0 - reach * slack_head || head > h1 + reach * slack_head)
        continue;
      const std::optional<TablePlace> place = LocateFrom({0.5 * (n_[r] + n_[r + 1]), (k + 0.5) * beta_step_}, flow, head);
      if (!place || place->beta < -kMarginBeta || place->beta > 1.0 + kMarginBeta || place->n < MarginLow() || place->n > MarginHigh()) continue;
      const bool known = std::any_of(found.begin(), found.end(), [&](const TablePlace& other) {
        return std::abs(other.n - place->n) + std::abs(other.beta - place->beta) < 1e-7;
      });
      if (!known) found.push_back(*place);
    }
  }
  // Inside before outside.
  const auto outside = [&](const TablePlace& place) {
    return std::max({0.0, -place.beta, place.beta - 1.0, n_.front() - place.n, place.n - n_.back()});
  };
  std::stable_sort(found.begin(), found.end(), [&](const TablePlace& a, const TablePlace& b) { return outside(a) < outside(b); });
  return found;
}

void SurfaceTable::BuildStarts() {
  start_c_ = flow_scale_ / std::sqrt(head_scale_);
  double u_low = 1e300, u_high = -1e300, v_low = 1e300, v_high = -1e300;
  std::vector<std::array<double, 2>> uv(nodes_.size());
  for (std::size_t i = 0; i < nodes_.size(); ++i) {
    const double root = start_c_ * std::sqrt(std::max(nodes_[i].value[1], 0.0));
    const double v = nodes_[i].value[0] + root, u = v > 0.0 ? nodes_[i].value[0] / v : 0.5;
    uv[i] = {u, v};
    u_low = std::min(u_low, u), u_high = std::max(u_high, u), v_low = std::min(v_low, v), v_high = std::max(v_high, v);
  }
  const double du = 0.02 * (u_high - u_low) + 1e-12, dv = 0.02 * (v_high - v_low) + 1e-12;
  u_low_ = u_low - du;
  u_step_ = (u_high + du - u_low_) / (kStarts - 1);
  v_low_ = v_low - dv;
  v_step_ = (v_high + dv - v_low_) / (kStarts - 1);
  starts_.assign(static_cast<std::size_t>(kStarts) * kStarts, {0.0f, 0.0f});
  // Nearest table node in (u, v) by filling outwards, then Newton at each start.
  std::vector<int> nearest(starts_.size(), -1);
  std::vector<int> front;
  for (std::size_t i = 0; i < nodes_.size(); ++i) {
    const int x = std::clamp(static_cast<int>((uv[i][0] - u_low_) / u_step_ + 0.5), 0, kStarts - 1);
    const int y = std::clamp(static_cast<int>((uv[i][1] - v_low_) / v_step_ + 0.5), 0, kStarts - 1);
    int& cell = nearest[y * kStarts + x];
    if (cell < 0) front.push_back(y * kStarts + x);
    cell = static_cast<int>(i);
  }
  for (std::size_t next = 0; next < front.size(); ++next) {
    const int x = front[next] % kStarts, y = front[next] / kStarts;
    const int around[4][2] = {{x - 1, y}, {x + 1, y}, {x, y - 1}, {x, y + 1}};
    for (const auto& [ax, ay] : around) {
      if (ax < 0 || ay < 0 || ax >= kStarts || ay >= kStarts || nearest[ay * kStarts + ax] >= 0) continue;
      nearest[ay * kStarts + ax] = nearest[front[next]];
      front.push_back(ay * kStarts + ax);
    }
  }
  const double low = MarginLow(), high = MarginHigh();
  for (int y = 0; y < kStarts; ++y) {
    for (int x = 0; x < kStarts; ++x) {
      const int at = nearest[y * kStarts + x];
      const double u = u_low_ + x * u_step_, v = v_low_ + y * v_step_;
      const double flow = u * v, root = (v - flow) / start_c_, head = root * root;
      TablePlace place{n_[at / columns_], (at % columns_) * beta_step_};
      // A few careful steps; where they lead outside, the edge is a good start too.
      for (int step = 0; step < 6; ++step) {
        const TableJet jet = At(place.n, place.beta);
        const double df = flow - jet.value[0], dh = head - jet.value[1];
        const double determinant = jet.by_n[0] * jet.by_beta[1] - jet.by_n[1] * jet.by_beta[0];
        if (determinant == 0.0) break;
        double dn = (df * jet.by_beta[1] - dh * jet.by_beta[0]) / determinant, db = (dh * jet.by_n[0] - df * jet.by_n[1]) / determinant;
        const double size = std::abs(dn) + std::abs(db);
        if (!(size < 1e9)) break;
        if (size > 0.15) dn *= 0.15 / size, db *= 0.15 / size;
        place.n = std::clamp(place.n + dn, low, high);
        place.beta = std::clamp(place.beta + db, -kMarginBeta, 1.0 + kMarginBeta);
        if (size < 1e-3) break;
      }
      starts_[y * kStarts + x] = {static_cast<float>(place.n), static_cast<float>(place.beta)};
    }
  }
}

// The interval of a row between two table rows that holds a flow, the place within it, and what that took.
struct SurfaceTable::OnRow {
  int row = 0, left = 0;
  double x = 0.0;                             // 0..1 from column `left` to the next
  double a = 1.0, b = 0.0, c = 0.0, d = 0.0;  // weights of value and slope at the rows below and above
};

inline bool SurfaceTable::FindFlow(double n, double flow, OnRow& at) const {
  if (!one_way_flow_) return false;
  // A speed or flow with the digits of a printed end must not fall off by rounding.
  const double slack = 1e-12 * n_.back();
  if (n < n_.front()) {
    if (n < n_.front() - slack) return false;
    n = n_.front();
  } else if (n > n_.back()) {
    if (n > n_.back() + slack) return false;
    n = n_.back();
  }
  at.row = RowOf(n);
  const double step_n = n_[at.row + 1] - n_[at.row], t = (n - n_[at.row]) / step_n, u = 1.0 - t;
  at.a = u * u * (1.0 + 2.0 * t), at.b = u * u * t * step_n, at.c = t * t * (1.0 + 2.0 * u), at.d = -t * t * u * step_n;
  const Node* const low_row = &node(at.row, 0);
  const Node* const high_row = &node(at.row + 1, 0);
  const auto value = [&](int k) {
    return at.a * low_row[k].value[0] + at.b * low_row[k].by_n[0] + at.c * high_row[k].value[0] + at.d * high_row[k].by_n[0];
  };
  const double first = value(0), last = value(columns_ - 1);
  if (!(flow >= first && flow <= last)) {
    const double rounding = 1e-12 * flow_scale_;
    if (!(flow >= first - rounding && flow <= last + rounding)) return false;
    flow = std::clamp(flow, first, last);
  }
  int left = last > first ? column_guess_[static_cast<int>((flow - first) / (last - first) * kGuesses)] : 0;
  double at_left = value(left), at_right = value(left + 1);
  while (at_left > flow && left > 0) {
    at_right = at_left;
    at_left = value(--left);
  }
  while (at_right <= flow && left + 2 < columns_) {
    at_left = at_right;
    at_right = value(++left + 1);
  }
  const auto slope = [&](int k) {
    return at.a * low_row[k].by_beta[0] + at.b * low_row[k].by_both[0] + at.c * high_row[k].by_beta[0] + at.d * high_row[k].by_both[0];
  };
  const double s0 = slope(left) * beta_step_, s1 = slope(left + 1) * beta_step_, rise = at_right - at_left;
  // y = at_left + s0 x + c2 x^2 + c3 x^3
  const double c2 = 3.0 * rise - 2.0 * s0 - s1, c3 = s0 + s1 - 2.0 * rise;
  double x = rise > 0.0 ? (flow - at_left) / rise : 0.5, x_low = 0.0, x_high = 1.0;
  for (int i = 0; i < 40; ++i) {
    const double error = at_left + x * (s0 + x * (c2 + x * c3)) - flow;
    (error > 0.0 ? x_high : x_low) = x;
    const double by_x = s0 + x * (2.0 * c2 + 3.0 * x * c3);
    double next = by_x > 0.0 ? x - error / by_x : 0.5 * (x_low + x_high);
    if (!(next >= x_low && next <= x_high)) next = 0.5 * (x_low + x_high);
    const double moved = std::abs(next - x);
    x = next;
    if (moved < 1e-7) break;
  }
  at.left = left;
  at.x = x;
  return true;
}

std::optional<double> SurfaceTable::SingleFlow(double n, double flow) const {
  OnRow at;
  if (!FindFlow(n, flow, at)) return std::nullopt;
  return (at.left + at.x) * beta_step_;
}

std::optional<double> SurfaceTable::SingleHead(double n, double flow) const {
  OnRow at;
  if (!FindFlow(n, flow, at)) return std::nullopt;
  const Node* const low = &node(at.row, at.left);
  const Node* const high = &node(at.row + 1, at.left);
  const double s = at.x, r = 1.0 - s;
  const double wa = r * r * (1.0 + 2.0 * s), wb = r * r * s * beta_step_, wc = s * s * (1.0 + 2.0 * r), wd = -s * s * r * beta_step_;
  const auto along = [&](const Node* p) { return wa * p[0].value[1] + wb * p[0].by_beta[1] + wc * p[1].value[1] + wd * p[1].by_beta[1]; };
  const auto along_n = [&](const Node* p) { return wa * p[0].by_n[1] + wb * p[0].by_both[1] + wc * p[1].by_n[1] + wd * p[1].by_both[1]; };
  return at.a * along(low) + at.b * along_n(low) + at.c * along(high) + at.d * along_n(high);
}

std::vector<double> SurfaceTable::Crossings(double n, int component, double target) const {
  std::vector<double> found;
  if (n < n_.front() || n > n_.back() || !std::isfinite(target)) return found;
  struct Side {
    double at, value, slope;
  };
  const auto look = [&](double beta) {
    const TableJet jet = At(n, beta);
    return Side{beta, jet.value[component] - target, jet.by_beta[component]};
  };
  const auto refine = [&](Side left, Side right) {
    double a = left.at, b = right.at, x = 0.5 * (a + b);
    for (int i = 0; i < 60; ++i) {
      const Side middle = look(x);
      ((middle.value < 0.0) == (left.value < 0.0) ? a : b) = x;
      double next = middle.slope != 0.0 ? x - middle.value / middle.slope : 0.5 * (a + b);
      if (!(next > a && next < b)) next = 0.5 * (a + b);
      const double moved = std::abs(next - x);
      x = next;
      if (moved < 1e-13) break;
    }
    found.push_back(x);
  };
  const double rounding = 1e-9 * (component == 0 ? flow_scale_ : head_scale_);
  const int pieces = columns_ - 1;
  Side before = look(0.0);
  if (before.value == 0.0) found.push_back(0.0);
  for (int k = 1; k <= pieces; ++k) {
    const Side after = look(static_cast<double>(k) / pieces);
    if (after.value == 0.0) {
      found.push_back(after.at);
    } else if (before.value != 0.0 && (before.value < 0.0) != (after.value < 0.0)) {
      refine(before, after);
    } else if (before.value != 0.0 && before.slope * after.slope < 0.0 && before.value * before.slope < 0.0) {
      // It turns within the piece, and towards the target: there may be two crossings, or one that only touches.
      Side left = before, right = after, top = before;
      for (int i = 0; i < 60; ++i) {
        top = look(0.5 * (left.at + right.at));
        (top.slope * before.slope > 0.0 ? left : right) = top;
      }
      if ((top.value < 0.0) != (before.value < 0.0)) {
        refine(before, top);
        refine(top, after);
      } else if (std::abs(top.value) < rounding) {
        found.push_back(top.at);
      }
    }
    before = after;
  }
  return found;
}

}  // namespace islebook
