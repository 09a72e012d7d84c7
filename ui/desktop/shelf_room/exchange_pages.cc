#include "ui/desktop/shelf_room/exchange_pages.h"

#include <utility>

#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QScrollArea>
#include <QStyle>
#include <QVBoxLayout>

#include "ui/desktop/shelf_room/shelf_rows.h"

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

QPushButton* Button(const QString& words, const char* name, const QString& twin, QWidget* parent) {
  auto* button = new QPushButton(words, parent);
  button->setObjectName(name);
  button->setToolTip(twin);
  return button;
}

void SetLimit(QWidget* widget, bool limit) {
  widget->setProperty("limit", limit);
  widget->style()->unpolish(widget);
  widget->style()->polish(widget);
}

}  // namespace

ImportPage::ImportPage(QWidget* parent)
    : QWidget(parent),
      heading_(Words("import_heading", this)),
      lines_(Words("import_lines", this)),
      keep_(Button(tr("Take it over"), "import_keep", tr("islebook import FILE"), this)),
      for_chosen_(Button(tr("As a correction of the chosen map"), "import_for_chosen", tr("islebook import FILE --corrects NAME"), this)),
      as_new_(Button(tr("As a map of its own"), "import_as_new", tr("islebook import FILE --new"), this)) {
  setObjectName("import_page");
  auto* rows = new QVBoxLayout(this);
  rows->setContentsMargins(0, 0, 0, 0);
  auto* title = new QLabel(tr("A table of curves, not yet taken over"), this);
  title->setProperty("heading", true);
  rows->addWidget(title);
  rows->addWidget(heading_);
  auto* scroll = new QScrollArea(this);
  scroll->setAccessibleName(tr("What the table changes"));
  scroll->setWidgetResizable(true);
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setWidget(lines_);
  scroll->setMaximumHeight(180);
  lines_->setAlignment(Qt::AlignTop | Qt::AlignLeft);
  rows->addWidget(scroll);
  keep_->setProperty("main", true);
  auto* row = new QHBoxLayout;
  for (QPushButton* button : {keep_, for_chosen_, as_new_}) row->addWidget(button);
  row->addStretch(1);
  rows->addLayout(row);
  connect(keep_, &QPushButton::clicked, this, &ImportPage::KeepAsked);
  connect(for_chosen_, &QPushButton::clicked, this, [this] { emit ReadForChosenAsked(order_); });
  connect(as_new_, &QPushButton::clicked, this, [this] { emit ReadAsked({order_.file, std::nullopt, true}); });
}

void ImportPage::Show(std::shared_ptr<const Import> import, const ImportOrder& order) {
  import_ = std::move(import);
  order_ = order;
  QStringList lines;
  if (import_->base) {
    const QString name = Text(import_->base->name);
    heading_->setText(import_->ChangesNothing()
                          ? tr("%1 says the same as %2: there is nothing to take over.").arg(Text(import_->file), name)
                          : Counted(static_cast<qint64>(import_->changes.size()), tr("%2 corrects %3: %1 change."), tr("%2 corrects %3: %1 changes."))
                                .arg(Text(import_->file), name));
    for (const std::string& change : import_->changes) lines << Text(change);
    if (import_->recipe_entries > 0) lines << tr("The map's recipe takes them too: they stand when the sheet is digitized again.");
  } else {
    heading_->setText(Counted(static_cast<qint64>(import_->map.curves.size()), tr("%2 is a map of its own, with %1 curve. It becomes %3."),
                              tr("%2 is a map of its own, with %1 curves. It becomes %3."))
                          .arg(Text(import_->file), Text(import_->ProposedName())));
  }
  SetLimit(heading_, false);
  for (const std::string& doubt : import_->doubts) lines << tr("To look at: %1").arg(Text(doubt));
  lines_->setText(lines.join(QLatin1Char('\n')));
  keep_->setEnabled(!import_->ChangesNothing());
  as_new_->setVisible(import_->base.has_value());
  (keep_->isEnabled() ? keep_ : as_new_)->setFocus();
}

void ImportPage::ShowRefused(const ImportOrder& order, const QString& why) {
  import_.reset();
  order_ = order;
  heading_->setText(why);
  SetLimit(heading_, true);
  lines_->clear();
  keep_->setEnabled(false);
  as_new_->setVisible(!order.as_new);
  for_chosen_->setFocus();
}

