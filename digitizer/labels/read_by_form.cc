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
constexpr double kKept = 14.0;         // alternatives this much less likely are forgotten
constexpr double kReadBefore = 3.0;    // what a sure first reading counts for
constexpr double kOtherForm = 10.0;    // what speaks against a number printed unlike the rest of its family
constexpr double kUsualCost = 3.0;     // above this the ink goes ill with the number
constexpr double kWorst = 20.0;        // above this the ink shows something else
constexpr double kPlainlyOther = 5.0;  // a reading in the family's form is put right only where another number goes this well with the ink
constexpr double kWorstSized = 32.0;   // the same of print as wide as the family's numbers are
constexpr double kSized = 0.22;        // by how much of its width such print may differ
constexpr double kWellRead = 8.0;      // a reading that the net knows so badly is another reader's: the net's alternatives to it are worth nothing
constexpr double kTemper = 0.7;        // the net is surer of itself than it should be
constexpr double kSureReading = 0.985;
constexpr double kSureStranger = 0.95;
constexpr double kLargePrint = 13.0;  // px; numbers of this height are read well by themselves
constexpr double kLeastSure = 0.3;

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

// The chance that the likeliest is right; its own cost says whether the ink shows a number at all. `patience`: how much it may cost.
double Sureness(const std::vector<LabelAlternative>& ranked, double cost, double patience) {
  double rivals = 0.0;
  for (std::size_t i = 1; i < ranked.size(); ++i) rivals += std::exp(-kTemper * ranked[i].cost);
  const double margin = ranked.size() > 1 ? ranked[1].cost : kKept;  // far ahead of all others, a number may be worn
  return std::exp(-std::max(0.0, cost - kUsualCost - margin) / patience) / (1.0 + rivals);
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
    std::vector<double> heights, widths;
    for (std::size_t i = 0; i < labels_.size(); ++i)
      if (InForm(labels_[i]) && labels_[i].confidence > 0.6) {
        heights.push_back(labels_[i].height_px);
        widths.push_back(labels_[i].width_px / static_cast<double>(labels_[i].text.size()));
      }
    if (heights.size() < 2) return;
    std::nth_element(heights.begin(), heights.begin() + static_cast<std::ptrdiff_t>(heights.size() / 2), heights.end());
    height_ = heights[heights.size() / 2];
    std::nth_element(widths.begin(), widths.begin() + static_cast<std::ptrdiff_t>(widths.size() / 2), widths.end());
    character_ = widths[widths.size() / 2];
    if (how_.reader->Look(*how_.page, print_.of_label.front(), how_.rules.print_angle_deg) == nullptr) return;  // the letters are known
    for (std::size_t i = 0; i < labels_.size(); ++i) Again(i);
    Unread();
    if (forms_.size() < 2) return;
    // Both families' forms are known: what is printed like neither is a piece of a line or of another number.
    std::erase_if(labels_, [&](const CurveLabel& l) { return !InForm(l) && l.confidence < kSureStranger; });
    for (CurveLabel& label : labels_)
      if (!InForm(label)) label.confidence *= 0.4;
  }

 private:
  bool InForm(const CurveLabel& label) const {
    const std::string pattern = PatternOf(label.text);
    return std::any_of(forms_.begin(), forms_.end(), [&](const NumberForm& f) {
      if (std::find(f.values.begin(), f.values.end(), label.value) == f.values.end()) return false;
      // "90,000 rpm" among "60,000", "75,000": the unit stands at one of them.
      return f.pattern == pattern || (!label.unit.empty() && label.unit == (f.units.front().empty() ? "rpm" : f.units.front()));
    });
  }

  void Again(std::size_t i) {
    CurveLabel& label = labels_[i];
    const bool in_form = InForm(label);
    if (in_form && label.confidence > kSureReading && label.height_px > kLargePrint) return;
    const auto ink = how_.reader->Look(*how_.page, print_.of_label[i], how_.rules.print_angle_deg);
    if (!ink) return;
    Asked asked = Ask(*ink, forms_, label.text);
    double cheapest = 1e9;
    for (LabelAlternative& a : asked.alternatives) {
      if (in_form && std::abs(a.value - label.value) < 1e-9) a.cost -= kReadBefore * label.confidence;
      cheapest = std::min(cheapest, a.cost);
    }
    if (in_form ? asked.own > kWellRead && cheapest > kPlainlyOther : !Fits(label.height_px)) return;
    const double read = asked.own + (in_form ? 0.0 : kOtherForm) - kReadBefore * label.confidence;
    if (!in_form && cheapest > std::min(read, kWorst)) return;
    Rank(asked.alternatives);
    if (asked.alternatives.empty()) return;
    const double sure = Sureness(asked.alternatives, cheapest, Patience(asked.alternatives.front(), label.width_px));
    const bool as_read = in_form && std::abs(asked.alternatives.front().value - label.value) < 1e-9;
    if (!as_read && sure < kLeastSure) return;
    label.alternatives = std::move(asked.alternatives);
    if (!as_read) Say(label, sure);
  }

  // Is this as wide as the number would be?
  bool Sized(const LabelAlternative& number, double width_px) const {
    const double expected = character_ * static_cast<double>(number.text.size());
    return std::abs(width_px - expected) < kSized * expected;
  }
  double Patience(const LabelAlternative& number, double width_px) const { return Sized(number, width_px) ? 18.0 : 6.0; }

  bool Fits(double height_px) const { return height_px > 0.6 * height_ && height_px < 1.5 * height_; }

  // What this ink shows, if it is a number of the families.
  std::optional<CurveLabel> Number(const Word& word, std::size_t index) const {
    const auto ink = how_.reader->Look(*how_.page, word, how_.rules.print_angle_deg);
    if (!ink) return std::nullopt;
    Asked asked = Ask(*ink, forms_, "");
    CurveLabel label = LabelOf(word, index);
    label.alternatives = std::move(asked.alternatives);
    double cheapest = 1e9;
    for (const LabelAlternative& a : label.alternatives) cheapest = std::min(cheapest, a.cost);
    if (cheapest > kWorstSized) return std::nullopt;
    Rank(label.alternatives);
    if (cheapest > kWorst && !Sized(label.alternatives.front(), word.width_px)) return std::nullopt;
    const double sure = Sureness(label.alternatives, cheapest, Patience(label.alternatives.front(), word.width_px));
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
    const auto fits = [&](const Word& w) { return Fits(w.height_px) && w.width_px < 9.0 * height_; };
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
      if (auto label = Number(pieces[i], index[i])) best = std::move(label);
      if (whole.width_px > pieces[i].width_px)
        if (auto label = Number(whole, index[i]); label && (!best || label->confidence > best->confidence)) best = std::move(label);
      if (best && Likely(*best)) labels_.push_back(std::move(*best));
    }
  }

  const SecondReading& how_;
  const PrintAtCurves& print_;
  std::vector<CurveLabel>& labels_;
  std::vector<NumberForm> forms_;

  double character_ = 0.0;  // width of one of their characters, px
  double height_ = 0.0;     // of the families' digits, px
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
