#include "digitizer/drawing/drawn_page.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstring>
#include <map>
#include <string_view>
#include <unordered_map>

#include <pugixml.hpp>

namespace islebook {
namespace {

// [a c e; b d f], as SVG writes matrix(a, b, c, d, e, f).
struct Affine {
  double a = 1.0, b = 0.0, c = 0.0, d = 1.0, e = 0.0, f = 0.0;
  ImagePoint operator()(double x, double y) const { return {a * x + c * y + e, b * x + d * y + f}; }
  Affine operator*(const Affine& o) const {
    return {a * o.a + c * o.b, b * o.a + d * o.b, a * o.c + c * o.d, b * o.c + d * o.d, a * o.e + c * o.f + e, b * o.e + d * o.f + f};
  }
  double Scale() const { return std::sqrt(std::abs(a * d - b * c)); }
};

// Numbers of a list, whatever stands between them. False: not finite, or absurdly large.
class Numbers {
 public:
  explicit Numbers(std::string_view text) : at_(text.data()), end_(text.data() + text.size()) {}
  bool Next(double& value) {
    while (at_ != end_ && std::strchr(" ,\t\r\n", *at_) != nullptr) ++at_;
    const auto [after, failed] = std::from_chars(at_, end_, value);
    if (failed != std::errc() || !std::isfinite(value) || std::abs(value) > 1e9) return false;
    at_ = after;
    return true;
  }
  // The next letter, 0 at the end or before a number.
  char Letter() {
    while (at_ != end_ && std::strchr(" ,\t\r\n", *at_) != nullptr) ++at_;
    if (at_ == end_ || std::isalpha(static_cast<unsigned char>(*at_)) == 0) return 0;
    return *at_++;
  }
  bool AtEnd() {
    while (at_ != end_ && std::strchr(" ,\t\r\n", *at_) != nullptr) ++at_;
    return at_ == end_;
  }

 private:
  const char *at_, *end_;
};

Affine ReadTransform(const char* text) {
  Affine all;
  std::string_view rest(text);
  while (true) {
    const std::size_t open = rest.find('('), close = rest.find(')');
    if (open == std::string_view::npos || close == std::string_view::npos || close < open) return all;
    Numbers numbers(rest.substr(open + 1, close - open - 1));
    double v[6] = {};
    int n = 0;
    while (n < 6 && numbers.Next(v[n])) ++n;
    std::string_view name = rest.substr(0, open);
    Affine one;
    if (name.ends_with("matrix") && n == 6) one = {v[0], v[1], v[2], v[3], v[4], v[5]};
    if (name.ends_with("translate") && n >= 1) one = {1.0, 0.0, 0.0, 1.0, v[0], v[1]};
    if (name.ends_with("scale") && n >= 1) one = {v[0], 0.0, 0.0, n > 1 ? v[1] : v[0], 0.0, 0.0};
    all = all * one;
    rest.remove_prefix(close + 1);
  }
}

// A property, whether it stands as an attribute or in the style.
std::string_view Property(const pugi::xml_node& node, std::string_view name) {
  for (const pugi::xml_attribute& attribute : node.attributes())
    if (name == attribute.name()) return attribute.value();
  std::string_view style = node.attribute("style").value();
  while (!style.empty()) {
    const std::size_t end = std::min(style.find(';'), style.size());
    std::string_view one = style.substr(0, end);
    style.remove_prefix(std::min(end + 1, style.size()));
    while (!one.empty() && one.front() == ' ') one.remove_prefix(1);
    if (one.starts_with(name) && one.size() > name.size() && one[name.size()] == ':') return one.substr(name.size() + 1);
  }
  return {};
}

double NumberOr(std::string_view text, double otherwise) {
  double value = 0.0;
  return Numbers(text).Next(value) ? value : otherwise;
}

// Mixed with white by its opacity. Patterns and gradients count as a middle gray.
bool ReadColor(std::string_view text, double opacity, cv::Vec3b& color) {
  if (text.empty() || text == "none" || !(opacity > 0.02)) return false;
  double rgb[3] = {128.0, 128.0, 128.0};
  if (text.starts_with("rgb(")) {
    std::string plain(text.substr(4));
    const bool per_cent = plain.find('%') != std::string::npos;
    std::replace(plain.begin(), plain.end(), '%', ' ');
    Numbers numbers(plain);
    for (double& channel : rgb)
      if (double v = 0.0; numbers.Next(v)) channel = per_cent ? 2.55 * v : v;
  } else if (text.starts_with("#") && text.size() >= 7) {
    for (int c = 0; c < 3; ++c) {
      int v = 0;
      std::from_chars(text.data() + 1 + 2 * c, text.data() + 3 + 2 * c, v, 16);
      rgb[c] = v;
    }
  }
  for (int c = 0; c < 3; ++c)
    color[2 - c] = static_cast<unsigned char>(std::clamp(std::lround(255.0 + std::min(1.0, opacity) * (rgb[c] - 255.0)), 0L, 255L));
  return true;
}

std::string_view Reference(std::string_view text) {
  const std::size_t from = text.find('#');
  if (from == std::string_view::npos) return {};
  const std::size_t to = text.find(')', from);
  return text.substr(from + 1, to == std::string_view::npos ? to : to - from - 1);
}

constexpr double kFarPx = 1e7;  // what lies beyond is on no page

bool Near(const ImagePoint& p) { return std::abs(p.x) < kFarPx && std::abs(p.y) < kFarPx; }

class PageReader {
 public:
  PageReader(const PageScale& scale, const DrawnLimits& limits) : scale_(scale), limits_(limits) {}

