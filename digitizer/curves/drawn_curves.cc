#include "digitizer/curves/drawn_curves.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/curves/joining.h"

namespace islebook {
namespace {

constexpr double kFrameSlack = 0.004;   // curves may leave the frame by this part of it
constexpr double kMarkerPart = 0.03;    // of the frame's shorter side: smaller closed shapes are markers
constexpr double kMeetPx = 0.6;         // ends this close are one point
constexpr double kStraightOn = 0.5;     // rad: where one point joins two pieces, the line turns by less
constexpr double kLongestBarPx = 70.0;  // of a dashed line that was drawn bar by bar
constexpr int kFewestBars = 4;
constexpr double kHatchPart = 0.06;  // of the frame's shorter side: the longest stroke of a hatching
constexpr std::size_t kFewestStrokes = 8;
constexpr double kBarTurn = 0.35;     // rad from bar to bar
constexpr double kAcceptBend = 14.0;  // squared standard deviations: pieces on both sides of a label
constexpr double kTouchPx = 2.0;
constexpr double kLongestGap = 9.0;    // that a label leaves, in digit heights
constexpr double kShownInk = 60.0;     // of 255: where there is less, the line does not show
constexpr double kHiddenRun = 1.5;     // times the usual gap of a dashed line
constexpr double kSigmaPx = 0.04;      // what drawings round away
constexpr double kSamePx = 0.6;        // the same line drawn twice
constexpr double kSampleShare = 0.09;  // of the frame's width: a straight level piece of up to this beside words explains a legend

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

struct Piece {
  std::vector<PathPoint> points;
  bool closed = false;
  bool dashed = false;
  bool edge = false;
  double ink_mass = 0.0;
  cv::Vec3f lab{};
  double length_px = 0.0;
  std::size_t order = 0;
};

double LengthOf(const Piece& piece) {
  double length = 0.0;
  for (std::size_t i = 1; i < piece.points.size(); ++i) length += Distance(piece.points[i - 1].at, piece.points[i].at);
  if (piece.closed && piece.points.size() > 1) length += Distance(piece.points.back().at, piece.points.front().at);
  return length;
}

bool SameStyle(const Piece& a, const Piece& b) {
  if (a.edge && b.edge) return true;
  return a.dashed == b.dashed && a.edge == b.edge && std::abs(std::log((a.ink_mass + 0.05) / (b.ink_mass + 0.05))) < 0.06 &&
         cv::norm(a.lab - b.lab) < 3.0;
}

// Outward direction at an end, over a few pixels.
double Outward(const Piece& piece, bool front) {
  const auto& p = piece.points;
  const ImagePoint tip = front ? p.front().at : p.back().at;
  ImagePoint behind = tip;
  for (std::size_t k = 1; k < p.size() && Distance(tip, behind) < 4.0; ++k) behind = (front ? p[k] : p[p.size() - 1 - k]).at;
  return std::atan2(tip.y - behind.y, tip.x - behind.x);
}

void Reverse(Piece& piece) { std::reverse(piece.points.begin(), piece.points.end()); }

class Collector {
 public:
  Collector(const Page& page, const PrintFound& print, const Panel& panel) : page_(page), print_(print), panel_(panel) {
    width_ = panel.frame.WidthPx();
    short_side_ = std::min(width_, panel.frame.HeightPx());
    digit_ = print.digit_height_px > 0.0 ? print.digit_height_px : 12.0;
    cover_ = cv::Mat1b(page.ink.size(), static_cast<unsigned char>(0));
    if (!print.mask.empty()) {
      const int r = std::max(2, cvRound(0.6 * digit_));
      cv::dilate(print.mask, cover_, cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * r + 1, 2 * r + 1}));
    }
  }

  void Take(const RidgesFound& ridges, const AxesFound& axes) {
    for (std::size_t c = 0; c < ridges.chains.size(); ++c) {
      if (c < axes.chain_is_furniture.size() && axes.chain_is_furniture[c]) continue;
      TakeInside(ridges.chains[c], c);
    }
  }

  void SetMarkersAside(std::vector<ImagePoint>& markers) {
    std::erase_if(pieces_, [&](const Piece& piece) {
      if (!piece.closed) return false;
      cv::Point2d low(1e9, 1e9), high(-1e9, -1e9);
      for (const PathPoint& p : piece.points) {
        low = {std::min(low.x, p.at.x), std::min(low.y, p.at.y)};
        high = {std::max(high.x, p.at.x), std::max(high.y, p.at.y)};
      }
      if (std::max(high.x - low.x, high.y - low.y) > kMarkerPart * short_side_) return false;
      markers.push_back({(low.x + high.x) / 2, (low.y + high.y) / 2});
      return true;
    });
  }

