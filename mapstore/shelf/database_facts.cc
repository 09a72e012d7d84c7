// What is known about a map besides its document. Rows are only added; the latest one counts.

#include <algorithm>

#include <fmt/format.h>

#include "mapstore/map/json_text.h"
#include "mapstore/shelf/database_shelf.h"
#include "mapstore/shelf/revision.h"

namespace islebook {
namespace {

Result<void> CheckAuthor(const std::string& author, const std::string& name) {
  if (author.empty() || ValidUtf8(author) != author)
    return Fail(ErrorCode::kInvalidArgument, "who says so must be given, as UTF-8 text.", ValidUtf8(name));
  return {};
}

Result<void> CheckNote(const MapNote& note, const std::string& name) {
  if (const Result<void> good = CheckAuthor(note.author, name); !good) return good;
  if (const Result<void> good = CheckRevisionTime(note.time); !good) return good;
  if (note.text.empty() || note.text.size() > 100000 || ValidUtf8(note.text) != note.text)
    return Fail(ErrorCode::kInvalidArgument, "a note is UTF-8 text of 1 to 100,000 bytes.", ValidUtf8(name));
  if (note.revision && !IsSha256Hex(*note.revision))
    return Fail(ErrorCode::kInvalidArgument, "a note names a revision by its whole id.", ValidUtf8(name));
  return {};
}

constexpr std::size_t kMessagesIndexed = 20000;  // bytes; the latest ones count

}  // namespace

Result<MapFacts> DatabaseShelf::Facts(const std::string& name) {
  Result<Transaction> reading = Transaction::Begin(*database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  const Result<std::int64_t> map = NeedMap(name);
  if (!map) return Pass(map);
  MapFacts facts;
  Result<std::vector<std::string>> tags = ReadTags(*map);
  if (!tags) return Pass(tags);
  facts.tags = std::move(*tags);
  Result<std::vector<MapNote>> notes = ReadNotes(*map);
  if (!notes) return Pass(notes);
  facts.notes = std::move(*notes);
  Result<std::optional<WheelData>> wheel = ReadWheel(*map);
  if (!wheel) return Pass(wheel);
  facts.wheel = std::move(*wheel);
  const Result<bool> removed = ReadRemoved(*map);
  if (!removed) return Pass(removed);
  facts.removed = *removed;
  return facts;
}

Result<void> DatabaseShelf::SetTag(const std::string& name, const std::string& tag, bool present, const std::string& author) {
  if (const Result<void> good = CheckTag(tag); !good) return good;
  if (const Result<void> good = CheckAuthor(author, name); !good) return good;
  Result<Transaction> writing = Transaction::Begin(*database_, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  const Result<std::int64_t> map = NeedMap(name);
  if (!map) return Pass(map);
  const Result<std::vector<std::string>> tags = ReadTags(*map);
  if (!tags) return Pass(tags);
  if ((std::find(tags->begin(), tags->end(), tag) != tags->end()) == present) return {};
  if (const Result<void> added = InsertTag(*map, tag, present, author); !added) return added;
  if (const Result<void> indexed = IndexWords(*map, ""); !indexed) return indexed;
  return writing->Commit();
}

Result<void> DatabaseShelf::AddNote(const std::string& name, const MapNote& note) {
  if (const Result<void> good = CheckNote(note, name); !good) return good;
  Result<Transaction> writing = Transaction::Begin(*database_, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  const Result<std::int64_t> map = NeedMap(name);
  if (!map) return Pass(map);
  if (note.revision) {
    if (const Result<std::int64_t> known = NeedRevision(*note.revision); !known) return Pass(known);
  }
  const Result<std::vector<MapNote>> notes = ReadNotes(*map);
  if (!notes) return Pass(notes);
  if (std::find(notes->begin(), notes->end(), note) != notes->end()) return {};
  if (const Result<void> added = InsertNote(*map, note); !added) return added;
  if (const Result<void> indexed = IndexWords(*map, ""); !indexed) return indexed;
  return writing->Commit();
}

Result<void> DatabaseShelf::SetWheel(const std::string& name, const WheelData& wheel, const std::string& author) {
  if (const Result<void> good = CheckWheel(wheel); !good) return good;
  if (const Result<void> good = CheckAuthor(author, name); !good) return good;
  Result<Transaction> writing = Transaction::Begin(*database_, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  const Result<std::int64_t> map = NeedMap(name);
  if (!map) return Pass(map);
  const Result<std::optional<WheelData>> known = ReadWheel(*map);
  if (!known) return Pass(known);
  if (*known == wheel) return {};
  if (const Result<void> added = InsertWheel(*map, wheel, author); !added) return added;
  if (const Result<void> indexed = IndexWords(*map, ""); !indexed) return indexed;
  return writing->Commit();
}

Result<void> DatabaseShelf::SetRemoved(const std::string& name, bool removed, const std::string& author, const std::string& reason) {
  if (const Result<void> good = CheckAuthor(author, name); !good) return good;
  if (ValidUtf8(reason) != reason) return Fail(ErrorCode::kInvalidArgument, "the reason is not UTF-8 text.", ValidUtf8(name));
  Result<Transaction> writing = Transaction::Begin(*database_, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  const Result<std::int64_t> map = NeedMap(name);
  if (!map) return Pass(map);
  const Result<bool> is_removed = ReadRemoved(*map);
  if (!is_removed) return Pass(is_removed);
  if (*is_removed == removed) return {};
  if (const Result<void> added = InsertRemoved(*map, removed, author, reason); !added) return added;
  return writing->Commit();
}

Result<std::vector<std::string>> DatabaseShelf::ReadTags(std::int64_t map) {
  Result<Statement> read = database_->Prepare(
      "SELECT tag FROM tags WHERE map = ?1 AND present = 1 AND number = (SELECT max(number) FROM tags AS later WHERE later.map = ?1 AND later.tag = "
      "tags.tag) ORDER BY tag");
  if (!read) return Pass(read);
  read->Bind(1, map);
  std::vector<std::string> tags;
  while (true) {
    const Result<bool> row = read->Step();
    if (!row) return Pass(row);
    if (!*row) return tags;
    tags.push_back(read->Text(0));
  }
}

Result<std::vector<MapNote>> DatabaseShelf::ReadNotes(std::int64_t map) {
  Result<Statement> read = database_->Prepare("SELECT author, time, text, revision FROM notes WHERE map = ?1 ORDER BY time, number");
  if (!read) return Pass(read);
  read->Bind(1, map);
  std::vector<MapNote> notes;
  while (true) {
    const Result<bool> row = read->Step();
    if (!row) return Pass(row);
    if (!*row) return notes;
    MapNote note{read->Text(0), read->Text(1), read->Text(2), std::nullopt};
    if (!read->IsNull(3)) note.revision = read->Text(3);
    notes.push_back(std::move(note));
  }
}

Result<std::optional<WheelData>> DatabaseShelf::ReadWheel(std::int64_t map) {
  Result<Statement> read = database_->Prepare(
      "SELECT maker, model, inducer_mm, exducer_mm, trim, turbine_area_ratio, speed_limit_rpm FROM wheels WHERE map = ?1 ORDER BY number DESC LIMIT "
      "1");
  if (!read) return Pass(read);
  const Result<bool> row = read->Bind(1, map).Step();
  if (!row) return Pass(row);
  if (!*row) return std::nullopt;
  return WheelData{read->Text(0), read->Text(1), read->RealIfAny(2), read->RealIfAny(3), read->RealIfAny(4), read->RealIfAny(5), read->RealIfAny(6)};
}

Result<bool> DatabaseShelf::ReadRemoved(std::int64_t map) {
  Result<Statement> read = database_->Prepare("SELECT removed FROM removals WHERE map = ?1 ORDER BY number DESC LIMIT 1");
  if (!read) return Pass(read);
  const Result<bool> row = read->Bind(1, map).Step();
  if (!row) return Pass(row);
  return *row && read->Integer(0) != 0;
}

Result<void> DatabaseShelf::InsertTag(std::int64_t map, const std::string& tag, bool present, const std::string& author) {
  Result<Statement> insert = database_->Prepare("INSERT INTO tags (map, tag, present, author, time) VALUES (?1, ?2, ?3, ?4, ?5)");
  if (!insert) return Pass(insert);
  return insert->Bind(1, map).Bind(2, tag).Bind(3, std::int64_t{present}).Bind(4, author).Bind(5, CurrentRevisionTime()).Run();
}

Result<void> DatabaseShelf::InsertNote(std::int64_t map, const MapNote& note) {
  if (const Result<void> good = CheckNote(note, ""); !good) return good;
  Result<Statement> insert = database_->Prepare("INSERT INTO notes (map, revision, author, time, text) VALUES (?1, ?2, ?3, ?4, ?5)");
  if (!insert) return Pass(insert);
  insert->Bind(1, map).Bind(3, note.author).Bind(4, note.time).Bind(5, note.text);
  if (note.revision) insert->Bind(2, *note.revision);
  return insert->Run();
}

Result<void> DatabaseShelf::InsertWheel(std::int64_t map, const WheelData& wheel, const std::string& author) {
  Result<Statement> insert = database_->Prepare(
      "INSERT INTO wheels (map, maker, model, inducer_mm, exducer_mm, trim, turbine_area_ratio, speed_limit_rpm, author, time) "
      "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)");
  if (!insert) return Pass(insert);
  insert->Bind(1, map).Bind(2, wheel.maker).Bind(3, wheel.model).Bind(4, wheel.inducer_mm).Bind(5, wheel.exducer_mm).Bind(6, wheel.trim);
  return insert->Bind(7, wheel.turbine_area_ratio).Bind(8, wheel.speed_limit_rpm).Bind(9, author).Bind(10, CurrentRevisionTime()).Run();
}

Result<void> DatabaseShelf::InsertRemoved(std::int64_t map, bool removed, const std::string& author, const std::string& reason) {
  Result<Statement> insert = database_->Prepare("INSERT INTO removals (map, removed, author, time, reason) VALUES (?1, ?2, ?3, ?4, ?5)");
  if (!insert) return Pass(insert);
  const Result<void> inserted =
      insert->Bind(1, map).Bind(2, std::int64_t{removed}).Bind(3, author).Bind(4, CurrentRevisionTime()).Bind(5, reason).Run();
  if (!inserted) return inserted;
  return DropReach(map, !removed);
}

Result<void> DatabaseShelf::IndexWords(std::int64_t map, const std::string& message) {
  Result<Statement> known = database_->Prepare("SELECT messages FROM words WHERE rowid = ?1");
  if (!known) return Pass(known);
  const Result<bool> row = known->Bind(1, map).Step();
  if (!row) return Pass(row);
  std::string messages = *row ? known->Text(0) : std::string();
  if (const Result<void> done = known->Run(); !done) return done;
  if (!message.empty()) messages = message + (messages.empty() ? "" : "\n") + messages;
  if (messages.size() > kMessagesIndexed) messages = ValidUtf8(std::string_view(messages).substr(0, kMessagesIndexed));

  Result<Statement> names = database_->Prepare(
      "SELECT maps.name, coalesce((SELECT documents.title FROM heads JOIN revisions ON revisions.number = heads.revision JOIN documents ON "
      "documents.sha256 = revisions.document WHERE heads.map = maps.number ORDER BY heads.branch, heads.number DESC LIMIT 1), '') "
      "FROM maps WHERE maps.number = ?1");
  if (!names) return Pass(names);
  const Result<bool> named = names->Bind(1, map).Step();
  if (!named) return Pass(named);
  const Result<std::optional<WheelData>> wheel = ReadWheel(map);
  if (!wheel) return Pass(wheel);
  const Result<std::vector<std::string>> tags = ReadTags(map);
  if (!tags) return Pass(tags);
  const Result<std::vector<MapNote>> notes = ReadNotes(map);
  if (!notes) return Pass(notes);
  std::string tag_words, note_words;
  for (const std::string& tag : *tags) tag_words += (tag_words.empty() ? "" : "\n") + tag;
  for (const MapNote& note : *notes) note_words += (note_words.empty() ? "" : "\n") + note.text;
  const std::string maker = *wheel ? (*wheel)->maker + ((*wheel)->model.empty() ? "" : " " + (*wheel)->model) : std::string();
  Result<Statement> drop = database_->Prepare("DELETE FROM words WHERE rowid = ?1");
  if (!drop) return Pass(drop);
  if (const Result<void> dropped = drop->Bind(1, map).Run(); !dropped) return dropped;
  Result<Statement> insert =
      database_->Prepare("INSERT INTO words (rowid, name, title, maker, tags, notes, messages) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)");
  if (!insert) return Pass(insert);
  insert->Bind(1, map).Bind(2, names->Text(0)).Bind(3, names->Text(1)).Bind(4, maker).Bind(5, tag_words).Bind(6, note_words).Bind(7, messages);
  return insert->Run();
}

}  // namespace islebook
