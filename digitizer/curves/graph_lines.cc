#include "digitizer/curves/graph_lines.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/curves/graph_junctions.h"
#include "digitizer/curves/graph_seeds.h"
#include "digitizer/curves/graph_tails.h"
#include "digitizer/curves/graph_tracks.h"

namespace islebook {
namespace {

constexpr double kPullPx = 4.0;          // within which another line draws a ridge aside
constexpr double kBesidePx = 1.6;        // a mark farther to the side is not of the line itself
constexpr double kPulledVariance = 0.2;  // px^2 of such a place
constexpr double kMergedVariance = 1.0;  // px^2 where two lines lie on each other
constexpr double kTurnPx = 6.0;          // that a tip advances before the next one's turn
constexpr double kLostPx = 1.8;          // standard deviation across the line at which a tip is given up
constexpr double kBackward = -0.12;      // cosine against the way to the right (left): lines do not turn back
constexpr double kSolidBlankPx = 9.0;    // of bare paper in a solid line
constexpr double kMeetPx = 5.0;          // for which a tip has followed another line's marks: the two are looked at as one
constexpr double kAgainPx = 25.0;        // after which a pair that did not fit is looked at again
constexpr double kJoins = 16.0;          // squared standard deviations within which they are one
constexpr double kOverrunPx = 30.0;      // by which two ends of one line may have passed each other
constexpr double kDashPerGap = 1.8;      // length of a dash, where it cannot be measured
constexpr double kCoastPart = 0.16;      // of the frame's width that a line may run unseen
constexpr double kCoverHeights = 6.0;    // digit heights that a line may run under print
constexpr double kShortestPart = 0.07;   // of the frame's width
constexpr std::size_t kMemory = 400;     // nodes that tell where an end goes on
constexpr double kLeftoverPx = 30.0;     // an unclaimed stretch of a stroke that is worth a line of its own
constexpr double kSeedPx = 90.0;
constexpr int kGuideRounds = 6;

class Growth {
 public:
  explicit Growth(GraphField& field) : field_(field) {}

  void Grow(const std::vector<Path>& seeds, double usual_gap) {
    const std::size_t first = tracks_.size();
    for (const Path& seed : seeds)
      if (field_.TakenPart(seed) < 0.4) Start(seed, usual_gap);
    for (std::size_t t = first; t < tracks_.size(); ++t)
      for (const LineNode& n : tracks_[t].nodes) field_.Claim(n.at, tracks_[t], static_cast<int>(t), nullptr);
    Run();
  }

  std::vector<LineTrack>& tracks() { return tracks_; }

 private:
  void Start(const Path& seed, double usual_gap) {
    LineTrack t;
    for (const PathPoint& p : seed.points) t.nodes.push_back({p.at, !p.bridged, !p.bridged});
    t.ink_mass = seed.ink_mass;
    t.level = seed.level;
    t.lab = seed.lab;
    t.dashed = t.has_dashes = seed.Dashed();
    t.longest_dash = seed.longest_dash;
    t.gap = usual_gap;
    if (!t.dashed && field_.Beats(seed)) {
      t.dashed = true;
      t.longest_dash = kDashPerGap * usual_gap;
    }
    const ImagePoint a = seed.points.front().at, b = seed.points.back().at, right = field_.right();
    const bool rightward = (b.x - a.x) * right.x + (b.y - a.y) * right.y > 0;
    for (int side : {0, 1}) {
      LineTip& tip = t.tips[static_cast<std::size_t>(side)];
      tip.state = FollowAlong(seed, side == 0);
      tip.way = (side == 1) == rightward ? 1.0 : -1.0;
    }
    tracks_.push_back(std::move(t));
  }

  LineTip& Tip(int id, int side) { return tracks_[static_cast<std::size_t>(id)].tips[static_cast<std::size_t>(side)]; }

  // Tips take turns, those that see their way first.
  void Run() {
    bool any = true;
    while (any) {
      any = false;
      std::vector<std::tuple<double, int, int>> turn;
      for (int t = 0; t < static_cast<int>(tracks_.size()); ++t)
        for (int side : {0, 1})
          if (!tracks_[static_cast<std::size_t>(t)].gone && Tip(t, side).alive) turn.emplace_back(Tip(t, side).coasted, t, side);
      std::sort(turn.begin(), turn.end());
      for (const auto& [coasted, t, side] : turn) {
        any = true;
        for (double s = 0; s < kTurnPx; s += 1.0)
          if (tracks_[static_cast<std::size_t>(t)].gone || !Tip(t, side).alive || !Step(t, side)) break;
      }
    }
  }