  // Hatching beside a limit: many short straight strokes of one length, side by side and not end to end.
  void SetHatchingAside() {
    const auto is_stroke = [&](const Piece& p) {
      return !p.closed && !p.dashed && !p.edge && p.points.size() >= 2 && p.length_px < kHatchPart * short_side_ &&
             Distance(p.points.front().at, p.points.back().at) > 0.999 * p.length_px;
    };
    const auto direction = [](const Piece& p) {
      return std::atan2(p.points.back().at.y - p.points.front().at.y, p.points.back().at.x - p.points.front().at.x);
    };
    const auto beside = [&](const Piece& a, const Piece& b) {
      const ImagePoint p = a.points.front().at, q = b.points.front().at;
      return SameStyle(a, b) && std::abs(std::log(a.length_px / b.length_px)) < 0.05 &&
             std::abs(std::remainder(direction(a) - direction(b), CV_PI)) < 0.35 &&
             std::abs(std::remainder(std::atan2(q.y - p.y, q.x - p.x) - direction(a), CV_PI)) > 0.3 && Distance(p, q) < 4.0 * a.length_px;
    };
    std::vector<Piece> kept;
    for (std::size_t i = 0; i < pieces_.size();) {
      std::size_t end = i + 1;
      if (is_stroke(pieces_[i]))
        while (end < pieces_.size() && is_stroke(pieces_[end]) && beside(pieces_[end - 1], pieces_[end])) ++end;
      if (end - i < kFewestStrokes) kept.insert(kept.end(), pieces_.begin() + static_cast<long>(i), pieces_.begin() + static_cast<long>(end));
      i = end;
    }
    pieces_ = std::move(kept);
  }

  // Bars that follow one another in the order of drawing.
  void JoinBars() {
    const auto is_bar = [](const Piece& p) { return !p.closed && !p.dashed && !p.edge && p.length_px <= kLongestBarPx; };
    std::vector<Piece> out;
    for (std::size_t i = 0; i < pieces_.size();) {
      std::size_t end = i + 1;
      if (is_bar(pieces_[i]))
        while (end < pieces_.size() && is_bar(pieces_[end]) && Follows(pieces_[end - 1], pieces_[end])) ++end;
      if (end - i >= kFewestBars) {
        Piece run = pieces_[i];
        for (std::size_t k = i + 1; k < end; ++k) {
          // Dots and dashes: the pen lifts between them.
          const ImagePoint from = run.points.back().at, to = pieces_[k].points.front().at;
          const int steps = static_cast<int>(Distance(from, to));
          for (int s = 1; s < steps; ++s) {
            const double t = static_cast<double>(s) / steps;
            run.points.push_back({{from.x + t * (to.x - from.x), from.y + t * (to.y - from.y)}, true});
          }
          run.points.insert(run.points.end(), pieces_[k].points.begin(), pieces_[k].points.end());
        }
        run.dashed = true;
        if (Distance(run.points.front().at, run.points.back().at) < 1.5 * pieces_[i].length_px + 4.0 && end - i > 8) run.closed = true;
        run.length_px = LengthOf(run);
        out.push_back(std::move(run));
      } else {
        out.insert(out.end(), pieces_.begin() + static_cast<long>(i), pieces_.begin() + static_cast<long>(end));
      }
      i = end;
    }
    pieces_ = std::move(out);
  }

  // Pieces of one line that was drawn in several strokes end on end.
  void JoinMeetingEnds() {
    JoinBy([&](const Piece& a, bool a_front, const Piece& b, bool b_front) {
      const ImagePoint p = a_front ? a.points.front().at : a.points.back().at, q = b_front ? b.points.front().at : b.points.back().at;
      if (Distance(p, q) > kMeetPx) return kNoJoin;
      const double turn = std::abs(std::remainder(Outward(a, a_front) - Outward(b, b_front) - M_PI, 2 * M_PI));
      return turn < kStraightOn ? turn : kNoJoin;
    });
  }

