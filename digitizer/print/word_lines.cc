#include "digitizer/print/word_lines.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "digitizer/print/line_grower.h"

namespace islebook {
namespace {

constexpr double kDegree = std::numbers::pi / 180.0;

class Grouper : private LineGrower {
 public:
  Grouper(const std::vector<Glyph>& glyphs, double upright, const WordLinesFound* before) : LineGrower(glyphs), upright_(upright) {
    main_angle_ = upright;
    if (before) {
      main_angle_ = before->print_angle_deg;
      height_ = before->digit_height;
    }
  }

  WordLinesFound Run() {
    WordLinesFound out;
    std::vector<GrownLine> lines = AllLines(false);
    Choose(lines, 3);
    main_angle_ = CommonAngle(main_angle_);
    if (const double common = CommonHeight(); common > 0.0) height_ = common;
    lines = AllLines(true);
    Choose(lines, 2);
    out.print_angle_deg = main_angle_ = CommonAngle(main_angle_);
    height_ = CommonHeight();
    Singles();
    for (GlyphLine& line : chosen_) Attach(line);
    JoinAcrossDots();
    out.digit_height = CommonHeight();
    out.lines = std::move(chosen_);
    for (GlyphLine& line : out.lines) {
      const double angle = ReadingAngle(line.angle_deg, upright_);
      if (std::abs(angle - line.angle_deg) > 90.0) {
        // Turned half round: ends and sides change places.
        std::reverse(line.glyphs.begin(), line.glyphs.end());
        std::swap(line.start, line.end);
        std::swap(line.top, line.base);
        line.start = -line.start, line.end = -line.end, line.top = -line.top, line.base = -line.base;
      }
      line.angle_deg = angle;
    }
    return out;
  }

 private:
  int Cut(const std::vector<int>& members) const {
    return static_cast<int>(std::count_if(members.begin(), members.end(), [&](int m) { return At(m).cut; }));
  }
  int Letters(const std::vector<int>& members) const {
    return static_cast<int>(std::count_if(members.begin(), members.end(), [&](int m) { return At(m).shape == GlyphShape::kLetter; }));
  }

  // A line is good in so far as it has many letters, on the line, and closer to each other than to anything else.
  void Score(GrownLine& line) const {
    const cv::Point2f d = Direction(line.angle);
    std::vector<double> heights;
    double gaps = 0.0, last = 0.0;
    for (std::size_t k = 0; k < line.members.size(); ++k) {
      const Placed p = Place(At(line.members[k]), d);
      heights.push_back(p.b.Size());
      if (k > 0) gaps += std::max(0.0, p.a.low - last);
      last = p.a.high;
    }
    const double h = *std::max_element(heights.begin(), heights.end());
    const double misfit = (Misfit(glyphs_, line.members, line.angle) / h - 0.15) / static_cast<double>(line.members.size());
    const double gap = gaps / (h * static_cast<double>(line.members.size() - 1));
    line.score = static_cast<double>(Letters(line.members)) + 0.4 * static_cast<double>(line.members.size()) - 6.0 * misfit - 0.8 * gap -
                 0.5 * Cut(line.members);
    if (height_ > 0.0) {
      line.score -= 0.5 * std::min(3.0, std::abs(std::log(h / height_)) * 2.0);
      const double off = std::abs(Wrap180(line.angle - main_angle_));
      if (off < 5.0)
        line.score += 0.7;
      else if (std::abs(off - 90.0) < 5.0)
        line.score += 0.15;
      else if (line.members.size() == 2)
        line.score -= 0.8;  // any two letters lie on some line
    }
  }

