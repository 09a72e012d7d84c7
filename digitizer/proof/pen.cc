#include "digitizer/proof/pen.h"

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr int kFont = cv::FONT_HERSHEY_SIMPLEX;
constexpr double kSmallestSide = 1500.0, kLargestSide = 2800.0;  // canvas px of the longer side
constexpr double kTextScale = 0.62;                              // of the font, per unit
constexpr int kShift = 4;

cv::Point Fine(cv::Point2d p) { return {static_cast<int>(std::lround(p.x * (1 << kShift))), static_cast<int>(std::lround(p.y * (1 << kShift)))}; }

}  // namespace

std::string PlainText(const std::string& utf8) {
  static const std::pair<const char*, const char*> kRelatives[] = {
      {"\xC2\xB0", " deg "},  {"\xC2\xB2", "2"},     {"\xC2\xB3", "3"},  {"\xC2\xB7", "."},     {"\xE2\x88\x9A", "sqrt "}, {"\xE2\x80\x93", "-"},
      {"\xE2\x80\x94", "-"},  {"\xE2\x88\x92", "-"}, {"\xC3\x97", "x"},  {"\xE2\x80\x99", "'"}, {"\xE2\x80\x98", "'"},     {"\xE2\x80\x9C", "\""},
      {"\xE2\x80\x9D", "\""}, {"\xCE\xB7", "eta"},   {"\xC3\xA4", "ae"}, {"\xC3\xB6", "oe"},    {"\xC3\xBC", "ue"},        {"\xC3\x9F", "ss"},
      {"\xC3\xA9", "e"},      {"\xC3\xA8", "e"},     {"\xC2\xB1", "+/-"}};
  std::string plain;
  for (std::size_t i = 0; i < utf8.size();) {
    if (static_cast<unsigned char>(utf8[i]) < 0x80) {
      plain += utf8[i++];
      continue;
    }
    bool known = false;
    for (const auto& [from, to] : kRelatives) {
      if (utf8.compare(i, std::char_traits<char>::length(from), from) != 0) continue;
      plain += to;
      i += std::char_traits<char>::length(from);
      known = true;
      break;
    }
    if (known) continue;
    plain += '?';
    for (++i; i < utf8.size() && (static_cast<unsigned char>(utf8[i]) & 0xC0) == 0x80;) ++i;
  }
  return plain;
}

Pen::Pen(const cv::Mat& sheet, double strength) {
  const double longer = std::max(sheet.cols, sheet.rows);
  if (longer < kSmallestSide) scale_ = std::min(3.0, kSmallestSide / longer);
  if (longer > kLargestSide) scale_ = kLargestSide / longer;
  cv::Mat shown = sheet;
  if (scale_ != 1.0) cv::resize(sheet, shown, {}, scale_, scale_, scale_ < 1.0 ? cv::INTER_AREA : cv::INTER_CUBIC);
  unit_ = std::max(shown.cols, shown.rows) / 1400.0;
  if (shown.channels() == 1)
    cv::cvtColor(shown, canvas_, cv::COLOR_GRAY2BGR);
  else
    canvas_ = shown.clone();
  if (strength >= 1.0) return;
  cv::Mat1b gray;
  cv::cvtColor(canvas_, gray, cv::COLOR_BGR2GRAY);
  cv::Mat3b lut_in(1, 256), faded;
  for (int level = 0; level < 256; ++level)
    for (int c = 0; c < 3; ++c)
      lut_in(0, level)[c] = cv::saturate_cast<std::uint8_t>(look::kPaper[c] + strength * (level - 255.0) * look::kPaper[c] / 255.0);
  cv::cvtColor(gray, canvas_, cv::COLOR_GRAY2BGR);
  cv::LUT(canvas_, lut_in, faded);
  canvas_ = faded;
}

