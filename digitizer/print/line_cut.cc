#include "digitizer/print/line_cut.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr int kDirections = 16;
constexpr double kLineLength = 1.75;  // in digit heights: straight ink longer than this is a line

struct Ray {
  std::vector<std::ptrdiff_t> offset;  // 1, 2, 3 .. pixels away along the direction, as places in the padded picture
  std::ptrdiff_t beside = 0;           // one pixel to the side
};

// Ring markers strung along lines: round holes of one size in the net, many of them. Painted as discs; nothing where there are too few for a pattern.
cv::Mat1b RingDiscs(const cv::Mat1b& net, double digit_height, double stroke) {
  constexpr std::size_t kFewest = 10;  // the holes of a few sixes and nines that lines touch are no pattern
  cv::Mat1b bare = net == 0;
  cv::Mat1i labels, stats;
  cv::Mat1d centers;
  const int n = cv::connectedComponentsWithStats(bare, labels, stats, centers, 4, CV_32S);
  struct Hole {
    cv::Point2d center;
    double side;
  };
  std::vector<Hole> holes;
  for (int i = 1; i < n; ++i) {
    const int width = stats(i, cv::CC_STAT_WIDTH), height = stats(i, cv::CC_STAT_HEIGHT), area = stats(i, cv::CC_STAT_AREA);
    const double side = 0.5 * (width + height), fill = static_cast<double>(area) / (width * height);
    if (std::min(width, height) < 4 || side < 0.28 * digit_height || side > 1.3 * digit_height) continue;
    if (std::abs(width - height) > std::max(1.0, 0.22 * side) || fill < 0.62 || fill > 0.93) continue;
    holes.push_back({{centers(i, 0), centers(i, 1)}, side});
  }
  const auto alike = [&](const Hole& a) {
    return static_cast<std::size_t>(
        std::count_if(holes.begin(), holes.end(), [&](const Hole& b) { return b.side > 0.75 * a.side && b.side < 1.33 * a.side; }));
  };
  const auto usual = std::max_element(holes.begin(), holes.end(), [&](const Hole& a, const Hole& b) { return alike(a) < alike(b); });
  if (usual == holes.end() || alike(*usual) < kFewest) return {};
  cv::Mat1b discs(net.size(), static_cast<std::uint8_t>(0));
  for (const Hole& hole : holes) {
    if (hole.side < 0.7 * usual->side || hole.side > 1.4 * usual->side) continue;
    cv::circle(discs, {static_cast<int>(std::lround(hole.center.x)), static_cast<int>(std::lround(hole.center.y))},
               static_cast<int>(std::lround(0.5 * usual->side + 1.3 * stroke + 0.5)), cv::Scalar(255), cv::FILLED);
  }
  return discs;
}

}  // namespace

