#pragma once
// Two states of a map that grew from one, made one again. Edits that do not touch each other are both kept; where both sides changed the same thing, a person
// chooses. Works on documents, so that keys that this version does not know are merged too.
//
// What counts as one thing: of a curve its label (role, value, unit), its course (points, their sheet pixels and uncertainty) and its review (confidence,
// doubts); of the map each axis, the reference conditions, the calibration, the sheet, the title. A curve drawn anew under a calibration that the other side
// replaced is a conflict too, since its points would be off. Doubts and a recipe's corrections of both sides are put together.
//
// Merging is commutative (with ours and theirs exchanged in the choices, the document is the same) and idempotent (a state merged with itself or with what
// it grew from is itself). Source of the method: three-way merge as in RCS merge, W. F. Tichy, RCS - a system for version control, Software: Practice and
// Experience 15 (1985).

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/units/error.h"

namespace islebook {

enum class MergeSide { kOurs, kTheirs };

struct MergeConflict {
  int number = 0;    // from 1; the same whatever was chosen, and whichever side is ours
  std::string what;  // "the 90,000 rpm speed line: course"
  std::string ours;  // what each side did, in sentences
  std::string theirs;
  std::optional<MergeSide> chosen;
};

struct MergeChoices {
  std::map<int, MergeSide> by_number;
  std::optional<MergeSide> rest;  // for all others
};

struct MergedMap {
  std::string document;                  // canonical JSON; undecided conflicts stand as in ours
  std::vector<MergeConflict> conflicts;  // all of them; decided ones have `chosen`
  bool decided = true;                   // none is left: the document may be put on the shelf
  std::vector<std::string> doubts;       // what looks wrong about the merged map and about neither side; also among its document's doubts
};

// `bases`: the documents that both grew from (Shelf::MergeBases); none for unrelated maps, several where lines of work met crosswise: then only what all of them
// agree on counts as known. kMalformedDocument: a document that is none. kInvalidArgument: a choice for a conflict that is not there.
Result<MergedMap> MergeDocuments(const std::vector<std::string>& bases, const std::string& ours, const std::string& theirs,
                                 const MergeChoices& choices = {});

}  // namespace islebook
