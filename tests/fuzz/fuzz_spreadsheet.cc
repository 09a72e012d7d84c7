// A spreadsheet of curves. As a checksum stops nearly every change to packed bytes, the input may also be the parts of the archive as text: "PATH\n" and content,
// parted by lines of "----".
#include "mapstore/parcel/zip_file.h"
#include "tests/fuzz/check_tables.h"
#include "tests/mapstore/parcel/parcel_test_support.h"

namespace {

using namespace islebook;

constexpr std::string_view kParting = "\n----\n";

std::string PartsOf(const std::string& workbook) {
  const Result<ZipReader> zip = ZipReader::OpenBytes(workbook);
  std::string text;
  for (const ZipEntry& entry : zip->Entries())
    if (entry.path.starts_with("xl/w") || entry.path.starts_with("xl/_rels") || entry.path.starts_with("xl/shared"))
      text += (text.empty() ? "" : std::string(kParting)) + entry.path.substr(3) + "\n" + *zip->Read(entry.path, 1 << 20);
  return text;
}

std::string Workbook(std::string_view text) {
  parcel_test::Files files;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(kParting), text.size());
    const std::string_view one = text.substr(0, end);
    const std::size_t line = std::min(one.find('\n'), one.size());
    const std::string path(one.substr(0, line));
    if (WrongWithPath(path).empty() && files.size() < 20) files[path] = std::string(one.substr(std::min(line + 1, one.size())));
    text.remove_prefix(std::min(end + kParting.size(), text.size()));
  }
  return files.empty() ? "" : parcel_test::Zipped(files, "xl");
}

}  // namespace

std::vector<std::string> FuzzSeeds() {
  const std::string compressor = *CurvesAsWorkbook(FuzzedMap(false), {"Alder 52", std::string(64, 'a')});
  const std::string turbine = *CurvesAsWorkbook(FuzzedMap(true), {"rowan.map.json", ""});
  return {PartsOf(compressor), PartsOf(turbine), compressor};
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string bytes(reinterpret_cast<const char*>(data), size);
  const std::string workbook = bytes.starts_with("PK") ? bytes : Workbook(bytes);
  if (const auto sheets = ReadWorkbook(workbook); !sheets) FUZZ_CHECK(!sheets.error().message.empty());
  CheckTables(ReadCurveWorkbook(workbook));
  return 0;
}
