// The axes stage on example sheets with truth, end to end from the picture. Skipped where ../shared is absent.

#include "digitizer/axes/axes.h"

#include <array>
#include <cmath>
#include <filesystem>
#include <fstream>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace islebook {
namespace {

const std::filesystem::path kShared = ISLEBOOK_SHARED_DIR;

PrintReader* Reader() {
  static const std::unique_ptr<PrintReader> reader = [] {
    auto opened = PrintReader::Open();
    return opened ? std::move(*opened) : nullptr;
  }();
  return reader.get();
}

Result<AxesFound> AxesOf(const std::filesystem::path& picture, double* width = nullptr) {
  auto sheet = ReadSheet(picture);
  if (!sheet) return std::unexpected(sheet.error());
  if (width != nullptr) *width = sheet->pixels.cols;
  auto page = FlattenPage(*sheet);
  if (!page) return std::unexpected(page.error());
  auto ridges = TraceRidges(*page);
  if (!ridges) return std::unexpected(ridges.error());
  auto print = FindPrint(*page, ridges->dash_mask);
  if (!print) return std::unexpected(print.error());
  return FindAxes(*page, *ridges, *print, *Reader());
}

void ExpectAxis(const std::optional<AxisFit>& fit, const nlohmann::json& truth, const std::string& what) {
  ASSERT_TRUE(fit) << what;
  EXPECT_EQ(QuantityName(fit->axis.quantity), truth.at("quantity").get<std::string>()) << what;
  EXPECT_EQ(fit->axis.unit, truth.at("unit").get<std::string>()) << what;
  EXPECT_EQ(AxisScaleName(fit->axis.scale), truth.at("scale").get<std::string>()) << what;
  const double low = truth.at("min"), high = truth.at("max");
  EXPECT_NEAR(fit->axis.min, low, 1e-3 * (high - low)) << what;
  EXPECT_NEAR(fit->axis.max, high, 1e-3 * (high - low)) << what;
  EXPECT_GT(fit->SigmaAt(0.5), 0.0) << what;
  EXPECT_LT(fit->SigmaAt(0.5), 0.005 * (high - low)) << what;
}

struct Specimen {
  const char* file;      // under specimens/, without .truth.json
  double worst_percent;  // calibration error over the whole plot, % of span
};

class AxesOnSpecimens : public testing::TestWithParam<Specimen> {};

TEST_P(AxesOnSpecimens, AxesAreRightOverTheWholePlot) {
  const std::filesystem::path truth_file = kShared / "specimens" / (std::string(GetParam().file) + ".truth.json");
  if (!std::filesystem::exists(truth_file)) GTEST_SKIP() << "The example sheets (../shared/specimens) are not here.";
  ASSERT_NE(Reader(), nullptr);
  std::ifstream stream(truth_file);
  const nlohmann::json truth = nlohmann::json::parse(stream);
  double width = 0.0;
  const auto axes = AxesOf(truth_file.parent_path() / truth.at("image").get<std::string>(), &width);
  ASSERT_TRUE(axes) << axes.error().message;
  const double scale = width / truth.at("size_px").at(0).get<double>();
  const auto image = [&](const nlohmann::json& p) {
    return ImagePoint{(p.at(0).get<double>() + 0.5) * scale - 0.5, (p.at(1).get<double>() + 0.5) * scale - 0.5};
  };

  const Panel* main = nullptr;
  const std::optional<AxisFit>* efficiency = nullptr;
  const Panel* efficiency_panel = nullptr;
  for (const Panel& p : axes->panels) {
    if (p.y && (p.y->axis.quantity == Quantity::kEfficiencyTotalToStatic || p.y->axis.quantity == Quantity::kEfficiencyTotalToTotal))
      efficiency = &p.y, efficiency_panel = &p;
    else if (main == nullptr)
      main = &p;
    if (p.right) efficiency = &p.right, efficiency_panel = &p;
  }
  ASSERT_NE(main, nullptr);
  for (int i = 0; i < 4; ++i) {
    const ImagePoint want = image(truth.at("frame_px")[i]), got = main->frame.Corners()[i];
    EXPECT_LT(std::hypot(want.x - got.x, want.y - got.y), 0.6) << "corner " << i;
  }
  ExpectAxis(main->x, truth.at("axes").at("x"), "x");
  ExpectAxis(main->y, truth.at("axes").at("y"), "y");
  const bool two = truth.at("axes").contains("efficiency");
  if (two) {
    ASSERT_NE(efficiency, nullptr);
    ExpectAxis(*efficiency, truth.at("axes").at("efficiency"), "efficiency");
  }
  if (testing::Test::HasFailure()) return;

  double worst = 0.0;
  for (const auto& curve : truth.at("curves")) {
    const bool second = curve.at("axes") == "efficiency";
    const Panel& panel = second ? *efficiency_panel : *main;
    const AxisFit &x = *panel.x, &y = second ? **efficiency : *main->y;
    for (std::size_t i = 0; i < curve.at("points").size(); ++i) {
      const FramePoint f = panel.frame.FrameFromImage(image(curve.at("points_px")[i]));
      worst = std::max(worst, std::abs(x.ValueAt(f.u) - curve.at("points")[i][0].get<double>()) / (x.axis.max - x.axis.min));
      worst = std::max(worst, std::abs(y.ValueAt(f.v) - curve.at("points")[i][1].get<double>()) / (y.axis.max - y.axis.min));
    }
  }
  EXPECT_LT(100.0 * worst, GetParam().worst_percent);
  if (!truth.at("reference_conditions").is_null() && axes->reference_conditions) {
    EXPECT_NEAR(axes->reference_conditions->temperature_K, truth.at("reference_conditions").at("temperature_K").get<double>(), 0.2);
    EXPECT_NEAR(axes->reference_conditions->pressure_Pa, truth.at("reference_conditions").at("pressure_Pa").get<double>(), 150.0);
  } else {
    EXPECT_FALSE(axes->reference_conditions);
  }
}

INSTANTIATE_TEST_SUITE_P(TwoOfAClass, AxesOnSpecimens,
                         testing::Values(Specimen{"clean/p01-brochure", 0.1}, Specimen{"clean/p11-tpanels", 0.1}, Specimen{"vector/v03-dashed", 0.1},
                                         Specimen{"vector/v06-tvanes", 0.1}, Specimen{"scan/s02-colour-scan", 0.1},
                                         Specimen{"scan/s11-tpanels-scan", 0.1}, Specimen{"photo/f04-finegrid-photo", 0.2},
                                         Specimen{"photo/f10-tvanes-photo", 0.2}, Specimen{"copy/c03-finegrid-copy", 0.1},
                                         Specimen{"copy/c08-tpanels-copy", 0.1}, Specimen{"web/w05-points-web", 0.2},
                                         Specimen{"web/w09-tplain-web", 0.2}),
                         [](const auto& given) {
                           std::string name = std::filesystem::path(given.param.file).filename().string();
                           std::replace(name.begin(), name.end(), '-', '_');
                           return name;
                         });

// Source: NASA HECC Data Archive read-me, 14 April 2023, fig. 1: the axes as printed.
TEST(AxesOnRealSheets, CompressorMapOfTheHeccArchive) {
  const std::filesystem::path file = kShared / "real_sheets" / "hecc_vaned_fig1.jpg";
  if (!std::filesystem::exists(file)) GTEST_SKIP() << "The real sheets (../shared/real_sheets) are not here.";
  const auto axes = AxesOf(file);
  ASSERT_TRUE(axes) << axes.error().message;
  ASSERT_EQ(axes->panels.size(), 1u);
  const Panel& p = axes->panels.front();
  ASSERT_TRUE(p.x && p.y);
  EXPECT_EQ(p.x->axis, (Axis{Quantity::kCorrectedMassFlow, "lb/s", AxisScale::kLinear, 4.0, 14.0}));
  EXPECT_EQ(p.y->axis, (Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.5, 5.5}));
}