  struct Sight {
    bool found = false;
    double z = 0.0;      // of the line's own mark, to the right of its way
    int other = -1;      // a line of the same make that has a mark here
    bool drawn = false;  // something else stands close by
  };

  Sight Look(const LineTrack& t, int id, const FollowState& state, bool covered) {
    const double dx = std::cos(state.heading), dy = std::sin(state.heading), spread = std::sqrt(state.covariance(0, 0));
    const double gate = std::min(2.6 * field_.unit(), 0.65 * field_.full_unit() + 2.5 * spread);
    const double least_turn = std::cos(std::min(0.6, 0.25 + 2.5 * std::sqrt(state.covariance(1, 1))));
    const double pull = kPullPx * field_.full_unit();
    Sight sight;
    double nearest = gate, nearest_other = gate;
    field_.MarksNear(state.at, std::max(gate + 1, pull), [&](const LineMark& m) {
      const double ex = m.at.x - state.at.x, ey = m.at.y - state.at.y;
      const double along = ex * dx + ey * dy, z = -ex * dy + ey * dx;
      if (m.owner != id && std::abs(z) > kBesidePx && std::hypot(ex, ey) < pull) sight.drawn = true;
      if (std::abs(along) > 0.8 || std::abs(z) > gate || std::abs(m.tx * dx + m.ty * dy) < least_turn) return;
      const Stroke& stroke = field_.StrokeOf(m);
      if (!field_.Alike(t, stroke) || (covered && !stroke.is_dash && stroke.length_px < 1.5 * field_.digit())) return;
      if (m.owner >= 0 && m.owner != id) {
        if (std::abs(z) < nearest_other) {
          nearest_other = std::abs(z);
          sight.other = m.owner;
        }
      } else if (std::abs(z) < nearest) {
        nearest = std::abs(z);
        sight.z = z;
        sight.found = true;
      }
    });
    return sight;
  }

  // One pixel onward; false when the end has come or another line was joined.
  bool Step(int id, int side) {
    LineTrack& t = tracks_[static_cast<std::size_t>(id)];
    LineTip& tip = t.tips[static_cast<std::size_t>(side)];
    FollowState& state = tip.state;
    Predict(state, 1.0);
    const FramePoint f = field_.frame().FrameFromImage(state.at);
    const double onward = tip.way * (std::cos(state.heading) * field_.right().x + std::sin(state.heading) * field_.right().y);
    if (f.u < -0.002 || f.u > 1.002 || f.v < -0.002 || f.v > 1.002 || onward < kBackward ||
        std::sqrt(state.covariance(0, 0)) > kLostPx * field_.full_unit())
      return tip.alive = false;
    const bool covered = field_.Covered(state.at);
    const Sight sight = Look(t, id, state, covered);
    LineNode node{state.at, false, false};
    if (sight.found) {
      if (tip.coasted > 8) t.worst_join = std::max(t.worst_join, sight.z * sight.z / (state.covariance(0, 0) + 0.1));
      // Next to another line, or under print, the ridge is drawn aside.
      const ImagePoint mark{state.at.x - sight.z * std::sin(state.heading), state.at.y + sight.z * std::cos(state.heading)};
      const bool merged = field_.Merged(mark, state.heading, t);
      Observe(state, sight.z, merged ? kMergedVariance : sight.drawn || covered ? kPulledVariance : kPlaceVariance);
      field_.Claim(state.at, t, id, &state);
      node = {state.at, true, true};
      tip.blank = tip.coasted = tip.covered = 0;
      tip.meets = -1;
    } else {
      tip.coasted += 1;
      if (sight.other >= 0 && Joins(id, side, sight.other)) return false;
      if (covered) {
        tip.covered += 1;
      } else if (field_.Inked(state.at, t.level)) {
        node.inked = true;
        tip.blank = 0;
      } else {
        tip.blank += 1;
      }
    }
    t.Add(side, node);
    const double most_blank = t.dashed ? 2.2 * t.gap + t.longest_dash : kSolidBlankPx * field_.full_unit();
    tip.alive = tip.blank <= most_blank && tip.covered <= kCoverHeights * field_.digit() && tip.coasted <= kCoastPart * field_.width();
    return tip.alive;
  }

