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
constexpr double kSpreads = 2.5;         // times their spreads that two colors are apart at least
constexpr double kLeastShare = 0.06;     // of the length of all lines: a color with less is none of the curves'
constexpr double kBlend = 0.06;          // rad: over this angle a pixel's ink goes over from one color to the next
constexpr double kShortest = 25.0;       // px: shorter chains say little of their color
constexpr double kOwnMass = 0.5;         // of the whole ink's mass along a chain, for the chain to be the layer's own
constexpr double kFurnitureShare = 0.7;  // of a chain's points on frame, grid or ticks
constexpr int kMostLayers = 8;
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

struct ColorGroup {
  cv::Vec3f direction;
  double length = 0;
  double spread = 0;  // rad, rms over its lines
};

// Every line to the group that is nearest to it; the groups' directions, lengths and spreads anew.
void Regroup(const std::vector<ColoredChain>& chains, std::vector<ColorGroup>& groups) {
  std::vector<cv::Vec3f> sums(groups.size(), cv::Vec3f(0, 0, 0));
  std::vector<double> lengths(groups.size(), 0), squares(groups.size(), 0);
  for (const ColoredChain& c : chains) {
    std::size_t nearest = 0;
    for (std::size_t k = 1; k < groups.size(); ++k)
      if (AngleBetween(c.direction, groups[k].direction) < AngleBetween(c.direction, groups[nearest].direction)) nearest = k;
    const double off = AngleBetween(c.direction, groups[nearest].direction);
    if (off > kApart) continue;
    sums[nearest] += c.direction * static_cast<float>(c.length);
    lengths[nearest] += c.length;
    squares[nearest] += c.length * off * off;
  }
  for (std::size_t k = 0; k < groups.size(); ++k) {
    if (lengths[k] <= 0) continue;
    groups[k] = {sums[k] / static_cast<float>(cv::norm(sums[k])), lengths[k], std::sqrt(squares[k] / lengths[k])};
  }
}

// The longest lines lead; each takes along what is of its color. Groups that run into each other are one color that noise has spread.
std::vector<cv::Vec3f> GroupColors(const std::vector<ColoredChain>& chains) {
  double total = 0;
  for (const ColoredChain& c : chains) total += c.length;
  std::vector<ColoredChain> left = chains;
  std::stable_sort(left.begin(), left.end(), [](const ColoredChain& a, const ColoredChain& b) { return a.length > b.length; });
  std::vector<ColorGroup> groups;
  while (!left.empty()) {
    ColorGroup group{left.front().direction};
    for (int round = 0; round < 3; ++round) {
      cv::Vec3f sum(0, 0, 0);
      group.length = 0;
      for (const ColoredChain& c : left) {
        if (AngleBetween(c.direction, group.direction) > 0.6 * kApart) continue;
        sum += c.direction * static_cast<float>(c.length);
        group.length += c.length;
      }
      if (group.length > 0) group.direction = sum / static_cast<float>(cv::norm(sum));
    }
    const auto before = left.size();
    std::erase_if(left, [&](const ColoredChain& c) { return AngleBetween(c.direction, group.direction) <= 0.6 * kApart; });
    if (left.size() == before) left.erase(left.begin());
    if (group.length >= kLeastShare * total) groups.push_back(group);
  }
  for (bool merged = true; merged && groups.size() > 1;) {
    merged = false;
    Regroup(chains, groups);
    for (std::size_t i = 0; i < groups.size() && !merged; ++i)
      for (std::size_t j = i + 1; j < groups.size() && !merged; ++j) {
        if (AngleBetween(groups[i].direction, groups[j].direction) > std::max(kApart, kSpreads * (groups[i].spread + groups[j].spread))) continue;
        if (groups[j].length > groups[i].length) groups[i].direction = groups[j].direction;
        groups.erase(groups.begin() + static_cast<long>(j));
        merged = true;
      }
  }
  std::vector<cv::Vec3f> directions;
  for (const ColorGroup& g : groups)
    if (directions.size() < kMostLayers) directions.push_back(g.direction);
  return directions;
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
