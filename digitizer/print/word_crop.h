#pragma once
// A word cut out of the page for reading: turned level, digits brought to one height, ink that is not the word's painted out, contrast stretched.

#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "digitizer/print/print.h"

namespace islebook {

struct CropOptions {
  double digit_height = 24.0;  // px in the crop
  int white_rim = 10;          // px of white around
  double blur = 0.6;           // px in the crop, against pixel stairs
  double sharpen = 0.0;        // strength of an unsharp mask
};

// A part of the word in the crop, left to right.
struct CropPart {
  cv::Rect box;
  int area = 0;
  bool tall = false;     // a letter or digit
  bool on_base = false;  // small, standing on the base line: a point or comma
  bool hangs = false;    // reaches below the base line: a comma
};

struct WordCrop {
  cv::Mat1b image;  // dark print on white
  std::vector<CropPart> parts;
  double top = 0.0, base = 0.0;  // of the digits, rows of the crop
  int left = 0, right = 0;       // columns between which the word's box stands
};

WordCrop CropWord(const Page& page, const Word& word, double angle_deg, const CropOptions& options);

}  // namespace islebook
