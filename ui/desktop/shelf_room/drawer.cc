#include "ui/desktop/shelf_room/drawer.h"

#include <algorithm>

#include <QButtonGroup>
#include <QCheckBox>
#include <QComboBox>
#include <QDir>
#include <QFileInfo>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QRadioButton>
#include <QScrollArea>
#include <QStyle>
#include <QToolButton>
#include <QVBoxLayout>

#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/file_question.h"

namespace islebook {
namespace {

QString Text(const std::string& text) { return QString::fromStdString(text); }

QLabel* Words(const char* name, QWidget* parent) {
  auto* label = new QLabel(parent);
  label->setObjectName(name);
  label->setWordWrap(true);
  label->setTextFormat(Qt::PlainText);
  label->setTextInteractionFlags(Qt::TextSelectableByMouse);
  return label;
}

void SetLimit(QWidget* widget, bool limit) {
  if (widget->property("limit").toBool() == limit) return;
  widget->setProperty("limit", limit);
  widget->style()->unpolish(widget);
  widget->style()->polish(widget);
}

// A unit such as kg/s is not broken at its stroke.
QString Unbroken(QString words) { return words.replace(QLatin1Char('/'), QStringLiteral("/\u2060")); }

// A file's name without a character that a file system or a shell stumbles over.
QString SafeStem(QString stem) {
  for (QChar& c : stem)
    if (QStringLiteral("/\\:*?\"<>|").contains(c)) c = QLatin1Char('-');
  return stem.isEmpty() ? QStringLiteral("map") : stem;
}

}  // namespace

WritePage::WritePage(const QString& name, const QString& heading, const QString& button, const std::vector<Kind>& kinds, QWidget* parent)
    : QWidget(parent), kinds_(kinds), kind_(new QComboBox(this)), file_(new QLineEdit(this)), remark_(Words("", this)), rows_(new QVBoxLayout(this)) {
  setObjectName(name);
  rows_->setContentsMargins(0, 0, 0, 0);
  auto* title = new QLabel(heading, this);
  title->setProperty("heading", true);
  rows_->addWidget(title);
  auto* row = new QHBoxLayout;
  kind_->setObjectName(name + QStringLiteral("_kind"));
  kind_->setAccessibleName(tr("What to write"));
  for (const Kind& kind : kinds_) {
    kind_->addItem(kind.words);
    kind_->setItemData(kind_->count() - 1, kind.twin, Qt::ToolTipRole);
  }
  kind_->setVisible(kinds_.size() > 1);
  file_->setObjectName(name + QStringLiteral("_file"));
  file_->setAccessibleName(tr("File to write"));
  auto* browse = new QPushButton(tr("Browse"), this);
  browse->setToolTip(tr("Choose the folder and the name by eye"));
  auto* write = new QPushButton(button, this);
  write->setObjectName(name + QStringLiteral("_write"));
  write->setProperty("main", true);
  row->addWidget(kind_);
  row->addWidget(file_, 1);
  row->addWidget(browse);
  row->addWidget(write);
  rows_->addLayout(row);
  remark_->setObjectName(name + QStringLiteral("_remark"));
  remark_->setProperty("faint", true);
  rows_->addWidget(remark_);
  connect(kind_, &QComboBox::currentIndexChanged, this, &WritePage::TakeKind);
  connect(write, &QPushButton::clicked, this, &WritePage::Write);
  connect(file_, &QLineEdit::returnPressed, this, &WritePage::Write);
  connect(browse, &QPushButton::clicked, this, [this] {
    const QString ending = kinds_[static_cast<std::size_t>(std::max(kind_->currentIndex(), 0))].ending;
    AskForFile(this,
               {.title = tr("File to write"),
                .start = file_->text(),
                .kinds = QStringLiteral("*") + ending,
                .to_write = true,
                .asks_before_replacing = false},
               [this](const QStringList& files) { file_->setText(files.front()); });
  });
}

void WritePage::Open(const QString& folder, const QString& stem) {
  confirmed_.clear();
  const std::size_t kind = static_cast<std::size_t>(std::max(kind_->currentIndex(), 0));
  file_->setText(QDir(folder).filePath(SafeStem(stem) + kinds_[kind].ending));
  SetRemark(kinds_[kind].twin);
  file_->setFocus();
  file_->setCursorPosition(static_cast<int>(file_->text().size()));
}

QString WritePage::File() const { return file_->text().trimmed(); }

void WritePage::SetRemark(const QString& words, bool limit) {
  remark_->setText(words);
  remark_->setProperty("faint", !limit);
  SetLimit(remark_, limit);
}

void WritePage::AddOption(QWidget* option) { rows_->insertWidget(rows_->count() - 1, option); }

void WritePage::TakeKind() {
  const auto kind = static_cast<std::size_t>(std::max(kind_->currentIndex(), 0));
  QString file = File();
  // The longest first, so that ".map.json" goes as a whole.
  std::vector<QString> endings;
  for (const Kind& one : kinds_) endings.push_back(one.ending);
  std::sort(endings.begin(), endings.end(), [](const QString& a, const QString& b) { return a.size() > b.size(); });
  for (const QString& ending : endings) {
    if (!file.endsWith(ending)) continue;
    file.chop(ending.size());
    break;
  }
  file_->setText(file + kinds_[kind].ending);
  SetRemark(kinds_[kind].twin);
}

void WritePage::Write() {
  QString file = File();
  if (file.isEmpty()) {
    SetRemark(tr("Say where to: a folder and a name."), true);
    return;
  }
  if (QDir::isRelativePath(file)) file = QDir::home().filePath(file);
  if (QFileInfo::exists(file) && confirmed_ != file) {
    confirmed_ = file;
    SetRemark(tr("%1 is there already. The same again replaces it.").arg(file), true);
    return;
  }
  confirmed_.clear();
  emit WriteAsked(file);
}

ParcelPage::ParcelPage(QWidget* parent) : QWidget(parent), signature_(Words("parcel_signature", this)), maps_(Words("parcel_maps", this)) {
  setObjectName("parcel_page");
  auto* rows = new QVBoxLayout(this);
  rows->setContentsMargins(0, 0, 0, 0);
  auto* title = new QLabel(tr("A parcel, not yet unpacked"), this);
  title->setProperty("heading", true);
  rows->addWidget(title);
  rows->addWidget(signature_);
  auto* scroll = new QScrollArea(this);
  scroll->setAccessibleName(tr("What the parcel holds"));
  scroll->setWidgetResizable(true);
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setWidget(maps_);
  scroll->setMaximumHeight(160);
  maps_->setAlignment(Qt::AlignTop | Qt::AlignLeft);
  rows->addWidget(scroll);
  auto* row = new QHBoxLayout;
  unpack_ = new QPushButton(tr("Unpack onto the shelf"), this);
  unpack_->setObjectName("parcel_unpack");
  unpack_->setProperty("main", true);
  unpack_->setToolTip(tr("Nothing that is on the shelf is changed.\nislebook parcel unpack FILE"));
  trust_ = new QPushButton(tr("Trust this key"), this);
  trust_->setObjectName("parcel_trust");
  trust_->setToolTip(tr("First ask that shop for its key by another way, and compare.\nislebook parcel trust KEY"));
  row->addWidget(unpack_);
  row->addWidget(trust_);
  row->addStretch(1);
  rows->addLayout(row);
  connect(unpack_, &QPushButton::clicked, this, [this] { emit UnpackAsked(file_); });
  connect(trust_, &QPushButton::clicked, this, [this] { emit TrustAsked(file_); });
}

void ParcelPage::Show(const ParcelWords& words) {
  file_ = words.file;
  signature_->setText(QStringLiteral("%1: %2.").arg(QFileInfo(words.file).fileName(), words.signature));
  SetLimit(signature_, words.wrong || words.unknown);
  maps_->setText((QStringList{words.sheets} + words.maps).join(QLatin1Char('\n')));
  unpack_->setEnabled(!words.wrong);
  trust_->setVisible(words.unknown);
  (words.wrong ? static_cast<QWidget*>(this) : unpack_)->setFocus();
}

MergePage::MergePage(QWidget* parent) : QWidget(parent), heading_(Words("merge_heading", this)), layout_(new QVBoxLayout(this)) {
  setObjectName("merge_page");
  layout_->setContentsMargins(0, 0, 0, 0);
  heading_->setProperty("heading", true);
  layout_->addWidget(heading_);
  merge_ = new QPushButton(tr("Merge"), this);
  merge_->setObjectName("merge_now");
  merge_->setProperty("main", true);
  auto* row = new QHBoxLayout;
  row->addWidget(merge_);
  row->addStretch(1);
  layout_->addLayout(row);
  connect(merge_, &QPushButton::clicked, this, [this] { emit MergeDecided(name_, branch_, Choices()); });
}

void MergePage::Show(const QString& name, const QString& branch, const std::vector<MergeConflict>& conflicts) {
  name_ = name;
  branch_ = branch;
  numbers_.clear();
  delete rows_;
  auto* scroll = new QScrollArea(this);
  rows_ = scroll;
  scroll->setWidgetResizable(true);
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setMaximumHeight(260);
  auto* inner = new QWidget;
  auto* grid = new QGridLayout(inner);
  grid->setContentsMargins(0, 0, 0, 0);
  grid->setColumnStretch(0, 2);
  grid->setColumnStretch(1, 3);
  grid->setColumnStretch(2, 3);
  int row = 0;
  for (const MergeConflict& conflict : conflicts) {
    numbers_.push_back(conflict.number);
    auto* what = new QLabel(QStringLiteral("%1. %2").arg(conflict.number).arg(Unbroken(Text(conflict.what))), inner);
    what->setWordWrap(true);
    auto* group = new QButtonGroup(inner);
    grid->addWidget(what, row, 0, Qt::AlignTop);
    int column = 1;
    for (const auto& [words, side] :
         {std::pair{Text(conflict.ours), QStringLiteral("ours")}, std::pair{Text(conflict.theirs), QStringLiteral("theirs")}}) {
      auto* choice = new QRadioButton(side == QLatin1String("ours") ? tr("Main line") : tr("Branch"), inner);
      choice->setObjectName(QStringLiteral("merge_%1_%2").arg(conflict.number).arg(side));
      choice->setAccessibleName(QStringLiteral("%1: %2").arg(Text(conflict.what), words));
      group->addButton(choice);
      connect(choice, &QRadioButton::toggled, this, [this] {
        const MergeChoices choices = Choices();
        merge_->setEnabled(choices.by_number.size() == numbers_.size());
      });
      auto* cell = new QWidget(inner);
      auto* lines = new QVBoxLayout(cell);
      lines->setContentsMargins(0, 0, 0, 0);
      lines->setSpacing(0);
      lines->addWidget(choice);
      auto* label = new QLabel(Unbroken(words), cell);
      label->setWordWrap(true);
      label->setTextFormat(Qt::PlainText);
      lines->addWidget(label);
      grid->addWidget(cell, row, column++, Qt::AlignTop);
    }
    ++row;
  }
  scroll->setWidget(inner);
  scroll->setMinimumHeight(std::min(inner->heightForWidth(420) > 0 ? inner->heightForWidth(420) : inner->sizeHint().height(), 220));
  layout_->insertWidget(1, scroll);
  heading_->setText(tr("Both sides of %1 changed the same %2. Choose for each; what only one side changed is kept.")
                        .arg(name, conflicts.size() == 1 ? tr("thing") : tr("things")));
  merge_->setEnabled(false);
}

MergeChoices MergePage::Choices() const {
  MergeChoices choices;
  for (int number : numbers_) {
    for (const auto& [word, side] : {std::pair{"ours", MergeSide::kOurs}, std::pair{"theirs", MergeSide::kTheirs}}) {
      const auto* button = findChild<QRadioButton*>(QStringLiteral("merge_%1_%2").arg(number).arg(QLatin1String(word)));
      if (button != nullptr && button->isChecked()) choices.by_number[number] = side;
    }
  }
  return choices;
}

Drawer::Drawer(QWidget* parent) : QFrame(parent), layout_(new QVBoxLayout) {
  setObjectName("drawer");
  setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Maximum);
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(12, 8, 8, 8);
  layout_->setContentsMargins(0, 0, 0, 0);
  row->addLayout(layout_, 1);
  auto* close = new QToolButton(this);
  close->setObjectName("drawer_close");
  close->setText(tr("Close"));
  close->setToolTip(tr("Close  [Esc]"));
  row->addWidget(close, 0, Qt::AlignTop);
  connect(close, &QToolButton::clicked, this, &Drawer::Close);
  hide();
}

void Drawer::AddPage(QWidget* page) {
  layout_->addWidget(page);
  page->hide();
  pages_.push_back(page);
}

void Drawer::Open(QWidget* page) {
  for (QWidget* other : pages_) other->setVisible(other == page);
  page_ = page;
  show();
}

void Drawer::Close() {
  page_ = nullptr;
  hide();
}

}  // namespace islebook