  // Pieces that a label keeps apart: it stands between their ends, and neither end is where the line meets another.
  void JoinAcrossLabels() {
    const auto end_of = [](const Piece& p, bool front) { return front ? p.points.front().at : p.points.back().at; };
    JoinBy([&](const Piece& a, bool a_front, const Piece& b, bool b_front) {
      const ImagePoint p = end_of(a, a_front), q = end_of(b, b_front);
      const double gap = Distance(p, q);
      if (gap > kLongestGap * digit_ || (&a == &b && a.length_px < 3.0 * gap)) return kNoJoin;
      const ImagePoint middle{(p.x + q.x) / 2, (p.y + q.y) / 2};
      const bool labeled = std::any_of(print_.words.begin(), print_.words.end(), [&](const Word& word) {
        return Distance(word.center, middle) < std::max(0.6 * word.height_px, 0.25 * word.width_px) &&
               gap < std::hypot(word.width_px, word.height_px) + 2.5 * word.height_px;
      });
      if (!labeled || MeetsAnother(p, a, b) || MeetsAnother(q, a, b)) return kNoJoin;
      const double bend = BendCost(EndOfPath(AsPath(a), a_front), EndOfPath(AsPath(b), b_front));
      return bend < kAcceptBend ? bend : kNoJoin;
    });
  }

  // The same line again: a halo, a bolder stroke, the edge of its own filling.
  void DropDoubles() {
    std::stable_sort(pieces_.begin(), pieces_.end(), [](const Piece& a, const Piece& b) { return a.length_px > b.length_px + 0.5; });
    std::unordered_map<std::int64_t, std::vector<std::pair<std::size_t, ImagePoint>>> grid;
    const auto key = [](double x, double y) {
      return (static_cast<std::int64_t>(std::floor(x / 2)) << 32) ^ (static_cast<std::int64_t>(std::floor(y / 2)) & 0xffffffff);
    };
    std::vector<Piece> kept;
    for (Piece& piece : pieces_) {
      std::unordered_map<std::size_t, int> on;
      for (const PathPoint& p : piece.points) {
        std::size_t last = kept.size();
        for (int dy = -1; dy <= 1; ++dy)
          for (int dx = -1; dx <= 1; ++dx) {
            const auto cell = grid.find(key(p.at.x + 2 * dx, p.at.y + 2 * dy));
            if (cell == grid.end()) continue;
            for (const auto& [other, at] : cell->second)
              if (other != last && Distance(at, p.at) < kSamePx) ++on[other], last = other;
          }
      }
      const auto same =
          std::find_if(on.begin(), on.end(), [&](const auto& entry) { return entry.second >= 0.95 * static_cast<double>(piece.points.size()); });
      if (same != on.end()) {
        // The stroke is the line; what lies under it is its halo or its area.
        Piece& first = kept[same->first];
        if (!piece.edge && piece.length_px > 0.95 * first.length_px && piece.order > first.order)
          first.ink_mass = piece.ink_mass, first.lab = piece.lab, first.dashed = piece.dashed, first.edge = false;
        continue;
      }
      for (const PathPoint& p : piece.points) grid[key(p.at.x, p.at.y)].emplace_back(kept.size(), p.at);
      kept.push_back(std::move(piece));
    }
    std::stable_sort(kept.begin(), kept.end(), [](const Piece& a, const Piece& b) { return a.order < b.order; });
    pieces_ = std::move(kept);
  }

  // Samples of a legend, and scraps.
  void DropScraps() {
    const double shortest = std::max(12.0, 0.012 * width_);
    std::erase_if(pieces_, [&](const Piece& p) { return p.length_px < shortest || IsLegendSample(p); });
  }

  CurvesFound Finish(const CurveOptions& options) const {
    CurvesFound found;
    for (const Piece& piece : pieces_) found.curves.push_back(AsCurve(piece, options.point_spacing_px));
    return found;
  }

 private:
  bool MeetsAnother(ImagePoint end, const Piece& a, const Piece& b) const {
    return std::any_of(pieces_.begin(), pieces_.end(), [&](const Piece& piece) {
      return &piece != &a && &piece != &b &&
             std::any_of(piece.points.begin(), piece.points.end(), [&](const PathPoint& p) { return Distance(p.at, end) < kTouchPx; });
    });
  }

  bool Inside(ImagePoint q) const {
    const FramePoint f = panel_.frame.FrameFromImage(q);
    return f.u > -kFrameSlack && f.u < 1 + kFrameSlack && f.v > -kFrameSlack && f.v < 1 + kFrameSlack;
  }

  bool Covered(ImagePoint p) const {
    const int x = cvRound(p.x), y = cvRound(p.y);
    return x >= 0 && y >= 0 && x < cover_.cols && y < cover_.rows && cover_(y, x) != 0;
  }

  double InkAt(ImagePoint p) const {
    return page_.ink(std::clamp(cvRound(p.y), 0, page_.ink.rows - 1), std::clamp(cvRound(p.x), 0, page_.ink.cols - 1));
  }

