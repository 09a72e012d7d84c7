#pragma once
// The full-size pass: each pixel against the paper's level at its place.

#include <opencv2/core/mat.hpp>

namespace islebook {

// How darkness becomes ink.
struct InkScale {
  float gain = 1.0F;          // darkness 1/gain is full ink
  float chroma_gate = 0.05F;  // darkness of the darkest channel beyond the luminance's by more than this adds to ink (colored lines)
  double noise = 0.0;         // standard deviation of ink on bare paper, 0..255
};

// Reads the scale off a sample of rows.
InkScale MeasureInk(const cv::Mat3b& pixels, const cv::Mat3f& paper_level, const cv::Mat1b& paper, bool inverted);

// `paper_level` is at a reduced size; `paper` at full size, may be empty. Fills ink and color.
void Flatten(const cv::Mat3b& pixels, const cv::Mat3f& paper_level, const cv::Mat1b& paper, bool inverted, const InkScale& scale, cv::Mat1b& ink,
             cv::Mat3b& color);

// Standard deviation of the blur of sharp edges, from the steepest strokes.
double EstimateBlur(const cv::Mat1b& ink);

}  // namespace islebook