  Result<DrawnPage> Read(const std::string& svg) {
    pugi::xml_document document;
    // Entities other than XML's own five stay as they are: nothing can be blown up.
    const auto parsed = document.load_buffer(svg.data(), svg.size(), pugi::parse_minimal | pugi::parse_escapes);
    const pugi::xml_node root = document.child("svg");
    if (!parsed || !root) return Fail(ErrorCode::kNotASheet, "the page's paths cannot be read");
    double view[4] = {};
    Numbers numbers(root.attribute("viewBox").value());
    for (double& v : view)
      if (!numbers.Next(v)) return Fail(ErrorCode::kNotASheet, "the page's paths have no size");
    if (!(view[2] > 0.0 && view[3] > 0.0)) return Fail(ErrorCode::kNotASheet, "the page's paths have no size");
    // The corner of the page is the corner of the top left pixel, half a pixel from its center.
    cv::Size size = scale_.Unturned();
    const double sx = scale_.px_per_point > 0.0 ? scale_.px_per_point : size.width / view[2];
    const double sy = scale_.px_per_point > 0.0 ? scale_.px_per_point : size.height / view[3];
    Affine page{sx, 0.0, 0.0, sy, -0.5 - sx * view[0], -0.5 - sy * view[1]};
    for (int turn = 0; turn < scale_.quarter_turns; ++turn) {
      page = Affine{0.0, 1.0, -1.0, 0.0, size.height - 1.0, 0.0} * page;
      std::swap(size.width, size.height);
    }
    Collect(root, 0);
    Draw(root, page, {}, 1.0, 0);
    if (over_) return Fail(ErrorCode::kSheetTooLarge, "the page holds too many drawn lines");
    return std::move(page_);
  }

 private:
  void Collect(const pugi::xml_node& node, int depth) {
    if (depth > limits_.max_depth) {
      over_ = true;
      return;
    }
    for (const pugi::xml_node& child : node.children()) {
      if (const char* id = child.attribute("id").value(); *id != 0) by_id_.emplace(id, child);
      Collect(child, depth + 1);
    }
  }

  void Draw(const pugi::xml_node& parent, const Affine& outer, const std::vector<int>& outer_clips, double outer_opacity, int depth) {
    int show = -1;
    for (const pugi::xml_node& node : parent.children()) {
      const std::string_view name = node.name();
      if (name == "defs" || name == "symbol" || name == "clipPath" || name == "mask" || name == "pattern") continue;
      DrawOne(node, outer, outer_clips, outer_opacity, depth, show);
      if (over_) return;
    }
  }

