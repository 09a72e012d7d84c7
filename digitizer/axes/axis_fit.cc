#include "digitizer/axes/axis_fit.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

struct Anchor {
  double t = 0.0;
  double y = 0.0;  // value, or its logarithm
  double sigma_t = 0.0;
};

struct Line {
  double offset = 0.0, slope = 1.0;
  double v00 = 0.0, v01 = 0.0, v11 = 0.0;  // covariance
  double rms_t = 0.0;
};

// Weighted least squares of y on t with Huber weights; errors stand in t.
bool FitLine(const std::vector<Anchor>& anchors, Line* line) {
  if (anchors.size() < 2) return false;
  std::vector<double> weight(anchors.size(), 1.0);
  double n = 0, st = 0, sy = 0, stt = 0, sty = 0;
  for (int pass = 0; pass < 6; ++pass) {
    n = st = sy = stt = sty = 0;
    for (std::size_t i = 0; i < anchors.size(); ++i) {
      const Anchor& a = anchors[i];
      const double w = weight[i] / (a.sigma_t * a.sigma_t);
      n += w, st += w * a.t, sy += w * a.y, stt += w * a.t * a.t, sty += w * a.t * a.y;
    }
    const double determinant = n * stt - st * st;
    if (!(determinant > 1e-9 * n * n)) return false;
    line->slope = (n * sty - st * sy) / determinant;
    line->offset = (sy - line->slope * st) / n;
    if (std::abs(line->slope) < 1e-12) return false;
    double chi = 0.0;
    for (std::size_t i = 0; i < anchors.size(); ++i) {
      const double e = std::abs((anchors[i].y - line->offset) / line->slope - anchors[i].t) / anchors[i].sigma_t;
      weight[i] = e < 2.0 ? 1.0 : 2.0 / e * std::min(1.0, 4.0 / e);
      chi += weight[i] * e * e;
    }
    const double dof = std::max(1.0, static_cast<double>(anchors.size()) - 2.0);
    const double scale = line->slope * line->slope * std::max(1.0, chi / dof) / determinant;
    line->v00 = stt * scale;
    line->v01 = -st * scale;
    line->v11 = n * scale;
  }
  double sum = 0.0, count = 0.0;
  for (std::size_t i = 0; i < anchors.size(); ++i) {
    const double e = (anchors[i].y - line->offset) / line->slope - anchors[i].t;
    if (weight[i] < 0.5) continue;
    sum += e * e;
    count += 1.0;
  }
  line->rms_t = std::sqrt(sum / std::max(1.0, count));
  return true;
}

double Forward(AxisScale scale, double value) { return scale == AxisScale::kLog ? std::log10(std::max(value, 1e-300)) : value; }

// The mark a number belongs to: near, and longer or stronger than its neighbours.
const Mark* MarkFor(double t, double tolerance, const std::vector<Mark>& marks) {
  const Mark* best = nullptr;
  double best_cost = 1e9;
  for (const Mark& m : marks) {
    const double off = std::abs(m.t - t);
    if (off > tolerance) continue;
    const double size = (m.grid ? 14.0 : 0.0) + std::min(30.0, m.length_px) * (m.grid ? 0.2 : 1.0) + (m.frame_side ? 10.0 : 0.0) + 0.05 * m.strength;
    const double cost = off / tolerance - 0.06 * size;
    if (cost < best_cost) best_cost = cost, best = &m;
  }
  return best;
}

// The part of a step between marks: the coarsest of 1, 1/2, 1/4, 1/5, 1/10, 1/20 that nearly all marks stand on.
int Subdivision(const std::vector<Mark>& marks, const Line& line, double origin, double step, double length_px) {
  static constexpr int kParts[] = {1, 2, 4, 5, 10, 20, 25};
  int best = 1;
  double best_share = 0.0;
  for (const int parts : kParts) {
    const double spacing_px = std::abs(step / line.slope) / parts * length_px;
    if (spacing_px < 4.5) break;
    const double tolerance = std::min(1.2, 0.16 * spacing_px);
    int on = 0, all = 0;
    for (const Mark& m : marks) {
      const double place = (line.offset + line.slope * m.t - origin) / (step / parts);
      ++all;
      if (std::abs(place - std::round(place)) * spacing_px < tolerance) ++on;
    }
    if (all == 0) return 1;
    // A finer division must explain clearly more marks than chance would add.
    const double share = static_cast<double>(on) / all;
    if (share > best_share + 0.12) best_share = share, best = parts;
    if (best_share > 0.93) break;
  }
  return best;
}

