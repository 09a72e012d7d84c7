// How a chart prints its efficiencies and its speeds.

#include "digitizer/labels/number_forms.h"

#include <algorithm>

#include <gtest/gtest.h>

namespace islebook {
namespace {

CurveLabel Read(const std::string& text, double value, double confidence = 0.9) {
  CurveLabel label;
  label.text = text;
  label.value = value;
  label.confidence = confidence;
  label.candidates.push_back({0, 0.0, LabelPlace::kOnLine});
  return label;
}

const NumberForm* Find(const std::vector<NumberForm>& forms, const std::string& pattern) {
  const auto at = std::find_if(forms.begin(), forms.end(), [&](const NumberForm& f) { return f.pattern == pattern; });
  return at == forms.end() ? nullptr : &*at;
}

TEST(NumberForms, PatternsOfPrintedNumbers) {
  EXPECT_EQ(PatternOf("0.72"), "0.00");
  EXPECT_EQ(PatternOf("0,72"), "0.00");
  EXPECT_EQ(PatternOf(".72"), ".00");
  EXPECT_EQ(PatternOf("0.715"), "0.000");
  EXPECT_EQ(PatternOf("72%"), "0%");
  EXPECT_EQ(PatternOf("105,000"), "0,000");
  EXPECT_EQ(PatternOf("52.500"), "0,000");
  EXPECT_EQ(PatternOf("105000"), "00000");
  EXPECT_EQ(PatternOf("67.5k"), "0k");
  for (const char* other : {"7", "22", "573", "105.950", "6000.0", "0.7", "1.72", "", "Nc", "05%"}) EXPECT_EQ(PatternOf(other), "") << other;
}

TEST(NumberForms, TheFormsThatMostLabelsAreReadIn) {
  const auto forms = FormsOf({Read("0.72", 0.72), Read("0.74", 0.74), Read("12%", 12), Read("90,000", 90000), Read("105,000", 105000)});
  ASSERT_EQ(forms.size(), 2U);
  const NumberForm *efficiency = Find(forms, "0.00"), *speed = Find(forms, "0,000");
  ASSERT_NE(efficiency, nullptr);
  ASSERT_NE(speed, nullptr);
  ASSERT_EQ(efficiency->texts.size(), efficiency->values.size());
  const auto holds = [](const NumberForm& f, const std::string& text, double value) {
    const auto at = std::find(f.texts.begin(), f.texts.end(), text);
    return at != f.texts.end() && f.values[static_cast<std::size_t>(at - f.texts.begin())] == value;
  };
  EXPECT_TRUE(holds(*efficiency, "0.65", 0.65));
  EXPECT_TRUE(holds(*speed, "52,500", 52500));
  EXPECT_TRUE(holds(*speed, "120,000", 120000));
}

TEST(NumberForms, PerCentIsAnEfficiencyBesideSpeedsAndAnOpeningByItself) {
  const auto islands = FormsOf({Read("72%", 72), Read("68%", 68), Read("60k", 60), Read("80k", 80)});
  ASSERT_NE(Find(islands, "0%"), nullptr);
  EXPECT_NE(std::find(Find(islands, "0%")->values.begin(), Find(islands, "0%")->values.end(), 71.0), Find(islands, "0%")->values.end());
  const auto openings = FormsOf({Read("20%", 20), Read("40%", 40), Read("60%", 60), Read("100%", 100)});
  ASSERT_NE(Find(openings, "0%"), nullptr);
  EXPECT_EQ(std::find(Find(openings, "0%")->values.begin(), Find(openings, "0%")->values.end(), 71.0), Find(openings, "0%")->values.end());
}

TEST(NumberForms, UnsureReadingsAndLoneOnesTellNoForm) {
  EXPECT_TRUE(FormsOf({}).empty());
  EXPECT_TRUE(FormsOf({Read("0.72", 0.72, 0.3), Read("0.74", 0.74, 0.3)}).empty());
  EXPECT_TRUE(FormsOf({Read("90,000", 90000)}).empty());
}

}  // namespace
}  // namespace islebook
