#include "ui/desktop/shelf_room/shelf_search.h"

#include <QAction>
#include <QComboBox>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QStyle>
#include <QToolButton>
#include <QVBoxLayout>

#include "mapstore/bench/shop_units.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

QLineEdit* Field(QWidget* parent, const char* name, const QString& accessible, const QString& hint) {
  auto* field = new QLineEdit(parent);
  field->setObjectName(name);
  field->setAccessibleName(accessible);
  field->setPlaceholderText(hint);
  field->setMinimumWidth(60);
  return field;
}

}  // namespace

ShelfSearch::ShelfSearch(Workplace& workplace, QWidget* room, QWidget* parent) : QWidget(parent), workplace_(workplace) {
  words_ = Field(this, "search_words", tr("Words to look for"), tr("Find words in names, titles, tags, notes"));
  words_->setClearButtonEnabled(true);
  kind_ = new QComboBox(this);
  kind_->setObjectName("search_kind");
  kind_->setAccessibleName(tr("Kind of map"));
  kind_->addItem(tr("both kinds"), QString());
  kind_->addItem(tr("compressors"), QStringLiteral("compressor"));
  kind_->addItem(tr("turbines"), QStringLiteral("turbine"));
  tag_ = new QComboBox(this);
  tag_->setObjectName("search_tag");
  tag_->setAccessibleName(tr("Tag"));
  tag_->addItem(tr("any tag"), QString());
  tag_->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  tag_->setMinimumContentsLength(8);
  inducer_ = Field(this, "search_inducer", tr("Inducer in mm"), tr("inducer 50..60"));
  inducer_->setToolTip(tr("Inducer in mm: a size, or a span such as 50..60\nislebook shelf find --inducer 50..60"));
  exducer_ = Field(this, "search_exducer", tr("Exducer in mm"), tr("exducer, mm"));
  exducer_->setToolTip(tr("Exducer in mm: a size, or a span such as 50..60\nislebook shelf find --exducer 50..60"));

  by_point_ = MakeDeed(room, {"shelf.covers", tr("Covers a point"), QKeySequence("Ctrl+P"), tr("islebook shelf find --flow F --pressure-ratio P")});
  by_point_->setCheckable(true);
  removed_ = MakeDeed(room, {"shelf.show_removed", tr("Removed"), QKeySequence("Ctrl+Shift+D"), tr("islebook shelf find --removed")});
  removed_->setCheckable(true);
  newest_ = MakeDeed(room, {"shelf.newest", tr("Newest first"), QKeySequence("Ctrl+T"), tr("islebook shelf list --json (time)")});
  newest_->setCheckable(true);

  point_ = new QWidget(this);
  point_->setObjectName("search_point");
  auto* point = new QGridLayout(point_);
  point->setContentsMargins(0, 0, 0, 0);
  point->setHorizontalSpacing(6);
  flow_ = Field(point_, "search_flow", tr("Corrected mass flow"), {});
  ratio_ = Field(point_, "search_ratio", tr("Pressure ratio"), tr("2.4"));
  margin_ = Field(point_, "search_margin", tr("Surge margin at least"), tr("10 %"));
  efficiency_ = Field(point_, "search_efficiency", tr("Efficiency at least"), tr("72 %"));
  int row = 0;
  const auto add = [&](const QString& words, QWidget* field, int column) {
    auto* label = new QLabel(words, point_);
    label->setBuddy(field);
    point->addWidget(label, row, column * 2);
    point->addWidget(field, row, column * 2 + 1);
    if (column == 1) ++row;
  };
  add(tr("Flow"), flow_, 0);
  add(tr("PR"), ratio_, 1);
  add(tr("Margin ≥"), margin_, 0);
  add(tr("Eff. ≥"), efficiency_, 1);
  auto* note = new QLabel(tr("Flow corrected to 15 °C (288.15 K) and 101.325 kPa."), point_);
  note->setProperty("faint", true);
  note->setWordWrap(true);
  point->addWidget(note, row, 0, 1, 4);
  point_->hide();
  like_ = new QLabel(this);
  like_->setObjectName("search_like");
  like_->setWordWrap(true);
  like_->hide();
  progress_ = new QLabel(this);
  progress_->setObjectName("search_progress");
  progress_->setProperty("faint", true);
  progress_->hide();

  auto* rows = new QVBoxLayout(this);
  rows->setContentsMargins(10, 10, 10, 6);
  rows->setSpacing(6);
  rows->addWidget(words_);
  auto* second = new QHBoxLayout;
  second->addWidget(kind_, 1);
  second->addWidget(tag_, 1);
  rows->addLayout(second);
  auto* third = new QHBoxLayout;
  third->addWidget(inducer_, 1);
  third->addWidget(exducer_, 1);
  rows->addLayout(third);
  auto* deeds = new QHBoxLayout;
  deeds->setSpacing(2);
  deeds->addWidget(DeedButton(by_point_, this));
  deeds->addWidget(DeedButton(newest_, this));
  deeds->addWidget(DeedButton(removed_, this));
  deeds->addStretch(1);
  rows->addLayout(deeds);
  rows->addWidget(point_);
  rows->addWidget(like_);
  rows->addWidget(progress_);

  for (QLineEdit* field : {words_, inducer_, exducer_, flow_, ratio_, margin_, efficiency_})
    connect(field, &QLineEdit::textChanged, this, &ShelfSearch::Changed);
  for (QComboBox* box : {kind_, tag_}) connect(box, &QComboBox::currentIndexChanged, this, &ShelfSearch::Changed);
  connect(by_point_, &QAction::toggled, this, [this](bool on) {
    point_->setVisible(on);
    if (on) flow_->setFocus();
    Changed();
  });
  connect(removed_, &QAction::toggled, this, &ShelfSearch::Changed);
  connect(newest_, &QAction::toggled, this, &ShelfSearch::Changed);
  connect(&workplace_, &Workplace::UnitsChanged, this, [this] {
    TakeUnits();
    if (Question().AsksForPoint()) emit Asked();
  });
  TakeUnits();
  last_ = Question();
}

