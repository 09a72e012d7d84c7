#pragma once
// The ink of a page as connected blobs at a ladder of thresholds, each blob inside one of the step below: letters that touch a pale grid line
// or a blurred neighbor come free at a higher step. Runs of pixels, not label pictures, so twelve megapixels cost a few hundredths of a second.

#include <cstddef>
#include <span>
#include <vector>

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>

namespace islebook {

struct InkRun {
  int y = 0;
  int x0 = 0, x1 = 0;  // pixels x0 .. x1 - 1
  int blob = -1;       // at this run's step
};

struct InkBlob {
  int parent = -1;  // blob of the step below; -1 at the lowest
  cv::Rect box;
  int area = 0;      // pixels
  int peak = 0;      // darkest pixel
  int row_runs = 0;  // runs along rows and along columns: they give the outline's length
  int column_runs = 0;
};

class InkTree {
 public:
  // `ink` 0 (bare) to 255; only `extent` is looked at. `steps` rise.
  InkTree(const cv::Mat1b& ink, cv::Rect extent, std::vector<int> steps);

  int step_count() const { return static_cast<int>(steps_.size()); }
  int threshold(int step) const { return steps_[static_cast<std::size_t>(step)]; }
  const std::vector<InkBlob>& blobs(int step) const { return layers_[static_cast<std::size_t>(step)].blobs; }
  // Runs of one blob, top to bottom.
  std::vector<InkRun> RunsOf(int step, int blob) const;
  // All runs of a row, left to right.
  std::span<const InkRun> Row(int step, int y) const;
  // Blobs of step + 1 inside this blob.
  std::span<const int> Children(int step, int blob) const;

 private:
  struct Layer {
    std::vector<InkRun> runs;         // by row, then x
    std::vector<std::size_t> row_at;  // first run of each row of the extent; one more at the end
    std::vector<InkBlob> blobs;
    std::vector<int> run_order;  // run indices by blob
    std::vector<int> run_start;  // per blob, into run_order; one more at the end
    std::vector<int> child_order;
    std::vector<int> child_start;
  };
  void Label(const cv::Mat1b& ink, Layer& layer, const std::vector<int>& run_parents);

  cv::Rect extent_;
  std::vector<int> steps_;
  std::vector<Layer> layers_;
};

}  // namespace islebook
