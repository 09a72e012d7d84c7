#include "digitizer/axes/axes.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "digitizer/axes/axis_fit.h"
#include "digitizer/axes/bare_axes.h"
#include "digitizer/axes/candidate_fit.h"
#include "digitizer/axes/frame_find.h"
#include "digitizer/axes/frame_words.h"
#include "digitizer/axes/furniture.h"
#include "digitizer/axes/long_lines.h"
#include "digitizer/axes/notes.h"
#include "digitizer/axes/panel_axes.h"
#include "digitizer/axes/side_reading.h"
#include "digitizer/axes/ticks.h"

namespace islebook {
namespace {

bool Mirrors(const SideAxis& a, const SideAxis& b) {
  const double span = std::max(1e-12, std::abs(a.fit.axis.max - a.fit.axis.min));
  return a.fit.axis.scale == b.fit.axis.scale && std::abs(a.fit.axis.min - b.fit.axis.min) < 0.02 * span &&
         std::abs(a.fit.axis.max - b.fit.axis.max) < 0.02 * span;
}

struct PanelWork {
  PanelReading reading;
  std::vector<int> number_words, title_words;
  std::vector<std::string> notes;
  bool perspective_open = false;
};

// "bottom: 0 10 20", for the stage's notes.
std::string TextsOf(const SideNumbers& numbers, const char* side) {
  std::string out = side;
  for (const SeriesNumber& n : numbers.numbers) {
    out += " " + n.number.text;
    if (n.number.digits_before_point) out += fmt::format("{{.{}}}", *n.number.digits_before_point);
    if (n.number.raised_digits > 0) out += fmt::format("{{^{}}}", n.number.raised_digits);
  }
  return out;
}

void Use(const std::vector<int>& words, std::vector<bool>* used) {
  for (int w : words) (*used)[w] = true;
}

// Numbers on end, up the page or down it, where no level ones stand.
void TryTurnedNumbers(const std::vector<PlacedWord>& placed, Side side, WordReadings& readings, SideReadingOptions options, SideNumbers& numbers) {
  const auto agreeing = [](const SideNumbers& n) {
    if (n.numbers.size() < 2) return std::size_t{0};
    const auto series = FitNumberSeries(n.numbers);
    return series ? series->used.size() : std::size_t{0};
  };
  std::size_t best = agreeing(numbers);
  for (const int turns : {-1, 1}) {
    options.number_turns = turns;
    SideNumbers turned = ReadSideNumbers(placed, side, readings, options);
    const std::size_t n = agreeing(turned);
    if (n < 3 || n <= best) continue;
    best = n;
    numbers = std::move(turned);
  }
}

// A row of numbers that goes on past the end of its side in the same steps belongs to a longer axis: the frame is too short.
void DoubtNumbersBeyond(const std::vector<PlacedWord>& placed, Side side, const SideReadingOptions& options, WordReadings& readings, SideAxis* axis) {
  const NumberSeries& series = axis->series;
  if (series.scale != AxisScale::kLinear || series.step == 0.0 || series.used.size() < 3) return;
  const double length = side == kBottom || side == kTop ? options.width_px : options.height_px;
  const double pitch = std::abs(series.step / series.slope);
  for (const PlacedWord& word : placed) {
    const SidePlace place = PlaceAtSide(word, side, options.width_px, options.height_px);
    const double beyond = place.t > 1.0 ? place.t - 1.0 : -place.t;
    if (beyond * length < 0.6 * options.digit_height_px || beyond > 1.3 * pitch) continue;
    if (place.near_px < axis->numbers.near_px - 0.6 * options.digit_height_px ||
        place.near_px > axis->numbers.near_px + 0.6 * options.digit_height_px)
      continue;
    const double steps = std::round((series.ValueAt(place.t) - series.values.front()) / series.step);
    const double value = series.values.front() + steps * series.step;
    if (std::abs((value - series.offset) / series.slope - place.t) > 0.08 * pitch) continue;
    NumberText text;
    const Reading& reading = readings.Number({word.word}, word.row_angle_deg);
    text.text = reading.text;
    text.confidence = reading.confidence;
    if (reading.confidence < 0.5 || TextAgreement(text, FormatNumber(value, series.decimals)) < 0.85) continue;
    axis->fit.doubts.push_back(fmt::format("its numbers go on to {:g} beyond the end of the plot that was found, which may be too short", value));
    axis->fit.confidence = std::min(axis->fit.confidence, 0.45);
    return;
  }
}

PanelWork ReadPanel(const FrameCandidate& candidate, const FrameMapping& frame, double line_width, const Page& page, double digit_height,
                    std::vector<bool>* used, WordReadings& readings) {
  PanelWork work;
  PanelReading& p = work.reading;
  p.frame = frame;
  p.candidate = candidate;
  const double width = frame.WidthPx(), height = frame.HeightPx();
  p.marks = FindMarks(page, frame, line_width);
  const std::vector<PlacedWord> placed = PlaceWords(readings.words(), frame, digit_height);
  SideReadingOptions options{width, height, digit_height};
  std::array<SideNumbers, 4> numbers;
  for (const Side side : {kBottom, kLeft, kRight, kTop}) {
    if (side == kTop && numbers[kBottom].numbers.size() >= 3) continue;
    numbers[side] = ReadSideNumbers(placed, side, readings, options);
    if (side != kTop && numbers[side].numbers.size() < 3) TryTurnedNumbers(placed, side, readings, options, numbers[side]);
  }
  static constexpr const char* kNames[] = {"above:", "right:", "below:", "left:"};
  for (const Side side : {kBottom, kLeft, kRight, kTop}) {
    if (numbers[side].numbers.size() >= 2) work.notes.push_back(TextsOf(numbers[side], kNames[side]));
  }
  for (const SideNumbers& n : numbers) Use(n.words, used);
  std::array<SideTitle, 4> titles;
  for (const Side side : {kBottom, kLeft, kRight, kTop}) {
    if (side == kTop && numbers[kTop].numbers.size() < 3) continue;
    titles[side] = ReadSideTitle(placed, side, std::max(0.0, numbers[side].far_px), *used, readings, options);
    if (titles[side].meaning.matter != AxisMatter::kUnknown) Use(titles[side].words, used);
  }
  const auto calibrate = [&](Side side) {
    const bool across = side == kBottom || side == kTop;
    return numbers[side].numbers.size() < 2
               ? std::optional<SideAxis>()
               : CalibrateSide(numbers[side], titles[side], AxisMarks(p.marks, side, candidate, across ? width : height), across ? width : height);
  };
  p.x = calibrate(kBottom);
  p.x_title = titles[kBottom];
  if (!p.x || p.x->fit.numbers_used < 2) {
    if (auto top = calibrate(kTop)) p.x = std::move(top), p.x_title = titles[kTop];
  }
  if (p.x) DoubtNumbersBeyond(placed, kBottom, options, readings, &*p.x);
  p.y = calibrate(kLeft);
  if (p.y) DoubtNumbersBeyond(placed, kLeft, options, readings, &*p.y);
  p.y_title = titles[kLeft];
  p.right = calibrate(kRight);
  p.right_title = titles[kRight];
  if (p.right && p.right->fit.numbers_used < 3) p.right.reset();
  if (!p.y && p.right) {
    p.y = std::move(p.right);
    p.right.reset();
    if (p.y_title.meaning.matter == AxisMatter::kUnknown) p.y_title = p.right_title;
  } else if (p.y && p.right) {
    p.right->mirrored = Mirrors(*p.y, *p.right);
  }
  // A title that stands elsewhere: above the upper left corner, level.
  for (auto* side : {&p.y}) {
    if (!*side || (*side)->title.meaning.matter != AxisMatter::kUnknown) continue;
    std::vector<PlacedWord> near;
    for (const PlacedWord& w : placed) {
      if (w.center.v > 1.0 && w.center.u < 0.4) near.push_back(w);
    }
    SideTitle title = ReadSideTitle(near, kTop, 0.0, *used, readings, options);
    if (title.meaning.confidence >= 0.6 && title.meaning.matter != AxisMatter::kOther) {
      (*side)->title = title;
      (*side)->fit.title = title.text;
      p.y_title = title;
      Use(title.words, used);
    }
  }
  for (const Side side : {kBottom, kLeft, kRight, kTop}) {
    work.number_words.insert(work.number_words.end(), numbers[side].words.begin(), numbers[side].words.end());
    if (titles[side].meaning.matter != AxisMatter::kUnknown)
      work.title_words.insert(work.title_words.end(), titles[side].words.begin(), titles[side].words.end());
  }
  if (p.y_title.meaning.matter != AxisMatter::kUnknown)
    work.title_words.insert(work.title_words.end(), p.y_title.words.begin(), p.y_title.words.end());
  return work;
}

}  // namespace

Result<void> AxesOptions::Check() const {
  if (!(min_frame_part > 0.02 && min_frame_part < 1.0))
    return Fail(ErrorCode::kInvalidArgument, "min_frame_part must lie between 0.02 and 1.", "min_frame_part");
  return {};
}

Result<AxesFound> FindAxes(const Page& page, const RidgesFound& ridges, const PrintFound& print, PrintReader& reader, const AxesOptions& options) {
  if (auto checked = options.Check(); !checked) return std::unexpected(checked.error());
  if (page.ink.empty()) return Fail(ErrorCode::kInvalidArgument, "There is no page to look for a plot on.");
  const double longer = std::max(page.extent.area() > 0 ? std::max(page.extent.width, page.extent.height) : 0,
                                 page.extent.area() > 0 ? 0 : std::max(page.ink.cols, page.ink.rows));
  const double digit_height = print.digit_height_px > 3.0 ? print.digit_height_px : 0.012 * longer;

  LongLineOptions line_options;
  line_options.longer_side_px = longer;
  line_options.min_length_px = std::max(30.0, 0.25 * options.min_frame_part * longer);
  const LongLines lines = FindLongLines(ridges, page, line_options);
  AxesFound found;
  found.chain_is_furniture.assign(ridges.chains.size(), false);
  found.print_use.assign(print.words.size(), PrintUse::kNone);
  if (!lines.found) return Fail(ErrorCode::kNoChart, "No chart was found: the picture holds no long straight lines.");

  FrameFindOptions find_options;
  find_options.min_side_px = options.min_frame_part * longer;
  find_options.digit_height_px = digit_height;
  const FramesFound frames = FindFrames(lines, print.words, find_options);
  if (frames.frames.empty()) return Fail(ErrorCode::kNoChart, "No chart was found: no plot frame and no pair of axes stands out among the lines.");

  std::vector<bool> used(print.words.size(), false);
  WordReadings readings(page, print.words, reader);
  std::vector<PanelWork> works;
  for (const FrameCandidate& seen : frames.frames) {
    const FrameCandidate candidate = RefineBareEnds(page, lines, seen);
    const auto fit = FitCandidate(lines, candidate, page);
    if (!fit) continue;
    std::vector<double> masses;
    for (int l : candidate.lines) {
      if (l >= 0) masses.push_back(lines.lines[l].ink_mass);
    }
    const double line_width = masses.empty() ? 2.0 : *std::max_element(masses.begin(), masses.end());
    PanelWork work = ReadPanel(candidate, fit->fit.mapping, line_width, page, digit_height, &used, readings);
    if (!work.reading.x && !work.reading.y && !works.empty()) continue;
    work.perspective_open = fit->perspective_open;
    works.push_back(std::move(work));
    if (works.size() >= 4) break;
  }
  if (works.empty())
    return Fail(ErrorCode::kNoChart, "No chart was found: the sides of the likeliest plot do not agree with any flat or gently bent page.");

  std::vector<PanelReading> panels;
  for (PanelWork& w : works) panels.push_back(w.reading);
  found.report.doubts = SettleQuantities(&panels);

  if (std::any_of(works.begin(), works.end(), [](const PanelWork& w) { return w.perspective_open; }))
    found.report.doubts.push_back(
        "the sheet lies askew and only two sides of the plot are drawn; nothing on it tells how it leans, so values far from the axes may be off");

  std::vector<FurnitureFrame> furniture;
  for (std::size_t i = 0; i < panels.size(); ++i) {
    PanelReading& p = panels[i];
    Panel panel;
    panel.frame = p.frame;
    if (p.x) panel.x = p.x->fit;
    if (p.y) panel.y = p.y->fit;
    if (p.right) panel.right = p.right->fit;
    for (const Mark& m : p.marks.grid_u) panel.grid_u.push_back(m.t);
    for (const Mark& m : p.marks.grid_v) panel.grid_v.push_back(m.t);
    panel.confidence = std::min(panel.x ? panel.x->confidence : 0.1, panel.y ? panel.y->confidence : 0.1);
    found.panels.push_back(std::move(panel));
    furniture.push_back({&p.frame, &p.candidate, &p.marks});
    found.report.notes.insert(found.report.notes.end(), works[i].notes.begin(), works[i].notes.end());
    for (int w : works[i].number_words) found.print_use[w] = PrintUse::kTickNumber;
    for (int w : works[i].title_words) found.print_use[w] = PrintUse::kAxisTitle;
    found.report.notes.push_back(fmt::format("panel {}: {:.0f} x {:.0f} px, {}, sides off by {:.2f} px; {} + {} grid lines", i + 1, p.frame.WidthPx(),
                                             p.frame.HeightPx(), p.frame.model(), p.frame.residual_px(), p.marks.grid_u.size(),
                                             p.marks.grid_v.size()));
  }
  std::vector<FrameCandidate> boxes = frames.boxes;
  for (const PanelReading& p : panels) {
    const std::vector<FrameCandidate> rounded = FindChainBoxes(ridges, p.frame, print.words, digit_height);
    boxes.insert(boxes.end(), rounded.begin(), rounded.end());
  }
  found.chain_is_furniture = MarkFurniture(ridges, furniture, boxes);

  // The rest of the print.
  std::vector<bool> inside_box(print.words.size(), false);
  for (std::size_t i = 0; i < print.words.size(); ++i) {
    inside_box[i] = std::any_of(boxes.begin(), boxes.end(), [&](const FrameCandidate& b) { return InsideQuad(b.corners, print.words[i].center); });
    if (found.print_use[i] != PrintUse::kNone) used[i] = true;
  }
  const FrameMapping& main = panels.front().frame;
  double top_v = 1.0;
  for (const PanelReading& p : panels)
    top_v = std::max(top_v, std::min(main.FrameFromImage(p.frame.Corners()[0]).v, main.FrameFromImage(p.frame.Corners()[1]).v));
  const NotesFound notes =
      ReadNotes(PlaceWords(print.words, main, digit_height), used, inside_box, top_v, readings, {main.WidthPx(), main.HeightPx(), digit_height});
  for (const NoteLine& line : notes.lines) {
    for (int w : line.words) found.print_use[w] = line.use;
    if (!line.text.empty()) found.report.notes.push_back("print: " + line.text);
  }
  // What stands well outside every plot labels no curve: scale lines' numbers, page numbers.
  for (std::size_t i = 0; i < print.words.size(); ++i) {
    if (found.print_use[i] != PrintUse::kNone) continue;
    const bool near = std::any_of(panels.begin(), panels.end(),
                                  [&](const PanelReading& p) { return InsideQuad(p.frame.Corners(), print.words[i].center, 6.0 * digit_height); });
    if (!near) found.print_use[i] = PrintUse::kNote;
  }
  found.title = notes.title;
  found.reference_conditions = notes.reference_conditions;
  found.report.doubts.insert(found.report.doubts.end(), notes.doubts.begin(), notes.doubts.end());

  double confidence = 0.0;
  for (const Panel& p : found.panels) confidence = std::max(confidence, p.confidence);
  found.report.confidence = confidence;
  for (const Panel& p : found.panels) {
    for (const auto& [axis, name] : {std::pair{&p.x, "x axis"}, std::pair{&p.y, "y axis"}, std::pair{&p.right, "right axis"}}) {
      if (!*axis) continue;
      for (const std::string& d : (*axis)->doubts) found.report.doubts.push_back(fmt::format("{}: {}", name, d));
    }
    if (!p.x && !p.y)
      found.report.doubts.push_back("no numbers could be made out along the axes");
    else if (!p.x)
      found.report.doubts.push_back("the x axis could not be calibrated: its numbers form no series, or what it shows is unknown");
    else if (!p.y)
      found.report.doubts.push_back("the y axis could not be calibrated: its numbers form no series, or what it shows is unknown");
  }
  found.report.notes.push_back(fmt::format("{} readings of print", readings.calls()));
  return found;
}

}  // namespace islebook
