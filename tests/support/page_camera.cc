#include "tests/support/page_camera.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace islebook::paint {
namespace {
constexpr int kTable = 8000;
constexpr double kReach = 2.0;  // half widths of the page that the table covers
}  // namespace

PageCamera::PageCamera(int page_width, int page_height, int picture_width, int picture_height, double harshness, Random& random) {
  center_x_ = (page_width - 1) / 2.0, center_y_ = (page_height - 1) / 2.0;
  page_half_ = std::max(page_width, page_height) / 2.0;
  principal_x_ = (picture_width - 1) / 2.0 + random.Between(-8, 8), principal_y_ = (picture_height - 1) / 2.0 + random.Between(-8, 8);
  focal_ = std::max(picture_width, picture_height) * random.Between(0.72, 0.95);
  tilt_x = harshness * random.Between(-18, 18), tilt_y = harshness * random.Between(-18, 18), roll = harshness * random.Between(-9, 9);
  lens = random.Between(-0.045, 0.03);
  if (random.Chance(0.7)) bend = harshness * random.Between(-0.16, 0.16), bend_skew_ = harshness * random.Between(-0.08, 0.08);

  const double a = tilt_x * std::numbers::pi / 180, b = tilt_y * std::numbers::pi / 180, c = roll * std::numbers::pi / 180;
  const double ca = std::cos(a), sa = std::sin(a), cb = std::cos(b), sb = std::sin(b), cc = std::cos(c), sc = std::sin(c);
  const double rx[3][3] = {{1, 0, 0}, {0, ca, -sa}, {0, sa, ca}}, ry[3][3] = {{cb, 0, sb}, {0, 1, 0}, {-sb, 0, cb}},
               rz[3][3] = {{cc, -sc, 0}, {sc, cc, 0}, {0, 0, 1}};
  double t[3][3];
  for (int i = 0; i < 3; ++i)
    for (int k = 0; k < 3; ++k) {
      t[i][k] = 0;
      for (int m = 0; m < 3; ++m) t[i][k] += rx[i][m] * ry[m][k];
    }
  for (int i = 0; i < 3; ++i)
    for (int k = 0; k < 3; ++k) {
      rotation_[i][k] = 0;
      for (int m = 0; m < 3; ++m) rotation_[i][k] += rz[i][m] * t[m][k];
    }

  // Arc length runs along the page, so a bent page is not a stretched one.
  across_.assign(kTable + 1, 0.0);
  const double step = 2 * kReach / kTable;
  const auto rate = [&](double u) { return std::sqrt(std::max(0.05, 1 - std::pow(Slope(u), 2))); };
  for (int i = 1; i <= kTable; ++i) {
    const double u = -kReach + (i - 1) * step;
    across_[static_cast<std::size_t>(i)] = across_[static_cast<std::size_t>(i) - 1] + step / 6 * (rate(u) + 4 * rate(u + step / 2) + rate(u + step));
  }
  const double middle = across_[kTable / 2];
  for (double& v : across_) v -= middle;

  // Step back until all of the page is in the picture, then center it.
  const double fill = random.Between(0.84, 0.95);
  distance_ = 1.2;
  for (int i = 0; i < 400; ++i) {
    double left = 1e9, right = -1e9, top = 1e9, bottom = -1e9;
    for (const auto& [x, y] : {std::pair{0.0, 0.0}, {1.0, 0.0}, {1.0, 1.0}, {0.0, 1.0}, {0.5, 0.0}, {0.5, 1.0}}) {
      const Point2 p = PictureFromPage({x * (page_width - 1), y * (page_height - 1)});
      left = std::min(left, p.x), right = std::max(right, p.x), top = std::min(top, p.y), bottom = std::max(bottom, p.y);
    }
    const double off_x = (left + right) / 2 - principal_x_, off_y = (top + bottom) / 2 - principal_y_;
    shift_x_ -= off_x / focal_ * distance_, shift_y_ -= off_y / focal_ * distance_;
    if (std::abs(off_x) + std::abs(off_y) > 1 && i < 398) continue;
    if (right - left < fill * picture_width && bottom - top < fill * picture_height) break;
    distance_ *= 1.01;
  }
}

double PageCamera::Across(double u) const {
  const double at = std::clamp((u + kReach) / (2 * kReach) * kTable, 0.0, kTable - 1e-9);
  const auto i = static_cast<std::size_t>(at);
  return across_[i] + (across_[i + 1] - across_[i]) * (at - static_cast<double>(i));
}

Point2 PageCamera::PictureFromPage(Point2 page) const {
  const double u = (page.x - center_x_) / page_half_, v = (page.y - center_y_) / page_half_;
  const double p[3] = {Across(u), v, Height(u)};
  double q[3];
  for (int i = 0; i < 3; ++i) q[i] = rotation_[i][0] * p[0] + rotation_[i][1] * p[1] + rotation_[i][2] * p[2];
  const double depth = std::max(q[2] + distance_, 0.05);
  const double x = (q[0] + shift_x_) / depth, y = (q[1] + shift_y_) / depth;
  const double stretch = 1 + lens * (x * x + y * y);
  return {principal_x_ + focal_ * x * stretch, principal_y_ + focal_ * y * stretch};
}

Point2 PageCamera::PageFromPicture(Point2 picture, Point2 guess) const {
  for (int i = 0; i < 12; ++i) {
    const Point2 here = PictureFromPage(guess);
    const double ex = picture.x - here.x, ey = picture.y - here.y;
    if (ex * ex + ey * ey < 1e-10) break;
    const Point2 dx = PictureFromPage({guess.x + 1, guess.y}), dy = PictureFromPage({guess.x, guess.y + 1});
    const double a = dx.x - here.x, b = dy.x - here.x, c = dx.y - here.y, d = dy.y - here.y, det = a * d - b * c;
    if (std::abs(det) < 1e-12) break;
    const double limit = page_half_ / 2;
    guess.x += std::clamp((ex * d - ey * b) / det, -limit, limit);
    guess.y += std::clamp((ey * a - ex * c) / det, -limit, limit);
  }
  return guess;
}

}  // namespace islebook::paint
