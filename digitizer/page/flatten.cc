#include "digitizer/page/flatten.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <opencv2/core.hpp>

namespace islebook {
namespace {

// 255 over the paper's level, at any full-size row: linear between the reduced rows and columns.
class PaperGain {
 public:
  PaperGain(const cv::Mat3f& level, cv::Size full) : level_(level), full_(full) {
    column_.resize(static_cast<std::size_t>(full.width));
    weight_.resize(static_cast<std::size_t>(full.width));
    const float scale = static_cast<float>(level.cols) / static_cast<float>(full.width);
    for (int x = 0; x < full.width; ++x) {
      const float at = std::clamp((static_cast<float>(x) + 0.5F) * scale - 0.5F, 0.0F, static_cast<float>(level.cols - 1));
      column_[static_cast<std::size_t>(x)] = std::min(static_cast<int>(at), std::max(0, level.cols - 2));
      weight_[static_cast<std::size_t>(x)] = at - static_cast<float>(column_[static_cast<std::size_t>(x)]);
    }
    for (auto& row : rows_) row.resize(3 * static_cast<std::size_t>(full.width));
  }

  // Three floats a pixel, BGR, for row y.
  void Row(int y, std::vector<float>& gain) {
    const float scale = static_cast<float>(level_.rows) / static_cast<float>(full_.height);
    const float at = std::clamp((static_cast<float>(y) + 0.5F) * scale - 0.5F, 0.0F, static_cast<float>(level_.rows - 1));
    const int first = std::min(static_cast<int>(at), std::max(0, level_.rows - 2)), second = std::min(first + 1, level_.rows - 1);
    if (have_[0] != first && have_[1] == first) std::swap(rows_[0], rows_[1]), std::swap(have_[0], have_[1]);
    Need(0, first);
    Need(1, second);
    const float w = at - static_cast<float>(first);
    gain.resize(rows_[0].size());
    const float *a = rows_[0].data(), *b = rows_[1].data();
    for (std::size_t i = 0; i < gain.size(); ++i) gain[i] = a[i] + w * (b[i] - a[i]);
  }

 private:
  void Need(int slot, int row) {
    if (have_[static_cast<std::size_t>(slot)] == row) return;
    have_[static_cast<std::size_t>(slot)] = row;
    float* out = rows_[static_cast<std::size_t>(slot)].data();
    for (int x = 0; x < full_.width; ++x, out += 3) {
      const int left = column_[static_cast<std::size_t>(x)], right = std::min(left + 1, level_.cols - 1);
      const float w = weight_[static_cast<std::size_t>(x)];
      const cv::Vec3f &l = level_(row, left), &r = level_(row, right);
      for (int c = 0; c < 3; ++c) out[c] = 255.0F / (l[c] + w * (r[c] - l[c]));
    }
  }

