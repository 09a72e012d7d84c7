#include "tests/support/page_wear.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <numbers>

#include <QBuffer>
#include <QImage>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "tests/support/page_camera.h"

namespace islebook::paint {
namespace {

cv::Mat3b FromImage(const QImage& image) {
  const QImage rgb = image.convertToFormat(QImage::Format_RGB888);
  const cv::Mat view(rgb.height(), rgb.width(), CV_8UC3, const_cast<uchar*>(rgb.constBits()), static_cast<std::size_t>(rgb.bytesPerLine()));
  return view.clone();
}

QImage ToImage(const cv::Mat3b& pixels) {
  return QImage(pixels.data, pixels.cols, pixels.rows, static_cast<qsizetype>(pixels.step), QImage::Format_RGB888).copy();
}

QByteArray Pack(const QImage& image, const char* format, int quality) {
  QByteArray bytes;
  QBuffer buffer(&bytes);
  buffer.open(QIODevice::WriteOnly);
  image.save(&buffer, format, quality);
  return bytes;
}

// An EXIF block (CIPA DC-008) with one entry, the orientation, right after the start of the JPEG.
QByteArray WithOrientation(const QByteArray& jpeg, int orientation) {
  QByteArray exif("Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0", 25);
  exif.append(static_cast<char>(orientation));
  exif.append(QByteArray("\0\0\0\0\0\0", 6));
  QByteArray out = jpeg.left(2);
  out.append("\xff\xe1", 2);
  const int size = static_cast<int>(exif.size()) + 2;
  out.append(static_cast<char>(size >> 8)).append(static_cast<char>(size & 255));
  return out + exif + jpeg.mid(2);
}

// Catmull and Rom's cubic at (x, y); off the picture the nearest pixel serves.
cv::Vec3f Sample(const cv::Mat3b& pixels, double x, double y) {
  const int ix = static_cast<int>(std::floor(x)), iy = static_cast<int>(std::floor(y));
  const auto weights = [](float t, float w[4]) {
    w[0] = ((-0.5f * t + 1.0f) * t - 0.5f) * t, w[1] = (1.5f * t - 2.5f) * t * t + 1.0f, w[2] = ((-1.5f * t + 2.0f) * t + 0.5f) * t,
    w[3] = (0.5f * t - 0.5f) * t * t;
  };
  float wx[4], wy[4];
  weights(static_cast<float>(x - ix), wx), weights(static_cast<float>(y - iy), wy);
  cv::Vec3f sum(0, 0, 0);
  for (int j = 0; j < 4; ++j) {
    const cv::Vec3b* row = pixels[std::clamp(iy + j - 1, 0, pixels.rows - 1)];
    cv::Vec3f line(0, 0, 0);
    for (int i = 0; i < 4; ++i) {
      const cv::Vec3b& p = row[std::clamp(ix + i - 1, 0, pixels.cols - 1)];
      for (int c = 0; c < 3; ++c) line[c] += wx[i] * static_cast<float>(p[c]);
    }
    sum += line * wy[j];
  }
  return sum;
}

// Smooth noise: a few random values, enlarged.
cv::Mat1f Clouds(cv::Size size, int cells, cv::RNG& rng) {
  cv::Mat1f small(std::max(2, cells * size.height / std::max(size.width, 1)), std::max(2, cells)), large;
  rng.fill(small, cv::RNG::UNIFORM, -1.0, 1.0);
  cv::resize(small, large, size, 0, 0, cv::INTER_CUBIC);
  return large;
}

void AddNoise(cv::Mat3f& picture, double sigma, double color_part, cv::RNG& rng) {
  cv::Mat1f gray(picture.size());
  rng.fill(gray, cv::RNG::NORMAL, 0.0, sigma * (1 - color_part));
  cv::Mat3f color(picture.size());
  rng.fill(color, cv::RNG::NORMAL, cv::Scalar::all(0), cv::Scalar::all(sigma * color_part));
  for (int y = 0; y < picture.rows; ++y)
    for (int x = 0; x < picture.cols; ++x) {
      const float g = gray(y, x);
      picture(y, x) += color(y, x) + cv::Vec3f(g, g, g);
    }
}

cv::Mat3b Clipped(const cv::Mat3f& picture) {
  cv::Mat3b out;
  picture.convertTo(out, CV_8UC3);
  return out;
}

// A page turned and slightly stretched on a glass plate.
struct Plate {
  double cosine, sine, stretch_x, stretch_y, shift_x, shift_y, from_x, from_y;
  cv::Size size;