  // A tip that has come upon the end of another line goes over into it, if the two fit together.
  bool Joins(int id, int side, int other) {
    LineTrack& t = tracks_[static_cast<std::size_t>(id)];
    LineTip& tip = t.tips[static_cast<std::size_t>(side)];
    if (tip.meets != other) {
      tip.meets = other;
      tip.meet_run = 0;
    }
    tip.meet_run += 1;
    if (tip.meet_run < kMeetPx) return false;
    LineTrack& o = tracks_[static_cast<std::size_t>(other)];
    const auto n = static_cast<int>(o.nodes.size());
    const auto at = [&](int i) -> const LineNode& { return o.nodes[static_cast<std::size_t>(i)]; };
    int near = -1;
    double nearest = 3.0;
    for (int i = 0; i < n; ++i) {
      const double d = std::hypot(at(i).at.x - tip.state.at.x, at(i).at.y - tip.state.at.y);
      if (d < nearest) {
        nearest = d;
        near = i;
      }
    }
    if (o.gone || near < 0) return false;
    const ImagePoint a = at(std::max(0, near - 8)).at, b = at(std::min(n - 1, near + 8)).at;
    const double length = std::hypot(b.x - a.x, b.y - a.y);
    if (length < 4) return false;
    const double with = ((b.x - a.x) * std::cos(tip.state.heading) + (b.y - a.y) * std::sin(tip.state.heading)) / length;
    if (std::abs(with) < 0.97) return false;
    const int step = with > 0 ? 1 : -1, begin = with > 0 ? 0 : n - 1;
    // What lies behind must be no more than the other end's overrun.
    int behind = 0;
    for (int i = begin; i != near; i += step) behind += at(i).seen;
    if (behind > kOverrunPx * field_.unit()) return false;
    Path ahead;
    for (int i = near + 4 * step, k = 0; i >= 0 && i < n && k < 160; i += step, ++k) ahead.points.push_back({at(i).at, !at(i).seen});
    if (ahead.points.size() > 12 && Misfit(tip.state, FollowAlong(ahead, true)) > kJoins) {
      tip.meet_run = -(kAgainPx - kMeetPx);
      return false;
    }
    // Nodes that were laid over the other's are taken back.
    const int run = static_cast<int>(tip.meet_run);
    for (int k = 0; k < run && t.nodes.size() > 8 && !t.FromTip(side, 0).seen; ++k) t.DropLast(side);
    for (int i = near - step * std::min(run, std::abs(near - begin)); i >= 0 && i < n; i += step) t.Add(side, at(i));
    const double way = tip.way;
    tip = o.tips[with > 0 ? 1 : 0];
    tip.way = way;
    // What both know together is more than what the other knew alone.
    if (tip.alive && tip.coasted < 1) {
      Path known;
      for (std::size_t k = std::min(kMemory, t.nodes.size()); k-- > 0;) known.points.push_back({t.FromTip(side, k).at, !t.FromTip(side, k).seen});
      tip.state = FollowAlong(known, false);
    }
    t.worst_join = std::max(t.worst_join, o.worst_join);
    t.longest_dash = std::max(t.longest_dash, o.longest_dash);
    t.has_dashes = t.has_dashes || o.has_dashes;
    t.dashed = t.dashed || t.has_dashes;
    o.gone = true;
    field_.HandOver(other, id);
    return true;
  }

