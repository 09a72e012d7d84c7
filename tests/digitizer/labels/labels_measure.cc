// Measures the labels of curves on sheets with truth: labels_measure [--verbose] [--crops DIR] FILE.truth.json...
// For every printed label of a curve: was a label with its value read near the curve, was it read as something else, was it not read; and, for curves
// that were found, whether the curve carries the value in the end. By class and by glyph height.

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "digitizer/print/word_crop.h"
#include "digitizer/session.h"

namespace islebook {
namespace {

struct TrueCurve {
  std::string role, unit, printed;
  double value = 0.0;
  bool closed = false;
  std::vector<ImagePoint> points;
};

double ToPolyline(const ImagePoint& p, const std::vector<ImagePoint>& line, bool closed) {
  double best = 1e18;
  const std::size_t n = line.size(), segments = closed ? n : n - 1;
  for (std::size_t i = 0; i < segments; ++i) {
    const ImagePoint &a = line[i], &b = line[(i + 1) % n];
    const double dx = b.x - a.x, dy = b.y - a.y, length = dx * dx + dy * dy;
    const double t = length > 0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / length, 0.0, 1.0) : 0.0;
    best = std::min(best, std::hypot(p.x - a.x - t * dx, p.y - a.y - t * dy));
  }
  return best;
}

// Part of `of` that lies within `tolerance` of `to`, and the mean distance (each counts up to three tolerances).
std::pair<double, double> Covered(const std::vector<ImagePoint>& of, bool of_closed, const std::vector<ImagePoint>& to, bool to_closed,
                                  double tolerance) {
  double all = 0.0, near = 0.0, sum = 0.0;
  const std::size_t n = of.size(), segments = of_closed ? n : n - 1;
  for (std::size_t i = 0; i < segments; ++i) {
    const ImagePoint &a = of[i], &b = of[(i + 1) % n];
    const double length = std::hypot(b.x - a.x, b.y - a.y);
    const double away = ToPolyline({(a.x + b.x) / 2, (a.y + b.y) / 2}, to, to_closed);
    all += length;
    if (away < tolerance) near += length;
    sum += length * std::min(away, 3 * tolerance);
  }
  return {all > 0 ? near / all : 0.0, all > 0 ? sum / all : 1e9};
}

// How many of `unit` one rpm (or one) is; 0: another kind of unit.
double Factor(const std::string& unit, const std::string& truth) {
  if (unit == truth || unit.empty()) return 1.0;
  const std::string pair = unit + ">" + truth;
  if (pair == "krpm>rpm") return 1000.0;
  if (pair == "rpm>krpm") return 0.001;
  if (pair == "%>1") return 0.01;
  if (pair == "1>%") return 100.0;
  return unit == "1" || truth == "1" ? 1.0 : 0.0;
}

bool Same(double value, const std::string& unit, const TrueCurve& t) {
  const double f = Factor(unit, t.unit);
  return f > 0 && (std::abs(value * f - t.value) <= 0.001 * std::abs(t.value) ||
                   (unit.empty() && t.unit == "1" && std::abs(value * 0.01 - t.value) <= 0.001 * t.value));
}

struct Tally {
  int printed = 0, read = 0, wrong = 0, unread = 0;  // readings
  int found = 0, right = 0, other = 0, silent = 0;   // curves found: with the right value, with another, with another and no flag
  void Add(const Tally& t) {
    printed += t.printed, read += t.read, wrong += t.wrong, unread += t.unread;
    found += t.found, right += t.right, other += t.other, silent += t.silent;
  }
};

int HeightBand(double px) { return px < 7 ? 0 : px < 9 ? 1 : px < 12 ? 2 : 3; }
constexpr std::array kBands = {"under 7 px", "7 to 9 px", "9 to 12 px", "12 px and more"};

void Print(const char* name, const Tally& t) {
  const auto part = [](int a, int b) { return b > 0 ? 100.0 * a / b : 0.0; };
  std::printf(
      "%-16s %4d labels: read right %5.1f %%, wrong %4.1f %%, not read %4.1f %%;  %4d on found curves: right %5.1f %%, another value %4.1f %% (%d "
      "unflagged)\n",
      name, t.printed, part(t.read, t.printed), part(t.wrong, t.printed), part(t.unread, t.printed), t.found, part(t.right, t.found),
      part(t.other, t.found), t.silent);
}

std::vector<TrueCurve> LabelledCurves(const nlohmann::json& truth, double scale) {
  std::vector<TrueCurve> out;
  for (const auto& c : truth.at("curves")) {
    if (!c.contains("printed_label") || c.at("printed_label").is_null() || c.at("value").is_null()) continue;
    TrueCurve t{c.at("role"), c.at("unit"), c.at("printed_label"), c.at("value"), c.at("closed"), {}};
    for (const auto& p : c.at("points_px")) t.points.push_back({(p[0].get<double>() + 0.5) * scale - 0.5, (p[1].get<double>() + 0.5) * scale - 0.5});
    if (t.points.size() >= 2) out.push_back(std::move(t));
  }
  return out;
}

// Every word as the reader sees it (own ink, and all ink in its box), a line of CASE.txt each: number, place, size, tilt, use, text as a number.
void WriteCrops(const std::string& folder, const std::string& name, const Session& session, PrintReader& reader) {
  std::ofstream list(folder + "/" + name + ".txt");
  const StageResults& stages = session.stages();
  for (std::size_t w = 0; w < stages.print->words.size(); ++w) {
    const Word& word = stages.print->words[w];
    const Reading reading = reader.Read(*stages.page, word, Alphabet::kNumbers);
    list << w << ' ' << word.center.x << ' ' << word.center.y << ' ' << word.width_px << ' ' << word.height_px << ' ' << word.angle_deg << ' '
         << static_cast<int>(stages.axes->print_use[w]) << ' ' << word.glyphs.size() << ' ' << reading.confidence << ' ' << reading.text << '\n';
    Word bare = word;
    bare.glyphs.clear();
    bare.own.release();
    for (const auto& [what, kind] : {std::pair<const Word*, const char*>{&word, "own"}, std::pair<const Word*, const char*>{&bare, "all"}}) {
      const WordCrop crop = CropWord(*stages.page, *what, what->angle_deg, {});
      if (crop.image.empty()) continue;
      std::ofstream picture(folder + "/" + name + "." + std::to_string(w) + "." + kind + ".pgm", std::ios::binary);
      picture << "P5\n" << crop.image.cols << ' ' << crop.image.rows << "\n255\n";
      for (int y = 0; y < crop.image.rows; ++y) picture.write(reinterpret_cast<const char*>(crop.image[y]), crop.image.cols);
    }
  }
}

int Main(int argc, char** argv) {
  bool verbose = false;
  std::string crops;
  auto reader = PrintReader::Open();
  if (!reader) return std::fprintf(stderr, "%s\n", reader.error().message.c_str()), 1;
  std::vector<std::string> files;
  for (int i = 1; i < argc; ++i) {
    const std::string arg = argv[i];
    if (arg == "--verbose")
      verbose = true;
    else if (arg == "--crops" && i + 1 < argc)
      crops = argv[++i];
    else
      files.push_back(arg);
  }
  std::map<std::string, Tally> classes;
  std::array<Tally, kBands.size()> bands;
  for (const std::string& file : files) {
    std::ifstream stream(file);
    const nlohmann::json truth = nlohmann::json::parse(stream);
    auto sheet = ReadSheet(std::filesystem::path(file).parent_path() / truth.at("image").get<std::string>());
    if (!sheet) {
      std::printf("%s: %s\n", file.c_str(), sheet.error().message.c_str());
      continue;
    }
    const std::vector<TrueCurve> curves = LabelledCurves(truth, sheet->pixels.cols / truth.at("size_px").at(0).get<double>());
    const auto& frame = truth.at("frame_px");
    const double width = std::hypot(frame[1][0].get<double>() - frame[0][0].get<double>(), frame[1][1].get<double>() - frame[0][1].get<double>());
    const double tolerance = std::max(3.0, 0.006 * width);
    const double columns = sheet->pixels.cols;
    Session session(std::make_shared<const Sheet>(std::move(*sheet)));
    const auto result = session.Run();
    if (!result) {
      std::printf("%s: %s\n", file.c_str(), result.error().message.c_str());
      continue;
    }
    if (!crops.empty()) WriteCrops(crops, truth.at("case"), session, **reader);
    std::vector<CurveLabel> labels;
    for (const PanelEvidence& e : *session.stages().evidence) labels.insert(labels.end(), e.labels.labels.begin(), e.labels.labels.end());
    // Small sheets are worked on enlarged: back to the sheet's own pixels.
    const double enlarged = session.stages().page->ink.cols / columns;
    for (CurveLabel& l : labels) {
      l.center = {(l.center.x + 0.5) / enlarged - 0.5, (l.center.y + 0.5) / enlarged - 0.5};
      l.width_px /= enlarged;
      l.height_px /= enlarged;
    }
    std::vector<double> heights;
    for (const CurveLabel& l : labels) heights.push_back(l.height_px);
    std::sort(heights.begin(), heights.end());
    const double usual = heights.empty() ? session.stages().print->digit_height_px : heights[heights.size() / 2];
    std::vector<char> used(labels.size(), 0);
    std::vector<int> of(curves.size(), -1);  // the label read for each curve
    const auto distance = [&](const CurveLabel& l, const TrueCurve& t) {
      return std::max(0.0, ToPolyline(l.center, t.points, t.closed) - 0.5 * l.width_px) / std::max(4.0, l.height_px);
    };
    // Nearest first; each label serves one curve.
    struct Pair {
      double away;
      std::size_t curve, label;
    };
    std::vector<Pair> pairs;
    for (std::size_t c = 0; c < curves.size(); ++c)
      for (std::size_t l = 0; l < labels.size(); ++l)
        if (Same(labels[l].value, labels[l].unit, curves[c])) pairs.push_back({distance(labels[l], curves[c]), c, l});
    std::stable_sort(pairs.begin(), pairs.end(), [](const Pair& a, const Pair& b) { return a.away < b.away; });
    for (const Pair& p : pairs) {
      if (p.away > 4.0 || used[p.label] || of[p.curve] >= 0) continue;
      used[p.label] = 1;
      of[p.curve] = static_cast<int>(p.label);
    }
    Tally here;
    std::string missed;
    for (std::size_t c = 0; c < curves.size(); ++c) {
      const TrueCurve& t = curves[c];
      Tally one;
      one.printed = 1;
      double height = usual;
      if (of[c] >= 0) {
        one.read = 1;
        height = labels[static_cast<std::size_t>(of[c])].height_px;
      } else {
        // A label nobody needs, near this curve, is its label misread.
        int stray = -1;
        for (std::size_t l = 0; l < labels.size(); ++l)
          if (!used[l] && distance(labels[l], t) < 2.0 &&
              (stray < 0 || distance(labels[l], t) < distance(labels[static_cast<std::size_t>(stray)], t)))
            stray = static_cast<int>(l);
        if (stray >= 0) {
          used[static_cast<std::size_t>(stray)] = 1;
          const CurveLabel& l = labels[static_cast<std::size_t>(stray)];
          one.wrong = 1;
          missed += "  \"" + t.printed + "\" read as \"" + l.text + "\" (" + std::to_string(l.confidence).substr(0, 4) + ") at " +
                    std::to_string(std::lround(l.center.x)) + "," + std::to_string(std::lround(l.center.y)) + ";";
        } else {
          one.unread = 1;
          missed += "  \"" + t.printed + "\" not read;";
        }
      }
      // The document's curve that lies on this one.
      const Curve* best = nullptr;
      double best_mean = tolerance;
      for (const PerformanceMap& map : result->maps)
        for (const Curve& curve : map.curves) {
          if (curve.points_px.size() < 2) continue;
          std::vector<ImagePoint> points;
          for (const auto& p : curve.points_px) points.push_back({p.x, p.y});
          const auto [covered, there] = Covered(t.points, t.closed, points, curve.closed, tolerance);
          if (covered < 0.85) continue;
          const auto [back, mean_back] = Covered(points, curve.closed, t.points, t.closed, tolerance);
          if (0.5 * (there + mean_back) < best_mean) best = &curve, best_mean = 0.5 * (there + mean_back);
        }
      if (best != nullptr) {
        one.found = 1;
        one.right = best->value && Same(*best->value, best->unit, t);
        one.other = best->value && !one.right;
        one.silent = one.other && !best->needs_review && best->confidence >= 0.5;
        if (one.other)
          missed += "  \"" + t.printed + "\" carries " + std::to_string(*best->value) + (one.silent ? " unflagged;" : ";");
        else if (!one.right && of[c] >= 0)
          missed += "  \"" + t.printed + "\" read but not given;";
      }
      here.Add(one);
      bands[static_cast<std::size_t>(HeightBand(height))].Add(one);
    }
    classes[truth.at("degradation").at("class")].Add(here);
    if (verbose) {
      Print(truth.at("case").get<std::string>().c_str(), here);
      std::printf("    digits %.1f px;%s\n", usual, missed.c_str());
      for (std::size_t l = 0; l < labels.size(); ++l)
        if (!used[l])
          std::printf("    stray \"%s\" (%.2f) at %.0f,%.0f\n", labels[l].text.c_str(), labels[l].confidence, labels[l].center.x, labels[l].center.y);
      std::fflush(stdout);
    }
  }
  for (const auto& [name, t] : classes) Print(name.c_str(), t);
  for (std::size_t b = 0; b < bands.size(); ++b)
    if (bands[b].printed > 0) Print(kBands[b], bands[b]);
  return 0;
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) { return islebook::Main(argc, argv); }
