#pragma once
// Drawing over a sheet in our own look: paper, ink and two spot colors. Widths and text sizes are in units that grow with the picture, so that a
// drawing reads alike on a small and on a large sheet.

#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>

#include "digitizer/sheet/points.h"

namespace islebook {

namespace look {  // BGR
inline const cv::Scalar kPaper{0xF4, 0xF9, 0xFB};
inline const cv::Scalar kInk{0x33, 0x2B, 0x1D};
inline const cv::Scalar kFaint{0x9A, 0x94, 0x8C};
inline const cv::Scalar kOxide{0x2D, 0x50, 0xB2};
inline const cv::Scalar kSea{0x75, 0x6E, 0x0B};
inline const cv::Scalar kOchre{0x00, 0x8B, 0xC5};
}  // namespace look

enum class Stroke { kSolid, kDashed, kDotted, kDashDot };

class Pen {
 public:
  // A canvas that shows the sheet, brought to a width that reads well; `strength` 1 shows it as it is, less fades it towards paper.
  Pen(const cv::Mat& sheet, double strength);

  // Sheet pixels in, canvas out.
  void Line(const std::vector<ImagePoint>& points, const cv::Scalar& color, double width, Stroke stroke = Stroke::kSolid, bool closed = false);
  void Dot(ImagePoint at, const cv::Scalar& color, double radius, bool filled = true);
  // Text with its center at the place, on a pad of paper. Returns its box on the canvas.
  cv::Rect Text(ImagePoint center, const std::string& text, const cv::Scalar& color, double size = 1.0);
  cv::Rect TextBox(ImagePoint center, const std::string& text, double size = 1.0) const;
  // A number in a disc.
  void Flag(ImagePoint at, int number);
  // Tilted box, e.g. of a word.
  void Box(ImagePoint center, double width_px, double height_px, double angle_deg, const cv::Scalar& color, double line_width);

  // Ticks in sheet pixels along all four edges, their numbers at the top and on the left.
  void PixelScales();

  // Adds lines of text below the sheet, wrapped to its width.
  void Caption(const std::vector<std::pair<std::string, cv::Scalar>>& lines);

  double unit_px() const { return unit_ / scale_; }  // one unit in sheet pixels
  double px_per_canvas_px() const { return 1.0 / scale_; }
  const cv::Mat3b& canvas() const { return canvas_; }

 private:
  cv::Point2d ToCanvas(ImagePoint p) const { return {(p.x + 0.5) * scale_ - 0.5, (p.y + 0.5) * scale_ - 0.5}; }

  cv::Mat3b canvas_;
  double scale_ = 1.0;  // canvas pixels per sheet pixel
  double unit_ = 1.0;   // canvas pixels
};

// What the built-in stroke font can show: other letters become their plain relatives or a question mark.
std::string PlainText(const std::string& utf8);

}  // namespace islebook
