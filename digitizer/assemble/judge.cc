#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "digitizer/assemble/assemble.h"
#include "digitizer/assemble/checks.h"
#include "digitizer/assemble/edge_split.h"
#include "digitizer/assemble/ink_evidence.h"
#include "digitizer/assemble/island_checks.h"
#include "digitizer/assemble/plot_curve.h"
#include "digitizer/assemble/roles.h"
#include "digitizer/assemble/turbine_ends.h"
#include "digitizer/assemble/turbine_values.h"
#include "digitizer/assemble/values.h"
#include "mapstore/map/curve_words.h"
#include "mapstore/map/validate.h"

namespace islebook {
namespace {

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

bool IsFlow(Quantity q) { return q == Quantity::kCorrectedMassFlow || q == Quantity::kCorrectedVolumeFlow || q == Quantity::kTurbineFlowParameter; }
bool IsPressureRatio(Quantity q) { return q == Quantity::kPressureRatioTotalToTotal || q == Quantity::kPressureRatioTotalToStatic; }
bool IsExpansionRatio(Quantity q) { return q == Quantity::kExpansionRatioTotalToStatic || q == Quantity::kExpansionRatioTotalToTotal; }
bool IsEfficiency(Quantity q) { return q == Quantity::kEfficiencyTotalToStatic || q == Quantity::kEfficiencyTotalToTotal; }

constexpr double kScrap = 0.06;           // of the frame's height
constexpr double kLeastUnlabeled = 0.12;  // of the frame's height: a shorter line that carries no number may be a piece of another, or of print

enum class PanelKind { kNone, kCompressor, kTurbineFlow, kTurbineEfficiency };

PanelKind KindOfPanel(const Panel& p) {
  if (!p.x || !p.y) return PanelKind::kNone;
  const Quantity x = p.x->axis.quantity, y = p.y->axis.quantity;
  if (IsFlow(x) && x != Quantity::kTurbineFlowParameter && IsPressureRatio(y)) return PanelKind::kCompressor;
  if ((IsExpansionRatio(x) || x == Quantity::kVelocityRatio) && IsEfficiency(y)) return PanelKind::kTurbineEfficiency;
  if (IsExpansionRatio(x) && IsFlow(y)) return PanelKind::kTurbineFlow;
  return PanelKind::kNone;
}

// Whether a curve lies where the speed lines are: logos, frames of legends and scribbles do not.
bool AmongSpeedLines(const PlotCurve& c, const std::vector<PlotCurve>& seen, const std::vector<RoleGuess>& guesses) {
  double min_x = 1e9, max_x = -1e9, min_y = 1e9, max_y = -1e9;
  const PlotCurve* top = nullptr;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    if (guesses[i].drop || (guesses[i].role != CurveRole::kSpeedLine && guesses[i].role != CurveRole::kSurgeLine)) continue;
    if (guesses[i].role == CurveRole::kSurgeLine) top = &seen[i];
    min_x = std::min(min_x, seen[i].min_x);
    max_x = std::max(max_x, seen[i].max_x);
    min_y = std::min(min_y, seen[i].min_y);
    max_y = std::max(max_y, seen[i].max_y);
  }
  if (top == nullptr) return true;  // without a surge line there is nothing to go by
  std::size_t inside = 0;
  for (const PlotPoint& p : c.points) {
    // Left of the surge line at its own height?
    double surge_x = min_x;
    for (std::size_t k = 1; k < top->points.size(); ++k) {
      const PlotPoint a = top->points[k - 1], b = top->points[k];
      if ((a.y <= p.y && p.y <= b.y) || (b.y <= p.y && p.y <= a.y)) surge_x = std::max(surge_x, std::min(a.x, b.x));
    }
    inside += p.x > surge_x - 0.02 && p.x < max_x + 0.02 && p.y > min_y - 0.02 && p.y < max_y + 0.02;
  }
  return 2 * inside >= c.points.size();
}

// Whether a label may stand at the curve that was not read: print of two figures or more that is no curve's label, or a gap that has room for it.
bool MayBeLabeled(std::size_t index, double gap_px, const PrintFound& print, const std::vector<TracedCurve>& traces,
                  const std::vector<CurveLabel>& labels, const std::vector<CurveValue>& values) {
  const TracedCurve& curve = traces[index];
  constexpr double kAt = 1.2, kRoom = 1.4, kLow = 0.7;  // digit heights
  const double digit = std::max(6.0, print.digit_height_px);
  if (curve.dashed || gap_px > kRoom * digit) return true;
  std::vector<char> taken(labels.size(), 0);
  for (const CurveValue& v : values)
    for (const std::size_t l : v.labels) taken[l] = 1;
  return std::ranges::any_of(print.words, [&](const Word& word) {
    if (word.glyphs.size() < 2 || word.height_px < kLow * digit) return false;  // scraps of lines
    for (std::size_t l = 0; l < labels.size(); ++l)
      if (taken[l] != 0 && Distance(labels[l].center, word.center) < 0.5 * std::max(labels[l].width_px, word.width_px)) return false;
    // Lines that cross make figures, too: those are seen to run on through them.
    const auto runs_through = [&](const TracedCurve& line) {
      for (std::size_t k = 0; k < line.points.size(); ++k)
        if ((k >= line.bridged.size() || line.bridged[k] == 0) && Distance(line.points[k], word.center) < 0.4 * word.height_px) return true;
      return false;
    };
    for (std::size_t i = 0; i < traces.size(); ++i)
      if (i != index && runs_through(traces[i])) return false;
    return std::ranges::any_of(curve.points, [&](ImagePoint p) { return Distance(p, word.center) < 0.5 * word.width_px + kAt * digit; });
  });
}

// Whether the print at p is a label of this curve, beyond its end.
bool StandsAtEndOf(std::size_t curve, ImagePoint p, const std::vector<CurveLabel>& labels) {
  return std::ranges::any_of(labels, [&](const CurveLabel& label) {
    return !label.candidates.empty() && label.candidates.front().curve == curve && label.candidates.front().place != LabelPlace::kOnLine &&
           std::hypot(label.center.x - p.x, label.center.y - p.y) < 0.5 * label.width_px + label.height_px;
  });
}

// Whether each family of lines in the panel that may carry the label's number has a line that does. Islands may carry one in several pieces.
bool IsCarried(const std::string& text, const std::vector<CurveLabel>& labels, const std::vector<JudgedCurve>& curves) {
  const auto label = std::ranges::find(labels, text, &CurveLabel::text);
  if (label == labels.end()) return false;
  bool carried = false;
  for (const CurveRole role : {CurveRole::kSpeedLine, CurveRole::kFlowLine, CurveRole::kEfficiencyLine}) {
    bool any = false, same = false;
    for (const JudgedCurve& c : curves) {
      if (c.role != role) continue;
      any = true;
      same |= c.value && std::abs(*c.value - label->value) <= 1e-6 * std::abs(label->value);
    }
    if (any && !same) return false;
    carried |= same;
  }
  return carried;
}

bool CarriesValue(CurveRole role) {
  return role == CurveRole::kSpeedLine || role == CurveRole::kEfficiencyIsland || role == CurveRole::kFlowLine || role == CurveRole::kEfficiencyLine;
}

struct PanelJudgement {
  std::vector<JudgedCurve> curves;
  std::vector<PlotCurve> seen;  // runs along curves
  std::vector<InkEvidence> ink;
  std::vector<std::vector<Hint>> hints;
  std::vector<std::vector<std::string>> own_reasons;  // doubts of its course, role and value by themselves, before the checks
  std::vector<std::string> doubts;
};

// What a person said of a curve leaves only the doubts about what they did not say.
void TakeWord(JudgedCurve& curve, std::vector<std::string> reasons) {
  if (curve.word.accepted) {
    curve.reasons.clear();
    curve.confidence = 1.0;
    return;
  }
  curve.reasons = std::move(reasons);
  if (curve.word.value && !curve.value && CarriesValue(curve.role)) curve.reasons.push_back("no value is known for it");
  curve.confidence = curve.reasons.empty() ? std::max(curve.confidence, 0.95) : std::min(curve.confidence, 0.6);
}

// `known`: these curves as they were judged before, with a person's corrections; empty the first time.
PanelJudgement JudgePanel(const AxesFound& axes, std::size_t index, PanelKind kind, const PanelEvidence& evidence, const ValuesGiven* settled,
                          const SheetSeen* sheet, const std::vector<JudgedCurve>& known) {
  const Panel& panel = axes.panels[index];
  PanelJudgement result;
  std::vector<TracedCurve> traces = evidence.curves.curves;
  std::vector<CurveLabel> labels = evidence.labels.labels;
  std::vector<PlotCurve> seen;
  for (const TracedCurve& t : traces) seen.push_back(SeeInFrame(t, panel.frame));
  std::vector<char> efficiency_on(traces.size(), 0);
  for (const CurveLabel& label : labels) {
    const bool efficiency = (label.unit == "%" && label.value >= 20 && label.value <= 95) || (label.value > 0.2 && label.value < 1.0);
    if (!efficiency || label.confidence < 0.5 || label.candidates.empty()) continue;
    const LabelCandidate& nearest = label.candidates.front();
    if (nearest.place == LabelPlace::kOnLine && nearest.curve < traces.size()) efficiency_on[nearest.curve] = 1;
  }
  const RoleEvidence roles{&traces, &seen, &efficiency_on};
  std::vector<RoleGuess> guesses;
  if (kind == PanelKind::kCompressor)
    guesses = GuessCompressorRoles(roles);
  else
    guesses = GuessTurbineRoles(roles, kind == PanelKind::kTurbineFlow, panel.right.has_value());
  KeepRoles(known, guesses);
  const bool anew = !known.empty();
  if (kind == PanelKind::kCompressor && !anew) SplitAtMapEdge({&traces, &seen, &guesses, &labels, &panel.frame});
  const ValuesGiven given = settled != nullptr ? *settled : GiveValues(traces, seen, guesses, labels, known);

  InkFound ink;
  if (sheet != nullptr) ink = SeeInk(*sheet, axes, index, traces);

  // Not every chart labels each of its islands: where some were read and none of the others has room for a label, those are drawn without.
  const bool bare_islands = sheet != nullptr && [&] {
    constexpr int kRead = 2;
    int read = 0;
    for (std::size_t i = 0; i < traces.size(); ++i)
      read += !guesses[i].drop && guesses[i].role == CurveRole::kEfficiencyIsland && given.values[i].value;
    if (read < kRead) return false;
    for (std::size_t i = 0; i < traces.size(); ++i) {
      if (guesses[i].drop || guesses[i].role != CurveRole::kEfficiencyIsland || given.values[i].value) continue;
      if ((!traces[i].closed && seen[i].length < kScrap) || !AmongSpeedLines(seen[i], seen, guesses)) continue;
      const double gap_px = std::max(ink.curves[i].hidden, ink.curves[i].bare_gap) * panel.frame.HeightPx();
      if (seen[i].length < kLeastUnlabeled || MayBeLabeled(i, gap_px, *sheet->print, traces, labels, given.values)) return false;
    }
    return true;
  }();
  for (std::size_t i = 0; i < traces.size(); ++i) {
    if (guesses[i].drop) continue;
    const CurveValue& v = given.values[i];
    const bool carries = CarriesValue(guesses[i].role);
    // Scraps that look like nothing and carry nothing: not worth a person's time.
    if (!anew) {
      if (guesses[i].role == CurveRole::kOther && !v.value && seen[i].length < 0.08) continue;
      if (guesses[i].role == CurveRole::kEfficiencyIsland && !traces[i].closed && !v.value && seen[i].length < kScrap) continue;
      if (kind == PanelKind::kCompressor && !v.value && guesses[i].role != CurveRole::kSurgeLine && guesses[i].role != CurveRole::kChokeLine &&
          !AmongSpeedLines(seen[i], seen, guesses))
        continue;
    }
    JudgedCurve c;
    if (anew) {
      c.word = known[i].word;
      c.is_rest = known[i].is_rest;
    }
    std::vector<Hint> hints;
    c.trace = traces[i];
    if (seen[i].turned) {  // speed lines run from surge to choke, the surge line upward
      std::reverse(c.trace.points.begin(), c.trace.points.end());
      std::reverse(c.trace.sigma_px.begin(), c.trace.sigma_px.end());
      std::reverse(c.trace.bridged.begin(), c.trace.bridged.end());
      std::swap(c.trace.end_sigma_px[0], c.trace.end_sigma_px[1]);
    }
    c.role = guesses[i].role;
    c.panel = index;
    c.on_right_axis = guesses[i].on_right_axis;
    c.confidence = c.role_confidence = guesses[i].confidence;
    c.reasons = c.role_reasons = guesses[i].reasons;
    for (const std::string& doubt : c.trace.doubts) c.reasons.push_back(doubt);
    if (carries) {
      c.value = v.value;
      c.unit = v.value ? v.unit : "";
      if (v.certain) {
        // Whatever it is, a person read it.
      } else if (v.value && !IsPlausibleSpeed(*v.value, v.unit)) {
        // A misreading surely; the curve is better off without it.
        c.value.reset();
        c.unit.clear();
        c.reasons.push_back(
            fmt::format("its value is left open: {} {} is no speed of such a machine (3,000 to 400,000 rpm)", NumberInWords(*v.value), v.unit));
        c.confidence = std::min(c.confidence, 0.3);
      } else {
        for (const std::string& r : v.reasons) c.reasons.push_back(r);
      }
      if (v.certain) {
        c.confidence = std::max(c.confidence, v.confidence);
      } else if (v.value && !c.value) {
        hints = v.hints;
      } else if (!v.value) {
        if (!bare_islands || c.role != CurveRole::kEfficiencyIsland) c.reasons.push_back("no label was read for it");
        c.confidence = std::min(c.confidence, c.reasons.empty() ? 0.6 : 0.45);
      } else {
        c.confidence = std::min(c.confidence, std::max(v.confidence, 0.2));
        hints = v.hints;
        if (v.confidence < 0.5 && v.reasons.empty()) c.reasons.push_back("which label belongs to it is not certain");
      }
    }
    result.hints.push_back(std::move(hints));
    if (c.role == CurveRole::kOther)
      c.reasons.push_back(c.word.role ? "it is none of the usual curves of a map" : "what this curve is could not be told");
    if (c.is_rest && !c.word.Any()) c.reasons.push_back("another part of it was taken away; say what it is or delete it");
    result.own_reasons.push_back(c.reasons);
    result.curves.push_back(std::move(c));
    result.seen.push_back(seen[i]);
    InkEvidence seen_ink = ink.curves.empty() ? InkEvidence{} : ink.curves[i];
    if (seen[i].turned) {
      std::swap(seen_ink.beyond_front, seen_ink.beyond_back);
      std::swap(seen_ink.print_front, seen_ink.print_back);
      std::swap(seen_ink.into_print_front, seen_ink.into_print_back);
    }
    // A speed line ends at its own label, which hides nothing of it.
    if (c.role == CurveRole::kSpeedLine)
      for (std::optional<ImagePoint>* into : {&seen_ink.into_print_front, &seen_ink.into_print_back})
        if (*into && StandsAtEndOf(i, **into, labels)) into->reset();
    result.ink.push_back(seen_ink);
  }
  const CheckedPanel checked{&result.curves, &result.seen, &result.ink, &result.hints};
  CheckTraces(checked);
  if (kind == PanelKind::kCompressor) {
    CheckCompressor(checked);
    CheckIslands(checked);
  }
  for (CurveRole role : {CurveRole::kSpeedLine, CurveRole::kFlowLine, CurveRole::kEfficiencyLine}) {
    if (given.agreed >= 2) break;  // two labels of each value tell more than steps, which openings do not keep
    if (const std::string gap = CheckSteps(checked, role); !gap.empty())
      result.doubts.push_back("a curve may be missing: by the even steps of the others one of value " + gap + " should stand between them");
  }
  for (const std::string& doubt : evidence.curves.report.doubts) result.doubts.push_back(doubt);
  if (!given.stray_labels.empty()) {
    std::string list;
    for (const std::string& s : given.stray_labels)
      if (!IsCarried(s, labels, result.curves)) list += (list.empty() ? "" : ", ") + s;
    if (!list.empty()) result.doubts.push_back("a curve may be missing: no curve was found for the printed " + list);
  }
  return result;
}

// A curve that a person drew is drawn on the sheet as its family is; how much ink it has was not measured.
void DrawnAlike(const std::vector<JudgedCurve>& known, std::vector<TracedCurve>& traces) {
  for (std::size_t i = 0; i < known.size(); ++i) {
    if (!known[i].word.course) continue;
    for (std::size_t j = 0; j < known.size(); ++j) {
      if (known[j].word.course || known[j].role != known[i].role) continue;
      traces[i].ink_mass = traces[j].ink_mass;
      traces[i].lab = traces[j].lab;
      traces[i].dashed = traces[j].dashed;
      break;
    }
  }
}

// Fills in curves and report of a map whose kind and panels are known. `known`: per panel, as JudgePanel takes them; empty the first time.
void JudgePanels(const AxesFound& axes, const std::vector<PanelKind>& kinds, const std::vector<PanelEvidence>& panels,
                 const std::vector<std::vector<JudgedCurve>>& known, const SheetSeen* sheet, JudgedMap& judged) {
  std::vector<std::size_t> used;
  for (std::size_t i = 0; i < panels.size(); ++i)
    if (i == judged.main_panel || (judged.efficiency_panel && i == *judged.efficiency_panel)) used.push_back(i);
  std::vector<ValuesGiven> settled;
  if (judged.kind == MapKind::kTurbine) {
    std::vector<TurbinePanel> turbine;
    for (const std::size_t i : used)
      turbine.push_back({&axes.panels[i], &panels[i], kinds[i] == PanelKind::kTurbineFlow, known.empty() ? std::vector<JudgedCurve>{} : known[i]});
    settled = GiveTurbineValues(turbine);
  }
  std::vector<PanelJudgement> judgements;
  for (std::size_t k = 0; k < used.size(); ++k)
    judgements.push_back(JudgePanel(axes, used[k], kinds[used[k]], panels[used[k]], settled.empty() ? nullptr : &settled[k], sheet,
                                    known.empty() ? std::vector<JudgedCurve>{} : known[used[k]]));
  if (judged.kind == MapKind::kTurbine)
    for (PanelJudgement& f : judgements)
      for (PanelJudgement& e : judgements) {
        CheckTurbine({&f.curves, &f.seen, &f.ink, &f.hints}, {&e.curves, &e.seen, &e.ink, &e.hints});
        CheckTurbineEnds({&f.curves, &f.seen, &f.ink, &f.hints}, {&e.curves, &e.seen, &e.ink, &e.hints});
      }
  for (PanelJudgement& p : judgements) {
    Settle({&p.curves, &p.seen, &p.ink, &p.hints});
    for (std::size_t i = 0; i < p.curves.size(); ++i)
      if (p.curves[i].word.Any()) TakeWord(p.curves[i], std::move(p.own_reasons[i]));
  }
  for (PanelJudgement& p : judgements) {
    for (JudgedCurve& c : p.curves) judged.curves.push_back(std::move(c));
    for (std::string& d : p.doubts) judged.report.doubts.push_back(std::move(d));
  }
  judged.report.notes.push_back(std::to_string(judged.curves.size()) + " curves judged");
}

}  // namespace

