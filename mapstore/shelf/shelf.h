#pragma once
// The shelf: the library of maps, sheets and their history. This is the interface; sqlite_shelf.h opens the one that lives in a file.
//
// Nothing on a shelf is ever overwritten. A sheet is kept byte for byte, once, under its SHA-256. A revision is one immutable state of a map, named by the
// SHA-256 of its own record (revision.h). A name points at its latest revision, its head; where it pointed before stays on record.
//
// Every call that changes something is one transaction: when it returns a value everything is on the disk, when it returns an error nothing has changed.
// Errors of every call, besides its own: kShelfBusy (another program held the shelf for too long), kShelfDamaged, kCannotWrite (disk full, no
// permission), kCancelled. One Shelf is for one thread at a time; any number of programs may have the same shelf open.

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/units/error.h"

namespace islebook {

// One revision without its document.
struct RevisionRecord {
  std::string id;                    // 64 lower-case hex digits
  std::vector<std::string> parents;  // ids; none for a first revision
  std::string document_sha256;       // of the document's canonical JSON
  std::string author;
  std::string time;  // UTC, "2025-03-14T09:26:53Z"
  std::string message;
  bool operator==(const RevisionRecord&) const = default;
};

// What AddRevision puts on the shelf.
struct NewRevision {
  std::string name;                                 // of the map; made if there is none yet. CheckMapName() says what a name may be
  std::string document;                             // a map document (map_document.h), any JSON spelling
  std::optional<std::string> sheet;                 // the sheet's bytes; their SHA-256 must be the document's source.sha256
  std::string author;                               // not empty
  std::string message;                              // may be empty
  std::optional<std::string> time;                  // nullopt: now
  std::optional<std::vector<std::string>> parents;  // nullopt: the name's head, if it has one
};

struct AddedRevision {
  RevisionRecord revision;
  bool is_new = false;        // false: the name's head already held this very document, or the same revision was there; nothing was added
  bool sheet_is_new = false;  // the sheet was not on the shelf before
};

// One name on the shelf.
struct ShelfEntry {
  std::string name;
  std::string kind;   // "compressor", "turbine" or empty
  std::string title;  // as the sheet prints it; may be empty
  RevisionRecord head;
  std::int64_t revisions = 0;               // in the head's history
  std::optional<std::string> sheet_sha256;  // that the document names
  bool sheet_on_shelf = false;
};

struct ShownRevision {
  std::string name;
  RevisionRecord revision;
  bool is_head = false;
  std::string document;                     // canonical JSON; ParseMapDocument reads it
  std::optional<std::string> sheet_sha256;  // that the document names
  bool sheet_on_shelf = false;
};

struct ShelfProblem {
  std::string place;    // "revision 3f2a...", "sheet 9c01...", "file"
  std::string message;  // a sentence: what is wrong and what it means
};

struct ShelfReport {
  std::int64_t maps = 0;
  std::int64_t revisions = 0;
  std::int64_t documents = 0;
  std::int64_t sheets = 0;
  std::int64_t sheet_bytes = 0;
  std::vector<ShelfProblem> problems;  // empty: every record is what its name says
};

class Shelf {
 public:
  virtual ~Shelf() = default;

  // Adding the document that the name's head already holds changes nothing and returns that head, so that a batch may be added twice; the sheet is
  // still stored if it was missing. kInvalidArgument: a bad name, no author, a time that is none, a sheet that is not the document's;
  // kMalformedDocument, kUnsupportedSchema: not a map document; kNotFound: a parent that is not on the shelf.
  virtual Result<AddedRevision> AddRevision(const NewRevision& revision) = 0;

  // All or none of them, in order, in one transaction.
  virtual Result<std::vector<AddedRevision>> AddRevisions(const std::vector<NewRevision>& revisions) = 0;

  // Every name, sorted by bytes.
  virtual Result<std::vector<ShelfEntry>> List() = 0;

  // `spec` is NAME, its head, or NAME@PREFIX, the revision in that name's history whose id begins so (at least 4 hex digits).
  // kNotFound: no such name or revision; kInvalidArgument: a prefix too short or of several revisions (they are named).
  virtual Result<ShownRevision> Show(const std::string& spec) = 0;

  // The head of `name` and everything before it, latest first; a revision always stands before its parents. kNotFound.
  virtual Result<std::vector<RevisionRecord>> Log(const std::string& name) = 0;

  // A sheet's bytes. kNotFound.
  virtual Result<std::string> Sheet(const std::string& sha256) = 0;

  // Reads everything and hashes it anew. Damage is in the report, not an error, as long as the file can be read at all.
  // `progress` (may be empty) is told the share done, 0..1; false stops: kCancelled.
  virtual Result<ShelfReport> Verify(const std::function<bool(double)>& progress) = 0;
};

}  // namespace islebook
