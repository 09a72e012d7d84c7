#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <optional>
#include <string>
#include <vector>

#include <omp.h>
#include <tesseract/baseapi.h>
#include <tesseract/resultiterator.h>

#include "digitizer/print/digit_reader.h"
#include "digitizer/print/number_ink.h"
#include "digitizer/print/print.h"
#include "digitizer/print/word_crop.h"

namespace islebook {
namespace {

constexpr const char* kNumberCharacters = "0123456789.,-%k";
constexpr double kSure = 0.80;         // no second attempt above this
constexpr double kDigitsSure = 0.97;   // the digit reader by itself is enough
constexpr double kDigitsLikely = 0.5;  // it is right where the engine says something else

struct Symbol {
  std::string text;
  double confidence = 0.0;
  int left = 0, right = 0;
};

struct Attempt {
  std::vector<Symbol> symbols;
  double confidence = 0.0;
  bool plausible = false;
  std::string Text() const {
    std::string out;
    for (const Symbol& s : symbols) out += s.text;
    return out;
  }
};

bool IsDigit(const std::string& s) { return s.size() == 1 && s[0] >= '0' && s[0] <= '9'; }
bool IsPoint(const std::string& s) { return s == "." || s == ","; }

// Points and commas by what stands on the paper: a small blob on the base line between two digits is one, whatever was read; where every digit is its own blob and no such blob stands between two, there is none.
void MendPoints(std::vector<Symbol>& symbols, const WordCrop& crop) {
  int tall = 0, characters = 0;
  for (const CropPart& p : crop.parts) tall += p.tall ? 1 : 0;
  bool plain = true;  // digits and points alone
  for (const Symbol& s : symbols) {
    if (IsPoint(s.text)) continue;
    ++characters;
    if (!IsDigit(s.text)) plain = false;
  }
  if (!plain && !std::any_of(symbols.begin(), symbols.end(), [](const Symbol& s) { return IsDigit(s.text); })) return;
  const bool counted = plain && tall == characters;
  std::vector<Symbol> mended;
  if (counted) {
    std::vector<Symbol> digits;
    std::vector<std::pair<std::size_t, Symbol>> read_points;
    for (const Symbol& s : symbols) {
      if (IsPoint(s.text))
        read_points.emplace_back(digits.size(), s);
      else
        digits.push_back(s);
    }
    std::size_t before = 0;
    for (std::size_t i = 0; i < crop.parts.size(); ++i) {
      const CropPart& p = crop.parts[i];
      if (p.tall) {
        mended.push_back(digits[before++]);
        continue;
      }
      if (!p.on_base || before == digits.size()) continue;  // a point after the last digit ends a sentence
      // Under a digit, not beside it: dust.
      const int middle = p.box.x + p.box.width / 2;
      const bool under = std::any_of(crop.parts.begin(), crop.parts.end(), [&](const CropPart& q) {
        return q.tall && middle > q.box.x + 2 && middle < q.box.x + q.box.width - 3 && p.box.y + p.box.height > q.box.y + q.box.height;
      });
      if (under) continue;
      if (!mended.empty() && IsPoint(mended.back().text)) continue;
      const auto read = std::find_if(read_points.begin(), read_points.end(), [&](const auto& r) { return r.first == before; });
      Symbol point = read != read_points.end() ? read->second : Symbol{p.hangs ? "," : ".", 0.7, p.box.x, p.box.x + p.box.width};
      mended.push_back(point);
    }
    symbols = std::move(mended);
    return;
  }
  // Digits run together or other signs: only put in what is missing, by place.
  for (const CropPart& p : crop.parts) {
    if (!p.on_base) continue;
    const int middle = p.box.x + p.box.width / 2;
    std::size_t at = 0;
    while (at < symbols.size() && (symbols[at].left + symbols[at].right) / 2 < middle) ++at;
    const bool beside = (at > 0 && IsPoint(symbols[at - 1].text)) || (at < symbols.size() && IsPoint(symbols[at].text));
    if (beside || at == symbols.size() || !IsDigit(symbols[at].text) || (at > 0 && !IsDigit(symbols[at - 1].text))) continue;
    const bool clear = std::none_of(crop.parts.begin(), crop.parts.end(),
                                    [&](const CropPart& q) { return q.tall && middle > q.box.x + 1 && middle < q.box.x + q.box.width - 2; });
    if (!clear) continue;
    symbols.insert(symbols.begin() + static_cast<std::ptrdiff_t>(at), Symbol{p.hangs ? "," : ".", 0.6, p.box.x, p.box.x + p.box.width});
  }
}

// How much of the ink of columns x0 .. x1 lies in rows y0 .. y1.
double InkShare(const cv::Mat1b& image, int x0, int x1, double top, double base, int y0, int y1) {
  double in = 0.0, all = 1e-9;
  for (int y = std::max(0, static_cast<int>(top)); y < std::min(image.rows, static_cast<int>(base) + 1); ++y)
    for (int x = std::max(0, x0); x < std::min(image.cols, x1); ++x) {
      const double ink = 255 - image(y, x);
      all += ink;
      if (y >= y0 && y < y1) in += ink;
    }
  return in / all;
}

// Digits before a per cent sign, if the word ends in one: ink at the top left (a small ring) and at the bottom right (another), a stroke between, wider than any digit. 0: none.
int DigitsBeforePerCent(const WordCrop& crop) {
  const double h = crop.base - crop.top;
  std::vector<CropPart> parts;
  for (const CropPart& p : crop.parts)
    if (!p.on_base || p.box.height > 0.36 * h) parts.push_back(p);
  const auto n = parts.size();
  for (std::size_t i = 1; i < n; ++i) {
    const int x0 = parts[i].box.x;
    int x1 = x0, top = 1 << 20, base = 0;
    bool stroke = false;
    for (std::size_t k = i; k < n; ++k) {
      x1 = std::max(x1, parts[k].box.x + parts[k].box.width);
      top = std::min(top, parts[k].box.y);
      base = std::max(base, parts[k].box.y + parts[k].box.height);
      stroke = stroke || parts[k].tall;
    }
    const double width = x1 - x0;
    if (!stroke || width < 0.85 * h || width > 1.55 * h || n - i > 3) continue;
    const int third = static_cast<int>(0.27 * width);
    const int upper = static_cast<int>(top + 0.62 * (base - top)), lower = static_cast<int>(top + 0.38 * (base - top));
    if (InkShare(crop.image, x0, x0 + third, top, base, top, upper) < 0.86 || InkShare(crop.image, x1 - third, x1, top, base, lower, base) < 0.86)
      continue;
    return static_cast<int>(std::count_if(parts.begin(), parts.begin() + static_cast<std::ptrdiff_t>(i), [](const CropPart& r) { return r.tall; }));
  }
  return 0;
}

// A per cent sign or k ends a number: its small ring read again as a nought goes, and a sign read as a digit is put right by its shape.
void EndAtSign(std::vector<Symbol>& symbols, const WordCrop& crop) {
  // A minus sign stands on the paper as a level bar before the digits; a bit of a curve beside the word is none.
  if (!symbols.empty() && symbols[0].text == "-") {
    const double h = crop.base - crop.top;
    const auto first = std::find_if(crop.parts.begin(), crop.parts.end(), [](const CropPart& p) { return p.tall; });
    const bool minus = std::any_of(crop.parts.begin(), first, [&](const CropPart& p) {
      const double middle = p.box.y + p.box.height / 2.0;
      return p.box.width > 0.25 * h && p.box.height < 0.22 * h && std::abs(middle - (crop.top + crop.base) / 2.0) < 0.2 * h;
    });
    if (!minus) symbols.erase(symbols.begin());
  }
  const auto sign = std::find_if(symbols.begin(), symbols.end(), [](const Symbol& s) { return s.text == "%" || s.text == "k"; });
  if (sign != symbols.end() && sign != symbols.begin()) {
    if (std::all_of(sign + 1, symbols.end(),
                    [](const Symbol& s) { return s.text == "0" || s.text == "%" || s.text == "." || s.text == "," || s.text == "-"; }))
      symbols.erase(sign + 1, symbols.end());
    return;
  }
  const int digits = DigitsBeforePerCent(crop);
  if (digits == 0) return;
  int seen = 0;
  for (std::size_t i = 0; i < symbols.size(); ++i) {
    if (IsDigit(symbols[i].text)) ++seen;
    if (seen < digits) continue;
    symbols.resize(i + 1);
    symbols.push_back({"%", 0.9, symbols.back().right, crop.image.cols});
    return;
  }
}

// How often letters, capitals and digits alternate within the words of a text, 0 (never) to 1.
double Jumble(const std::string& text) {
  const auto kind = [](char ch) { return ch >= 'a' && ch <= 'z' ? 1 : ch >= 'A' && ch <= 'Z' ? 2 : ch >= '0' && ch <= '9' ? 3 : 0; };
  int changes = 0, pairs = 0;
  for (std::size_t i = 1; i < text.size(); ++i) {
    const int p = kind(text[i - 1]), q = kind(text[i]);
    if (p == 0 || q == 0) continue;
    ++pairs;
    if (p != q && !(p == 2 && q == 1 && (i < 2 || kind(text[i - 2]) == 0))) ++changes;
  }
  return pairs == 0 ? 0.0 : static_cast<double>(changes) / pairs;
}

// Could this be a printed number? Digits with at most one decimal point, or groups of three; then a sign of per cent or k.
bool LooksLikeNumber(const std::string& text) {
  std::string body = text;
  while (!body.empty() && (body.back() == '%' || body.back() == 'k')) body.pop_back();
  const bool sign = body.size() < text.size();
  if (!body.empty() && body.front() == '-') body.erase(0, 1);
  if (body.empty()) return false;
  int digits = 0, points = 0, since = -1;
  bool groups = true;
  for (std::size_t i = 0; i < body.size(); ++i) {
    const char ch = body[i];
    if (ch >= '0' && ch <= '9') {
      ++digits;
      if (since >= 0) ++since;
    } else if (ch == '.' || ch == ',') {
      if (since >= 0 && since != 3) groups = false;
      ++points;
      since = 0;
    } else {
      return false;
    }
  }
  if (digits == 0 || digits > 7 || since == 0) return false;
  if (sign && (body.size() > 5 || body.find_first_of(".,") > 3) && body.size() > 3) return false;  // 72000%
  if (points > 1 && (!groups || since != 3)) return false;
  if (points == 1 && since > 3 && body[0] != '0' && body[0] != '.' && body[0] != ',') return false;  // 16.8000
  if (digits > 1 && body[0] == '0' && body[1] >= '0' && body[1] <= '9') return false;                // 074: a point is lost
  if ((body[0] == '.' || body[0] == ',') && since > 4) return false;
  if (sign && text.back() == 'k' && body[0] == '0') return false;
  const std::size_t before = std::min(body.find_first_of(".,"), body.size());
  if (points == 1 && (before > 4 || (before == 4 && since == 3))) return false;  // 9405,000, 840004.2
  return true;
}

// What speaks against a number, in the digit reader's measure: those of five digits and more are printed round, and a curve's label is a speed, an
// efficiency or an opening (common practice, no source): no lone figure, no few per cent, nothing like 6.72.
double Oddness(const std::string& text, Alphabet alphabet) {
  std::string digits = text;
  std::erase_if(digits, [](char c) { return c < '0' || c > '9'; });
  const bool percent = text.ends_with('%'), thousands = text.ends_with('k');
  double odd = 0.0;
  if (digits.size() >= 5 && !percent && !thousands && digits.front() != '0' && !digits.ends_with("00")) odd += 3.0;
  if (alphabet != Alphabet::kLabels) return odd;
  std::string plain = text;
  std::replace(plain.begin(), plain.end(), ',', '.');
  const double value = std::atof(plain.c_str());
  const bool pointed = plain.find('.') != std::string::npos && !(digits.size() >= 4 && plain.find('.') + 4 == plain.size());
  if (percent && (value < 10.0 || value > 135.0)) odd += 4.0;
  if (!percent && !thousands && pointed && value >= 1.0 && value < 100.0) odd += 4.0;
  if (digits.size() == 1) odd += 4.0;
  if (!percent && !thousands && !pointed && digits.size() == 4 && digits.ends_with("00")) odd += 0.5;
  return odd;
}

// What the digit reader makes of a word at three sizes, and of what others make of it.
class DigitPanel {
 public:
  DigitPanel(const Page& page, const Word& word, double angle_deg, Alphabet alphabet)
      : page_(page), word_(word), angle_deg_(angle_deg), alphabet_(alphabet) {
    Look(1.0);
    const DigitReading first = readers_[0].Read();
    confidence_ = LooksLikeNumber(first.text) ? first.confidence * std::clamp(3.0 * first.clear - 1.8, 0.0, 1.0) : 0.0;
    Add(first.text, 0.0);
    if (confidence_ > 0.5 && alphabet_ == Alphabet::kLabels) Widen();
  }

