#include "digitizer/print/ink_tree.h"

#include <algorithm>
#include <cstdint>
#include <cstring>
#include <numeric>
#include <utility>

namespace islebook {
namespace {

int Root(std::vector<int>& up, int i) {
  while (up[static_cast<std::size_t>(i)] != i) {
    up[static_cast<std::size_t>(i)] = up[static_cast<std::size_t>(up[static_cast<std::size_t>(i)])];
    i = up[static_cast<std::size_t>(i)];
  }
  return i;
}

}  // namespace

InkTree::InkTree(const cv::Mat1b& ink, cv::Rect extent, std::vector<int> steps)
    : extent_(extent & cv::Rect(0, 0, ink.cols, ink.rows)), steps_(std::move(steps)), layers_(steps_.size()) {
  for (std::size_t s = 0; s < steps_.size(); ++s) {
    Layer& layer = layers_[s];
    const int limit = steps_[s];
    std::vector<int> parents;  // blob of the step below, per run
    layer.row_at.reserve(static_cast<std::size_t>(extent_.height) + 1);
    for (int y = extent_.y; y < extent_.y + extent_.height; ++y) {
      layer.row_at.push_back(layer.runs.size());
      const std::uint8_t* row = ink[y];
      const auto scan = [&](int from, int to, int parent) {
        int x = from;
        while (x < to) {
          if (row[x] < limit) {
            ++x;
            continue;
          }
          const int x0 = x;
          while (x < to && row[x] >= limit) ++x;
          layer.runs.push_back({y, x0, x, -1});
          parents.push_back(parent);
        }
      };
      if (s > 0) {
        for (const InkRun& run : Row(static_cast<int>(s) - 1, y)) scan(run.x0, run.x1, run.blob);
        continue;
      }
      const int end = extent_.x + extent_.width;
      int x = extent_.x;
      while (x < end) {
        // Bare paper goes by sixteen pixels at a time.
        if (x + 16 <= end) {
          std::uint8_t most = 0;
          for (int i = 0; i < 16; ++i) most = std::max(most, row[x + i]);
          if (most < limit) {
            x += 16;
            continue;
          }
        }
        if (row[x] < limit) {
          ++x;
          continue;
        }
        const int x0 = x;
        while (x < end && row[x] >= limit) ++x;
        layer.runs.push_back({y, x0, x, -1});
        parents.push_back(-1);
      }
    }
    layer.row_at.push_back(layer.runs.size());
    Label(ink, layer, parents);
  }
  for (std::size_t s = 0; s < layers_.size(); ++s) {
    Layer& layer = layers_[s];
    layer.child_start.assign(layer.blobs.size() + 1, 0);
    if (s + 1 == layers_.size()) continue;
    const std::vector<InkBlob>& above = layers_[s + 1].blobs;
    for (const InkBlob& b : above) ++layer.child_start[static_cast<std::size_t>(b.parent) + 1];
    std::partial_sum(layer.child_start.begin(), layer.child_start.end(), layer.child_start.begin());
    layer.child_order.resize(above.size());
    std::vector<int> next(layer.child_start.begin(), layer.child_start.end() - 1);
    for (std::size_t i = 0; i < above.size(); ++i)
      layer.child_order[static_cast<std::size_t>(next[static_cast<std::size_t>(above[i].parent)]++)] = static_cast<int>(i);
  }
}

void InkTree::Label(const cv::Mat1b& ink, Layer& layer, const std::vector<int>& run_parents) {
  std::vector<InkRun>& runs = layer.runs;
  std::vector<int> up(runs.size());
  std::iota(up.begin(), up.end(), 0);
  for (int r = 1; r < extent_.height; ++r) {
    std::size_t a = layer.row_at[static_cast<std::size_t>(r) - 1];
    const std::size_t a_end = layer.row_at[static_cast<std::size_t>(r)];
    std::size_t b = a_end;
    const std::size_t b_end = layer.row_at[static_cast<std::size_t>(r) + 1];
    while (a < a_end && b < b_end) {
      if (runs[a].x1 < runs[b].x0) {
        ++a;
      } else if (runs[b].x1 < runs[a].x0) {
        ++b;
      } else {  // touch, corners included
        const int ra = Root(up, static_cast<int>(a)), rb = Root(up, static_cast<int>(b));
        if (ra < rb) up[static_cast<std::size_t>(rb)] = ra;
        if (rb < ra) up[static_cast<std::size_t>(ra)] = rb;
        if (runs[a].x1 < runs[b].x1)
          ++a;
        else
          ++b;
      }
    }
  }
  for (std::size_t i = 0; i < runs.size(); ++i) {
    const int root = Root(up, static_cast<int>(i));
    if (root == static_cast<int>(i)) {
      runs[i].blob = static_cast<int>(layer.blobs.size());
      InkBlob blob;
      blob.parent = run_parents[i];
      blob.box = cv::Rect(runs[i].x0, runs[i].y, runs[i].x1 - runs[i].x0, 1);
      layer.blobs.push_back(blob);
    } else {
      runs[i].blob = runs[static_cast<std::size_t>(root)].blob;  // roots come first
    }
    InkBlob& blob = layer.blobs[static_cast<std::size_t>(runs[i].blob)];
    const int x0 = std::min(blob.box.x, runs[i].x0), x1 = std::max(blob.box.x + blob.box.width, runs[i].x1);
    blob.box.x = x0;
    blob.box.width = x1 - x0;
    blob.box.height = runs[i].y - blob.box.y + 1;
    blob.area += runs[i].x1 - runs[i].x0;
    ++blob.row_runs;
    const std::uint8_t* row = ink[runs[i].y];
    for (int x = runs[i].x0; x < runs[i].x1; ++x) blob.peak = std::max(blob.peak, static_cast<int>(row[x]));
    blob.column_runs += runs[i].x1 - runs[i].x0;  // less what the row above covers, below
  }
  for (int r = 1; r < extent_.height; ++r) {
    std::size_t a = layer.row_at[static_cast<std::size_t>(r) - 1];
    const std::size_t a_end = layer.row_at[static_cast<std::size_t>(r)];
    std::size_t b = a_end;
    const std::size_t b_end = layer.row_at[static_cast<std::size_t>(r) + 1];
    while (a < a_end && b < b_end) {
      const int common = std::min(runs[a].x1, runs[b].x1) - std::max(runs[a].x0, runs[b].x0);
      if (common > 0) layer.blobs[static_cast<std::size_t>(runs[b].blob)].column_runs -= common;
      if (runs[a].x1 < runs[b].x1)
        ++a;
      else
        ++b;
    }
  }
  layer.run_start.assign(layer.blobs.size() + 1, 0);
  for (const InkRun& run : runs) ++layer.run_start[static_cast<std::size_t>(run.blob) + 1];
  std::partial_sum(layer.run_start.begin(), layer.run_start.end(), layer.run_start.begin());
  layer.run_order.resize(runs.size());
  std::vector<int> next(layer.run_start.begin(), layer.run_start.end() - 1);
  for (std::size_t i = 0; i < runs.size(); ++i)
    layer.run_order[static_cast<std::size_t>(next[static_cast<std::size_t>(runs[i].blob)]++)] = static_cast<int>(i);
}

std::vector<InkRun> InkTree::RunsOf(int step, int blob) const {
  const Layer& layer = layers_[static_cast<std::size_t>(step)];
  std::vector<InkRun> out;
  const int from = layer.run_start[static_cast<std::size_t>(blob)], to = layer.run_start[static_cast<std::size_t>(blob) + 1];
  out.reserve(static_cast<std::size_t>(to - from));
  for (int i = from; i < to; ++i) out.push_back(layer.runs[static_cast<std::size_t>(layer.run_order[static_cast<std::size_t>(i)])]);
  return out;
}

std::span<const InkRun> InkTree::Row(int step, int y) const {
  const Layer& layer = layers_[static_cast<std::size_t>(step)];
  const int r = y - extent_.y;
  if (r < 0 || r >= extent_.height) return {};
  const std::size_t from = layer.row_at[static_cast<std::size_t>(r)], to = layer.row_at[static_cast<std::size_t>(r) + 1];
  return {layer.runs.data() + from, to - from};
}

std::span<const int> InkTree::Children(int step, int blob) const {
  const Layer& layer = layers_[static_cast<std::size_t>(step)];
  const int from = layer.child_start[static_cast<std::size_t>(blob)], to = layer.child_start[static_cast<std::size_t>(blob) + 1];
  return {layer.child_order.data() + from, static_cast<std::size_t>(to - from)};
}

}  // namespace islebook