  // `show`: number of the call that shows the glyphs of this parent, -1 before its first glyph.
  void DrawOne(const pugi::xml_node& node, const Affine& outer, const std::vector<int>& outer_clips, double outer_opacity, int depth, int& show) {
    if (++elements_ > limits_.max_elements || depth > limits_.max_depth) over_ = true;
    if (over_) return;
    const std::string_view name = node.name();
    const Affine here = outer * ReadTransform(node.attribute("transform").value());
    std::vector<int> clips = outer_clips;
    if (const auto clip = Reference(Property(node, "clip-path")); !clip.empty()) clips.push_back(ClipOf(std::string(clip), here));
    const double opacity = outer_opacity * std::clamp(NumberOr(Property(node, "opacity"), 1.0), 0.0, 1.0);
    if (name == "g" || name == "svg") {
      Draw(node, here, clips, opacity, depth + 1);
    } else if (name == "path") {
      AddShape(node, Flatten(node.attribute("d").value(), here), here, clips, opacity);
    } else if (name == "rect") {
      AddShape(node, {RectLine(node, here)}, here, clips, opacity);
    } else if (name == "image") {
      std::vector<cv::Point2d> corners;
      for (const ImagePoint& p : RectLine(node, here).points)
        corners.emplace_back(std::clamp(p.x, -kFarPx, kFarPx), std::clamp(p.y, -kFarPx, kFarPx));
      page_.images.push_back(std::move(corners));
    } else if (name == "use") {
      const pugi::xml_attribute link = node.attribute("xlink:href") ? node.attribute("xlink:href") : node.attribute("href");
      const auto target = by_id_.find(std::string(Reference(link.value())));
      if (target == by_id_.end()) return;
      const double x = node.attribute("x").as_double(), y = node.attribute("y").as_double();
      // Since version 1.18 cairo's glyphs are groups named so, before they were symbols.
      if (std::string_view(target->second.name()) == "symbol" || target->first.starts_with("glyph")) {
        if (show < 0) show = shows_++;
        AddGlyph(target->first, target->second, node, here(x, y), here, clips, opacity, show);
      } else {
        int inner_show = -1;
        DrawOne(target->second, here * Affine{1.0, 0.0, 0.0, 1.0, x, y}, clips, opacity, depth + 1, inner_show);
      }
    }
  }

  std::vector<Polyline> Flatten(std::string_view d, const Affine& to_page) {
    std::vector<Polyline> lines;
    Numbers numbers(d);
    ImagePoint pen{};
    const auto end_line = [&] {
      if (lines.empty()) return;
      Polyline& line = lines.back();
      if (line.closed && line.points.size() > 2) {
        const ImagePoint &first = line.points.front(), &last = line.points.back();
        if (std::hypot(first.x - last.x, first.y - last.y) < 1e-6) line.points.pop_back();
      }
      if (line.points.size() < 2) lines.pop_back();  // "M x y" alone, which cairo writes after every Z
    };
    char command = 0;
    while (!over_ && !numbers.AtEnd()) {
      if (const char letter = numbers.Letter(); letter != 0) command = letter;
      double v[6] = {};
      const int wanted = command == 'M' || command == 'L' ? 2 : command == 'C' ? 6 : 0;
      if (wanted == 0 && command != 'Z') break;  // nothing that cairo writes
      bool whole = true;
      for (int i = 0; i < wanted && whole; ++i) whole = numbers.Next(v[i]);
      if (!whole) break;
      if (command == 'Z') {
        if (!lines.empty() && !lines.back().points.empty()) {
          pen = lines.back().points.front();
          lines.back().closed = true;
        }
        command = 'L';
        continue;
      }
      if (command == 'M' || lines.empty() || lines.back().closed) {
        if (!lines.empty()) end_line();
        lines.emplace_back();
        if (command != 'M') lines.back().points.push_back(pen);
      }
      Polyline& line = lines.back();
      if (command == 'C') {
        const ImagePoint p0 = pen, p1 = to_page(v[0], v[1]), p2 = to_page(v[2], v[3]), p3 = to_page(v[4], v[5]);
        const double bend =
            std::max(std::hypot(p0.x - 2 * p1.x + p2.x, p0.y - 2 * p1.y + p2.y), std::hypot(p1.x - 2 * p2.x + p3.x, p1.y - 2 * p2.y + p3.y));
        const int n = std::clamp(static_cast<int>(std::ceil(std::sqrt(0.75 * bend / limits_.flatness_px))), 1, 2000);
        for (int i = 1; i <= n; ++i) {
          const double t = static_cast<double>(i) / n, s = 1.0 - t;
          const double c0 = s * s * s, c1 = 3 * s * s * t, c2 = 3 * s * t * t, c3 = t * t * t;
          line.points.push_back({c0 * p0.x + c1 * p1.x + c2 * p2.x + c3 * p3.x, c0 * p0.y + c1 * p1.y + c2 * p2.y + c3 * p3.y});
        }
        pen = p3;
        points_ += static_cast<std::size_t>(n);
      } else {
        pen = to_page(v[0], v[1]);
        line.points.push_back(pen);
        ++points_;
        if (command == 'M') command = 'L';
      }
      over_ = over_ || points_ > limits_.max_points;
    }
    end_line();
    return lines;
  }

