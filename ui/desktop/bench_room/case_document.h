#pragma once
// The case on the bench: one text (TOML), its file, its undo. The form and the text's editor both change this text and nothing else.

#include <optional>
#include <vector>

#include <QObject>
#include <QString>

#include "mapstore/bench/case_edit.h"
#include "mapstore/bench/what_first.h"

class QTextDocument;

namespace islebook {

class CaseDocument : public QObject {
  Q_OBJECT

 public:
  explicit CaseDocument(QObject* parent);

  QTextDocument* document() const { return document_; }
  QString Text() const;
  bool IsEmpty() const;
  // The file it was read from or last saved to; empty: none yet.
  const QString& file() const { return file_; }
  // Where map files named in the case are looked for.
  QString Folder() const;
  // For messages: the file's name, or "new case".
  QString Name() const;
  bool IsUnsaved() const;

  // Another case: what was there is gone, undo begins anew.
  void Take(const QString& text, const QString& file, bool unsaved);
  Result<void> Open(const QString& file);
  Result<void> Save(const QString& file);

  // The last tree that could be read; null before the first.
  const TomlNode* tree() const { return tree_ ? &*tree_ : nullptr; }
  QString Written(const CasePlace& place) const;  // empty: not there
  std::size_t Count(const char* section) const;
  int Line(const CasePlace& place) const;  // of the value; 0: not there

  // One undo step each. Steps with the same `run` that follow each other are one (a slider's, a field's while it is typed in). Where the text cannot be so changed,
  // Refused says why and nothing happens.
  bool Set(const CasePlace& place, const QString& written, const QString& run = {});
  bool SetAll(const std::vector<CaseValue>& values, const QString& run = {});
  bool AddSection(const QString& section, const std::vector<std::pair<std::string, std::string>>& values);
  bool RemoveSection(const QString& section, std::size_t index);

 signals:
  void Changed();      // the text, by whomever
  void FileChanged();  // its name, or whether it is saved
  void Refused(const QString& words);

 private:
  void Read();
  bool Apply(const std::vector<TextChange>& changes, const QString& run);
  std::string Bytes() const;

  QTextDocument* document_;
  QString file_;
  std::optional<TomlNode> tree_;
  std::string tree_text_;
  QString last_run_;
  int last_revision_ = -1;
};

}  // namespace islebook