KeysPage::KeysPage(QWidget* parent)
    : QWidget(parent),
      own_(Words("keys_own", this)),
      remark_(Words("keys_remark", this)),
      shop_(new QLineEdit(this)),
      key_(new QLineEdit(this)),
      name_(new QLineEdit(this)),
      make_(Button(tr("Make this shop's key"), "keys_make", tr("islebook parcel key --name SHOP"), this)),
      hand_out_(Button(tr("Write it for others"), "keys_hand_out", tr("islebook parcel key --out FILE"), this)),
      trust_(
          Button(tr("Trust it"), "keys_trust", tr("First compare it with that shop by another way.\nislebook parcel trust KEY --name SHOP"), this)),
      forget_(Button(tr("Trust no longer"), "keys_forget", tr("islebook parcel trust KEY --remove"), this)),
      trusted_(new QListWidget(this)) {
  setObjectName("keys_page");
  const auto field = [this](QLineEdit* edit, const char* name, const QString& words) {
    edit->setObjectName(name);
    edit->setAccessibleName(words);
    edit->setPlaceholderText(words);
  };
  field(shop_, "keys_shop", tr("The name of this shop"));
  field(key_, "keys_key", tr("Another shop's key: its 64 digits, or the file it sent"));
  field(name_, "keys_name", tr("The name of that shop, where the key does not say"));
  trusted_->setObjectName("keys_trusted");
  trusted_->setAccessibleName(tr("Keys that are trusted"));
  trusted_->setMaximumHeight(96);
  auto* rows = new QVBoxLayout(this);
  rows->setContentsMargins(0, 0, 0, 0);
  auto* title = new QLabel(tr("Keys: who packed a parcel"), this);
  title->setProperty("heading", true);
  rows->addWidget(title);
  rows->addWidget(own_);
  auto* mine = new QHBoxLayout;
  mine->addWidget(shop_, 1);
  mine->addWidget(make_);
  mine->addWidget(hand_out_);
  rows->addLayout(mine);
  auto* others = new QHBoxLayout;
  auto* look = Button(tr("Browse"), "keys_browse", tr("Look for the key's file"), this);
  others->addWidget(key_, 2);
  others->addWidget(look);
  others->addWidget(name_, 1);
  others->addWidget(trust_);
  rows->addLayout(others);
  auto* list = new QHBoxLayout;
  list->addWidget(trusted_, 1);
  list->addWidget(forget_, 0, Qt::AlignTop);
  rows->addLayout(list);
  rows->addWidget(remark_);
  connect(make_, &QPushButton::clicked, this, [this] { emit MakeAsked(shop_->text().trimmed()); });
  connect(shop_, &QLineEdit::returnPressed, make_, &QPushButton::click);
  connect(hand_out_, &QPushButton::clicked, this, &KeysPage::HandOutAsked);
  connect(look, &QPushButton::clicked, this, &KeysPage::FileAsked);
  const auto trust = [this] { emit TrustAsked(key_->text().trimmed(), name_->text().trimmed()); };
  connect(trust_, &QPushButton::clicked, this, trust);
  connect(key_, &QLineEdit::returnPressed, this, trust);
  connect(name_, &QLineEdit::returnPressed, this, trust);
  connect(forget_, &QPushButton::clicked, this, [this] {
    if (const auto* item = trusted_->currentItem()) emit ForgetAsked(item->data(Qt::UserRole).toString());
  });
  connect(trusted_, &QListWidget::currentRowChanged, this, [this](int row) { forget_->setEnabled(row >= 0); });
  Show({});
}

void KeysPage::Show(const KeyWords& keys) {
  const bool has_own = !keys.own_name.isEmpty();
  own_->setText(has_own ? tr("This shop signs as %1. Its key, for others to compare: %2").arg(keys.own_name, keys.own_key)
                        : tr("This shop has no key yet, so its parcels are not signed. A key is made once and never replaced."));
  shop_->setVisible(!has_own);
  make_->setVisible(!has_own);
  hand_out_->setVisible(has_own);
  trusted_->clear();
  for (const KeyWords::Trusted& key : keys.trusted) {
    auto* item = new QListWidgetItem(QStringLiteral("%1   %2").arg(key.name, key.key), trusted_);
    item->setData(Qt::UserRole, QString(key.key).remove(QLatin1Char(' ')));
  }
  forget_->setEnabled(false);
  key_->clear();
  name_->clear();
  SetRemark(keys.trusted.empty() ? tr("No other shop's key is trusted yet.") : QString(), false);
}

void KeysPage::SetKey(const QString& key) {
  key_->setText(key);
  key_->setFocus();
}

void KeysPage::SetRemark(const QString& words, bool limit) {
  remark_->setText(words);
  remark_->setVisible(!words.isEmpty());
  SetLimit(remark_, limit);
}

}  // namespace islebook
