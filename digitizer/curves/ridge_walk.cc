#include "digitizer/curves/ridge_walk.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <queue>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr double kSigmaPx = 1.6;
constexpr double kLowContrast = 4.0;
constexpr double kCell = 16.0;  // px, of the grid that finds neighbors
// What a pixel of the way costs. Blank paper would cost 1 a pixel; a line's own ink a tenth of it.
constexpr double kInked = 0.10;
constexpr double kOverInk = 0.25;  // across a crossing
constexpr double kBetweenDashes = 0.3;
constexpr double kOverPaper = 0.8;
constexpr double kFarOverPaper = 2.0;  // beyond kShortGap: a line is seldom left out for longer without print there
constexpr double kUnderPrint = 0.35;
constexpr double kCovered = 0.55;       // on the ink of a grid line
constexpr double kForeign = 0.3;        // more, on ink unlike the curve's
constexpr double kForeignAcross = 2.0;  // once, where a gap ends at such ink
constexpr double kSway = 0.15;          // rad, that a ridge's way wavers
constexpr double kTightest = 0.06;      // rad a px, that a curve bends
constexpr double kBend = 100.0;         // for a radian beyond that, squared
constexpr double kTurn = 30.0;          // for a radian, squared, between the way and a line's own direction
constexpr double kWaver = 0.1;          // rad, that a ridge's direction wavers
constexpr double kInkChange = 0.3;      // for a unit of Lab beyond what noise makes
constexpr double kInkNoise = 5.0;
constexpr double kStray = 0.25;      // a pixel, at `room` from where the way is expected
constexpr double kStrayOnInk = 0.1;  // of that: ink knows better than a few places where it runs
constexpr double kUnseen = 30.0;     // for pointing at a place without ink
constexpr double kUnseenUnderPrint = 4.0;
constexpr double kAdjacent = 2.6;   // px: neighbors on one ridge
constexpr double kDashGap = 12.0;   // px: no longer than between dashes
constexpr double kShortGap = 26.0;  // px: from any point to any other
constexpr double kLongGap = 130.0;  // px: only from a ridge's end to another's beginning

double TurnCost(double cosine) {
  const double beyond = std::max(0.0, std::acos(std::min(1.0, cosine)) - kWaver);
  return kTurn * beyond * beyond;
}

}  // namespace

RidgeWalk::RidgeWalk(const Page& page, const cv::Mat1b& cover, cv::Rect where, const std::vector<ImagePoint>& through, double hand_px)
    : page_(page), cover_(cover), where_(where & cv::Rect(0, 0, page.ink.cols, page.ink.rows)), hand_px_(hand_px) {
  const RidgePointField field = FindRidgePoints(page.ink, where_, {}, kSigmaPx, kLowContrast);
  columns_ = static_cast<int>(where_.width / kCell) + 1;
  cells_.resize(static_cast<std::size_t>(columns_) * (static_cast<std::size_t>(where_.height / kCell) + 1));
  cv::Mat3b color = page.color(where_), lab;
  cv::Mat soft;
  cv::blur(color, soft, {3, 3});
  cv::cvtColor(soft, lab, cv::COLOR_BGR2Lab);
  nodes_.reserve(field.points.size() + 64);
  for (const RidgePoint& p : field.points) {
    const int x = std::clamp(cvRound(p.x) - where_.x, 0, where_.width - 1), y = std::clamp(cvRound(p.y) - where_.y, 0, where_.height - 1);
    if (cover(y + where_.y, x + where_.x) == kPrintThere) continue;  // glyphs; the line below them is not seen
    const cv::Vec3b c = lab(y, x);
    AddNode({p.x, p.y, p.tx, p.ty, static_cast<float>(page.ink(y + where_.y, x + where_.x)), static_cast<float>(c[1]), static_cast<float>(c[2]),
             MassAt(p), true, cover(y + where_.y, x + where_.x) != 0});
  }
  LearnInk(through);
}

