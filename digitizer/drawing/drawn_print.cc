#include "digitizer/drawing/drawn_print.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <set>

#include <fmt/format.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr double kDegree = std::numbers::pi / 180.0;
constexpr double kSamePx = 0.4;      // the same glyph again, drawn twice to look bold
constexpr double kWordGap = 0.36;    // of the height of digits: a wider gap divides words
constexpr double kFigureGap = 0.48;  // between figures, which all take the room of the widest
constexpr double kOverlap = 0.7;     // of it: glyphs that run back farther begin another word
constexpr double kSurelyOne = 0.6;   // of the words that hold a symbol agree on it
constexpr int kRim = 2;              // px of pale rim around glyphs

std::vector<std::string> Letters(const std::string& utf8) {
  std::vector<std::string> letters;
  for (std::size_t i = 0; i < utf8.size();) {
    const auto first = static_cast<unsigned char>(utf8[i]);
    const std::size_t n = first < 0x80 ? 1 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
    letters.push_back(utf8.substr(i, n));
    i += n;
  }
  return letters;
}

bool IsTall(const std::string& letter) {
  return letter.size() == 1 &&
         ((letter[0] >= '0' && letter[0] <= '9') || (letter[0] >= 'A' && letter[0] <= 'Z' && letter[0] != 'Q' && letter[0] != 'J'));
}

// One face at one size and tilt.
struct Face {
  double angle_deg = 0.0;
  double height = 0.0;  // of digits and capitals
};

cv::Rect2d At(const GlyphSymbol& symbol, ImagePoint origin) { return symbol.box + cv::Point2d(origin.x, origin.y); }

cv::Rect PixelBox(const cv::Rect2d& r) {
  const int x0 = cvRound(r.x), y0 = cvRound(r.y), x1 = cvRound(r.x + r.width), y1 = cvRound(r.y + r.height);
  return {x0, y0, std::max(1, x1 - x0 + 1), std::max(1, y1 - y0 + 1)};
}

void Fill(const std::vector<Polyline>& lines, ImagePoint origin, const cv::Scalar& color, cv::Mat& on) {
  constexpr int kShift = 4;
  std::vector<std::vector<cv::Point>> rings;
  for (const Polyline& line : lines) {
    rings.emplace_back();
    for (const ImagePoint& p : line.points)
      rings.back().emplace_back(cvRound((p.x + origin.x) * (1 << kShift)), cvRound((p.y + origin.y) * (1 << kShift)));
  }
  if (!rings.empty()) cv::fillPoly(on, rings, color, cv::LINE_AA, kShift);
}

void Stroke(const DrawnShape& shape, cv::Mat& on) {
  constexpr int kShift = 4;
  for (const Polyline& line : shape.lines) {
    std::vector<cv::Point> points;
    for (const ImagePoint& p : line.points) points.emplace_back(cvRound(p.x * (1 << kShift)), cvRound(p.y * (1 << kShift)));
    cv::polylines(on, points, line.closed, cv::Scalar(255), std::max(1, cvRound(shape.width_px)), cv::LINE_AA, kShift);
  }
}

class Composer {
 public:
  Composer(const DrawnPage& drawn, const std::vector<PageWord>& words, const Page& page) : drawn_(drawn), page_words_(words), page_(page) {
    names_ = NameSymbols(drawn, words);
    std::set<std::tuple<int, long, long>> seen;
    for (const DrawnGlyph& glyph : drawn.glyphs) {
      const GlyphSymbol& symbol = Symbol(glyph);
      if (!symbol.lines.empty()) {
        const auto key = [&](double dx, double dy) {
          return std::tuple{glyph.symbol, std::lround(glyph.origin.x / kSamePx + dx), std::lround(glyph.origin.y / kSamePx + dy)};
        };
        bool again = false;
        for (const double dx : {-0.5, 0.0, 0.5})
          for (const double dy : {-0.5, 0.0, 0.5}) again = again || seen.contains(key(dx, dy));
        if (again || !Shows(glyph)) continue;
        seen.insert(key(0.0, 0.0));
      }
      glyphs_.push_back(&glyph);
    }
    MeasureFaces();
  }

  void AddWords(PrintFound& print, std::vector<DrawnLetter>& letters, cv::Mat& ink, cv::Mat1b& mask) {
    std::vector<const DrawnGlyph*> word;
    bool space = false;
    for (const DrawnGlyph* glyph : glyphs_) {
      if (Symbol(*glyph).lines.empty()) {
        space = true;
        continue;
      }
      if (!word.empty() && (space || !Continues(word, *glyph))) {
        Finish(word, print, letters, ink, mask);
        word.clear();
      }
      space = false;
      word.push_back(glyph);
    }
    if (!word.empty()) Finish(word, print, letters, ink, mask);
  }

