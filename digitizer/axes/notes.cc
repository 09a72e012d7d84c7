#include "digitizer/axes/notes.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <numbers>
#include <numeric>

#include <fmt/format.h>

#include "digitizer/axes/axis_title.h"
#include "digitizer/axes/fuzzy_text.h"
#include "digitizer/axes/number_text.h"
#include "mapstore/units/reference_conditions.h"

namespace islebook {
namespace {

constexpr int kMostReadings = 16;

struct Line {
  std::vector<const PlacedWord*> words;
  double width_px = 0.0, height_px = 0.0;
  double u = 0.0, v = 0.0;  // center
};

// Words on one base line with small gaps.
std::vector<Line> GroupLines(const std::vector<PlacedWord>& placed, const std::vector<bool>& used, const std::vector<Word>& words,
                             const SideReadingOptions& options) {
  std::vector<const PlacedWord*> free;
  for (const PlacedWord& w : placed) {
    if (!used[w.word] && w.Level()) free.push_back(&w);
  }
  if (free.size() > 600) free.resize(600);
  std::vector<int> parent(free.size());
  std::iota(parent.begin(), parent.end(), 0);
  const auto root = [&](int i) {
    while (parent[i] != i) i = parent[i] = parent[parent[i]];
    return i;
  };
  for (std::size_t i = 0; i < free.size(); ++i) {
    for (std::size_t j = 0; j < free.size(); ++j) {
      if (i == j) continue;
      const PlacedWord &a = *free[i], &b = *free[j];
      const double ha = words[a.word].height_px, hb = words[b.word].height_px;
      if (std::max(ha, hb) > 1.9 * std::min(ha, hb)) continue;
      const double h = std::max(ha, hb);
      const double gap = (b.u0 - a.u1) * options.width_px;
      if (gap < -0.4 * h || gap > 2.6 * h) continue;
      if (std::abs(a.center.v - b.center.v) * options.height_px > 0.45 * h) continue;
      parent[root(static_cast<int>(i))] = root(static_cast<int>(j));
    }
  }
  // Pieces of a line of which some letters were not seen stand further apart.
  for (std::size_t i = 0; i < free.size(); ++i) {
    for (std::size_t j = 0; j < free.size(); ++j) {
      const PlacedWord &a = *free[i], &b = *free[j];
      const double ha = words[a.word].height_px, hb = words[b.word].height_px, h = std::max(ha, hb);
      const double gap = (b.u0 - a.u1) * options.width_px;
      if (i == j || h > 1.35 * std::min(ha, hb) || gap < 0.0 || gap > 5.0 * h || std::abs(a.center.v - b.center.v) * options.height_px > 0.3 * h)
        continue;
      parent[root(static_cast<int>(i))] = root(static_cast<int>(j));
    }
  }
  std::vector<Line> lines(free.size());
  for (std::size_t i = 0; i < free.size(); ++i) lines[root(static_cast<int>(i))].words.push_back(free[i]);
  std::erase_if(lines, [](const Line& l) { return l.words.empty(); });
  for (Line& l : lines) {
    std::sort(l.words.begin(), l.words.end(), [](const PlacedWord* a, const PlacedWord* b) { return a->center.u < b->center.u; });
    double top = 0.0;
    for (const PlacedWord* w : l.words) {
      top = std::max(top, words[w->word].height_px);
      l.v += w->center.v / static_cast<double>(l.words.size());
    }
    l.height_px = top;
    l.width_px = (l.words.back()->u1 - l.words.front()->u0) * options.width_px;
    l.u = 0.5 * (l.words.back()->u1 + l.words.front()->u0);
  }
  return lines;
}

// "90,000 rpm", "N = 80000", "72 %", several numbers in a row: labels of curves, not a note.
bool LooksLikeLabel(const std::string& text) {
  int digits = 0;
  std::string letters;
  for (char c : FoldText(text)) {
    if (c >= '0' && c <= '9') ++digits;
    if (c >= 'a' && c <= 'z') letters += c;
  }
  if (digits < 2) return false;
  if (letters.size() <= 2) return true;
  for (const char* unit : {"rpm", "krpm", "nrpm", "nkrpm", "umin", "eta", "etaeta", "trmin", "rmin", "rpmrpm", "nrpmnrpm"}) {
    if (letters == unit) return true;
  }
  return false;
}

// Digits and letters mixed as in a pair of conditions.
bool MayStateConditions(const std::string& text) {
  int digits = 0, letters = 0;
  for (char c : FoldText(text)) {
    digits += c >= '0' && c <= '9' ? 1 : 0;
    letters += c >= 'a' && c <= 'z' ? 1 : 0;
  }
  return digits >= 2 && letters >= 3 && !LooksLikeLabel(text);
}

// A few short words, each of them a number.
bool AllNumbers(const Line& line, WordReadings& readings) {
  if (line.words.size() > 4) return false;
  for (const PlacedWord* w : line.words) {
    if (readings.words()[w->word].glyphs.size() > 8) return false;
  }
  for (const PlacedWord* w : line.words) {
    const std::string& read = readings.Number({w->word}, w->row_angle_deg).text;
    const std::string number = NormalizeNumber(read);
    const auto digits = std::count_if(read.begin(), read.end(), [](char c) { return c >= '0' && c <= '9'; });
    if (digits < 2 || number.empty() || digits + 2 < static_cast<long>(readings.words()[w->word].glyphs.size())) return false;
  }
  return true;
}

// Words that go with reference conditions.
bool HintsAtConditions(const std::string& text) {
  const std::string squeezed = SqueezeText(FoldText(text));
  for (const char* hint :
       {"reference", "correctedto", "referredto", "standardday", "bezogen", "bezugs", "conditions", "corrigea", "referencia", "riferimento"}) {
    if (CostWithin(hint, squeezed) <= 0.22 * static_cast<double>(std::string_view(hint).size())) return true;
  }
  for (const char* hint : {"tref", "pref", "mbar", "inhg", "kpa"}) {
    if (squeezed.find(hint) != std::string::npos) return true;
  }
  return false;
}

int Letters(const std::string& text) {
  int n = 0;
  for (char c : FoldText(text)) n += c >= 'a' && c <= 'z' ? 1 : 0;
  return n;
}

// A unit of pressure or temperature that was misread behind a number which only that unit makes plausible ("28.4 intig", "85 *f") as it must have been.
std::string MendUnits(const std::string& text) {
  struct Unit {
    double least, most;  // of a reference pressure in it
    const char* folded;
    const char* spelling;
  };
  static constexpr Unit kUnits[] = {
      {25.0, 32.0, "inhg", "inHg"}, {850.0, 1050.0, "mbar", "mbar"}, {85.0, 105.0, "kpa", "kPa"}, {0.85, 1.05, "bar", "bar"}};
  std::string out;
  std::size_t i = 0;
  const auto digit = [&](std::size_t k) { return k < text.size() && text[k] >= '0' && text[k] <= '9'; };
  while (i < text.size()) {
    if (!digit(i)) {
      out += text[i++];
      continue;
    }
    std::size_t end = i;
    while (digit(end) || (end < text.size() && text[end] == '.' && digit(end + 1))) ++end;
    const std::string number = text.substr(i, end - i);
    out += number;
    i = end;
    std::size_t from = i;
    while (from < text.size() && (text[from] == ' ' || text[from] == '*' || text[from] == '"' || text[from] == '\'')) ++from;
    std::size_t to = from;
    while (to < text.size() && std::isalpha(static_cast<unsigned char>(text[to]))) ++to;
    const std::string word = text.substr(from, to - from);
    const double value = std::strtod(number.c_str(), nullptr);
    if ((word == "f" || word == "F") && value >= 32.0 && value <= 120.0) {
      out += " \u00b0F";
      i = to;
      continue;
    }
    for (const Unit& unit : kUnits) {
      if (word.empty() || value < unit.least || value > unit.most) continue;
      const std::string_view meant(unit.folded);
      if (ReadingCost(meant, FoldText(word)) > 0.6 * static_cast<double>(meant.size())) continue;
      out += std::string(" ") + unit.spelling;
      i = to;
      break;
    }
  }
  return out;
}

// The line word by word: what is a number as a number, the rest as text.
std::string ByWords(const Line& line, WordReadings& readings) {
  std::string out;
  for (const PlacedWord* w : line.words) {
    const Reading& number = readings.Number({w->word}, w->row_angle_deg);
    const bool digits = number.confidence > 0.5 && std::any_of(number.text.begin(), number.text.end(), [](char c) { return c >= '0' && c <= '9'; }) &&
                        number.text.find_first_of("%k-") == std::string::npos;
    out += (out.empty() ? "" : " ") + (digits ? number.text : readings.Text({w->word}, w->row_angle_deg).text);
  }
  return out;
}

bool InCommonUse(const std::string& text) {
  const ReferenceReading reading = ParseReferenceConditions(text);
  return reading.conditions && FindNamedReferenceConditions(*reading.conditions) != nullptr;
}

// A line may state both conditions, or two neighbouring lines one each.
void FindReferenceConditions(const std::vector<std::pair<double, std::string>>& lines, NotesFound* out) {
  std::string half;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    ReferenceReading reading = ParseReferenceConditions(lines[i].second);
    if (!reading.conditions && (reading.temperature_K || reading.pressure_Pa) && i + 1 < lines.size()) {
      const ReferenceReading both = ParseReferenceConditions(lines[i].second + ", " + lines[i + 1].second);
      if (both.conditions) reading = both;
    }
    if (!reading.conditions) {
      if ((reading.temperature_K || reading.pressure_Pa) && !reading.reason.empty())
        half = fmt::format("\"{}\": {}", lines[i].second, reading.reason);
      continue;
    }
    if (out->reference_conditions) {
      const bool same = std::abs(out->reference_conditions->temperature_K - reading.conditions->temperature_K) < 0.3 &&
                        std::abs(out->reference_conditions->pressure_Pa / reading.conditions->pressure_Pa - 1.0) < 0.002;
      if (!same) out->doubts.push_back("the sheet states two different pairs of reference conditions; the first is used");
      continue;
    }
    out->reference_conditions = reading.conditions;
    // A single misread digit still makes a plausible pair; one that nobody uses is worth a look.
    if (FindNamedReferenceConditions(*reading.conditions) == nullptr)
      out->doubts.push_back(fmt::format("the reference conditions (\"{}\") are not a pair in common use{}; check the digits", lines[i].second,
                                        reading.repaired ? ", and were hard to read" : ""));
  }
  if (!out->reference_conditions && !half.empty()) out->doubts.push_back("reference conditions were seen but not understood: " + half);
}

}  // namespace