// Out to both sides as long as the ink gets thinner.
float RidgeWalk::MassAt(const RidgePoint& p) const {
  constexpr double kStep = 0.5, kFarthest = 6.0, kAnew = 12.0;
  const auto ink_at = [&](double off) {
    const double x = std::clamp(p.x - off * p.ty, 0.0, page_.ink.cols - 1.001), y = std::clamp(p.y + off * p.tx, 0.0, page_.ink.rows - 1.001);
    const int c = static_cast<int>(x), r = static_cast<int>(y);
    const double u = x - c, v = y - r;
    return (1 - v) * ((1 - u) * page_.ink(r, c) + u * page_.ink(r, c + 1)) + v * ((1 - u) * page_.ink(r + 1, c) + u * page_.ink(r + 1, c + 1));
  };
  double sum = kStep * ink_at(0.0);
  for (const double side : {-1.0, 1.0}) {
    double least = 255.0;
    for (double off = kStep; off <= kFarthest; off += kStep) {
      const double ink = ink_at(side * off);
      if (ink > least + kAnew) break;
      least = std::min(least, ink);
      sum += kStep * ink;
    }
  }
  return static_cast<float>(sum / 255.0);
}

void RidgeWalk::LearnInk(const std::vector<ImagePoint>& through) {
  constexpr double kColor = 12.0, kMass = 0.45, kFree = 0.5, kFull = 1.0;
  const auto unlike = [](const Node& a, const Node& b) {
    return std::hypot(std::hypot(a.a - b.a, a.b - b.b) / kColor, std::log((a.mass + 0.1) / (b.mass + 0.1)) / kMass);
  };
  std::vector<std::vector<int>> near(through.size());
  for (std::size_t id = 0; id < nodes_.size(); ++id)
    for (std::size_t k = 0; k < through.size(); ++k)
      if (!nodes_[id].covered && std::hypot(nodes_[id].x - through[k].x, nodes_[id].y - through[k].y) < 2.0 * hand_px_)
        near[k].push_back(static_cast<int>(id));
  // The ink that is most alike at all places, and near them.
  double least = std::numeric_limits<double>::max();
  const Node* own = nullptr;
  for (const std::vector<int>& some : near)
    for (const int candidate : some) {
      const Node& c = nodes_[static_cast<std::size_t>(candidate)];
      double sum = 0.0;
      for (std::size_t k = 0; k < near.size(); ++k) {
        double best = 3.0;
        for (const int id : near[k]) {
          const Node& n = nodes_[static_cast<std::size_t>(id)];
          best = std::min(best, unlike(c, n) + 0.5 * std::pow(std::hypot(n.x - through[k].x, n.y - through[k].y) / hand_px_, 2));
        }
        sum += best;
      }
      if (sum < least) least = sum, own = &c;
    }
  if (own == nullptr) return;
  const Node ink = *own;
  for (Node& n : nodes_) n.foreign = static_cast<float>(std::clamp((unlike(n, ink) - kFree) / kFull, 0.0, 1.0));
}

RidgeWalk::Way RidgeWalk::WayOf(int node) const {
  ways_.resize(nodes_.size());
  Way& known = ways_[static_cast<std::size_t>(node)];
  if (known.x != 0.0F || known.y != 0.0F) return known;
  const Node& n = nodes_[static_cast<std::size_t>(node)];
  known = {n.tx, n.ty};
  if (!n.inked) return known;
  constexpr float kNear = 1.5F, kFar = 9.0F, kAside = 0.6F, kFan = 0.16F;  // px, px, px, beside the way and for each px along it
  constexpr double kTurns = 0.6, kTurnBy = 0.1;                            // rad, how far the direction may be from the point's own
  std::vector<std::pair<float, float>> around;
  const int cell = CellOf(n.x, n.y), row = cell / columns_, column = cell % columns_, rows = static_cast<int>(cells_.size()) / columns_;
  for (int r = std::max(0, row - 1); r <= std::min(rows - 1, row + 1); ++r)
    for (int c = std::max(0, column - 1); c <= std::min(columns_ - 1, column + 1); ++c)
      for (const int id : cells_[static_cast<std::size_t>(r * columns_ + c)]) {
        const Node& m = nodes_[static_cast<std::size_t>(id)];
        const float dx = m.x - n.x, dy = m.y - n.y, d = std::hypot(dx, dy);
        if (m.inked && d > kNear && d < kFar && std::abs(dx * m.tx + dy * m.ty) > 0.85F * d) around.emplace_back(dx, dy);
      }
  // The direction with most ridge along it.
  double most = 0.0;
  Way best = known;
  for (double turn = -kTurns; turn <= kTurns + 1e-9; turn += kTurnBy) {
    const auto c = static_cast<float>(std::cos(turn)), s = static_cast<float>(std::sin(turn));
    const Way way{c * n.tx - s * n.ty, s * n.tx + c * n.ty};
    double ahead = 0.0, behind = 0.0;
    for (const auto& [dx, dy] : around) {
      const float along = dx * way.x + dy * way.y, aside = std::abs(dy * way.x - dx * way.y), room = kAside + kFan * std::abs(along);
      if (aside >= room) continue;
      (along > 0 ? ahead : behind) += 1.0 - 0.5 * aside / room;
    }
    const double support = ahead + behind - 0.5 * std::abs(turn);
    if (support > most) most = support, best = way;
  }
  // Between the steps of the fan: the mean of what lies along it.
  float sx = 0.0F, sy = 0.0F;
  for (const auto& [dx, dy] : around) {
    const float along = dx * best.x + dy * best.y, aside = dy * best.x - dx * best.y;
    if (std::abs(aside) >= kAside + kFan * std::abs(along)) continue;
    sx += std::abs(along);
    sy += along > 0 ? aside : -aside;
  }
  if (sx > 0.0F) {
    const float slope = sy / sx, norm = std::hypot(1.0F, slope);
    best = {(best.x - slope * best.y) / norm, (best.y + slope * best.x) / norm};
  }
  return known = best;
}

