#include <algorithm>
#include <cctype>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "digitizer/labels/label_places.h"
#include "digitizer/labels/label_text.h"
#include "digitizer/labels/labels.h"
#include "digitizer/labels/read_by_form.h"

namespace islebook {
namespace {

constexpr double kLineGap = 0.95;    // words of one label or note, in digit heights
constexpr double kUnsure = 0.75;     // readings below this are tried as free text too
constexpr double kLeastSure = 0.12;  // below this it is no reading at all

int DigitsIn(const std::string& s) {
  return static_cast<int>(std::count_if(s.begin(), s.end(), [](char c) { return c >= '0' && c <= '9'; }));
}

int LettersIn(const std::string& s) {
  return static_cast<int>(std::count_if(s.begin(), s.end(), [](char c) { return std::isalpha(static_cast<unsigned char>(c)); }));
}

struct ReadWord {
  Reading number, text;
  bool prose = false;  // letters that are no unit and no name of a quantity
  std::string unit;    // the whole word is a unit
};

struct Found {
  std::string text;
  LabelText parsed;
  double confidence = 0.0;
};

class LabelReader {
 public:
  LabelReader(const Page& page, const PrintFound& print, PrintReader& reader) : page_(page), print_(print), reader_(reader) {}

  // Labels among the words of one line, with the words that each takes.
  std::vector<std::pair<std::vector<std::size_t>, Found>> Line(const std::vector<std::size_t>& line) {
    std::vector<std::pair<std::vector<std::size_t>, Found>> out;
    if (line.size() == 1) {
      if (auto found = Single(line[0])) out.emplace_back(line, std::move(*found));
      return out;
    }
    std::vector<ReadWord> words;
    bool prose = false;
    for (const std::size_t w : line) {
      words.push_back(ReadBoth(w));
      prose = prose || words.back().prose;
    }
    if (prose) return out;  // a note: its numbers belong to no curve
    // As one label: a name, a number and its unit.
    std::string whole;
    double confidence = 1.0;
    for (const ReadWord& w : words) {
      whole +=
          (whole.empty() ? "" : " ") + (w.unit.empty() && DigitsIn(w.text.text) > 0 && LettersIn(w.text.text) == 0 ? w.number.text : w.text.text);
      confidence = std::min(confidence, std::max(w.text.confidence, w.unit.empty() ? 0.0 : 0.8));
    }
    if (auto parsed = ParseLabelText(whole); parsed && !(Numbers(words) > 1 && !Groups(words))) {
      out.emplace_back(line, Found{whole, *parsed, confidence});
      return out;
    }
    for (const std::size_t w : line)
      if (auto found = Single(w)) out.emplace_back(std::vector{w}, std::move(*found));
    return out;
  }

 private:
  const Word& At(std::size_t w) const { return print_.words[w]; }

  static int Numbers(const std::vector<ReadWord>& words) {
    return static_cast<int>(std::count_if(
        words.begin(), words.end(), [](const ReadWord& w) { return w.unit.empty() && DigitsIn(w.number.text) > 0 && LettersIn(w.text.text) == 0; }));
  }

  // "90" "000": every number after the first is three digits.
  static bool Groups(const std::vector<ReadWord>& words) {
    bool first = true;
    for (const ReadWord& w : words) {
      if (!w.unit.empty() || DigitsIn(w.number.text) == 0) continue;
      const std::string& t = w.number.text;
      if (first ? (t.size() > 3 || t[0] == '0' || DigitsIn(t) != static_cast<int>(t.size()))
                : (DigitsIn(t) != 3 || (t.size() != 3 && SpeedUnitOf(t.substr(3)).empty())))
        return false;
      first = false;
    }
    return true;
  }

  ReadWord ReadBoth(std::size_t w) {
    ReadWord r;
    r.text = reader_.Read(page_, At(w), Alphabet::kText);
    r.number = reader_.Read(page_, At(w), Alphabet::kLabels);
    r.unit = SpeedUnitOf(r.text.text);
    const int letters = LettersIn(r.text.text), digits = DigitsIn(r.text.text);
    r.prose = r.unit.empty() && letters >= 3 && letters > digits && r.text.confidence > 0.35 && !ParseLabelText(r.text.text);
    return r;
  }

  std::optional<Found> Single(std::size_t w) {
    const Reading number = reader_.Read(page_, At(w), Alphabet::kLabels);
    auto parsed = ParseLabelText(number.text);
    std::optional<Found> best;
    if (parsed) best = Found{number.text, *parsed, number.confidence};
    const bool short_of = At(w).glyphs.size() > number.text.size() + 1;
    if (!best || number.confidence < kUnsure || short_of) {
      const Reading free = reader_.Read(page_, At(w), Alphabet::kText);
      auto also = ParseLabelText(free.text);
      if (also) {
        const double confidence = free.confidence * (also->repaired ? 0.75 : 1.0);
        // Free text knows of units and names; of digits the number reading knows more.
        const bool says_more = LettersIn(free.text) > 0 && !also->unit.empty() &&
                               (short_of || !best || also->value == best->parsed.value || (LettersIn(free.text) >= 2 && best->confidence < kUnsure));
        if (!best || says_more) best = Found{free.text, *also, says_more && best ? std::max(confidence, best->confidence) : confidence};
      } else if (best && LettersIn(free.text) >= 3 && LettersIn(free.text) > DigitsIn(free.text) && free.confidence > best->confidence) {
        return std::nullopt;  // a word, forced into digits
      }
    }
    return best;
  }

