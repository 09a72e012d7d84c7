#include "digitizer/print/word_crop.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

// The page's ink in `roi` with everything but the word's glyphs painted out.
cv::Mat1b OwnInk(const Page& page, const Word& word, const cv::Rect& roi) {
  cv::Mat1b ink = page.ink(roi).clone();
  if (word.glyphs.empty()) return ink;
  if (!word.own.empty()) {
    cv::Mat1b own(roi.size(), 0);
    const cv::Rect there(word.own_at, word.own.size()), common = there & roi;
    if (!common.empty()) word.own(common - there.tl()).copyTo(own(common - roi.tl()));
    ink.setTo(0, ~own);
    return ink;
  }
  const int slack = std::max(1, static_cast<int>(std::lround(0.06 * word.height_px)));
  cv::Mat1b allowed(roi.size(), 0);
  std::vector<cv::Rect> boxes;
  int peak = 0;
  for (const cv::Rect& g : word.glyphs) {
    const cv::Rect tight = (g - roi.tl()) & cv::Rect({}, roi.size());
    if (tight.empty()) continue;
    double most = 0.0;
    cv::minMaxLoc(ink(tight), nullptr, &most);
    peak = std::max(peak, static_cast<int>(most));
    const cv::Rect wide = cv::Rect(tight.x - slack, tight.y - slack, tight.width + 2 * slack, tight.height + 2 * slack) & cv::Rect({}, roi.size());
    allowed(wide).setTo(255);
    boxes.push_back(wide);
  }
  const int limit = std::max({24, static_cast<int>(4.0 * page.noise), static_cast<int>(0.3 * peak)});
  cv::Mat1b dark = ink >= limit;
  cv::Mat1i labels;
  cv::Mat1i stats;
  cv::Mat1d centers;
  const int n = cv::connectedComponentsWithStats(dark, labels, stats, centers, 8, CV_32S);
  std::vector<int> inside(static_cast<std::size_t>(n), 0);
  std::vector<char> own(static_cast<std::size_t>(n), 0);  // the main blob of a glyph's box
  for (int y = 0; y < roi.height; ++y)
    for (int x = 0; x < roi.width; ++x)
      if (allowed(y, x)) ++inside[static_cast<std::size_t>(labels(y, x))];
  std::vector<int> count;
  for (const cv::Rect& b : boxes) {
    count.assign(static_cast<std::size_t>(n), 0);
    for (int y = b.y; y < b.y + b.height; ++y)
      for (int x = b.x; x < b.x + b.width; ++x) ++count[static_cast<std::size_t>(labels(y, x))];
    if (n < 2) continue;
    own[static_cast<std::size_t>(std::max_element(count.begin() + 1, count.end()) - count.begin())] = 1;
  }
  cv::Mat1b keep(roi.size(), 0);
  for (int y = 0; y < roi.height; ++y) {
    for (int x = 0; x < roi.width; ++x) {
      const auto c = static_cast<std::size_t>(labels(y, x));
      if (c == 0) continue;
      const bool mostly_inside = inside[c] * 10 >= stats(static_cast<int>(c), cv::CC_STAT_AREA) * 6;
      if (mostly_inside || (own[c] && allowed(y, x))) keep(y, x) = 255;
    }
  }
  // The glyphs with their pale rims stay; where a rim meets other ink it ends.
  const int rim = std::max(2, static_cast<int>(std::lround(0.1 * word.height_px)));
  cv::Mat1b other = dark & ~keep;
  cv::dilate(other, other, cv::Mat());
  cv::Mat1b near;  // the word's own rectangle may hold points too pale to be glyphs
  cv::dilate(keep, near, cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * rim + 1, 2 * rim + 1}));
  const double radians = word.angle_deg * std::numbers::pi / 180.0, c = std::cos(radians), s = std::sin(radians);
  const auto corner = [&](double a, double b) {
    return cv::Point(static_cast<int>(std::lround(word.center.x + a * c - b * s)) - roi.x,
                     static_cast<int>(std::lround(word.center.y + a * s + b * c)) - roi.y);
  };
  const double half_w = word.width_px / 2.0, half_h = word.height_px / 2.0;
  cv::fillConvexPoly(
      near, std::vector<cv::Point>{corner(-half_w, -half_h), corner(half_w, -half_h), corner(half_w, 1.5 * half_h), corner(-half_w, 1.5 * half_h)},
      255);
  near.setTo(0, other & ~keep);
  ink.setTo(0, ~near);
  return ink;
}

