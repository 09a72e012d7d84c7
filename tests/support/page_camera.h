#pragma once
// A bent page before a camera: from page pixels to picture pixels and back.

#include <vector>

#include "mapstore/map/performance_map.h"
#include "tests/support/random.h"

namespace islebook::paint {

class PageCamera {
 public:
  // The page of `page_width` x `page_height` px fills about `fill` of the picture.
  PageCamera(int page_width, int page_height, int picture_width, int picture_height, double harshness, Random& random);

  Point2 PictureFromPage(Point2 page) const;
  // Newton from a guess; picture pixels that see no page run off to far places of the page's plane.
  Point2 PageFromPicture(Point2 picture, Point2 guess) const;

  double tilt_x = 0, tilt_y = 0, roll = 0;  // degrees
  double lens = 0;                          // first radial coefficient
  double bend = 0;                          // slope of the page at its edge

 private:
  double page_half_, center_x_, center_y_;    // page px
  double focal_, principal_x_, principal_y_;  // picture px
  double rotation_[3][3];
  double distance_ = 3, shift_x_ = 0, shift_y_ = 0;
  double bend_skew_ = 0;        // cubic part
  std::vector<double> across_;  // arc length u -> place across, from -2 to 2

  double Slope(double u) const { return bend * u + bend_skew_ * (u * u - 0.3); }
  double Height(double u) const { return bend * u * u / 2 + bend_skew_ * (u * u * u / 3 - 0.3 * u); }
  double Across(double u) const;
};

}  // namespace islebook::paint