int RidgeWalk::CellOf(float x, float y) const {
  const int column = std::clamp(static_cast<int>((x - static_cast<float>(where_.x)) / kCell), 0, columns_ - 1);
  const int row = std::clamp(static_cast<int>((y - static_cast<float>(where_.y)) / kCell), 0, static_cast<int>(cells_.size()) / columns_ - 1);
  return row * columns_ + column;
}

int RidgeWalk::AddNode(const Node& node) {
  const auto id = static_cast<int>(nodes_.size());
  nodes_.push_back(node);
  cells_[static_cast<std::size_t>(CellOf(node.x, node.y))].push_back(id);
  ends_.insert(ends_.end(), 2, -1);
  return id;
}

ImagePoint RidgeWalk::Direction(const WalkState& state) const {
  const Way way = WayOf(state.node);
  const double sign = state.along ? 1 : -1;
  return {sign * way.x, sign * way.y};
}

std::vector<WalkState> RidgeWalk::Near(ImagePoint at, double reach) {
  std::vector<WalkState> near;
  const auto column_of = [&](double x) { return std::clamp(static_cast<int>((x - where_.x) / kCell), 0, columns_ - 1); };
  const auto row_of = [&](double y) {
    return std::clamp(static_cast<int>((y - where_.y) / kCell), 0, static_cast<int>(cells_.size()) / columns_ - 1);
  };
  for (int row = row_of(at.y - reach); row <= row_of(at.y + reach); ++row)
    for (int column = column_of(at.x - reach); column <= column_of(at.x + reach); ++column)
      for (int id : cells_[static_cast<std::size_t>(row * columns_ + column)]) {
        const Node& n = nodes_[static_cast<std::size_t>(id)];
        const double d = std::hypot(n.x - at.x, n.y - at.y);
        if (d > reach || !n.inked) continue;
        const double cost = (d / hand_px_) * (d / hand_px_);
        near.push_back({id, true, cost});
        near.push_back({id, false, cost});
      }
  // The place itself, in eight directions, for a line that no ink shows here.
  const int x = std::clamp(cvRound(at.x), 0, page_.ink.cols - 1), y = std::clamp(cvRound(at.y), 0, page_.ink.rows - 1);
  for (int k = 0; k < 8; ++k) {
    const double angle = k * M_PI / 8;
    Node n{static_cast<float>(at.x),
           static_cast<float>(at.y),
           static_cast<float>(std::cos(angle)),
           static_cast<float>(std::sin(angle)),
           static_cast<float>(page_.ink(y, x)),
           128,
           128,
           0,
           false,
           false};
    const int id = AddNode(n);
    const double unseen = cover_(y, x) == kPrintThere ? kUnseenUnderPrint : kUnseen;
    near.push_back({id, true, unseen});
    near.push_back({id, false, unseen});
  }
  return near;
}

