#include "digitizer/drawing/letters.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <tuple>

namespace islebook {
namespace {

constexpr double kDegree = std::numbers::pi / 180.0;
constexpr double kTold = 0.99;      // confidence of what the drawing says
constexpr std::size_t kTrials = 6;  // words compared with the picture
constexpr std::size_t kFewestTrials = 2;

// Signs that drawings write in other ways than the rest of the digitizer does.
std::string Plain(const std::string& text) {
  static const std::vector<std::pair<std::string, std::string>> kSigns = {{"\u2212", "-"},  {"\u2013", "-"}, {"\u2010", "-"},
                                                                          {"\u2011", "-"},  {"\u00A0", " "}, {"\uFB01", "fi"},
                                                                          {"\uFB02", "fl"}, {"\u2044", "/"}, {"\u00AD", "-"}};
  for (const auto& [from, to] : kSigns)
    if (text == from) return to;
  return text;
}

bool IsNumberText(const std::string& text) {
  return !text.empty() && text.find_first_not_of("0123456789.,-%k") == std::string::npos && text.find_first_of("0123456789") != std::string::npos;
}

std::string DigitsOf(const std::string& text) {
  std::string digits;
  for (const char c : text)
    if (c >= '0' && c <= '9') digits += c;
  return digits;
}

class ExactReader final : public PrintReader {
 public:
  ExactReader(std::vector<DrawnLetter> letters, std::vector<Word> words, Page print_page, PrintReader& reader)
      : letters_(std::move(letters)), words_(std::move(words)), print_page_(std::move(print_page)), reader_(reader) {
    for (std::size_t i = 0; i < letters_.size(); ++i) by_box_.emplace(Key(letters_[i].box), i);
  }

  Reading Read(const Page& page, const Word& word, Alphabet alphabet) override {
    if (auto told = Told(word, alphabet)) return *told;
    return reader_.Read(PageFor(page), Clean(word), alphabet);
  }
  Reading Read(const Page& page, const Word& word, Alphabet alphabet, double angle_deg) override {
    if (auto told = Told(word, alphabet)) return *told;
    return reader_.Read(PageFor(page), Clean(word), alphabet, angle_deg);
  }

 private:
  using BoxKey = std::tuple<int, int, int, int>;
  static BoxKey Key(const cv::Rect& r) { return {r.x, r.y, r.width, r.height}; }

  const Page& PageFor(const Page& page) const { return print_page_.ink.empty() ? page : print_page_; }
  static Word Clean(Word word) {
    word.own.release();  // nothing else stands on the page of print
    return word;
  }

  // The letters of a word, in reading order; nothing where one of them is not told.
  std::optional<std::string> Spell(const Word& word) const {
    std::vector<const DrawnLetter*> found;
    if (word.glyphs.empty()) {
      // A stretch of a line: whatever stands in its box.
      const double c = std::cos(word.angle_deg * kDegree), s = std::sin(word.angle_deg * kDegree);
      for (const DrawnLetter& letter : letters_) {
        const double dx = letter.box.x + 0.5 * (letter.box.width - 1) - word.center.x,
                     dy = letter.box.y + 0.5 * (letter.box.height - 1) - word.center.y;
        if (std::abs(dx * c + dy * s) < 0.5 * word.width_px && std::abs(-dx * s + dy * c) < 0.75 * word.height_px) found.push_back(&letter);
      }
    } else {
      for (const cv::Rect& glyph : word.glyphs) {
        const auto at = by_box_.find(Key(glyph));
        if (at == by_box_.end()) return std::nullopt;
        found.push_back(&letters_[at->second]);
      }
    }
    if (found.empty()) return std::nullopt;
    // Words in the order in which their line runs, the letters of each as the page shows them.
    const double angle = words_[static_cast<std::size_t>(found.front()->word)].angle_deg * kDegree;
    const auto along = [&](const DrawnLetter* letter) {
      const ImagePoint p = words_[static_cast<std::size_t>(letter->word)].center;
      return p.x * std::cos(angle) + p.y * std::sin(angle);
    };
    std::stable_sort(found.begin(), found.end(),
                     [&](const DrawnLetter* p, const DrawnLetter* q) { return p->word == q->word ? p->order < q->order : along(p) < along(q); });
    std::string text;
    int before = found.front()->word;
    for (const DrawnLetter* letter : found) {
      if (letter->text.empty()) return std::nullopt;
      if (letter->word != before) text += ' ';
      before = letter->word;
      text += Plain(letter->text);
    }
    return text;
  }

  std::optional<Reading> Told(const Word& word, Alphabet alphabet) {
    if (letters_.empty()) return std::nullopt;
    auto text = Spell(word);
    if (!text) return std::nullopt;
    if (!Trusted()) return std::nullopt;
    if (alphabet == Alphabet::kText) return Reading{*text, kTold};
    std::string number;
    for (const char c : *text)
      if (c != ' ') number += c;
    if (IsNumberText(number)) return Reading{number, kTold};
    return Reading{"", 0.0};  // a word, and no number
  }

  // Fonts may name their glyphs as they please; then text and picture differ.
  bool Trusted() {
    if (trusted_) return *trusted_;
    trusted_ = true;
    std::vector<std::pair<const Word*, std::string>> trials;
    for (const Word& word : words_) {
      const auto text = Spell(word);
      if (text && IsNumberText(*text) && DigitsOf(*text).size() >= 2 && word.height_px >= 9.0) trials.emplace_back(&word, *text);
    }
    // Spread over the page.
    std::size_t tried = 0, alike = 0;
    const std::size_t stride = std::max<std::size_t>(1, trials.size() / kTrials);
    for (std::size_t i = 0; i < trials.size() && tried < kTrials; i += stride, ++tried) {
      const Reading seen = reader_.Read(print_page_, Clean(*trials[i].first), Alphabet::kNumbers);
      alike += DigitsOf(seen.text) == DigitsOf(trials[i].second) ? 1 : 0;
    }
    if (tried >= kFewestTrials && 2 * alike < tried) trusted_ = false;
    return *trusted_;
  }

  std::vector<DrawnLetter> letters_;
  std::vector<Word> words_;
  Page print_page_;
  PrintReader& reader_;
  std::map<BoxKey, std::size_t> by_box_;
  std::optional<bool> trusted_;
};

}  // namespace

std::unique_ptr<PrintReader> MakeExactReader(std::vector<DrawnLetter> letters, std::vector<Word> words, Page print_page, PrintReader& reader) {
  return std::make_unique<ExactReader>(std::move(letters), std::move(words), std::move(print_page), reader);
}

}  // namespace islebook