void Pen::Line(const std::vector<ImagePoint>& points, const cv::Scalar& color, double width, Stroke stroke, bool closed) {
  if (points.size() < 2) return;
  const int thickness = std::max(1, static_cast<int>(std::lround(width * unit_)));
  std::vector<cv::Point2d> path;
  for (const ImagePoint& p : points) path.push_back(ToCanvas(p));
  if (closed) path.push_back(path.front());
  auto draw = [&](const std::vector<cv::Point2d>& piece) {
    std::vector<cv::Point> fine;
    for (const cv::Point2d& p : piece) fine.push_back(Fine(p));
    cv::polylines(canvas_, fine, false, color, thickness, cv::LINE_AA, kShift);
  };
  if (stroke == Stroke::kSolid) {
    draw(path);
    return;
  }
  std::vector<double> pattern{9.0, 6.0};
  if (stroke == Stroke::kDotted) pattern = {0.5, 4.5};
  if (stroke == Stroke::kDashDot) pattern = {9.0, 4.0, 1.0, 4.0};
  for (double& part : pattern) part = std::max(1.0, (part + (stroke == Stroke::kDotted ? 0.5 * width : 0.0)) * unit_);
  std::size_t phase = 0;
  double left = pattern[0];
  std::vector<cv::Point2d> piece{path.front()};
  for (std::size_t i = 1; i < path.size(); ++i) {
    cv::Point2d from = path[i - 1];
    double length = std::hypot(path[i].x - from.x, path[i].y - from.y);
    while (length > left) {
      const cv::Point2d at = from + (path[i] - from) * (left / length);
      piece.push_back(at);
      if (phase % 2 == 0) draw(piece);
      piece = {at};
      length -= left;
      from = at;
      phase = (phase + 1) % pattern.size();
      left = pattern[phase];
    }
    left -= length;
    piece.push_back(path[i]);
  }
  if (phase % 2 == 0 && piece.size() > 1) draw(piece);
}

void Pen::Dot(ImagePoint at, const cv::Scalar& color, double radius, bool filled) {
  cv::circle(canvas_, Fine(ToCanvas(at)), static_cast<int>(std::lround(radius * unit_ * (1 << kShift))), color,
             filled ? cv::FILLED : std::max(1, static_cast<int>(std::lround(unit_))), cv::LINE_AA, kShift);
}

cv::Rect Pen::TextBox(ImagePoint center, const std::string& text, double size) const {
  int base = 0;
  const cv::Size extent =
      cv::getTextSize(PlainText(text), kFont, kTextScale * size * unit_, std::max(1, static_cast<int>(std::lround(1.3 * size * unit_))), &base);
  const cv::Point2d at = ToCanvas(center);
  const int pad = static_cast<int>(std::lround(2.5 * unit_));
  return {static_cast<int>(std::lround(at.x - extent.width / 2.0)) - pad, static_cast<int>(std::lround(at.y - extent.height / 2.0)) - pad,
          extent.width + 2 * pad, extent.height + 2 * pad};
}

cv::Rect Pen::Text(ImagePoint center, const std::string& text, const cv::Scalar& color, double size) {
  const cv::Rect box = TextBox(center, text, size), seen = box & cv::Rect({0, 0}, canvas_.size());
  if (seen.empty()) return box;
  cv::Mat3b patch = canvas_(seen);
  cv::Mat3b paper(patch.size(), cv::Vec3b(0xF4, 0xF9, 0xFB));
  cv::addWeighted(patch, 0.25, paper, 0.75, 0.0, patch);
  const int pad = static_cast<int>(std::lround(2.5 * unit_));
  cv::putText(canvas_, PlainText(text), {box.x + pad, box.y + box.height - pad}, kFont, kTextScale * size * unit_, color,
              std::max(1, static_cast<int>(std::lround(1.3 * size * unit_))), cv::LINE_AA);
  return box;
}

void Pen::Flag(ImagePoint at, int number) {
  const std::string text = std::to_string(number);
  Dot(at, look::kOxide, 9.0 + 3.0 * static_cast<double>(text.size() - 1));
  const cv::Rect box = TextBox(at, text, 0.85);
  const int pad = static_cast<int>(std::lround(2.5 * unit_));
  cv::putText(canvas_, text, {box.x + pad, box.y + box.height - pad}, kFont, kTextScale * 0.85 * unit_, look::kPaper,
              std::max(1, static_cast<int>(std::lround(1.4 * unit_))), cv::LINE_AA);
}

