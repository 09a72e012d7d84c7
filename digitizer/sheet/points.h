#pragma once
// The frames a point can stand in. Names of mappings say both: frame_from_image, axes_from_frame.

namespace islebook {

// Pixels of the sheet as the person sees it (EXIF orientation applied). (0,0) is the center of the top-left pixel; y points down.
struct ImagePoint {
  double x = 0.0;
  double y = 0.0;
};

// The plot frame made straight: u = 0 at its left side and 1 at its right side, v = 0 at its bottom and 1 at its top.
struct FramePoint {
  double u = 0.0;
  double v = 0.0;
};

// Axis values in the printed units.
struct AxesPoint {
  double x = 0.0;
  double y = 0.0;
};

}  // namespace islebook