 private:
  const GlyphSymbol& Symbol(const DrawnGlyph& glyph) const { return drawn_.symbols[static_cast<std::size_t>(glyph.symbol)]; }
  const Face& FaceOf(const DrawnGlyph& glyph) const { return faces_[static_cast<std::size_t>(Symbol(glyph).font)]; }

  // Invisible text (the reading of a scan) and text that is clipped or painted over says nothing about this picture.
  bool Shows(const DrawnGlyph& glyph) const {
    const cv::Rect box = PixelBox(At(Symbol(glyph), glyph.origin)) & cv::Rect(0, 0, page_.ink.cols, page_.ink.rows);
    if (box.empty()) return false;
    for (const int clip : glyph.clips) {
      const auto& lines = drawn_.clips[static_cast<std::size_t>(clip)];
      if (!lines.empty() && !InsideClip(lines, {box.x + 0.5 * box.width, box.y + 0.5 * box.height})) return false;
    }
    double darkest = 0.0;
    cv::minMaxLoc(page_.ink(box), nullptr, &darkest);
    return darkest > 30.0;
  }

  void MeasureFaces() {
    int fonts = 0;
    for (const GlyphSymbol& symbol : drawn_.symbols) fonts = std::max(fonts, symbol.font + 1);
    faces_.resize(static_cast<std::size_t>(fonts));
    std::vector<std::map<int, double>> directions(faces_.size());
    std::vector<std::vector<double>> angles(faces_.size());
    std::vector<double> extent(faces_.size(), 1.0);
    for (const GlyphSymbol& symbol : drawn_.symbols)
      extent[static_cast<std::size_t>(symbol.font)] = std::max({extent[static_cast<std::size_t>(symbol.font)], symbol.box.width, symbol.box.height});
    for (std::size_t i = 1; i < drawn_.glyphs.size(); ++i) {
      const DrawnGlyph &p = drawn_.glyphs[i - 1], &q = drawn_.glyphs[i];
      const auto font = static_cast<std::size_t>(Symbol(q).font);
      if (Symbol(p).font != Symbol(q).font) continue;
      const double dx = q.origin.x - p.origin.x, dy = q.origin.y - p.origin.y, d = std::hypot(dx, dy);
      if (d < 0.1 * extent[font] || d > 2.2 * extent[font]) continue;
      angles[font].push_back(std::atan2(dy, dx) / kDegree);
      for (int k = -1; k <= 1; ++k) directions[font][static_cast<int>(std::lround(angles[font].back())) + k] += k == 0 ? 2.0 : 1.0;
    }
    for (std::size_t f = 0; f < faces_.size(); ++f) {
      if (!directions[f].empty()) {
        const int mode =
            std::max_element(directions[f].begin(), directions[f].end(), [](const auto& a, const auto& b) { return a.second < b.second; })->first;
        std::vector<double> near;
        for (const double a : angles[f])
          if (std::abs(std::remainder(a - mode, 360.0)) < 1.6) near.push_back(std::remainder(a - mode, 360.0));
        std::sort(near.begin(), near.end());
        faces_[f].angle_deg = mode + (near.empty() ? 0.0 : near[near.size() / 2]);
      }
      // Height above the base line, of what is surely tall; else of the tallest.
      const double c = std::cos(faces_[f].angle_deg * kDegree), s = std::sin(faces_[f].angle_deg * kDegree);
      std::vector<double> tall, all;
      for (std::size_t k = 0; k < drawn_.symbols.size(); ++k) {
        const GlyphSymbol& symbol = drawn_.symbols[k];
        if (static_cast<std::size_t>(symbol.font) != f || symbol.lines.empty()) continue;
        double top = 0.0;
        for (const Polyline& line : symbol.lines)
          for (const ImagePoint& p : line.points) top = std::max(top, p.x * s - p.y * c);
        all.push_back(top);
        if (IsTall(names_[k])) tall.push_back(top);
      }
      std::vector<double>& heights = tall.empty() ? all : tall;
      if (heights.empty()) continue;
      std::sort(heights.begin(), heights.end());
      faces_[f].height = tall.empty() ? heights.back() : heights[heights.size() / 2];
    }
  }

  // Extent of a glyph along its base line.
  std::pair<double, double> Along(const DrawnGlyph& glyph, double c, double s) const {
    double low = 1e18, high = -1e18;
    for (const Polyline& line : Symbol(glyph).lines)
      for (const ImagePoint& p : line.points) {
        const double a = (p.x + glyph.origin.x) * c + (p.y + glyph.origin.y) * s;
        low = std::min(low, a), high = std::max(high, a);
      }
    return {low, high};
  }

