#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "digitizer/assemble/assemble.h"
#include "digitizer/assemble/plot_curve.h"
#include "digitizer/assemble/roles.h"
#include "digitizer/assemble/values.h"

namespace islebook {
namespace {

bool IsFlow(Quantity q) {
  return q == Quantity::kCorrectedMassFlow || q == Quantity::kCorrectedVolumeFlow || q == Quantity::kTurbineFlowParameter;
}
bool IsPressureRatio(Quantity q) { return q == Quantity::kPressureRatioTotalToTotal || q == Quantity::kPressureRatioTotalToStatic; }
bool IsExpansionRatio(Quantity q) { return q == Quantity::kExpansionRatioTotalToStatic || q == Quantity::kExpansionRatioTotalToTotal; }
bool IsEfficiency(Quantity q) { return q == Quantity::kEfficiencyTotalToStatic || q == Quantity::kEfficiencyTotalToTotal; }

enum class PanelKind { kNone, kCompressor, kTurbineFlow, kTurbineEfficiency };

PanelKind KindOfPanel(const Panel& p) {
  if (!p.x || !p.y) return PanelKind::kNone;
  const Quantity x = p.x->axis.quantity, y = p.y->axis.quantity;
  if (IsFlow(x) && x != Quantity::kTurbineFlowParameter && IsPressureRatio(y)) return PanelKind::kCompressor;
  if ((IsExpansionRatio(x) || x == Quantity::kVelocityRatio) && IsEfficiency(y)) return PanelKind::kTurbineEfficiency;
  if (IsExpansionRatio(x) && IsFlow(y)) return PanelKind::kTurbineFlow;
  return PanelKind::kNone;
}

// Doubts that the trace itself raises: ends that stop in the open, bridges over much unseen line.
void DoubtTrace(const TracedCurve& trace, std::vector<std::string>& reasons, double& confidence) {
  for (const std::string& doubt : trace.doubts) reasons.push_back(doubt);
  confidence = std::min(confidence, trace.confidence);
  std::size_t unseen = 0;
  for (std::uint8_t b : trace.bridged) unseen += b;
  const double part = trace.bridged.empty() ? 0 : static_cast<double>(unseen) / static_cast<double>(trace.bridged.size());
  if (!trace.dashed && part > 0.35) {
    reasons.push_back(fmt::format("{:.0f} % of it is hidden under print or other lines", 100 * part));
    confidence = std::min(confidence, 0.45);
  }
}

// Curves of one family never cross; where two do, at least one is joined wrongly.
void DoubtCrossings(std::vector<JudgedCurve>& judged, const std::vector<PlotCurve>& curves, CurveRole role, const char* words) {
  std::vector<std::vector<std::size_t>> crossed(judged.size());
  for (std::size_t i = 0; i < judged.size(); ++i)
    for (std::size_t j = i + 1; j < judged.size(); ++j) {
      if (judged[i].role != role || judged[j].role != role) continue;
      for (const Crossing& x : FindCrossings(curves[i], curves[j])) {
        // Ends that overshoot their junction a little do not count.
        const double slack = 4;
        const auto near_end = [&](const PlotCurve& c, double at) { return !c.closed && (at < slack || at > static_cast<double>(c.points.size()) - 1 - slack); };
        if (near_end(curves[i], x.along_a) || near_end(curves[j], x.along_b)) continue;
        crossed[i].push_back(j);
        crossed[j].push_back(i);
        break;
      }
    }
  for (std::size_t i = 0; i < judged.size(); ++i)
    if (!crossed[i].empty()) {
      judged[i].reasons.push_back(words);
      judged[i].confidence = std::min(judged[i].confidence, 0.35);
    }
}

bool Touches(const PlotCurve& line, PlotPoint p) { return DistanceTo(line, p) < 0.012; }

// Where the ends of compressor curves should lie: speed lines start at the surge line, open islands end on other lines.
void DoubtEnds(std::vector<JudgedCurve>& judged, const std::vector<PlotCurve>& curves) {
  std::size_t surge = judged.size();
  for (std::size_t i = 0; i < judged.size(); ++i)
    if (judged[i].role == CurveRole::kSurgeLine) surge = i;
  for (std::size_t i = 0; i < judged.size(); ++i) {
    JudgedCurve& c = judged[i];
    if (c.role == CurveRole::kSpeedLine && surge < judged.size() && !Touches(curves[surge], curves[i].Left())) {
      c.reasons.push_back("its left end does not reach the surge line");
      c.confidence = std::min(c.confidence, 0.45);
    }
    if (c.role == CurveRole::kEfficiencyIsland && !c.trace.closed) {
      int loose = 0;
      for (PlotPoint end : {curves[i].Left(), curves[i].Right()}) {
        bool held = end.x < 0.01 || end.y < 0.01 || end.y > 0.99;
        for (std::size_t j = 0; j < judged.size() && !held; ++j)
          if (j != i && (judged[j].role == CurveRole::kSpeedLine || judged[j].role == CurveRole::kSurgeLine || judged[j].role == CurveRole::kChokeLine)) held = Touches(curves[j], end);
        if (!held) ++loose;
      }
      if (loose > 0) {
        c.reasons.push_back(loose == 1 ? "one end of this island stops in the open" : "both ends of this island stop in the open");
        c.confidence = std::min(c.confidence, 0.45);
      }
    }
  }
}

struct PanelJudgement {
  std::vector<JudgedCurve> curves;
  std::vector<std::string> doubts;
};

PanelJudgement JudgePanel(const Panel& panel, std::size_t index, PanelKind kind, const PanelEvidence& evidence) {
  PanelJudgement result;
  const std::vector<TracedCurve>& traces = evidence.curves.curves;
  std::vector<PlotCurve> seen;
  for (const TracedCurve& t : traces) seen.push_back(SeeInFrame(t, panel.frame));
  const RoleEvidence roles{&traces, &seen};
  std::vector<RoleGuess> guesses;
  if (kind == PanelKind::kCompressor)
    guesses = GuessCompressorRoles(roles);
  else
    guesses = GuessTurbineRoles(roles, kind == PanelKind::kTurbineFlow, panel.right.has_value());
  const ValuesGiven given = GiveValues(traces, seen, guesses, evidence.labels.labels);

  std::vector<PlotCurve> kept;
  for (std::size_t i = 0; i < traces.size(); ++i) {
    if (guesses[i].drop) continue;
    const CurveValue& v = given.values[i];
    const bool carries = guesses[i].role == CurveRole::kSpeedLine || guesses[i].role == CurveRole::kEfficiencyIsland || guesses[i].role == CurveRole::kFlowLine || guesses[i].role == CurveRole::kEfficiencyLine;
    // Scraps that look like nothing and carry nothing: not worth a person's time.
    if (guesses[i].role == CurveRole::kOther && !v.value && seen[i].length < 0.08) continue;
    if (guesses[i].role == CurveRole::kEfficiencyIsland && !traces[i].closed && !v.value && seen[i].length < 0.06) continue;
    JudgedCurve c;
    c.trace = traces[i];
    if (seen[i].turned) {  // speed lines run from surge to choke, the surge line upward
      std::reverse(c.trace.points.begin(), c.trace.points.end());
      std::reverse(c.trace.sigma_px.begin(), c.trace.sigma_px.end());
      std::reverse(c.trace.bridged.begin(), c.trace.bridged.end());
    }
    c.role = guesses[i].role;
    c.panel = index;
    c.on_right_axis = guesses[i].on_right_axis;
    c.confidence = guesses[i].confidence;
    c.reasons = guesses[i].reasons;
    DoubtTrace(c.trace, c.reasons, c.confidence);
    if (carries) {
      c.value = v.value;
      c.unit = v.value ? v.unit : "";
      for (const std::string& r : v.reasons) c.reasons.push_back(r);
      if (!v.value) {
        c.reasons.push_back("no label was read for it");
        c.confidence = std::min(c.confidence, 0.45);
      } else {
        c.confidence = std::min(c.confidence, std::max(v.confidence, 0.2));
        if (v.confidence < 0.5 && v.reasons.empty()) c.reasons.push_back("which label belongs to it is not certain");
      }
    }
    if (c.role == CurveRole::kOther) c.reasons.push_back("what this curve is could not be told");
    result.curves.push_back(std::move(c));
    kept.push_back(seen[i]);
  }
  if (kind == PanelKind::kCompressor) {
    DoubtCrossings(result.curves, kept, CurveRole::kSpeedLine, "it crosses another speed line");
    DoubtCrossings(result.curves, kept, CurveRole::kEfficiencyIsland, "it crosses another efficiency island");
    DoubtEnds(result.curves, kept);
  }
  if (!given.stray_labels.empty()) {
    std::string list;
    for (const std::string& s : given.stray_labels) list += (list.empty() ? "" : ", ") + s;
    result.doubts.push_back("a curve may be missing: no curve was found for the printed " + list);
  }
  return result;
}

}  // namespace

Result<void> JudgeOptions::Check() const { return {}; }

Result<JudgedMap> JudgeCurves(const AxesFound& axes, const std::vector<PanelEvidence>& panels, const JudgeOptions& options) {
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
  for (std::size_t i = 0; i < panels.size(); ++i) {
    if (i != *main && !(judged.efficiency_panel && i == *judged.efficiency_panel)) continue;
    PanelJudgement p = JudgePanel(axes.panels[i], i, kinds[i], panels[i]);
    for (JudgedCurve& c : p.curves) judged.curves.push_back(std::move(c));
    for (std::string& d : p.doubts) judged.report.doubts.push_back(std::move(d));
  }
  const auto count = [&](CurveRole role) { return std::count_if(judged.curves.begin(), judged.curves.end(), [&](const JudgedCurve& c) { return c.role == role; }); };
  if (judged.kind == MapKind::kCompressor) {
    if (count(CurveRole::kSpeedLine) < 2) judged.report.doubts.push_back("fewer than two speed lines were found");
    if (count(CurveRole::kSurgeLine) == 0) judged.report.doubts.push_back("no surge line was found");
  } else if (count(CurveRole::kFlowLine) == 0) {
    judged.report.doubts.push_back("no flow line was found");
  }
  judged.report.notes.push_back(std::to_string(judged.curves.size()) + " curves judged");
  return judged;
}

}  // namespace islebook
