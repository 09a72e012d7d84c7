#pragma once
// A bag (BagIt, RFC 8493, https://www.rfc-editor.org/rfc/rfc8493): payload under data/, a manifest of its hashes, and tag files that say what it is.

#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "mapstore/parcel/zip_file.h"
#include "mapstore/units/error.h"

namespace islebook {

struct BagFile {
  std::string sha256;
  std::int64_t size = 0;
};

// A bag whose every file was hashed and is what its manifests say. Paths are within the bag: "data/parcel.json", "bag-info.txt".
struct Bag {
  std::string base;                                       // the archive's one top folder, without slash
  std::map<std::string, BagFile> payload;                 // under data/
  std::map<std::string, BagFile> tags;                    // all other files
  std::vector<std::pair<std::string, std::string>> info;  // bag-info.txt, in order
};

// kParcelDamaged: not a bag, or one that is not complete or not valid (RFC 8493, section 3); the message names the file.
// `watch` is told the share of bytes hashed and stops by returning false: kCancelled.
Result<Bag> ReadBag(const ZipReader& zip, const std::function<bool(double)>& watch = {});

// The texts of tag files.
std::string BagDeclaration();                                                             // bagit.txt
std::string BagInfoText(const std::vector<std::pair<std::string, std::string>>& labels);  // "Label: value" lines; line ends in values become spaces
std::string ManifestText(const std::map<std::string, BagFile>& files);                    // sorted by path

// Read strictly: hashes of 64 hex digits, safe paths, none twice. `name` is the manifest's, for messages.
Result<std::map<std::string, std::string>> ReadManifest(std::string_view text, const std::string& name);

}  // namespace islebook
