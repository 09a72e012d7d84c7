#include "digitizer/axes/ticks.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

constexpr double kStep = 0.5;  // px between samples along a side

float Sample(const cv::Mat1b& m, double x, double y) {
  if (!(x >= 0.0 && y >= 0.0 && x < m.cols - 1.0 && y < m.rows - 1.0)) return 0.0F;
  const int ix = static_cast<int>(x), iy = static_cast<int>(y);
  const auto fx = static_cast<float>(x - ix), fy = static_cast<float>(y - iy);
  const unsigned char *a = m[iy] + ix, *b = m[iy + 1] + ix;
  return (1 - fy) * ((1 - fx) * a[0] + fx * a[1]) + fy * ((1 - fx) * b[0] + fx * b[1]);
}

double MedianOf(std::vector<double> v) {
  if (v.empty()) return 0.0;
  auto middle = v.begin() + static_cast<long>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  return *middle;
}

// Image places along a line of constant v (or u), with the way across it, at every sample; exact at knots and linear between.
struct Track {
  std::vector<ImagePoint> at;
  std::vector<ImagePoint> across;  // unit step in px toward larger v (or u)
  std::vector<double> t;
};

Track MakeTrack(const FrameMapping& frame, bool along_u, double other, double from, double to, double step_px) {
  const double length = along_u ? frame.WidthPx() : frame.HeightPx();
  const int samples = std::max(8, static_cast<int>((to - from) * length / step_px) + 1);
  const int stride = std::max(1, static_cast<int>(12.0 / step_px));
  const int knots = (samples + stride - 2) / stride + 1;
  std::vector<ImagePoint> knot(knots), way(knots);
  for (int k = 0; k < knots; ++k) {
    const double t = from + (to - from) * (static_cast<double>(k) * stride) / (samples - 1);
    const FramePoint f = along_u ? FramePoint{t, other} : FramePoint{other, t};
    knot[k] = frame.ImageFromFrame(f);
    const std::array<double, 4> j = frame.Jacobian(knot[k]);
    const double determinant = j[0] * j[3] - j[1] * j[2];
    // Columns of the inverse Jacobian: d(x, y)/du and d(x, y)/dv.
    const double dx = along_u ? -j[1] / determinant : j[3] / determinant, dy = along_u ? j[0] / determinant : -j[2] / determinant;
    const double norm = std::hypot(dx, dy);
    way[k] = {dx / norm, dy / norm};
  }
  Track track;
  for (int i = 0; i < samples; ++i) {
    const int k = std::min(i / stride, knots - 2);
    const double w = static_cast<double>(i - k * stride) / stride;
    track.at.push_back({knot[k].x + (knot[k + 1].x - knot[k].x) * w, knot[k].y + (knot[k + 1].y - knot[k].y) * w});
    track.across.push_back({way[k].x + (way[k + 1].x - way[k].x) * w, way[k].y + (way[k + 1].y - way[k].y) * w});
    track.t.push_back(from + (to - from) * static_cast<double>(i) / (samples - 1));
  }
  return track;
}

double TAt(const Track& track, double index) {
  return track.t.front() + (track.t.back() - track.t.front()) * index / static_cast<double>(track.t.size() - 1);
}