Result<void> JudgeOptions::Check() const { return {}; }

Result<JudgedMap> JudgeCurves(const AxesFound& axes, const std::vector<PanelEvidence>& panels, const JudgeOptions& options, const SheetSeen* sheet) {
  if (auto ok = options.Check(); !ok) return std::unexpected(ok.error());
  if (panels.size() != axes.panels.size()) return Fail(ErrorCode::kInvalidArgument, "Every panel needs its own curves and labels.");
  JudgedMap judged;
  std::vector<PanelKind> kinds;
  for (const Panel& p : axes.panels) kinds.push_back(KindOfPanel(p));
  const auto first_of = [&](PanelKind kind) -> std::optional<std::size_t> {
    for (std::size_t i = 0; i < kinds.size(); ++i)
      if (kinds[i] == kind) return i;
    return std::nullopt;
  };
  std::optional<std::size_t> main;
  const bool want_turbine = options.kind == MapKind::kTurbine, want_compressor = options.kind == MapKind::kCompressor;
  if (!want_turbine) main = first_of(PanelKind::kCompressor);
  if (main) {
    judged.kind = MapKind::kCompressor;
  } else if (!want_compressor) {
    main = first_of(PanelKind::kTurbineFlow);
    if (const auto efficiency = first_of(PanelKind::kTurbineEfficiency)) {
      judged.efficiency_panel = efficiency;
      if (!main) main = efficiency;
    }
    if (main) judged.kind = MapKind::kTurbine;
  }
  if (!main) {
    judged.report.confidence = 0;
    judged.report.doubts.push_back(axes.panels.empty() ? "no chart was found on the sheet"
                                                       : "the chart's axes are not those of a compressor or turbine map; its curves were not read");
    return judged;
  }
  judged.main_panel = *main;
  JudgePanels(axes, kinds, panels, {}, sheet, judged);
  return judged;
}