// Whether the ridge goes on: a few px ahead, since at a blunt end its last points look aside.
bool RidgeWalk::HasNext(int node, bool along) const {
  std::int8_t& known = ends_[static_cast<std::size_t>(2 * node + (along ? 0 : 1))];
  if (known >= 0) return known == 1;
  const Node& n = nodes_[static_cast<std::size_t>(node)];
  const double sign = along ? 1 : -1;
  known = 0;
  const int cell = CellOf(n.x, n.y), row = cell / columns_, column = cell % columns_, rows = static_cast<int>(cells_.size()) / columns_;
  for (int r = std::max(0, row - 1); r <= std::min(rows - 1, row + 1) && known == 0; ++r)
    for (int c = std::max(0, column - 1); c <= std::min(columns_ - 1, column + 1) && known == 0; ++c)
      for (int id : cells_[static_cast<std::size_t>(r * columns_ + c)]) {
        const Node& m = nodes_[static_cast<std::size_t>(id)];
        const double dx = m.x - n.x, dy = m.y - n.y, d = std::hypot(dx, dy);
        if (m.inked && d > 3.0 && d < 6.5 && sign * (dx * n.tx + dy * n.ty) > 0.9 * d && std::abs(dx * m.tx + dy * m.ty) > 0.8 * d) {
          known = 1;
          break;
        }
      }
  return known == 1;
}

double RidgeWalk::GapCost(const Node& a, const Node& b, double length) const {
  const int samples = std::max(1, static_cast<int>(length / 2));
  const double level = std::max(20.0F, 0.5F * std::min(a.level, b.level));
  const double paper = length < kDashGap ? kBetweenDashes : kOverPaper;
  double cost = 0;
  for (int i = 0; i < samples; ++i) {
    const double t = (i + 0.5) / samples;
    const int x = cvRound(a.x + t * (b.x - a.x)), y = cvRound(a.y + t * (b.y - a.y));
    const cv::Point p(std::clamp(x, 0, page_.ink.cols - 1), std::clamp(y, 0, page_.ink.rows - 1));
    if (cover_(p) == kPrintThere)
      cost += kUnderPrint;
    else
      cost += cover_(p) == 0 && page_.ink(p) > level ? kOverInk : t * length > kShortGap ? kFarOverPaper : paper;
  }
  return cost / samples * length;
}

template <typename Visit>
void RidgeWalk::ForSteps(int node, bool along, Visit visit) const {
  const Node& n = nodes_[static_cast<std::size_t>(node)];
  const Way way = WayOf(node);
  const double sign = along ? 1 : -1, tx = sign * way.x, ty = sign * way.y;
  const bool is_end = !n.inked || !HasNext(node, along);
  const double reach = is_end ? kLongGap : kShortGap;
  const int rows = static_cast<int>(cells_.size()) / columns_;
  // The box around the cone ahead.
  const double ahead_x = n.x + reach * tx, ahead_y = n.y + reach * ty, side = 0.65 * kShortGap;
  const auto column_of = [&](double x) { return std::clamp(static_cast<int>((x - where_.x) / kCell), 0, columns_ - 1); };
  const auto row_of = [&](double y) { return std::clamp(static_cast<int>((y - where_.y) / kCell), 0, rows - 1); };
  for (int r = row_of(std::min<double>(n.y, ahead_y) - side); r <= row_of(std::max<double>(n.y, ahead_y) + side); ++r)
    for (int c = column_of(std::min<double>(n.x, ahead_x) - side); c <= column_of(std::max<double>(n.x, ahead_x) + side); ++c)
      for (int id : cells_[static_cast<std::size_t>(r * columns_ + c)]) {
        if (id == node) continue;
        const Node& m = nodes_[static_cast<std::size_t>(id)];
        const double dx = m.x - n.x, dy = m.y - n.y, d = std::hypot(dx, dy);
        if (d < 0.3 || d > reach) continue;
        const double cos_out = (dx * tx + dy * ty) / d;
        // The longer the way without ink, the straighter it must be.
        const double least = d < kAdjacent ? 0.5 : d < 10 ? 0.76 : d < kShortGap ? 0.87 : 0.94;
        if (cos_out < least) continue;
        const Way there = WayOf(id);
        const double other = (dx * there.x + dy * there.y) / d;
        if (std::abs(other) < least) continue;
        const bool in_along = other > 0;
        if (d > kShortGap && m.inked && HasNext(id, !in_along)) continue;
        const bool on_ridge = d < kAdjacent && n.inked && m.inked;
        double cost = on_ridge ? (n.covered || m.covered ? kCovered : kInked) * d : GapCost(n, m, d);
        cost += TurnCost(cos_out) + TurnCost(std::abs(other));
        if (on_ridge) {
          cost += kForeign * d * 0.5 * (n.foreign + m.foreign);
          const double bend = std::acos(std::min(1.0, std::abs(tx * there.x + ty * there.y))) - kSway - kTightest * d;
          if (bend > 0.0) cost += kBend * bend * bend;
        } else if (d > kDashGap && m.inked && n.inked) {
          cost += kForeignAcross * (n.foreign + m.foreign);
        }
        if (n.inked && m.inked) cost += kInkChange * std::max(0.0, std::hypot(n.a - m.a, n.b - m.b) - kInkNoise);
        visit(id, in_along, cost, d);
      }
}

