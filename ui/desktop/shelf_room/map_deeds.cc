#include "ui/desktop/shelf_room/map_deeds.h"

#include <QCoreApplication>
#include <QImage>
#include <QPainter>
#include <QUrl>

#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/parcel/curve_tables.h"
#include "mapstore/parcel/key_ring.h"
#include "mapstore/parcel/parcel.h"
#include "mapstore/parcel/zip_file.h"
#include "mapstore/shelf/open_shelf.h"
#include "ui/chart/chart_files.h"
#include "ui/desk/parcel_words.h"
#include "ui/desktop/shelf_room/shelf_rows.h"

namespace islebook {
namespace {

struct Words {
  Q_DECLARE_TR_FUNCTIONS(MapDeeds)
};

QString Text(const std::string& text) { return QString::fromStdString(text); }

bool EndsWith(const std::filesystem::path& file, const char* ending) { return file.string().ends_with(ending); }

Result<std::string> SmallChart(const PerformanceMap& map) {
  ChartOptions options;
  options.show_key = false;
  return ChartAsSvgText(map, {}, options, {.width = 960.0, .height = 708.0});
}

struct OpenedParcel {
  Parcel parcel;
  ParcelTrust trust;
};

Result<OpenedParcel> Open(const std::filesystem::path& file) {
  const Result<KeyRing> ring = KeyRing::Open(DefaultKeyFolder());
  if (!ring) return std::unexpected(ring.error());
  Result<Parcel> parcel = Parcel::Open(file, {});
  if (!parcel) return std::unexpected(parcel.error());
  const ParcelTrust trust = TrustOf(*parcel, *ring);
  return OpenedParcel{std::move(*parcel), trust};
}

}  // namespace

Result<void> WriteChosen(const ShownChart& chart, const std::filesystem::path& file, bool night) {
  const bool document = EndsWith(file, ".map.json"), csv = EndsWith(file, ".csv"), workbook = EndsWith(file, ".xlsx");
  if (!document && !csv && !workbook) {
    if (EndsWith(file, ".svg") || EndsWith(file, ".png") || EndsWith(file, ".pdf")) return chart.Write(file, night);
    return Fail(ErrorCode::kInvalidArgument, "The file's end says what is written: .map.json, .csv, .xlsx, .svg, .png or .pdf.", file.string());
  }
  if (chart.maps.size() != 1)
    return Fail(ErrorCode::kInvalidArgument, "Documents and tables hold one map: choose one alone, or write the chart.", file.string());
  const ShownMap& map = chart.maps.front();
  const TableOrigin origin{map.name, map.revision};
  if (workbook) {
    const Result<std::string> bytes = CurvesAsWorkbook(map.printed, origin);
    if (!bytes) return std::unexpected(bytes.error());
    return ReplaceFileContents(file, *bytes);
  }
  return ReplaceFileContents(file, document ? WriteMapDocument(map.printed) : CurvesAsCsv(map.printed, origin));
}

QImage ChartPicture(const ShownChart& chart, bool night) {
  QImage picture(1600, 1180, QImage::Format_RGB32);
  QPainter painter(&picture);
  chart.Draw(painter, QRectF(0, 0, 1600, 1180), night);
  painter.end();
  return picture;
}

Result<QString> SignsAs() {
  const Result<KeyRing> ring = KeyRing::Open(DefaultKeyFolder());
  if (!ring) return std::unexpected(ring.error());
  return ring->Own() ? Text(ring->Own()->name) : QString();
}

Result<QString> PackMaps(Shelf& shelf, const QStringList& names, bool sheets, const std::filesystem::path& file) {
  const Result<KeyRing> ring = KeyRing::Open(DefaultKeyFolder());
  if (!ring) return std::unexpected(ring.error());
  PackOptions options;
  for (const QString& name : names) options.maps.push_back(name.toStdString());
  options.sheets = sheets;
  options.key = ring->Own();
  options.chart = SmallChart;
  const Result<PackedParcel> packed = PackParcel(shelf, options);
  if (!packed) return std::unexpected(packed.error());
  if (const Result<void> written = WriteZip(file, packed->items); !written) return std::unexpected(written.error());
  QStringList parts = {Counted(packed->maps, Words::tr("%1 map"), Words::tr("%1 maps")),
                       Counted(packed->revisions, Words::tr("%1 revision"), Words::tr("%1 revisions")),
                       sheets ? Counted(packed->sheets, Words::tr("%1 sheet"), Words::tr("%1 sheets")) : Words::tr("no sheets")};
  QString words = Words::tr("Packed %1 into %2, %3.")
                      .arg(parts.join(QStringLiteral(", ")), Text(file.string()),
                           options.key ? Words::tr("signed as %1").arg(Text(options.key->name)) : Words::tr("not signed, as this shop has no key"));
  if (!packed->missing_sheets.empty())
    words += QLatin1Char(' ') + Words::tr("Sheets that are not on the shelf, and so not in it: %1.").arg(packed->missing_sheets.size());
  return words;
}

Result<ParcelWords> LookIntoParcel(Shelf& shelf, const std::filesystem::path& file) {
  const Result<OpenedParcel> opened = Open(file);
  if (!opened) return std::unexpected(opened.error());
  const Result<std::vector<Foreseen>> foreseen = ForeseeUnpack(opened->parcel, shelf);
  if (!foreseen) return std::unexpected(foreseen.error());
  ParcelWords words;
  words.file = Text(file.string());
  words.signature = Text(SignatureWords(opened->parcel, opened->trust)).replace(QLatin1Char('\n'), QLatin1Char(' ')).simplified();
  words.wrong = opened->trust.state == ParcelTrust::State::kWrong;
  words.unknown = opened->trust.state == ParcelTrust::State::kUnknown;
  const auto maps = static_cast<qint64>(opened->parcel.Maps().size());
  words.sheets = QStringLiteral("%1, %2.").arg(
      Counted(maps, Words::tr("%1 map"), Words::tr("%1 maps")),
      opened->parcel.SheetsLeftOut() ? Words::tr("sheets left out")
                                     : Counted(static_cast<qint64>(opened->parcel.Sheets().size()), Words::tr("%1 sheet"), Words::tr("%1 sheets")));
  for (const ParcelMap& map : opened->parcel.Maps()) {
    const RevisionRecord& head = map.history.back();
    const auto document = opened->parcel.Documents().find(head.document_sha256);
    QString line = Text(PlainText(map.name));
    if (document != opened->parcel.Documents().end() && !document->second.kind.empty()) line += QStringLiteral(", ") + Text(document->second.kind);
    line += QStringLiteral(", ") + Words::tr("%1 by %2").arg(TimeWords(head.time), Text(PlainText(head.author)));
    if (document != opened->parcel.Documents().end() && document->second.doubts > 0)
      line += QStringLiteral(", ") + Counted(document->second.doubts, Words::tr("%1 doubt"), Words::tr("%1 doubts"));
    for (const Foreseen& one : *foreseen)
      if (one.name == map.name) line += QStringLiteral(": ") + Text(ForeseenWords(one));
    words.maps << line;
  }
  return words;
}

Result<Unpacked> UnpackOntoShelf(Shelf& shelf, const std::filesystem::path& file) {
  const Result<OpenedParcel> opened = Open(file);
  if (!opened) return std::unexpected(opened.error());
  if (opened->trust.state == ParcelTrust::State::kWrong)
    return Fail(ErrorCode::kWrongSignature, "its signature does not hold; nothing was taken over.", file.string());
  const bool trusted = opened->trust.state == ParcelTrust::State::kTrusted;
  const Result<std::vector<ReceivedMap>> received =
      UnpackParcel(opened->parcel, shelf, BranchFor(opened->parcel, trusted ? std::optional(opened->trust.name) : std::nullopt));
  if (!received) return std::unexpected(received.error());
  Unpacked out;
  qint64 fresh = 0, forward = 0, branch = 0, same = 0, wheels = 0;
  for (const ReceivedMap& map : *received) {
    if (out.first.isEmpty() || map.as == ReceivedAs::kBranch) out.first = Text(map.name);
    fresh += map.as == ReceivedAs::kNewMap;
    forward += map.as == ReceivedAs::kForward;
    branch += map.as == ReceivedAs::kBranch;
    same += map.as == ReceivedAs::kSame || map.as == ReceivedAs::kBehind;
    wheels += map.wheel_differs;
  }
  QStringList parts;
  if (fresh > 0) parts << Counted(fresh, Words::tr("%1 new map"), Words::tr("%1 new maps"));
  if (forward > 0) parts << Counted(forward, Words::tr("%1 brought forward"), Words::tr("%1 brought forward"));
  if (branch > 0) parts << Counted(branch, Words::tr("%1 on a branch, to be merged"), Words::tr("%1 on branches, to be merged"));
  if (same > 0) parts << Counted(same, Words::tr("%1 was here already"), Words::tr("%1 were here already"));
  if (wheels > 0) parts << Words::tr("wheel data that differ were left as they are here: %1").arg(wheels);
  out.words = Words::tr("Unpacked: %1.").arg(parts.join(QStringLiteral("; ")));
  out.needs_look = branch > 0 || wheels > 0;
  return out;
}

Result<QString> TrustParcelKey(const std::filesystem::path& file) {
  Result<KeyRing> ring = KeyRing::Open(DefaultKeyFolder());
  if (!ring) return std::unexpected(ring.error());
  const Result<OpenedParcel> opened = Open(file);
  if (!opened) return std::unexpected(opened.error());
  const Signature& signature = opened->parcel.SignedBy();
  if (signature.state != Signature::State::kGood)
    return Fail(ErrorCode::kNoKey, "it carries no good signature, so there is no key to trust.", file.string());
  const Result<bool> done = ring->Trust({signature.public_key, PlainText(signature.signer)});
  if (!done) return std::unexpected(done.error());
  return Words::tr("The key is trusted from now on as %1. islebook parcel trust KEY --remove takes that back.")
      .arg(Text(PlainText(signature.signer)));
}

Result<QString> TakeMapDocument(Shelf& shelf, const std::filesystem::path& file, const std::string& author) {
  const Result<std::string> text = ReadFileContents(file);
  if (!text) return std::unexpected(text.error());
  if (const Result<PerformanceMap> map = ParseMapDocument(*text); !map)
    return Fail(map.error().code, map.error().message, file.string() + (map.error().place.empty() ? "" : ", " + map.error().place));
  NewRevision revision;
  const std::string name = file.filename().string();
  revision.name = name.substr(0, name.size() - std::string(".map.json").size());
  revision.document = *text;
  revision.author = author;
  revision.message = "taken from " + name;
  const Result<AddedRevision> added = shelf.AddRevision(revision);
  if (!added) return std::unexpected(added.error());
  return Text(revision.name);
}

MapsOnTheMove::MapsOnTheMove(std::filesystem::path shelf_file, std::filesystem::path folder, QStringList names)
    : shelf_file_(std::move(shelf_file)), folder_(std::move(folder)), names_(std::move(names)) {}

QStringList MapsOnTheMove::formats() const { return QMimeData::formats() << QStringLiteral("text/uri-list"); }

QVariant MapsOnTheMove::retrieveData(const QString& type, QMetaType preferred) const {
  if (type != QLatin1String("text/uri-list")) return QMimeData::retrieveData(type, preferred);
  if (packed_.isEmpty()) {
    std::error_code error;
    std::filesystem::create_directories(folder_, error);
    QString stem = names_.size() == 1 ? names_.front() : Words::tr("maps");
    stem.replace(QLatin1Char('/'), QLatin1Char('-'));
    const std::filesystem::path file = folder_ / (stem + QStringLiteral(".zip")).toStdString();
    Result<std::unique_ptr<Shelf>> shelf = islebook::OpenShelf(shelf_file_.string(), {.access = ShelfAccess::kRead});
    if (!shelf || !PackMaps(**shelf, names_, true, file)) return {};
    packed_ = Text(file.string());
  }
  return QVariant::fromValue(QVariantList{QUrl::fromLocalFile(packed_)});
}

}  // namespace islebook
