#include "digitizer/proof/stage_pictures.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <opencv2/imgproc.hpp>

#include "digitizer/proof/pen.h"
#include "digitizer/proof/png_writer.h"

namespace islebook {
namespace {

// Neighbors in a list differ by color and by stroke, so that they can be told apart in black and white too.
const cv::Scalar& ColorOf(std::size_t i) {
  static const cv::Scalar kColors[] = {look::kInk, look::kSea, look::kOxide, look::kOchre};
  return kColors[i % 4];
}
Stroke StrokeOf(std::size_t i) {
  static const Stroke kStrokes[] = {Stroke::kSolid, Stroke::kDashed, Stroke::kDashDot, Stroke::kDotted};
  return kStrokes[i / 4 % 4];
}

void Describe(Pen& pen, const std::string& title, const StageReport& report, std::vector<std::pair<std::string, cv::Scalar>> more = {}) {
  std::vector<std::pair<std::string, cv::Scalar>> lines{{fmt::format("{}  (confidence {:.2f})", title, report.confidence), look::kInk}};
  std::string notes;
  for (const std::string& note : report.notes) notes += (notes.empty() ? "" : "; ") + note;
  if (!notes.empty()) lines.push_back({notes, look::kInk});
  lines.insert(lines.end(), more.begin(), more.end());
  for (const std::string& doubt : report.doubts) lines.push_back({doubt, look::kOxide});
  pen.Caption(lines);
}

cv::Mat3b DrawPage(const Page& page) {
  cv::Mat1b dark_on_light = 255 - page.ink;
  Pen pen(dark_on_light, 1.0);
  if (!page.paper.empty()) {
    std::vector<std::vector<cv::Point>> outlines;
    cv::findContours(page.paper.clone(), outlines, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_SIMPLE);
    for (const auto& outline : outlines) {
      std::vector<ImagePoint> path;
      for (const cv::Point& p : outline) path.push_back({static_cast<double>(p.x), static_cast<double>(p.y)});
      pen.Line(path, look::kOxide, 2.0, Stroke::kSolid, true);
    }
  }
  Describe(pen, "page: ink against bare paper; the paper's outline in oxide", page.report);
  return pen.canvas();
}

cv::Mat3b DrawRidges(const Sheet& sheet, const RidgesFound& ridges) {
  Pen pen(sheet.pixels, 0.25);
  for (std::size_t i = 0; i < ridges.chains.size(); ++i) {
    const RidgeChain& chain = ridges.chains[i];
    pen.Line(chain.points, chain.is_dash ? look::kOchre : ColorOf(i % 3), 1.2, Stroke::kSolid, chain.closed);
    if (chain.points.empty() || chain.closed) continue;
    pen.Dot(chain.points.front(), look::kInk, 1.6);
    pen.Dot(chain.points.back(), look::kInk, 1.6);
  }
  Describe(pen, fmt::format("ridges: {} chains, ends dotted, bars of dashed lines in ochre", ridges.chains.size()), ridges.report);
  return pen.canvas();
}

const char* UseName(PrintUse use) {
  switch (use) {
    case PrintUse::kNone: return "";
    case PrintUse::kTickNumber: return "tick";
    case PrintUse::kAxisTitle: return "axis title";
    case PrintUse::kSheetTitle: return "title";
    case PrintUse::kNote: return "note";
    case PrintUse::kLegend: return "legend";
  }
  return "";
}

cv::Mat3b DrawPrint(const Sheet& sheet, const StageResults& stages) {
  Pen pen(sheet.pixels, 0.55);
  const PrintFound& print = *stages.print;
  for (std::size_t i = 0; i < print.words.size(); ++i) {
    const Word& word = print.words[i];
    const PrintUse use = stages.axes && i < stages.axes->print_use.size() ? stages.axes->print_use[i] : PrintUse::kNone;
    const cv::Scalar& color = use == PrintUse::kNone ? look::kSea : use == PrintUse::kTickNumber ? look::kOchre : look::kOxide;
    pen.Box(word.center, word.width_px + 2.0, word.height_px + 2.0, word.angle_deg, color, 1.2);
    if (use == PrintUse::kNone || use == PrintUse::kTickNumber) continue;
    pen.Text({word.center.x, word.center.y - word.height_px - 6.0 * pen.unit_px()}, UseName(use), look::kOxide, 0.6);
  }
  if (stages.evidence) {
    for (const PanelEvidence& evidence : *stages.evidence)
      for (const CurveLabel& label : evidence.labels.labels)
        pen.Text({label.center.x, label.center.y - label.height_px - 4.0 * pen.unit_px()}, label.text.empty() ? "?" : label.text, look::kSea, 0.6);
  }
  Describe(pen,
           fmt::format("print: {} words, commonest digit height {:.1f} px; tick numbers in ochre, titles and notes in oxide", print.words.size(),
                       print.digit_height_px),
           print.report);
  return pen.canvas();
}

// Round steps along an axis, about six of them.
std::vector<double> RoundValues(const Axis& axis) {
  const double low = std::min(axis.min, axis.max), high = std::max(axis.min, axis.max), span = high - low;
  std::vector<double> values;
  if (!(span > 0.0) || !std::isfinite(span)) return values;
  const double rough = span / 6.0, power = std::pow(10.0, std::floor(std::log10(rough)));
  double step = 10.0 * power;
  for (const double factor : {1.0, 2.0, 5.0}) {
    if (factor * power >= rough) {
      step = factor * power;
      break;
    }
  }
  for (double k = std::ceil(low / step - 1e-9); k * step <= high + 1e-9 * span && values.size() < 30; ++k) values.push_back(k * step);
  return values;
}

double PlaceOf(const AxisFit& fit, double value) {
  return ((fit.axis.scale == AxisScale::kLog ? std::log10(value) : value) - fit.offset) / fit.slope;
}

void DrawFrameLine(Pen& pen, const FrameMapping& frame, bool horizontal, double at, const cv::Scalar& color, double width) {
  std::vector<ImagePoint> path;
  for (int i = 0; i <= 24; ++i) path.push_back(frame.ImageFromFrame(horizontal ? FramePoint{i / 24.0, at} : FramePoint{at, i / 24.0}));
  pen.Line(path, color, width);
}

cv::Mat3b DrawAxes(const Sheet& sheet, const AxesFound& axes) {
  Pen pen(sheet.pixels, 0.4);
  std::vector<std::pair<std::string, cv::Scalar>> lines;
  for (std::size_t p = 0; p < axes.panels.size(); ++p) {
    const Panel& panel = axes.panels[p];
    for (const double at : {0.0, 1.0}) {
      DrawFrameLine(pen, panel.frame, true, at, look::kOxide, 1.6);
      DrawFrameLine(pen, panel.frame, false, at, look::kOxide, 1.6);
    }
    for (const ImagePoint& corner : panel.frame.Corners()) pen.Dot(corner, look::kOxide, 5.0, false);
    lines.push_back({fmt::format("plot {}: {}, frame residual {:.2f} px, confidence {:.2f}", p + 1, panel.frame.model(), panel.frame.residual_px(),
                                 panel.confidence),
                     look::kInk});
    const std::pair<const char*, const std::optional<AxisFit>*> fits[] = {{"x", &panel.x}, {"y", &panel.y}, {"right", &panel.right}};
    for (const auto& [name, fit] : fits) {
      if (!fit->has_value()) {
        if (name[0] != 'r') lines.push_back({fmt::format("   {}: not found", name), look::kOxide});
        continue;
      }
      const AxisFit& f = **fit;
      const bool along_x = name[0] == 'x', right = name[0] == 'r';
      for (const double value : RoundValues(f.axis)) {
        const double t = PlaceOf(f, value);
        if (!(t > -0.01 && t < 1.01)) continue;
        if (!right) DrawFrameLine(pen, panel.frame, !along_x, t, look::kSea, 0.8);
        pen.Text(panel.frame.ImageFromFrame(along_x ? FramePoint{t, 0.02}
                                            : right ? FramePoint{0.97, t}
                                                    : FramePoint{0.03, t}),
                 fmt::format("{:g}", value), look::kSea, 0.6);
      }
      lines.push_back({fmt::format("   {}: \"{}\" = {} [{}], {:g} to {:g}{}, {} of {} numbers, {} ticks, residual {:.4f}", name, f.title,
                                   QuantityName(f.axis.quantity), f.axis.unit, f.axis.min, f.axis.max, f.axis.scale == AxisScale::kLog ? " log" : "",
                                   f.numbers_used, f.numbers_read, f.ticks_used, f.residual),
                       look::kInk});
      for (const std::string& doubt : f.doubts) lines.push_back({"   " + doubt, look::kOxide});
    }
  }
  if (axes.reference_conditions)
    lines.push_back({fmt::format("reference conditions printed: {:g} K, {:g} Pa", axes.reference_conditions->temperature_K,
                                 axes.reference_conditions->pressure_Pa),
                     look::kInk});
  Describe(pen, fmt::format("axes: {} plot{}; lines of round values as calibrated, in sea", axes.panels.size(), axes.panels.size() == 1 ? "" : "s"),
           axes.report, lines);
  return pen.canvas();
}

cv::Mat3b DrawCurves(const Sheet& sheet, const std::vector<PanelEvidence>& evidence) {
  Pen pen(sheet.pixels, 0.25);
  std::vector<std::pair<std::string, cv::Scalar>> lines;
  StageReport report;
  std::size_t number = 0;
  for (const PanelEvidence& panel : evidence) {
    report.confidence = std::min(report.confidence, panel.curves.report.confidence);
    for (const std::string& note : panel.curves.report.notes) report.notes.push_back(note);
    for (const std::string& doubt : panel.curves.report.doubts) report.doubts.push_back(doubt);
    for (const TracedCurve& curve : panel.curves.curves) {
      const cv::Scalar& color = ColorOf(number);
      pen.Line(curve.points, color, 1.8, StrokeOf(number), curve.closed);
      for (std::size_t i = 0; i < curve.points.size() && i < curve.bridged.size(); ++i)
        if (curve.bridged[i] != 0) pen.Dot(curve.points[i], look::kOxide, 1.8);
      if (!curve.points.empty()) pen.Text(curve.points[curve.points.size() / 2], std::to_string(number), color, 0.6);
      for (const std::string& doubt : curve.doubts) lines.push_back({fmt::format("   {}: {}", number, doubt), look::kOxide});
      ++number;
    }
    for (const ImagePoint& marker : panel.curves.markers) pen.Dot(marker, look::kOchre, 5.0, false);
  }
  Describe(pen, fmt::format("curves: {}; bridged without ink in oxide dots, markers ringed", number), report, lines);
  return pen.canvas();
}

cv::Mat3b DrawRoles(const Sheet& sheet, const StageResults& stages) {
  Pen pen(sheet.pixels, 0.3);
  std::vector<std::pair<std::string, cv::Scalar>> lines;
  StageReport report;
  for (const MapPart& part : *stages.parts) {
    report.confidence = std::min(report.confidence, part.judged.report.confidence);
    for (const std::string& note : part.judged.report.notes) report.notes.push_back(note);
    for (const std::string& doubt : part.judged.report.doubts) report.doubts.push_back(doubt);
    for (std::size_t i = 0; i < part.judged.curves.size(); ++i) {
      const JudgedCurve& curve = part.judged.curves[i];
      const bool island = curve.role == CurveRole::kEfficiencyIsland || curve.role == CurveRole::kEfficiencyLine;
      const cv::Scalar& color = curve.role == CurveRole::kSurgeLine ? look::kOxide
                                : island                            ? look::kSea
                                : curve.role == CurveRole::kOther   ? look::kOchre
                                                                    : look::kInk;
      pen.Line(curve.trace.points, color, curve.role == CurveRole::kSurgeLine ? 3.4 : 1.8,
               curve.role == CurveRole::kOther ? Stroke::kDashDot : Stroke::kSolid, curve.trace.closed);
      if (curve.trace.points.empty()) continue;
      std::string role = CurveRoleName(curve.role);
      std::replace(role.begin(), role.end(), '_', ' ');
      const std::string text =
          fmt::format("{} {}{}", i, role, curve.value ? fmt::format(" {:g} {}", *curve.value, curve.unit == "1" ? "" : curve.unit) : "");
      pen.Text(curve.trace.points[curve.trace.points.size() * (2 + i % 3) / 6], text, color, 0.55);
      for (const std::string& reason : curve.reasons) lines.push_back({fmt::format("   {}: {}", i, reason), look::kOxide});
    }
  }
  if (stages.evidence) {
    for (const PanelEvidence& evidence : *stages.evidence)
      for (const CurveLabel& label : evidence.labels.labels)
        pen.Box(label.center, label.width_px + 4.0, label.height_px + 4.0, label.angle_deg, look::kOchre, 1.0);
  }
  Describe(pen, "roles and values as judged, corrections applied; labels boxed in ochre", report, lines);
  return pen.canvas();
}

void ForEachStage(const Sheet& sheet, const StageResults& stages, const std::function<bool(const char* name, const cv::Mat3b& picture)>& keep) {
  if (stages.page && !keep("1-page", DrawPage(*stages.page))) return;
  if (stages.ridges && !keep("2-ridges", DrawRidges(sheet, *stages.ridges))) return;
  if (stages.print && !keep("3-print", DrawPrint(sheet, stages))) return;
  if (stages.axes && !keep("4-axes", DrawAxes(sheet, *stages.axes))) return;
  if (stages.evidence && !keep("5-curves", DrawCurves(sheet, *stages.evidence))) return;
  if (stages.parts) keep("6-roles", DrawRoles(sheet, stages));
}

}  // namespace

std::vector<StagePicture> DrawStages(const Sheet& sheet, const StageResults& stages) {
  std::vector<StagePicture> pictures;
  ForEachStage(sheet, stages, [&](const char* name, const cv::Mat3b& picture) {
    pictures.push_back({name, picture});
    return true;
  });
  return pictures;
}

void DrawStagePngs(const Sheet& sheet, const StageResults& stages,
                   const std::function<bool(const std::string& name, const std::vector<std::uint8_t>& png)>& keep) {
  ForEachStage(sheet, stages, [&](const char* name, const cv::Mat3b& picture) { return keep(name, EncodePng(picture)); });
}

}  // namespace islebook
