// Branches, how revisions stand to one another, and histories that arrive from other shelves.

#include <algorithm>
#include <functional>
#include <map>

#include <fmt/format.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/database_shelf.h"
#include "mapstore/shelf/revision.h"

namespace islebook {

Result<std::vector<std::pair<std::string, std::int64_t>>> DatabaseShelf::OpenBranches(std::int64_t map) {
  Result<Statement> read = database_->Prepare(
      "SELECT branch, revision FROM heads WHERE map = ?1 AND closed = 0 AND number = (SELECT max(number) FROM heads AS later WHERE later.map = ?1 "
      "AND "
      "later.branch = heads.branch) ORDER BY branch");
  if (!read) return Pass(read);
  read->Bind(1, map);
  std::vector<std::pair<std::string, std::int64_t>> branches;
  while (true) {
    const Result<bool> row = read->Step();
    if (!row) return Pass(row);
    if (!*row) return branches;
    branches.emplace_back(read->Text(0), read->Integer(1));
  }
}

Result<std::vector<ShelfBranch>> DatabaseShelf::Branches(const std::string& name) {
  Result<Transaction> reading = Transaction::Begin(*database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  const Result<std::int64_t> map = NeedMap(name);
  if (!map) return Pass(map);
  const auto open = OpenBranches(*map);
  if (!open) return Pass(open);
  std::vector<ShelfBranch> branches;
  for (const auto& [branch, number] : *open) {
    Result<RevisionRecord> head = ReadRevision(number);
    if (!head) return Pass(head);
    branches.push_back({branch, std::move(*head)});
  }
  return branches;
}

Result<void> DatabaseShelf::CloseBranch(const std::string& name, const std::string& branch) {
  if (branch.empty())
    return Fail(ErrorCode::kInvalidArgument, "the main line cannot be closed; islebook shelf remove takes a map off the lists.", name);
  Result<Transaction> writing = Transaction::Begin(*database_, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  const Result<std::int64_t> map = NeedMap(name);
  if (!map) return Pass(map);
  const Result<std::optional<std::int64_t>> head = FindHead(*map, branch);
  if (!head) return Pass(head);
  if (!*head)
    return Fail(ErrorCode::kNotFound, "the map has no open branch of this name; islebook shelf log lists those that it has.",
                ValidUtf8(name + "@" + branch));
  if (const Result<void> pointed = PointAt(*map, branch, **head, true, ""); !pointed) return pointed;
  return writing->Commit();
}

Result<Relation> DatabaseShelf::Relate(const std::string& a, const std::string& b) {
  Result<Transaction> reading = Transaction::Begin(*database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  const Result<std::int64_t> first = NeedRevision(a);
  if (!first) return Pass(first);
  const Result<std::int64_t> second = NeedRevision(b);
  if (!second) return Pass(second);
  if (*first == *second) return Relation::kSame;
  // The older one has the smaller number, if it is the other's ancestor at all.
  const Result<bool> held = *first < *second ? IsInHistory(*second, *first) : IsInHistory(*first, *second);
  if (!held) return Pass(held);
  if (!*held) return Relation::kDiverged;
  return *first < *second ? Relation::kBefore : Relation::kAfter;
}

// Walks both histories from the latest revision down. Numbers fall from child to parent, so whatever is taken from the queue has had all its children before it.
Result<std::vector<std::string>> DatabaseShelf::MergeBases(const std::string& a, const std::string& b) {
  Result<Transaction> reading = Transaction::Begin(*database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  const Result<std::int64_t> first = NeedRevision(a);
  if (!first) return Pass(first);
  const Result<std::int64_t> second = NeedRevision(b);
  if (!second) return Pass(second);
  Result<Statement> above = database_->Prepare("SELECT parent FROM parents WHERE revision = ?1");
  if (!above) return Pass(above);
  constexpr unsigned kFromA = 1, kFromB = 2, kBelowABase = 4;
  std::map<std::int64_t, unsigned, std::greater<>> waiting;
  waiting[*first] |= kFromA;
  waiting[*second] |= kFromB;
  std::vector<std::string> bases;
  const auto worth_it = [&] {
    for (const auto& [number, marks] : waiting)
      if ((marks & kBelowABase) == 0) return true;
    return false;
  };
  while (worth_it()) {
    const std::int64_t number = waiting.begin()->first;
    unsigned marks = waiting.begin()->second;
    waiting.erase(waiting.begin());
    if ((marks & (kFromA | kFromB)) == (kFromA | kFromB) && (marks & kBelowABase) == 0) {
      Result<RevisionRecord> record = ReadRevision(number);
      if (!record) return Pass(record);
      bases.push_back(std::move(record->id));
      marks |= kBelowABase;
    }
    above->Reset();
    above->Bind(1, number);
    while (true) {
      const Result<bool> row = above->Step();
      if (!row) return Pass(row);
      if (!*row) break;
      waiting[above->Integer(0)] |= marks;
    }
  }
  return bases;
}

Result<std::vector<ReceivedMap>> DatabaseShelf::Receive(const std::vector<IncomingMap>& maps, const std::vector<std::string>& sheets,
                                                        const std::string& branch) {
  if (const Result<void> good = CheckBranchName(branch); !good) return Pass(good);
  for (const IncomingMap& map : maps) {
    if (const Result<void> good = CheckMapName(map.name); !good) return Pass(good);
    for (const std::string& tag : map.facts.tags)
      if (const Result<void> good = CheckTag(tag); !good) return Pass(good);
    if (map.facts.wheel) {
      if (const Result<void> good = CheckWheel(*map.facts.wheel); !good) return Pass(good);
    }
  }
  Result<Transaction> writing = Transaction::Begin(*database_, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  for (const std::string& sheet : sheets) {
    if (const Result<bool> inserted = InsertSheet(Sha256Hex(sheet), sheet); !inserted) return Pass(inserted);
  }
  std::vector<ReceivedMap> received;
  for (const IncomingMap& map : maps) {
    Result<ReceivedMap> one = ReceiveOne(map, branch);
    if (!one) return Pass(one);
    received.push_back(std::move(*one));
  }
  if (const Result<void> committed = writing->Commit(); !committed) return Pass(committed);
  return received;
}

Result<ReceivedMap> DatabaseShelf::ReceiveOne(const IncomingMap& incoming, const std::string& branch) {
  ReceivedMap received;
  received.name = incoming.name;
  for (const IncomingRevision& revision : incoming.revisions) {
    const RevisionRecord& record = revision.record;
    const std::string place = incoming.name + "@" + ValidUtf8(record.id).substr(0, 12);
    if (RevisionId(record) != record.id)
      return Fail(ErrorCode::kInvalidArgument, "a revision is not what its id says; it was altered on its way.", place);
    const Result<std::optional<std::int64_t>> known = FindRevision(record.id);
    if (!known) return Pass(known);
    if (*known) continue;
    if (record.author.empty() || ValidUtf8(record.author) != record.author || ValidUtf8(record.message) != record.message)
      return Fail(ErrorCode::kInvalidArgument, "a revision's author or message is not UTF-8 text.", place);
    if (const Result<void> good = CheckRevisionTime(record.time); !good) return Pass(good);
    const Result<std::string> canonical = CanonicalJson(revision.document);
    if (!canonical) return Pass(canonical);
    if (*canonical != revision.document || Sha256Hex(revision.document) != record.document_sha256)
      return Fail(ErrorCode::kInvalidArgument, "a document is not what its revision says; it was altered on its way.", place);
    const Result<PerformanceMap> map = ParseMapDocument(revision.document);
    if (!map) return Pass(map);
    std::vector<std::int64_t> parents;
    for (const std::string& id : record.parents) {
      const Result<std::optional<std::int64_t>> parent = FindRevision(id);
      if (!parent) return Pass(parent);
      if (!*parent)
        return Fail(ErrorCode::kNotFound,
                    fmt::format("the revision before it, {}, is neither here nor among what arrived.", ValidUtf8(id).substr(0, 12)), place);
      parents.push_back(**parent);
    }
    if (const Result<void> kept = InsertDocument(record.document_sha256, revision.document, *map); !kept) return Pass(kept);
    if (const Result<std::int64_t> inserted = InsertRevision(record, parents); !inserted) return Pass(inserted);
    ++received.new_revisions;
  }
  const Result<std::int64_t> theirs = NeedRevision(incoming.head);
  if (!theirs) return Fail(ErrorCode::kNotFound, "the latest revision is not among what arrived.", incoming.name);
  const Result<std::int64_t> map = FindOrAddMap(incoming.name);
  if (!map) return Pass(map);
  const Result<RevisionRecord> record = ReadRevision(*theirs);
  if (!record) return Pass(record);

  const auto open = OpenBranches(*map);
  if (!open) return Pass(open);
  bool settled = false;
  for (const auto& [name, head] : *open) {
    const Result<bool> held = IsInHistory(head, *theirs);
    if (!held) return Pass(held);
    if (!*held) continue;
    received.as = head == *theirs ? ReceivedAs::kSame : ReceivedAs::kBehind;
    received.branch = name;
    settled = true;
    break;
  }
  if (!settled) {
    std::string target;
    received.as = open->empty() ? ReceivedAs::kNewMap : ReceivedAs::kForward;
    for (int trial = 0; trial == 0 || !target.empty(); ++trial) {
      const Result<std::optional<std::int64_t>> head = FindHead(*map, target);
      if (!head) return Pass(head);
      const Result<bool> forward = *head ? IsInHistory(*theirs, **head) : Result<bool>(true);
      if (!forward) return Pass(forward);
      if (*forward) break;
      received.as = ReceivedAs::kBranch;
      target = trial == 0 ? branch : fmt::format("{} {}", branch, trial + 1);
    }
    received.branch = target;
    if (const Result<void> pointed = PointAt(*map, target, *theirs, false, record->message); !pointed) return Pass(pointed);
    const Result<bool> removed = ReadRemoved(*map);
    if (!removed) return Pass(removed);
    if (*removed) {
      if (const Result<void> back = InsertRemoved(*map, false, record->author, "received again"); !back) return Pass(back);
    }
  }

  // A tag that this shelf has taken off stays off: its own word is the later one.
  for (const std::string& tag : incoming.facts.tags) {
    Result<Statement> known = database_->Prepare("SELECT 1 FROM tags WHERE map = ?1 AND tag = ?2");
    if (!known) return Pass(known);
    const Result<bool> row = known->Bind(1, *map).Bind(2, tag).Step();
    if (!row) return Pass(row);
    if (*row) continue;
    if (const Result<void> added = InsertTag(*map, tag, true, record->author); !added) return Pass(added);
    ++received.new_tags;
  }
  const Result<std::vector<MapNote>> notes = ReadNotes(*map);
  if (!notes) return Pass(notes);
  for (const MapNote& note : incoming.facts.notes) {
    if (std::find(notes->begin(), notes->end(), note) != notes->end()) continue;
    if (const Result<void> added = InsertNote(*map, note); !added) return Pass(added);
    ++received.new_notes;
  }
  if (incoming.facts.wheel) {
    const Result<std::optional<WheelData>> wheel = ReadWheel(*map);
    if (!wheel) return Pass(wheel);
    if (!*wheel) {
      if (const Result<void> added = InsertWheel(*map, *incoming.facts.wheel, record->author); !added) return Pass(added);
      received.wheel_is_new = true;
    } else {
      received.wheel_differs = **wheel != *incoming.facts.wheel;
    }
  }
  if (received.new_tags + received.new_notes > 0 || received.wheel_is_new) {
    if (const Result<void> indexed = IndexWords(*map, ""); !indexed) return Pass(indexed);
  }
  return received;
}

}  // namespace islebook