  const cv::Mat3f& level_;
  cv::Size full_;
  std::vector<int> column_;
  std::vector<float> weight_;
  std::array<std::vector<float>, 2> rows_;
  std::array<int, 2> have_{-1, -1};
};

// Lightness against the paper, 255 = bare, by luminance and in the darkest channel.
struct Lightness {
  float luminance, darkest;
};

inline Lightness LightnessOf(const std::uint8_t* p, const float* gain, int flip, float* ratio) {
  for (int c = 0; c < 3; ++c) ratio[c] = static_cast<float>(p[c] ^ flip) * gain[c];
  return {0.114F * ratio[0] + 0.587F * ratio[1] + 0.299F * ratio[2], std::min(std::min(ratio[0], ratio[1]), ratio[2])};
}

inline std::uint8_t ToByte(float value) { return static_cast<std::uint8_t>(std::clamp(value, 0.0F, 255.0F) + 0.5F); }

float Percentile(std::vector<float>& values, double part) {
  if (values.empty()) return 0.0F;
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(part * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

}  // namespace

InkScale MeasureInk(const cv::Mat3b& pixels, const cv::Mat3f& paper_level, const cv::Mat1b& paper, bool inverted) {
  PaperGain paper_gain(paper_level, pixels.size());
  const int step = std::max(1, pixels.rows / 200), flip = inverted ? 255 : 0;
  std::vector<float> gain, bare, bare_chroma, inked;
  for (int y = step / 2; y < pixels.rows; y += step) {
    paper_gain.Row(y, gain);
    for (int x = 0; x < pixels.cols; ++x) {
      if (!paper.empty() && paper(y, x) == 0) continue;
      float ratio[3];
      const Lightness light = LightnessOf(pixels(y, x).val, &gain[3 * static_cast<std::size_t>(x)], flip, ratio);
      const float dark = 255.0F - light.luminance;
      if (dark > 45.0F) {
        inked.push_back(dark);
      } else if (dark < 16.0F && x % 4 == 0) {
        bare.push_back(dark);
        bare_chroma.push_back(light.luminance - light.darkest);
      }
    }
  }
  InkScale scale;
  // The blackest tenth of the inked pixels shows how black print gets here.
  const float black = inked.size() < 50 ? 255.0F : Percentile(inked, 0.95);
  scale.gain = std::clamp(245.0F / std::max(black, 1.0F), 1.0F, 2.5F);
  const float middle = Percentile(bare, 0.5);
  for (float& value : bare) value = std::abs(value - middle);
  scale.noise = 1.4826 * Percentile(bare, 0.5) * scale.gain;
  const float chroma_high = Percentile(bare_chroma, 0.98);
  scale.chroma_gate = std::clamp(chroma_high * 1.15F, 5.0F, 40.0F) / 255.0F;
  return scale;
}

void Flatten(const cv::Mat3b& pixels, const cv::Mat3f& paper_level, const cv::Mat1b& paper, bool inverted, const InkScale& scale, cv::Mat1b& ink,
             cv::Mat3b& color) {
  ink.create(pixels.size());
  color.create(pixels.size());
  const int flip = inverted ? 255 : 0;
  const float gate = scale.chroma_gate * 255.0F, ink_gain = scale.gain;
  cv::parallel_for_(cv::Range(0, pixels.rows), [&](const cv::Range& range) {
    PaperGain paper_gain(paper_level, pixels.size());
    std::vector<float> gain;
    for (int y = range.start; y < range.end; ++y) {
      const std::uint8_t* mask = paper.empty() ? nullptr : paper[y];
      std::uint8_t* ink_row = ink[y];
      std::uint8_t* color_row = color[y]->val;
      int from = 0, to = pixels.cols;
      if (mask != nullptr) {
        while (from < to && mask[from] == 0) ++from;
        while (to > from && mask[to - 1] == 0) --to;
        std::fill(ink_row, ink_row + from, std::uint8_t{0});
        std::fill(ink_row + to, ink_row + pixels.cols, std::uint8_t{0});
        std::fill(color_row, color_row + 3 * from, std::uint8_t{255});
        std::fill(color_row + 3 * to, color_row + 3 * pixels.cols, std::uint8_t{255});
        if (from == to) continue;
      }
      paper_gain.Row(y, gain);
      const std::uint8_t* p = pixels[y]->val;
      const float* g = gain.data();
      for (int x = from; x < to; ++x) {
        float ratio[3];
        const Lightness light = LightnessOf(p + 3 * x, g + 3 * x, flip, ratio);
        const float dark = 255.0F - light.luminance + std::max(0.0F, light.luminance - light.darkest - gate);
        ink_row[x] = ToByte(dark * ink_gain);
        for (int c = 0; c < 3; ++c) color_row[3 * x + c] = ToByte(ratio[c]);
      }
      if (mask == nullptr) continue;
      for (int x = from; x < to; ++x) {
        if (mask[x] != 0) continue;
        ink_row[x] = 0;
        std::fill(color_row + 3 * x, color_row + 3 * x + 3, std::uint8_t{255});
      }
    }
  });
}

double EstimateBlur(const cv::Mat1b& ink) {
  // A blurred step of height h has the steepest slope h / (sigma sqrt(2 pi)); the steepest tenth of the strong edges are the sharp ones.
  std::vector<float> sigmas;
  constexpr int kReach = 4;
  const int step = std::max(1, ink.rows / 400);
  for (int y = kReach; y < ink.rows - kReach; y += step) {
    const std::uint8_t* row = ink[y];
    for (int x = kReach; x < ink.cols - kReach; ++x) {
      const int slope = row[x + 1] - row[x - 1];
      if (std::abs(slope) < 40 || std::abs(slope) < std::abs(row[x] - row[x - 2]) || std::abs(slope) < std::abs(row[x + 2] - row[x])) continue;
      // Mostly across a steep line: the slope along the column is small.
      if (3 * std::abs(ink(y + 1, x) - ink(y - 1, x)) > std::abs(slope)) continue;
      int low = 255, high = 0;
      for (int i = -kReach; i <= kReach; ++i) low = std::min<int>(low, row[x + i]), high = std::max<int>(high, row[x + i]);
      if (high - low < 110) continue;
      const float sharpest = std::max({std::abs(row[x + 1] - row[x]), std::abs(row[x] - row[x - 1])});
      const float sigma = static_cast<float>(high - low) / (sharpest * 2.5066F);
      sigmas.push_back(std::sqrt(std::max(0.0F, sigma * sigma - 1.0F / 12.0F)));
    }
  }
  if (sigmas.size() < 20) return 0.0;
  return Percentile(sigmas, 0.4);
}

}  // namespace islebook