std::vector<Glyph> CutGlyphs(const cv::Mat1b& ink, const InkTree& tree, const std::vector<char>& taken, cv::Rect extent, const cv::Mat1b& paper,
                             const CutOptions& options) {
  // At a scale where digits are about ten pixels high: nothing is lost for this purpose, and a photograph costs no more than a web picture.
  const int f = std::clamp(static_cast<int>(options.digit_height / 9.5), 1, 6);
  const double h = options.digit_height / f;
  const int reach = std::max(6, static_cast<int>(std::ceil(kLineLength * h)));
  const int pad = reach + 2;
  const int w = (extent.width + f - 1) / f, rows = (extent.height + f - 1) / f;
  const std::vector<InkBlob>& blobs = tree.blobs(options.step);
  std::vector<char> net(blobs.size(), 0);
  for (std::size_t i = 0; i < blobs.size(); ++i) {
    const cv::Rect& b = blobs[i].box;
    net[i] = !taken[i] && std::max(b.width, b.height) > 1.55 * options.digit_height;
  }
  cv::Mat1b mask(rows + 2 * pad, w + 2 * pad, static_cast<std::uint8_t>(0));
  std::vector<std::uint8_t> count(static_cast<std::size_t>(w));
  const int enough = std::max(1, f * f / 2);
  for (int y = 0; y < rows; ++y) {
    std::fill(count.begin(), count.end(), static_cast<std::uint8_t>(0));
    bool any = false;
    for (int k = 0; k < f; ++k)
      for (const InkRun& run : tree.Row(options.step, extent.y + y * f + k)) {
        if (!net[static_cast<std::size_t>(run.blob)]) continue;
        any = true;
        for (int x = run.x0; x < run.x1; ++x) ++count[static_cast<std::size_t>((x - extent.x) / f)];
      }
    if (!any) continue;
    std::uint8_t* row = mask[y + pad] + pad;
    for (int x = 0; x < w; ++x) row[x] = count[static_cast<std::size_t>(x)] >= enough ? 255 : 0;
  }

  std::array<Ray, kDirections> rays;
  const auto stride = static_cast<std::ptrdiff_t>(mask.step);
  for (int d = 0; d < kDirections; ++d) {
    const double angle = std::numbers::pi * d / kDirections, dx = std::cos(angle), dy = std::sin(angle), major = std::max(std::abs(dx), std::abs(dy));
    for (int k = 1; k <= reach; ++k)
      rays[static_cast<std::size_t>(d)].offset.push_back(std::lround(k * dy / major) * stride + std::lround(k * dx / major));
    rays[static_cast<std::size_t>(d)].beside = std::abs(dx) >= std::abs(dy) ? stride : 1;
  }
  // Straight steps of the slanted rays are longer than a pixel.
  std::array<double, kDirections> pixel{};
  for (int d = 0; d < kDirections; ++d) {
    const double angle = std::numbers::pi * d / kDirections;
    pixel[static_cast<std::size_t>(d)] = 1.0 / std::max(std::abs(std::cos(angle)), std::abs(std::sin(angle)));
  }
  const double thin = std::max(2.6, 1.7 * options.stroke / f + 0.9);
  const double length = kLineLength * h;
  cv::Mat1b rest = mask.clone();
  for (int y = pad; y < pad + rows; ++y) {
    const std::uint8_t* row = mask[y];
    for (int x = pad; x < pad + w; ++x) {
      if (!row[x]) continue;
      const std::uint8_t* at = row + x;
      for (int d = 0; d < kDirections; ++d) {
        const Ray& across = rays[static_cast<std::size_t>((d + kDirections / 2) % kDirections)];
        const double across_px = pixel[static_cast<std::size_t>((d + kDirections / 2) % kDirections)];
        const int most = static_cast<int>(thin / across_px) + 1;
        int width = 1;
        for (int k = 0; k < most && at[across.offset[static_cast<std::size_t>(k)]]; ++k) ++width;
        for (int k = 0; k < most && at[-across.offset[static_cast<std::size_t>(k)]]; ++k) ++width;
        if (width * across_px > thin) continue;
        const Ray& along = rays[static_cast<std::size_t>(d)];
        const int needed = static_cast<int>(length / pixel[static_cast<std::size_t>(d)]);
        const auto inked = [&](const std::uint8_t* q) { return q[0] || q[along.beside] || q[-along.beside]; };
        int run = 1;
        for (int k = 0; k < reach && run < needed && inked(at + along.offset[static_cast<std::size_t>(k)]); ++k) ++run;
        for (int k = 0; k < reach && run < needed && inked(at - along.offset[static_cast<std::size_t>(k)]); ++k) ++run;
        if (run < needed) continue;
        rest(y, x) = 0;
        break;
      }
    }
  }

  cv::Mat1i labels, stats;
  cv::Mat1d centers;
  const int n = cv::connectedComponentsWithStats(rest, labels, stats, centers, 8, CV_32S);
  const cv::Mat1b discs = RingDiscs(mask, h, options.stroke / f);
  std::vector<int> in_discs(static_cast<std::size_t>(n), 0);
  if (!discs.empty()) {
    for (int y = 0; y < rest.rows; ++y)
      for (int x = 0; x < rest.cols; ++x)
        if (discs(y, x)) ++in_discs[static_cast<std::size_t>(labels(y, x))];
  }
  std::vector<Glyph> glyphs;
  for (int i = 1; i < n; ++i) {
    if (2 * in_discs[static_cast<std::size_t>(i)] > stats(i, cv::CC_STAT_AREA)) continue;  // markers, or what is left of them
    const cv::Rect box(stats(i, cv::CC_STAT_LEFT), stats(i, cv::CC_STAT_TOP), stats(i, cv::CC_STAT_WIDTH), stats(i, cv::CC_STAT_HEIGHT));
    const int side = std::max(box.width, box.height);
    if (side < 0.45 * h || side > 4.0 * h || std::min(box.width, box.height) > 1.8 * h) continue;
    // Back to the sheet's own pixels.
    InkBlob blob;
    std::vector<InkRun> runs, above;
    for (int y = (box.y - pad) * f; y < (box.y - pad + box.height) * f; ++y) {
      std::vector<InkRun> here;
      for (const InkRun& run : tree.Row(options.step, extent.y + y)) {
        if (!net[static_cast<std::size_t>(run.blob)]) continue;
        int start = -1;
        const int x0 = std::max(run.x0 - extent.x, (box.x - pad) * f), x1 = std::min(run.x1 - extent.x, (box.x - pad + box.width) * f);
        for (int x = x0; x <= x1; ++x) {
          const bool in = x < x1 && labels(y / f + pad, x / f + pad) == i;
          if (in && start < 0) start = x;
          if (!in && start >= 0) {
            here.push_back({extent.y + y, extent.x + start, extent.x + x, -1});
            start = -1;
          }
        }
      }
      for (const InkRun& run : here) {
        const cv::Rect r(run.x0, run.y, run.x1 - run.x0, 1);
        blob.box = blob.area == 0 ? r : blob.box | r;
        blob.area += r.width;
        ++blob.row_runs;
        blob.column_runs += r.width;
        for (const InkRun& a : above) blob.column_runs -= std::max(0, std::min(a.x1, run.x1) - std::max(a.x0, run.x0));
        for (int x = run.x0; x < run.x1; ++x) blob.peak = std::max(blob.peak, static_cast<int>(ink(run.y, x)));
      }
      runs.insert(runs.end(), here.begin(), here.end());
      above = std::move(here);
    }
    if (blob.area < 4) continue;
    if (!paper.empty() && !paper(blob.box.y + blob.box.height / 2, blob.box.x + blob.box.width / 2)) continue;
    Glyph g = MeasureGlyph(runs, blob, options.limits);
    g.step = options.step;
    g.cut = true;
    g.runs = std::move(runs);
    glyphs.push_back(std::move(g));
  }
  return glyphs;
}

}  // namespace islebook