void ShelfSearch::TakeUnits() { flow_->setPlaceholderText(QString::fromStdString(Shop(workplace_.units()).Flow(0.42))); }

ShelfQuestion ShelfSearch::Question() const {
  ShelfQuestion question;
  question.words = words_->text();
  question.kind = kind_->currentData().toString();
  question.tag = tag_->currentData().toString();
  question.inducer = inducer_->text().trimmed();
  question.exducer = exducer_->text().trimmed();
  question.removed = removed_->isChecked();
  question.by_point = by_point_->isChecked();
  question.flow = flow_->text().trimmed();
  question.pressure_ratio = ratio_->text().trimmed();
  question.surge_margin = margin_->text().trimmed();
  question.efficiency = efficiency_->text().trimmed();
  question.like = like_name_;
  question.newest_first = newest_->isChecked();
  return question;
}

void ShelfSearch::Changed() {
  MarkWrong({});
  const ShelfQuestion question = Question();
  if (question == last_) return;
  last_ = question;
  emit Asked();
}

void ShelfSearch::SetLike(const QString& name) {
  like_name_ = name;
  like_->setText(tr("Like %1, the likest first. Escape shows all again.").arg(name));
  like_->setVisible(!name.isEmpty());
  Changed();
}

void ShelfSearch::Clear() {
  {
    const QSignalBlocker hold(this);
    for (QLineEdit* field : {words_, inducer_, exducer_, flow_, ratio_, margin_, efficiency_}) field->clear();
    kind_->setCurrentIndex(0);
    tag_->setCurrentIndex(0);
    removed_->setChecked(false);
    SetLike({});
  }
  last_ = Question();
  emit Asked();
}

void ShelfSearch::SetTags(const QStringList& tags) {
  const QString chosen = tag_->currentData().toString();
  QStringList there;
  for (int i = 1; i < tag_->count(); ++i) there << tag_->itemData(i).toString();
  if (there == tags) return;
  const QSignalBlocker hold(tag_);
  while (tag_->count() > 1) tag_->removeItem(1);
  for (const QString& tag : tags) tag_->addItem(tag, tag);
  const int at = tag_->findData(chosen);
  tag_->setCurrentIndex(std::max(at, 0));
}

void ShelfSearch::MarkWrong(const QString& field) {
  for (QLineEdit* edit : {words_, inducer_, exducer_, flow_, ratio_, margin_, efficiency_}) {
    const bool wrong = !field.isEmpty() && edit->objectName() == field;
    if (edit->property("wrong").toBool() == wrong) continue;
    edit->setProperty("wrong", wrong);
    edit->style()->unpolish(edit);
    edit->style()->polish(edit);
  }
}

void ShelfSearch::ShowProgress(const QString& words) {
  progress_->setText(words);
  progress_->setVisible(!words.isEmpty());
}

}  // namespace islebook
