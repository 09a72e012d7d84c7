#include "digitizer/curves/ink_layers.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr double kApart = 0.14;          // rad between the directions in which two inks darken the paper, below which they are one color
constexpr double kLeastShare = 0.06;     // of the length of all lines: a color with less is none of the curves'
constexpr double kBlend = 0.06;          // rad: over this angle a pixel's ink goes over from one color to the next
constexpr double kShortest = 25.0;       // px: shorter chains say little of their color
constexpr double kOwnMass = 0.5;         // of the whole ink's mass along a chain, for the chain to be the layer's own
constexpr double kFurnitureShare = 0.7;  // of a chain's points on frame, grid or ticks
constexpr int kMostLayers = 4;
constexpr double kFaintest = 0.02;  // absorption, natural log: below it there is no color

// How much each channel is darker than paper. A pixel that ink covers in part, or that blur or compression mixed with paper, keeps its direction.
cv::Vec3f Darkness(const cv::Vec3b& bgr) {
  return {static_cast<float>(255 - bgr[0]) / 255.0F, static_cast<float>(255 - bgr[1]) / 255.0F, static_cast<float>(255 - bgr[2]) / 255.0F};
}

double AngleBetween(const cv::Vec3f& a, const cv::Vec3f& b) { return std::acos(std::clamp(a.dot(b) / (cv::norm(a) * cv::norm(b)), -1.0, 1.0)); }

struct ColoredChain {
  cv::Vec3f direction;
  double length;
};

std::vector<ColoredChain> ColorsOfChains(const Page& page, const RidgesFound& ridges, const AxesFound& axes, cv::Rect box) {
  std::vector<ColoredChain> out;
  for (std::size_t c = 0; c < ridges.chains.size(); ++c) {
    const RidgeChain& chain = ridges.chains[c];
    if (c < axes.chain_is_furniture.size() && axes.chain_is_furniture[c]) continue;
    if (chain.length_px < (chain.is_dash ? 4.0 : kShortest)) continue;
    cv::Vec3f sum(0, 0, 0);
    for (const ImagePoint& p : chain.points) {
      const cv::Point at(cvRound(p.x), cvRound(p.y));
      if (box.contains(at)) sum += Darkness(page.color(at));
    }
    const double size = cv::norm(sum);
    if (size > kFaintest * static_cast<double>(chain.points.size())) out.push_back({sum / static_cast<float>(size), chain.length_px});
  }
  return out;
}

// The longest lines lead; each takes along what is of its color.
std::vector<cv::Vec3f> GroupColors(std::vector<ColoredChain> chains) {
  double total = 0;
  for (const ColoredChain& c : chains) total += c.length;
  std::stable_sort(chains.begin(), chains.end(), [](const ColoredChain& a, const ColoredChain& b) { return a.length > b.length; });
  std::vector<cv::Vec3f> groups;
  while (!chains.empty() && groups.size() < kMostLayers) {
    cv::Vec3f mean = chains.front().direction;
    double length = 0;
    for (int round = 0; round < 3; ++round) {
      cv::Vec3f sum(0, 0, 0);
      length = 0;
      for (const ColoredChain& c : chains) {
        if (AngleBetween(c.direction, mean) > 0.6 * kApart) continue;
        sum += c.direction * static_cast<float>(c.length);
        length += c.length;
      }
      if (length > 0) mean = sum / static_cast<float>(cv::norm(sum));
    }
    if (length >= kLeastShare * total && std::ranges::all_of(groups, [&](const cv::Vec3f& g) { return AngleBetween(g, mean) > kApart; }))
      groups.push_back(mean);
    const auto before = chains.size();
    std::erase_if(chains, [&](const ColoredChain& c) { return AngleBetween(c.direction, mean) <= 0.6 * kApart; });
    if (chains.size() == before) chains.erase(chains.begin());
  }
  return groups;
}

