#pragma once
// A plot whose ground is tinted or dark against the page around it: its edges take the place of a drawn frame, its grid may be lines of bare paper.

#include <array>
#include <optional>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "digitizer/sheet/points.h"

namespace islebook {

struct GroundPanel {
  std::array<std::vector<ImagePoint>, 4>
      edges;  // points on the top, right, bottom and left edge of the tint, px of the full picture, to a fraction of a pixel
  std::array<ImagePoint, 4> corners{};  // top left, top right, bottom right, bottom left
  bool dark = false;                    // so dark that it carries light lines
  double contrast = 0.0;                // gray levels between the page and the ground
};

// The largest four-sided ground darker than the page's; nullopt where there is none, or its edges are no clean steps.
// `small`: `pixels` reduced; `paper`: where the page lies on it, may be empty.
std::optional<GroundPanel> FindGroundPanel(const cv::Mat3b& pixels, const cv::Mat3b& small, const cv::Mat1b& paper = {});

// Light and dark exchanged inside a dark panel.
cv::Mat3b WithLightGround(const cv::Mat3b& pixels, const GroundPanel& panel);

// Lines lighter than the panel's ground, as ink: 255 as light as the page around it.
cv::Mat1b LightLines(const cv::Mat3b& pixels, const cv::Mat3b& small, const GroundPanel& panel);

}  // namespace islebook