  GraphField& field_;
  std::vector<LineTrack> tracks_;
};

// In a crowd of dashes some look like figures: a word that is mostly dashes is none.
bool MadeOfDashes(const Word& word, const std::vector<Stroke>& strokes) {
  std::size_t dashes = 0;
  for (const cv::Rect& glyph : word.glyphs) {
    const auto is_it = [&](const Stroke& s) {
      const ImagePoint m = s.points[s.points.size() / 2];
      return s.is_dash && 2 * s.length_px > std::max(glyph.width, glyph.height) && m.x > glyph.x - 1 && m.x < glyph.x + glyph.width + 1 &&
             m.y > glyph.y - 1 && m.y < glyph.y + glyph.height + 1;
    };
    dashes += std::any_of(strokes.begin(), strokes.end(), is_it);
  }
  return 2 * dashes > word.glyphs.size();
}

// Short strokes inside words are parts of glyphs. `boxes` gets the words' boxes.
std::vector<Stroke> WithoutPrint(const std::vector<Stroke>& strokes, const PrintFound& print, cv::Size size, cv::Mat1b& boxes) {
  boxes = cv::Mat1b(size, static_cast<unsigned char>(0));
  for (const Word& w : print.words) {
    if (w.glyphs.size() < 2 || MadeOfDashes(w, strokes)) continue;
    cv::Point2f corner[4];
    cv::RotatedRect({static_cast<float>(w.center.x), static_cast<float>(w.center.y)},
                    {static_cast<float>(w.width_px + 4), static_cast<float>(w.height_px + 4)}, static_cast<float>(w.angle_deg))
        .points(corner);
    std::vector<cv::Point> polygon;
    for (const cv::Point2f& c : corner) polygon.emplace_back(cvRound(c.x), cvRound(c.y));
    cv::fillConvexPoly(boxes, polygon, 255);
  }
  std::vector<Stroke> kept;
  for (const Stroke& s : strokes) {
    std::size_t inside = 0;
    for (const ImagePoint& p : s.points)
      inside += boxes(std::clamp(cvRound(p.y), 0, size.height - 1), std::clamp(cvRound(p.x), 0, size.width - 1)) > 0;
    if (s.length_px < 2.2 * std::max(8.0, print.digit_height_px) && 2 * inside > s.points.size()) continue;
    kept.push_back(s);
  }
  return kept;
}

std::vector<Path> AsPaths(const std::vector<LineTrack>& tracks, const GraphField& field) {
  std::vector<Path> paths;
  for (const LineTrack& t : tracks) {
    if (t.gone || t.nodes.size() < 4) continue;
    Path p;
    for (const LineNode& n : t.nodes) {
      p.points.push_back({n.at, !n.seen});
      p.inked_px += n.seen;
    }
    // All of a line tells more about its beat than its seed did.
    p.dash_px = t.dashed && (t.has_dashes || field.Beats(p)) ? p.inked_px : 0;
    p.longest_dash = t.longest_dash;
    p.ink_mass = t.ink_mass;
    p.level = t.level;
    p.lab = t.lab;
    p.worst_join = t.worst_join;
    paths.push_back(std::move(p));
  }
  return paths;
}

}  // namespace

bool HoldsGraphLines(const Panel& panel) {
  if (!panel.x) return false;
  const Quantity q = panel.x->axis.quantity;
  return q == Quantity::kExpansionRatioTotalToStatic || q == Quantity::kExpansionRatioTotalToTotal || q == Quantity::kVelocityRatio;
}

std::vector<Path> FollowGraphLines(const std::vector<Stroke>& all_strokes, const JoinField& plain_field, const PrintFound& print,
                                   const FrameMapping& frame) {
  JoinField field = plain_field;
  cv::Mat1b boxes;
  const std::vector<Stroke> strokes = WithoutPrint(all_strokes, print, field.cover.size(), boxes);
  cv::bitwise_or(field.cover, boxes, boxes);
  field.cover = boxes;
  const GraphSeeds seeds = FindGraphSeeds(strokes, field);
  GraphField marks(strokes, field, frame, print.digit_height_px > 0 ? print.digit_height_px : 12.0);
  Growth growth(marks);
  for (const std::vector<Path>* these : {&seeds.solid, &seeds.dashed, &seeds.rest}) growth.Grow(*these, seeds.usual_gap);
  // What chains that took a wrong turn have left over.
  growth.Grow(marks.Unclaimed(kLeftoverPx * marks.unit(), kSeedPx * marks.unit()), seeds.usual_gap);
  SettleTails(growth.tracks(), marks);
  for (int round = 0; round < kGuideRounds && GuideByNeighbors(growth.tracks(), marks); ++round) {
  }
  ReachCommonEnds(growth.tracks(), marks);
  ReachSharedEnds(growth.tracks(), marks);
  std::vector<Path> paths = AsPaths(growth.tracks(), marks);
  MergeOverlaps(paths, 2.6 * marks.full_unit());
  ResolveJunctions(paths, field);
  for (Path& p : paths) DropBacktracks(p);
  DropCoveredLines(paths, 2.6 * marks.full_unit());
  std::erase_if(paths, [&](const Path& p) { return p.inked_px < kShortestPart * field.frame_width_px; });
  return paths;
}

}  // namespace islebook
