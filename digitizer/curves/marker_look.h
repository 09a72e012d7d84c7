#pragma once
// Marker look: the ink in a disc about a place, brought to one size so that markers can be compared. Internal to curves.

#include <vector>

#include <opencv2/core/mat.hpp>

#include "digitizer/sheet/points.h"

namespace islebook {

inline constexpr double kLookRim = 1.08;  // of the marker's radius: how far a look reaches

// Ink at a fixed grid of places in the disc, in the grid's order.
using MarkerLook = std::vector<float>;

MarkerLook LookAt(const cv::Mat1b& ink, ImagePoint center, double radius_px);
// The same places, as offsets from the center in radii.
const std::vector<cv::Point2f>& LookPlaces();
// Correlation, -1..1; of the places where `seen` is not 0 if it is given.
double Likeness(const MarkerLook& a, const MarkerLook& b, const std::vector<char>* seen = nullptr);
// Place by place the median.
MarkerLook MedianLook(const std::vector<const MarkerLook*>& looks);

}  // namespace islebook
