#include "digitizer/axes/side_reading.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace islebook {
namespace {

constexpr double kDegree = std::numbers::pi / 180.0;

struct Placed {
  const PlacedWord* word;
  SidePlace place;
};

int DigitsIn(const std::string& text) {
  return static_cast<int>(std::count_if(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; }));
}

// Does a point or comma stand in the gap between two words of one line: ink at the base line, none above it?
bool PointBetween(const Page& page, const Word& a, const Word& b, double angle_deg) {
  const double c = std::cos(angle_deg * kDegree), s = std::sin(angle_deg * kDegree), h = std::max(a.height_px, b.height_px);
  const auto along = [&](ImagePoint p) { return p.x * c + p.y * s; };
  const auto across = [&](ImagePoint p) { return -p.x * s + p.y * c; };
  const double from = along(a.center) + 0.5 * a.width_px + 0.08 * h, to = along(b.center) - 0.5 * b.width_px - 0.08 * h;
  const double middle = 0.5 * (across(a.center) + across(b.center));
  double low = 0.0, high = 0.0;
  for (double x = from; x <= to; x += 0.5) {
    for (double y = -0.5 * h; y <= 0.62 * h; y += 0.5) {
      const int px = static_cast<int>(std::lround(x * c - (middle + y) * s)), py = static_cast<int>(std::lround(x * s + (middle + y) * c));
      if (px < 0 || py < 0 || px >= page.ink.cols || py >= page.ink.rows) continue;
      double& here = y > 0.22 * h ? low : high;
      if (y > 0.22 * h || y < 0.1 * h) here = std::max<double>(here, page.ink(py, px));
    }
  }
  return low > 70.0 && low > 2.0 * high;
}

// Words of one number: print of even widths leaves gaps beside a point. In the order in which the number runs.
std::vector<std::vector<Placed>> Pieces(std::vector<Placed> band, bool flat, const WordReadings& readings, const SideReadingOptions& options) {
  const std::vector<Word>& words = readings.words();
  constexpr double kPointGap = 1.7;  // digit heights, across a point
  const auto joins = [&](const Placed& p, const Placed& q, double gap, double h, double most) {
    if (gap < -0.2 * h) return false;
    return gap <= most * h || (gap <= kPointGap * h && PointBetween(readings.page(), words[p.word->word], words[q.word->word],
                                                                    p.word->row_angle_deg + 90.0 * options.number_turns));
  };
  if (options.number_turns != 0) {
    const bool up = options.number_turns < 0;
    const bool beside = flat;  // turned numbers stand beside each other below an axis, in one column left of one
    std::sort(band.begin(), band.end(),
              [up](const Placed& a, const Placed& b) { return up ? a.word->center.v < b.word->center.v : a.word->center.v > b.word->center.v; });
    std::vector<std::vector<Placed>> out;
    for (const Placed& p : band) {
      bool added = false;
      for (std::vector<Placed>& group : out) {
        const PlacedWord &a = *group.back().word, &b = *p.word;
        const double h = std::max(words[a.word].height_px, words[b.word].height_px);
        const double gap = (up ? b.v0 - a.v1 : a.v0 - b.v1) * options.height_px;
        if (std::abs(a.center.u - b.center.u) * options.width_px > 0.4 * h || !joins(group.back(), p, gap, h, beside ? 1.1 : 0.62)) continue;
        group.push_back(p);
        added = true;
        break;
      }
      if (!added) out.push_back({p});
    }
    return out;
  }
  std::sort(band.begin(), band.end(), [](const Placed& a, const Placed& b) { return a.word->center.u < b.word->center.u; });
  // A small word raised behind two figures: an exponent of ten.
  const auto raised = [&](const PlacedWord& a, const PlacedWord& b, double gap, double h) {
    const double up = (b.center.v - a.center.v) * options.height_px;
    return words[a.word].glyphs.size() == 2 && words[b.word].height_px < 0.85 * words[a.word].height_px && gap > -0.2 * h && gap < 0.5 * h &&
           up > 0.2 * h && up < 0.95 * h;
  };
  std::vector<std::vector<Placed>> out;
  for (const Placed& p : band) {
    bool added = false;
    for (std::vector<Placed>& group : out) {
      const PlacedWord &a = *group.back().word, &b = *p.word;
      const double h = std::max(words[a.word].height_px, words[b.word].height_px);
      const double gap = (b.u0 - a.u1) * options.width_px;
      // What stands at another distance from an upright side may be a letter of its title.
      const bool apart = std::abs(group.back().place.near_px - p.place.near_px) > 1.6 * h;
      if (group.size() == 1 && raised(a, b, gap, h)) {
        group.push_back(p);
        added = true;
        break;
      }
      if (std::abs(a.center.v - b.center.v) * options.height_px > 0.4 * h || !joins(group.back(), p, gap, h, flat || apart ? 0.62 : 1.1)) continue;
      group.push_back(p);
      added = true;
      break;
    }
    if (!added) out.push_back({p});
  }
  return out;
}

