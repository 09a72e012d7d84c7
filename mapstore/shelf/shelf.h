#pragma once
// The shelf: the library of maps, sheets and their history. This is the interface; open_shelf.h opens one,
// in a file or on a server.
//
// Nothing on a shelf is ever overwritten. A sheet is kept byte for byte, once, under its SHA-256. A revision is one immutable state of a map, named by the
// SHA-256 of its own record (revision.h). A name points at its latest revision, its head; where it pointed before stays on record. Beside its main line a map
// may have branches, each with a head of its own, until they are merged and closed. What is known about a map besides its document (tags, notes, its wheel)
// is kept with who said so and when; the latest word counts.
//
// Every call that changes something is one transaction: when it returns a value everything is on the disk, when it returns an error nothing has changed.
// Errors of every call, besides its own: kShelfBusy (another program held the shelf for too long), kShelfDamaged, kCannotWrite (disk full, no
// permission), kCancelled. One Shelf is for one thread at a time; any number of programs may have the same shelf open.

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/shelf/map_facts.h"
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
  std::optional<std::vector<std::string>> parents;  // nullopt: the branch's head, else the main line's, if there is one
  std::string branch;                               // empty: the main line. A branch begins with its first revision
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
  std::vector<std::string> branches;  // open ones, sorted
  std::vector<std::string> tags;      // sorted
  std::optional<WheelData> wheel;
};

struct ShownRevision {
  std::string name;  // empty where the revision was asked for by its id
  RevisionRecord revision;
  bool is_head = false;                     // of the main line or of the branch asked for
  std::string document;                     // canonical JSON; ParseMapDocument reads it
  std::optional<std::string> sheet_sha256;  // that the document names
  bool sheet_on_shelf = false;
};

// One line of a map's history that is being worked on.
struct ShelfBranch {
  std::string name;  // empty: the main line
  RevisionRecord head;
};

// How revision a stands to revision b.
enum class Relation {
  kSame,
  kBefore,    // a is in b's history
  kAfter,     // b is in a's history
  kDiverged,  // neither: there is something to merge
};

// Another shelf's map, to be taken over as it is.
struct IncomingRevision {
  RevisionRecord record;
  std::string document;  // canonical JSON
};
struct IncomingMap {
  std::string name;
  std::vector<IncomingRevision> revisions;  // a parent before its children; those that the shelf has may be left out
  std::string head;                         // id
  MapFacts facts;
};
enum class ReceivedAs {
  kNewMap,
  kSame,     // the main line or a branch has this very head
  kBehind,   // the shelf already knows more: the head is in the history of the main line or of a branch
  kForward,  // the main line moved forward to it
  kBranch,   // both sides changed the map: kept as a branch, to be merged
};
struct ReceivedMap {
  std::string name;
  ReceivedAs as = ReceivedAs::kSame;
  std::string branch;  // for kBranch; for kSame and kBehind the branch that has it, empty: the main line
  std::int64_t new_revisions = 0;
  std::int64_t new_notes = 0;
  std::int64_t new_tags = 0;
  bool wheel_is_new = false;
  bool wheel_differs = false;  // this shelf says something else about the wheel, and its word was left standing
};

struct StoredSheet {
  std::string sha256;
  std::int64_t size = 0;  // bytes
  std::string added;      // time
};

struct FindOptions {
  std::string words;  // all of them must stand somewhere in name, title, maker, tags, notes or messages; each may be the beginning of a word
  std::string maker;  // words of the maker or the model, likewise
  std::vector<std::string> tags;  // all of them
  std::string kind;               // "compressor" or "turbine"
  std::optional<double> inducer_min_mm, inducer_max_mm, exducer_min_mm, exducer_max_mm;
  bool removed = false;  // those that were removed, instead
  int limit = 50;        // best first
};
struct FoundMap {
  std::string name;
  std::string kind;
  std::string title;
  std::string head;  // id
  std::string time;
  std::vector<std::string> tags;
  std::optional<WheelData> wheel;
  std::string where;  // a few words around what was found, where words were asked for
};

// What a compressor's map covers, in a form that tens of thousands can be searched by: bands of pressure ratio, each with the span of what it holds. Made from a
// head by mapstore/find; to the shelf grids and outlines are bytes. Flows are in kg/s corrected to 288.15 K and 101325 Pa, the rest are fractions.
struct ReachBand {
  double flow_min = 0.0, flow_max = 0.0;
  double pressure_ratio_min = 0.0, pressure_ratio_max = 0.0;
  double efficiency_max = 0.0;  // 0: the map prints none
  double surge_margin_max = 0.0;
  std::string grid;
};
struct ReachEntry {
  std::string name;
  std::string revision;          // the head that it was made from
  std::vector<ReachBand> bands;  // at most 32; none: this map cannot be asked and is not searched
  std::string outline;           // for likeness
  std::string kept;              // the map made ready to be asked
  std::int64_t version = 0;      // of what made it: a shelf asks for entries of another version anew
};
// One band that may hold a point, or one map's outline. `map` is this shelf's own number for it.
struct ReachHit {
  std::int64_t map = 0;
  std::string_view bytes;       // grid or outline; gone when the call returns
  double efficiency_max = 0.0;  // of a band
};
struct ReachName {
  std::string name;
  std::string revision;
  std::string kept;
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