std::vector<std::vector<WalkState>> RidgeWalk::Walk(const std::vector<WalkState>& from, std::vector<WalkState>& to,
                                                    const std::vector<ImagePoint>& expected, double room) {
  const std::size_t states = 2 * nodes_.size();
  constexpr double kFar = std::numeric_limits<double>::infinity();
  std::vector<double> best(states, kFar), stray(nodes_.size(), -1.0);
  std::vector<int> came(states, -1);
  const auto state_of = [](int node, bool along) { return 2 * node + (along ? 0 : 1); };
  const auto stray_of = [&](int node) {
    double& known = stray[static_cast<std::size_t>(node)];
    if (known < 0) {
      const Node& n = nodes_[static_cast<std::size_t>(node)];
      double nearest = 1e18;
      for (const ImagePoint& e : expected) nearest = std::min(nearest, (e.x - n.x) * (e.x - n.x) + (e.y - n.y) * (e.y - n.y));
      known = kStray * nearest / (room * room);
    }
    return known;
  };
  using Entry = std::pair<double, int>;
  std::priority_queue<Entry, std::vector<Entry>, std::greater<>> open;
  for (const WalkState& s : from) {
    const int id = state_of(s.node, s.along);
    if (s.cost < best[static_cast<std::size_t>(id)]) {
      best[static_cast<std::size_t>(id)] = s.cost;
      open.emplace(s.cost, id);
    }
  }
  std::vector<char> wanted(states, 0);
  std::size_t left = 0;
  for (const WalkState& s : to) {
    char& w = wanted[static_cast<std::size_t>(state_of(s.node, s.along))];
    left += w == 0 ? 1 : 0;
    w = 1;
  }
  double enough = kFar;  // beyond the cheapest arrival others are worth a little more only
  while (!open.empty() && left > 0) {
    const auto [cost, id] = open.top();
    open.pop();
    if (cost > best[static_cast<std::size_t>(id)]) continue;
    if (cost > enough) break;
    if (wanted[static_cast<std::size_t>(id)] != 0) {
      wanted[static_cast<std::size_t>(id)] = 0;
      --left;
      enough = std::min(enough, cost + 12.0);
    }
    ForSteps(id / 2, id % 2 == 0, [&, cost = cost, id = id](int node, bool along, double step, double length) {
      const bool on_ink = length < kAdjacent && OnInk(node);
      const double off = (on_ink ? kStrayOnInk : 1.0) * stray_of(node);
      if (off > 4 * kStray) return;  // out of the question
      const double next = cost + step + off * length;
      const auto s = static_cast<std::size_t>(state_of(node, along));
      if (next >= best[s]) return;
      best[s] = next;
      came[s] = id;
      open.emplace(next, static_cast<int>(s));
    });
  }
  std::vector<std::vector<WalkState>> ways(to.size());
  for (std::size_t k = 0; k < to.size(); ++k) {
    int s = state_of(to[k].node, to[k].along);
    to[k].cost += best[static_cast<std::size_t>(s)];
    if (best[static_cast<std::size_t>(s)] == kFar) continue;
    for (; s >= 0; s = came[static_cast<std::size_t>(s)]) ways[k].push_back({s / 2, s % 2 == 0, best[static_cast<std::size_t>(s)]});
    std::reverse(ways[k].begin(), ways[k].end());
  }
  return ways;
}

std::vector<WalkState> RidgeWalk::ToEndOfInk(const WalkState& state, double reach) const {
  std::vector<WalkState> way;
  if (!OnInk(state.node)) return way;
  WalkState at = state;
  for (double gone = 0; gone <= reach;) {
    WalkState next;
    double best = 1e9, length = 0;
    ForSteps(at.node, at.along, [&](int node, bool along, double cost, double d) {
      if (d < kAdjacent && nodes_[static_cast<std::size_t>(node)].inked && cost / d < best) {
        best = cost / d;
        length = d;
        next = {node, along, 0.0};
      }
    });
    if (next.node < 0) return way;
    way.push_back(next);
    gone += length;
    at = next;
  }
  return {};
}

}  // namespace islebook
