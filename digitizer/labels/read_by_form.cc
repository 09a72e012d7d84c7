#include "digitizer/labels/read_by_form.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "digitizer/labels/number_forms.h"
#include "digitizer/print/number_ink.h"

namespace islebook {
namespace {

// Costs are natural logarithms of likelihoods, as the digit reader gives them: a number that is read right costs about 1, its rivals 6 and more.
constexpr double kKept = 14.0;       // alternatives this much less likely are forgotten
constexpr double kReadBefore = 3.0;  // what a sure first reading counts for
constexpr double kOtherForm = 4.0;   // what speaks against a number printed unlike the rest of its family
constexpr double kUsualCost = 3.0;   // above this the ink goes ill with the number
constexpr double kWorstWord = 10.0;  // of print that was found: above this the ink shows something else
constexpr double kWorstGap = 14.0;   // of a gap in a curve, where a label is expected
constexpr double kTemper = 0.7;      // the net is surer of itself than it should be
constexpr double kSureReading = 0.985;
constexpr double kLargePrint = 13.0;  // px; numbers of this height are read well by themselves
constexpr double kLeastSure = 0.3;
constexpr double kGapShortest = 1.0, kGapLongest = 8.0;  // digit heights: what a label's pad hides of a line

struct Asked {
  std::vector<LabelAlternative> alternatives;  // cheapest first; costs absolute
  double own = 1e9;                            // cost of what was read before
};

Asked Ask(const NumberInk& ink, const std::vector<NumberForm>& forms, const std::string& read) {
  Asked asked;
  for (const NumberForm& form : forms) {
    const std::vector<float> costs = ink.CostsOf(form.texts);
    for (std::size_t i = 0; i < costs.size(); ++i)
      if (costs[i] < 1e6F) asked.alternatives.push_back({form.texts[i], form.units[i], form.values[i], costs[i]});
  }
  if (!read.empty()) asked.own = ink.CostsOf(std::vector{read})[0];
  return asked;
}

void Rank(std::vector<LabelAlternative>& alternatives) {
  std::stable_sort(alternatives.begin(), alternatives.end(), [](const LabelAlternative& a, const LabelAlternative& b) { return a.cost < b.cost; });
  if (alternatives.empty()) return;
  const double least = alternatives.front().cost;
  std::erase_if(alternatives, [&](const LabelAlternative& a) { return a.cost > least + kKept; });
  for (LabelAlternative& a : alternatives) a.cost -= least;
}

// The chance that the likeliest is right; its own cost says whether the ink shows a number at all.
double Sureness(const std::vector<LabelAlternative>& ranked, double cost) {
  double rivals = 0.0;
  for (std::size_t i = 1; i < ranked.size(); ++i) rivals += std::exp(-kTemper * ranked[i].cost);
  return std::exp(-std::max(0.0, cost - kUsualCost) / 10.0) / (1.0 + rivals);
}

void Say(CurveLabel& label, double confidence) {
  const LabelAlternative& best = label.alternatives.front();
  label.text = best.text;
  label.value = best.value;
  label.unit = best.unit;
  label.confidence = std::min(confidence, 0.9);
  label.revised = true;
}

CurveLabel LabelOf(const Word& word, std::size_t index) {
  CurveLabel label;
  label.word = index;
  label.center = word.center;
  label.angle_deg = word.angle_deg;
  label.width_px = word.width_px;
  label.height_px = word.height_px;
  label.lab = word.lab;
  return label;
}

class Readings {
 public:
  Readings(const SecondReading& how, const PrintAtCurves& print, std::vector<CurveLabel>& labels) : how_(how), print_(print), labels_(labels) {}

  void Run() {
    forms_ = FormsOf(labels_);
    if (forms_.empty()) return;
    std::vector<double> heights;
    for (std::size_t i = 0; i < labels_.size(); ++i)
      if (InForm(labels_[i]) && labels_[i].confidence > 0.6) heights.push_back(labels_[i].height_px);
    if (heights.size() < 2) return;
    std::nth_element(heights.begin(), heights.begin() + static_cast<std::ptrdiff_t>(heights.size() / 2), heights.end());
    height_ = heights[heights.size() / 2];
    for (std::size_t i = 0; i < labels_.size(); ++i) Again(i);
    Unread();
    Gaps();
    if (forms_.size() < 2 || !looked_) return;
    // Both families' forms are known: what is printed like neither is a piece of a line or of another number.
    for (CurveLabel& label : labels_)
      if (!InForm(label) && !label.text.empty()) label.confidence *= 0.4;
  }

