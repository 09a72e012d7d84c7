#pragma once
// The cheapest walk along ink from one place to another: from ridge point to ridge point, straight on over crossings, between dashes and under labels, without
// sharp turns and without changing from one ink to another. Internal to curves.

#include <cstdint>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "digitizer/page/page.h"
#include "digitizer/ridges/ridge_points.h"
#include "digitizer/sheet/points.h"

namespace islebook {

// A ridge point passed in one of its two directions, or a place without ink that a person pointed at. `cost`: what it took to come here, in px of blank paper.
struct WalkState {
  int node = -1;
  bool along = true;  // in the direction of the node's tangent
  double cost = 0.0;
};

// What a cover says: other ink than a curve's is dear to follow; under print a line is not seen and is carried on.
inline constexpr unsigned char kGridThere = 128;
inline constexpr unsigned char kPrintThere = 255;

class RidgeWalk {
 public:
  // The part of the page inside `where`. `cover`, of the page's size: what stands there besides curves. `through`: places of the curve, which show what ink is
  // its own.
  RidgeWalk(const Page& page, const cv::Mat1b& cover, cv::Rect where, const std::vector<ImagePoint>& through, double hand_px);

  // Where a curve that was pointed at may pass: ridge points within `reach` px, dearer the farther off, and the place itself. Both directions of each.
  std::vector<WalkState> Near(ImagePoint at, double reach);

  // The cheapest way from any of `from` (their costs count) to every one of `to`, which gets its cost added to what the way took; those not reached get
  // infinity. `expected`: about where the way runs; the farther off, measured in `room`, the dearer. Returns for each of `to` the states passed, in order.
  std::vector<std::vector<WalkState>> Walk(const std::vector<WalkState>& from, std::vector<WalkState>& to, const std::vector<ImagePoint>& expected,
                                           double room);

  ImagePoint At(int node) const { return {nodes_[static_cast<std::size_t>(node)].x, nodes_[static_cast<std::size_t>(node)].y}; }
  ImagePoint Direction(const WalkState& state) const;  // unit vector
  bool OnInk(int node) const { return nodes_[static_cast<std::size_t>(node)].inked; }
  double Level(int node) const { return nodes_[static_cast<std::size_t>(node)].level; }

  // The ridge points that carry on from here as far as `reach` px, if the ridge ends within that; else none.
  std::vector<WalkState> ToEndOfInk(const WalkState& state, double reach) const;

 private:
  struct Node {
    float x, y, tx, ty;
    float level;  // ink on the line, 0..255
    float a, b;   // its color in Lab, without lightness
    float mass;   // ink across the line, as px of full ink
    bool inked;
    bool covered;          // the grid's own ink
    float foreign = 0.0F;  // 0..1, how much the ink is unlike the curve's
  };
  struct Way {
    float x = 0.0F, y = 0.0F;
  };
  struct Step {
    int node;
    bool along;
    float cost;
  };

  int AddNode(const Node& node);
  int CellOf(float x, float y) const;
  bool HasNext(int node, bool along) const;
  template <typename Visit>
  void ForSteps(int node, bool along, Visit visit) const;
  double GapCost(const Node& a, const Node& b, double length) const;
  float MassAt(const RidgePoint& p) const;
  void LearnInk(const std::vector<ImagePoint>& through);
  // The ridge's direction over some px, which crossing lines do not bend.
  Way WayOf(int node) const;

  const Page& page_;
  const cv::Mat1b& cover_;
  cv::Rect where_;
  double hand_px_;
  int columns_ = 0;
  std::vector<Node> nodes_;
  std::vector<std::vector<int>> cells_;
  mutable std::vector<Way> ways_;          // per node: WayOf, (0, 0) where it was not looked at
  mutable std::vector<std::int8_t> ends_;  // per state: 1 the ridge goes on, 0 it ends, -1 not looked at
};

}  // namespace islebook
