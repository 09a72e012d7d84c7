#include "ui/desktop/bench_room/case_document.h"

#include <span>

#include <QFile>
#include <QFileInfo>
#include <QPlainTextDocumentLayout>
#include <QTextCursor>
#include <QTextDocument>

#include "mapstore/map/whole_file.h"

namespace islebook {
namespace {

constexpr qint64 kLargestCase = 8 << 20;

}  // namespace

CaseDocument::CaseDocument(QObject* parent) : QObject(parent), document_(new QTextDocument(this)) {
  document_->setDocumentLayout(new QPlainTextDocumentLayout(document_));
  document_->setUndoRedoEnabled(true);
  connect(document_, &QTextDocument::contentsChanged, this, [this] {
    Read();
    emit Changed();
  });
  connect(document_, &QTextDocument::modificationChanged, this, [this] { emit FileChanged(); });
}

QString CaseDocument::Text() const { return document_->toPlainText(); }
bool CaseDocument::IsEmpty() const { return document_->isEmpty(); }
std::string CaseDocument::Bytes() const { return Text().toStdString(); }
QString CaseDocument::Folder() const { return file_.isEmpty() ? QString() : QFileInfo(file_).absolutePath(); }
QString CaseDocument::Name() const { return file_.isEmpty() ? tr("new case") : QFileInfo(file_).fileName(); }
bool CaseDocument::IsUnsaved() const { return document_->isModified(); }

void CaseDocument::Take(const QString& text, const QString& file, bool unsaved) {
  file_ = file;
  tree_.reset();
  last_run_.clear();
  document_->setPlainText(text);
  document_->setModified(unsaved);
  emit FileChanged();
}

Result<void> CaseDocument::Open(const QString& file) {
  QFile in(file);
  if (!in.open(QIODevice::ReadOnly))
    return Fail(ErrorCode::kCannotRead, "the case cannot be read: " + in.errorString().toStdString() + ".", file.toStdString());
  if (in.size() > kLargestCase) return Fail(ErrorCode::kBadCase, "it is larger than 8 MB; no case file is.", file.toStdString());
  const QByteArray bytes = in.readAll();
  const QString text = QString::fromUtf8(bytes);
  if (bytes.contains('\0') || text.contains(QChar::ReplacementCharacter))
    return Fail(ErrorCode::kBadCase, "it is no text in UTF-8, as a case is.", file.toStdString());
  Take(text, QFileInfo(file).absoluteFilePath(), false);
  return {};
}

Result<void> CaseDocument::Save(const QString& file) {
  const std::string text = Bytes();
  if (auto written = ReplaceFileContents(file.toStdString(), text); !written) return written;
  file_ = QFileInfo(file).absoluteFilePath();
  document_->setModified(false);
  emit FileChanged();
  return {};
}

void CaseDocument::Read() {
  std::string text = Bytes();
  if (auto parsed = ParseToml(text)) {
    tree_ = std::move(*parsed);
    tree_text_ = std::move(text);
  }
}

QString CaseDocument::Written(const CasePlace& place) const {
  return tree_ ? QString::fromStdString(WrittenValue(tree_text_, *tree_, place).value_or("")) : QString();
}

std::size_t CaseDocument::Count(const char* section) const { return tree_ ? CountSections(*tree_, section) : 0; }

int CaseDocument::Line(const CasePlace& place) const {
  if (!tree_) return 0;
  const TomlNode* node = place.section.empty() ? &*tree_ : tree_->Find(place.section);
  if (node != nullptr && node->kind == TomlNode::Kind::kList) node = place.index < node->items.size() ? &node->items[place.index] : nullptr;
  const TomlNode* value = node != nullptr ? node->Find(place.key) : nullptr;
  return value != nullptr ? value->line : 0;
}

bool CaseDocument::Set(const CasePlace& place, const QString& written, const QString& run) { return SetAll({{place, written.toStdString()}}, run); }

bool CaseDocument::SetAll(const std::vector<CaseValue>& values, const QString& run) {
  std::string text = Bytes();
  std::vector<TextChange> changes;
  for (const CaseValue& value : values) {
    const auto change = SetCaseValue(text, value.place, value.written);
    if (!change) {
      emit Refused(
          QString::fromStdString(change.error().place.empty() ? change.error().message : change.error().place + ": " + change.error().message));
      return false;
    }
    text = islebook::Changed(text, *change);
    changes.push_back(*change);
  }
  return Apply(changes, run);
}

bool CaseDocument::AddSection(const QString& section, const std::vector<std::pair<std::string, std::string>>& values) {
  const auto change = AddCaseSection(Bytes(), section.toStdString(), values);
  if (!change) emit Refused(QString::fromStdString(change.error().message));
  return change && Apply({*change}, {});
}

bool CaseDocument::RemoveSection(const QString& section, std::size_t index) {
  const auto change = RemoveCaseSection(Bytes(), section.toStdString(), index);
  if (!change) emit Refused(QString::fromStdString(change.error().message));
  return change && Apply({*change}, {});
}

bool CaseDocument::Apply(const std::vector<TextChange>& changes, const QString& run) {
  // What changes nothing makes no step.
  std::string text = Bytes();
  std::string after = text;
  for (const TextChange& change : changes) after = islebook::Changed(after, change);
  if (after == text) return true;
  QTextCursor cursor(document_);
  if (!run.isEmpty() && run == last_run_ && document_->revision() == last_revision_ && document_->isUndoAvailable()) {
    cursor.joinPreviousEditBlock();
  } else {
    cursor.beginEditBlock();
  }
  for (const TextChange& change : changes) {
    // The document counts in UTF-16.
    const std::string_view all(text);
    const auto from = static_cast<int>(QString::fromUtf8(all.data(), static_cast<qsizetype>(change.at)).size());
    const auto length = static_cast<int>(QString::fromUtf8(all.data() + change.at, static_cast<qsizetype>(change.length)).size());
    cursor.setPosition(from);
    cursor.setPosition(from + length, QTextCursor::KeepAnchor);
    cursor.insertText(QString::fromStdString(change.with));
    text = islebook::Changed(text, change);
  }
  cursor.endEditBlock();
  last_run_ = run;
  last_revision_ = document_->revision();
  return true;
}

}  // namespace islebook