void Pen::Box(ImagePoint center, double width_px, double height_px, double angle_deg, const cv::Scalar& color, double line_width) {
  const double c = std::cos(angle_deg * CV_PI / 180.0), s = std::sin(angle_deg * CV_PI / 180.0);
  std::vector<ImagePoint> corners;
  for (const auto& [fx, fy] : {std::pair(-0.5, -0.5), {0.5, -0.5}, {0.5, 0.5}, {-0.5, 0.5}})
    corners.push_back({center.x + c * fx * width_px - s * fy * height_px, center.y + s * fx * width_px + c * fy * height_px});
  Line(corners, color, line_width, Stroke::kSolid, true);
}

void Pen::PixelScales() {
  constexpr double kNumbers = 16.0;  // about so many along the longer side, and four ticks between two of them
  const double rough = std::max(canvas_.cols, canvas_.rows) / scale_ / kNumbers, power = std::pow(10.0, std::floor(std::log10(rough)));
  const double step = power * (rough <= power ? 1.0 : rough <= 2.0 * power ? 2.0 : rough <= 5.0 * power ? 5.0 : 10.0);
  for (const bool across : {true, false}) {
    const int end = across ? canvas_.cols : canvas_.rows, far = across ? canvas_.rows - 1 : canvas_.cols - 1;
    for (int k = 1;; ++k) {
      const double value = 0.2 * k * step;
      const cv::Point2d place = ToCanvas({value, value});
      const int at = static_cast<int>(std::lround(across ? place.x : place.y));
      if (at >= end) break;
      const int length = static_cast<int>(std::lround((k % 5 == 0 ? 14.0 : 7.0) * unit_));
      const auto tick = [&](int from, int to) {
        cv::line(canvas_, across ? cv::Point(at, from) : cv::Point(from, at), across ? cv::Point(at, to) : cv::Point(to, at), look::kFaint);
      };
      tick(0, length);
      tick(far - length, far);
      if (k % 5 != 0) continue;
      const std::string number = std::to_string(std::lround(value));
      const cv::Size box = TextBox({value, value}, number, 0.6).size();
      const double beyond = (length + (across ? box.height : box.width) / 2.0) / scale_;
      if (at + (across ? box.width : box.height) / 2 < end)
        Text(across ? ImagePoint{value, beyond} : ImagePoint{beyond, value}, number, look::kFaint, 0.6);
    }
  }
}

void Pen::Caption(const std::vector<std::pair<std::string, cv::Scalar>>& lines) {
  const double font = kTextScale * 1.05 * unit_;
  const int thickness = std::max(1, static_cast<int>(std::lround(1.3 * unit_))), margin = static_cast<int>(14 * unit_),
            height = static_cast<int>(25 * unit_);
  std::vector<std::pair<std::string, cv::Scalar>> wrapped;
  for (const auto& [text, color] : lines) {
    std::string line, word;
    const std::string indent = "    ";
    auto fits = [&](const std::string& candidate) {
      int base = 0;
      return cv::getTextSize(candidate, kFont, font, thickness, &base).width <= canvas_.cols - 2 * margin;
    };
    bool first = true;
    auto flush = [&] {
      if (!line.empty()) wrapped.push_back({(first ? "" : indent) + line, color}), first = false;
      line.clear();
    };
    for (const char c : PlainText(text) + " ") {
      if (c != ' ') {
        word += c;
        continue;
      }
      const std::string candidate = line.empty() ? word : line + " " + word;
      if (!line.empty() && !fits(indent + candidate))
        flush(), line = word;
      else
        line = candidate;
      word.clear();
    }
    flush();
  }
  if (wrapped.empty()) return;
  const int top = canvas_.rows;
  cv::copyMakeBorder(canvas_, canvas_, 0, static_cast<int>(wrapped.size()) * height + 2 * margin, 0, 0, cv::BORDER_CONSTANT, look::kPaper);
  cv::line(canvas_, {0, top}, {canvas_.cols, top}, look::kInk, std::max(1, static_cast<int>(unit_)));
  for (std::size_t i = 0; i < wrapped.size(); ++i)
    cv::putText(canvas_, wrapped[i].first, {margin, top + margin + static_cast<int>((static_cast<double>(i) + 0.75) * height)}, kFont, font,
                wrapped[i].second, thickness, cv::LINE_AA);
}

}  // namespace islebook
