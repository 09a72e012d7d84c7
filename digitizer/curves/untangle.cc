#include "digitizer/curves/untangle.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <unordered_map>

namespace islebook {
namespace {

constexpr double kMeetPx = 4.0;    // paths this close to each other meet
constexpr double kLookPx = 130.0;  // how far back the direction of a stub is taken
constexpr double kClearPx = 7.0;   // left out next to the meeting: lines pull at each other there
constexpr double kGain = 2.0;      // an exchange must be better by this
constexpr int kLeastStub = 14;     // points

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

}  // namespace

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