  // In small print a 1 with a foot may pass for a 3.
  bool Sure() const {
    const bool may_be_one = word_.height_px < 9.5 && answers_[0].text.find('3') != std::string::npos;
    return confidence_ >= kDigitsSure && !may_be_one && Odd(answers_[0]) < 1.0;
  }
  Attempt Answer() const { return AttemptOf(answers_[agreed_], std::max(confidence_, 0.9) * Trust(answers_[agreed_])); }

  // An answer of the whole-line reader.
  void Hear(const Attempt& attempt) {
    if (!attempt.plausible || widened_) return;
    const std::size_t at = Add(attempt.Text(), attempt.confidence);
    // The same digits from both; a point that only one of them saw is there, since blobs do not come from nowhere.
    if (at == 0 || answers_.empty() || !LooksLikeNumber(answers_[0].text)) {
      if (at == 0 && !answers_.empty() && LooksLikeNumber(answers_[0].text)) agreed_ = 0, both_ = true;
      return;
    }
    if (DigitsOf(answers_[0].text) == DigitsOf(answers_[at].text))
      agreed_ = answers_[at].text.size() >= answers_[0].text.size() ? at : 0, both_ = true;
  }
  bool widened() const { return widened_; }
  bool Agreed() const { return both_ && confidence_ > 0.05; }