  // Takes over other shelves' maps: the same revisions are recognized, newer ones move the main line forward, diverged ones become a branch named
  // `branch` (with a number where that one has diverged too). Nothing that is here is changed or lost. All or nothing, in one transaction; doing it twice
  // is the same as once. `sheets` are bytes. kInvalidArgument: a record that is not what its id says, a document that is not the record's, a bad name;
  // kMalformedDocument; kNotFound: a parent that is neither given before nor here.
  virtual Result<std::vector<ReceivedMap>> Receive(const std::vector<IncomingMap>& maps, const std::vector<std::string>& sheets,
                                                   const std::string& branch) = 0;

  // Every name that was not removed, sorted by bytes.
  virtual Result<std::vector<ShelfEntry>> List() = 0;

  // `spec` is NAME, its head; NAME@BRANCH, a branch's head; or NAME@PREFIX, the revision in that name's history whose id begins so (at least 4 hex digits).
  // kNotFound: no such name, branch or revision; kInvalidArgument: a prefix of several revisions (they are named). A map that was removed is still shown.
  virtual Result<ShownRevision> Show(const std::string& spec) = 0;

  // The same by its whole id. kNotFound.
  virtual Result<ShownRevision> ShowRevision(const std::string& id) = 0;

  // What `spec` names and everything before it, latest first; a revision always stands before its parents. Errors as Show's.
  virtual Result<std::vector<RevisionRecord>> Log(const std::string& spec) = 0;

  // The main line first, then the open branches by name. kNotFound.
  virtual Result<std::vector<ShelfBranch>> Branches(const std::string& name) = 0;

  // Ends a branch (after merging it, or to drop it). Its revisions stay and are found by their ids. kNotFound; kInvalidArgument: the main line.
  virtual Result<void> CloseBranch(const std::string& name, const std::string& branch) = 0;

  // By whole ids. kNotFound.
  virtual Result<Relation> Relate(const std::string& a, const std::string& b) = 0;
  // The latest revisions that both histories hold: one, none (unrelated), or several (lines of work that met crosswise).
  virtual Result<std::vector<std::string>> MergeBases(const std::string& a, const std::string& b) = 0;

  // A sheet's bytes. kNotFound.
  virtual Result<std::string> Sheet(const std::string& sha256) = 0;
  virtual Result<std::vector<StoredSheet>> Sheets() = 0;
  // Returns its SHA-256; the same sheet again changes nothing. kInvalidArgument: it is empty.
  virtual Result<std::string> AddSheet(const std::string& bytes) = 0;

  // What is known about a map besides its document. kNotFound. Setters: kInvalidArgument says what is wrong; what is known already changes nothing.
  virtual Result<MapFacts> Facts(const std::string& name) = 0;
  virtual Result<void> SetTag(const std::string& name, const std::string& tag, bool present, const std::string& author) = 0;
  virtual Result<void> AddNote(const std::string& name, const MapNote& note) = 0;
  virtual Result<void> SetWheel(const std::string& name, const WheelData& wheel, const std::string& author) = 0;

  // Takes a name off the lists, or puts it back; its history, sheets and facts stay. A new revision puts it back too. kNotFound.
  virtual Result<void> SetRemoved(const std::string& name, bool removed, const std::string& author, const std::string& reason) = 0;

  // Maps whose main line fits all that is asked, best first (of words that more than 2,000 maps have: the latest map first). kInvalidArgument: nothing is asked.
  virtual Result<std::vector<FoundMap>> Find(const FindOptions& options) = 0;

  // Names whose reach entry is missing, of an earlier head or of another version, at most `limit` of them. Those that were removed are left out.
  virtual Result<std::vector<std::string>> ReachDue(std::int64_t version, std::int64_t limit) = 0;
  // An entry whose revision is no longer the head is dropped.
  virtual Result<void> SetReach(const std::vector<ReachEntry>& entries) = 0;
  // Calls `each` for every band that the point lies in and that has at least such an efficiency and margin somewhere, in no order, until it returns false.
  virtual Result<void> ReachAt(double flow, double pressure_ratio, double efficiency, double surge_margin,
                               const std::function<bool(const ReachHit&)>& each) = 0;
  // The same for every outline.
  virtual Result<void> ReachOutlines(const std::function<bool(const ReachHit&)>& each) = 0;
  virtual Result<ReachName> ReachNameOf(std::int64_t map) = 0;

  // Another number than before once another program, or another Shelf of this one, changed the shelf; quick enough to be asked every second. On a
  // server it changes with this Shelf's own changes too.
  virtual Result<std::int64_t> ChangesElsewhere() = 0;
  // Another text whenever anything that names resolve to has changed since.
  virtual Result<std::string> Mark() = 0;

  // A copy of the whole shelf as it is at this moment, whole or not at all, while others go on using it. An existing file is not replaced: kCannotWrite.
  virtual Result<void> BackUp(const std::filesystem::path& file) = 0;

  // Reads everything and hashes it anew. Damage is in the report, not an error, as long as the file can be read at all.
  // `progress` (may be empty) is told the share done, 0..1; false stops: kCancelled.
  virtual Result<ShelfReport> Verify(const std::function<bool(double)>& progress) = 0;
};

}  // namespace islebook