  std::vector<GrownLine> AllLines(bool with_pairs) const {
    std::vector<GrownLine> lines;
    std::vector<std::vector<int>> seen(glyphs_.size());  // lines that hold the glyph
    for (int i = 0; i < static_cast<int>(glyphs_.size()); ++i) {
      if (!Free(i) || At(i).shape != GlyphShape::kLetter) continue;
      for (const int j : near_.Around(At(i).box, kDotGap * At(i).length + 1.0F)) {
        if (j == i || !Free(j) || At(j).shape == GlyphShape::kDot) continue;
        if (At(j).shape == GlyphShape::kLetter && j < i) continue;
        if (At(j).length < 0.4F * At(i).breadth || At(j).breadth > 2.5F * At(i).length || !AlikeInk(At(i), At(j))) continue;
        bool known = false;
        for (const int l : seen[static_cast<std::size_t>(i)]) {
          const std::vector<int>& m = lines[static_cast<std::size_t>(l)].members;
          if (m.size() >= 3 && std::find(m.begin(), m.end(), j) != m.end()) known = true;
        }
        if (known) continue;
        cv::Point2f d = At(j).center - At(i).center;
        const float size = std::hypot(d.x, d.y);
        if (size < 1.0F) continue;
        d *= 1.0F / size;
        // In reading order, so that below is below.
        const bool forward = std::abs(ReadingAngle(std::atan2(d.y, d.x) / kDegree, upright_) - std::atan2(d.y, d.x) / kDegree) < 1.0;
        const int first = forward ? i : j, second = forward ? j : i;
        if (!forward) d = -d;
        GrownLine best;
        for (const double angle :
             {TangentAngle(At(first), At(second), d, true), TangentAngle(At(first), At(second), d, false), std::atan2(d.y, d.x) / kDegree}) {
          GrownLine line = Grow(first, second, angle);
          if (line.members.size() < 2) continue;
          Score(line);
          if (best.members.empty() || line.score > best.score) best = std::move(line);
        }
        if (best.members.size() < (with_pairs ? 2U : 3U)) continue;
        for (const int m : best.members) seen[static_cast<std::size_t>(m)].push_back(static_cast<int>(lines.size()));
        lines.push_back(std::move(best));
      }
    }
    return lines;
  }

  bool Believable(const GrownLine& line) const {
    const int letters = Letters(line.members);
    if (letters == 0) return false;
    const double n = static_cast<double>(line.members.size());
    // Scraps of lines make letters of a kind: a word of them alone needs several.
    const int cut = Cut(line.members);
    if (cut > 0 && height_ <= 0.0) return false;
    if (cut == static_cast<int>(line.members.size()) && (cut < 3 || letters < 2)) return false;
    if (letters < n / 3.0) return false;  // mostly bars: hatching, dashes
    const double off = std::abs(Wrap180(line.angle - main_angle_));
    const bool straight = height_ <= 0.0 || off < 6.0 || std::abs(off - 90.0) < 6.0;
    const cv::Point2f d = Direction(line.angle);
    double h = 0.0, low = 1e9;
    for (const int m : line.members) {
      const double size = Place(At(m), d).b.Size();
      h = std::max(h, size);
      low = std::min(low, size);
    }
    if (height_ > 0.0) {
      const double ratio = h / height_;
      if (ratio < 0.5 || ratio > 4.0) return false;
      if (!straight && (ratio < 0.6 || ratio > 1.6)) return false;
    }
    const double misfit = (Misfit(glyphs_, line.members, line.angle) / h - 0.15) / n;
    if (misfit > 0.14) return false;
    if (line.members.size() == 2 && !straight && (letters < 2 || misfit > 0.06 || low < 0.85 * h)) return false;
    return true;
  }

  // Best lines first; each glyph goes to one line.
  void Choose(std::vector<GrownLine>& lines, std::size_t least) {
    std::stable_sort(lines.begin(), lines.end(), [](const GrownLine& p, const GrownLine& q) { return p.score > q.score; });
    for (GrownLine& line : lines) {
      if (line.members.size() < least) continue;
      if (std::any_of(line.members.begin(), line.members.end(), [&](int m) { return !Free(m); })) {
        // What is left of it may still be a word.
        std::vector<int> rest;
        for (const int m : line.members)
          if (Free(m)) rest.push_back(m);
        if (rest.size() < 2 || rest.size() + 2 < line.members.size()) continue;
        GrownLine again = Grow(rest[0], rest[1], line.angle);
        if (again.members.size() < least) continue;
        line = std::move(again);
      }
      if (!Believable(line)) continue;
      Take(line.members, RefineAngle(glyphs_, line.members, line.angle, 3.0));
    }
  }

  void Take(const std::vector<int>& members, double angle) {
    GlyphLine out;
    out.glyphs = members;
    out.angle_deg = angle;
    Measure(out);
    for (const int m : members) taken_[static_cast<std::size_t>(m)] = 1;
    chosen_.push_back(std::move(out));
  }

  void Measure(GlyphLine& line) const {
    const cv::Point2f d = Direction(line.angle_deg);
    std::vector<double> bases, heights, tops;
    line.start = 1e9;
    line.end = -1e9;
    for (const int m : line.glyphs) {
      const Placed p = Place(At(m), d);
      bases.push_back(p.b.high);
      heights.push_back(p.b.Size());
      tops.push_back(p.b.low);
      line.start = std::min(line.start, static_cast<double>(p.a.low));
      line.end = std::max(line.end, static_cast<double>(p.a.high));
    }
    line.base = Median(bases);
    std::vector<double> tall;
    const double tallest = *std::max_element(heights.begin(), heights.end());
    for (std::size_t k = 0; k < tops.size(); ++k)
      if (heights[k] > 0.82 * tallest) tall.push_back(tops[k]);
    line.top = Median(tall);
    std::sort(line.glyphs.begin(), line.glyphs.end(), [&](int p, int q) { return ExtentAlong(At(p).hull, d).low < ExtentAlong(At(q).hull, d).low; });
  }