  // No two said the same. Where the single characters are likely each, they are right; else the line as a whole is; and where that says nothing, what goes
  // best with the ink at all sizes together.
  Attempt Decide(const Attempt& engine) {
    if (widened_) return AttemptOf(answers_[0], confidence_);
    const auto said = std::max_element(answers_.begin(), answers_.end(), [](const Heard& a, const Heard& b) { return a.confidence < b.confidence; });
    const bool heard = said->confidence > 0.0;
    // Even odds lie at kDigitsLikely; a number that is odd for a label has them against it.
    const double odds = std::log(std::max(1e-6, confidence_) / std::max(1e-6, 1.0 - confidence_)) - std::log(kDigitsLikely / (1.0 - kDigitsLikely)) -
                        Odd(answers_[0]) + (heard ? Odd(*said) : 0.0);
    if (confidence_ > 0.0 && odds >= 0.0) return AttemptOf(answers_[0], std::clamp(1.0 / (1.0 + std::exp(-odds)), 0.0, 0.9) * Trust(answers_[0]));
    if (heard) return AttemptOf(*said, std::min(said->confidence, 0.65) * Trust(*said));
    for (const double scale : {0.94, 1.07}) {
      Look(scale);
      Add(readers_.back().Read().text, 0.0);
    }
    std::erase_if(answers_, [](const Heard& h) { return !LooksLikeNumber(h.text); });
    if (answers_.empty()) return engine;
    std::vector<double> costs;
    for (const Heard& answer : answers_) {
      costs.push_back(Odd(answer));
      for (const DigitReader& reader : readers_) costs.back() += std::min(60.0, reader.CostOf(answer.text)) / static_cast<double>(readers_.size());
    }
    const auto best = static_cast<std::size_t>(std::min_element(costs.begin(), costs.end()) - costs.begin());
    return AttemptOf(answers_[best], std::min(0.5, std::exp(-0.7 * costs[best] / static_cast<double>(answers_[best].text.size()))));
  }

