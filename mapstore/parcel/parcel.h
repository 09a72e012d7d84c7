#pragma once
// A parcel: one file that carries maps with their history and sheets to a colleague. A ZIP with a BagIt bag in it, signed if the shop wishes. FORMAT.md describes it
// for outsiders. Opening one checks all of it and writes nothing; what is wrong with it is said before anything is taken over.

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/parcel/bag.h"
#include "mapstore/parcel/signature.h"
#include "mapstore/parcel/zip_file.h"
#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

inline constexpr int kParcelSchema = 1;

struct PackOptions {
  std::vector<std::string> maps;  // on the shelf, NAME or NAME@BRANCH or NAME@REVISION; each with all of its history
  bool sheets = true;             // false: for maps whose pictures may not be passed on
  std::optional<SigningKey> key;  // nullopt: not signed
  // A small chart of a map as an SVG file's text, for the page that people read; may be empty, and may fail: the page then does without.
  std::function<Result<std::string>(const PerformanceMap&)> chart;
  std::function<bool(double)> watch;  // told the share done, 0..1; false stops: kCancelled
  Result<void> Check() const;
};

struct PackedParcel {
  std::string base;  // the bag's folder, and a good name for the file before ".zip"
  std::vector<ZipItem> items;
  std::int64_t maps = 0, revisions = 0, sheets = 0, bytes = 0;  // bytes: of the payload, unpacked
  std::vector<std::string> missing_sheets;                      // SHA-256s that documents name and the shelf does not hold
};

// What the parcel's file will hold; the same shelf content, options and key make the same bytes. `shelf` is read again when the items are written.
// Errors: the shelf's; kInvalidArgument: no map, one named twice.
Result<PackedParcel> PackParcel(Shelf& shelf, const PackOptions& options);

struct ParcelDocument {
  std::string kind;   // "compressor", "turbine" or empty
  std::string title;  // may be empty
  std::int64_t curves = 0;
  std::int64_t doubts = 0;                  // curves and statements that ask for a look
  std::optional<std::string> sheet_sha256;  // that it names
};

struct ParcelMap {
  std::string name;
  std::string head;                     // a revision's id
  std::vector<RevisionRecord> history;  // a parent before its children; the head last
  MapFacts facts;
};

// An opened parcel: everything in it was hashed and read, every id is what it says, every history is whole.
class Parcel {
 public:
  struct Options {
    ZipLimits limits{.max_total_bytes = std::int64_t{4} << 30};
    std::function<bool(double)> watch;  // false stops: kCancelled
  };
  // kCannotRead; kParcelDamaged; kParcelRefused; kNewerParcel; of its documents kMalformedDocument and kUnsupportedSchema. A signature that does not hold is no
  // error here but Signature::State::kWrong.
  static Result<Parcel> Open(const std::filesystem::path& file, const Options& options);
  static Result<Parcel> OpenBytes(std::string bytes, const Options& options);

  const std::vector<ParcelMap>& Maps() const { return maps_; }  // sorted by name
  const Signature& SignedBy() const { return signature_; }
  const std::map<std::string, ParcelDocument>& Documents() const { return documents_; }  // by SHA-256
  const std::map<std::string, std::string>& Sheets() const { return sheets_; }           // SHA-256 to path in the bag
  const Bag& Content() const { return bag_; }
  bool SheetsLeftOut() const { return sheets_left_out_; }

  // Bytes, checked again against their hash. kNotFound, kParcelDamaged.
  Result<std::string> Document(const std::string& sha256) const;  // canonical JSON
  Result<std::string> Sheet(const std::string& sha256) const;

 private:
  Parcel(ZipReader zip, Bag bag) : zip_(std::move(zip)), bag_(std::move(bag)) {}
  static Result<Parcel> Take(ZipReader zip, const Options& options);
  Result<void> ReadDocuments(const Options& options);
  Result<void> ReadMaps();
  Result<std::string> ReadFile(const std::string& path, std::int64_t max_bytes) const;

  ZipReader zip_;
  Bag bag_;
  std::vector<ParcelMap> maps_;
  Signature signature_;
  std::map<std::string, ParcelDocument> documents_;
  std::map<std::string, std::string> sheets_;
  bool sheets_left_out_ = false;
};

// The branch that a diverged map is kept on: "from Tarnside Engine Works", "from a parcel" where it is not signed.
std::string BranchFor(const Parcel& parcel, const std::optional<std::string>& trusted_name);

// Puts everything on the shelf, as Shelf::Receive does: nothing that is there is changed, and doing it twice is the same as once.
// kWrongSignature before anything is written.
Result<std::vector<ReceivedMap>> UnpackParcel(const Parcel& parcel, Shelf& shelf, const std::string& branch);

// The same without writing: how each map of the parcel stands to what the shelf holds.
struct Foreseen {
  std::string name;
  ReceivedAs as = ReceivedAs::kNewMap;
  std::int64_t new_revisions = 0;
};
Result<std::vector<Foreseen>> ForeseeUnpack(const Parcel& parcel, Shelf& shelf);

}  // namespace islebook
