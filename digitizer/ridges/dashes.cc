#include "digitizer/ridges/dashes.h"

#include <algorithm>
#include <cmath>
#include <unordered_map>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/ridges/ink_blobs.h"

namespace islebook {
namespace {

struct BarEnd {
  int chain;
  bool front;
  cv::Point2d at, out;  // position and outward unit tangent
};

constexpr double kLongestBar = 90.0;  // px
constexpr double kStraight = 0.965;   // chord over length
constexpr double kCell = 64.0;
constexpr std::size_t kFewestBars = 4;  // that make a dashed line by themselves
constexpr double kNeighborhood = 3.0;   // usual bars with their gaps: how far a lone bar may stand from the next
constexpr double kLoneTurn = 0.45;      // rad between a lone bar and the way to the next
constexpr double kLoneSkew = 0.30;      // rad: the two turns of an arc are alike
constexpr double kShortLone = 0.4;      // of the usual length
constexpr double kBentLone = 0.9;       // chord over length
constexpr double kLongStrange = 2.2;    // usual bars of the run; with kHeavyStrange: a piece of a solid line in line with it
constexpr double kHeavyStrange = 1.3;   // times the run's ink mass
constexpr double kClearOfGlyphs = 0.5;  // of the usual gap

double ChordLength(const RidgeChain& chain) {
  return std::hypot(chain.points.front().x - chain.points.back().x, chain.points.front().y - chain.points.back().y);
}

bool IsBar(const RidgeChain& chain) {
  return !chain.closed && chain.length_px >= 2.5 && chain.length_px <= kLongestBar && ChordLength(chain) >= kStraight * chain.length_px - 0.8;
}

BarEnd EndOf(const std::vector<RidgeChain>& chains, int i, bool front) {
  // The direction comes from the bar's middle: its very ends lean toward a corner of the stroke.
  const auto& p = chains[i].points;
  const std::size_t skip = p.size() / 4;
  ImagePoint tip = front ? p[skip] : p[p.size() - 1 - skip];
  ImagePoint tail = front ? p[p.size() - 1 - skip] : p[skip];
  const double length = std::max(1e-9, std::hypot(tip.x - tail.x, tip.y - tail.y));
  const cv::Point2d out((tip.x - tail.x) / length, (tip.y - tail.y) / length);
  const ImagePoint end = front ? p.front() : p.back();
  const double beyond = std::max(0.0, (end.x - tip.x) * out.x + (end.y - tip.y) * out.y);
  return {i, front, cv::Point2d(tip.x, tip.y) + beyond * out, out};
}

double InkAt(const cv::Mat1b& ink, cv::Point2d p) {
  const int x = std::clamp(cvRound(p.x), 0, ink.cols - 1), y = std::clamp(cvRound(p.y), 0, ink.rows - 1);
  return ink(y, x);
}

// Cost of b following a in one dashed line; negative: it cannot.
double FollowCost(const cv::Mat1b& ink, const std::vector<RidgeChain>& chains, const BarEnd& a, const BarEnd& b) {
  const RidgeChain &ca = chains[a.chain], &cb = chains[b.chain];
  const double la = ca.length_px, lb = cb.length_px;
  const cv::Point2d step = b.at - a.at;
  const double gap = std::hypot(step.x, step.y);
  const double longer = std::max(la, lb), shorter = std::min(la, lb);
  if (gap < 1.5 || gap > 1.15 * longer + 4 || gap < 0.12 * longer || longer > 9 * shorter + 8) return -1;
  const double ahead = (step.x * a.out.x + step.y * a.out.y) / gap;
  const double back = -(step.x * b.out.x + step.y * b.out.y) / gap;
  const double turn = -(a.out.x * b.out.x + a.out.y * b.out.y);
  const double slack = gap < 5 ? 0.80 : 0.90;
  if (ahead < slack || back < slack || turn < 0.82) return -1;
  const double mass_ratio = std::abs(std::log((ca.ink_mass + 0.05) / (cb.ink_mass + 0.05)));
  if (mass_ratio > 0.8) return -1;
  const double on = 0.5 * (InkAt(ink, {ca.points[ca.points.size() / 2].x, ca.points[ca.points.size() / 2].y}) +
                           InkAt(ink, {cb.points[cb.points.size() / 2].x, cb.points[cb.points.size() / 2].y}));
  // Somewhere between the bars the paper shows; a dot may stand there too.
  double lowest = 255;
  for (double t : {0.2, 0.35, 0.5, 0.65, 0.8}) lowest = std::min(lowest, InkAt(ink, a.at + t * step));
  if (lowest > 0.6 * on) return -1;
  return gap / longer + 8 * (1 - ahead) + 8 * (1 - back) + 8 * (1 - turn) + mass_ratio;
}

// Bars that follow one another.
struct Run {
  std::vector<int> bars;     // in order
  std::vector<double> gaps;  // between neighbors
};

// The usual bar of a sheet.
struct Make {
  double length, mass, gap;  // px
};

double Middle(std::vector<double> v) {
  std::nth_element(v.begin(), v.begin() + static_cast<long>(v.size() / 2), v.end());
  return v[v.size() / 2];
}

// Bars of a dashed line are alike, and so are its gaps; pieces of a solid line between crossings are not.
bool LooksDashed(const Run& run, const std::vector<RidgeChain>& chains) {
  std::vector<double> lengths;
  for (int i : run.bars) lengths.push_back(chains[i].length_px);
  const auto spread = [](std::vector<double> v) {
    std::sort(v.begin(), v.end());
    return v[v.size() * 3 / 4] / std::max(1e-9, v[v.size() / 4]);
  };
  return spread(run.gaps) <= 2.2 && (spread(lengths) <= 2.2 || run.bars.size() >= 2 * kFewestBars);
}

cv::Rect Extent(const std::vector<RidgeChain>& chains, const std::vector<Run>& runs) {
  std::vector<cv::Point2f> tips;
  for (const Run& run : runs)
    for (int i : run.bars)
      for (const ImagePoint& p : {chains[i].points.front(), chains[i].points.back()})
        tips.emplace_back(static_cast<float>(p.x), static_cast<float>(p.y));
  return cv::boundingRect(tips);
}

// One bar alone between two labels, or bent in the turn of an island: it is of the usual make, stands free, and carries on a claimed bar's course.
template <typename Claim>
void ClaimLoneBars(const std::vector<RidgeChain>& chains, const Make& make, const InkBlobs& blobs, Claim&& claim) {
  const double reach = kNeighborhood * (make.length + make.gap);
  std::vector<BarEnd> claimed;
  for (int i = 0; i < static_cast<int>(chains.size()); ++i)
    if (chains[i].is_dash)
      for (bool front : {true, false}) claimed.push_back(EndOf(chains, i, front));
  const auto carries_on = [&](const BarEnd& a) {
    return std::any_of(claimed.begin(), claimed.end(), [&](const BarEnd& b) {
      const cv::Point2d step = b.at - a.at;
      const double gap = std::hypot(step.x, step.y);
      if (gap > reach || gap < 1.5) return false;
      const double alpha = std::atan2(a.out.x * step.y - a.out.y * step.x, a.out.dot(step));
      const double beta = std::atan2(step.x * -b.out.y - step.y * -b.out.x, -step.dot(b.out));
      return std::abs(alpha) < kLoneTurn && std::abs(beta) < kLoneTurn && std::abs(alpha - beta) < kLoneSkew;
    });
  };
  for (int i = 0; i < static_cast<int>(chains.size()); ++i) {
    const RidgeChain& c = chains[i];
    if (c.is_dash || c.closed || c.length_px < kShortLone * make.length || c.length_px > 1.5 * make.length) continue;
    if (c.ink_mass < 0.7 * make.mass || c.ink_mass > 1.35 * make.mass || ChordLength(c) < kBentLone * c.length_px) continue;
    if (blobs.ShapeAt(c.points) != BlobShape::kBar || blobs.StandsByGlyph(c.points, kClearOfGlyphs * make.gap)) continue;
    if (carries_on(EndOf(chains, i, true)) || carries_on(EndOf(chains, i, false))) claim(i);
  }
}

}  // namespace

void ClaimDashes(const cv::Mat1b& ink, std::vector<RidgeChain>& chains, cv::Mat1b& dash_mask) {
  dash_mask = cv::Mat1b(ink.rows, ink.cols, static_cast<unsigned char>(0));
  std::vector<BarEnd> ends;
  std::unordered_map<long, std::vector<int>> cells;
  const auto key = [](double x, double y) { return static_cast<long>(std::floor(x / kCell)) * 1000003L + static_cast<long>(std::floor(y / kCell)); };
  for (int i = 0; i < static_cast<int>(chains.size()); ++i) {
    if (!IsBar(chains[i])) continue;
    for (bool front : {true, false}) {
      ends.push_back(EndOf(chains, i, front));
      cells[key(ends.back().at.x, ends.back().at.y)].push_back(static_cast<int>(ends.size()) - 1);
    }
  }
  // For each end its best follower; a link needs both to choose each other.
  std::vector<int> best(ends.size(), -1);
  for (int e = 0; e < static_cast<int>(ends.size()); ++e) {
    const double reach = 1.5 * kLongestBar;
    double best_cost = 1e9;
    for (int gx = -2; gx <= 2; ++gx)
      for (int gy = -2; gy <= 2; ++gy) {
        const auto cell = cells.find(key(ends[e].at.x + gx * kCell, ends[e].at.y + gy * kCell));
        if (cell == cells.end()) continue;
        for (int f : cell->second) {
          if (ends[f].chain == ends[e].chain || cv::norm(ends[f].at - ends[e].at) > reach) continue;
          const double cost = FollowCost(ink, chains, ends[e], ends[f]);
          if (cost >= 0 && (cost < best_cost || (cost == best_cost && f < best[e]))) {
            best_cost = cost;
            best[e] = f;
          }
        }
      }
  }
  const auto linked = [&](int e) { return best[e] >= 0 && best[best[e]] == e ? best[e] : -1; };
  const auto claim = [&](int i) {
    chains[i].is_dash = true;
    std::vector<cv::Point> line;
    for (const ImagePoint& p : chains[i].points) line.emplace_back(cvRound(p.x), cvRound(p.y));
    cv::polylines(dash_mask, line, false, 255, std::max(3, cvRound(chains[i].ink_mass) + 3));
  };
  std::vector<char> seen(chains.size(), 0);
  std::vector<Run> runs, short_runs;
  std::vector<double> lengths, masses, gaps, levels;
  for (std::size_t start = 0; start < ends.size(); start += 2) {
    if (seen[ends[start].chain]) continue;
    // Walk both ways to collect the run.
    Run run;
    run.bars = {ends[start].chain};
    seen[ends[start].chain] = 1;
    for (int side : {1, 0}) {
      int e = static_cast<int>(start) + side;
      while (true) {
        const int f = linked(e);
        if (f < 0 || seen[ends[f].chain]) break;
        const double gap = cv::norm(ends[f].at - ends[e].at);
        seen[ends[f].chain] = 1;
        run.bars.insert(side == 1 ? run.bars.end() : run.bars.begin(), ends[f].chain);
        run.gaps.insert(side == 1 ? run.gaps.end() : run.gaps.begin(), gap);
        e = f ^ 1;  // the two ends of a bar stand next to each other
      }
    }
    if (run.bars.size() < kFewestBars) {
      short_runs.push_back(std::move(run));
      continue;
    }
    if (!LooksDashed(run, chains)) continue;
    gaps.insert(gaps.end(), run.gaps.begin(), run.gaps.end());
    for (int i : run.bars) {
      lengths.push_back(chains[i].length_px);
      masses.push_back(chains[i].ink_mass);
      const ImagePoint& p = chains[i].points[chains[i].points.size() / 2];
      levels.push_back(InkAt(ink, {p.x, p.y}));
    }
    runs.push_back(std::move(run));
  }
  if (runs.empty()) return;
  const Make make{Middle(lengths), Middle(masses), Middle(gaps)};
  const double level = Middle(levels);
  cv::Rect where = Extent(chains, runs);
  const int margin = cvRound(kNeighborhood * (make.length + make.gap));
  where = cv::Rect(where.x - margin, where.y - margin, where.width + 2 * margin, where.height + 2 * margin);
  const InkBlobs blobs(ink, where, 0.45 * level, make.length, make.mass / std::max(0.2, level / 255.0));
  // Strokes of glyphs that stand in line with a run are not part of it.
  for (Run& run : runs) {
    const auto glyph = [&](int i) { return blobs.ShapeAt(chains[i].points) == BlobShape::kGlyph; };
    while (!run.bars.empty() && glyph(run.bars.back())) run.bars.pop_back();
    while (!run.bars.empty() && glyph(run.bars.front())) run.bars.erase(run.bars.begin());
    if (2 * std::count_if(run.bars.begin(), run.bars.end(), glyph) > static_cast<long>(run.bars.size())) run.bars.clear();
    if (run.bars.empty()) continue;
    std::vector<double> long_px, mass;
    for (int i : run.bars) {
      long_px.push_back(chains[i].length_px);
      mass.push_back(chains[i].ink_mass);
    }
    const double usual_px = Middle(long_px), usual_mass = Middle(mass);
    for (int i : run.bars)
      if (chains[i].length_px < kLongStrange * usual_px || chains[i].ink_mass < kHeavyStrange * usual_mass) claim(i);
  }
  if (lengths.size() < 4 * kFewestBars) return;
  // On a sheet with dashed lines, a few bars of the same make between two labels belong to one too.
  const auto alike = [&](int i) {
    return chains[i].length_px > 0.5 * make.length && chains[i].length_px < 1.35 * make.length && chains[i].ink_mass > 0.75 * make.mass &&
           chains[i].ink_mass < 1.3 * make.mass && blobs.ShapeAt(chains[i].points) != BlobShape::kGlyph;
  };
  for (const Run& run : short_runs)
    if (run.bars.size() >= 2 && *std::max_element(run.gaps.begin(), run.gaps.end()) < 1.7 * make.gap &&
        std::all_of(run.bars.begin(), run.bars.end(), alike))
      for (int i : run.bars) claim(i);
  ClaimLoneBars(chains, make, blobs, claim);
}

}  // namespace islebook