  void TakeInside(const RidgeChain& chain, std::size_t order) {
    Piece piece;
    piece.dashed = chain.dash_pattern;
    piece.edge = chain.area_edge;
    piece.ink_mass = chain.ink_mass;
    piece.lab = chain.lab;
    piece.order = order;
    const std::size_t n = chain.points.size();
    std::vector<char> in(n);
    for (std::size_t i = 0; i < n; ++i) in[i] = Inside(chain.points[i]) ? 1 : 0;
    const bool whole = std::find(in.begin(), in.end(), 0) == in.end();
    piece.closed = chain.closed && whole;
    std::size_t start = 0;
    if (chain.closed && !whole)
      while (in[start] != 0) ++start;
    for (std::size_t k = 0; k <= n; ++k) {
      const std::size_t i = (start + k) % n;
      if (k < n && in[i] != 0) {
        piece.points.push_back({chain.points[i], false});
      } else {
        if (piece.points.size() >= 2) {
          piece.length_px = LengthOf(piece);
          pieces_.push_back(piece);
        }
        piece.points.clear();
      }
    }
  }

  static Path AsPath(const Piece& piece) {
    Path path;
    path.points = piece.points;
    path.closed = piece.closed;
    return path;
  }

  // A bar that carries the one before it on.
  static bool Follows(const Piece& a, const Piece& b) {
    if (!SameStyle(a, b)) return false;
    const ImagePoint from = a.points.back().at, to = b.points.front().at;
    const double gap = Distance(from, to), longer = std::max(a.length_px, b.length_px);
    if (gap < 0.5 || gap > 1.6 * longer + 4.0) return false;
    const double out = Outward(a, false), in = Outward(b, true) + M_PI, way = std::atan2(to.y - from.y, to.x - from.x);
    // Of a dot the direction means nothing.
    const bool known_a = a.length_px > 2.5, known_b = b.length_px > 2.5;
    return (!known_a || std::abs(std::remainder(way - out, 2 * M_PI)) < kBarTurn) &&
           (!known_b || std::abs(std::remainder(in - way, 2 * M_PI)) < kBarTurn);
  }

  // Joins ends of pieces of one style, cheapest first, until no pair is left that `cost` allows.
  template <typename Cost>
  void JoinBy(const Cost& cost) {
    constexpr std::size_t kMost = 1500;
    if (pieces_.size() > kMost) return;
    struct Pair {
      double cost = kNoJoin;
      std::size_t a = 0, b = 0;
      bool a_front = false, b_front = false;
    };
    while (true) {
      Pair best;
      for (std::size_t a = 0; a < pieces_.size(); ++a) {
        if (pieces_[a].closed) continue;
        for (std::size_t b = a; b < pieces_.size(); ++b) {
          if (pieces_[b].closed || !SameStyle(pieces_[a], pieces_[b])) continue;
          for (const bool a_front : {true, false})
            for (const bool b_front : {true, false}) {
              if (a == b && (a_front || !b_front)) continue;  // a ring: back to front
              if (a == b && pieces_[a].length_px < 40.0) continue;
              if (const double c = cost(pieces_[a], a_front, pieces_[b], b_front); c < best.cost) best = {c, a, b, a_front, b_front};
            }
        }
      }
      if (best.cost >= kNoJoin) return;
      Piece& a = pieces_[best.a];
      if (best.a == best.b) {
        AddBridge(a, EndOfPath(AsPath(a), false), EndOfPath(AsPath(a), true));
        a.closed = true;
        if (Distance(a.points.front().at, a.points.back().at) < 0.3) a.points.pop_back();
      } else {
        Piece& b = pieces_[best.b];
        if (best.a_front) Reverse(a);
        if (!best.b_front) Reverse(b);
        AddBridge(a, EndOfPath(AsPath(a), false), EndOfPath(AsPath(b), true));
        const bool meet = Distance(a.points.back().at, b.points.front().at) < 0.3;
        a.points.insert(a.points.end(), b.points.begin() + (meet ? 1 : 0), b.points.end());
        pieces_.erase(pieces_.begin() + static_cast<long>(best.b));
      }
      pieces_[best.a].length_px = LengthOf(pieces_[best.a]);
    }
  }

  static void AddBridge(Piece& piece, const PathEnd& from, const PathEnd& to) {
    if (Distance(from.at, to.at) < 1.5) return;
    for (const ImagePoint& p : Bridge(from, to)) piece.points.push_back({p, true});
  }

