#pragma once
// Small picture files made in memory, in every format that sheets come in.

#include <cstdint>
#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>

namespace islebook::testing {

using FileBytes = std::vector<std::uint8_t>;

// A picture whose four corners differ, so that every turn shows: red top left, green top right, blue bottom right, gray bottom left; paper between.
cv::Mat3b CornersPicture(int width = 120, int height = 80);

// `exif`: raw EXIF block to store, may be empty.
FileBytes MakeJpeg(const cv::Mat3b& picture, const FileBytes& exif = {}, int quality = 98, bool gray = false);
FileBytes MakeExif(int orientation, bool little_endian = true);

struct PngForm {
  int bit_depth = 8;
  bool gray = false;
  bool palette = false;
  int alpha = -1;  // 0..255 for the whole picture, -1 none
  bool interlaced = false;
};
FileBytes MakePng(const cv::Mat3b& picture, const PngForm& form = {});
// A PNG whose header claims a size; no pixels follow.
FileBytes MakePngHeader(std::uint32_t width, std::uint32_t height);
FileBytes MakeTiff(const cv::Mat3b& picture, int orientation = 1, int pages = 1);
FileBytes MakeWebp(const cv::Mat3b& picture);
FileBytes MakeBmp(const cv::Mat3b& picture, bool top_down = false);
FileBytes MakePpm(const cv::Mat3b& picture);
// One page of width_pt x height_pt with a filled square of side 36 pt, its lower left corner at (x, y) pt.
FileBytes MakePdf(double width_pt, double height_pt, double x, double y, int rotate = 0);
// One page that a scan fills, at `dpi`, its pixels stored as they are; in `strips` pictures, one below the other.
FileBytes MakeScanPdf(const cv::Mat3b& scan, double dpi, int strips = 1);
FileBytes FromText(const std::string& text);

}  // namespace islebook::testing