  // The page's word that the glyph's middle lies in, -1 for none.
  int PageWordOf(const DrawnGlyph& glyph) const {
    const cv::Rect2d box = At(Symbol(glyph), glyph.origin);
    const cv::Point2d middle(box.x + 0.5 * box.width, box.y + 0.5 * box.height);
    const auto found = std::ranges::find_if(page_words_, [&](const PageWord& word) { return word.box.contains(middle); });
    return found == page_words_.end() ? -1 : static_cast<int>(found - page_words_.begin());
  }

  bool IsFigure(const DrawnGlyph& glyph) const {
    const std::string& name = names_[static_cast<std::size_t>(glyph.symbol)];
    return name.empty() || name.find_first_not_of("0123456789.,") == std::string::npos;
  }

  bool Continues(const std::vector<const DrawnGlyph*>& word, const DrawnGlyph& next) const {
    const DrawnGlyph& last = *word.back();
    const Face &face = FaceOf(last), &after = FaceOf(next);
    if (std::abs(std::remainder(face.angle_deg - after.angle_deg, 360.0)) > 3.0 || last.color != next.color) return false;
    const double h = std::max(face.height, after.height), c = std::cos(face.angle_deg * kDegree), s = std::sin(face.angle_deg * kDegree);
    const double dx = next.origin.x - last.origin.x, dy = next.origin.y - last.origin.y;
    if (std::abs(-dx * s + dy * c) > 0.75 * h) return false;
    const double gap = Along(next, c, s).first - Along(last, c, s).second;
    // Of level text the page knows its words.
    if (std::abs(face.angle_deg) < 1.0) {
      const int p = PageWordOf(last), q = PageWordOf(next);
      if (p >= 0 && q >= 0 && p != q) return false;
    }
    const bool digits = IsFigure(last) && IsFigure(next);
    return gap < (digits ? kFigureGap : kWordGap) * h && gap > -kOverlap * h && dx * c + dy * s > 0.0;
  }

  void Finish(const std::vector<const DrawnGlyph*>& glyphs, PrintFound& print, std::vector<DrawnLetter>& letters, cv::Mat& ink, cv::Mat1b& mask) {
    // The largest face sets height and direction; raised and lowered figures do not.
    const DrawnGlyph* main = *std::max_element(glyphs.begin(), glyphs.end(),
                                               [&](const DrawnGlyph* p, const DrawnGlyph* q) { return FaceOf(*p).height < FaceOf(*q).height; });
    const Face& face = FaceOf(*main);
    const double c = std::cos(face.angle_deg * kDegree), s = std::sin(face.angle_deg * kDegree);
    double start = 1e18, end = -1e18;
    Word word;
    const int number = static_cast<int>(print.words.size());
    for (const DrawnGlyph* glyph : glyphs) {
      const auto [low, high] = Along(*glyph, c, s);
      start = std::min(start, low), end = std::max(end, high);
      word.glyphs.push_back(PixelBox(At(Symbol(*glyph), glyph->origin)));
      letters.push_back({word.glyphs.back(), names_[static_cast<std::size_t>(glyph->symbol)], number, static_cast<int>(letters.size())});
      Fill(Symbol(*glyph).lines, glyph->origin, cv::Scalar(255), ink);
      Fill(Symbol(*glyph).lines, glyph->origin, cv::Scalar(255), mask);
    }
    const double base = -main->origin.x * s + main->origin.y * c;
    const double a = 0.5 * (start + end), b = base - 0.5 * face.height;
    word.center = {a * c - b * s, a * s + b * c};
    word.angle_deg = face.angle_deg;
    word.width_px = end - start;
    word.height_px = face.height;
    cv::Vec3b color = main->color;
    if (page_.inverted) color = cv::Vec3b(255 - color[0], 255 - color[1], 255 - color[2]);
    cv::Mat3f one(1, 1, cv::Vec3f(color[0] / 255.0F, color[1] / 255.0F, color[2] / 255.0F)), lab;
    cv::cvtColor(one, lab, cv::COLOR_BGR2Lab);
    word.lab = lab(0, 0);
    print.words.push_back(std::move(word));
  }

  const DrawnPage& drawn_;
  const std::vector<PageWord>& page_words_;
  const Page& page_;
  std::vector<std::string> names_;
  std::vector<const DrawnGlyph*> glyphs_;
  std::vector<Face> faces_;
};