  int ClipOf(const std::string& id, const Affine& here) {
    const auto found = by_id_.find(id);
    std::vector<Polyline> lines;
    if (found != by_id_.end()) {
      for (const pugi::xml_node& node : found->second.children()) {
        const Affine own = here * ReadTransform(node.attribute("transform").value());
        std::vector<Polyline> some;
        if (std::string_view(node.name()) == "path") some = Flatten(node.attribute("d").value(), own);
        if (std::string_view(node.name()) == "rect") some.push_back(RectLine(node, own));
        lines.insert(lines.end(), some.begin(), some.end());
      }
    }
    page_.clips.push_back(std::move(lines));
    return static_cast<int>(page_.clips.size()) - 1;
  }

  static Polyline RectLine(const pugi::xml_node& node, const Affine& here) {
    const double w = node.attribute("width").as_double(), h = node.attribute("height").as_double();
    const double x = node.attribute("x").as_double(), y = node.attribute("y").as_double();
    return {{here(x, y), here(x + w, y), here(x + w, y + h), here(x, y + h)}, true};
  }

  void AddShape(const pugi::xml_node& node, std::vector<Polyline> lines, const Affine& here, const std::vector<int>& clips, double opacity) {
    std::erase_if(lines, [](const Polyline& line) { return !std::ranges::all_of(line.points, Near); });
    if (lines.empty() || !(here.Scale() < kFarPx)) return;
    DrawnShape shape;
    shape.clips = clips;
    const std::string_view fill = Property(node, "fill"), stroke = Property(node, "stroke");
    if (ReadColor(fill, opacity * NumberOr(Property(node, "fill-opacity"), 1.0), shape.color)) {
      shape.filled = true;
      shape.lines = stroke.empty() || stroke == "none" ? std::move(lines) : lines;
      page_.shapes.push_back(shape);
    }
    if (ReadColor(stroke, opacity * NumberOr(Property(node, "stroke-opacity"), 1.0), shape.color)) {
      shape.filled = false;
      shape.stroked = true;
      shape.lines = std::move(lines);
      shape.width_px = NumberOr(Property(node, "stroke-width"), 1.0) * here.Scale();
      Numbers dashes(Property(node, "stroke-dasharray"));
      double sum = 0.0;
      for (double dash = 0.0; shape.dashes_px.size() < 16 && dashes.Next(dash);) {
        shape.dashes_px.push_back(dash * here.Scale());
        sum += dash;
      }
      if (!(sum > 0.0)) shape.dashes_px.clear();
      page_.shapes.push_back(std::move(shape));
    }
  }

  void AddGlyph(const std::string& id, const pugi::xml_node& symbol, const pugi::xml_node& node, ImagePoint origin, const Affine& here,
                const std::vector<int>& clips, double opacity, int show) {
    const auto [entry, is_new] = symbols_.emplace(id, static_cast<int>(page_.symbols.size()));
    if (is_new) {
      GlyphSymbol glyph;
      // "glyph-3-17" or "glyph3-17": the face's number, then the glyph's.
      const std::size_t dash = id.rfind('-');
      glyph.font = fonts_.emplace(dash == std::string::npos ? id : id.substr(0, dash), static_cast<int>(fonts_.size())).first->second;
      Affine scale = here;
      scale.e = scale.f = 0.0;
      if (std::string_view(symbol.name()) == "path") {
        glyph.lines = Flatten(symbol.attribute("d").value(), scale);
      } else {
        for (const pugi::xml_node& part : symbol.children("path")) {
          const auto lines = Flatten(part.attribute("d").value(), scale);
          glyph.lines.insert(glyph.lines.end(), lines.begin(), lines.end());
        }
      }
      std::erase_if(glyph.lines, [](const Polyline& line) { return !std::ranges::all_of(line.points, Near); });
      glyph.box = BoxOf(glyph.lines);
      page_.symbols.push_back(std::move(glyph));
    }
    if (!Near(origin)) return;
    DrawnGlyph glyph;
    glyph.symbol = entry->second;
    glyph.origin = origin;
    glyph.show = show;
    glyph.clips = clips;
    std::string_view fill = Property(node, "fill");
    double alpha = NumberOr(Property(node, "fill-opacity"), 1.0);
    if (fill.empty()) {
      fill = Property(node.parent(), "fill");
      alpha = NumberOr(Property(node.parent(), "fill-opacity"), 1.0);
    }
    if (ReadColor(fill.empty() ? "rgb(0,0,0)" : fill, opacity * alpha, glyph.color)) page_.glyphs.push_back(std::move(glyph));
  }