// Source: Kofskey and Nusbaum, NASA TN D-6967 (1972), figs. 15 and 16: torque is no map; the flow chart beside it is.
TEST(AxesOnRealSheets, ATorqueChartIsSaidToBeNone) {
  const std::filesystem::path file = kShared / "real_sheets" / "tnd6967_p21_fig15_16.png";
  if (!std::filesystem::exists(file)) GTEST_SKIP() << "The real sheets (../shared/real_sheets) are not here.";
  const auto axes = AxesOf(file);
  ASSERT_TRUE(axes) << axes.error().message;
  bool said = false;
  for (const std::string& d : axes->report.doubts) said = said || d.find("torque") != std::string::npos;
  EXPECT_TRUE(said);
}

TEST(Axes, ABlankPageHoldsNoChart) {
  ASSERT_NE(Reader(), nullptr);
  Page page;
  page.ink = cv::Mat1b(600, 800, static_cast<unsigned char>(0));
  const auto axes = FindAxes(page, RidgesFound{}, PrintFound{}, *Reader());
  ASSERT_FALSE(axes);
  EXPECT_EQ(axes.error().code, ErrorCode::kNoChart);
  AxesOptions options;
  options.min_frame_part = 2.0;
  EXPECT_EQ(FindAxes(page, RidgesFound{}, PrintFound{}, *Reader(), options).error().code, ErrorCode::kInvalidArgument);
}

}  // namespace
}  // namespace islebook
