// What a person can do in the shelf room with a colleague's tables and with keys.

#include <QDir>
#include <QFileInfo>
#include <QSettings>

#include "ui/desktop/frame/file_question.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/shelf_room/key_deeds.h"
#include "ui/desktop/shelf_room/shelf_room.h"

namespace islebook {
namespace {

QString WordsOf(const Error& error) {
  const QString message = QString::fromStdString(error.message);
  return error.place.empty() ? message : QString::fromStdString(error.place) + QStringLiteral(": ") + message;
}

}  // namespace

void ShelfRoom::MakeExchange() {
  import_ = new ImportPage(drawer_);
  keys_ = new KeysPage(drawer_);
  drawer_->AddPage(import_);
  drawer_->AddPage(keys_);
  connect(import_, &ImportPage::KeepAsked, this, &ShelfRoom::KeepTable);
  connect(import_, &ImportPage::ReadAsked, this, &ShelfRoom::LookIntoTable);
  connect(import_, &ImportPage::ReadForChosenAsked, this, [this](const ImportOrder& order) {
    if (const QString name = ChosenOne(); !name.isEmpty()) LookIntoTable({order.file, name.toStdString(), false});
  });
  connect(keys_, &KeysPage::MakeAsked, this, [this](const QString& name) {
    const Result<void> made = MakeShopKey(name);
    if (!made) return keys_->SetRemark(WordsOf(made.error()), true);
    OpenKeys();
    keys_->SetRemark(tr("The key is made. Keep a copy of shop.key where only you can read it."), false);
  });
  connect(keys_, &KeysPage::TrustAsked, this, [this](const QString& key, const QString& name) {
    const Result<QString> trusted = TrustKey(key, name);
    if (!trusted) return keys_->SetRemark(WordsOf(trusted.error()), true);
    OpenKeys();
    keys_->SetRemark(*trusted, false);
  });
  connect(keys_, &KeysPage::ForgetAsked, this, [this](const QString& key) {
    const Result<void> done = ForgetKey(key);
    if (!done) return keys_->SetRemark(WordsOf(done.error()), true);
    OpenKeys();
    keys_->SetRemark(tr("The key is no longer trusted. What was unpacked stays."), false);
  });
  const auto folder = [this] { return workplace().habits().value("shelf/folder", QDir::homePath()).toString(); };
  connect(keys_, &KeysPage::HandOutAsked, this, [this, folder] {
    AskForFile(this,
               {.title = tr("This shop's key for others"),
                .start = folder() + QStringLiteral("/shop.key.txt"),
                .kinds = tr("Keys (*.txt)"),
                .to_write = true},
               [this](const QStringList& files) {
                 const Result<void> written = WriteShopKey(files.front().toStdString());
                 if (!written) return keys_->SetRemark(WordsOf(written.error()), true);
                 keys_->SetRemark(tr("Give %1 to those who are to trust this shop.").arg(files.front()), false);
               });
  });
  connect(keys_, &KeysPage::FileAsked, this, [this, folder] {
    AskForFile(this, {.title = tr("The key that another shop sent"), .start = folder(), .kinds = tr("All files (*)")},
               [this](const QStringList& files) { keys_->SetKey(files.front()); });
  });
}

void ShelfRoom::OpenKeys() {
  const Result<KeyWords> keys = ReadKeys();
  drawer_->Open(keys_);
  keys_->Show(keys.value_or(KeyWords{}));
  if (!keys) keys_->SetRemark(WordsOf(keys.error()), true);
}

void ShelfRoom::LookIntoTable(const ImportOrder& order) {
  workplace().Say(tr("Reading %1 ...").arg(QString::fromStdString(order.file.filename().string())));
  seeker_.Do(this, {}, [this, order, shelf = workplace().shelf_file().string()](ClerkDesk&) -> ShelfClerk::Outcome {
    auto import = std::make_shared<Result<Import>>(ReadImport(order, shelf));
    return [this, import, order] {
      drawer_->Open(import_);
      if (!*import) {
        import_->ShowRefused(order, WordsOf(import->error()));
        workplace().Complain(import->error());
        return;
      }
      import_->Show(std::shared_ptr<const Import>(import, &**import), order);
      workplace().Say(tr("Nothing was taken over yet."));
    };
  });
}

void ShelfRoom::KeepTable() {
  const std::shared_ptr<const Import> import = import_->import();
  if (import == nullptr) return;
  const KeepOrder order{{}, workplace().author().toStdString(), {}};
  seeker_.Do(this, {}, [this, import, order, shelf = workplace().shelf_file().string()](ClerkDesk&) -> ShelfClerk::Outcome {
    const Result<KeptImport> kept = KeepImport(*import, order, shelf);
    return [this, kept] {
      if (!kept) return workplace().Complain(kept.error());
      const QString name = QString::fromStdString(kept->name);
      drawer_->Close();
      wanted_ = name;
      workplace().Say(!kept->is_new ? tr("The shelf held it already, as %1.").arg(name)
                      : kept->diverged
                          ? tr("%1 has changed since the table was written: the correction stands on the branch \u201c%2\u201d; compare and merge.")
                                .arg(name, QString::fromStdString(kept->branch))
                          : tr("%1 is on the shelf with what the table says.").arg(name));
      workplace().ShelfHasChanged(name);
    };
  });
}

}  // namespace islebook