void Stretch(cv::Mat1b& image, const cv::Rect& body) {
  // 2 % of the word's own area to black, paper to white.
  std::vector<int> histogram(256, 0);
  for (int y = body.y; y < body.y + body.height; ++y)
    for (int x = body.x; x < body.x + body.width; ++x) ++histogram[image(y, x)];
  const int part = std::max(1, body.area() / 50);
  int black = 0;
  for (int seen = 0; black < 255; ++black) {
    seen += histogram[static_cast<std::size_t>(black)];
    if (seen >= part) break;
  }
  const double scale = 255.0 / std::max(20, 250 - black);
  for (int y = 0; y < image.rows; ++y)
    for (int x = 0; x < image.cols; ++x) image(y, x) = cv::saturate_cast<std::uint8_t>((image(y, x) - black) * scale);
}

// Mean darkness of a column's rows, 0..255.
double Darkness(const cv::Mat1b& image, int x, int y0, int y1) {
  double sum = 0.0;
  for (int y = y0; y < y1; ++y) sum += 255 - image(y, x);
  return y1 > y0 ? sum / (y1 - y0) : 0.0;
}

// Points that blur has made paler than half: a spot at the base line in a gap between two digits that is bare above.
void FindPalePoints(WordCrop& crop, double height) {
  std::vector<CropPart> found;
  const CropPart* last = nullptr;
  for (const CropPart& part : crop.parts) {
    if (!part.tall) continue;
    if (last) {
      const int x0 = last->box.x + last->box.width, x1 = part.box.x;
      const bool filled = std::any_of(crop.parts.begin(), crop.parts.end(), [&](const CropPart& p) {
        return !p.tall && p.box.x + p.box.width / 2 >= x0 && p.box.x + p.box.width / 2 <= x1;
      });
      if (!filled && x1 - x0 > 0.2 * height) {
        const int low0 = static_cast<int>(crop.base - 0.24 * height), low1 = std::min(crop.image.rows, static_cast<int>(crop.base + 0.06 * height)),
                  hang1 = std::min(crop.image.rows, static_cast<int>(crop.base + 0.24 * height));
        const int up0 = static_cast<int>(crop.top + 0.1 * height), up1 = static_cast<int>(crop.base - 0.4 * height);
        double spot = 0.0;
        int at = x0;
        std::vector<double> low;
        for (int x = x0; x < x1; ++x) {
          low.push_back(Darkness(crop.image, x, low0, low1));
          if (x >= x0 + 2 && x < x1 - 2 && low.back() > spot) {
            spot = low.back();
            at = x;
          }
        }
        // At least a tenth of full ink, much darker than the same columns above, and paler again on either side: a serif grows out of its digit.
        const double left = *std::min_element(low.begin(), low.begin() + (at - x0) + 1),
                     right = *std::min_element(low.begin() + (at - x0), low.end());
        const double over =
            std::max({Darkness(crop.image, at - 1, up0, up1), Darkness(crop.image, at, up0, up1), Darkness(crop.image, at + 1, up0, up1)});
        if (spot > 26.0 && spot > 2.2 * over && left < 0.8 * spot && right < 0.8 * spot) {
          CropPart point;
          point.box = {at - 1, low0, 3, low1 - low0};
          point.area = 9;
          point.on_base = true;
          point.hangs = Darkness(crop.image, at, low1, hang1) > 0.6 * spot;
          found.push_back(point);
        }
      }
    }
    last = &part;
  }
  crop.parts.insert(crop.parts.end(), found.begin(), found.end());
  std::sort(crop.parts.begin(), crop.parts.end(), [](const CropPart& p, const CropPart& q) { return p.box.x < q.box.x; });
}