std::vector<Mark> SideTicks(const Page& page, const FrameMapping& frame, Side side, double line_width) {
  const bool along_u = side == kTop || side == kBottom;
  const double other = side == kTop || side == kRight ? 1.0 : 0.0;
  const double length = along_u ? frame.WidthPx() : frame.HeightPx();
  const double beyond = 6.0 / length;
  const Track track = MakeTrack(frame, along_u, other, -beyond, 1.0 + beyond, kStep);
  const double outward = other > 0.5 ? 1.0 : -1.0;
  const double start = std::max(1.6, 0.5 * line_width + 1.0);
  std::vector<Mark> marks;
  for (const double direction : {outward, -outward}) {
    const bool inside = direction != outward;
    constexpr int kRows = 5;  // 0.6 px apart
    std::vector<double> profile(track.at.size());
    for (std::size_t i = 0; i < track.at.size(); ++i) {
      double sum = 0.0;
      for (int k = 0; k < kRows; ++k) {
        const double d = direction * (start + 0.6 * k);
        sum += Sample(page.ink, track.at[i].x + d * track.across[i].x, track.at[i].y + d * track.across[i].y);
      }
      profile[i] = sum / kRows;
    }
    const double threshold = std::max(14.0, 3.0 * page.noise);
    for (const Peak& peak : FindPeaks(profile, threshold, 41)) {
      if (peak.width > (2.5 * line_width + 5.0) / kStep) continue;
      Mark mark;
      mark.t = TAt(track, peak.at);
      if (mark.t < -0.8 * beyond || mark.t > 1.0 + 0.8 * beyond) continue;
      mark.strength = peak.height;
      mark.sigma_t = std::max(0.05, 0.08 * peak.width * kStep * std::min(1.0, (4.0 + page.noise) / std::max(1.0, peak.height))) / length;
      // How far the tick runs on; a grid line runs out of the reach and is not a tick.
      const auto i = static_cast<std::size_t>(std::clamp(std::lround(peak.at), 0L, static_cast<long>(track.at.size()) - 1));
      const double floor_level = 0.45 * peak.height;
      double d = start;
      for (; d < 40.0; d += 0.5) {
        double here = 0.0;
        for (int w = -1; w <= 1; ++w) {
          const auto j = static_cast<std::size_t>(std::clamp<long>(static_cast<long>(i) + 2 * w, 0, static_cast<long>(track.at.size()) - 1));
          here = std::max<double>(
              here, Sample(page.ink, track.at[j].x + direction * d * track.across[j].x, track.at[j].y + direction * d * track.across[j].y));
        }
        if (here < floor_level) break;
      }
      if (d >= 40.0 && inside) continue;
      mark.length_px = d;
      const auto same = std::find_if(marks.begin(), marks.end(), [&](const Mark& m) { return std::abs(m.t - mark.t) * length < 1.2; });
      if (same == marks.end()) {
        marks.push_back(mark);
      } else {
        same->length_px += mark.length_px;
        if (mark.strength > same->strength) same->t = mark.t, same->sigma_t = mark.sigma_t, same->strength = mark.strength;
      }
    }
  }
  std::sort(marks.begin(), marks.end(), [](const Mark& a, const Mark& b) { return a.t < b.t; });
  return marks;
}

// Grid lines of constant u (or v): for every place, the mean over many rows of ink above both neighbours.
std::vector<Mark> GridLines(const cv::Mat1b& picture, const FrameMapping& frame, bool constant_u, double line_width) {
  constexpr int kBlocks = 24;
  constexpr double kSpacing = 1.0;
  const double length = constant_u ? frame.WidthPx() : frame.HeightPx();
  const double other_length = constant_u ? frame.HeightPx() : frame.WidthPx();
  const int tracks = std::clamp(static_cast<int>(other_length / 3.0), kBlocks * 2, kBlocks * 14);
  const int apart = std::max(3, static_cast<int>(std::lround(line_width + 2.0)));
  std::vector<std::vector<double>> block;
  std::vector<int> block_rows(kBlocks, 0);
  Track reference;
  for (int r = 0; r < tracks; ++r) {
    const double other = 0.02 + 0.96 * (r + 0.5) / tracks;
    const Track track = MakeTrack(frame, constant_u, other, 0.004, 0.996, kSpacing);
    if (block.empty()) block.assign(kBlocks, std::vector<double>(track.at.size(), 0.0)), reference = track;
    const int b = r * kBlocks / tracks;
    ++block_rows[b];
    std::vector<float> ink(track.at.size());
    for (std::size_t i = 0; i < track.at.size(); ++i) ink[i] = Sample(picture, track.at[i].x, track.at[i].y);
    for (std::size_t i = apart; i + apart < ink.size(); ++i) {
      const double rise = std::min(ink[i] - ink[i - apart], ink[i] - ink[i + apart]);
      block[b][i] += std::clamp(rise, -40.0, 90.0);
    }
  }
  std::vector<Mark> marks;
  if (block.empty()) return marks;
  const std::size_t n = block.front().size();
  for (int b = 0; b < kBlocks; ++b) {
    for (double& value : block[b]) value /= std::max(1, block_rows[b]);
  }
  // Noise of a block's mean: the spread over places, most of which hold no line.
  std::vector<double> flat;
  for (int b = 0; b < kBlocks; ++b) flat.insert(flat.end(), block[b].begin() + apart, block[b].end() - apart);
  const double level = MedianOf(flat);
  for (double& f : flat) f = std::abs(f - level);
  const double noise = std::max(0.8, 1.5 * MedianOf(flat));
  std::vector<double> mean(n, 0.0), covered(n, 0.0);
  for (std::size_t i = 0; i < n; ++i) {
    std::vector<double> values;
    for (int b = 0; b < kBlocks; ++b) {
      // A page that bends a little more than the mapping says shifts a line by up to a pixel from block to block.
      double v = block[b][i];
      if (i > 0) v = std::max(v, 0.8 * block[b][i - 1]);
      if (i + 1 < n) v = std::max(v, 0.8 * block[b][i + 1]);
      if (v > level + 2.2 * noise) covered[i] += 1.0 / kBlocks;
      values.push_back(block[b][i] - level);
    }
    std::sort(values.begin(), values.end());
    // The middle half: a curve or a word in a few blocks says nothing.
    double sum = 0.0;
    for (int b = kBlocks / 4; b < kBlocks - kBlocks / 4; ++b) sum += values[b];
    mean[i] = std::max(0.0, sum / (kBlocks / 2));
  }
  for (const Peak& peak : FindPeaks(mean, std::max(1.5, 1.2 * noise), 61)) {
    const auto i = static_cast<std::size_t>(std::clamp<long>(std::lround(peak.at), 0, static_cast<long>(n) - 1));
    if (covered[i] < 0.6) continue;
    Mark mark;
    mark.grid = true;
    mark.t = TAt(reference, peak.at);
    mark.strength = peak.height;
    mark.coverage = covered[i];
    mark.length_px = other_length;
    mark.sigma_t = std::max(0.04, 0.3 * noise / std::max(1.0, peak.height)) / length;
    marks.push_back(mark);
  }
  return marks;
}

}  // namespace

