#include "mapstore/surface/line_family.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

double Median(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// What every other point says about the rest: how well few points tell the curve between them.
double MissedByHalf(const std::vector<SmoothInput>& data, int intervals) {
  double squares = 0.0;
  int count = 0;
  for (const std::size_t start : {std::size_t{1}, std::size_t{2}}) {
    std::vector<SmoothInput> half;
    for (std::size_t i = 0; i < data.size(); ++i)
      if (i == 0 || i + 1 == data.size() || i % 2 != start % 2) half.push_back(data[i]);
    if (half.size() < 3 || half.size() == data.size()) continue;
    const SmoothResult smooth = Smooth(half, intervals);
    for (std::size_t i = start; i + 1 < data.size(); i += 2) {
      const double place = std::clamp(data[i].x, 0.0, 1.0) * intervals;
      const int k = std::min(static_cast<int>(place), intervals - 1);
      const double t = place - k;
      squares += std::pow(data[i].y - (1.0 - t) * smooth.values[k] - t * smooth.values[k + 1], 2);
      ++count;
    }
  }
  return count > 0 ? std::sqrt(squares / count) : 0.0;
}
// Least squares under the rule that values never fall (pooling adjacent violators), rising by at least `step`.
void NeverFall(std::vector<double>& values, double step) {
  struct Pool {
    double sum = 0.0;
    int count = 0;
    double Mean() const { return sum / count; }
  };
  std::vector<Pool> pools;
  for (std::size_t k = 0; k < values.size(); ++k) {
    pools.push_back({values[k] - step * static_cast<double>(k), 1});
    while (pools.size() > 1 && pools[pools.size() - 2].Mean() > pools.back().Mean()) {
      const Pool last = pools.back();
      pools.pop_back();
      pools.back().sum += last.sum;
      pools.back().count += last.count;
    }
  }
  std::size_t k = 0;
  for (const Pool& pool : pools)
    for (int i = 0; i < pool.count; ++i, ++k) values[k] = pool.Mean() + step * static_cast<double>(k);
}

// A line of few readings whose flow seems to fall again towards choke, by no more than readings scatter: it stands still instead.
void LevelScatter(std::vector<double>& bulge, double end, double width, double surge_flow) {
  constexpr double kScatter = 5e-3;  // of flow
  const double intervals = static_cast<double>(bulge.size() - 1);
  std::vector<double> flow(bulge.size());
  double most = 0.0, fall = 0.0;
  for (std::size_t k = 0; k < bulge.size(); ++k) {
    flow[k] = 0.5 * (end * static_cast<double>(k) / intervals + bulge[k]);
    most = std::max(most, flow[k]);
    fall = std::max(fall, most - flow[k]);
  }
  if (fall <= 0.0 || fall * width > kScatter * (surge_flow + width)) return;
  NeverFall(flow, 1e-4 / intervals);
  for (std::size_t k = 0; k < bulge.size(); ++k) bulge[k] = 2.0 * flow[k] - end * static_cast<double>(k) / intervals;
}

constexpr double kShareOfHalf = 0.5;  // with all points back it is less

}  // namespace