 private:
  struct Heard {
    std::string text;
    double confidence = 0.0;  // of the whole-line reader; 0: not said by it
  };

  static std::string DigitsOf(std::string text) {
    std::erase_if(text, [](char c) { return c == '.' || c == ','; });
    return text;
  }

  // Does the other reader differ only in that it says 1 where this one says 3?
  bool OnesForThrees(const Heard& heard) const {
    const std::string mine = DigitsOf(answers_[0].text), other = DigitsOf(heard.text);
    if (mine.size() != other.size() || mine == other) return false;
    for (std::size_t i = 0; i < mine.size(); ++i)
      if (mine[i] != other[i] && !(mine[i] == '3' && other[i] == '1')) return false;
    return true;
  }

  double Odd(const Heard& heard) const { return Oddness(heard.text, alphabet_); }
  double Trust(const Heard& heard) const { return std::exp(-0.3 * Odd(heard)); }

  static Attempt AttemptOf(const Heard& heard, double confidence) {
    Attempt attempt;
    for (const char c : heard.text) attempt.symbols.push_back({std::string(1, c), confidence, 0, 0});
    attempt.plausible = true;
    attempt.confidence = confidence;
    return attempt;
  }

  // Commas and points are one here.
  std::size_t Add(const std::string& text, double confidence) {
    const auto plain = [](std::string t) {
      std::replace(t.begin(), t.end(), ',', '.');
      return t;
    };
    for (std::size_t i = 0; i < answers_.size(); ++i)
      if (plain(answers_[i].text) == plain(text)) {
        answers_[i].confidence = std::max(answers_[i].confidence, confidence);
        return i;
      }
    answers_.push_back({text, confidence});
    return answers_.size() - 1;
  }

