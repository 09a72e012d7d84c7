#pragma once
// The one thing that we need of EXIF: which way is up.

#include <cstdint>
#include <span>

#include <opencv2/core/mat.hpp>

namespace islebook {

// From an EXIF block: "Exif\0\0" and a TIFF header, or the TIFF header at once. 1 where the block is cut short, odd, or says nothing.
int ReadExifOrientation(std::span<const std::uint8_t> block);

// The picture as its orientation (1 to 8) means it to be seen. Source: EXIF 2.3, tag 0x0112.
cv::Mat3b TurnUpright(const cv::Mat3b& stored, int orientation);

}  // namespace islebook