LineFamily::LineFamily(const PreparedMap& prepared, int beta_intervals, int left_out) : intervals_(beta_intervals), surge_(prepared.surge) {
  max_speed_ = prepared.lines.back().speed;
  std::vector<double> shares;
  for (const SpeedLine& line : prepared.lines) {
    const double head = std::max(line.points.front().head, 1e-6);
    shares.push_back((head - line.points.back().head) / head);
  }
  head_share_ = std::clamp(Median(shares), 0.15, 1.0);

  // The weight of head along the line: as much as keeps g rising on every line.
  const auto frame = [&](const SpeedLine& line, const LinePoint& point, double width) {
    const LinePoint& start = line.points.front();
    return Point2{(point.flow - start.flow) / width, (point.head - start.head) / (head_share_ * std::max(start.head, 1e-6))};
  };
  const auto width_of = [](const SpeedLine& line) {
    double width = 0.0;
    for (const LinePoint& point : line.points) width = std::max(width, point.flow - line.points.front().flow);
    return std::max(width, 1e-6 * std::max(line.points.front().flow, 1e-12));
  };
  for (const double weight : {1.0, 0.6, 0.3, 0.1}) {
    head_weight_ = weight;
    double back = 0.0, forward = 0.0;
    for (const SpeedLine& line : prepared.lines) {
      const double width = width_of(line);
      double reached = 0.0;
      for (const LinePoint& point : line.points) {
        const Point2 at = frame(line, point, width);
        const double g = at.x - weight * at.y;
        if (g < reached) back = std::max(back, reached - g);
        reached = std::max(reached, g);
      }
      forward = std::max(forward, reached);
    }
    if (back < 0.01 * forward) break;
  }

  for (std::size_t i = 0; i < prepared.lines.size(); ++i) {
    if (static_cast<int>(i) == left_out) continue;
    const SpeedLine& line = prepared.lines[i];
    Member member;
    member.n = line.speed / max_speed_;
    member.surge_flow = line.points.front().flow;
    member.surge_head = std::max(line.points.front().head, 1e-6);
    member.width = width_of(line);
    const Point2 last = frame(line, line.points.back(), member.width);
    member.end = std::max(last.x - head_weight_ * last.y, 1e-3);
    std::vector<SmoothInput> data;
    data.reserve(line.points.size());
    const double head_scale = head_share_ * member.surge_head;
    std::vector<double> sigma_flows, sigma_heads;
    bool stated = true;
    for (const LinePoint& point : line.points) stated = stated && (point.sigma_flow > 0.0 || point.sigma_head > 0.0);
    for (std::size_t k = 0; k < line.points.size(); ++k) {
      const LinePoint& point = line.points[k];
      const Point2 at = frame(line, point, member.width);
      SmoothInput input;
      input.x = (at.x - head_weight_ * at.y) / member.end;
      input.y = at.x + head_weight_ * at.y;
      input.pinned = k == 0 || k + 1 == line.points.size();
      if (stated) {
        const double sigma = std::hypot(point.sigma_flow / member.width, head_weight_ * point.sigma_head / head_scale);
        input.weight = 1.0 / std::max(sigma * sigma, 1e-10);
        sigma_flows.push_back(point.sigma_flow);
        sigma_heads.push_back(point.sigma_head);
      }
      data.push_back(input);
    }
    SmoothResult smooth = Smooth(data, intervals_);
    member.bulge = std::move(smooth.values);
    if (data.size() < 40) LevelScatter(member.bulge, member.end, member.width, member.surge_flow);
    member.sigma = {Median(sigma_flows), Median(sigma_heads)};
    if (!stated) {
      // Without a stated uncertainty, what the points show about their own curve.
      const double count = static_cast<double>(data.size());
      double spread = smooth.residual * std::sqrt(count / std::max(count - smooth.freedom - 2.0, 1.0)) / std::sqrt(2.0);
      if (data.size() < 40) spread = std::max(spread, kShareOfHalf * MissedByHalf(data, intervals_));
      member.sigma = {spread * member.width, spread * head_scale / head_weight_};
    }
    members_.push_back(std::move(member));
  }
  Interpolate();
}

LineFamily::LineFamily(const LineFamily& other, int left_out)
    : max_speed_(other.max_speed_),
      head_share_(other.head_share_),
      head_weight_(other.head_weight_),
      intervals_(other.intervals_),
      surge_(other.surge_) {
  for (std::size_t i = 0; i < other.members_.size(); ++i)
    if (static_cast<int>(i) != left_out) members_.push_back(other.members_[i]);
  Interpolate();
}

void LineFamily::Interpolate() {
  const int lines = static_cast<int>(members_.size());
  std::vector<double> head(lines), flow(lines), offset(lines), choke(lines), end(lines);
  n_.resize(lines);
  sigmas_.resize(lines);
  for (int i = 0; i < lines; ++i) {
    const Member& member = members_[i];
    n_[i] = member.n;
    sigmas_[i] = member.sigma;
    head[i] = member.surge_head / (member.n * member.n);
    flow[i] = member.surge_flow / member.n;
    choke[i] = (member.surge_flow + member.width) / member.n;
    end[i] = member.end;
    offset[i] = surge_.empty() ? 0.0 : member.surge_flow - surge_.FlowAt(member.surge_head);
  }
  surge_head_ = HermiteCurve::Spline(n_, head);
  surge_flow_ = HermiteCurve::Spline(n_, flow);
  surge_offset_ = HermiteCurve::Monotone(n_, offset);
  choke_flow_ = HermiteCurve::Spline(n_, choke);
  end_ = HermiteCurve::Spline(n_, end);
  const auto end_of = [&](double n, double step) {
    const auto coefficient = [&](double at) { return SurgeFlow(at, at * at * surge_head_.Value(at)) / at; };
    const double value = coefficient(n);
    return End{value, (coefficient(n + step) - value) / step};
  };
  const double step = 1e-5 * (n_.back() - n_.front());
  surge_low_ = end_of(n_.front(), step);
  surge_high_ = end_of(n_.back(), -step);
  const int columns = intervals_ + 1;
  bulge_.assign(static_cast<std::size_t>(lines) * columns, 0.0);
  bulge_slopes_.assign(bulge_.size(), 0.0);
  std::vector<double> column(lines);
  for (int k = 0; k < columns; ++k) {
    for (int i = 0; i < lines; ++i) column[i] = members_[i].bulge[k];
    const std::vector<double> slopes = SplineSlopes(n_, column);
    for (int i = 0; i < lines; ++i) {
      bulge_[static_cast<std::size_t>(i) * columns + k] = column[i];
      bulge_slopes_[static_cast<std::size_t>(i) * columns + k] = slopes[i];
    }
  }
}