  bool IsLegendSample(const Piece& piece) const {
    if (piece.closed || piece.length_px > kSampleShare * width_) return false;
    const ImagePoint a = piece.points.front().at, b = piece.points.back().at;
    if (std::abs(a.y - b.y) > 0.5 || Distance(a, b) < 0.999 * piece.length_px) return false;
    const double right = std::max(a.x, b.x);
    return std::any_of(print_.words.begin(), print_.words.end(), [&](const Word& word) {
      const double from = word.center.x - 0.5 * word.width_px;
      return std::abs(word.center.y - a.y) < 0.6 * word.height_px && from > right && from < right + 2.5 * word.height_px &&
             std::abs(word.angle_deg) < 3.0;
    });
  }

  // Per point, whether print or its pad hides the line. The gaps of a dashed line hide nothing.
  std::vector<char> Hidden(const Piece& piece) const {
    const std::size_t n = piece.points.size();
    std::vector<char> hidden(n, 0);
    struct Run {
      std::size_t from, to;
      bool covered;
    };
    std::vector<Run> runs;
    for (std::size_t i = 0; i < n; ++i) {
      if (InkAt(piece.points[i].at) >= kShownInk) continue;
      if (runs.empty() || runs.back().to != i) runs.push_back({i, i, false});
      runs.back().to = i + 1;
      runs.back().covered = runs.back().covered || Covered(piece.points[i].at);
    }
    std::vector<std::size_t> gaps;
    if (piece.dashed)
      for (const Run& run : runs)
        if (!run.covered) gaps.push_back(run.to - run.from);
    std::sort(gaps.begin(), gaps.end());
    const double usual = gaps.empty() ? 0.0 : static_cast<double>(gaps[gaps.size() * 3 / 4]);
    for (const Run& run : runs)
      if (run.covered && static_cast<double>(run.to - run.from) > kHiddenRun * usual + 1.0)
        std::fill(hidden.begin() + static_cast<long>(run.from), hidden.begin() + static_cast<long>(run.to), 1);
    return hidden;
  }

  TracedCurve AsCurve(const Piece& piece, double spacing_px) const {
    TracedCurve curve;
    curve.closed = piece.closed;
    curve.ink_mass = piece.ink_mass;
    curve.lab = piece.lab;
    curve.dashed = piece.dashed;
    curve.exact = true;
    const std::vector<char> hidden = Hidden(piece);
    double since = spacing_px;
    const std::size_t n = piece.points.size();
    std::size_t unseen = 0;
    for (std::size_t i = 0; i < n; ++i) {
      const PathPoint& p = piece.points[i];
      if (i > 0) since += Distance(p.at, piece.points[i - 1].at);
      // Only where a label keeps two pieces apart is a place not known from the drawing.
      const bool unknown = p.bridged && !piece.dashed;
      unseen = unknown ? unseen + 1 : 0;
      bool bend = false;
      if (i > 0 && i + 1 < n) {
        const ImagePoint before = piece.points[i - 1].at, after = piece.points[i + 1].at;
        const double turn =
            std::remainder(std::atan2(after.y - p.at.y, after.x - p.at.x) - std::atan2(p.at.y - before.y, p.at.x - before.x), 2 * M_PI);
        bend = std::abs(turn) > 0.05;
      }
      if (since + 1e-9 < spacing_px && i + 1 < n && !bend) continue;
      since = 0.0;
      curve.points.push_back(p.at);
      curve.sigma_px.push_back(static_cast<float>(kSigmaPx + (unknown ? 0.02 * static_cast<double>(std::min<std::size_t>(unseen, 30)) : 0.0)));
      curve.bridged.push_back(unknown || hidden[i] != 0 ? 1 : 0);
    }
    return curve;
  }

  const Page& page_;
  const PrintFound& print_;
  const Panel& panel_;
  double width_ = 0.0, short_side_ = 0.0, digit_ = 12.0;
  cv::Mat1b cover_;
  std::vector<Piece> pieces_;
};

}  // namespace

CurvesFound CollectDrawnCurves(const Page& page, const RidgesFound& ridges, const PrintFound& print, const AxesFound& axes, const Panel& panel,
                               const CurveOptions& options) {
  Collector collector(page, print, panel);
  std::vector<ImagePoint> markers;
  collector.Take(ridges, axes);
  collector.SetMarkersAside(markers);
  collector.DropDoubles();
  collector.SetHatchingAside();
  collector.JoinMeetingEnds();
  collector.JoinBars();
  collector.JoinAcrossLabels();
  collector.DropScraps();
  CurvesFound found = collector.Finish(options);
  found.markers = std::move(markers);
  found.report.notes = {std::to_string(found.curves.size()) + " drawn curves", std::to_string(found.markers.size()) + " markers"};
  return found;
}

}  // namespace islebook