int LettersIn(const std::string& text) {
  return static_cast<int>(std::count_if(text.begin(), text.end(), [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }));
}

}  // namespace

Word WordReadings::Joined(const std::vector<int>& words) const {
  std::vector<Word> list;
  for (int w : words) list.push_back(words_[w]);
  return JoinWords(list);
}

const Reading& WordReadings::Number(const std::vector<int>& words, double row_angle_deg, int turns) {
  const std::pair key(words, turns);
  const auto found = numbers_.find(key);
  if (found != numbers_.end()) return found->second;
  ++calls_;
  Word word = Joined(words);
  // A short word may know its own direction no better than by its box.
  if (turns != 0 && std::abs(std::remainder(word.angle_deg - row_angle_deg, 180.0)) < 45.0) {
    std::swap(word.width_px, word.height_px);
    word.angle_deg = row_angle_deg + 90.0 * turns;
  }
  return numbers_.emplace(key, reader_.Read(page_, word, Alphabet::kNumbers, row_angle_deg + 90.0 * turns)).first->second;
}

Reading WordReadings::Exponent(const Word& number, const std::vector<cv::Rect>& raised, double row_angle_deg) {
  Word word = number;
  word.glyphs = raised;
  cv::Rect all = raised.front();
  for (const cv::Rect& r : raised) all |= r;
  word.center = {all.x + 0.5 * (all.width - 1), all.y + 0.5 * (all.height - 1)};
  word.width_px = all.width;
  word.height_px = all.height;
  word.angle_deg = row_angle_deg;
  ++calls_;
  return reader_.Read(page_, word, Alphabet::kNumbers, row_angle_deg);
}

Reading WordReadings::Text(const std::vector<int>& words, double angle_deg) {
  ++calls_;
  return reader_.Read(page_, Joined(words), Alphabet::kText, angle_deg);
}

Reading WordReadings::WholeText(const std::vector<int>& words, double angle_deg) {
  ++calls_;
  Word line = Joined(words);
  line.glyphs.clear();
  line.own.release();
  // On to either side while there is ink on the line.
  const double c = std::cos(angle_deg * kDegree), s = std::sin(angle_deg * kDegree), h = line.height_px;
  const auto inked = [&](double along) {
    for (double b = -0.55; b <= 0.55; b += 0.1) {
      const int x = static_cast<int>(std::lround(line.center.x + along * c - b * h * s)),
                y = static_cast<int>(std::lround(line.center.y + along * s + b * h * c));
      if (x >= 0 && y >= 0 && x < page_.ink.cols && y < page_.ink.rows && page_.ink(y, x) > 90) return true;
    }
    return false;
  };
  double ends[2] = {-0.5 * line.width_px, 0.5 * line.width_px};
  for (const int side : {0, 1}) {
    const double sign = side == 0 ? -1.0 : 1.0;
    double last = ends[side];
    for (double d = 0.0; d < 25.0 * h && std::abs(ends[side] + sign * d - last) < 1.7 * h; d += 0.5) {
      if (inked(ends[side] + sign * d)) last = ends[side] + sign * d;
    }
    ends[side] = last + sign * 0.5 * h;
  }
  const double shift = 0.5 * (ends[0] + ends[1]);
  line.center = {line.center.x + shift * c, line.center.y + shift * s};
  line.width_px = ends[1] - ends[0];
  return reader_.Read(page_, line, Alphabet::kText, angle_deg);
}

