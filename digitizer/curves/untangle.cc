#include "digitizer/curves/untangle.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <set>
#include <unordered_map>
#include <utility>

#include <opencv2/core.hpp>

#include "digitizer/curves/path_grid.h"
#include "digitizer/ridges/ridges.h"

namespace islebook {
namespace {

constexpr double kMeetPx = 4.0;          // paths this close to each other meet
constexpr double kLookPx = 130.0;        // how far back the direction of a stub is taken
constexpr double kClearPx = 7.0;         // left out next to the meeting: lines pull at each other there
constexpr double kGain = 2.0;            // an exchange must be better by this
constexpr int kLeastStub = 14;           // points
constexpr int kLeastLoop = 120;          // points of a round
constexpr int kKnownStub = 40;           // points of a stub whose course and ink tell which way it goes on
constexpr double kBesidePx = 16.0;       // of a path's end from the other path, times the unit: both ends at a crossing are trimmed
constexpr double kStubMassPx = 90.0;     // over which a stub's ink is measured
constexpr double kStubMassSpread = 0.1;  // of its logarithm along one line

struct Meeting {
  int a0, a1;  // of path a: first and last point near b
  int b0, b1;  // of path b
};

// The stretches of a that run near b, with the stretch of b they are near to.
std::vector<Meeting> FindMeetings(const Path& a, const Path& b) {
  std::unordered_map<std::int64_t, std::vector<int>> grid;
  const auto key = [](double x, double y) {
    return (static_cast<std::int64_t>(std::floor(x / kMeetPx)) << 32) ^ (static_cast<std::int64_t>(std::floor(y / kMeetPx)) & 0xffffffff);
  };
  for (int i = 0; i < static_cast<int>(b.points.size()); ++i)
    grid[key(b.points[static_cast<std::size_t>(i)].at.x, b.points[static_cast<std::size_t>(i)].at.y)].push_back(i);
  std::vector<Meeting> meetings;
  int last_near = -100;
  for (int i = 0; i < static_cast<int>(a.points.size()); ++i) {
    const ImagePoint p = a.points[static_cast<std::size_t>(i)].at;
    int near = -1;
    double nearest = kMeetPx;
    for (int dy = -1; dy <= 1; ++dy)
      for (int dx = -1; dx <= 1; ++dx) {
        const auto cell = grid.find(key(p.x + dx * kMeetPx, p.y + dy * kMeetPx));
        if (cell == grid.end()) continue;
        for (int j : cell->second) {
          const double d = std::hypot(b.points[static_cast<std::size_t>(j)].at.x - p.x, b.points[static_cast<std::size_t>(j)].at.y - p.y);
          if (d < nearest) {
            nearest = d;
            near = j;
          }
        }
      }
    if (near < 0) continue;
    if (meetings.empty() || i - last_near > 12) {
      meetings.push_back({i, i, near, near});
    } else {
      Meeting& m = meetings.back();
      m.a1 = i;
      m.b0 = std::min(m.b0, near);
      m.b1 = std::max(m.b1, near);
    }
    last_near = i;
  }
  return meetings;
}

// The points of `path` from its front up to `to`, or from `from` to its back, less a clearance at the cut.
std::optional<Path> Stub(const Path& path, int cut, bool front_part) {
  Path stub;
  const auto n = static_cast<int>(path.points.size());
  if (front_part) {
    int end = cut;
    while (end > 0 && std::hypot(path.points[static_cast<std::size_t>(end)].at.x - path.points[static_cast<std::size_t>(cut)].at.x,
                                 path.points[static_cast<std::size_t>(end)].at.y - path.points[static_cast<std::size_t>(cut)].at.y) < kClearPx)
      --end;
    if (end < kLeastStub) return std::nullopt;
    stub.points.assign(path.points.begin(), path.points.begin() + end + 1);
  } else {
    int start = cut;
    while (start + 1 < n &&
           std::hypot(path.points[static_cast<std::size_t>(start)].at.x - path.points[static_cast<std::size_t>(cut)].at.x,
                      path.points[static_cast<std::size_t>(start)].at.y - path.points[static_cast<std::size_t>(cut)].at.y) < kClearPx)
      ++start;
    if (n - start < kLeastStub) return std::nullopt;
    stub.points.assign(path.points.begin() + start, path.points.end());
  }
  return stub;
}

Path Link(const Path& front, const PathEnd& front_end, const Path& back, const PathEnd& back_end, const Path& front_of, const Path& back_of) {
  Path path = front_of;  // style and level carry over; the two are much alike or they would not have been joined
  path.points = front.points;
  for (const ImagePoint& p : Bridge(front_end, back_end)) path.points.push_back({p, true});
  path.points.insert(path.points.end(), back.points.begin(), back.points.end());
  path.tail = back_of.tail;
  double inked = 0;
  for (const PathPoint& p : path.points) inked += p.bridged ? 0 : 1;
  const double before = std::max(1.0, front_of.inked_px);
  path.dash_px *= inked / before;
  path.inked_px = inked;
  return path;
}

void Reverse(Path& path) {
  std::reverse(path.points.begin(), path.points.end());
  std::swap(path.head, path.tail);
  std::reverse(path.head.begin(), path.head.end());
  std::reverse(path.tail.begin(), path.tail.end());
}

bool TryExchange(Path& a, Path& b) {
  for (bool turned : {false, true}) {
    if (turned) Reverse(b);
    for (const Meeting& m : FindMeetings(a, b)) {
      const auto a_front = Stub(a, m.a0, true), a_back = Stub(a, m.a1, false), b_front = Stub(b, m.b0, true), b_back = Stub(b, m.b1, false);
      if (!a_front || !a_back || !b_front || !b_back) continue;
      const PathEnd af = EndOfPath(*a_front, false, kLookPx), ab = EndOfPath(*a_back, true, kLookPx), bf = EndOfPath(*b_front, false, kLookPx),
                    bb = EndOfPath(*b_back, true, kLookPx);
      const double now = std::min(40.0, BendCost(af, ab)) + std::min(40.0, BendCost(bf, bb));
      const double then = BendCost(af, bb) + BendCost(bf, ab);
      if (then + kGain >= now) continue;
      Path first = Link(*a_front, af, *b_back, bb, a, b), second = Link(*b_front, bf, *a_back, ab, b, a);
      a = std::move(first);
      b = std::move(second);
      return true;
    }
  }
  return false;
}

// The ink of a path next to one of its ends, as a median.
double InkMassNear(const Path& path, bool front, const cv::Mat1b& ink) {
  const auto n = static_cast<int>(path.points.size());
  const auto at = [&](int k) -> const PathPoint& { return path.points[static_cast<std::size_t>(front ? k : n - 1 - k)]; };
  std::vector<double> masses;
  for (int k = 3; k + 3 < n && k < kStubMassPx; k += 3) {
    if (at(k).bridged) continue;
    const ImagePoint a = at(k - 3).at, b = at(k + 3).at;
    masses.push_back(InkMassAcross(ink, at(k).at, std::atan2(b.y - a.y, b.x - a.x), 8.0));
  }
  if (masses.empty()) return path.ink_mass;
  std::nth_element(masses.begin(), masses.begin() + static_cast<long>(masses.size() / 2), masses.end());
  return masses[masses.size() / 2];
}

double MassCost(double a, double b) {
  const double off = std::log((a + 0.1) / (b + 0.1)) / kStubMassSpread;
  return std::min(9.0, off * off);
}

double InkedLength(const Path& path) {
  return static_cast<double>(std::count_if(path.points.begin(), path.points.end(), [](const PathPoint& p) { return !p.bridged; }));
}

// b ends beside a: its end may belong to one of a's parts. The part that is left over is returned.
std::optional<Path> TryTurn(Path& a, Path& b, const JoinField& field) {
  const double unit = std::max(1.0, field.frame_width_px / 1200.0);
  const cv::Mat1b& ink = field.page->ink;
  for (const bool turned : {false, true}) {
    if (turned) Reverse(b);
    const ImagePoint tip = b.points.back().at;
    double nearest = kBesidePx * unit;
    int at = -1;
    for (int k = 0; k < static_cast<int>(a.points.size()); ++k)
      if (const double d = std::hypot(a.points[static_cast<std::size_t>(k)].at.x - tip.x, a.points[static_cast<std::size_t>(k)].at.y - tip.y);
          d < nearest) {
        nearest = d;
        at = k;
      }
    if (at < 0) continue;
    const auto front = Stub(a, at, true), back = Stub(a, at, false);
    if (!front || !back || InkedLength(*front) < kKnownStub || InkedLength(*back) < kKnownStub) continue;
    const PathEnd fe = EndOfPath(*front, false, kLookPx), be = EndOfPath(*back, true, kLookPx), te = EndOfPath(b, false, kLookPx);
    const double fm = InkMassNear(*front, false, ink), bm = InkMassNear(*back, true, ink), tm = InkMassNear(b, false, ink);
    const double now = std::min(40.0, BendCost(fe, be)) + MassCost(fm, bm);
    const double with_front = BendCost(fe, te) + MassCost(fm, tm), with_back = BendCost(be, te) + MassCost(bm, tm);
    if (std::min(with_front, with_back) + kGain >= now) continue;
    const Path whole = a;
    Path tail = b;
    Reverse(tail);
    Path rest;
    if (with_front <= with_back) {
      a = Link(*front, fe, tail, te, whole, tail);
      rest = whole;
      rest.points = back->points;
      rest.head.clear();
    } else {
      Path turned_back = *back;
      std::reverse(turned_back.points.begin(), turned_back.points.end());
      Path whole_turned = whole;
      Reverse(whole_turned);
      a = Link(turned_back, be, tail, te, whole_turned, tail);
      rest = whole;
      rest.points = front->points;
      rest.tail.clear();
    }
    a.ink_mass = with_front <= with_back ? fm : bm;
    rest.inked_px = InkedLength(rest);
    rest.dash_px = 0;
    rest.ink_mass = with_front <= with_back ? bm : fm;
    return rest;
  }
  return std::nullopt;
}

// A path that comes back to where it was before: what lies between may be a round of its own, which is returned.
std::optional<Path> TryLoop(Path& path, const JoinField& field) {
  const double unit = std::max(1.0, field.frame_width_px / 1200.0);
  const auto n = static_cast<int>(path.points.size());
  const auto at = [&](int k) { return path.points[static_cast<std::size_t>(k)].at; };
  // The closest place of two stretches that are far apart along the path.
  double nearest = kBesidePx * unit;
  int first = -1, second = -1;
  constexpr int kStep = 3;
  for (int i = kKnownStub; i + kLeastLoop < n - kKnownStub; i += kStep)
    for (int j = i + kLeastLoop; j < n - kKnownStub; j += kStep) {
      const double d = std::hypot(at(i).x - at(j).x, at(i).y - at(j).y);
      if (d >= nearest) {
        j += static_cast<int>((d - nearest) / 2.0);
        continue;
      }
      nearest = d;
      first = i;
      second = j;
    }
  if (first < 0) return std::nullopt;
  Path whole = path;
  const auto front = Stub(whole, first, true), back = Stub(whole, second, false);
  Path middle = whole;
  middle.points.assign(whole.points.begin() + first, whole.points.begin() + second + 1);
  const auto opened = Stub(middle, 0, false);
  const auto loop = opened ? Stub(*opened, static_cast<int>(opened->points.size()) - 1, true) : std::nullopt;
  if (!front || !back || !loop || InkedLength(*front) < kKnownStub || InkedLength(*back) < kKnownStub || InkedLength(*loop) < kLeastLoop)
    return std::nullopt;
  const PathEnd fe = EndOfPath(*front, false, kLookPx), be = EndOfPath(*back, true, kLookPx), ls = EndOfPath(*loop, true, kLookPx),
                le = EndOfPath(*loop, false, kLookPx);
  const cv::Mat1b& ink = field.page->ink;
  const double fm = InkMassNear(*front, false, ink), bm = InkMassNear(*back, true, ink), sm = InkMassNear(*loop, true, ink),
               em = InkMassNear(*loop, false, ink);
  const double now = std::min(40.0, BendCost(fe, ls)) + MassCost(fm, sm) + std::min(40.0, BendCost(le, be)) + MassCost(em, bm);
  const double then = BendCost(fe, be) + MassCost(fm, bm) + BendCost(le, ls) + MassCost(em, sm);
  if (then + kGain >= now) return std::nullopt;
  path = Link(*front, fe, *back, be, whole, whole);
  path.ink_mass = fm;
  Path round = whole;
  round.points = loop->points;
  for (const ImagePoint& p : Bridge(le, ls)) round.points.push_back({p, true});
  round.closed = true;
  round.head.clear();
  round.tail.clear();
  round.inked_px = InkedLength(round);
  round.dash_px = 0;
  round.ink_mass = 0.5 * (sm + em);
  return round;
}

}  // namespace

bool SetWrongTurnsRight(std::vector<Path>& paths, const JoinField& field) {
  const auto may = [](const Path& p) { return !p.closed && !p.Dashed() && p.inked_px >= kKnownStub; };
  // Which paths pass near which path's ends.
  std::set<std::pair<std::size_t, std::size_t>> near;
  const PathGrid grid(paths);
  const double reach = kBesidePx * std::max(1.0, field.frame_width_px / 1200.0);
  for (std::size_t j = 0; j < paths.size(); ++j) {
    if (!may(paths[j])) continue;
    for (const ImagePoint tip : {paths[j].points.front().at, paths[j].points.back().at})
      grid.Near(tip, reach, [&](const PathGrid::Entry& e) {
        if (static_cast<std::size_t>(e.path) != j) near.emplace(static_cast<std::size_t>(e.path), j);
      });
  }
  bool changed = false;
  for (const auto& [i, j] : near) {
    if (!may(paths[i]) || !may(paths[j])) continue;
    auto rest = TryTurn(paths[i], paths[j], field);
    if (!rest) continue;
    paths[j] = std::move(*rest);
    changed = true;
  }
  for (std::size_t i = 0, count = paths.size(); i < count; ++i) {
    if (!may(paths[i])) continue;
    auto round = TryLoop(paths[i], field);
    if (!round) continue;
    paths.push_back(std::move(*round));
    changed = true;
  }
  return changed;
}

void Untangle(std::vector<Path>& paths) {
  for (std::size_t i = 0; i < paths.size(); ++i)
    for (std::size_t j = i + 1; j < paths.size(); ++j) {
      if (paths[i].closed || paths[j].closed || paths[i].points.size() < 2 * kLeastStub || paths[j].points.size() < 2 * kLeastStub) continue;
      if (paths[i].Dashed() != paths[j].Dashed()) continue;
      for (int round = 0; round < 3 && TryExchange(paths[i], paths[j]); ++round) {
      }
    }
}

}  // namespace islebook