 private:
  bool InForm(const CurveLabel& label) const {
    const std::string pattern = PatternOf(label.text);
    return std::any_of(forms_.begin(), forms_.end(), [&](const NumberForm& f) {
      return f.pattern == pattern && std::find(f.values.begin(), f.values.end(), label.value) != f.values.end();
    });
  }

  void Again(std::size_t i) {
    CurveLabel& label = labels_[i];
    const bool in_form = InForm(label);
    if (in_form && label.confidence > kSureReading && label.height_px > kLargePrint) return;
    const auto ink = how_.reader->Look(*how_.page, print_.of_label[i], how_.rules.print_angle_deg);
    if (!ink) return;
    looked_ = true;
    Asked asked = Ask(*ink, forms_, label.text);
    double cheapest = 1e9;
    for (LabelAlternative& a : asked.alternatives) {
      if (in_form && std::abs(a.value - label.value) < 1e-9) a.cost -= kReadBefore * label.confidence;
      cheapest = std::min(cheapest, a.cost);
    }
    const double read = asked.own + (in_form ? 0.0 : kOtherForm) - kReadBefore * label.confidence;
    if (!in_form && (cheapest > read || cheapest > kWorstGap)) return;
    Rank(asked.alternatives);
    if (asked.alternatives.empty()) return;
    label.alternatives = std::move(asked.alternatives);
    if (in_form && std::abs(label.alternatives.front().value - label.value) < 1e-9) return;
    Say(label, Sureness(label.alternatives, cheapest));
  }

  // What this ink shows, if it is a number of the families.
  std::optional<CurveLabel> Number(const Word& word, std::size_t index, double worst) const {
    const auto ink = how_.reader->Look(*how_.page, word, how_.rules.print_angle_deg);
    if (!ink) return std::nullopt;
    Asked asked = Ask(*ink, forms_, "");
    CurveLabel label = LabelOf(word, index);
    label.alternatives = std::move(asked.alternatives);
    double cheapest = 1e9;
    for (const LabelAlternative& a : label.alternatives) cheapest = std::min(cheapest, a.cost);
    if (cheapest > worst) return std::nullopt;
    Rank(label.alternatives);
    const double sure = Sureness(label.alternatives, cheapest);
    if (sure < kLeastSure) return std::nullopt;
    Say(label, sure);
    FindCurvesOf(label, *how_.curves, how_.rules);
    return label;
  }

  // Is there a label here that goes with its family?
  bool Known(ImagePoint p) const {
    return std::any_of(labels_.begin(), labels_.end(), [&](const CurveLabel& l) {
      return InForm(l) && l.confidence >= kLeastSure && std::hypot(l.center.x - p.x, l.center.y - p.y) < 0.6 * l.width_px + 0.5 * l.height_px;
    });
  }

  static bool Likely(const CurveLabel& label) { return !label.candidates.empty() && label.candidates.front().place != LabelPlace::kBeside; }

  // Print that made no number, piece by piece and with the pieces beside it.
  void Unread() {
    std::vector<Word> pieces;
    std::vector<std::size_t> index;
    const auto fits = [&](const Word& w) { return w.height_px > 0.6 * height_ && w.height_px < 1.5 * height_ && w.width_px < 9.0 * height_; };
    for (std::size_t i = 0; i < print_.unread.size(); ++i)
      if (fits(print_.unread[i])) pieces.push_back(print_.unread[i]), index.push_back(print_.unread_index[i]);
    for (std::size_t i = 0; i < print_.of_label.size(); ++i)
      if (!InForm(labels_[i]) && fits(print_.of_label[i])) pieces.push_back(print_.of_label[i]), index.push_back(labels_[i].word);
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      if (Known(pieces[i].center)) continue;
      Word whole = pieces[i];
      for (std::size_t k = i + 1; k < pieces.size(); ++k) {
        const double apart = std::abs(pieces[k].center.x - whole.center.x) - 0.5 * (pieces[k].width_px + whole.width_px);
        if (std::abs(pieces[k].center.y - whole.center.y) < 0.4 * height_ && apart < 1.0 * height_ && std::abs(whole.angle_deg) < 20.0 &&
            std::abs(pieces[k].angle_deg) < 20.0)
          whole = JoinWords({whole, pieces[k]});
      }
      std::optional<CurveLabel> best;
      if (auto label = Number(pieces[i], index[i], kWorstWord)) best = std::move(label);
      if (whole.width_px > pieces[i].width_px)
        if (auto label = Number(whole, index[i], kWorstWord); label && (!best || label->confidence > best->confidence)) best = std::move(label);
      if (best && Likely(*best)) labels_.push_back(std::move(*best));
    }
  }

