#pragma once
// A sheet being digitized in a thread of its own, which owns the session. Requests return at once; what comes of them is told by signals in the window's thread,
// as plain values in sheet pixels. A newer request supersedes an older one: what the older one still had to say is dropped.

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <QImage>
#include <QObject>
#include <QPolygonF>

#include "digitizer/recipe/recipe.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"
#include "ui/desktop/light_table/sheet_picture.h"

namespace islebook {

// Where a sheet comes from: one of file, bytes, picture and shelf_name is given.
struct SheetOrder {
  std::filesystem::path file;
  std::shared_ptr<const std::string> bytes;
  QImage picture;          // from the clipboard; kept as PNG
  std::string shelf_name;  // NAME or NAME@REVISION: its sheet and its recipe
  std::filesystem::path shelf_file;
  std::string name;  // of a sheet that is no file
  Recipe recipe;
};

// A sheet that was read, before anything was found on it.
struct ReadSheetFacts {
  std::shared_ptr<const std::string> bytes;
  std::string file;  // name without folder
  std::string sha256;
  int pages = 1;
  Recipe recipe;                            // with the page that was opened
  std::string shelf_name, shelf_revision;   // where it came from the shelf
  std::optional<PerformanceMap> shelf_map;  // as it stands there
  SheetPicture picture;
};

struct Digitized {
  std::vector<PerformanceMap> maps;
  double seconds = 0.0;
};

class Digitizing : public QObject {
  Q_OBJECT

 public:
  explicit Digitizing(QObject* parent = nullptr);
  ~Digitizing() override;  // waits for the stage that is being done

  void Open(SheetOrder order);
  // Digitizes the sheet that is open once more. Its page must be the one that was opened.
  void SetRecipe(Recipe recipe);
  // The sheet that is open, with light and paper evened out.
  void AskFlattened();
  // Whatever is being done; nothing more is told of it but Cancelled.
  void Cancel();

  bool busy() const { return busy_; }

 signals:
  void SheetRead(const ReadSheetFacts& facts);
  void StageBegun(const QString& stage, double part);
  void LinesSeen(const std::vector<QPolygonF>& lines);    // first look, ridges, then curves
  void FramesSeen(const std::vector<QPolygonF>& frames);  // plot frames, as they bend on the sheet
  void Finished(const std::shared_ptr<const Digitized>& result);
  void Failed(const Error& error);
  void Cancelled();
  void FlattenedShown(const SheetPicture& picture);

 private:
  class Worker;

  std::unique_ptr<Worker> worker_;
  bool busy_ = false;
};

}  // namespace islebook