  // The commonest direction, modulo a quarter turn, weighted by letters.
  double CommonAngle(double unknown) const {
    std::vector<double> weight(90, 0.0);
    const auto offset = [&](double angle) {
      double a = std::fmod(angle - upright_, 90.0);
      if (a < -45.0) a += 90.0;
      if (a >= 45.0) a -= 90.0;
      return a;
    };
    // Pairs tell their direction only roughly: they count where nothing longer stands.
    std::size_t least = 3;
    if (std::none_of(chosen_.begin(), chosen_.end(), [](const GlyphLine& line) { return line.glyphs.size() >= 3; })) least = 2;
    for (const GlyphLine& line : chosen_) {
      if (line.glyphs.size() < least) continue;
      for (int k = -2; k <= 2; ++k) {
        const int bin = (static_cast<int>(std::floor(offset(line.angle_deg) + 45.0)) + k + 90) % 90;
        weight[static_cast<std::size_t>(bin)] += static_cast<double>(line.glyphs.size()) * (3 - std::abs(k));
      }
    }
    const double peak = static_cast<double>(std::max_element(weight.begin(), weight.end()) - weight.begin()) - 44.5;
    std::vector<double> near;
    for (const GlyphLine& line : chosen_) {
      double a = offset(line.angle_deg) - peak;
      if (a > 45.0) a -= 90.0;
      if (a < -45.0) a += 90.0;
      if (line.glyphs.size() >= least && std::abs(a) < 4.0) near.push_back(peak + a);
    }
    return near.empty() ? unknown : upright_ + Median(near);
  }

  // Of letters in words: the mode of log height, in steps of a tenth.
  double CommonHeight() const {
    std::map<int, double> weight;
    for (const GlyphLine& line : chosen_) {
      const int bin = static_cast<int>(std::lround(10.0 * std::log(std::max(1.0, line.height()))));
      for (int k = -1; k <= 1; ++k) weight[bin + k] += static_cast<double>(line.glyphs.size()) * (k == 0 ? 2.0 : 1.0);
    }
    if (weight.empty()) return 0.0;
    const auto best = std::max_element(weight.begin(), weight.end(), [](const auto& p, const auto& q) { return p.second < q.second; });
    std::vector<double> near;
    for (const GlyphLine& line : chosen_)
      if (std::abs(10.0 * std::log(std::max(1.0, line.height())) - best->first) <= 1.5) near.push_back(line.height());
    return Median(near);
  }

  // Lone glyphs as tall as the digits of words nearby: 0, 5, or several digits that run together. A plain stroke only where a word shares its base line.
  void Singles() {
    if (height_ <= 0.0) return;
    std::vector<double> heights;
    for (const GlyphLine& line : chosen_)
      if (line.glyphs.size() >= 2 && std::abs(Wrap180(line.angle_deg - main_angle_)) < 6.0) heights.push_back(line.height());
    if (heights.empty()) heights.push_back(height_);
    const std::vector<GlyphLine> words = chosen_;
    const auto known = [&](double h) { return std::any_of(heights.begin(), heights.end(), [&](double k) { return h > 0.86 * k && h < 1.15 * k; }); };
    for (int i = 0; i < static_cast<int>(glyphs_.size()); ++i) {
      if (!Free(i) || At(i).shape == GlyphShape::kDot || At(i).cut) continue;
      const Glyph& g = At(i);
      double angle = main_angle_;
      const cv::Point2f d0 = Direction(main_angle_);
      if (!known(ExtentAlong(g.hull, Below(d0)).Size()) && g.length > 1.25F * g.breadth && g.turns > 1.9F && known(g.breadth)) {
        double best = 1e9;  // letters that run together, at a tilt of their own
        for (double t = -90.0; t < 90.0; t += 1.0) {
          const double across = ExtentAlong(g.hull, Below(Direction(t))).Size();
          if (across < best) {
            best = across;
            angle = t;
          }
        }
      }
      const cv::Point2f d = Direction(angle);
      const Placed p = Place(g, d);
      if (!known(p.b.Size()) || p.a.Size() > 8.0 * p.b.Size()) continue;
      if (g.shape == GlyphShape::kStroke || p.a.Size() < 0.35 * p.b.Size()) {
        const int company = static_cast<int>(std::count_if(words.begin(), words.end(), [&](const GlyphLine& w) {
          if (std::abs(Wrap180(w.angle_deg - main_angle_)) > 4.0 || w.height() < 0.85 * p.b.Size() || w.height() > 1.18 * p.b.Size()) return false;
          const cv::Point2f dw = Direction(w.angle_deg);
          const Placed q = Place(g, dw);
          const double away = std::max(static_cast<double>(q.a.low) - w.end, w.start - static_cast<double>(q.a.high));
          return std::abs(q.b.high - w.base) < 0.2 * w.height() && away < 14.0 * w.height();
        }));
        if (company < 1 || g.turns < 1.12F) continue;
      } else if (p.a.Size() < 1.3 * p.b.Size() && g.turns < 1.35F) {
        continue;  // a filled spot
      }
      Take({i}, angle);
    }
  }