  // A digit that a line touches may have been left out of the word: all ink is looked at, a digit's width on to either side. What is found must be the
  // same number with sure digits before or behind it.
  void Widen() {
    if (word_.glyphs.empty()) return;
    Word whole = word_;
    whole.glyphs.clear();
    whole.own.release();
    whole.width_px += 1.7 * whole.height_px;
    CropOptions options;
    options.digit_height = kDigitReaderHeight;
    WordCrop crop = CropWord(page_, whole, angle_deg_, options);
    const int more = static_cast<int>(0.85 * kDigitReaderHeight);
    crop.left += more;
    crop.right -= more;
    const DigitReading reading = DigitReader(crop).Read();
    const std::string& known = answers_[0].text;
    if (reading.text.size() <= known.size() || !LooksLikeNumber(reading.text) || Oddness(reading.text, alphabet_) > 0.0) return;
    const bool before = reading.text.ends_with(known), behind = reading.text.starts_with(known);
    const std::string added = before ? reading.text.substr(0, reading.text.size() - known.size()) : reading.text.substr(known.size());
    if (added.find_first_not_of("0123456789.") != std::string::npos || added.size() > 3) return;
    // "9%", "5": a part of a number. "20000" may be one too; that stays a doubt.
    const bool partial = known.size() == 1 || (known.size() == 2 && known[1] == '%');
    const bool large = known.size() >= 4 && known.find_first_of(".%") == std::string::npos;
    if (reading.confidence < (partial ? 0.8 : 0.93)) return;
    if (!(before && (partial || large)) && !(behind && large && known.size() == 4 && added == "0")) return;
    answers_[0].text = reading.text;
    confidence_ = std::min({confidence_, reading.confidence, partial ? 0.85 : 0.5});
    widened_ = true;
  }

  void Look(double scale) {
    CropOptions options;
    options.digit_height = kDigitReaderHeight * scale;
    WordCrop crop = CropWord(page_, word_, angle_deg_, options);
    const double middle = 0.5 * (crop.top + crop.base);
    crop.top = middle - 0.5 * kDigitReaderHeight;
    crop.base = middle + 0.5 * kDigitReaderHeight;
    readers_.emplace_back(crop);
  }

