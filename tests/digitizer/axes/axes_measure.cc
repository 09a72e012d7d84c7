// Measures the axes stage on sheets with truth: axes_measure [--verbose] [--picture DIR] FILE.truth.json...
// One line a sheet: quantity, unit, scale and ends right or not, corner error, worst calibration error over the truth's curve points, time.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>

#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/axes/axes.h"

namespace islebook {
namespace {

double Seconds() { return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count(); }

struct AxisTruth {
  std::string quantity, unit, scale;
  double min = 0, max = 1;
};

AxisTruth Truth(const nlohmann::json& j) { return {j.at("quantity"), j.at("unit"), j.at("scale"), j.at("min"), j.at("max")}; }

std::string Compare(const std::optional<AxisFit>& fit, const AxisTruth& truth) {
  if (!fit) return "none";
  std::string wrong;
  if (QuantityName(fit->axis.quantity) != truth.quantity) wrong += std::string("quantity:") + QuantityName(fit->axis.quantity) + " ";
  if (fit->axis.unit != truth.unit) wrong += "unit:" + fit->axis.unit + " ";
  if (AxisScaleName(fit->axis.scale) != truth.scale) wrong += "scale ";
  const double span = truth.max - truth.min;
  if (std::abs(fit->axis.min - truth.min) > 0.005 * span || std::abs(fit->axis.max - truth.max) > 0.005 * span) {
    char text[120];
    std::snprintf(text, sizeof text, "ends:%g..%g(%g..%g) ", fit->axis.min, fit->axis.max, truth.min, truth.max);
    wrong += text;
  }
  return wrong.empty() ? "ok" : wrong;
}

double FractionOf(const AxisTruth& axis, double value) {
  if (axis.scale == "log") return (std::log10(std::max(value, 1e-9)) - std::log10(axis.min)) / (std::log10(axis.max) - std::log10(axis.min));
  return (value - axis.min) / (axis.max - axis.min);
}

void WritePicture(const std::string& file, const cv::Mat3b& pixels, const AxesFound& found, const RidgesFound& ridges, const PrintFound& print) {
  cv::Mat3b out = pixels.clone();
  for (std::size_t i = 0; i < ridges.chains.size(); ++i) {
    const cv::Scalar color = found.chain_is_furniture[i] ? cv::Scalar(0, 200, 0) : cv::Scalar(0, 0, 255);
    for (std::size_t k = 1; k < ridges.chains[i].points.size(); ++k) {
      const ImagePoint &a = ridges.chains[i].points[k - 1], &b = ridges.chains[i].points[k];
      cv::line(out, cv::Point(cvRound(a.x), cvRound(a.y)), cv::Point(cvRound(b.x), cvRound(b.y)), color, 1);
    }
  }
  for (std::size_t i = 0; i < print.words.size(); ++i) {
    const Word& w = print.words[i];
    const cv::Scalar colors[] = {{160, 160, 160}, {255, 0, 0}, {255, 0, 255}, {0, 128, 255}, {0, 200, 200}, {128, 0, 128}};
    const cv::RotatedRect box(cv::Point2f(static_cast<float>(w.center.x), static_cast<float>(w.center.y)),
                              cv::Size2f(static_cast<float>(w.width_px + 4), static_cast<float>(w.height_px + 4)), static_cast<float>(w.angle_deg));
    cv::Point2f c[4];
    box.points(c);
    for (int k = 0; k < 4; ++k) cv::line(out, c[k], c[(k + 1) % 4], colors[static_cast<int>(found.print_use[i])], 2);
  }
  for (const Panel& p : found.panels) {
    for (int side = 0; side < 4; ++side) {
      for (int k = 0; k <= 200; ++k) {
        const double t = k / 200.0;
        const ImagePoint q = p.frame.ImageFromFrame(side == 0   ? FramePoint{t, 0}
                                                    : side == 1 ? FramePoint{t, 1}
                                                    : side == 2 ? FramePoint{0, t}
                                                                : FramePoint{1, t});
        cv::circle(out, cv::Point(cvRound(q.x), cvRound(q.y)), 2, cv::Scalar(255, 128, 0), -1);
      }
    }
  }
  std::ofstream stream(file, std::ios::binary);
  stream << "P6\n" << out.cols << " " << out.rows << "\n255\n";
  for (int y = 0; y < out.rows; ++y) {
    for (int x = 0; x < out.cols; ++x) {
      const cv::Vec3b& v = out(y, x);
      const char rgb[3] = {static_cast<char>(v[2]), static_cast<char>(v[1]), static_cast<char>(v[0])};
      stream.write(rgb, 3);
    }
  }
}

struct Tally {
  int sheets = 0, right = 0, silent = 0, doubted = 0;
  std::vector<double> errors;
};

int Main(int argc, char** argv) {
  bool verbose = false;
  std::string pictures;
  std::vector<std::string> files;
  for (int i = 1; i < argc; ++i) {
    const std::string arg = argv[i];
    if (arg == "--verbose")
      verbose = true;
    else if (arg == "--picture" && i + 1 < argc)
      pictures = argv[++i];
    else
      files.push_back(arg);
  }
  auto reader = PrintReader::Open();
  if (!reader) return std::fprintf(stderr, "%s\n", reader.error().message.c_str()), 1;
  std::map<std::string, Tally> tallies;
  for (const std::string& file : files) {
    std::ifstream stream(file);
    nlohmann::json truth = file.ends_with(".json") ? nlohmann::json::parse(stream)
                                                   : nlohmann::json::object({{"image", std::filesystem::path(file).filename().string()}});
    const std::filesystem::path picture = std::filesystem::path(file).parent_path() / truth.at("image").get<std::string>();
    auto sheet = ReadSheet(picture);
    if (!sheet) {
      std::printf("%s: %s\n", picture.c_str(), sheet.error().message.c_str());
      continue;
    }
    const double t0 = Seconds();
    auto page = FlattenPage(*sheet);
    if (!page) {
      std::printf("%s: %s\n", picture.c_str(), page.error().message.c_str());
      continue;
    }
    const double t1 = Seconds();
    auto ridges = TraceRidges(*page);
    const double t2 = Seconds();
    auto print = FindPrint(*page, ridges->dash_mask);
    const double t3 = Seconds();
    auto axes = FindAxes(*page, *ridges, *print, **reader);
    const double t4 = Seconds();
    const std::string name = picture.stem();
    if (!axes) {
      std::printf("%-24s FAILED %s\n", name.c_str(), axes.error().message.c_str());
      if (truth.contains("axes")) ++tallies[truth.at("degradation").at("class")].sheets;
      continue;
    }
    if (!pictures.empty()) WritePicture(pictures + "/" + name + ".ppm", sheet->pixels, *axes, *ridges, *print);
    if (verbose) {
      for (const Panel& p : axes->panels) {
        for (const auto& [axis, label] : {std::pair{&p.x, "x"}, std::pair{&p.y, "y"}, std::pair{&p.right, "right"}}) {
          if (!*axis) continue;
          const AxisFit& a = **axis;
          std::printf("   %-5s %s [%s] %s %.10g..%.10g numbers %d/%d ticks %d residual %.4f %% confidence %.2f \"%s\"\n", label,
                      QuantityName(a.axis.quantity), a.axis.unit.c_str(), AxisScaleName(a.axis.scale), a.axis.min, a.axis.max, a.numbers_used,
                      a.numbers_read, a.ticks_used, 100 * a.residual, a.confidence, a.title.c_str());
        }
      }
      for (const std::string& n : axes->report.notes) std::printf("   note: %s\n", n.c_str());
      for (const std::string& d : axes->report.doubts) std::printf("   doubt: %s\n", d.c_str());
      std::printf("   title: %s\n", axes->title.c_str());
      if (axes->reference_conditions)
        std::printf("   reference: %.2f K %.0f Pa\n", axes->reference_conditions->temperature_K, axes->reference_conditions->pressure_Pa);
    }
    if (!truth.contains("axes")) {
      std::printf("%-24s page %.2f ridges %.2f print %.2f axes %.2f s, %zu panels, %zu doubts\n", name.c_str(), t1 - t0, t2 - t1, t3 - t2, t4 - t3,
                  axes->panels.size(), axes->report.doubts.size());
      continue;
    }
    // A PDF's truth stands in its own pixels.
    const double scale = static_cast<double>(sheet->pixels.cols) / truth.at("size_px").at(0).get<double>();
    const auto image = [&](const nlohmann::json& p) {
      return ImagePoint{(p.at(0).get<double>() + 0.5) * scale - 0.5, (p.at(1).get<double>() + 0.5) * scale - 0.5};
    };
    const AxisTruth x = Truth(truth.at("axes").at("x")), y = Truth(truth.at("axes").at("y"));
    // The panel that holds the main axes.
    const std::array<ImagePoint, 4> frame{image(truth.at("frame_px")[0]), image(truth.at("frame_px")[1]), image(truth.at("frame_px")[2]),
                                          image(truth.at("frame_px")[3])};
    const Panel* main = nullptr;
    double corner = 1e9;
    for (const Panel& p : axes->panels) {
      double worst = 0;
      for (int i = 0; i < 4; ++i) worst = std::max(worst, std::hypot(p.frame.Corners()[i].x - frame[i].x, p.frame.Corners()[i].y - frame[i].y));
      if (worst < corner) corner = worst, main = &p;
    }
    std::string says_x = "no panel", says_y = "no panel", says_eff = "-";
    double worst_x = 0, worst_y = 0, worst_eff = 0;
    if (main != nullptr) {
      says_x = Compare(main->x, x);
      says_y = Compare(main->y, y);
    }
    const Panel* eff_panel = main;
    const std::optional<AxisFit>* eff_axis = main != nullptr ? &main->right : nullptr;
    if (truth.at("axes").contains("efficiency")) {
      says_eff = "none";
      if (eff_axis != nullptr && !*eff_axis) {
        for (const Panel& p : axes->panels) {
          if (&p != main && p.y &&
              (p.y->axis.quantity == Quantity::kEfficiencyTotalToStatic || p.y->axis.quantity == Quantity::kEfficiencyTotalToTotal))
            eff_panel = &p, eff_axis = &p.y;
        }
      }
      if (eff_axis != nullptr) says_eff = Compare(*eff_axis, Truth(truth.at("axes").at("efficiency")));
    }
    if (main != nullptr && main->x && main->y) {
      for (const auto& curve : truth.at("curves")) {
        const bool eff = curve.at("axes") == "efficiency";
        if (eff && (eff_axis == nullptr || !*eff_axis || !eff_panel->x)) continue;
        for (std::size_t i = 0; i < curve.at("points").size(); ++i) {
          const FramePoint f = (eff ? eff_panel : main)->frame.FrameFromImage(image(curve.at("points_px")[i]));
          const auto& v = curve.at("points")[i];
          const std::optional<AxisFit>& x_axis = (eff ? eff_panel : main)->x;
          worst_x = std::max(worst_x, std::abs(FractionOf(x, x_axis->ValueAt(f.u)) - FractionOf(x, v[0])));
          if (eff)
            worst_eff = std::max(worst_eff, std::abs(FractionOf(Truth(truth.at("axes").at("efficiency")), (*eff_axis)->ValueAt(f.v)) -
                                                     FractionOf(Truth(truth.at("axes").at("efficiency")), v[1])));
          else
            worst_y = std::max(worst_y, std::abs(FractionOf(y, main->y->ValueAt(f.v)) - FractionOf(y, v[1])));
        }
      }
    }
    const bool right = says_x == "ok" && says_y == "ok" && (says_eff == "-" || says_eff == "ok");
    std::string reference = "ok";
    if (truth.at("reference_conditions").is_null()) {
      if (axes->reference_conditions) reference = "invented";
    } else if (!axes->reference_conditions) {
      reference = "missed";
    } else if (std::abs(axes->reference_conditions->temperature_K - truth.at("reference_conditions").at("temperature_K").get<double>()) > 0.3 ||
               std::abs(axes->reference_conditions->pressure_Pa / truth.at("reference_conditions").at("pressure_Pa").get<double>() - 1) > 0.003) {
      reference = "wrong";
    }
    Tally& tally = tallies[truth.at("degradation").at("class")];
    ++tally.sheets;
    tally.right += right;
    tally.silent += !right && axes->report.doubts.empty();
    tally.doubted += right && !axes->report.doubts.empty();
    if (right) tally.errors.push_back(100 * std::max({worst_x, worst_y, worst_eff}));
    std::printf("%-24s %-5s corner %6.2f px  err x %.3f y %.3f eff %.3f %%  ref %-8s page %.2f ridges %.2f print %.2f axes %.2f s  doubts %zu",
                name.c_str(), right ? "right" : "WRONG", corner, 100 * worst_x, 100 * worst_y, 100 * worst_eff, reference.c_str(), t1 - t0, t2 - t1,
                t3 - t2, t4 - t3, axes->report.doubts.size());
    if (!right) std::printf("  x: %s y: %s eff: %s", says_x.c_str(), says_y.c_str(), says_eff.c_str());
    if (!axes->report.doubts.empty()) std::printf("  (%s)", axes->report.doubts.front().c_str());
    std::printf("\n");
    std::fflush(stdout);
  }
  for (auto& [name, t] : tallies) {
    std::sort(t.errors.begin(), t.errors.end());
    std::printf("%-8s %3d sheets, %3d right, %d wrong without a doubt, %d right with a doubt; worst calibration error median %.3f %% max %.3f %%\n",
                name.c_str(), t.sheets, t.right, t.silent, t.doubted, t.errors.empty() ? 0.0 : t.errors[t.errors.size() / 2],
                t.errors.empty() ? 0.0 : t.errors.back());
  }
  return 0;
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) { return islebook::Main(argc, argv); }