NotesFound ReadNotes(const std::vector<PlacedWord>& placed, const std::vector<bool>& used, const std::vector<bool>& inside_box, double top_v,
                     WordReadings& readings, const SideReadingOptions& options) {
  NotesFound out;
  const std::vector<Word>& words = readings.words();
  std::vector<Line> lines = GroupLines(placed, used, words, options);
  // Long lines first: they are likelier to be notes, and there is a limit on reading.
  std::sort(lines.begin(), lines.end(), [](const Line& a, const Line& b) { return a.width_px > b.width_px; });
  int read = 0;
  std::string hinted;
  bool unread = false;
  double title_merit = 0.0;
  int title_line = -1;
  std::vector<std::pair<double, std::string>> all_text;  // by height on the sheet, for conditions spread over two lines
  for (const Line& l : lines) {
    const double h = l.height_px;
    const bool boxed = std::all_of(l.words.begin(), l.words.end(), [&](const PlacedWord* w) { return inside_box[w->word]; });
    const bool inside = l.u > 0.0 && l.u < 1.0 && l.v > 0.0 && l.v < 1.0;
    const bool above = l.v > top_v && (l.v - top_v) * options.height_px < 14.0 * options.digit_height_px && l.u > -0.1 && l.u < 1.1;
    const bool wide = l.words.size() >= 3 || l.width_px > (l.words.size() >= 2 ? 5.0 : 6.0) * h || (above && l.width_px > 2.5 * h);
    NoteLine note;
    for (const PlacedWord* w : l.words) note.words.push_back(w->word);
    if (boxed) note.use = PrintUse::kLegend;
    if ((!wide && !boxed) || read >= kMostReadings) {
      if (boxed) out.lines.push_back(std::move(note));
      continue;
    }
    if (inside && !boxed && AllNumbers(l, readings)) continue;  // labels of curves side by side
    ++read;
    double angle = 0.0;
    for (const PlacedWord* w : l.words) angle += w->row_angle_deg / static_cast<double>(l.words.size());
    Reading reading = readings.Text(note.words, angle);
    const bool hinted_here = HintsAtConditions(reading.text), few_letters = Letters(reading.text) < 3 && l.words.size() >= 3;
    if (!InCommonUse(reading.text) && (hinted_here || few_letters || (l.words.size() >= 3 && !boxed && MayStateConditions(reading.text)))) {
      // Read once more with all ink and word by word; a pair in common use is the likeliest of what they say.
      const Reading whole = readings.WholeText(note.words, angle);
      const std::string by_words = ByWords(l, readings);
      for (const std::string& other : {whole.text, by_words, MendUnits(reading.text), MendUnits(whole.text), MendUnits(by_words)}) {
        if (!InCommonUse(other)) continue;
        reading.text = other;
        break;
      }
      if (!ParseReferenceConditions(reading.text).conditions &&
          (ParseReferenceConditions(whole.text).conditions || ((hinted_here || few_letters) && Letters(whole.text) > Letters(reading.text))))
        reading = whole;
    }
    note.text = reading.text;
    if (HintsAtConditions(note.text) && !ParseReferenceConditions(note.text).conditions) hinted = note.text;
    if (inside && !boxed && l.words.size() >= 3 && MayStateConditions(note.text)) unread = true;
    if (!boxed && inside && LooksLikeLabel(note.text)) continue;
    if (Letters(note.text) < 3 && !boxed) continue;
    all_text.push_back({-l.v, note.text});
    if (above && UnderstandTitle(note.text).matter == AxisMatter::kUnknown) {
      const double merit = h * (reading.confidence + 0.2) / (1.0 + 0.3 * std::abs(l.u - 0.5)) /
                           (1.0 + 0.05 * (l.v - top_v) * options.height_px / options.digit_height_px);
      if (merit > title_merit) title_merit = merit, title_line = static_cast<int>(out.lines.size()), out.title = note.text;
    }
    out.lines.push_back(std::move(note));
  }
  if (title_line >= 0) out.lines[title_line].use = PrintUse::kSheetTitle;
  std::sort(all_text.begin(), all_text.end());
  FindReferenceConditions(all_text, &out);
  if (!out.reference_conditions && out.doubts.empty()) {
    if (!hinted.empty())
      out.doubts.push_back(fmt::format("a note may state reference conditions but was not understood (\"{}\")", hinted));
    else if (unread || options.digit_height_px < 7.0)
      out.doubts.push_back(unread ? "a line of print inside the plot could not be understood; it may state reference conditions"
                                  : "the print is so small that a note with reference conditions may have gone unread");
  }
  return out;
}

}  // namespace islebook