  const Page& page_;
  const Word& word_;
  double angle_deg_;
  Alphabet alphabet_;
  std::vector<DigitReader> readers_;
  std::vector<Heard> answers_;  // the digit reader's own first
  double confidence_ = 0.0;
  std::size_t agreed_ = 0;
  bool both_ = false;
  bool widened_ = false;
};

class TesseractReader final : public PrintReader {
 public:
  bool Init() {
    engine_.SetVariable("debug_file", "/dev/null");
    if (engine_.Init(nullptr, "eng", tesseract::OEM_LSTM_ONLY) != 0) return false;
    engine_.SetVariable("debug_file", "/dev/null");
    engine_.SetVariable("user_defined_dpi", "200");
    engine_.SetPageSegMode(tesseract::PSM_SINGLE_LINE);
    return true;
  }

  Reading Read(const Page& page, const Word& word, Alphabet alphabet) override {
    Attempt best = ReadAt(page, word, alphabet, word.angle_deg);
    // Print that stands nearly on end may run up or down.
    const double lean = std::remainder(word.angle_deg, 360.0);
    if (std::abs(lean) > 58.0 && std::abs(lean) < 122.0) {
      const Attempt turned = ReadAt(page, word, alphabet, word.angle_deg + 180.0);
      // Upside down, letters read as a jumble of capitals and digits, surely enough; words of one case are likelier.
      if (Better(turned, best, alphabet == Alphabet::kText ? 0.3 * (Jumble(turned.Text()) - Jumble(best.Text())) + 0.03 : 0.12)) best = turned;
    }
    return Answer(best);
  }

  Reading Read(const Page& page, const Word& word, Alphabet alphabet, double angle_deg) override {
    return Answer(ReadAt(page, word, alphabet, angle_deg));
  }

  std::shared_ptr<const NumberInk> Look(const Page& page, const Word& word, double level_deg) override {
    std::vector<double> angles{word.angle_deg};
    if (std::abs(std::remainder(word.angle_deg - level_deg, 180.0)) > 1.5) angles.push_back(level_deg);
    return std::make_shared<const NumberInk>(NumberInk::Look(page, word, angles));
  }

 private:
  static bool Better(const Attempt& p, const Attempt& q, double margin) {
    if (p.symbols.empty()) return false;
    if (q.symbols.empty()) return true;
    if (p.plausible != q.plausible) return p.plausible;
    return p.confidence > q.confidence + margin;
  }

  static Reading Answer(const Attempt& a) {
    Reading r;
    r.text = a.Text();
    const auto blank = [](char ch) { return ch == ' ' || ch == '\n'; };
    while (!r.text.empty() && blank(r.text.back())) r.text.pop_back();
    while (!r.text.empty() && blank(r.text.front())) r.text.erase(0, 1);
    r.confidence = r.text.empty() ? 0.0 : std::clamp(a.plausible ? a.confidence : 0.6 * a.confidence, 0.0, 1.0);
    return r;
  }

  Attempt ReadAt(const Page& page, const Word& word, Alphabet alphabet, double angle_deg) {
    CropOptions options;
    const double crop_blur = page.blur_px * options.digit_height / std::max(3.0, word.height_px);
    if (crop_blur > 2.2) options.sharpen = 0.6;
    // Two readers of different kinds: characters one by one, and the line as a whole.
    std::optional<DigitPanel> digits;
    if (alphabet != Alphabet::kText) {
      digits.emplace(page, word, angle_deg, alphabet);
      if (digits->Sure()) return digits->Answer();
      if (digits->widened()) return digits->Decide({});
    }
    Attempt best = Try(page, word, alphabet, angle_deg, options);
    if (digits) {
      digits->Hear(best);
      if (digits->Agreed()) return digits->Answer();
    } else if (best.plausible && best.confidence >= kSure) {
      return best;
    }
    // Other sizes and sharpness, the surest plausible answer wins; an answer given twice is surer.
    struct Change {
      double height, sharpen, blur;
      bool free;
    };
    for (const Change& change :
         {Change{24.0, options.sharpen, 0.6, true}, Change{20.0, options.sharpen + 0.5, 0.5, false}, Change{30.0, options.sharpen, 0.9, false}}) {
      if (change.free && alphabet == Alphabet::kText) continue;
      CropOptions other = options;
      other.digit_height = change.height;
      other.sharpen = change.sharpen;
      other.blur = change.blur;
      Attempt again = Try(page, word, alphabet, angle_deg, other, change.free);
      if (digits) {
        digits->Hear(again);
        if (digits->Agreed()) return digits->Answer();
      }
      if (again.Text() == best.Text() && !best.symbols.empty()) {
        best.confidence = std::max(best.confidence, again.confidence);
        if (best.plausible) break;
      } else if (Better(again, best, 0.0)) {
        best = again;
      }
    }
    return digits ? digits->Decide(best) : best;
  }

