#include "ui/desk/branch_merge.h"

#include <utility>
#include <vector>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/map_compare.h"

namespace islebook {
namespace {

std::string Spec(const std::string& name, const std::string& branch) { return branch.empty() ? name : name + "@" + branch; }

Result<std::vector<std::string>> Changes(const std::string& before, const std::string& after) {
  const Result<PerformanceMap> from = ParseMapDocument(before), to = ParseMapDocument(after);
  if (!from) return std::unexpected(from.error());
  if (!to) return std::unexpected(to.error());
  std::vector<std::string> sentences;
  for (const MapChange& change : CompareMaps(*from, *to)) sentences.push_back(change.sentence);
  return sentences;
}

// What the merge takes from `other` beside `own` by itself: with every conflict decided for `own`, what is not as it was there.
Result<std::vector<std::string>> TakenFromOther(const std::vector<std::string>& bases, const std::string& own, const std::string& other) {
  const Result<MergedMap> merged = MergeDocuments(bases, own, other, {.by_number = {}, .rest = MergeSide::kOurs});
  if (!merged) return std::unexpected(merged.error());
  return Changes(own, merged->document);
}

}  // namespace

const char* BranchMergeName(BranchMerge::Outcome outcome) {
  switch (outcome) {
    case BranchMerge::Outcome::kNothing: return "nothing_to_merge";
    case BranchMerge::Outcome::kForward: return "moved_forward";
    case BranchMerge::Outcome::kMerged: return "merged";
    case BranchMerge::Outcome::kConflicts: return "conflicts";
  }
  return "";
}

Result<BranchMerge> PlanBranchMerge(Shelf& shelf, const BranchMergeOptions& options) {
  const Result<ShownRevision> ours = shelf.Show(Spec(options.name, options.into));
  if (!ours) return std::unexpected(ours.error());
  const Result<ShownRevision> theirs = shelf.Show(Spec(options.name, options.branch));
  if (!theirs) return std::unexpected(theirs.error());
  const Result<Relation> relation = shelf.Relate(ours->revision.id, theirs->revision.id);
  if (!relation) return std::unexpected(relation.error());
  BranchMerge merge;
  merge.ours = ours->revision.id;
  merge.theirs = theirs->revision.id;
  merge.revision.name = ours->name;
  merge.revision.branch = options.into;
  switch (*relation) {
    case Relation::kSame:
    case Relation::kAfter: return merge;
    case Relation::kBefore:
      // The same record again only moves the head forward.
      merge.outcome = BranchMerge::Outcome::kForward;
      merge.revision.document = theirs->document;
      merge.revision.author = theirs->revision.author;
      merge.revision.message = theirs->revision.message;
      merge.revision.time = theirs->revision.time;
      merge.revision.parents = theirs->revision.parents;
      if (auto taken = Changes(ours->document, theirs->document); taken)
        merge.from_theirs = std::move(*taken);
      else
        return std::unexpected(taken.error());
      return merge;
    case Relation::kDiverged: break;
  }
  const Result<std::vector<std::string>> ids = shelf.MergeBases(ours->revision.id, theirs->revision.id);
  if (!ids) return std::unexpected(ids.error());
  std::vector<std::string> bases;
  for (const std::string& id : *ids) {
    Result<ShownRevision> base = shelf.ShowRevision(id);
    if (!base) return std::unexpected(base.error());
    bases.push_back(std::move(base->document));
  }
  Result<MergedMap> merged = MergeDocuments(bases, ours->document, theirs->document, options.choices);
  if (!merged) return std::unexpected(merged.error());
  auto from_theirs = TakenFromOther(bases, ours->document, theirs->document);
  if (!from_theirs) return std::unexpected(from_theirs.error());
  auto from_ours = TakenFromOther(bases, theirs->document, ours->document);
  if (!from_ours) return std::unexpected(from_ours.error());
  merge.from_theirs = std::move(*from_theirs);
  merge.from_ours = std::move(*from_ours);
  merge.merged = std::move(*merged);
  merge.outcome = merge.merged.decided ? BranchMerge::Outcome::kMerged : BranchMerge::Outcome::kConflicts;
  merge.revision.document = merge.merged.document;
  merge.revision.author = options.author;
  merge.revision.message = !options.message.empty() ? options.message : "merge of " + (options.branch.empty() ? "the main line" : options.branch);
  merge.revision.parents = std::vector{ours->revision.id, theirs->revision.id};
  return merge;
}

Result<std::optional<RevisionRecord>> CarryOutBranchMerge(Shelf& shelf, const BranchMergeOptions& options, const BranchMerge& merge) {
  std::optional<RevisionRecord> head;
  if (merge.outcome == BranchMerge::Outcome::kConflicts) return head;
  if (merge.outcome != BranchMerge::Outcome::kNothing) {
    const Result<AddedRevision> added = shelf.AddRevision(merge.revision);
    if (!added) return std::unexpected(added.error());
    head = added->revision;
  }
  if (!options.keep_branch && !options.branch.empty()) {
    if (const Result<void> closed = shelf.CloseBranch(merge.revision.name, options.branch); !closed) return std::unexpected(closed.error());
  }
  return head;
}

}  // namespace islebook