double CommonHeight(const std::vector<Word>& words) {
  std::map<int, double> weight;
  for (const Word& word : words)
    for (int k = -1; k <= 1; ++k)
      weight[static_cast<int>(std::lround(word.height_px)) + k] += static_cast<double>(word.glyphs.size()) * (2 - std::abs(k));
  if (weight.empty()) return 0.0;
  const int mode = std::max_element(weight.begin(), weight.end(), [](const auto& p, const auto& q) { return p.second < q.second; })->first;
  double sum = 0.0, n = 0.0;
  for (const Word& word : words)
    if (std::abs(word.height_px - mode) < 1.6) sum += word.height_px, n += 1.0;
  return n > 0.0 ? sum / n : mode;
}

}  // namespace

std::vector<std::string> NameSymbols(const DrawnPage& drawn, const std::vector<PageWord>& words) {
  std::vector<std::map<std::string, int>> votes(drawn.symbols.size());
  constexpr double kMostPairs = 3e8;  // beyond it is a page of prose, or a trap
  if (static_cast<double>(words.size()) * static_cast<double>(drawn.glyphs.size()) > kMostPairs)
    return std::vector<std::string>(drawn.symbols.size());
  for (const PageWord& word : words) {
    const std::vector<std::string> letters = Letters(word.text);
    std::vector<const DrawnGlyph*> inside;
    for (const DrawnGlyph& glyph : drawn.glyphs) {
      const GlyphSymbol& symbol = drawn.symbols[static_cast<std::size_t>(glyph.symbol)];
      if (symbol.lines.empty()) continue;
      const cv::Rect2d box = At(symbol, glyph.origin);
      const cv::Point2d center(box.x + 0.5 * box.width, box.y + 0.5 * box.height);
      if (!word.box.contains(center)) continue;
      const bool again = std::any_of(inside.begin(), inside.end(), [&](const DrawnGlyph* other) {
        return other->symbol == glyph.symbol &&
               std::hypot(other->origin.x - glyph.origin.x, other->origin.y - glyph.origin.y) < 0.12 * (box.width + box.height);
      });
      if (!again) inside.push_back(&glyph);
    }
    if (inside.size() != letters.size()) continue;
    for (std::size_t i = 0; i < inside.size(); ++i) ++votes[static_cast<std::size_t>(inside[i]->symbol)][letters[i]];
  }
  std::vector<std::string> names(drawn.symbols.size());
  for (std::size_t k = 0; k < names.size(); ++k) {
    int all = 0;
    const std::pair<const std::string, int>* best = nullptr;
    for (const auto& vote : votes[k]) {
      all += vote.second;
      if (best == nullptr || vote.second > best->second) best = &vote;
    }
    if (best != nullptr && best->second >= kSurelyOne * all && best->first != "\uFFFD") names[k] = best->first;
  }
  return names;
}

Result<DrawnPrint> FindDrawnPrint(const DrawnPage& drawn, const std::vector<PageWord>& words, const std::vector<const DrawnShape*>& small,
                                  const Page& page, const PrintOptions& options) {
  DrawnPrint found;
  cv::Mat ink(page.ink.size(), CV_8UC1, cv::Scalar(0));
  found.print.mask = cv::Mat1b(page.ink.size(), static_cast<unsigned char>(0));
  Page& print_page = found.print_page;
  if (!small.empty()) {
    for (const DrawnShape* shape : small) {
      if (shape->filled)
        Fill(shape->lines, {}, cv::Scalar(255), ink);
      else
        Stroke(*shape, ink);
    }
    print_page.ink = ink.clone();
    print_page.color = page.color;
    print_page.blur_px = 0.4;
    auto outlined = FindPrint(print_page, {}, options);
    if (!outlined) return std::unexpected(outlined.error());
    found.print = std::move(*outlined);
    found.print.report = {};
  }
  print_page.color = page.color;
  print_page.blur_px = 0.4;
  print_page.extent = {};
  const std::size_t outlined = found.print.words.size();
  Composer composer(drawn, words, page);
  cv::Mat1b glyph_mask(page.ink.size(), static_cast<unsigned char>(0));
  composer.AddWords(found.print, found.letters, ink, glyph_mask);
  print_page.ink = ink;
  cv::dilate(glyph_mask, glyph_mask, cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * kRim + 1, 2 * kRim + 1}));
  cv::bitwise_or(found.print.mask, glyph_mask > 0, found.print.mask);
  found.print.digit_height_px = CommonHeight(found.print.words);
  const auto told = std::count_if(found.letters.begin(), found.letters.end(), [](const DrawnLetter& l) { return !l.text.empty(); });
  found.print.report.notes.push_back(fmt::format("{} words of the page's own glyphs, {} of {} glyphs named; {} words drawn as outlines",
                                                 found.print.words.size() - outlined, told, found.letters.size(), outlined));
  if (found.print.words.empty()) {
    found.print.report.confidence = 0.0;
    found.print.report.doubts.push_back("No print was found on the page.");
  }
  return found;
}

}  // namespace islebook