Result<JudgedMap> JudgeAgain(const JudgedMap& corrected, const AxesFound& axes, const std::vector<PanelEvidence>& panels, const SheetSeen* sheet) {
  if (panels.size() != axes.panels.size()) return Fail(ErrorCode::kInvalidArgument, "Every panel needs its own curves and labels.");
  std::vector<PanelKind> kinds;
  for (const Panel& p : axes.panels) kinds.push_back(KindOfPanel(p));
  const bool is_map = corrected.kind && corrected.main_panel < kinds.size() && kinds[corrected.main_panel] != PanelKind::kNone;
  if (!is_map) return corrected;
  std::vector<PanelEvidence> now(panels.size());
  std::vector<std::vector<JudgedCurve>> known(panels.size());
  for (const JudgedCurve& curve : corrected.curves) {
    now[curve.panel].curves.curves.push_back(curve.trace);
    known[curve.panel].push_back(curve);
  }
  for (std::size_t p = 0; p < panels.size(); ++p) {
    now[p].curves.markers = panels[p].curves.markers;
    now[p].curves.report = panels[p].curves.report;
    now[p].labels = panels[p].labels;
    PlaceLabels(now[p].labels, now[p].curves);
    DrawnAlike(known[p], now[p].curves.curves);
  }
  JudgedMap judged;
  judged.kind = corrected.kind;
  judged.main_panel = corrected.main_panel;
  judged.efficiency_panel = corrected.efficiency_panel;
  JudgePanels(axes, kinds, now, known, sheet, judged);
  return judged;
}

void DoubtTheWhole(JudgedMap& judged) {
  if (!judged.kind) return;
  std::vector<std::string>& doubts = judged.report.doubts;
  if (const std::string doubtful = CurvesOfDoubtfulShape(judged.curves); !doubtful.empty())
    doubts.push_back(std::string(kPiecesDoubt) + ": the shape of " + doubtful + " is in doubt");
  const auto count = [&](CurveRole role) { return std::ranges::count(judged.curves, role, &JudgedCurve::role); };
  if (judged.kind == MapKind::kCompressor) {
    if (count(CurveRole::kSpeedLine) < 2) doubts.push_back("fewer than two speed lines were found");
    if (count(CurveRole::kSurgeLine) == 0) doubts.push_back("no surge line was found");
  } else if (count(CurveRole::kFlowLine) == 0) {
    doubts.push_back("no flow line was found");
  }
}

}  // namespace islebook