  // Small parts: points and commas on the base line, dots over letters, raised figures, hyphens between letters.
  void Attach(GlyphLine& line) {
    const cv::Point2f d = Direction(line.angle_deg);
    const double h = line.height();
    std::vector<float> strokes;
    for (const int m : line.glyphs) strokes.push_back(At(m).stroke);
    std::nth_element(strokes.begin(), strokes.begin() + static_cast<std::ptrdiff_t>(strokes.size() / 2), strokes.end());
    const double stroke = strokes[strokes.size() / 2];
    bool grown = true, grown_here = false;
    while (grown) {
      grown = false;
      for (const int m : std::vector<int>(line.glyphs)) {
        for (const int k : near_.Around(At(m).box, static_cast<float>(0.45 * h) + 1.0F)) {
          if (!Free(k) || At(k).cut) continue;
          const Glyph& g = At(k);
          if (static_cast<double>(g.peak) < 0.4 * At(m).peak) continue;
          const Placed p = Place(g, d);
          const double before = line.start - p.a.high, after = p.a.low - line.end;
          if (g.length > 0.75 * h) {
            // The stroke of a per cent sign, or a letter after a raised figure.
            const bool follows = after > -0.6 * h && after < 0.3 * h && grown_here && std::abs(p.b.high - line.base) < kMisfit * h &&
                                 p.b.low > line.top - 0.25 * h && p.a.Size() < 1.2 * h && g.breadth < 1.1 * h &&
                                 (g.shape == GlyphShape::kLetter || (std::abs(g.axis.dot(d)) < 0.75F && g.stroke < 2.0 * stroke));
            if (!follows) continue;
            taken_[static_cast<std::size_t>(k)] = 1;
            line.glyphs.push_back(k);
            line.end = std::max(line.end, static_cast<double>(p.a.high));
            grown = true;
            continue;
          }
          const bool inside = before < 0.0 && after < 0.0;
          const double middle = (p.b.low + p.b.high) / 2.0;
          if (p.b.high < line.top - 0.45 * h || p.b.low > line.base + 0.3 * h) continue;
          const bool as_thick = g.breadth > 0.5 * stroke && g.length > 0.7 * stroke;
          const bool on_base =
              g.length < 0.5 * h && p.b.low > line.base - 0.42 * h && p.b.high > line.base - 0.2 * h && p.b.high < line.base + 0.34 * h && as_thick;
          const bool raised = middle < line.top + 0.4 * h && g.length > 0.25 * h && g.length < 0.75 * h;
          bool take = false;
          if (inside)
            take = as_thick || g.length > 0.25 * h;
          else if (on_base)
            take = std::max(before, after) < 0.34 * h;
          else if (raised)
            take = after > -0.2 * h && after < 0.2 * h &&
                   (g.shape == GlyphShape::kLetter || (g.shape == GlyphShape::kStroke && std::abs(g.axis.dot(d)) < 0.45F));
          if (!take) continue;
          taken_[static_cast<std::size_t>(k)] = 1;
          line.small.push_back(k);
          line.start = std::min(line.start, static_cast<double>(p.a.low));
          line.end = std::max(line.end, static_cast<double>(p.a.high));
          if (raised && !inside) grown = grown_here = true;
        }
      }
    }
  }