  Plate(int width, int height, double degrees, double stretch, double margin) {
    const double a = degrees * std::numbers::pi / 180;
    cosine = std::cos(a), sine = std::sin(a);
    stretch_x = 1 + stretch, stretch_y = 1 - stretch * 0.6;
    from_x = (width - 1) / 2.0, from_y = (height - 1) / 2.0;
    size = cv::Size(static_cast<int>(std::abs(cosine) * width + std::abs(sine) * height + 2 * margin),
                    static_cast<int>(std::abs(sine) * width + std::abs(cosine) * height + 2 * margin));
    shift_x = (size.width - 1) / 2.0, shift_y = (size.height - 1) / 2.0;
  }
  Point2 Forward(Point2 p) const {
    const double x = (p.x - from_x) * stretch_x, y = (p.y - from_y) * stretch_y;
    return {shift_x + cosine * x - sine * y, shift_y + sine * x + cosine * y};
  }
  Point2 Back(Point2 p) const {
    const double x = p.x - shift_x, y = p.y - shift_y;
    return {from_x + (cosine * x + sine * y) / stretch_x, from_y + (-sine * x + cosine * y) / stretch_y};
  }
};

cv::Mat3f OnPlate(const cv::Mat3b& page, const Plate& plate, cv::Vec3f lid) {
  cv::Mat3f out(plate.size);
  for (int y = 0; y < out.rows; ++y) {
    for (int x = 0; x < out.cols; ++x) {
      const Point2 p = plate.Back({static_cast<double>(x), static_cast<double>(y)});
      const bool on_page = p.x >= -0.5 && p.y >= -0.5 && p.x <= page.cols - 0.5 && p.y <= page.rows - 0.5;
      out(y, x) = on_page ? Sample(page, p.x, p.y) : lid;
    }
  }
  return out;
}

WornSheet Scan(const PaintedSheet& sheet, const WearLimits& limits, Random& random) {
  WornSheet worn;
  const cv::Mat3b page = FromImage(sheet.image);
  const double skew = limits.harshness * random.Between(-2.2, 2.2), stretch = random.Between(-0.002, 0.002);
  const Plate plate(page.cols, page.rows, skew, stretch, random.Between(4, 30));
  cv::RNG rng(random.Next());
  const float lid = static_cast<float>(random.Chance(0.8) ? random.Between(205, 235) : random.Between(20, 60));
  cv::Mat3f picture = OnPlate(page, plate, {lid, lid, lid});
  // Paper tint, ink that is not quite black, uneven lamp.
  const cv::Vec3f tint(static_cast<float>(random.Between(0.95, 1.0)), static_cast<float>(random.Between(0.945, 0.99)),
                       static_cast<float>(random.Between(0.86, 0.98)));
  const float lift = static_cast<float>(random.Between(8, 34));
  const cv::Mat1f lamp = Clouds(picture.size(), 4, rng), grain = Clouds(picture.size(), std::max(40, picture.cols / 14), rng);
  const float uneven = static_cast<float>(0.03 * limits.harshness * random.Part()),
              rough = static_cast<float>(2.5 * limits.harshness * random.Part());
  for (int y = 0; y < picture.rows; ++y)
    for (int x = 0; x < picture.cols; ++x) {
      cv::Vec3f v = picture(y, x);
      for (int c = 0; c < 3; ++c) v[c] = (lift + v[c] * (250 - lift) / 255) * tint[c] * (1 + uneven * lamp(y, x)) + rough * grain(y, x);
      picture(y, x) = v;
    }
  const int specks = static_cast<int>(limits.harshness * random.Between(5, 60));
  for (int i = 0; i < specks; ++i) {
    const cv::Point at(rng.uniform(0, picture.cols), rng.uniform(0, picture.rows));
    const double gray = random.Between(40, 170);
    if (random.Chance(0.12))
      cv::ellipse(picture, at, {rng.uniform(6, 22), rng.uniform(4, 16)}, rng.uniform(0, 360), 20, rng.uniform(60, 200), cv::Scalar::all(gray), 1,
                  cv::LINE_AA);
    else
      cv::circle(picture, at, rng.uniform(0, 2), cv::Scalar::all(gray), -1, cv::LINE_AA);
  }
  const double blur = random.Between(0.45, 0.95);
  cv::GaussianBlur(picture, picture, {}, blur);
  const double noise = limits.harshness * random.Between(1.0, 4.5);
  AddNoise(picture, noise, 0.3, rng);
  const int quality = random.Whole(68, 93);
  const bool gray = random.Chance(0.25);
  QImage image = ToImage(Clipped(picture));
  if (gray) image = image.convertToFormat(QImage::Format_Grayscale8);
  worn.bytes = Pack(image, "JPG", quality), worn.extension = "jpg";
  worn.maps = sheet.maps;
  for (TrueMap& map : worn.maps) map.MovePixels([&](Point2 p) { return plate.Forward(p); });
  worn.facts.size_px = {image.width(), image.height()};
  worn.facts.wear_parameters = {{"skew_deg", skew}, {"blur_px", blur}, {"noise", noise}, {"jpeg_quality", static_cast<double>(quality)}};
  return worn;
}

WornSheet Copy(const PaintedSheet& sheet, const WearLimits& limits, Random& random) {
  WornSheet worn;
  const cv::Mat3b page = FromImage(sheet.image);
  const double skew = limits.harshness * random.Between(-1.6, 1.6), stretch = random.Between(-0.004, 0.004);
  const Plate plate(page.cols, page.rows, skew, stretch, random.Between(4, 24));
  cv::RNG rng(random.Next());
  cv::Mat3f picture = OnPlate(page, plate, {255, 255, 255});
  cv::Mat1f gray(picture.size());
  for (int y = 0; y < picture.rows; ++y)
    for (int x = 0; x < picture.cols; ++x) gray(y, x) = 0.299f * picture(y, x)[0] + 0.587f * picture(y, x)[1] + 0.114f * picture(y, x)[2];
  const double blur = random.Between(0.7, 1.3);
  cv::GaussianBlur(gray, gray, {}, blur);
  cv::Mat1f noise(gray.size());
  rng.fill(noise, cv::RNG::NORMAL, 0.0, limits.harshness * random.Between(8, 22));
  cv::GaussianBlur(noise, noise, {}, 0.6);
  const cv::Mat1f toner = Clouds(gray.size(), 6, rng);
  const double threshold = random.Between(135, 178);
  QImage image(gray.cols, gray.rows, QImage::Format_Grayscale8);
  const double specks = limits.harshness * random.Between(0, 6e-5);
  for (int y = 0; y < gray.rows; ++y) {
    uchar* line = image.scanLine(y);
    for (int x = 0; x < gray.cols; ++x) line[x] = gray(y, x) + noise(y, x) > threshold + 14 * toner(y, x) ? 255 : 0;
  }
  const auto count = static_cast<int>(specks * gray.cols * gray.rows);
  for (int i = 0; i < count; ++i) {
    const int x = rng.uniform(0, gray.cols - 2), y = rng.uniform(0, gray.rows - 2), size = rng.uniform(1, 3);
    for (int j = 0; j < size; ++j)
      for (int k = 0; k < size; ++k) image.scanLine(y + j)[x + k] = 0;
  }
  worn.bytes = Pack(image, "PNG", -1), worn.extension = "png";
  worn.maps = sheet.maps;
  for (TrueMap& map : worn.maps) map.MovePixels([&](Point2 p) { return plate.Forward(p); });
  worn.facts.size_px = {image.width(), image.height()};
  worn.facts.wear_parameters = {{"skew_deg", skew}, {"blur_px", blur}, {"threshold", threshold}};
  return worn;
}

WornSheet Web(const PaintedSheet& sheet, const WearLimits&, Random& random) {
  WornSheet worn;
  const cv::Mat3b page = FromImage(sheet.image);
  // Painted at twice the size: two by two pixels make one.
  cv::Mat3b cut = page(cv::Rect(0, 0, page.cols / 2 * 2, page.rows / 2 * 2)), small;
  cv::resize(cut, small, {}, 0.5, 0.5, cv::INTER_AREA);
  if (random.Chance(0.4)) {
    cv::Mat3b soft;
    cv::GaussianBlur(small, soft, {}, 1.0);
    cv::addWeighted(small, 1.5, soft, -0.5, 0, small);
  }
  const QImage image = ToImage(small);
  const int quality = random.Whole(35, 66);
  const bool png = random.Chance(0.2);
  if (png)
    worn.bytes = Pack(image.convertToFormat(QImage::Format_Indexed8), "PNG", -1), worn.extension = "png";
  else
    worn.bytes = Pack(image, "JPG", quality), worn.extension = "jpg";
  worn.maps = sheet.maps;
  for (TrueMap& map : worn.maps) {
    map.MovePixels([](Point2 p) { return Point2{(p.x + 0.5) / 2 - 0.5, (p.y + 0.5) / 2 - 0.5}; });
    map.line_width_px /= 2;
  }
  worn.facts.size_px = {image.width(), image.height()};
  worn.facts.wear_parameters = {{"jpeg_quality", png ? 0.0 : static_cast<double>(quality)}};
  return worn;
}

WornSheet Photo(const PaintedSheet& sheet, const WearLimits& limits, Random& random) {
  WornSheet worn;
  cv::Mat3b page = FromImage(sheet.image);
  const bool tall = page.rows > page.cols;
  const cv::Size size = tall ? cv::Size(limits.photo_width * 3 / 4, limits.photo_width) : cv::Size(limits.photo_width, limits.photo_width * 3 / 4);
  const PageCamera camera(page.cols, page.rows, size.width, size.height, limits.harshness, random);
  cv::RNG rng(random.Next());
  const Point2 a = camera.PictureFromPage({page.cols / 2.0, page.rows / 2.0}), b = camera.PictureFromPage({page.cols / 2.0 + 1, page.rows / 2.0});
  const double magnification = std::hypot(b.x - a.x, b.y - a.y);
  if (magnification < 0.95) cv::GaussianBlur(page, page, {}, 0.45 * std::sqrt(1 / (magnification * magnification) - 0.8));

  // Where each picture pixel looks on the page: solved on a grid of 8 px, straight between (the map bends less than 0.001 px in a cell).
  const int kCell = 8;
  const int across = size.width / kCell + 2, down = size.height / kCell + 2;
  std::vector<Point2> grid(static_cast<std::size_t>(across) * down);
  Point2 guess{page.cols / 2.0, page.rows / 2.0};
  for (int j = 0; j < down; ++j) {
    if (j > 0) guess = grid[static_cast<std::size_t>(j - 1) * across];
    for (int i = 0; i < across; ++i)
      guess = grid[static_cast<std::size_t>(j) * across + i] =
          camera.PageFromPicture({static_cast<double>(i * kCell), static_cast<double>(j * kCell)}, guess);
  }

  const cv::Mat1f wood = Clouds({size.width, size.height}, 9, rng), light = Clouds(size, 3, rng);
  cv::Mat1f streak = Clouds({size.width, std::max(2, size.height / 60)}, std::max(6, size.width / 12), rng);
  cv::resize(streak, streak, size, 0, 0, cv::INTER_LINEAR);
  const cv::Vec3f desk(static_cast<float>(random.Between(70, 150)), static_cast<float>(random.Between(60, 120)),
                       static_cast<float>(random.Between(45, 105)));
  const float brightness = static_cast<float>(random.Between(0.78, 0.98)), warm = static_cast<float>(random.Between(-0.05, 0.08));
  const double slope_x = limits.harshness * random.Between(-0.14, 0.14), slope_y = limits.harshness * random.Between(-0.14, 0.14);
  const double shadow_x = random.Between(0.0, 1.0), shadow_angle = random.Between(0, std::numbers::pi),
               shadow_depth = random.Chance(0.5) ? limits.harshness * random.Between(0.08, 0.28) : 0;
  const double glare_x = random.Between(0.1, 0.9) * size.width, glare_y = random.Between(0.1, 0.9) * size.height,
               glare_size = random.Between(0.05, 0.13) * size.width;
  const double glare = random.Chance(0.35) ? limits.harshness * random.Between(15, 55) : 0;
  cv::Mat3f picture(size);
  for (int y = 0; y < size.height; ++y) {
    const int j = y / kCell;
    const double fy = static_cast<double>(y % kCell) / kCell;
    for (int x = 0; x < size.width; ++x) {
      const int i = x / kCell;
      const double fx = static_cast<double>(x % kCell) / kCell;
      const Point2 &p00 = grid[static_cast<std::size_t>(j) * across + i], &p10 = grid[static_cast<std::size_t>(j) * across + i + 1],
                   &p01 = grid[static_cast<std::size_t>(j + 1) * across + i], &p11 = grid[static_cast<std::size_t>(j + 1) * across + i + 1];
      const double px = (p00.x * (1 - fx) + p10.x * fx) * (1 - fy) + (p01.x * (1 - fx) + p11.x * fx) * fy;
      const double py = (p00.y * (1 - fx) + p10.y * fx) * (1 - fy) + (p01.y * (1 - fx) + p11.y * fx) * fy;
      const double off = std::max({-px, px - (page.cols - 1), -py, py - (page.rows - 1)});  // beyond the page's edge, page px
      cv::Vec3f v;
      if (off <= 0) {
        v = Sample(page, px, py);
        for (int c = 0; c < 3; ++c) v[c] = 22 + v[c] * 0.9f;
      } else {
        const float shade = 1 - 0.35f * std::exp(static_cast<float>(-off / 18));  // the page's own shadow
        for (int c = 0; c < 3; ++c) v[c] = (desk[c] + 16 * wood(y, x) + 9 * streak(y, x)) * shade;
      }
      double lit = brightness * (1 + slope_x * (2.0 * x / size.width - 1) + slope_y * (2.0 * y / size.height - 1) + 0.04 * light(y, x));
      if (shadow_depth > 0) {
        const double across_edge = (x / static_cast<double>(size.width) - shadow_x) * std::cos(shadow_angle) +
                                   (y / static_cast<double>(size.height) - 0.5) * std::sin(shadow_angle);
        lit *= 1 - shadow_depth / (1 + std::exp(-across_edge * 38));
      }
      const double shine = glare > 0 ? glare * std::exp(-(std::pow(x - glare_x, 2) + std::pow(y - glare_y, 2)) / (2 * glare_size * glare_size)) : 0;
      picture(y, x) = {static_cast<float>(v[0] * lit * (1 + warm) + shine), static_cast<float>(v[1] * lit + shine),
                       static_cast<float>(v[2] * lit * (1 - warm) + shine)};
    }
  }
  const double blur = random.Between(0.7, 1.3);
  cv::GaussianBlur(picture, picture, {}, blur);
  const double noise = limits.harshness * random.Between(2, 6.5);
  AddNoise(picture, noise, 0.45, rng);
  const int quality = random.Whole(74, 92);
  QImage image = ToImage(Clipped(picture));
  worn.facts.size_px = {image.width(), image.height()};
  // Some telephones store the picture lying and say so.
  const int orientation = random.Pick({1, 1, 6, 8, 3});
  QTransform turn;
  if (orientation == 6) turn.rotate(-90);
  if (orientation == 8) turn.rotate(90);
  if (orientation == 3) turn.rotate(180);
  if (orientation != 1) image = image.transformed(turn);
  worn.bytes = Pack(image, "JPG", quality);
  if (orientation != 1) worn.bytes = WithOrientation(worn.bytes, orientation);
  worn.extension = "jpg";
  worn.maps = sheet.maps;
  for (TrueMap& map : worn.maps) {
    map.MovePixels([&](Point2 p) { return camera.PictureFromPage(p); });
    map.line_width_px *= magnification;
  }
  worn.facts.wear_parameters = {{"tilt_x_deg", camera.tilt_x},
                                {"tilt_y_deg", camera.tilt_y},
                                {"roll_deg", camera.roll},
                                {"lens", camera.lens},
                                {"bend", camera.bend},
                                {"blur_px", blur},
                                {"noise", noise},
                                {"orientation", static_cast<double>(orientation)},
                                {"jpeg_quality", static_cast<double>(quality)}};
  return worn;
}

}  // namespace

const char* WearClassName(WearClass wear) {
  switch (wear) {
    case WearClass::kClean: return "clean";
    case WearClass::kScan: return "scan";
    case WearClass::kPhoto: return "photo";
    case WearClass::kWeb: return "web";
    case WearClass::kCopy: return "copy";
    case WearClass::kVector: return "vector";
    case WearClass::kSvg: return "svg";
  }
  return "";
}

std::optional<WearClass> ParseWearClass(const std::string& name) {
  for (WearClass wear :
       {WearClass::kClean, WearClass::kScan, WearClass::kPhoto, WearClass::kWeb, WearClass::kCopy, WearClass::kVector, WearClass::kSvg})
    if (name == WearClassName(wear)) return wear;
  return std::nullopt;
}

double PaintScale(const SheetStyle& style, WearClass wear, const WearLimits& limits, Random& random) {
  const double longer = std::max(style.width, style.height);
  switch (wear) {
    case WearClass::kScan: return random.Between(1.0, 1.6);
    case WearClass::kCopy: return random.Between(1.25, 1.8);
    case WearClass::kWeb: return 2.0 * random.Between(740, 1000) / longer;
    case WearClass::kPhoto: return 0.95 * limits.photo_width / longer;
    case WearClass::kClean:
    case WearClass::kVector:
    case WearClass::kSvg: break;
  }
  return 1.0;
}

WornSheet Wear(const PaintedSheet& sheet, WearClass wear, const WearLimits& limits, Random& random) {
  WornSheet worn;
  switch (wear) {
    case WearClass::kScan: worn = Scan(sheet, limits, random); break;
    case WearClass::kPhoto: worn = Photo(sheet, limits, random); break;
    case WearClass::kWeb: worn = Web(sheet, limits, random); break;
    case WearClass::kCopy: worn = Copy(sheet, limits, random); break;
    case WearClass::kClean:
    case WearClass::kVector:
    case WearClass::kSvg:
      worn.bytes = Pack(sheet.image, "PNG", -1), worn.extension = "png";
      worn.maps = sheet.maps;
      worn.facts.size_px = {sheet.image.width(), sheet.image.height()};
      break;
  }
  worn.facts.wear = WearClassName(wear);
  return worn;
}

Result<void> WriteWorn(const WornSheet& worn, const std::string& style, const std::filesystem::path& folder, const std::string& name) {
  SheetFacts facts = worn.facts;
  facts.style = style;
  facts.image = name + "." + worn.extension;
  std::ofstream out(folder / facts.image, std::ios::binary);
  out.write(worn.bytes.constData(), worn.bytes.size());
  if (!out.flush()) return Fail(ErrorCode::kCannotWrite, "The sheet cannot be written.", (folder / facts.image).string());
  for (std::size_t i = 0; i < worn.maps.size(); ++i) {
    const std::string each = i == 0 ? name : name + "-" + std::to_string(i + 1);
    if (auto done = WriteTruth(folder / (each + ".truth.json"), each, worn.maps[i], facts); !done) return done;
  }
  return {};
}

Result<void> PaintAndWrite(const std::string& style_name, std::uint64_t seed, WearClass wear, const std::filesystem::path& folder,
                           const std::string& name, const WearLimits& limits) {
  if (wear == WearClass::kVector || wear == WearClass::kSvg) {
    const bool svg = wear == WearClass::kSvg;
    PaintedPage page = svg ? PaintStyleSvg(style_name, seed) : PaintStylePdf(style_name, seed);
    WornSheet worn{std::move(page.bytes), svg ? "svg" : "pdf", std::move(page.maps), {}};
    worn.facts.size_px = page.size_px;
    worn.facts.wear = WearClassName(wear);
    return WriteWorn(worn, style_name, folder, name);
  }
  Random random(seed ^ 0xC0FFEEull);
  Random style_random(seed);
  const SheetStyle style = DrawStyle(style_name, style_random);  // the same draw as PaintStyle makes from this seed
  const PaintedSheet sheet = PaintStyle(style_name, seed, PaintScale(style, wear, limits, random));
  return WriteWorn(Wear(sheet, wear, limits, random), style_name, folder, name);
}

}  // namespace islebook::paint