double LineFamily::SurgeFlow(double n, double head) const {
  return surge_.empty() ? n * surge_flow_.Value(n) : surge_.FlowAt(head) + surge_offset_.Value(n);
}

FamilyRow LineFamily::At(double speed) const {
  const int columns = intervals_ + 1;
  // Where the coefficients are taken.
  const double first = n_.front(), n = speed < first ? first + 0.5 * (speed * speed - first * first) / first : speed;
  const double head = speed * speed * surge_head_.Value(n);
  const double flow = n < first       ? speed * (surge_low_.value + surge_low_.slope * (n - first))
                      : n > n_.back() ? speed * (surge_high_.value + surge_high_.slope * (n - n_.back()))
                                      : SurgeFlow(n, head);
  const double width = std::max(speed * choke_flow_.Value(n) - flow, 1e-3 * flow);
  const double end = end_.Value(n);
  // Hermite weights of the two lines about n; straight on outside.
  const int lines = static_cast<int>(n_.size());
  int i = std::clamp(static_cast<int>(std::upper_bound(n_.begin(), n_.end(), n) - n_.begin()) - 1, 0, lines - 2);
  const double step = n_[i + 1] - n_[i];
  const double t = (n - n_[i]) / step, u = 1.0 - t;
  double a = u * u * (1.0 + 2.0 * t), b = u * u * t * step, c = t * t * (1.0 + 2.0 * u), d = -t * t * u * step;
  if (t < 0.0) a = 1.0, b = t * step, c = d = 0.0;
  if (t > 1.0) a = b = 0.0, c = 1.0, d = (t - 1.0) * step;
  const double* const low = &bulge_[static_cast<std::size_t>(i) * columns];
  const double* const high = low + columns;
  const double* const low_slope = &bulge_slopes_[static_cast<std::size_t>(i) * columns];
  const double* const high_slope = low_slope + columns;
  FamilyRow row;
  row.flow.resize(columns);
  row.head.resize(columns);
  const double head_scale = head_share_ * head / head_weight_;
  for (int k = 0; k < columns; ++k) {
    const double along = end * k / intervals_;
    const double bulge = a * low[k] + b * low_slope[k] + c * high[k] + d * high_slope[k];
    row.flow[k] = flow + width * 0.5 * (along + bulge);
    row.head[k] = head + head_scale * 0.5 * (bulge - along);
  }
  return row;
}

void CompleteShortLines(PreparedMap& prepared, int beta_intervals) {
  constexpr double kShort = 0.04;  // of the line's width in flow
  const int count = static_cast<int>(prepared.lines.size());
  if (count < 4 || prepared.choke_printed) return;
  std::vector<char> done(count, 0);
  for (int round = 0; round + 2 < count; ++round) {
    const LineFamily family(prepared, beta_intervals);
    int worst = -1;
    double most = kShort;
    FamilyRow shape;
    for (int i = 0; i < count; ++i) {
      if (done[i]) continue;
      // Beyond the outermost lines a prediction is worth less.
      const double wanted = i == 0 || i + 1 == count ? 2.0 : 1.0;
      const FamilyRow predicted = LineFamily(family, i).At(family.lines()[i]);
      const double width = predicted.flow.back() - predicted.flow.front();
      const double part = (predicted.flow.back() - prepared.lines[i].points.back().flow) / (width * wanted);
      if (width > 0.0 && part > most && part < 0.6) most = part, worst = i, shape = predicted;
    }
    if (worst < 0) return;
    done[worst] = 1;
    SpeedLine& line = prepared.lines[worst];
    const LinePoint end = line.points.back();
    // Where on the neighbors' shape the line ends.
    const double width = shape.flow.back() - shape.flow.front(), fall = std::max(shape.head.front() - shape.head.back(), 1e-9);
    int nearest = 0;
    double distance = 1e300;
    for (int k = 0; k < beta_intervals; ++k) {
      const double apart = std::hypot((shape.flow[k] - end.flow) / width, (shape.head[k] - end.head) / fall);
      if (apart < distance) distance = apart, nearest = k;
    }
    if (distance > 0.1 || !(shape.flow[nearest] > 0.0) || !(shape.head[nearest] > 0.0)) continue;
    const double flow_ratio = end.flow / shape.flow[nearest], head_ratio = end.head / shape.head[nearest];
    for (int k = nearest + 1; k <= beta_intervals; ++k) {
      LinePoint point = end;
      point.flow = shape.flow[k] * flow_ratio;
      point.head = shape.head[k] * head_ratio;
      point.sigma_flow *= 2.0;
      point.sigma_head *= 2.0;
      if (point.flow > end.flow || point.head < end.head) line.points.push_back(point);
    }
    prepared.notes.push_back(fmt::format(
        "The {} line ends about {:.0f} % of its width short of choke, as its neighbors have it; from there it is taken to go on as they do.",
        SpeedWords(line.speed, prepared.speed_unit), 100.0 * most * (worst == 0 || worst + 1 == count ? 2.0 : 1.0)));
  }
}

}  // namespace islebook