  bool Adjacent(const GlyphLine& p, const GlyphLine& q, double reach) const {
    const auto box = [&](const GlyphLine& line) {
      cv::Rect all;
      for (const int m : line.glyphs) all |= At(m).box;
      return all;
    };
    const int r = static_cast<int>(reach) + 1;
    cv::Rect wide = box(p);
    wide = cv::Rect(wide.x - r, wide.y - r, wide.width + 2 * r, wide.height + 2 * r);
    return !(wide & box(q)).empty();
  }

  // "0" "." "74": two lines with a point or comma between them are one word.
  void JoinAcrossDots() {
    for (bool joined = true; joined;) {
      joined = false;
      for (std::size_t i = 0; i < chosen_.size() && !joined; ++i) {
        for (std::size_t j = 0; j < chosen_.size() && !joined; ++j) {
          if (i == j) continue;
          const GlyphLine& p = chosen_[i].glyphs.size() >= chosen_[j].glyphs.size() ? chosen_[i] : chosen_[j];
          const GlyphLine& q = &p == &chosen_[i] ? chosen_[j] : chosen_[i];
          const double h = p.height();
          if (q.height() < 0.8 * h || q.height() > 1.25 * h || !Adjacent(p, q, 1.2 * h)) continue;
          if (q.glyphs.size() > 1 && std::abs(Wrap180(p.angle_deg - q.angle_deg)) > 8.0) continue;
          const cv::Point2f d = Direction(p.angle_deg);
          double start = 1e9, end = -1e9, base = -1e9, body_start = 1e9, body_end = -1e9;
          for (const int m : q.glyphs) {
            const Placed e = Place(At(m), d);
            body_start = std::min(body_start, static_cast<double>(e.a.low));
            body_end = std::max(body_end, static_cast<double>(e.a.high));
            base = std::max(base, static_cast<double>(e.b.high));
          }
          start = body_start, end = body_end;
          for (const int m : q.small) {
            const Placed e = Place(At(m), d);
            start = std::min(start, static_cast<double>(e.a.low));
            end = std::max(end, static_cast<double>(e.a.high));
          }
          if (std::abs(base - p.base) > kMisfit * h + (p.glyphs.size() < 4 ? 0.05 * std::abs((body_start + body_end - p.start - p.end) / 2.0) : 0.0))
            continue;
          double p_start = 1e9, p_end = -1e9;
          for (const int m : p.glyphs) {
            const Placed e = Place(At(m), d);
            p_start = std::min(p_start, static_cast<double>(e.a.low));
            p_end = std::max(p_end, static_cast<double>(e.a.high));
          }
          const double gap = std::max(body_start - p_end, p_start - body_end);
          if (gap < -0.2 * h || gap > kDotGap * h) continue;
          // The dot, held by either, must stand in the gap.
          const double lo = body_start > p_end - 0.2 * h ? p_end : body_end, hi = body_start > p_end - 0.2 * h ? body_start : p_start;
          const auto dotted = [&](const GlyphLine& w) {
            return std::any_of(w.small.begin(), w.small.end(), [&](int m) {
              const Placed e = Place(At(m), d);
              return e.a.low > lo - 0.1 * h && e.a.high < hi + 0.1 * h && e.b.low > p.base - 0.45 * h;
            });
          };
          if (gap > kLetterGap * h && !dotted(p) && !dotted(q)) continue;
          GlyphLine both = p;
          both.glyphs.insert(both.glyphs.end(), q.glyphs.begin(), q.glyphs.end());
          both.small.insert(both.small.end(), q.small.begin(), q.small.end());
          both.angle_deg = RefineAngle(glyphs_, both.glyphs, p.angle_deg, 4.0);
          Measure(both);
          const cv::Point2f db = Direction(both.angle_deg);
          for (const int m : both.small) {
            const Extent a = ExtentAlong(At(m).hull, db);
            both.start = std::min(both.start, static_cast<double>(a.low));
            both.end = std::max(both.end, static_cast<double>(a.high));
          }
          chosen_[i] = std::move(both);
          chosen_.erase(chosen_.begin() + static_cast<std::ptrdiff_t>(j));
          joined = true;
        }
      }
    }
  }

  double upright_;
  std::vector<GlyphLine> chosen_;
  double main_angle_ = 0.0;
  double height_ = 0.0;
};

}  // namespace

double ReadingAngle(double angle_deg, double upright_deg) {
  double a = angle_deg;
  while (a > upright_deg + 75.0) a -= 180.0;
  while (a <= upright_deg - 105.0) a += 180.0;
  return a;
}

WordLinesFound GroupGlyphs(const std::vector<Glyph>& glyphs, double upright_deg, const WordLinesFound* before) {
  return Grouper(glyphs, upright_deg, before).Run();
}

}  // namespace islebook
