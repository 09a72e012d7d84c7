#include "digitizer/session.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "digitizer/axes/writing_turn.h"
#include "digitizer/recipe/corrections.h"
#include "mapstore/map/validate.h"

namespace islebook {
namespace {

// How much of the whole time has passed when a stage begins, for progress; from measured shares on a photograph.
constexpr double kPageAt = 0.0, kRidgesAt = 0.12, kPrintAt = 0.3, kAxesAt = 0.45, kCurvesAt = 0.65, kJudgeAt = 0.95;

constexpr double kSecondMapPart = 0.3;  // a further plot is its own map if it is at least this part of the largest, by area

std::vector<Correction> AxesStepsOf(const Recipe& recipe) {
  std::vector<Correction> steps;
  for (const Correction& correction : recipe.corrections)
    if (IsAboutAxes(correction.step)) steps.push_back(correction);
  return steps;
}

double AreaOf(const Panel& panel) { return panel.frame.WidthPx() * panel.frame.HeightPx(); }

AxesFound Only(const AxesFound& axes, const std::vector<std::size_t>& panels) {
  AxesFound some = axes;
  some.panels.clear();
  for (const std::size_t panel : panels) some.panels.push_back(axes.panels[panel]);
  return some;
}

bool HasMeaning(const JudgedMap& judged) {
  return judged.kind.has_value() &&
         std::ranges::count_if(judged.curves, [](const JudgedCurve& curve) { return curve.role != CurveRole::kOther; }) >= 2;
}

std::string PlaceOf(const Panel& panel, const Sheet& sheet) {
  const ImagePoint center = panel.frame.ImageFromFrame({0.5, 0.5});
  const char* row = center.y < sheet.pixels.rows / 3.0 ? "top" : center.y > sheet.pixels.rows / 1.5 ? "bottom" : "middle";
  const char* column = center.x < sheet.pixels.cols / 3.0 ? "left" : center.x > sheet.pixels.cols / 1.5 ? "right" : "center";
  return fmt::format("{} {}", row, column);
}

// How well the sheet's axes are read: both of a plot's, by several numbers, and what they show; 0..8, and up to 4 for being sure of it.
double Understanding(const AxesFound& axes) {
  double best = 0.0;
  for (const Panel& panel : axes.panels) {
    double here = 4.0 * panel.confidence;
    for (const auto* axis : {&panel.x, &panel.y}) {
      if (!*axis) continue;
      here += (*axis)->numbers_used >= 3 ? 2.0 : 1.0;
      here += (*axis)->quantity_read ? 2.0 : 0.0;
    }
    best = std::max(best, here);
  }
  return best;
}
constexpr double kWellRead = 9.8;  // all of it, and not in doubt; or all but one axis' title, and sure

// Several stages may have the same doubt.
void SayOnce(std::vector<std::string>& sentences) {
  std::vector<std::string> once;
  for (std::string& sentence : sentences)
    if (std::ranges::find(once, sentence) == once.end()) once.push_back(std::move(sentence));
  sentences = std::move(once);
}

// What cannot be right about the map, as doubts where they belong. A curve that a person accepted is questioned only by what is impossible.
void AddFindings(const Recipe& recipe, PerformanceMap& map) {
  const std::vector<bool> accepted = AcceptedCurves(recipe, map);
  for (const Finding& finding : ValidateMap(map)) {
    if (finding.severity == Severity::kRemark) continue;
    if (!finding.curve) {
      if (std::ranges::find(map.needs_review, finding.sentence) == map.needs_review.end()) map.needs_review.push_back(finding.sentence);
      continue;
    }
    if (finding.severity == Severity::kDoubt && accepted[*finding.curve]) continue;
    Curve& curve = map.curves[*finding.curve];
    if (!curve.value && !curve.reasons.empty() && finding.sentence.ends_with("carries no speed.")) continue;  // why it has none is said already
    if (std::ranges::find(curve.reasons, finding.sentence) == curve.reasons.end()) curve.reasons.push_back(finding.sentence);
    curve.needs_review = true;
    curve.confidence = std::min(curve.confidence, finding.severity == Severity::kError ? 0.2 : 0.45);
  }
}

}  // namespace

Session::Session(std::shared_ptr<const Sheet> sheet, DigitizeOptions options)
    : sheet_(std::move(sheet)), work_(PrepareWorkingSheet(sheet_)), options_(std::move(options)) {}
Session::~Session() = default;

void Session::SetRecipe(Recipe recipe) {
  if (AxesStepsOf(recipe) != AxesStepsOf(recipe_)) {
    stages_.axes.reset();
    stages_.evidence.reset();
    stages_.parts.reset();
  } else if (recipe != recipe_) {
    stages_.parts.reset();
  }
  recipe_ = std::move(recipe);
  working_recipe_ = ToWorkingPixels(recipe_, work_);
}

// Fills the slot if it is empty, and tells how far the whole has come.
template <typename T, typename Work>
Result<void> Session::Do(const char* stage, double fraction, std::optional<T>& slot, const Progress& progress, Work work) {
  if (progress && !progress(stage, fraction)) return Fail(ErrorCode::kCancelled, "the work was stopped.", sheet_->file);
  if (slot) return {};
  const auto start = std::chrono::steady_clock::now();
  auto done = work();
  times_.push_back({stage, std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count()});
  if (!done) return std::unexpected(done.error());
  slot = std::move(*done);
  return {};
}

Result<PrintReader*> Session::Reader() {
  if (!reader_) {
    auto opened = PrintReader::Open();
    if (!opened) return std::unexpected(opened.error());
    reader_ = std::move(*opened);
  }
  if (stages_.drawing && stages_.drawing->usable) {
    if (!exact_reader_) exact_reader_ = MakeExactReader(*stages_.drawing, *reader_);
    return exact_reader_.get();
  }
  return reader_.get();
}

// A drawing tells its lines and words itself; of any other sheet they are looked for in the pixels.
Result<void> Session::FindLinesAndPrint(const Progress& progress) {
  if (sheet_->source && !stages_.drawing) {
    if (auto done = Do("drawing", kRidgesAt, stages_.drawing, progress,
                       [&] { return ReadDrawing(*work_.sheet, *stages_.page, options_.print, options_.drawing); });
        !done)
      return done;
    for (const std::string& doubt : stages_.drawing->report.doubts) stages_.page->report.doubts.push_back(doubt);
    if (stages_.drawing->usable) {
      stages_.ridges = stages_.drawing->ridges;
      stages_.print = stages_.drawing->print;
    }
  }
  if (auto done = Do("ridges", kRidgesAt, stages_.ridges, progress, [&] { return TraceRidges(*stages_.page, options_.ridges); }); !done) return done;
  return Do("print", kPrintAt, stages_.print, progress, [&] { return FindPrint(*stages_.page, stages_.ridges->dash_mask, options_.print); });
}

// A sheet without a chart is no error here: it gets its document, with the reason.
Result<AxesFound> Session::FindAxesOrNone() {
  const auto reader = Reader();
  if (!reader) return std::unexpected(reader.error());
  auto axes = FindAxes(*stages_.page, *stages_.ridges, *stages_.print, **reader, options_.axes);
  if (axes) return axes;
  if (axes.error().code != ErrorCode::kNoChart) return std::unexpected(axes.error());
  AxesFound none;
  none.chain_is_furniture.assign(stages_.ridges->chains.size(), false);
  none.print_use.assign(stages_.print->words.size(), PrintUse::kNone);
  none.report.confidence = 0.0;
  none.report.doubts.push_back(axes.error().message);
  return none;
}

// A sheet that lies on its side or head shows by axes that cannot be read: then it is turned, and looked at once more.
Result<void> Session::TurnUpright(const Progress& progress) {
  if (work_.quarter_turns != 0 || stages_.axes || Understanding(*stages_.axes_found) >= kWellRead) return {};
  const auto reader = Reader();
  if (!reader) return std::unexpected(reader.error());
  // The picture is asked: a drawing tells its letters whichever way up they lie.
  const WritingTurn turn = FindWritingTurn(*stages_.page, *stages_.print, *reader_);
  stages_.axes_found->report.notes.insert(stages_.axes_found->report.notes.end(), turn.report.notes.begin(), turn.report.notes.end());
  if (turn.quarter_turns == 0) return {};
  WorkingSheet lying = std::exchange(work_, PrepareWorkingSheet(sheet_, turn.quarter_turns));
  StageResults before = std::exchange(stages_, {});
  exact_reader_.reset();
  const auto look = [&]() -> Result<void> {
    if (auto done = Do("page", kPageAt, stages_.page, progress, [&] { return FlattenPage(*work_.sheet, options_.page); }); !done) return done;
    if (auto done = FindLinesAndPrint(progress); !done) return done;
    return Do("axes", kAxesAt, stages_.axes_found, progress, [&] { return FindAxesOrNone(); });
  };
  const auto looked = look();
  if (looked && Understanding(*stages_.axes_found) > Understanding(*before.axes_found)) {
    stages_.page->report.notes.push_back(
        fmt::format("the sheet lies turned; it was read {} quarter turn{} clockwise", work_.quarter_turns, work_.quarter_turns == 1 ? "" : "s"));
    working_recipe_ = ToWorkingPixels(recipe_, work_);
    return {};
  }
  work_ = std::move(lying);
  stages_ = std::move(before);
  exact_reader_.reset();
  return looked;
}

Result<std::vector<PanelEvidence>> Session::GatherEvidence() {
  const auto reader = Reader();
  if (!reader) return std::unexpected(reader.error());
  std::vector<PanelEvidence> evidence;
  for (std::size_t panel = 0; panel < stages_.axes->panels.size(); ++panel) {
    auto curves = TraceCurves(*stages_.page, *stages_.ridges, *stages_.print, *stages_.axes, panel, options_.curves);
    if (!curves) return std::unexpected(curves.error());
    auto labels = ReadLabels(*stages_.page, *stages_.print, *stages_.axes, panel, *curves, **reader, options_.labels);
    if (!labels) return std::unexpected(labels.error());
    evidence.push_back({std::move(*curves), std::move(*labels)});
  }
  return evidence;
}

// One map from the plots that belong together, then a further one from a plot that is left, if it is a map of its own.
Result<std::vector<MapPart>> Session::Judge() {
  const AxesFound& axes = *stages_.axes;
  std::vector<MapPart> parts;
  std::vector<std::size_t> left(axes.panels.size());
  for (std::size_t i = 0; i < left.size(); ++i) left[i] = i;
  double largest = 0.0;
  for (const Panel& panel : axes.panels) largest = std::max(largest, AreaOf(panel));
  std::vector<std::size_t> declined;
  while (!left.empty()) {
    MapPart part;
    part.panels = left;
    part.axes = Only(axes, left);
    std::vector<PanelEvidence> evidence;
    for (const std::size_t panel : left) evidence.push_back((*stages_.evidence)[panel]);
    const SheetSeen sheet{&*stages_.page, &*stages_.ridges, &*stages_.print};
    auto judged = JudgeCurves(part.axes, evidence, {.kind = recipe_.settings.kind}, &sheet);
    if (!judged) return std::unexpected(judged.error());
    part.judged = std::move(*judged);

    std::vector<std::size_t> used{part.judged.main_panel};
    if (part.judged.efficiency_panel) used.push_back(*part.judged.efficiency_panel);
    std::vector<std::size_t> rest;
    for (std::size_t i = 0; i < left.size(); ++i)
      if (std::ranges::find(used, i) == used.end()) rest.push_back(left[i]);
    if (rest.size() == left.size()) break;  // nothing was used
    const bool first = parts.empty();
    const Panel& main = part.axes.panels[std::min(part.judged.main_panel, part.axes.panels.size() - 1)];
    if (first || (HasMeaning(part.judged) && AreaOf(main) > kSecondMapPart * largest))
      parts.push_back(std::move(part));
    else if (AreaOf(main) > kSecondMapPart * largest)
      declined.push_back(left[part.judged.main_panel]);
    left = std::move(rest);
  }
  if (parts.empty()) {
    MapPart none;
    none.axes = Only(axes, {});
    parts.push_back(std::move(none));
  }
  std::vector<bool> applied(recipe_.corrections.size(), false);
  for (MapPart& part : parts) {
    const CurveCorrections corrected = ApplyCurveCorrections(working_recipe_, *stages_.page, *stages_.print, part.axes, part.judged, work_.scale);
    for (std::size_t i = 0; i < applied.size(); ++i) applied[i] = applied[i] || corrected.applied[i];
    if (corrected.changed) {
      std::vector<PanelEvidence> evidence;
      for (const std::size_t panel : part.panels) evidence.push_back((*stages_.evidence)[panel]);
      const SheetSeen sheet{&*stages_.page, &*stages_.ridges, &*stages_.print};
      auto again = JudgeAgain(part.judged, part.axes, evidence, &sheet);
      if (!again) return std::unexpected(again.error());
      part.judged = std::move(*again);
    }
    for (const FailedCorrection& failed : corrected.failed)
      part.judged.report.doubts.push_back(LostCorrection(failed.index, recipe_.corrections[failed.index], failed.reason));
    DoubtTheWhole(part.judged);
  }
  for (const std::size_t panel : declined)
    parts.front().judged.report.doubts.push_back(
        fmt::format("another plot ({} of the sheet) is no map of a kind that is known and was left out", PlaceOf(axes.panels[panel], *work_.sheet)));
  for (std::size_t i = 0; i < applied.size(); ++i)
    if (!applied[i])
      parts.front().judged.report.doubts.push_back(LostCorrection(i, recipe_.corrections[i], "there is no curve or plot at that place"));
  return parts;
}

Result<DigitizeResult> Session::Finish() {
  DigitizeResult result;
  for (const MapPart& part : *stages_.parts) {
    auto map = CalibrateMap(part.judged, part.axes);
    if (!map) return std::unexpected(map.error());
    map->source = SheetSource{sheet_->file, sheet_->sha256, {sheet_->pixels.cols, sheet_->pixels.rows}, sheet_->page};
    map->recipe_json = WriteRecipe(recipe_);
    ToSheetPixels(*map, work_);
    ApplyMapCorrections(recipe_, *map);
    for (const std::string& doubt : stages_.axes_doubts) map->needs_review.push_back(doubt);
    for (const std::string& doubt : stages_.page->report.doubts) map->needs_review.push_back(doubt);
    const std::size_t lost = part.judged.curves.size() - std::min(part.judged.curves.size(), map->curves.size());
    if (lost > 0)
      map->needs_review.push_back(fmt::format("{} curve{} could not be given axis values because an axis is missing", lost, lost == 1 ? "" : "s"));
    if (!map->kind && map->needs_review.empty()) map->needs_review.push_back("no chart of a compressor or turbine map was found on the sheet");
    AddFindings(recipe_, *map);
    SayOnce(map->needs_review);
    for (Curve& curve : map->curves) SayOnce(curve.reasons);
    result.maps.push_back(std::move(*map));
  }
  return result;
}

Result<DigitizeResult> Session::Run(const Progress& progress) {
  if (const auto checked = options_.Check(); !checked) return std::unexpected(checked.error());
  times_.clear();
  if (auto done = Do("page", kPageAt, stages_.page, progress, [&] { return FlattenPage(*work_.sheet, options_.page); }); !done)
    return std::unexpected(done.error());
  if (const auto done = FindLinesAndPrint(progress); !done) return std::unexpected(done.error());
  if (auto done = Do("axes", kAxesAt, stages_.axes_found, progress, [&] { return FindAxesOrNone(); }); !done) return std::unexpected(done.error());
  if (stages_.axes_found->panels.empty() && stages_.drawing && stages_.drawing->usable) {
    // Its paths make no chart: perhaps its picture does.
    stages_.drawing->usable = false;
    stages_.ridges.reset();
    stages_.print.reset();
    stages_.axes_found.reset();
    stages_.axes.reset();
    if (const auto done = FindLinesAndPrint(progress); !done) return std::unexpected(done.error());
    if (auto done = Do("axes", kAxesAt, stages_.axes_found, progress, [&] { return FindAxesOrNone(); }); !done) return std::unexpected(done.error());
    if (!stages_.axes_found->panels.empty()) stages_.page->report.doubts.push_back("the page's own lines make no chart; it was read as a picture");
  }
  if (const auto done = TurnUpright(progress); !done) return std::unexpected(done.error());
  if (!stages_.axes) {
    stages_.axes = stages_.axes_found;
    stages_.axes_doubts.clear();
    for (const FailedCorrection& failed : ApplyAxesCorrections(working_recipe_, *stages_.page, *stages_.ridges, *stages_.axes))
      stages_.axes_doubts.push_back(LostCorrection(failed.index, recipe_.corrections[failed.index], failed.reason));
  }
  if (auto done = Do("curves", kCurvesAt, stages_.evidence, progress, [&] { return GatherEvidence(); }); !done) return std::unexpected(done.error());
  if (auto done = Do("judge", kJudgeAt, stages_.parts, progress, [&] { return Judge(); }); !done) return std::unexpected(done.error());
  auto result = Finish();
  if (result) result->times = times_;
  if (progress) progress("done", 1.0);
  return result;
}

}  // namespace islebook
