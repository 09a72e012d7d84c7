#pragma once
// Where the paper lies on a photograph: a large, smooth, bright area whose surroundings are darker or textured.

#include <string>

#include <opencv2/core/mat.hpp>

namespace islebook {

struct PaperOutline {
  cv::Mat1b mask;     // at the size of the picture given: 255 on paper, held a few pixels inside its edge; empty: all of it is paper
  double part = 1.0;  // of the picture that is paper
  std::string note;
};

// `small`: the sheet, dark on light, reduced so that its longer side has about 1000 pixels or fewer. `min_area`: smallest part that is believed.
PaperOutline FindPaper(const cv::Mat3b& small, double min_area);

}  // namespace islebook