NumberLook InspectNumber(const Page& page, const Word& word, const Reading& reading, double angle_deg) {
  NumberLook out;
  NumberText& number = out.number;
  number.text = reading.text;
  number.confidence = reading.confidence;
  const double c = std::cos(angle_deg * kDegree), s = std::sin(angle_deg * kDegree), h = word.height_px;
  if (h <= 0.0 || word.glyphs.empty()) return out;
  const double base = -word.center.x * s + word.center.y * c + 0.5 * h;
  struct Digit {
    double from, to, foot, height;
    cv::Rect box;
  };
  std::vector<Digit> digits;
  int before_point = -1, points = 0;
  bool merged = false;
  for (const cv::Rect& g : word.glyphs) {
    // The box of a tilted glyph is a little larger than the glyph.
    const double grow = std::abs(s) * std::min(g.width, g.height);
    const double height = std::max(1.0, g.height - grow), width = std::max(1.0, g.width - grow);
    const double x = g.x + 0.5 * (g.width - 1), y = g.y + 0.5 * (g.height - 1), across = -x * s + y * c, along = x * c + y * s;
    if (height < 0.45 * h && width < 0.45 * h) {
      // A point or comma stands on the base line; the dot in a zero does not.
      if (across > base - 0.32 * h) before_point = static_cast<int>(digits.size()), ++points;
      continue;
    }
    if (height < 0.3 * h) continue;  // minus
    if (width > 0.95 * h) merged = true;
    digits.push_back({along - 0.5 * width, along + 0.5 * width, across + 0.5 * height, height, g});
  }
  const int seen = static_cast<int>(digits.size()), read = DigitsIn(NormalizeNumber(reading.text));
  // An exponent: small digits whose feet stand well above the base line, behind two full ones.
  int raised = 0;
  while (raised < seen - 2 && digits[seen - 1 - raised].height < 0.85 * h && digits[seen - 1 - raised].foot < base - 0.25 * h) ++raised;
  if (raised > 0 && seen - raised == 2) {
    for (int k = 2; k < seen; ++k) out.raised.push_back(digits[k].box);
    return out;
  }
  if (merged || seen != read || seen == 0) return out;
  number.point_looked_for = h >= 9.0;
  if (points == 0 && seen >= 2) {
    // A point too small for a blob of its own: ink at the base line in the widest gap.
    double darkest = 0.0;
    for (const Digit& d : digits) {
      for (int y = d.box.y; y < d.box.y + d.box.height; ++y) {
        for (int x = d.box.x; x < d.box.x + d.box.width; ++x) {
          if (x >= 0 && y >= 0 && x < page.ink.cols && y < page.ink.rows) darkest = std::max<double>(darkest, page.ink(y, x));
        }
      }
    }
    for (int k = 0; k + 1 < seen; ++k) {
      const double from = digits[k].to + 0.5, to = digits[k + 1].from - 0.5;
      if (to - from < 0.2 * h) continue;
      double low_ink = 0.0, high_ink = 0.0;
      for (double a = from + 0.15 * (to - from); a <= to - 0.15 * (to - from); a += 0.5) {
        for (double b = -0.95; b <= 0.05; b += 0.05) {
          const double across = base + b * h;
          const int x = static_cast<int>(std::lround(a * c - across * s)), y = static_cast<int>(std::lround(a * s + across * c));
          if (x < 0 || y < 0 || x >= page.ink.cols || y >= page.ink.rows) continue;
          (b > -0.22 ? low_ink : high_ink) = std::max<double>(b > -0.22 ? low_ink : b < -0.4 ? high_ink : 0.0, page.ink(y, x));
        }
      }
      if (low_ink > 0.45 * darkest && low_ink > 2.0 * high_ink) before_point = k + 1, ++points;
    }
  }
  if (points == 1 && before_point < read) number.digits_before_point = before_point;
  return out;
}

namespace {

// Digits that the reader of numbers left open ("?095": a zero with a dot in it), from the same print read as a text, where that agrees on all others.
// Otherwise an unread character in front of a point is taken for a zero, as a guess.
Reading FillGaps(const Reading& reading, const std::vector<int>& words, double angle_deg, WordReadings& readings, bool* guessed) {
  const auto digits_of = [](const std::string& text) {
    std::string out;
    for (const char c : text)
      if ((c >= '0' && c <= '9') || c == '?') out += c;
    return out;
  };
  if (reading.text.find('?') == std::string::npos) return reading;
  const Reading text = readings.Text(words, angle_deg);
  const std::string gaps = digits_of(reading.text), full = digits_of(NormalizeNumber(text.text));
  const bool agrees = gaps.size() == full.size() && std::ranges::equal(gaps, full, [](char a, char b) { return a == '?' || a == b; });
  if (agrees) return {NormalizeNumber(text.text), std::min(reading.confidence, text.confidence)};
  if (reading.text.front() != '?' || reading.text.find('?', 1) != std::string::npos) return reading;
  *guessed = true;
  return {"0" + reading.text.substr(1), 0.5 * reading.confidence};
}

}  // namespace

