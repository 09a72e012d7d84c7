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

int DigitsIn(const std::string& text) { return static_cast<int>(std::count_if(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; })); }

int LettersIn(const std::string& text) { return static_cast<int>(std::count_if(text.begin(), text.end(), [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); })); }

}  // namespace

const Reading& WordReadings::Number(int word, double row_angle_deg, bool level) {
  std::optional<Reading>& slot = numbers_[word];
  if (!slot) {
    ++calls_;
    const Word& w = words_[word];
    slot = level ? reader_.Read(page_, w, Alphabet::kNumbers, row_angle_deg) : reader_.Read(page_, w, Alphabet::kNumbers);
  }
  return *slot;
}

Reading WordReadings::Text(const std::vector<int>& words, double angle_deg) {
  std::vector<Word> list;
  for (int w : words) list.push_back(words_[w]);
  const Word joined = JoinWords(list);
  ++calls_;
  return reader_.Read(page_, joined, Alphabet::kText, angle_deg);
}

NumberText InspectNumber(const Word& word, const Reading& reading, double angle_deg) {
  NumberText out;
  out.text = reading.text;
  out.confidence = reading.confidence;
  const double c = std::cos(angle_deg * kDegree), s = std::sin(angle_deg * kDegree), h = word.height_px;
  if (h <= 0.0 || word.glyphs.empty()) return out;
  const double base = -word.center.x * s + word.center.y * c + 0.5 * h;
  int big = 0, before_point = -1, points = 0, raised = 0;
  bool merged = false;
  for (const cv::Rect& g : word.glyphs) {
    // The box of a tilted glyph is a little larger than the glyph.
    const double grow = std::abs(s) * std::min(g.width, g.height);
    const double height = std::max(1.0, g.height - grow), width = std::max(1.0, g.width - grow);
    const double across = -(g.x + 0.5 * (g.width - 1)) * s + (g.y + 0.5 * (g.height - 1)) * c;
    if (height < 0.45 * h && width < 0.45 * h) {
      // A point or comma stands on the base line.
      if (across > base - 0.45 * h) before_point = big, ++points;
      continue;
    }
    if (height < 0.3 * h) continue;  // minus
    if (width > 0.95 * h) merged = true;
    // Raised and small: its foot stands well above the base line.
    if (big >= 2 && height < 0.85 * h && across + 0.5 * height < base - 0.28 * h) ++raised;
    else if (raised > 0) raised = 0;
    ++big;
  }
  const int digits = DigitsIn(NormalizeNumber(reading.text));
  if (!merged && big == digits && big > 0) {
    out.point_looked_for = h >= 9.0;
    if (points == 1 && before_point < digits) out.digits_before_point = before_point;
    if (raised > 0 && raised < big) out.raised_digits = raised;
  }
  return out;
}

SideNumbers ReadSideNumbers(const std::vector<PlacedWord>& placed, Side side, WordReadings& readings, const SideReadingOptions& options) {
  SideNumbers best;
  const double h = options.digit_height_px;
  const bool flat = side == kBottom || side == kTop;
  std::vector<Placed> near;
  for (const PlacedWord& w : placed) {
    const Word& word = readings.words()[w.word];
    if (word.height_px < 0.5 * h || word.height_px > 2.0 * h || word.width_px > 9.0 * word.height_px || !w.Level()) continue;
    const SidePlace p = PlaceAtSide(w, side, options.width_px, options.height_px);
    if (p.t < -0.06 || p.t > 1.06 || p.near_px < -0.35 * h || p.near_px > 6.5 * h) continue;
    near.push_back({&w, p});
  }
  std::sort(near.begin(), near.end(), [](const Placed& a, const Placed& b) { return a.place.near_px < b.place.near_px; });
  const double band = (flat ? 0.75 : 1.6) * h;
  std::size_t at = 0;
  double best_quality = 0.0;
  while (at < near.size()) {
    // The fullest band that starts within one band of here.
    std::size_t from = at, most = 0;
    for (std::size_t i = at; i < near.size() && near[i].place.near_px < near[at].place.near_px + band; ++i) {
      std::size_t n = 0;
      for (std::size_t j = i; j < near.size() && near[j].place.near_px < near[i].place.near_px + band; ++j) ++n;
      if (n > most) most = n, from = i;
    }
    std::size_t end = from;
    while (end < near.size() && near[end].place.near_px < near[from].place.near_px + band) ++end;
    if (most >= 2) {
      SideNumbers found;
      found.near_px = near[from].place.near_px;
      int strange = 0;
      for (std::size_t i = from; i < end; ++i) {
        const PlacedWord& w = *near[i].word;
        const Reading& reading = readings.Number(w.word, w.row_angle_deg, true);
        const std::string text = NormalizeNumber(reading.text);
        if (text.empty()) {
          ++strange;
          continue;
        }
        SeriesNumber n;
        n.number = InspectNumber(readings.words()[w.word], reading, w.row_angle_deg);
        n.t = near[i].place.t;
        found.numbers.push_back(n);
        found.words.push_back(w.word);
        found.far_px = std::max(found.far_px, near[i].place.far_px);
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

SideTitle ReadSideTitle(const std::vector<PlacedWord>& placed, Side side, double from_px, const std::vector<bool>& used, WordReadings& readings, const SideReadingOptions& options) {
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
    if (!lines.empty() && p.place.center_px - lines.back().front().place.center_px < 0.75 * h) lines.back().push_back(p);
    else lines.push_back({p});
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
        if (meaning.confidence > here.meaning.confidence || (here.meaning.matter == AxisMatter::kUnknown && down.confidence > up.confidence + 0.15)) here.text = down.text, here.meaning = meaning;
      }
    }
    if (LettersIn(here.text) < 2) continue;
    if (here.meaning.matter == AxisMatter::kUnknown && !before.empty()) {
      // A title of two lines.
      const std::string both = flat ? before + " " + here.text : here.text + " " + before;
      const TitleMeaning meaning = UnderstandTitle(both);
      if (meaning.matter != AxisMatter::kUnknown) here.text = both, here.meaning = meaning, here.words.insert(here.words.end(), before_words.begin(), before_words.end());
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
