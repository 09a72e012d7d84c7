#pragma once
// What the chart of the shelf room shows: one map, a state of it with what changed, or several on common axes; and what it answers under the cursor.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <QString>
#include <QStringList>

#include "mapstore/answers/askable_map.h"
#include "mapstore/query/common_axes.h"
#include "mapstore/shelf/shelf.h"
#include "ui/chart/chart.h"
#include "ui/chart/chart_frame.h"
#include "ui/chart/comparison_chart.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {

struct ShownMap {
  std::string name;
  std::string revision;
  PerformanceMap printed;                     // as the shelf holds it
  MapOnAxes on_axes;                          // as it is drawn
  std::shared_ptr<const AskableMap> askable;  // of the printed map; null: it cannot be asked
  std::string cannot;                         // why not
};

struct ShownChart {
  std::vector<ShownMap> maps;         // one, or several to be compared
  std::vector<ComparedMap> compared;  // where there are several
  ChartOverlay overlay;
  std::string caption;  // second line; empty: the chart's own
  bool show_doubts = true;
  QStringList changes;   // where two states are compared, in sentences
  QStringList unplaced;  // those of them that have no place on the chart
  bool is_difference = false;
  UnitHabit units;  // what readings are given in

  void Draw(QPainter& painter, const QRectF& area, bool night, double text_size = 0.0) const;
  ChartFrame Frame(const QRectF& area, bool night, double text_size = 0.0) const;
  // By what the file's end says: svg, png or pdf. kInvalidArgument: another.
  Result<void> Write(const std::filesystem::path& file, bool night) const;

 private:
  ChartOptions Options(const QRectF& area, bool night, double text_size) const;
};

// Reads the maps from the shelf and makes them ready; several are brought to common axes. `specs` as Shelf::Show takes them.
Result<ShownChart> OpenShownChart(Shelf& shelf, const std::vector<std::string>& specs, const UnitHabit& units);
// The later state, with the earlier one dashed. Ids.
Result<ShownChart> OpenDifference(Shelf& shelf, const std::string& name, const std::string& before, const std::string& after, const UnitHabit& units);

// What stands under the cursor, a value of the chart's axes: lines for a person, the place first.
struct Reading {
  QStringList lines;
  bool off_map = false;  // of every map shown
};
Reading ReadAt(const ShownChart& chart, const ChartPanel& panel, Point2 at);

}  // namespace islebook
