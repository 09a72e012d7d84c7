#pragma once
// A map's branch brought back into another line of it: planned first, so that a person can decide what both sides changed, then carried out.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/shelf/map_merge.h"
#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

struct BranchMergeOptions {
  std::string name;    // of the map
  std::string branch;  // that is brought in; empty: the main line
  std::string into;    // empty: the main line
  std::string author;
  std::string message;  // empty: "merge of BRANCH"
  MergeChoices choices;
  bool keep_branch = false;  // else it is closed afterwards
};

struct BranchMerge {
  enum class Outcome {
    kNothing,    // all of the branch is there already
    kForward,    // the other line had not moved: its head moves forward
    kMerged,     // both had, and nothing is left to decide
    kConflicts,  // a person must choose
  };
  Outcome outcome = Outcome::kNothing;
  NewRevision revision;      // that would be written, or was
  MergedMap merged;          // of kMerged and kConflicts
  std::string ours, theirs;  // ids of the heads
  // What stands in the merged map without a decision, in sentences: what the other line brings in, and what this one had changed since they parted.
  std::vector<std::string> from_theirs, from_ours;
};
const char* BranchMergeName(BranchMerge::Outcome outcome);  // "nothing_to_merge", ...: fixed, other programs read them

// Writes nothing. Errors of the shelf; kInvalidArgument: a choice for a conflict that is not there.
Result<BranchMerge> PlanBranchMerge(Shelf& shelf, const BranchMergeOptions& options);

// Writes the revision and closes the branch, unless conflicts are left. Nullopt: no revision had to be written.
Result<std::optional<RevisionRecord>> CarryOutBranchMerge(Shelf& shelf, const BranchMergeOptions& options, const BranchMerge& merge);

}  // namespace islebook
