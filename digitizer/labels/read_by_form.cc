#include "digitizer/labels/read_by_form.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <fmt/format.h>

#include "digitizer/labels/number_forms.h"
#include "digitizer/print/number_ink.h"

namespace islebook {
namespace {

constexpr double kKept = 14.0;        // alternatives this much less likely are forgotten, natural logarithm
constexpr double kReadBefore = 3.0;   // what a sure first reading counts for
constexpr double kOtherForm = 4.0;    // what speaks against a number printed unlike the rest of its family
constexpr double kSureReading = 0.97;
constexpr double kSmallPrint = 13.0;  // px; larger digits are read well by themselves
constexpr double kAgreeingHeight = 0.3;

struct Asked {
  std::vector<LabelAlternative> alternatives;  // cheapest first; costs are absolute
  double per_character = 1e9;                  // of the cheapest, over what any other text would cost
};

Asked Ask(const NumberInk& ink, const std::vector<NumberForm>& forms) {
  Asked asked;
  for (const NumberForm& form : forms) {
    const std::vector<float> costs = ink.CostsOf(form.texts);
    for (std::size_t i = 0; i < costs.size(); ++i)
      if (costs[i] < 1e8F) asked.alternatives.push_back({form.texts[i], form.units[i], form.values[i], costs[i]});
  }
  std::stable_sort(asked.alternatives.begin(), asked.alternatives.end(),
                   [](const LabelAlternative& a, const LabelAlternative& b) { return a.cost < b.cost; });
  if (asked.alternatives.empty()) return asked;
  const LabelAlternative& best = asked.alternatives.front();
  std::erase_if(asked.alternatives, [limit = best.cost + kKept](const LabelAlternative& a) { return a.cost > limit; });
  asked.per_character = asked.alternatives.front().cost / static_cast<double>(asked.alternatives.front().text.size());
  return asked;
}

}  // namespace

void FindCurvesOf(CurveLabel& label, const CurvesFound& curves, const PlaceRules& rules) {
  std::vector<PlacedCandidate> placed;
  for (std::size_t c = 0; c < curves.curves.size(); ++c)
    if (auto at = PlaceLabel(label, curves.curves[c], c, rules)) placed.push_back(*at);
  std::stable_sort(placed.begin(), placed.end(), [](const PlacedCandidate& p, const PlacedCandidate& q) { return p.cost < q.cost; });
  label.candidates.clear();
  for (const PlacedCandidate& p : placed) label.candidates.push_back(p.candidate);
}

void FormReader::Run(const PrintAtCurves& print, std::vector<CurveLabel>& labels) const {
  const std::vector<NumberForm> forms = FormsOf(labels);
  if (forms.empty()) return;
  for (std::size_t i = 0; i < labels.size(); ++i) {
    const auto ink = reader_.Look(page_, print.of_label[i], rules_.print_angle_deg);
    if (!ink) continue;
    const Asked asked = Ask(*ink, forms);
    if (asked.alternatives.empty()) continue;
    const float own = ink->CostsOf(std::vector{labels[i].text})[0];
    fmt::print(stderr, "L {:>9} conf {:.2f} own {:.1f} least {:.1f} ", labels[i].text, labels[i].confidence, own, ink->Least());
    for (std::size_t k = 0; k < 3 && k < asked.alternatives.size(); ++k) fmt::print(stderr, " {} {:.1f}", asked.alternatives[k].text, asked.alternatives[k].cost);
    fmt::print(stderr, "\n");
  }
  for (const Word& w : print.unread) {
    const auto ink = reader_.Look(page_, w, rules_.print_angle_deg);
    if (!ink) continue;
    const Asked asked = Ask(*ink, forms);
    if (asked.alternatives.empty()) continue;
    fmt::print(stderr, "U {:.0f},{:.0f} {:.0f}x{:.0f} least {:.1f} ", w.center.x,w.center.y,w.width_px,w.height_px,ink->Least());
    for (std::size_t k = 0; k < 3 && k < asked.alternatives.size(); ++k) fmt::print(stderr, " {} {:.1f}", asked.alternatives[k].text, asked.alternatives[k].cost);
    fmt::print(stderr, "\n");
  }
}

}  // namespace islebook