  // A label on its line leaves a gap in it.
  void Gaps() {
    for (const TracedCurve& curve : how_.curves->curves) {
      const std::size_t n = curve.points.size();
      if (curve.bridged.size() != n || n < 4) continue;
      std::size_t start = 0;
      if (curve.closed)
        while (start < n && curve.bridged[start] != 0) ++start;
      if (start == n) continue;
      for (std::size_t k = 0; k < n;) {
        const std::size_t from = (start + k) % n;
        if (curve.bridged[from] == 0) {
          ++k;
          continue;
        }
        std::size_t run = 0;
        while (k + run < n && curve.bridged[(start + k + run) % n] != 0) ++run;
        if (curve.closed || (from > 0 && from + run < n)) Gap(curve, from, run);
        k += run;
      }
    }
  }

  void Gap(const TracedCurve& curve, std::size_t from, std::size_t run) {
    const std::size_t n = curve.points.size();
    const ImagePoint a = curve.points[(from + n - 1) % n], b = curve.points[(from + run) % n];
    const double length = std::hypot(b.x - a.x, b.y - a.y);
    if (length < kGapShortest * height_ || length > kGapLongest * height_) return;
    const ImagePoint middle = curve.points[(from + run / 2) % n];
    if (Known(middle)) return;
    const double along = std::atan2(b.y - a.y, b.x - a.x) * 180.0 / std::numbers::pi;
    std::optional<CurveLabel> best;
    for (const double angle : {how_.rules.print_angle_deg, std::remainder(along, 180.0)}) {
      Word word;
      word.center = middle;
      word.angle_deg = angle;
      word.height_px = height_;
      word.width_px = 2.2 * height_;
      word.lab = curve.lab;
      Settle(word);
      auto label = Number(word, 0, kWorstGap);
      if (label && (!best || label->confidence > best->confidence)) best = std::move(label);
      if (std::abs(std::remainder(along - how_.rules.print_angle_deg, 180.0)) < 4.0) break;
    }
    if (best && Likely(*best)) labels_.push_back(std::move(*best));
  }

  // Moves the word up or down to where its ink is.
  void Settle(Word& word) const {
    const double radians = word.angle_deg * std::numbers::pi / 180.0, c = std::cos(radians), s = std::sin(radians);
    const auto ink_at = [&](double across) {
      double sum = 0.0;
      for (double along = -0.5 * word.width_px; along <= 0.5 * word.width_px; along += 1.0) {
        const int x = static_cast<int>(std::lround(word.center.x + along * c - across * s)),
                  y = static_cast<int>(std::lround(word.center.y + along * s + across * c));
        if (x >= 0 && y >= 0 && x < how_.page->ink.cols && y < how_.page->ink.rows) sum += how_.page->ink(y, x);
      }
      return sum;
    };
    const int reach = static_cast<int>(std::lround(0.3 * height_));
    double best = -1.0;
    int at = 0;
    for (int shift = -reach; shift <= reach; ++shift) {
      double inside = 0.0, edge = 0.0;
      const double half = 0.5 * height_;
      for (double y = shift - half; y <= shift + half; y += 1.0) inside += ink_at(y);
      for (const double y : {shift - half - 1.5, shift + half + 1.5}) edge += ink_at(y);
      if (inside - edge > best) best = inside - edge, at = shift;
    }
    word.center.x -= at * s;
    word.center.y += at * c;
  }

  const SecondReading& how_;
  const PrintAtCurves& print_;
  std::vector<CurveLabel>& labels_;
  std::vector<NumberForm> forms_;
  bool looked_ = false;  // the print is seen as ink, not known by its letters
  double height_ = 0.0;  // of the families' digits, px
};

}  // namespace

void FindCurvesOf(CurveLabel& label, const CurvesFound& curves, const PlaceRules& rules) {
  std::vector<PlacedCandidate> placed;
  for (std::size_t c = 0; c < curves.curves.size(); ++c)
    if (auto at = PlaceLabel(label, curves.curves[c], c, rules)) placed.push_back(*at);
  std::stable_sort(placed.begin(), placed.end(), [](const PlacedCandidate& p, const PlacedCandidate& q) { return p.cost < q.cost; });
  label.candidates.clear();
  for (const PlacedCandidate& p : placed) label.candidates.push_back(p.candidate);
}

void ReadByForm(const SecondReading& how, const PrintAtCurves& print, std::vector<CurveLabel>& labels) { Readings(how, print, labels).Run(); }

}  // namespace islebook