std::optional<double> CleanEnd(double value, double step, int parts, double tolerance, bool log) {
  if (log) {
    const double power = std::pow(10.0, std::floor(std::log10(value) + 1e-6));
    const double digit = std::round(value / power);
    const double clean = digit * power;
    if (clean > 0.0 && std::abs(std::log10(clean) - std::log10(value)) < tolerance) return clean;
    return std::nullopt;
  }
  for (const int p : {1, 2, parts, 4, 5}) {
    const double unit = std::abs(step) / p;
    const double clean = std::round(value / unit) * unit;
    // Fine units would fit anything.
    if (2.0 * tolerance > 0.35 * unit) continue;
    if (std::abs(clean - value) < tolerance) return clean;
  }
  return std::nullopt;
}

// 0.30000000000000004 is 0.3.
double Tidy(double value, double step) {
  if (value == 0.0) return 0.0;
  const double scale = std::pow(10.0, std::ceil(-std::log10(std::abs(step))) + 4);
  return std::round(value * scale) / scale;
}

}  // namespace

double AxisFit::ValueAt(double t) const {
  const double y = offset + slope * t;
  return axis.scale == AxisScale::kLog ? std::pow(10.0, y) : y;
}

double AxisFit::SigmaAt(double t) const {
  const double variance = sigma_offset * sigma_offset + 2.0 * t * covariance + t * t * sigma_slope * sigma_slope;
  const double sigma = std::sqrt(std::max(0.0, variance));
  return axis.scale == AxisScale::kLog ? sigma * ValueAt(t) * std::log(10.0) : sigma;
}

AxisFit FitAxis(const NumberSeries& series, const std::vector<double>& numbers_t, const std::vector<Mark>& marks, const AxisFitOptions& options) {
  AxisFit fit;
  const bool log = series.scale == AxisScale::kLog;
  fit.axis.scale = series.scale;
  fit.numbers_used = static_cast<int>(series.used.size());
  fit.doubts = series.doubts;
  const double px = 1.0 / std::max(1.0, options.length_px);
  const auto sigma_of = [&](const Mark& m) { return std::hypot(m.sigma_t, 0.10 * px); };

  Line line{series.offset, series.slope};
  std::vector<Anchor> centers;
  double nearest_gap = 1.0;
  for (std::size_t k = 0; k < series.used.size(); ++k) {
    centers.push_back({numbers_t[series.used[k]], Forward(series.scale, series.values[k]), std::max(series.residual, 0.8 * px)});
    if (k > 0) nearest_gap = std::min(nearest_gap, std::abs(centers[k].t - centers[k - 1].t));
  }
  FitLine(centers, &line);
  fit.residual = line.rms_t;

  // Numbers to marks.
  const double tolerance = std::max(3.0 * px, std::min(options.place_tolerance, 0.3 * nearest_gap));
  std::vector<Anchor> anchors;
  for (const Anchor& c : centers) {
    const double place = (c.y - line.offset) / line.slope;  // smoother than the single center
    if (const Mark* m = MarkFor(place, tolerance, marks)) anchors.push_back({m->t, c.y, sigma_of(*m)});
  }
  // A single mark taken wrongly shows against the others.
  for (int pass = 0; pass < 3 && anchors.size() >= 3; ++pass) {
    Line trial;
    if (!FitLine(anchors, &trial)) break;
    std::size_t worst = 0;
    double worst_off = 0.0;
    for (std::size_t i = 0; i < anchors.size(); ++i) {
      const double off = std::abs((anchors[i].y - trial.offset) / trial.slope - anchors[i].t);
      if (off > worst_off) worst_off = off, worst = i;
    }
    if (worst_off < std::max(1.0 * px, 4.0 * trial.rms_t * 0.6)) break;
    anchors.erase(anchors.begin() + static_cast<long>(worst));
  }
  const bool snapped = anchors.size() >= 2 && anchors.size() >= std::min<std::size_t>(3, centers.size()) && anchors.size() * 2 >= centers.size();
  int parts = 1;
  if (snapped && FitLine(anchors, &line)) {
    // Then every mark that stands on the series' own division.
    std::vector<Anchor> all;
    if (!log) {
      const double origin = series.values.front();
      parts = Subdivision(marks, line, origin, series.step, options.length_px);
      const double unit = series.step / parts;
      const double spacing_px = std::abs(unit / line.slope) * options.length_px;
      for (const Mark& m : marks) {
        const double place = (line.offset + line.slope * m.t - origin) / unit;
        if (std::abs(place - std::round(place)) * spacing_px > std::min(1.2, 0.16 * spacing_px)) continue;
        all.push_back({m.t, origin + std::round(place) * unit, sigma_of(m)});
      }
    } else {
      for (const Mark& m : marks) {
        const double value = std::pow(10.0, line.offset + line.slope * m.t);
        const double power = std::pow(10.0, std::floor(std::log10(value) + 1e-6));
        const double clean = std::round(value / power) * power;
        if (std::abs((std::log10(clean) - line.offset) / line.slope - m.t) > 1.2 * px) continue;
        all.push_back({m.t, std::log10(clean), sigma_of(m)});
      }
    }
    Line refined;
    if (all.size() > anchors.size() && FitLine(all, &refined)) {
      line = refined;
      fit.ticks_used = static_cast<int>(all.size());
    } else {
      fit.ticks_used = static_cast<int>(anchors.size());
    }
    fit.residual = line.rms_t;
  } else {
    // Numbers alone: their centers may all be shifted alike.
    line.v00 += std::pow(2.0 * px * line.slope, 2);
  }
  fit.offset = line.offset;
  fit.slope = line.slope;

  // Clean ends.
  const double end_sigma = std::sqrt(std::max(0.0, std::max(line.v00, line.v00 + 2 * line.v01 + line.v11)));
  double end_tolerance = std::max(0.7 * px * std::abs(line.slope), 2.5 * end_sigma);
  if (!snapped) end_tolerance = std::max(end_tolerance, 0.006 * std::abs(line.slope));
  const double low = fit.ValueAt(0.0), high = fit.ValueAt(1.0);
  const double step = log ? 1.0 : series.step;
  const auto clean_low = CleanEnd(low, step, parts, end_tolerance, log), clean_high = CleanEnd(high, step, parts, end_tolerance, log);
  fit.axis.min = clean_low ? (log ? *clean_low : Tidy(*clean_low, step)) : low;
  fit.axis.max = clean_high ? (log ? *clean_high : Tidy(*clean_high, step)) : high;
  if (clean_low && clean_high) {
    fit.offset = Forward(series.scale, fit.axis.min);
    fit.slope = Forward(series.scale, fit.axis.max) - fit.offset;
  }
  fit.sigma_offset = std::sqrt(std::max(0.0, line.v00));
  fit.sigma_slope = std::sqrt(std::max(0.0, line.v11));
  fit.covariance = line.v01;
  // The frame's own fit adds about a twentieth of a pixel everywhere.
  fit.sigma_offset = std::hypot(fit.sigma_offset, 0.05 * px * line.slope);

  if (!snapped) fit.doubts.push_back("no ticks or grid lines stand at the numbers; their centers were used");
  if (snapped && fit.residual > std::max(0.002, 1.5 * px))
    fit.doubts.push_back(fmt::format("ticks and numbers disagree by {:.2f} % of the axis", 100.0 * fit.residual));
  return fit;
}

