#include "ui/desktop/frame/file_question.h"

#include <QFileDialog>
#include <QFileInfo>
#include <QRegularExpression>

namespace islebook {
namespace {

// "PDF (*.pdf)" -> "pdf": what a name without an ending gets.
QString EndingOf(const QString& kind) {
  static const QRegularExpression ending(QStringLiteral("\\*\\.([A-Za-z0-9.]+)"));
  return ending.match(kind).captured(1);
}

}  // namespace

void AskForFile(QWidget* owner, const FileQuestion& question, std::function<void(const QStringList& files)> then) {
  for (QFileDialog* open : owner->findChildren<QFileDialog*>(QString(), Qt::FindDirectChildrenOnly)) open->close();
  const QFileInfo start(question.start);
  const bool is_file = !question.start.isEmpty() && !start.isDir();
  auto* dialog = new QFileDialog(owner, question.title, is_file ? start.path() : question.start, question.kinds);
  dialog->setObjectName(QStringLiteral("file_question"));
  dialog->setAttribute(Qt::WA_DeleteOnClose);
  dialog->setFileMode(question.to_write ? QFileDialog::AnyFile : question.several ? QFileDialog::ExistingFiles : QFileDialog::ExistingFile);
  if (question.to_write) {
    dialog->setAcceptMode(QFileDialog::AcceptSave);
    dialog->setOption(QFileDialog::DontConfirmOverwrite, !question.asks_before_replacing);
    dialog->setDefaultSuffix(EndingOf(dialog->selectedNameFilter()));
    QObject::connect(dialog, &QFileDialog::filterSelected, dialog, [dialog](const QString& kind) { dialog->setDefaultSuffix(EndingOf(kind)); });
  }
  if (is_file) dialog->selectFile(start.fileName());
  QObject::connect(dialog, &QFileDialog::filesSelected, owner, [then = std::move(then)](const QStringList& files) {
    if (!files.isEmpty()) then(files);
  });
  dialog->open();
}

}  // namespace islebook