std::vector<Peak> FindPeaks(const std::vector<double>& profile, double threshold, int window) {
  std::vector<Peak> out;
  const int n = static_cast<int>(profile.size());
  if (n < 5) return out;
  // Running level: a low quantile in the window, taken at every eighth sample.
  std::vector<double> level(n);
  const int stride = 8;
  for (int k = 0; k < n; k += stride) {
    const int from = std::max(0, k - window), to = std::min(n, k + window + 1);
    std::vector<double> part(profile.begin() + from, profile.begin() + to);
    auto middle = part.begin() + static_cast<long>(part.size() * 4 / 10);
    std::nth_element(part.begin(), middle, part.end());
    for (int i = k; i < std::min(n, k + stride); ++i) level[i] = *middle;
  }
  for (int i = 1; i + 1 < n; ++i) {
    const double h = profile[i] - level[i];
    if (h < threshold || profile[i] < profile[i - 1] || profile[i] <= profile[i + 1]) continue;
    // Widest place in 2 samples either side is higher: not the summit.
    if ((i > 1 && profile[i - 2] > profile[i]) || (i + 2 < n && profile[i + 2] > profile[i])) continue;
    const double half = level[i] + 0.5 * h;
    int left = i, right = i;
    while (left > 0 && profile[left] > half && i - left < 40) --left;
    while (right + 1 < n && profile[right] > half && right - i < 40) ++right;
    const double cross_left = left + (half - profile[left]) / std::max(1e-9, profile[left + 1] - profile[left]);
    const double cross_right = right - (half - profile[right]) / std::max(1e-9, profile[right - 1] - profile[right]);
    Peak peak;
    peak.height = h;
    peak.width = std::max(1.0, cross_right - cross_left);
    // The mean of the crossings of several heights: the center of a blurred line whatever its flanks.
    double sum = 0.0, weight = 0.0;
    for (const double part : {0.35, 0.5, 0.65}) {
      const double value = level[i] + part * h;
      int a = i, b = i;
      while (a > 0 && profile[a] > value && i - a < 40) --a;
      while (b + 1 < n && profile[b] > value && b - i < 40) ++b;
      if (profile[a] > value || profile[b] > value) continue;
      const double ca = a + (value - profile[a]) / std::max(1e-9, profile[a + 1] - profile[a]),
                   cb = b - (value - profile[b]) / std::max(1e-9, profile[b - 1] - profile[b]);
      sum += 0.5 * (ca + cb);
      weight += 1.0;
    }
    peak.at = weight > 0.0 ? sum / weight : i;
    if (!out.empty() && peak.at - out.back().at < 2.5) {
      if (peak.height > out.back().height) out.back() = peak;
      continue;
    }
    out.push_back(peak);
  }
  return out;
}

MarksFound FindMarks(const Page& page, const FrameMapping& frame, double line_width_px) {
  MarksFound found;
  if (page.ink.empty() || frame.parameters().empty()) return found;
  for (const Side side : {kTop, kRight, kBottom, kLeft}) found.ticks[side] = SideTicks(page, frame, side, line_width_px);
  found.grid_u = GridLines(page.ink, frame, true, line_width_px);
  found.grid_v = GridLines(page.ink, frame, false, line_width_px);
  // On a ground of its own a plot's grid may be lines of bare paper.
  if (!page.light.empty()) {
    for (const bool across : {true, false}) {
      std::vector<Mark>& grid = across ? found.grid_u : found.grid_v;
      std::vector<Mark> light = GridLines(page.light, frame, across, line_width_px);
      if (light.size() > grid.size()) grid = std::move(light);
    }
  }
  return found;
}

}  // namespace islebook
