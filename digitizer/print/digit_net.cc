#include "digitizer/print/digit_net.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace islebook {
namespace {

constexpr int kZeroSign = 45;  // signs are '#' to '~' without the backslash: 91 steps, the middle one zero

struct Layer {
  std::size_t inputs = 0, outputs = 0;
  std::vector<float> weights, bias;
};

std::vector<Layer> Unpack() {
  std::vector<Layer> out;
  for (const NetLayer& packed : DigitLayers()) {
    Layer layer{packed.inputs, packed.outputs, std::vector<float>(packed.inputs * packed.outputs), {packed.bias, packed.bias + packed.outputs}};
    for (std::size_t i = 0; i < layer.weights.size(); ++i) {
      const char c = packed.signs[i];
      const int step = c - '#' - (c > '\\' ? 1 : 0) - kZeroSign;
      layer.weights[i] = static_cast<float>(step) * packed.step[i % packed.outputs];
    }
    out.push_back(std::move(layer));
  }
  return out;
}

}  // namespace

std::array<float, kNetAnswers> JudgeCharacter(std::span<const float> ink) {
  static const std::vector<Layer> layers = Unpack();
  std::vector<float> from(ink.begin(), ink.end()), to;
  for (std::size_t k = 0; k < layers.size(); ++k) {
    const Layer& layer = layers[k];
    to = layer.bias;
    for (std::size_t i = 0; i < layer.inputs; ++i) {
      const float x = from[i];
      if (x <= 0.0F) continue;  // bare paper, or a unit at rest
      const float* w = layer.weights.data() + i * layer.outputs;
      for (std::size_t o = 0; o < layer.outputs; ++o) to[o] += x * w[o];
    }
    if (k + 1 < layers.size())
      for (float& v : to) v = std::max(v, 0.0F);
    std::swap(from, to);
  }
  std::array<float, kNetAnswers> answer{};
  std::copy_n(from.begin(), kNetAnswers, answer.begin());
  const float most = *std::max_element(answer.begin(), answer.end());
  float sum = 0.0F;
  for (const float v : answer) sum += std::exp(v - most);
  const float all = most + std::log(sum);
  for (float& v : answer) v -= all;
  return answer;
}

}  // namespace islebook
