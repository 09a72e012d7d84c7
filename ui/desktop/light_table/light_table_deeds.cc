// What a person can do at the light table, with its keys and its twins on the command line.

#include <cmath>
#include <utility>

#include <QAction>
#include <QApplication>
#include <QClipboard>
#include <QDir>
#include <QFileInfo>
#include <QHBoxLayout>
#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>
#include <QLineEdit>
#include <QPushButton>
#include <QSettings>
#include <QSpinBox>
#include <QToolButton>

#include "ui/chart/chart_words.h"
#include "ui/desk/curve_place.h"
#include "ui/desktop/frame/carried.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/file_question.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/light_table/accept_form.h"
#include "ui/desktop/light_table/axes_facts.h"
#include "ui/desktop/light_table/chart_view.h"
#include "ui/desktop/light_table/curve_facts.h"
#include "ui/desktop/light_table/doubts_list.h"
#include "ui/desktop/light_table/light_table.h"
#include "ui/desktop/light_table/notice_line.h"

namespace islebook {
namespace {

constexpr double kReach = 12.0;       // screen px from a curve that still mean it
constexpr double kClosesReach = 9.0;  // screen px: a trace that ends where it began is closed

QString JsonOf(const CorrectionStep& step) {
  const auto recipe = QJsonDocument::fromJson(QByteArray::fromStdString(WriteRecipe({{}, {{step, {}}}})));
  return QString::fromUtf8(QJsonDocument(recipe.object()["corrections"].toArray().first().toObject()).toJson(QJsonDocument::Compact));
}

}  // namespace

QAction* LightTable::AddDeed(const Deed& deed, const QString& short_words, std::function<void()> act) {
  QAction* action = MakeDeed(this, {QStringLiteral("light_table.") + deed.id, deed.words, deed.key, deed.twin});
  action->setIconText(short_words);
  connect(action, &QAction::triggered, this, [act = std::move(act)] { act(); });
  deeds_[deed.id] = action;
  return action;
}

void LightTable::MakeDeeds() {
  const QString for_the_eye = tr("for the eye only; islebook digitize --proof draws the curves over the sheet");
  const auto button = [this](const char* id) {
    QToolButton* made = DeedButton(deeds_[id], this);
    made->setProperty("tool", true);
    made->setToolButtonStyle(Qt::ToolButtonTextUnderIcon);
    made->setIconSize(QSize(20, 20));
    tool_row_->addWidget(made);
  };
  const auto gap = [this] { tool_row_->addSpacing(6); };

  AddDeed({"open", tr("Open a sheet"), QKeySequence::Open, {}}, tr("Open"), [this] {
    const FileQuestion question{
        .title = tr("Open a sheet"),
        .start = workplace().habits().value("light_table/folder").toString(),
        .kinds = tr("Sheets (*.jpg *.jpeg *.png *.tif *.tiff *.webp *.bmp *.pbm *.pgm *.ppm *.pnm *.pdf *.svg);;All files (*)"),
        .several = true};
    AskForFile(this, question, [this](const QStringList& files) {
      workplace().habits().setValue("light_table/folder", QFileInfo(files.front()).absolutePath());
      waiting_ += files;
      OpenNext();
    });
  });
  AddDeed({"paste", tr("Paste a sheet from the clipboard"), QKeySequence::Paste, tr("islebook digitize FILE, the picture saved as a file")},
          tr("Paste"), [this] { Paste(); });
  AddDeed({"undo", tr("Undo"), QKeySequence("Ctrl+Z"), {}}, tr("Undo"), [this] { work_.history().undo(); });
  AddDeed({"redo", tr("Do it again"), QKeySequence("Ctrl+Shift+Z"), {}}, tr("Redo"), [this] { work_.history().redo(); });
  for (const char* id : {"open", "undo", "redo"}) button(id);
  gap();

  const std::pair<const char*, TableTool> tools[] = {
      {"trace", TableTool::kTrace}, {"cut", TableTool::kCut}, {"join", TableTool::kJoin}, {"corners", TableTool::kCorners}};
  const Deed tool_deeds[] = {{"trace", tr("Trace a curve through a few places"), QKeySequence("T"), {}},
                             {"cut", tr("Cut a curve in two"), QKeySequence("C"), {}},
                             {"join", tr("Join two curves"), QKeySequence("J"), {}},
                             {"corners", tr("Move the plot's corners"), QKeySequence("F"), {}}};
  const QString tool_words[] = {tr("Trace"), tr("Cut"), tr("Join"), tr("Corners")};
  for (std::size_t i = 0; i < 4; ++i) {
    const TableTool tool = tools[i].second;
    AddDeed(tool_deeds[i], tool_words[i], [this, tool] { UseTool(view_->tool() == tool ? TableTool::kChoose : tool); })->setCheckable(true);
    button(tools[i].first);
  }
  AddDeed({"trace_anew", tr("Trace the chosen curve anew: it goes away for the new one"), QKeySequence("Shift+T"), {}}, tr("Anew"), [this] {
    TraceAnew();
  })->setCheckable(true);
  button("trace_anew");
  AddDeed({"delete", tr("Delete the chosen curve"), QKeySequence::Delete, {}}, tr("Delete"), [this] { DeleteChosen(); });
  AddDeed({"accept_curve", tr("The chosen curve is right as it is"), QKeySequence("A"), {}}, tr("It is right"), [this] { AcceptCurveAsItIs(); });
  AddDeed({"relabel", tr("Give the chosen curve its value; or just type the number"), QKeySequence("V"), {}}, tr("Value"),
          [this] { curve_->EditValue(); });
  for (const char* id : {"delete", "accept_curve"}) button(id);
  gap();

  const std::tuple<const char*, const char*, CurveRole, QString> roles[] = {
      {"role_speed", "S", CurveRole::kSpeedLine, tr("It is a speed line (of a turbine: a flow line)")},
      {"role_surge", "G", CurveRole::kSurgeLine, tr("It is the surge line")},
      {"role_choke", "K", CurveRole::kChokeLine, tr("It is the choke line")},
      {"role_efficiency", "E", CurveRole::kEfficiencyIsland, tr("It is an efficiency island (of a turbine: an efficiency line)")},
      {"role_other", "O", CurveRole::kOther, tr("It is none of these")}};
  for (const auto& [id, key, role, words] : roles) AddDeed({id, words, QKeySequence(key), {}}, words, [this, r = role] { GiveRole(r); });

  AddDeed({"next_doubt", tr("Go to the next doubt"), QKeySequence("N"), tr("the list that islebook digitize prints")}, tr("Next doubt"),
          [this] { doubts_->Step(1); });
  AddDeed({"previous_doubt", tr("Go to the doubt before"), QKeySequence("Shift+N"), tr("the list that islebook digitize prints")}, tr("Doubt before"),
          [this] { doubts_->Step(-1); });
  AddDeed({"next_curve", tr("Choose the next curve"), QKeySequence("PgDown"), for_the_eye}, tr("Next curve"), [this] { StepCurve(1); });
  AddDeed({"previous_curve", tr("Choose the curve before"), QKeySequence("PgUp"), for_the_eye}, tr("Curve before"), [this] { StepCurve(-1); });
  AddDeed({"axis_x", tr("Put the axis across right"), QKeySequence("X"), {}}, tr("Axis across"), [this] { axes_->EditAxis(AxisSide::kX); });
  AddDeed({"axis_y", tr("Put the axis up right"), QKeySequence("Y"), {}}, tr("Axis up"), [this] { axes_->EditAxis(AxisSide::kY); });
  AddDeed({"reference", tr("Put the reference conditions right"), QKeySequence("R"), {}}, tr("Reference"), [this] { axes_->EditReference(); });
  AddDeed(
      {"kind", tr("It is the other kind of map: compressor or turbine"), QKeySequence("Ctrl+K"), tr("islebook digitize --kind compressor|turbine")},
      tr("Kind"), [this] {
        if (work_.has_map()) work_.SetKind(work_.map().kind == MapKind::kCompressor ? MapKind::kTurbine : MapKind::kCompressor);
      });

  AddDeed({"whole", tr("Show the whole sheet"), QKeySequence("W"), for_the_eye}, tr("Whole"), [this] { view_->ShowWhole(); });
  AddDeed({"pixels", tr("Show the sheet pixel for pixel"), QKeySequence("D"), for_the_eye}, tr("1:1"), [this] { view_->ShowPixels(); });
  AddDeed({"enlarge", tr("Enlarge"), QKeySequence("+"), for_the_eye}, tr("Larger"), [this] { view_->Enlarge(1.4); });
  AddDeed({"shrink", tr("Make smaller"), QKeySequence("-"), for_the_eye}, tr("Smaller"), [this] { view_->Enlarge(1 / 1.4); });
  AddDeed({"loupe", tr("A loupe under the mouse or the cross"), QKeySequence("L"), for_the_eye}, tr("Loupe"), [this] {
    view_->ShowLoupe(deeds_["loupe"]->isChecked());
  })->setCheckable(true);
  AddDeed({"flattened", tr("Show the sheet with its light and paper evened out"), QKeySequence("B"), tr("islebook digitize --stages DIR (the page)")},
          tr("Evened out"),
          [this] {
            if (deeds_["flattened"]->isChecked())
              work_.digitizing().AskFlattened();
            else
              view_->SetFlattened(std::nullopt);
          })
      ->setCheckable(true);
  QAction* curves = AddDeed({"curves", tr("Show the curves over the sheet"), QKeySequence("H"), tr("islebook digitize --proof")}, tr("Curves"),
                            [this] { view_->ShowMarks(deeds_["curves"]->isChecked()); });
  curves->setCheckable(true);
  curves->setChecked(true);
  for (const char* id : {"whole", "loupe", "flattened", "curves"}) button(id);
  tool_row_->addStretch(1);

  AddDeed({"copy", tr("Copy the curves and the chart"), QKeySequence::Copy, tr("islebook export FILE --curves CSV; islebook chart FILE --png FILE")},
          tr("Copy"), [this] {
            if (!work_.has_map()) return;
            QApplication::clipboard()->setMimeData(CarriedMap().release());
            workplace().Say(tr("On the clipboard: the curves as a table, and the chart as a picture."));
          });
  AddDeed({"next_page", tr("Turn to the next page of the file"), QKeySequence("Ctrl+PgDown"), tr("islebook digitize --page N")}, tr("Next page"),
          [this] { TurnPage(1); });
  AddDeed({"previous_page", tr("Turn to the page before"), QKeySequence("Ctrl+PgUp"), tr("islebook digitize --page N")}, tr("Page before"),
          [this] { TurnPage(-1); });
  AddDeed({"next_map", tr("Show the next map of the sheet"), QKeySequence("M"), tr("islebook digitize writes STEM-2.map.json for the second")},
          tr("Next map"), [this] {
            if (work_.maps().size() > 1) work_.ChooseMap((work_.map_number() + 1) % work_.maps().size());
          });
  AddDeed({"next_sheet", tr("Open the next of the sheets that wait"), QKeySequence("Ctrl+Shift+O"), tr("islebook digitize SHEET SHEET... --out DIR")},
          tr("Next sheet"), [this] {
            if (!PressButton(this, "next_sheet")) workplace().Say(tr("No further sheet waits."));
          });
  AddDeed({"go_on", tr("Go on with the work that was not finished"), QKeySequence("Ctrl+G"), tr("islebook digitize SHEET --recipe FILE")},
          tr("Go on"), [this] {
            if (!PressButton(this, "unfinished_go_on")) workplace().Say(tr("No unfinished work is offered."));
          });
  AddDeed({"put_away", tr("Put the unfinished work away"), QKeySequence("Ctrl+Shift+G"), tr("its folder is moved to put_away")}, tr("Put away"),
          [this] {
            if (!PressButton(this, "unfinished_put_away")) workplace().Say(tr("No unfinished work is offered."));
          });
  AddDeed({"save_recipe", tr("Save the recipe"), QKeySequence::Save, {}}, tr("Save the recipe"), [this] {
    if (!work_.has_sheet()) return workplace().Complain(tr("There is no sheet on the table, and so no recipe."));
    const QString folder = workplace().habits().value("light_table/folder", QDir::homePath()).toString();
    const QString name = QFileInfo(QString::fromStdString(work_.sheet().file)).completeBaseName() + QStringLiteral(".recipe.json");
    AskForFile(this,
               {.title = tr("Save the recipe"), .start = folder + QLatin1Char('/') + name, .kinds = tr("Recipes (*.recipe.json)"), .to_write = true},
               [this](const QStringList& files) { SaveRecipe(files.front()); });
  });
  accept_->AddButton(DeedButton(deeds_["save_recipe"], accept_));
  AddDeed({"accept", tr("Put the map on the shelf"), QKeySequence("Ctrl+Return"),
           tr("islebook shelf add FILE --sheet SHEET --name NAME --message WORDS")},
          tr("Put it on the shelf"), [this] {
            if (accept_->button()->isEnabled())
              accept_->button()->click();
            else
              accept_->EditName();
          });
  AddDeed({"stop", tr("Stop: the tool, else the reading"), QKeySequence("Esc"), tr("Ctrl+C while islebook digitize runs")}, tr("Stop"), [this] {
    view_->setFocus();
    if (view_->tool() != TableTool::kChoose)
      UseTool(TableTool::kChoose);
    else if (work_.digitizing().busy())
      work_.digitizing().Cancel();
    else
      work_.Choose(std::nullopt);
  });
}

// Which deeds can be done now, and how the command line would do them.
void LightTable::TellTwins() {
  const bool has_sheet = work_.has_sheet(), has_map = work_.has_map(), chosen = has_map && work_.chosen().has_value();
  const QString sheet = has_sheet ? QString::fromStdString(work_.sheet().file) : QStringLiteral("SHEET");
  const QString replay = QStringLiteral("islebook digitize %1 --recipe FILE").arg(sheet);
  const auto with = [&](const CorrectionStep& step) { return QStringLiteral("%1   %2").arg(replay, JsonOf(step)); };
  SetTwin(deeds_["open"], QStringLiteral("islebook digitize %1 --out DIR").arg(sheet));
  SetTwin(deeds_["save_recipe"], replay);
  SetTwin(deeds_["undo"], tr("the recipe without its last correction"));
  SetTwin(deeds_["redo"], tr("the recipe with that correction again"));
  QAction* undo = deeds_["undo"];
  QAction* redo = deeds_["redo"];
  undo->setEnabled(work_.history().canUndo());
  redo->setEnabled(work_.history().canRedo());

  const std::optional<CurveNear> near = chosen ? NameCurve(work_.map(), *work_.chosen()) : std::nullopt;
  const CurveNear example = near.value_or(CurveNear{{0, 0}, std::nullopt, std::nullopt});
  const CurveRole roles[] = {CurveRole::kSpeedLine, CurveRole::kSurgeLine, CurveRole::kChokeLine, CurveRole::kEfficiencyIsland, CurveRole::kOther};
  const char* role_ids[] = {"role_speed", "role_surge", "role_choke", "role_efficiency", "role_other"};
  for (std::size_t i = 0; i < 5; ++i) SetTwin(deeds_[role_ids[i]], with(SetRole{example, roles[i]}));
  SetTwin(deeds_["cut"], with(CutCurve{example}));
  SetTwin(deeds_["delete"], with(DeleteCurve{example}));
  SetTwin(deeds_["accept_curve"], with(AcceptCurve{example}));
  SetTwin(deeds_["join"], with(JoinCurves{example, CurveNear{}}));
  SetTwin(deeds_["relabel"], with(RelabelCurve{example, example.value, chosen ? work_.map().curves[*work_.chosen()].unit : std::string()}));
  TraceCurve traced;
  traced.meaning.role = CurveRole::kSpeedLine;
  traced.through = {{0, 0}, {1, 1}};
  SetTwin(deeds_["trace"], with(traced));
  if (chosen) {
    const Curve& curve = work_.map().curves[*work_.chosen()];
    traced.meaning = {curve.role, curve.value, curve.unit};
    traced.instead_of = {example};
  }
  SetTwin(deeds_["trace_anew"], with(traced));
  SetTwin(deeds_["corners"], with(SetFrame{}));
  SetTwin(deeds_["axis_x"], with(SetAxis{.axis = AxisSide::kX, .min = 0.0, .max = 1.0}));
  SetTwin(deeds_["axis_y"], with(SetAxis{.axis = AxisSide::kY, .min = 1.0, .max = 4.0}));
  SetTwin(deeds_["reference"], with(SetReference{}));

  for (const char* id :
       {"trace", "cut", "join", "kind", "axis_x", "axis_y", "reference", "next_curve", "previous_curve", "next_doubt", "previous_doubt", "accept"})
    deeds_[id]->setEnabled(has_map);
  for (const char* id : {"corners", "save_recipe", "whole", "pixels", "enlarge", "shrink", "loupe", "flattened", "curves"})
    deeds_[id]->setEnabled(has_sheet);
  deeds_["trace_anew"]->setEnabled(chosen || anew_);
  for (const char* id : {"delete", "accept_curve", "relabel"}) deeds_[id]->setEnabled(chosen);
  for (const char* id : role_ids) deeds_[id]->setEnabled(chosen || view_->tool() == TableTool::kTrace);
}

// The curves as a table, the chart as a picture: for the clipboard or another window.
std::unique_ptr<Carried> LightTable::CarriedMap() const {
  auto carried = std::make_unique<Carried>([map = work_.map_pointer()] { return ChartView::Picture(*map); });
  PutCurveTable(*carried, work_.map(), work_.sheet().shelf_name, work_.sheet().shelf_revision);
  return carried;
}

std::optional<std::size_t> LightTable::CurveAt(const QPointF& place) const {
  if (!work_.has_map()) return std::nullopt;
  const auto found = FindCurveAt(work_.map(), {place.x(), place.y()}, kReach / view_->scale());
  return found ? std::optional(found->curve) : std::nullopt;
}

void LightTable::Correct(CorrectionStep step, const QString& words) {
  work_.Correct(std::move(step), words);
  if (const QString failure = work_.unfinished().TakeFailure(); !failure.isEmpty())
    workplace().Complain(tr("The work could not be kept for the case of a crash: %1 Save the recipe now and then.").arg(failure));
}

void LightTable::UseTool(TableTool tool) {
  if (tool != TableTool::kChoose && !(tool == TableTool::kCorners ? work_.has_sheet() : work_.has_map())) tool = TableTool::kChoose;
  anew_ = false;
  if (tool == TableTool::kCorners) {
    const QSize size = view_->picture().sheet_size();
    std::array<QPointF, 4> corners{QPointF(size.width() * 0.15, size.height() * 0.15), QPointF(size.width() * 0.85, size.height() * 0.15),
                                   QPointF(size.width() * 0.85, size.height() * 0.85), QPointF(size.width() * 0.15, size.height() * 0.85)};
    if (work_.has_map() && work_.map().calibration)
      for (std::size_t i = 0; i < 4; ++i) corners[i] = QPointF(work_.map().calibration->frame_px[i].x, work_.map().calibration->frame_px[i].y);
    view_->SetCorners(corners);
  }
  if (tool == TableTool::kTrace) {
    trace_role_ = RolesOf(work_.map().kind).front();
    if (work_.chosen()) trace_role_ = work_.map().curves[*work_.chosen()].role;
  }
  view_->SetTool(tool);
  deeds_["trace"]->setChecked(tool == TableTool::kTrace);
  deeds_["trace_anew"]->setChecked(false);
  deeds_["cut"]->setChecked(tool == TableTool::kCut);
  deeds_["join"]->setChecked(tool == TableTool::kJoin);
  deeds_["corners"]->setChecked(tool == TableTool::kCorners);
  if (tool != TableTool::kChoose) view_->setFocus();
  ShowHint();
  TellTwins();
}

void LightTable::TraceAnew() {
  const bool begins = work_.chosen() && !anew_;  // a second time: no longer
  UseTool(begins ? TableTool::kTrace : TableTool::kChoose);
  if (!begins) return;
  anew_ = true;
  deeds_["trace"]->setChecked(false);
  deeds_["trace_anew"]->setChecked(true);
  ShowHint();
}

void LightTable::TurnPage(int by) {
  if (work_.has_sheet() && work_.sheet().pages > 1)
    page_->stepBy(by);
  else
    workplace().Say(tr("There is only one page."));
}

void LightTable::ShowHint() {
  switch (view_->tool()) {
    case TableTool::kChoose: return hint_->Say({});
    case TableTool::kTrace:
      return hint_->Say(
          tr("%1: point at 2 to 4 places along it; it snaps to the ink between them. Double click or Enter twice ends, at the first place closes it. "
             "S, G, K, E, O change what it is. Esc stops.")
              .arg(anew_ && work_.chosen() ? tr("%1, anew").arg(QString::fromStdString(CurveWords(work_.map().curves[*work_.chosen()])))
                                           : RoleWords(trace_role_)));
    case TableTool::kCut: return hint_->Say(tr("Point at the place where the curve is to be cut. Esc stops."));
    case TableTool::kJoin:
      return hint_->Say(work_.chosen() ? tr("Point at the curve that belongs to the chosen one. Esc stops.")
                                       : tr("Point at the first of the two curves. Esc stops."));
    case TableTool::kCorners:
      return hint_->Say(
          tr("Drag a corner; the drawn lines near it are followed, with Shift it stays exactly there. Keys: P takes the next corner, arrows move it, "
             "Enter sets it. Esc ends."));
  }
}

void LightTable::Point(const QPointF& place) {
  const auto curve = CurveAt(place);
  switch (view_->tool()) {
    case TableTool::kChoose: return work_.Choose(curve);
    case TableTool::kTrace: {
      const std::vector<QPointF>& places = view_->places();
      if (places.size() < 3) return;
      const QPointF off = (places.back() - places.front()) * view_->scale();
      if (std::hypot(off.x(), off.y()) < kClosesReach) EndTool();
      return;
    }
    case TableTool::kCut: {
      if (!curve) return workplace().Complain(tr("There is no curve at that place. Point closer to one, or press Esc."));
      const Curve& cut = work_.map().curves[*curve];
      const auto on = FindCurveAt(work_.map(), {place.x(), place.y()}, kReach / view_->scale());
      Correct(CutCurve{CurveNear{on->place, cut.role, cut.value}}, tr("cut"));
      return UseTool(TableTool::kChoose);
    }
    case TableTool::kJoin: {
      if (!curve || curve == work_.chosen())
        return workplace().Complain(tr("There is no other curve at that place. Point closer to one, or press Esc."));
      if (!work_.chosen()) return work_.Choose(curve);
      const auto first = NameCurve(work_.map(), *work_.chosen()), second = NameCurve(work_.map(), *curve);
      if (first && second) Correct(JoinCurves{*first, *second}, tr("join"));
      return UseTool(TableTool::kChoose);
    }
    case TableTool::kCorners: return;
  }
}

void LightTable::EndTool() {
  if (view_->tool() != TableTool::kTrace) return;
  std::vector<QPointF> places = view_->places();
  const auto apart = [&](const QPointF& a, const QPointF& b) { return std::hypot(a.x() - b.x(), a.y() - b.y()) * view_->scale(); };
  TraceCurve step;
  if (places.size() > 3 && apart(places.front(), places.back()) < kClosesReach) {
    step.closed = true;
    places.pop_back();
  }
  for (const QPointF& place : places) {
    if (!step.through.empty() && apart(place, {step.through.back().x, step.through.back().y}) < 2.0) continue;
    step.through.push_back({std::round(place.x() * 10) / 10, std::round(place.y() * 10) / 10});
  }
  if (step.through.size() < 2) return workplace().Complain(tr("A curve needs two places at least. Point at another one, or press Esc."));
  step.meaning.role = trace_role_;
  if (anew_ && work_.chosen()) {
    const Curve& old = work_.map().curves[*work_.chosen()];
    step.meaning.value = old.value;
    step.meaning.unit = old.unit;
    if (const auto gone = NameCurve(work_.map(), *work_.chosen())) step.instead_of = {*gone};
  }
  const bool needs_value = !step.meaning.value && step.instead_of.empty();
  work_.ExpectAt(step.through[step.through.size() / 2]);
  Correct(std::move(step), tr("trace"));
  UseTool(TableTool::kChoose);
  workplace().Say(needs_value ? tr("Traced. Type its value, if it carries one.") : tr("Traced."));
}

void LightTable::TakeCorners(bool exact) {
  SetFrame step;
  for (std::size_t i = 0; i < 4; ++i)
    step.corners[i] = {std::round(view_->corners()[i].x() * 10) / 10, std::round(view_->corners()[i].y() * 10) / 10};
  step.exact = exact;
  Correct(step, tr("corners"));
}

void LightTable::Visit(const ChartDoubt& doubt) {
  if (!work_.has_map()) return;
  if (doubt.curve < 0) {
    work_.Choose(std::nullopt);
    view_->ShowWhole();
    return;
  }
  work_.Choose(static_cast<std::size_t>(doubt.curve));
  GoTo(static_cast<std::size_t>(doubt.curve));
}

void LightTable::GoTo(std::size_t curve) {
  if (curve >= view_->marks().curves().size()) return;
  const QRectF bounds = view_->marks().curves()[curve].bounds;
  if (!bounds.isNull()) view_->Center(bounds);
}

void LightTable::StepCurve(int by) {
  if (!work_.has_map() || work_.map().curves.empty()) return;
  const auto count = static_cast<std::ptrdiff_t>(work_.map().curves.size());
  const std::ptrdiff_t from = work_.chosen() ? static_cast<std::ptrdiff_t>(*work_.chosen()) : by > 0 ? -1 : 0;
  const auto to = static_cast<std::size_t>((from + by + count) % count);
  work_.Choose(to);
}

void LightTable::GiveRole(CurveRole role) {
  if (!work_.has_map()) return;
  if (work_.map().kind == MapKind::kTurbine) {
    if (role == CurveRole::kSpeedLine) role = CurveRole::kFlowLine;
    if (role == CurveRole::kEfficiencyIsland) role = CurveRole::kEfficiencyLine;
    if (role == CurveRole::kSurgeLine || role == CurveRole::kChokeLine)
      return workplace().Complain(tr("A turbine's map has neither a surge line nor a choke line."));
  }
  if (view_->tool() == TableTool::kTrace) {
    trace_role_ = role;
    return ShowHint();
  }
  if (!work_.chosen()) return;
  const auto near = NameCurve(work_.map(), *work_.chosen());
  if (near && near->role != role) Correct(SetRole{*near, role}, tr("role"));
}

void LightTable::Relabel(std::optional<double> value, const QString& unit) {
  if (!work_.has_map() || !work_.chosen()) return;
  const Curve& curve = work_.map().curves[*work_.chosen()];
  const auto near = NameCurve(work_.map(), *work_.chosen());
  if (!near) return;
  // The value that is there already, typed once more, says that it is right.
  if (curve.value == value && (!value || curve.unit == unit.toStdString()) && !curve.needs_review) return;
  Correct(RelabelCurve{*near, value, value ? unit.toStdString() : std::string()}, tr("value"));
}

void LightTable::AcceptCurveAsItIs() {
  if (!work_.has_map() || !work_.chosen()) return;
  if (!work_.map().curves[*work_.chosen()].needs_review) return workplace().Say(tr("Nothing about this curve is in doubt."));
  if (const auto near = NameCurve(work_.map(), *work_.chosen())) Correct(AcceptCurve{*near}, tr("it is right"));
}

void LightTable::DeleteChosen() {
  if (!work_.has_map() || !work_.chosen()) return;
  const auto near = NameCurve(work_.map(), *work_.chosen());
  if (!near) return;
  work_.Choose(std::nullopt);
  Correct(DeleteCurve{*near}, tr("delete"));
}

}  // namespace islebook