  // `free`: a number read without holding the engine to number characters, which helps where a sign was forced into a digit.
  Attempt Try(const Page& page, const Word& word, Alphabet alphabet, double angle_deg, const CropOptions& options, bool free = false) {
    Attempt attempt;
    const WordCrop crop = CropWord(page, word, angle_deg, options);
    if (crop.image.empty()) return attempt;
    const char* const characters = alphabet != Alphabet::kText && !free ? kNumberCharacters : "";
    if (characters != characters_set_) {
      engine_.SetVariable("tessedit_char_whitelist", characters);
      characters_set_ = characters;
    }
    engine_.SetImage(crop.image.data, crop.image.cols, crop.image.rows, 1, static_cast<int>(crop.image.step));
    if (engine_.Recognize(nullptr) != 0) return attempt;
    const std::unique_ptr<tesseract::ResultIterator> it(engine_.GetIterator());
    if (it) {
      do {
        const std::unique_ptr<char[]> text(it->GetUTF8Text(tesseract::RIL_SYMBOL));
        if (!text) continue;
        Symbol s;
        s.text = text.get();
        s.confidence = std::clamp(it->Confidence(tesseract::RIL_SYMBOL) / 100.0, 0.0, 1.0);
        int top = 0, bottom = 0;
        it->BoundingBox(tesseract::RIL_SYMBOL, &s.left, &top, &s.right, &bottom);
        if (!attempt.symbols.empty() && it->IsAtBeginningOf(tesseract::RIL_WORD))
          attempt.symbols.push_back({" ", 1.0, attempt.symbols.back().right, s.left});
        attempt.symbols.push_back(std::move(s));
      } while (it->Next(tesseract::RIL_SYMBOL));
    }
    if (alphabet != Alphabet::kText) {
      std::erase_if(attempt.symbols, [](const Symbol& s) { return s.text == " "; });
      EndAtSign(attempt.symbols, crop);
      const std::vector<Symbol> as_read = attempt.symbols;
      const bool plausible_as_read = LooksLikeNumber(attempt.Text());
      MendPoints(attempt.symbols, crop);
      attempt.plausible = LooksLikeNumber(attempt.Text());
      if (!attempt.plausible && plausible_as_read) {
        attempt.symbols = as_read;
        attempt.plausible = true;
      }
    } else {
      attempt.plausible = !attempt.symbols.empty();
    }
    double sum = 0.0, least = 1.0;
    for (const Symbol& s : attempt.symbols) {
      sum += s.confidence;
      least = std::min(least, s.confidence);
    }
    if (!attempt.symbols.empty()) attempt.confidence = 0.5 * (sum / static_cast<double>(attempt.symbols.size()) + least);
    engine_.Clear();
    return attempt;
  }

  tesseract::TessBaseAPI engine_;
  const char* characters_set_ = nullptr;
};

}  // namespace

std::shared_ptr<const NumberInk> PrintReader::Look(const Page&, const Word&, double) { return nullptr; }

Result<std::unique_ptr<PrintReader>> PrintReader::Open() {
  omp_set_max_active_levels(0);  // a word is too small to share out; the engine asks for a fixed number of threads, so only this holds it to one
  auto reader = std::make_unique<TesseractReader>();
  if (!reader->Init()) {
    return Fail(ErrorCode::kNoReader,
                "The printed numbers cannot be read because Tesseract's English language data are missing; install the package tesseract-ocr-eng or "
                "set TESSDATA_PREFIX to the folder that holds eng.traineddata.");
  }
  return reader;
}

}  // namespace islebook
