#pragma once
// PNG files, quickly.

#include <cstdint>
#include <vector>

#include <opencv2/core/mat.hpp>

namespace islebook {

// 8 bits, one channel (gray) or three (BGR). The same bytes for the same picture.
std::vector<std::uint8_t> EncodePng(const cv::Mat& picture);

}  // namespace islebook