SideNumbers ReadSideNumbers(const std::vector<PlacedWord>& placed, Side side, WordReadings& readings, const SideReadingOptions& options) {
  SideNumbers best;
  const double h = options.digit_height_px;
  const bool flat = side == kBottom || side == kTop;
  std::vector<Placed> near;
  for (const PlacedWord& w : placed) {
    const Word& word = readings.words()[w.word];
    if (word.height_px < 0.5 * h || word.height_px > 2.0 * h || word.width_px > 9.0 * word.height_px) continue;
    if (options.number_turns == 0 ? !w.Level() : !w.Turned()) continue;
    const SidePlace p = PlaceAtSide(w, side, options.width_px, options.height_px);
    if (p.t < -0.06 || p.t > 1.06 || p.near_px < -0.35 * h || p.near_px > 6.5 * h) continue;
    near.push_back({&w, p});
  }
  // The pieces of a number stand at different distances from an upright side: they are put together before rows and columns of numbers are looked for.
  struct Printed {
    std::vector<Placed> pieces;
    double near_px = 1e9;
  };
  std::vector<Printed> printed;
  for (std::vector<Placed>& pieces : Pieces(std::move(near), flat, readings, options)) {
    Printed one;
    for (const Placed& p : pieces) one.near_px = std::min(one.near_px, p.place.near_px);
    one.pieces = std::move(pieces);
    printed.push_back(std::move(one));
  }
  std::stable_sort(printed.begin(), printed.end(), [](const Printed& a, const Printed& b) { return a.near_px < b.near_px; });
  const bool in_line = flat == (options.number_turns == 0);  // the numbers' near edges stand in one line whatever their lengths
  const double band = (in_line ? 0.75 : 1.6) * h;
  std::size_t at = 0;
  double best_quality = 0.0;
  while (at < printed.size()) {
    // The fullest band that starts within one band of here.
    std::size_t from = at, most = 0;
    for (std::size_t i = at; i < printed.size() && printed[i].near_px < printed[at].near_px + band; ++i) {
      std::size_t n = 0;
      for (std::size_t j = i; j < printed.size() && printed[j].near_px < printed[i].near_px + band; ++j) ++n;
      if (n > most) most = n, from = i;
    }
    std::size_t end = from;
    while (end < printed.size() && printed[end].near_px < printed[from].near_px + band) ++end;
    if (most >= 2) {
      SideNumbers found;
      found.near_px = printed[from].near_px;
      int strange = 0;
      struct Looked {
        NumberLook look;
        std::vector<int> words;
        double angle;
      };
      std::vector<Looked> looks;
      for (std::size_t k = from; k < end; ++k) {
        const std::vector<Placed>& pieces = printed[k].pieces;
        std::vector<int> words;
        double t = 0.0, low = 1e9, high = -1e9, far = 0.0;
        for (const Placed& p : pieces) {
          words.push_back(p.word->word);
          t += p.place.t / static_cast<double>(pieces.size());
          low = std::min(low, p.place.t0);
          high = std::max(high, p.place.t1);
          far = std::max(far, p.place.far_px);
        }
        const double row_angle = pieces.front().word->row_angle_deg, angle = row_angle + 90.0 * options.number_turns;
        const Reading& reading = readings.Number(words, row_angle, options.number_turns);
        if (NormalizeNumber(reading.text).empty()) {
          ++strange;
          continue;
        }
        bool guessed = false;
        const Reading whole = FillGaps(reading, words, angle, readings, &guessed);
        looks.push_back({InspectNumber(readings.page(), readings.Joined(words), whole, angle), words, angle});
        // Only a point right behind it makes a zero likely.
        NumberText& look = looks.back().look.number;
        look.guessed = guessed;
        if (guessed && look.digits_before_point != 1) look.text = reading.text;
        SeriesNumber n;
        n.number = looks.back().look.number;
        n.t = flat == (options.number_turns == 0) ? 0.5 * (low + high) : t;
        found.numbers.push_back(n);
        found.words.insert(found.words.end(), words.begin(), words.end());
        found.far_px = std::max(found.far_px, far);
      }
      // Powers of ten come all along an axis or not at all.
      const auto powers = std::count_if(looks.begin(), looks.end(), [](const Looked& l) { return !l.look.raised.empty(); });
      for (std::size_t i = 0; i < looks.size() && powers >= 2 && 2 * powers > static_cast<long>(looks.size()); ++i) {
        if (looks[i].look.raised.empty()) continue;
        std::string digits = NormalizeNumber(readings.Exponent(readings.Joined(looks[i].words), looks[i].look.raised, looks[i].angle).text);
        std::erase_if(digits, [](char ch) { return (ch < '0' || ch > '9') && ch != '-'; });
        if (digits.empty()) continue;
        found.numbers[i].number.text = "10" + digits;
        found.numbers[i].number.raised_digits = DigitsIn(digits);
      }
      const auto n = static_cast<double>(found.numbers.size());
      const double quality = n - 0.7 * strange - 0.1 * found.near_px / h;
      if (n >= 2 && quality > best_quality) best = std::move(found), best_quality = quality;
      if (best_quality >= 2.5) break;
    }
    at = std::max(end, at + 1);
  }
  return best;
}