void FindParts(WordCrop& crop, double height) {
  cv::Mat1b dark = crop.image < 128;
  cv::Mat1i labels, stats;
  cv::Mat1d centers;
  const int n = cv::connectedComponentsWithStats(dark, labels, stats, centers, 8, CV_32S);
  for (int i = 1; i < n; ++i) {
    CropPart part;
    part.box = {stats(i, cv::CC_STAT_LEFT), stats(i, cv::CC_STAT_TOP), stats(i, cv::CC_STAT_WIDTH), stats(i, cv::CC_STAT_HEIGHT)};
    part.area = stats(i, cv::CC_STAT_AREA);
    if (part.area < 4) continue;
    const double bottom = part.box.y + part.box.height;
    part.tall = part.box.height > 0.6 * height;
    part.on_base = part.box.height < 0.5 * height && part.box.width < 0.4 * height && part.box.height > 0.07 * height &&
                   part.box.width > 0.06 * height && part.box.y > crop.base - 0.42 * height && bottom > crop.base - 0.2 * height;
    part.hangs = part.on_base && bottom > crop.base + 0.09 * height && part.box.height > 0.2 * height;
    crop.parts.push_back(part);
  }
  std::sort(crop.parts.begin(), crop.parts.end(), [](const CropPart& p, const CropPart& q) { return p.box.x < q.box.x; });
  FindPalePoints(crop, height);
}

}  // namespace

WordCrop CropWord(const Page& page, const Word& word, double angle_deg, const CropOptions& options) {
  const double scale = options.digit_height / std::max(3.0, word.height_px);
  const double side = 0.35 * word.height_px, above = 0.5 * word.height_px;
  const double half_w = word.width_px / 2.0 + side, half_h = word.height_px / 2.0 + above;
  const double radians = angle_deg * std::numbers::pi / 180.0, c = std::cos(radians), s = std::sin(radians);
  const int reach_x = static_cast<int>(std::abs(c) * half_w + std::abs(s) * half_h) + 4,
            reach_y = static_cast<int>(std::abs(s) * half_w + std::abs(c) * half_h) + 4;
  const cv::Rect wanted(static_cast<int>(std::floor(word.center.x)) - reach_x, static_cast<int>(std::floor(word.center.y)) - reach_y, 2 * reach_x + 1,
                        2 * reach_y + 1);
  const cv::Rect roi = wanted & cv::Rect({}, page.ink.size());
  WordCrop crop;
  const int rim = options.white_rim;
  const int width = static_cast<int>(std::lround(2.0 * half_w * scale)) + 2 * rim,
            height = static_cast<int>(std::lround(2.0 * half_h * scale)) + 2 * rim;
  if (roi.empty() || width < 3 || height < 3 || width > 20000 || height > 2000) return crop;
  cv::Mat1b ink = OwnInk(page, word, roi);
  if (scale < 0.8) cv::GaussianBlur(ink, ink, {}, 0.45 * (1.0 / scale - 0.6));
  // Crop pixel (u, v) shows the page at center + rotation * ((u, v) - middle) / scale.
  const double mu = (width - 1) / 2.0, mv = (height - 1) / 2.0, k = 1.0 / scale;
  const double cx = word.center.x - roi.x, cy = word.center.y - roi.y;
  const cv::Matx23d page_from_crop(c * k, -s * k, cx - (c * mu - s * mv) * k, s * k, c * k, cy - (s * mu + c * mv) * k);
  cv::Mat1b turned;
  cv::warpAffine(ink, turned, page_from_crop, {width, height}, cv::INTER_CUBIC | cv::WARP_INVERSE_MAP, cv::BORDER_CONSTANT, cv::Scalar(0));
  cv::Mat1b image;
  cv::bitwise_not(turned, image);
  crop.top = mv - options.digit_height / 2.0;
  crop.base = mv + options.digit_height / 2.0;
  const double slack = 0.08 * options.digit_height;
  crop.left = std::max(0, static_cast<int>(std::floor(mu - 0.5 * word.width_px * scale - slack)));
  crop.right = std::min(width, static_cast<int>(std::ceil(mu + 0.5 * word.width_px * scale + slack)));
  const cv::Rect body =
      cv::Rect(rim, static_cast<int>(crop.top) - 2, width - 2 * rim, static_cast<int>(options.digit_height) + 4) & cv::Rect({}, image.size());
  Stretch(image, body);
  if (options.sharpen > 0.0) {
    cv::Mat1b soft;
    cv::GaussianBlur(image, soft, {}, 2.0);
    cv::addWeighted(image, 1.0 + options.sharpen, soft, -options.sharpen, 0.0, image);
  }
  if (options.blur > 0.0) cv::GaussianBlur(image, image, {}, options.blur);
  crop.image = image;
  FindParts(crop, options.digit_height);
  return crop;
}

}  // namespace islebook