bool MarksLookLogarithmic(const std::vector<Mark>& marks) {
  std::vector<double> t;
  for (const Mark& m : marks) t.push_back(m.t);
  std::sort(t.begin(), t.end());
  if (t.size() < 7) return false;
  const double tolerance = 0.0035;
  double best = 0.0;
  for (std::size_t i = 0; i < t.size(); ++i) {
    for (std::size_t j = i + 1; j < t.size(); ++j) {
      // t[i] is a 1, t[j] the 2 above it.
      const double decade = (t[j] - t[i]) / std::log10(2.0);
      if (decade < 0.15 || decade > 8.0) continue;
      int on = 0, wanted = 0, met = 0;
      for (double x : t) {
        const double part = (x - t[i]) / decade, above = part - std::floor(part);
        for (int k = 1; k <= 10; ++k) {
          if (std::abs(above - std::log10(static_cast<double>(k))) * decade < tolerance) {
            ++on;
            break;
          }
        }
      }
      for (int d = -3; d <= 6; ++d) {
        for (int k = 1; k <= 9; ++k) {
          const double x = t[i] + (d + std::log10(static_cast<double>(k))) * decade;
          if (x < -0.002 || x > 1.002) continue;
          ++wanted;
          if (std::any_of(t.begin(), t.end(), [&](double y) { return std::abs(y - x) < tolerance; })) ++met;
        }
      }
      if (wanted < 6) continue;
      best = std::max(best, std::min(static_cast<double>(on) / static_cast<double>(t.size()), static_cast<double>(met) / wanted));
    }
  }
  return best > 0.85 && !MarksLookEven(marks);
}

bool MarksLookEven(const std::vector<Mark>& marks) {
  std::vector<double> t;
  for (const Mark& m : marks) t.push_back(m.t);
  std::sort(t.begin(), t.end());
  if (t.size() < 4) return false;
  std::vector<double> gaps;
  for (std::size_t i = 1; i < t.size(); ++i) gaps.push_back(t[i] - t[i - 1]);
  std::vector<double> sorted = gaps;
  std::sort(sorted.begin(), sorted.end());
  const double typical = sorted[sorted.size() / 2];
  if (typical < 1e-4) return false;
  int even = 0;
  for (double g : gaps) {
    const double n = g / typical;
    if (std::abs(n - std::round(n)) < 0.08 && std::round(n) >= 1.0) ++even;
  }
  return even >= 0.85 * static_cast<double>(gaps.size());
}

}  // namespace islebook
