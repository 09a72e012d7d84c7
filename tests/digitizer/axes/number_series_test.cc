#include "digitizer/axes/number_series.h"

#include <cmath>

#include <gtest/gtest.h>

#include "digitizer/axes/number_text.h"

namespace islebook {
namespace {

// Numbers evenly along the axis, as read.
std::vector<SeriesNumber> Along(const std::vector<std::string>& texts, double from = 0.0, double to = 1.0) {
  std::vector<SeriesNumber> out;
  for (std::size_t i = 0; i < texts.size(); ++i) {
    if (texts[i].empty()) continue;
    SeriesNumber n;
    n.number.text = texts[i];
    n.number.confidence = 0.9;
    n.t = from + (to - from) * static_cast<double>(i) / static_cast<double>(texts.size() - 1);
    out.push_back(n);
  }
  return out;
}

double FlowPrior(double, double high) { return high > 2000 ? -0.2 : 0.0; }
double PressureRatioPrior(double low, double high) {
  return low < -0.01 || high > 30 ? -1.0 : high > 12 || high < 1.2 ? -0.6 : std::abs(low) < 1e-6 || std::abs(low - 1) < 1e-6 ? 0.0 : -0.05;
}

struct SlipCase {
  const char* what;
  std::vector<std::string> read;
  double low, high;
  bool doubted;  // must carry a doubt; where false, none is wanted
  double (*prior)(double, double) = nullptr;
};

TEST(NumberSeries, ReadsThroughTheReadersSlips) {
  const std::vector<SlipCase> cases = {
      {"as printed", {"0", "10", "20", "30", "40", "50"}, 0, 50, false},
      {"half steps", {"1.0", "1.5", "2.0", "2.5", "3.0"}, 1, 3, false},
      {"quarter steps", {"1.00", "1.25", "1.50", "1.75", "2.00", "2.25"}, 1, 2.25, false},
      {"three places", {"0.000", "0.025", "0.050", "0.075", "0.100"}, 0, 0.1, false},
      {"decimal commas", {"1,0", "1,5", "2,0", "2,5", "3,0"}, 1, 3, false},
      {"thousands commas", {"0", "1,000", "2,000", "3,000", "4,000"}, 0, 4000, false},
      {"thousands spaces", {"0", "1 000", "2 000", "3 000", "4 000"}, 0, 4000, false},
      {"one digit wrong", {"0", "10", "20", "80", "40", "50"}, 0, 50, false},
      {"one point lost", {"1.0", "15", "2.0", "2.5", "3.0", "3.5"}, 1, 3.5, false},
      {"one number lost", {"1.0", "1.5", "", "2.5", "3.0"}, 1, 3, false},
      {"letters for digits", {"O", "1O", "2O", "3O", "4O"}, 0, 40, false},
      {"minus signs", {"-60", "-40", "-20", "0", "20", "40", "60"}, -60, 60, false},
      {"minus as dash", {"−2", "−1", "0", "1", "2"}, -2, 2, false},
      {"a stranger among them", {"0", "5", "10", "compressor", "20", "25"}, 0, 25, false},
      {"leading zero not printed", {".60", ".65", ".70", ".75", ".80"}, 0.6, 0.8, false},
      {"all points lost, pressure ratio", {"10", "15", "20", "25", "30", "35", "40"}, 1, 4, true, PressureRatioPrior},
      {"zero read as six throughout", {"6.00", "6.01", "6.02", "6.03", "6.04", "6.05"}, 0, 0.05, true},
      {"a true pressure ratio to 25", {"0", "5", "10", "15", "20", "25"}, 0, 25, true, PressureRatioPrior},
  };
  for (const SlipCase& c : cases) {
    SeriesOptions options;
    if (c.prior != nullptr) options.range_prior = c.prior;
    const auto series = FitNumberSeries(Along(c.read), options);
    ASSERT_TRUE(series) << c.what;
    EXPECT_NEAR(series->ValueAt(0.0), c.low, 0.003 * (c.high - c.low)) << c.what;
    EXPECT_NEAR(series->ValueAt(1.0), c.high, 0.003 * (c.high - c.low)) << c.what;
    EXPECT_EQ(series->scale, AxisScale::kLinear) << c.what;
    EXPECT_EQ(!series->doubts.empty(), c.doubted) << c.what << (series->doubts.empty() ? "" : ": " + series->doubts.front());
  }
}

TEST(NumberSeries, ThePointsBlobDecides) {
  std::vector<SeriesNumber> numbers = Along({"10", "15", "20", "25", "30"});
  for (SeriesNumber& n : numbers) n.number.digits_before_point = 1, n.number.point_looked_for = true;
  const auto series = FitNumberSeries(numbers);
  ASSERT_TRUE(series);
  EXPECT_NEAR(series->ValueAt(0.0), 1.0, 0.01);
  EXPECT_NEAR(series->ValueAt(1.0), 3.0, 0.01);
  EXPECT_TRUE(series->doubts.empty()) << series->doubts.front();
}

// With decimal commas, "0,080" is no number of thousands.
TEST(NumberSeries, DecimalCommasBehindAZeroAreRead) {
  std::vector<SeriesNumber> numbers = Along({"0,040", "0,050", "0,060", "0,070", "0,080"});
  for (SeriesNumber& n : numbers) n.number.digits_before_point = 1, n.number.point_looked_for = true;
  const auto series = FitNumberSeries(numbers);
  ASSERT_TRUE(series);
  EXPECT_NEAR(series->ValueAt(0.0), 0.04, 1e-4);
  EXPECT_NEAR(series->ValueAt(1.0), 0.08, 1e-4);
  EXPECT_TRUE(series->doubts.empty()) << series->doubts.front();
  EXPECT_NEAR(NumberCandidates({.text = "1,250"}).front().value, 1250.0, 1e-9);
}

// A zero put in an unread character's place is no literal reading: the series is doubted.
TEST(NumberSeries, GuessedZerosAreDoubted) {
  std::vector<SeriesNumber> numbers = Along({"0045", "0050", "0055", "0060", "0065"});
  for (SeriesNumber& n : numbers) n.number.digits_before_point = 1, n.number.guessed = true;
  const auto series = FitNumberSeries(numbers);
  ASSERT_TRUE(series);
  EXPECT_NEAR(series->ValueAt(0.0), 0.045, 1e-4);
  EXPECT_NEAR(series->ValueAt(1.0), 0.065, 1e-4);
  EXPECT_FALSE(series->doubts.empty());
}

TEST(NumberSeries, LogarithmicAxes) {
  std::vector<SeriesNumber> numbers;
  for (const double v : {1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0}) {
    SeriesNumber n;
    n.number.text = FormatNumber(v, 0);
    n.t = std::log10(v) / 2.0;
    numbers.push_back(n);
  }
  const auto series = FitNumberSeries(numbers);
  ASSERT_TRUE(series);
  EXPECT_EQ(series->scale, AxisScale::kLog);
  EXPECT_NEAR(series->ValueAt(0.0), 1.0, 0.01);
  EXPECT_NEAR(series->ValueAt(1.0), 100.0, 1.0);
}

TEST(NumberSeries, PowersOfTenWithRaisedExponents) {
  std::vector<SeriesNumber> numbers;
  for (int e = 0; e <= 2; ++e) {
    SeriesNumber n;
    n.number.text = "10" + std::to_string(e);
    n.number.raised_digits = 1;
    n.t = e / 2.0;
    numbers.push_back(n);
  }
  const auto series = FitNumberSeries(numbers);
  ASSERT_TRUE(series);
  EXPECT_EQ(series->scale, AxisScale::kLog);
  EXPECT_NEAR(series->ValueAt(1.0), 100.0, 1e-6);
}

TEST(NumberSeries, TwoNumbersAreDoubted) {
  const auto series = FitNumberSeries(Along({"0", "50"}));
  ASSERT_TRUE(series);
  EXPECT_FALSE(series->doubts.empty());
}

TEST(NumberSeries, NothingFromWords) {
  EXPECT_FALSE(FitNumberSeries(Along({"flow", "surge", "map"})));
  EXPECT_FALSE(FitNumberSeries({}));
}

TEST(NumberSeries, NumbersThatFormNoSeriesAreNotForced) {
  const auto series = FitNumberSeries(Along({"17", "3", "91", "44", "8", "120"}));
  if (series) {
    EXPECT_FALSE(series->doubts.empty());
  }
}

TEST(NumberSeries, FlowsUpToThousandsPassThePrior) {
  SeriesOptions options;
  options.range_prior = FlowPrior;
  const auto series = FitNumberSeries(Along({"0", "500", "1000", "1500", "2000", "2500"}), options);
  ASSERT_TRUE(series);
  EXPECT_NEAR(series->ValueAt(1.0), 2500, 5);
}

TEST(NumberText, NiceSteps) {
  double liking = 0;
  EXPECT_DOUBLE_EQ(NiceStep(0.2501, &liking), 0.25);
  EXPECT_EQ(liking, 1.0);
  EXPECT_DOUBLE_EQ(NiceStep(10.0, &liking), 10.0);
  EXPECT_NEAR(NiceStep(0.03, &liking), 0.03, 1e-12);
  EXPECT_EQ(liking, 0.5);
}

}  // namespace
}  // namespace islebook