SideTitle ReadSideTitle(const std::vector<PlacedWord>& placed, Side side, double from_px, const std::vector<bool>& used, WordReadings& readings,
                        const SideReadingOptions& options) {
  SideTitle best;
  const double h = options.digit_height_px;
  const bool flat = side == kBottom || side == kTop;
  std::vector<Placed> beyond;
  for (const PlacedWord& w : placed) {
    if (used[w.word]) continue;
    const Word& word = readings.words()[w.word];
    if (word.height_px < 0.4 * h || word.height_px > 2.6 * h) continue;
    if (flat ? !w.Level() : !w.Turned()) continue;
    const SidePlace p = PlaceAtSide(w, side, options.width_px, options.height_px);
    if (p.t < -0.12 || p.t > 1.12 || p.center_px < from_px - 0.2 * h || p.near_px > from_px + 9.0 * h) continue;
    beyond.push_back({&w, p});
  }
  std::sort(beyond.begin(), beyond.end(), [](const Placed& a, const Placed& b) { return a.place.center_px < b.place.center_px; });
  // Lines of print, nearest first.
  std::vector<std::vector<Placed>> lines;
  for (const Placed& p : beyond) {
    if (!lines.empty() && p.place.center_px - lines.back().front().place.center_px < 0.75 * h)
      lines.back().push_back(p);
    else
      lines.push_back({p});
  }
  std::erase_if(lines, [&](const std::vector<Placed>& line) {
    return std::all_of(line.begin(), line.end(), [](const Placed& p) { return p.word->short_word; });
  });
  double previous = from_px;
  int tried = 0;
  std::string before;
  std::vector<int> before_words;
  for (const std::vector<Placed>& line : lines) {
    if (tried >= 4 || line.front().place.center_px - previous > 6.0 * h) break;
    ++tried;
    previous = line.front().place.center_px;
    std::vector<int> words;
    double row_angle = 0.0;
    for (const Placed& p : line) words.push_back(p.word->word), row_angle += p.word->row_angle_deg / static_cast<double>(line.size());
    SideTitle here;
    here.words = words;
    if (flat) {
      here.text = readings.Text(words, row_angle).text;
      here.meaning = UnderstandTitle(here.text);
    } else {
      // Upwards as a rule; the other way where that makes more sense.
      Reading up = readings.Text(words, row_angle - 90.0);
      here.text = up.text;
      here.meaning = UnderstandTitle(up.text);
      if (here.meaning.confidence < 0.7) {
        const Reading down = readings.Text(words, row_angle + 90.0);
        const TitleMeaning meaning = UnderstandTitle(down.text);
        if (meaning.confidence > here.meaning.confidence || (here.meaning.matter == AxisMatter::kUnknown && down.confidence > up.confidence + 0.15))
          here.text = down.text, here.meaning = meaning;
      }
    }
    if (here.meaning.matter == AxisMatter::kUnknown || here.meaning.confidence < 0.7 ||
        (here.meaning.unit.empty() && here.meaning.matter != AxisMatter::kPressureRatio && here.meaning.matter != AxisMatter::kExpansionRatio)) {
      // Letters may have been left out: once more with all the ink.
      const Reading whole = readings.WholeText(words, flat ? row_angle : row_angle - 90.0);
      const TitleMeaning meaning = UnderstandTitle(whole.text);
      if (meaning.confidence > here.meaning.confidence ||
          (meaning.matter == here.meaning.matter && here.meaning.unit.empty() && !meaning.unit.empty()))
        here.text = whole.text, here.meaning = meaning;
    }
    if (LettersIn(here.text) < 2) continue;
    if (here.meaning.matter == AxisMatter::kUnknown && !before.empty()) {
      // A title of two lines.
      const std::string both = flat ? before + " " + here.text : here.text + " " + before;
      const TitleMeaning meaning = UnderstandTitle(both);
      if (meaning.matter != AxisMatter::kUnknown)
        here.text = both, here.meaning = meaning, here.words.insert(here.words.end(), before_words.begin(), before_words.end());
    }
    const bool better = here.meaning.confidence > best.meaning.confidence + 0.05 || best.text.empty();
    if (better) best = here;
    if (best.meaning.confidence >= 0.6) break;
    before = here.text;
    before_words = here.words;
  }
  return best;
}

}  // namespace islebook