  const Page& page_;
  const PrintFound& print_;
  PrintReader& reader_;
};

// Is the word in this panel's frame or just outside it, and in no other frame?
bool InPanel(const AxesFound& axes, std::size_t panel, const Word& word) {
  const FramePoint p = axes.panels[panel].frame.FrameFromImage(word.center);
  const double slack_u = 3.0 * word.height_px / std::max(1.0, axes.panels[panel].frame.WidthPx()),
               slack_v = 1.5 * word.height_px / std::max(1.0, axes.panels[panel].frame.HeightPx());
  if (p.u < 0.0 || p.u > 1.0 + slack_u + word.width_px / std::max(1.0, axes.panels[panel].frame.WidthPx()) || p.v < 0.0 || p.v > 1.0 + slack_v)
    return false;
  if (p.u <= 1.0 && p.v <= 1.0) return true;
  for (std::size_t i = 0; i < axes.panels.size(); ++i) {
    if (i == panel) continue;
    const FramePoint q = axes.panels[i].frame.FrameFromImage(word.center);
    if (q.u >= 0.0 && q.u <= 1.0 && q.v >= 0.0 && q.v <= 1.0) return false;
  }
  return true;
}

// The direction of level print: the commonest among the words of this panel, to a degree.
double LevelAngle(const std::vector<Word>& words) {
  std::map<int, double> weight;
  for (const Word& w : words)
    if (w.glyphs.size() >= 2)
      for (int k = -2; k <= 2; ++k)
        weight[static_cast<int>(std::lround(w.angle_deg)) + k] += static_cast<double>(w.glyphs.size()) * (3 - std::abs(k));
  if (weight.empty()) return 0.0;
  return std::max_element(weight.begin(), weight.end(), [](const auto& p, const auto& q) { return p.second < q.second; })->first;
}

}  // namespace

Result<void> LabelOptions::Check() const {
  if (reach <= 0.0 || reach > 20.0) return Fail(ErrorCode::kInvalidArgument, "A label's reach must lie between 0 and 20 digit heights.", "reach");
  return {};
}

Result<LabelsRead> ReadLabels(const Page& page, const PrintFound& print, const AxesFound& axes, std::size_t panel, const CurvesFound& curves,
                              PrintReader& reader, const LabelOptions& options) {
  if (auto ok = options.Check(); !ok) return std::unexpected(ok.error());
  if (panel >= axes.panels.size()) return Fail(ErrorCode::kInvalidArgument, "There is no such panel on the sheet.");
  if (!axes.print_use.empty() && axes.print_use.size() != print.words.size())
    return Fail(ErrorCode::kInvalidArgument, "The words' uses do not match the words.");

  std::vector<std::size_t> chosen;
  std::vector<Word> words;
  for (std::size_t w = 0; w < print.words.size(); ++w) {
    if (!axes.print_use.empty() && axes.print_use[w] != PrintUse::kNone) continue;
    if (!InPanel(axes, panel, print.words[w])) continue;
    chosen.push_back(w);
    words.push_back(print.words[w]);
  }
  LabelsRead read;
  LabelReader labels(page, print, reader);
  PlaceRules rules;
  rules.reach = options.reach;
  rules.print_angle_deg = read.print_angle_deg = LevelAngle(words);
  int dropped = 0;
  PrintAtCurves at_curves;
  for (const std::vector<std::size_t>& line : GroupIntoLines(words, kLineGap)) {
    std::vector<std::size_t> members;
    for (const std::size_t k : line) members.push_back(chosen[k]);
    const auto found = labels.Line(members);
    if (found.empty()) {
      ++dropped;
      if (members.size() == 1) at_curves.unread.push_back(print.words[members.front()]), at_curves.unread_index.push_back(members.front());
    }
    for (const auto& [taken, what] : found) {
      if (what.confidence < kLeastSure) continue;
      std::vector<Word> parts;
      for (const std::size_t w : taken) parts.push_back(print.words[w]);
      const Word whole = JoinWords(parts);
      CurveLabel label;
      label.word = taken.front();
      label.text = what.text;
      label.value = what.parsed.value;
      label.unit = what.parsed.unit;
      label.confidence = what.confidence;
      label.center = whole.center;
      label.angle_deg = whole.angle_deg;
      label.width_px = whole.width_px;
      label.height_px = whole.height_px;
      label.lab = whole.lab;
      FindCurvesOf(label, curves, rules);
      read.labels.push_back(std::move(label));
      at_curves.of_label.push_back(whole);
    }
  }
  ReadByForm({&page, &curves, &reader, rules}, at_curves, read.labels);
  const auto lone = std::count_if(read.labels.begin(), read.labels.end(), [](const CurveLabel& l) { return l.candidates.empty(); });
  read.report.notes.push_back(fmt::format("{} labels read, {} near no curve, {} lines of other print", read.labels.size(), lone, dropped));
  double sum = 0.0;
  for (const CurveLabel& l : read.labels) sum += l.confidence;
  read.report.confidence = read.labels.empty() ? 0.0 : sum / static_cast<double>(read.labels.size());
  return read;
}

void PlaceLabels(LabelsRead& read, const CurvesFound& curves, const LabelOptions& options) {
  for (CurveLabel& label : read.labels) FindCurvesOf(label, curves, {options.reach, read.print_angle_deg});
}

}  // namespace islebook
