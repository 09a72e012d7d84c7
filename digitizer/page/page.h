#pragma once
// The page: the sheet with its light and paper evened out, and where on the picture the paper lies.
// Nothing is warped here: every later stage works in the sheet's own pixels.

#include <optional>

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>

#include "digitizer/page/ground_panel.h"
#include "digitizer/sheet/sheet.h"
#include "digitizer/sheet/stage_report.h"

namespace islebook {

struct PageOptions {
  double paper_scale =
      0.017;  // size of the window that estimates bare paper, as a fraction of the longer side: wider than any stroke, narrower than printed tints
  double min_page_area = 0.08;  // a paper outline smaller than this part of the picture is not believed
  Result<void> Check() const;
};

struct Page {
  cv::Mat1b ink;          // darkness against the paper: 0 bare paper, 255 as black as print gets; colored ink counts by its contrast to the paper
  cv::Mat3b color;        // BGR with light and paper tint divided out: bare paper is near (255,255,255)
  cv::Mat1b paper;        // 255 where the page is, 0 on the desk around it; empty: all of the picture is page
  cv::Rect extent;        // bounding box of `paper` (the whole picture if empty)
  double noise = 0.0;     // standard deviation of `ink` on bare paper, in its own gray levels
  double blur_px = 0.0;   // estimated standard deviation of the blur of sharp edges
  bool inverted = false;  // light lines on dark ground; ink and color are already turned to dark on light
  std::optional<GroundPanel> panel;  // a plot on a tinted or dark ground; a dark one's lines are turned to dark on light
  cv::Mat1b light;                   // lines lighter than that ground, as ink; empty without one
  StageReport report;
};

Result<Page> FlattenPage(const Sheet& sheet, const PageOptions& options = {});

}  // namespace islebook
