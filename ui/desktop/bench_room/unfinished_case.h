#pragma once
// A case that is being worked on is kept in the work folder, so that a crash or a power cut loses nothing. A lock beside it tells another window's work from work that
// nobody has any more.

#include <filesystem>
#include <memory>
#include <optional>

#include <QString>

class QLockFile;

namespace islebook {

struct KeptCase {
  QString text;
  QString file;  // that it was opened from; empty: none
  QString time;  // when it was kept, for a person
};

class UnfinishedCase {
 public:
  explicit UnfinishedCase(std::filesystem::path folder);
  ~UnfinishedCase();

  // The latest that nobody has any more; its place is this object's from then on (and its file stays until Drop or Keep).
  std::optional<KeptCase> TakeOver();
  // False: the work folder cannot be written.
  bool Keep(const QString& text, const QString& file);
  void Drop();

 private:
  bool TakePlace();
  QString TextFile(int number) const;
  QString SourceFile(int number) const;

  std::filesystem::path folder_;
  std::unique_ptr<QLockFile> lock_;
  int number_ = -1;
};

}  // namespace islebook
