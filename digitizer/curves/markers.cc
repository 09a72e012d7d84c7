#include "digitizer/curves/markers.h"

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/curves/marker_look.h"
#include "digitizer/curves/marker_seeds.h"
#include "digitizer/ridges/ridges.h"

namespace islebook {
namespace {

constexpr std::size_t kFewest = 5;
constexpr std::size_t kMostShapes = 8;
constexpr double kAlike = 0.85;       // likeness of two markers of one shape
constexpr double kKin = 0.75;         // and of two shapes of one kind
constexpr double kSameSize = 1.25;    // ratio of their radii
constexpr double kPrintPart = 0.3;    // of a shape's places in words: it is a glyph
constexpr double kFaint = 0.65;       // of the lines' ink: dust, or spots on grid lines
constexpr double kTouchPart = 0.4;    // of a shape's places that touch a larger shape's: what lies between markers, not a marker
constexpr double kWorthALook = 0.35;  // correlation of the plain search
constexpr double kWhole = 0.64;       // likeness that a marker in full view needs
constexpr double kHidden = 0.7;       // and one that others hide in part
constexpr double kLineLike = 0.75;    // of its likeness that is left half a radius farther on
constexpr double kLineThick = 1.05;   // radii
constexpr double kInPrint = 0.82;     // and one among glyphs
constexpr double kLeastSeen = 0.35;   // of its places
constexpr double kClosest = 0.5;      // radii between two markers
constexpr double kNearby = 14.0;      // radii from a sure one: how far others of its shape are looked for

struct Shape {
  MarkerLook look;
  double radius_px = 0.0;
  int kind = 0;                      // shapes of one kind are one shape that noise or the raster has parted
  std::vector<std::size_t> members;  // seeds
};

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

bool OneSize(double a, double b) { return a < kSameSize * b && b < kSameSize * a; }

double MedianRadius(const std::vector<MarkerSeed>& seeds, const std::vector<std::size_t>& members) {
  std::vector<double> r;
  for (std::size_t m : members) r.push_back(seeds[m].radius_px);
  std::nth_element(r.begin(), r.begin() + static_cast<long>(r.size() / 2), r.end());
  return r[r.size() / 2];
}

// The shape that most of the free seeds share; no members where fewer than five do.
Shape CommonestShape(const std::vector<MarkerSeed>& seeds, const std::vector<MarkerLook>& looks, const std::vector<std::vector<std::size_t>>& like,
                     const std::vector<char>& taken) {
  Shape shape;
  for (std::size_t i = 0; i < seeds.size(); ++i) {
    if (taken[i]) continue;
    std::vector<std::size_t> members;
    for (std::size_t j : like[i])
      if (!taken[j]) members.push_back(j);
    if (members.size() > shape.members.size()) shape.members = std::move(members);
  }
  if (shape.members.size() < kFewest) return {};
  for (int round = 0; round < 2; ++round) {
    std::vector<const MarkerLook*> of;
    for (std::size_t m : shape.members) of.push_back(&looks[m]);
    shape.look = MedianLook(of);
    shape.radius_px = MedianRadius(seeds, shape.members);
    std::vector<std::size_t> members;
    for (std::size_t i = 0; i < seeds.size(); ++i)
      if (!taken[i] && OneSize(seeds[i].radius_px, shape.radius_px) && Likeness(looks[i], shape.look) > kAlike) members.push_back(i);
    if (members.size() < kFewest) break;
    shape.members = std::move(members);
  }
  return shape;
}

// Where two markers touch, their rims and the line make a spot of their own.
void DropBetween(const std::vector<MarkerSeed>& seeds, std::vector<Shape>& shapes) {
  const std::vector<Shape> all = shapes;
  std::erase_if(shapes, [&](const Shape& small) {
    const auto touching = std::count_if(small.members.begin(), small.members.end(), [&](std::size_t m) {
      return std::any_of(all.begin(), all.end(), [&](const Shape& large) {
        return large.radius_px > 1.1 * small.radius_px && std::any_of(large.members.begin(), large.members.end(), [&](std::size_t l) {
                 return Distance(seeds[l].center, seeds[m].center) < large.radius_px + 0.8 * small.radius_px;
               });
      });
    });
    return static_cast<double>(touching) > kTouchPart * static_cast<double>(small.members.size());
  });
}

float Darkest(MarkerLook look) {
  const auto at = look.begin() + static_cast<long>(look.size() * 9 / 10);
  std::nth_element(look.begin(), at, look.end());
  return *at;
}

std::vector<Shape> SortIntoShapes(const Page& page, const std::vector<MarkerSeed>& seeds, double line_level) {
  std::vector<MarkerLook> looks;
  for (const MarkerSeed& s : seeds) looks.push_back(LookAt(page.ink, s.center, s.radius_px));
  std::vector<std::vector<std::size_t>> like(seeds.size());
  for (std::size_t i = 0; i < seeds.size(); ++i) {
    like[i].push_back(i);
    for (std::size_t j = i + 1; j < seeds.size(); ++j) {
      if (!OneSize(seeds[i].radius_px, seeds[j].radius_px) || Likeness(looks[i], looks[j]) < kAlike) continue;
      like[i].push_back(j);
      like[j].push_back(i);
    }
  }
  std::vector<Shape> shapes;
  std::vector<char> taken(seeds.size(), 0);
  while (shapes.size() < kMostShapes) {
    Shape shape = CommonestShape(seeds, looks, like, taken);
    if (shape.members.size() < kFewest) break;
    for (std::size_t m : shape.members) taken[m] = 1;
    const auto print = std::count_if(shape.members.begin(), shape.members.end(), [&](std::size_t m) { return seeds[m].print; });
    if (static_cast<double>(print) < kPrintPart * static_cast<double>(shape.members.size()) && Darkest(shape.look) > kFaint * line_level)
      shapes.push_back(std::move(shape));
  }
  DropBetween(seeds, shapes);
  for (std::size_t k = 0; k < shapes.size(); ++k) {
    shapes[k].kind = static_cast<int>(k);
    for (std::size_t j = 0; j < k; ++j)
      if (OneSize(shapes[j].radius_px, shapes[k].radius_px) && Likeness(shapes[j].look, shapes[k].look) > kKin) {
        shapes[k].kind = shapes[j].kind;
        break;
      }
  }
  return shapes;
}

struct Candidate {
  ImagePoint from;
  std::size_t shape = 0;
  ImagePoint at;       // where it is most like its shape
  double score = 0.0;  // there
  double seen = 1.0;   // part of it that no accepted marker covers
};

// Places where a plain search for the shape comes up, near markers that are sure.
void SearchFor(const Page& page, cv::Rect where, const std::vector<MarkerSeed>& seeds, const Shape& shape, std::size_t number,
               std::vector<Candidate>& out) {
  const int reach = static_cast<int>(std::ceil(kLookRim * shape.radius_px));
  cv::Mat1b picture(2 * reach + 1, 2 * reach + 1, static_cast<unsigned char>(0));
  // The look's places, painted back: the nearest of them at each pixel.
  const std::vector<cv::Point2f>& places = LookPlaces();
  for (int y = -reach; y <= reach; ++y)
    for (int x = -reach; x <= reach; ++x) {
      const cv::Point2f u(static_cast<float>(x / shape.radius_px), static_cast<float>(y / shape.radius_px));
      std::size_t best = 0;
      float nearest = 1e9F;
      for (std::size_t k = 0; k < places.size(); ++k) {
        const cv::Point2f d = places[k] - u;
        if (const float d2 = d.dot(d); d2 < nearest) {
          nearest = d2;
          best = k;
        }
      }
      picture(y + reach, x + reach) = cv::saturate_cast<unsigned char>(shape.look[best]);
    }
  cv::Rect area;
  for (std::size_t m : shape.members) {
    const int far = cvCeil(kNearby * shape.radius_px) + reach;
    const cv::Rect box(cvRound(seeds[m].center.x) - far, cvRound(seeds[m].center.y) - far, 2 * far + 1, 2 * far + 1);
    area = area.empty() ? box : area | box;
  }
  area &= where;
  if (area.width < picture.cols + 2 || area.height < picture.rows + 2) return;
  cv::Mat1b near(area.size(), static_cast<unsigned char>(0));
  for (std::size_t m : shape.members)
    cv::circle(near, {cvRound(seeds[m].center.x) - area.x, cvRound(seeds[m].center.y) - area.y}, cvRound(kNearby * shape.radius_px), 255, cv::FILLED);
  cv::Mat1f map;
  cv::matchTemplate(page.ink(area), picture, map, cv::TM_CCOEFF_NORMED);
  for (int y = 1; y + 1 < map.rows; ++y)
    for (int x = 1; x + 1 < map.cols; ++x) {
      const float v = map(y, x);
      if (v < kWorthALook || near(y + reach, x + reach) == 0) continue;
      bool highest = true;
      for (int dy = -1; dy <= 1 && highest; ++dy)
        for (int dx = -1; dx <= 1; ++dx) highest = highest && (map(y + dy, x + dx) < v || (dy * 3 + dx >= 0 && map(y + dy, x + dx) <= v));
      if (highest) {
        const ImagePoint at{static_cast<double>(x + reach + area.x), static_cast<double>(y + reach + area.y)};
        out.push_back({at, number, at});
      }
    }
}

// Which of the look's places no accepted marker covers.
std::vector<char> SeenAt(ImagePoint at, double radius, const std::vector<Marker>& accepted, std::size_t& count) {
  std::vector<char> seen(LookPlaces().size(), 1);
  count = seen.size();
  for (const Marker& m : accepted) {
    if (Distance(m.center, at) > kLookRim * radius + m.radius_px) continue;
    for (std::size_t k = 0; k < seen.size(); ++k) {
      const double dx = at.x + radius * LookPlaces()[k].x - m.center.x, dy = at.y + radius * LookPlaces()[k].y - m.center.y;
      if (seen[k] && dx * dx + dy * dy < m.radius_px * m.radius_px) {
        seen[k] = 0;
        --count;
      }
    }
  }
  return seen;
}

// Moves the candidate to where it is most like its shape, by what can be seen of it.
void Settle(const cv::Mat1b& ink, const Shape& shape, const std::vector<Marker>& accepted, Candidate& c) {
  c.at = c.from;
  c.score = -1;
  const double wide = std::clamp(0.12 * shape.radius_px, 0.5, 1.5);
  for (double step : {wide, 0.5 * wide, 0.25 * wide}) {
    const ImagePoint middle = c.at;
    for (int i = -2; i <= 2; ++i)
      for (int j = -2; j <= 2; ++j) {
        const ImagePoint p{middle.x + j * step, middle.y + i * step};
        std::size_t count = 0;
        const std::vector<char> seen = SeenAt(p, shape.radius_px, accepted, count);
        const double part = static_cast<double>(count) / static_cast<double>(seen.size());
        if (part < kLeastSeen) continue;
        const double score = Likeness(LookAt(ink, p, shape.radius_px), shape.look, &seen);
        if (score <= c.score) continue;
        c.score = score;
        c.at = p;
        c.seen = part;
      }
  }
  if (c.score < 0) c.seen = 0;
}

// What lies on top is taken first; then what shows beside it.
std::vector<Marker> TakeInTurn(const Page& page, const std::vector<Shape>& shapes, const PrintAt& is_print, std::vector<Candidate> candidates) {
  std::vector<Marker> accepted;
  for (Candidate& c : candidates) Settle(page.ink, shapes[c.shape], accepted, c);
  while (!candidates.empty()) {
    const auto best =
        std::max_element(candidates.begin(), candidates.end(), [](const Candidate& a, const Candidate& b) { return a.score < b.score; });
    const Candidate c = *best;
    if (c.score < kWhole) break;
    const double radius = shapes[c.shape].radius_px;
    *best = candidates.back();
    candidates.pop_back();
    const bool double_of = std::any_of(accepted.begin(), accepted.end(),
                                       [&](const Marker& m) { return Distance(m.center, c.at) < kClosest * std::max(m.radius_px, radius); });
    if (double_of || (c.score < kInPrint && is_print(c.at)) || (c.seen < 0.8 && c.score < kHidden)) continue;
    accepted.push_back({c.at, radius, static_cast<int>(c.shape), {}});
    for (Candidate& other : candidates)
      if (Distance(other.from, c.at) < radius + 2 * shapes[other.shape].radius_px) Settle(page.ink, shapes[other.shape], accepted, other);
    std::erase_if(candidates, [](const Candidate& o) { return o.seen < kLeastSeen; });
  }
  return accepted;
}

// A piece of plain line: as like the shape a little farther on, both ways, and thin for a marker.
bool IsLine(const Page& page, const Shape& shape, const Marker& m) {
  const double here = Likeness(LookAt(page.ink, m.center, m.radius_px), shape.look);
  for (int k = 0; k < 8; ++k) {
    const double a = k * M_PI / 8, dx = 0.55 * m.radius_px * std::cos(a), dy = 0.55 * m.radius_px * std::sin(a);
    const double onward = std::min(Likeness(LookAt(page.ink, {m.center.x + dx, m.center.y + dy}, m.radius_px), shape.look),
                                   Likeness(LookAt(page.ink, {m.center.x - dx, m.center.y - dy}, m.radius_px), shape.look));
    if (onward < kLineLike * here) continue;
    const int level = page.ink(cvRound(m.center.y), cvRound(m.center.x));
    if (InkMassAcross(page.ink, m.center, a, 10.0) * 255.0 < kLineThick * m.radius_px * std::max(40, level)) return true;
  }
  return false;
}

// The color of its own ink: the darker half of its pixels that are ink at all.
cv::Vec3f ColorOf(const Page& page, const Marker& m) {
  const int r = cvCeil(m.radius_px);
  std::vector<std::pair<int, cv::Point>> inked;
  for (int y = -r; y <= r; ++y)
    for (int x = -r; x <= r; ++x) {
      const cv::Point p(cvRound(m.center.x) + x, cvRound(m.center.y) + y);
      if (x * x + y * y > r * r || p.x < 0 || p.y < 0 || p.x >= page.ink.cols || p.y >= page.ink.rows || page.ink(p) < 40) continue;
      inked.emplace_back(-page.ink(p), p);
    }
  if (inked.empty() || page.color.empty()) return {0, 0, 0};
  std::stable_sort(inked.begin(), inked.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  inked.resize(std::max<std::size_t>(1, inked.size() / 2));
  cv::Vec3f sum(0, 0, 0);
  for (const auto& [level, p] : inked) sum += cv::Vec3f(page.color(p)) / 255.0F;
  cv::Mat3f one(1, 1, sum / static_cast<float>(inked.size()));
  cv::cvtColor(one, one, cv::COLOR_BGR2Lab);
  return one(0, 0);
}

}  // namespace

std::vector<Marker> FindMarkers(const Page& page, cv::Rect where, const PrintFound& print, const LineWidths& lines, const cv::Mat1b& furniture) {
  where &= cv::Rect(0, 0, page.ink.cols, page.ink.rows);
  if (where.width < 20 || where.height < 20) return {};
  const std::vector<MarkerSeed> seeds = FindMarkerSeeds(page, where, print, lines, furniture);
  const std::vector<Shape> shapes = SortIntoShapes(page, seeds, lines.level);
  if (shapes.empty()) return {};
  std::vector<Candidate> candidates;
  for (std::size_t s = 0; s < shapes.size(); ++s) {
    for (std::size_t m : shapes[s].members) candidates.push_back({seeds[m].center, s, seeds[m].center});
    SearchFor(page, where, seeds, shapes[s], s, candidates);
  }
  std::vector<Marker> markers = TakeInTurn(page, shapes, PrintAt(print), std::move(candidates));
  std::erase_if(markers, [&](const Marker& m) { return IsLine(page, shapes[static_cast<std::size_t>(m.shape)], m); });
  const auto kind = [&](const Marker& m) { return static_cast<std::size_t>(shapes[static_cast<std::size_t>(m.shape)].kind); };
  std::vector<std::size_t> count(shapes.size(), 0);
  for (const Marker& m : markers) ++count[kind(m)];
  std::erase_if(markers, [&](const Marker& m) { return count[kind(m)] < kFewest; });
  for (Marker& m : markers) {
    m.shape = static_cast<int>(kind(m));
    m.lab = ColorOf(page, m);
  }
  return markers;
}

}  // namespace islebook
