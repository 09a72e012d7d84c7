#pragma once
// What the shelf room writes: files, parcels, what a clipboard or a spreadsheet takes. Each runs in a clerk's thread unless it says otherwise.

#include <filesystem>
#include <vector>

#include <QMimeData>
#include <QStringList>

#include "mapstore/shelf/shelf.h"
#include "ui/desktop/shelf_room/drawer.h"
#include "ui/desktop/shelf_room/shown_chart.h"

namespace islebook {

// By the file's end: .map.json the document, .csv and .xlsx the curves, .svg, .png and .pdf the chart. kInvalidArgument: another end, or several maps where one is
// meant.
Result<void> WriteChosen(const ShownChart& chart, const std::filesystem::path& file, bool night);

// The chart as a picture of 1,600 by 1,180 pixels.
QImage ChartPicture(const ShownChart& chart, bool night);

// Maps with their history and their sheets in one file, signed where this shop has a key. Returns a sentence about it.
Result<QString> PackMaps(Shelf& shelf, const QStringList& names, bool sheets, const std::filesystem::path& file);
// Who this shop signs as; empty: it has no key.
Result<QString> SignsAs();

// Looks into a parcel and writes nothing.
Result<ParcelWords> LookIntoParcel(Shelf& shelf, const std::filesystem::path& file);
struct Unpacked {
  QString words;            // what became of it
  QString first;            // a map of it, to be shown
  bool needs_look = false;  // something became a branch or differs
};
Result<Unpacked> UnpackOntoShelf(Shelf& shelf, const std::filesystem::path& file);
// The parcel's key is trusted from now on, by the name that it goes by.
Result<QString> TrustParcelKey(const std::filesystem::path& file);

// A map document put on the shelf under the name of its file. Returns the name.
Result<QString> TakeMapDocument(Shelf& shelf, const std::filesystem::path& file, const std::string& author);

// Maps on their way out of the window: the parcel is packed when whoever they are dropped on asks for a file.
class MapsOnTheMove : public QMimeData {
  Q_OBJECT

 public:
  MapsOnTheMove(std::filesystem::path shelf_file, std::filesystem::path folder, QStringList names);
  QStringList formats() const override;

 protected:
  QVariant retrieveData(const QString& type, QMetaType preferred) const override;

 private:
  std::filesystem::path shelf_file_, folder_;
  QStringList names_;
  mutable QString packed_;
};

}  // namespace islebook
