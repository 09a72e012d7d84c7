#include "ui/desktop/shelf_room/map_facts_panel.h"

#include <QAction>
#include <QFormLayout>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QLocale>
#include <QStyle>
#include <QVBoxLayout>

#include "ui/chart/ticks.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/shelf_room/shelf_rows.h"

namespace islebook {
namespace {

QString Text(const std::string& text) { return QString::fromStdString(text); }

void Mark(QLineEdit* edit, bool wrong) {
  if (edit->property("wrong").toBool() == wrong) return;
  edit->setProperty("wrong", wrong);
  edit->style()->unpolish(edit);
  edit->style()->polish(edit);
}

QLabel* Heading(const QString& words, QWidget* buddy, QWidget* parent) {
  auto* label = new QLabel(words, parent);
  label->setProperty("heading", true);
  label->setBuddy(buddy);
  label->setContentsMargins(0, 8, 0, 0);
  return label;
}

}  // namespace

MapFactsPanel::MapFactsPanel(QWidget* parent) : QWidget(parent) {
  auto* rows = new QVBoxLayout(this);
  rows->setContentsMargins(0, 0, 0, 0);
  rows->setSpacing(4);

  auto* form = new QFormLayout;
  form->setContentsMargins(0, 0, 0, 0);
  form->setVerticalSpacing(3);
  form->setFieldGrowthPolicy(QFormLayout::AllNonFixedFieldsGrow);
  const auto field = [&](const char* name, const QString& words, std::string WheelData::* text, std::optional<double> WheelData::* number) {
    auto* edit = new QLineEdit(this);
    edit->setObjectName(name);
    edit->setMinimumWidth(40);
    edit->setAccessibleName(words);
    form->addRow(words, edit);
    fields_.push_back({edit, text, number});
    connect(edit, &QLineEdit::editingFinished, this, [this, at = fields_.size() - 1] { TakeField(fields_[at]); });
    connect(edit, &QLineEdit::textEdited, this, [edit] { Mark(edit, false); });
  };
  field("wheel_maker", tr("Maker"), &WheelData::maker, nullptr);
  field("wheel_model", tr("Model"), &WheelData::model, nullptr);
  field("wheel_inducer", tr("Inducer, mm"), nullptr, &WheelData::inducer_mm);
  field("wheel_exducer", tr("Exducer, mm"), nullptr, &WheelData::exducer_mm);
  field("wheel_trim", tr("Trim"), nullptr, &WheelData::trim);
  field("wheel_area_ratio", tr("Turbine A/R"), nullptr, &WheelData::turbine_area_ratio);
  field("wheel_limit", tr("Speed limit, rpm"), nullptr, &WheelData::speed_limit_rpm);
  rows->addWidget(Heading(tr("Wheel"), fields_.front().edit, this));
  rows->addLayout(form);
  doubts_ = new QLabel(this);
  doubts_->setObjectName("wheel_doubts");
  doubts_->setProperty("limit", true);
  doubts_->setWordWrap(true);
  doubts_->setTextFormat(Qt::PlainText);
  doubts_->hide();
  rows->addWidget(doubts_);

  tags_ = new QListWidget(this);
  tags_->setObjectName("tags");
  tags_->setAccessibleName(tr("Tags; Delete takes the chosen one off"));
  tags_->setFlow(QListView::LeftToRight);
  tags_->setWrapping(true);
  tags_->setResizeMode(QListView::Adjust);
  tags_->setSpacing(2);
  tags_->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
  QAction* drop = MakeDeed(tags_, {"shelf.untag", tr("Take the tag off"), QKeySequence("Del"), tr("islebook shelf tag NAME --off TAG")});
  connect(drop, &QAction::triggered, this, &MapFactsPanel::DropTag);
  new_tag_ = new QLineEdit(this);
  new_tag_->setObjectName("new_tag");
  new_tag_->setAccessibleName(tr("Tag to add"));
  new_tag_->setPlaceholderText(tr("Add a tag, then Enter"));
  new_tag_->setToolTip(tr("islebook shelf tag NAME TAG"));
  connect(new_tag_, &QLineEdit::returnPressed, this, &MapFactsPanel::TakeTag);
  connect(new_tag_, &QLineEdit::textEdited, this, [this] { Mark(new_tag_, false); });
  rows->addWidget(Heading(tr("Tags"), new_tag_, this));
  rows->addWidget(tags_);
  rows->addWidget(new_tag_);

  notes_ = new QLabel(this);
  notes_->setObjectName("notes");
  notes_->setWordWrap(true);
  notes_->setTextFormat(Qt::PlainText);
  notes_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  new_note_ = new QLineEdit(this);
  new_note_->setObjectName("new_note");
  new_note_->setAccessibleName(tr("Note to add"));
  new_note_->setPlaceholderText(tr("Add a note, then Enter"));
  new_note_->setToolTip(tr("Notes stay: they cannot be taken back.\nislebook shelf note NAME TEXT"));
  connect(new_note_, &QLineEdit::returnPressed, this, [this] {
    const QString text = new_note_->text().trimmed();
    if (name_.isEmpty() || text.isEmpty()) return;
    new_note_->clear();
    emit NoteAdded(name_, text);
  });
  rows->addWidget(Heading(tr("Notes"), new_note_, this));
  rows->addWidget(notes_);
  rows->addWidget(new_note_);
  Show({}, {});
}

void MapFactsPanel::Show(const QString& name, const MapFacts& facts) {
  const bool same_map = name == name_;
  name_ = name;
  facts_ = facts;
  setEnabled(!name.isEmpty());
  if (!same_map) {
    new_tag_->clear();
    new_note_->clear();
    for (const Field& field : fields_) Mark(field.edit, false);
  }
  ShowWheel();
  tags_->clear();
  for (const std::string& tag : facts_.tags) tags_->addItem(Text(tag));
  tags_->setVisible(!facts_.tags.empty());
  tags_->setFixedHeight(tags_->fontMetrics().lineSpacing() * (facts_.tags.size() > 4 ? 3 : 2) + 6);
  QStringList notes;
  for (const MapNote& note : facts_.notes) notes << QStringLiteral("%1 \u00b7 %2\n%3").arg(TimeWords(note.time), Text(note.author), Text(note.text));
  notes_->setText(notes.join(QStringLiteral("\n\n")));
  notes_->setVisible(!notes.isEmpty());
}

void MapFactsPanel::ShowWheel() {
  const WheelData wheel = facts_.wheel.value_or(WheelData{});
  for (const Field& field : fields_) {
    if (field.edit->hasFocus() && field.edit->isModified()) continue;  // being typed
    const QString words =
        field.words != nullptr ? Text(wheel.*field.words) : (wheel.*field.number ? Text(ValueOnChart(*(wheel.*field.number))) : QString());
    if (field.edit->text() != words) field.edit->setText(words);
  }
  QStringList doubts;
  for (const std::string& doubt : WheelDoubts(wheel)) doubts << Text(doubt);
  doubts_->setText(doubts.join(QLatin1Char('\n')));
  doubts_->setVisible(!doubts.isEmpty());
}

void MapFactsPanel::TakeField(const Field& field) {
  if (name_.isEmpty() || !field.edit->isModified()) return;
  const WheelData before = facts_.wheel.value_or(WheelData{});
  WheelData after = before;
  const QString typed = field.edit->text().trimmed();
  const auto refuse = [&](const QString& words) {
    Mark(field.edit, true);
    emit Refused(words);
  };
  if (field.words != nullptr) {
    after.*field.words = typed.toStdString();
  } else if (typed.isEmpty()) {
    after.*field.number = std::nullopt;
  } else {
    bool good = false;
    const double value = QLocale::c().toDouble(QString(typed).remove(QLatin1Char(',')), &good);
    if (!good) {
      refuse(tr("%1 is a number, such as 52 or 70.5.").arg(field.edit->accessibleName()));
      return;
    }
    after.*field.number = value;
  }
  if (const Result<void> checked = CheckWheel(after); !checked) {
    refuse(Text(checked.error().message));
    return;
  }
  field.edit->setModified(false);
  Mark(field.edit, false);
  if (after == before) return;
  facts_.wheel = after;
  ShowWheel();
  emit WheelEdited(name_, before, after);
}

void MapFactsPanel::TakeTag() {
  const QString tag = new_tag_->text().trimmed();
  if (name_.isEmpty() || tag.isEmpty()) return;
  if (const Result<void> good = CheckTag(tag.toStdString()); !good) {
    Mark(new_tag_, true);
    emit Refused(Text(good.error().message));
    return;
  }
  new_tag_->clear();
  emit TagEdited(name_, tag, true);
}

void MapFactsPanel::DropTag() {
  if (const QListWidgetItem* item = tags_->currentItem(); item != nullptr && !name_.isEmpty()) emit TagEdited(name_, item->text(), false);
}

}  // namespace islebook