  PageScale scale_;
  DrawnLimits limits_;
  DrawnPage page_;
  std::unordered_map<std::string, pugi::xml_node> by_id_;
  std::unordered_map<std::string, int> symbols_;
  std::map<std::string, int> fonts_;
  std::size_t elements_ = 0, points_ = 0;
  int shows_ = 0;
  bool over_ = false;
};

}  // namespace

cv::Rect2d BoxOf(const std::vector<Polyline>& lines) {
  double x0 = 1e18, x1 = -1e18, y0 = 1e18, y1 = -1e18;
  for (const Polyline& line : lines)
    for (const ImagePoint& p : line.points) x0 = std::min(x0, p.x), x1 = std::max(x1, p.x), y0 = std::min(y0, p.y), y1 = std::max(y1, p.y);
  return x1 < x0 ? cv::Rect2d() : cv::Rect2d(x0, y0, x1 - x0, y1 - y0);
}

bool InsideClip(const std::vector<Polyline>& clip, ImagePoint p) {
  bool inside = false;
  for (const Polyline& line : clip) {
    const std::size_t n = line.points.size();
    for (std::size_t i = 0, j = n - 1; i < n; j = i++) {
      const ImagePoint &a = line.points[i], &b = line.points[j];
      if ((a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x) inside = !inside;
    }
  }
  return inside;
}

Result<DrawnPage> ReadDrawnPage(const std::string& svg, const PageScale& scale, const DrawnLimits& limits) {
  return PageReader(scale, limits).Read(svg);
}

std::vector<PageWord> ReadPageWords(const std::string& xhtml, const PageScale& scale) {
  std::vector<PageWord> words;
  pugi::xml_document document;
  // The page's title may hold anything; only the body is looked at.
  const std::size_t body = xhtml.find("<doc>"), end = xhtml.rfind("</doc>");
  if (body == std::string::npos || end == std::string::npos || end < body) return words;
  if (!document.load_buffer(xhtml.data() + body, end + 6 - body, pugi::parse_minimal | pugi::parse_escapes)) return words;
  const pugi::xml_node page = document.child("doc").child("page");
  const double width = page.attribute("width").as_double(), height = page.attribute("height").as_double();
  if (!(width > 0.0 && height > 0.0)) return words;
  const cv::Size size = scale.Unturned();
  const double sx = scale.px_per_point > 0.0 ? scale.px_per_point : size.width / width;
  const double sy = scale.px_per_point > 0.0 ? scale.px_per_point : size.height / height;
  constexpr std::size_t kMostWords = 20'000;
  for (const pugi::xml_node& node : page.children("word")) {
    if (words.size() >= kMostWords) break;
    const double x0 = node.attribute("xMin").as_double(), x1 = node.attribute("xMax").as_double();
    const double y0 = node.attribute("yMin").as_double(), y1 = node.attribute("yMax").as_double();
    cv::Rect2d box{sx * x0 - 0.5, sy * y0 - 0.5, sx * (x1 - x0), sy * (y1 - y0)};
    cv::Size turned = size;
    for (int turn = 0; turn < scale.quarter_turns; ++turn) {
      box = {turned.height - 1.0 - box.y - box.height, box.x, box.height, box.width};
      std::swap(turned.width, turned.height);
    }
    words.push_back({node.child_value(), box});
  }
  return words;
}

}  // namespace islebook