// Each pixel's ink, shared out among the colors by how near its own color is to each.
std::vector<cv::Mat1b> ShareOutInk(const Page& page, const std::vector<cv::Vec3f>& colors, cv::Rect box) {
  std::vector<cv::Mat1b> shares;
  for (std::size_t k = 0; k < colors.size(); ++k) shares.emplace_back(page.ink.rows, page.ink.cols, static_cast<unsigned char>(0));
  // The color of a thin line is noisy pixel by pixel: it is averaged over its neighborhood, dark pixels counting most.
  cv::Mat3f darkness(box.size()), smooth;
  for (int y = 0; y < box.height; ++y)
    for (int x = 0; x < box.width; ++x) darkness(y, x) = Darkness(page.color(box.y + y, box.x + x));
  cv::GaussianBlur(darkness, smooth, {}, 0.7);
  for (int y = 0; y < box.height; ++y)
    for (int x = 0; x < box.width; ++x) {
      const int ink = page.ink(box.y + y, box.x + x);
      if (ink == 0) continue;
      const cv::Vec3f& a = smooth(y, x);
      const double size = cv::norm(a);
      if (size < kFaintest) continue;
      std::array<double, kMostLayers> weight{};
      double sum = 0;
      for (std::size_t k = 0; k < colors.size(); ++k) {
        const double off = std::acos(std::clamp(a.dot(colors[k]) / size, -1.0, 1.0)) / kBlend;
        weight[k] = std::exp(-0.5 * std::min(off * off, 200.0)) + 1e-30;
        sum += weight[k];
      }
      for (std::size_t k = 0; k < colors.size(); ++k) shares[k](box.y + y, box.x + x) = cv::saturate_cast<unsigned char>(ink * weight[k] / sum);
    }
  return shares;
}

cv::Mat1b FurnitureMask(const RidgesFound& ridges, const AxesFound& axes, const cv::Size& size) {
  cv::Mat1b mask(size, static_cast<unsigned char>(0));
  for (std::size_t c = 0; c < ridges.chains.size() && c < axes.chain_is_furniture.size(); ++c)
    if (axes.chain_is_furniture[c])
      for (const ImagePoint& p : ridges.chains[c].points) cv::circle(mask, {cvRound(p.x), cvRound(p.y)}, 2, 255, cv::FILLED);
  return mask;
}

double MedianMass(const cv::Mat1b& ink, const RidgeChain& chain) {
  std::vector<double> mass;
  const auto n = static_cast<int>(chain.points.size());
  for (int i = 0; i < n; i += std::max(1, n / 24)) {
    const ImagePoint a = chain.points[static_cast<std::size_t>(std::max(0, i - 3))],
                     b = chain.points[static_cast<std::size_t>(std::min(n - 1, i + 3))];
    mass.push_back(InkMassAcross(ink, chain.points[static_cast<std::size_t>(i)], std::atan2(b.y - a.y, b.x - a.x), 8.0));
  }
  std::nth_element(mass.begin(), mass.begin() + static_cast<long>(mass.size() / 2), mass.end());
  return mass[mass.size() / 2];
}

}  // namespace

Result<std::vector<InkLayer>> SeparateInkLayers(const Page& page, const RidgesFound& ridges, const AxesFound& axes, cv::Rect box) {
  if (page.color.empty()) return std::vector<InkLayer>{};
  const std::vector<cv::Vec3f> colors = GroupColors(ColorsOfChains(page, ridges, axes, box));
  std::vector<InkLayer> layers;
  if (colors.size() < 2) return layers;
  const cv::Mat1b furniture = FurnitureMask(ridges, axes, page.ink.size());
  for (cv::Mat1b& share : ShareOutInk(page, colors, box)) {
    InkLayer layer;
    layer.page = page;
    layer.page.ink = share;
    layer.page.extent = box;
    auto traced = TraceRidges(layer.page);
    if (!traced) return std::unexpected(traced.error());
    layer.ridges = std::move(*traced);
    // Fringes of another color's lines are none of this one's.
    std::erase_if(layer.ridges.chains, [&](const RidgeChain& chain) {
      return chain.points.empty() || MedianMass(layer.page.ink, chain) < kOwnMass * MedianMass(page.ink, chain);
    });
    for (const RidgeChain& chain : layer.ridges.chains) {
      const auto on = std::ranges::count_if(chain.points, [&](const ImagePoint& p) {
        return furniture(std::clamp(cvRound(p.y), 0, furniture.rows - 1), std::clamp(cvRound(p.x), 0, furniture.cols - 1)) > 0;
      });
      layer.chain_is_furniture.push_back(static_cast<double>(on) > kFurnitureShare * static_cast<double>(chain.points.size()));
    }
    layers.push_back(std::move(layer));
  }
  return layers;
}

}  // namespace islebook
