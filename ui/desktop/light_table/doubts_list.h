#pragma once
// The doubts of a map as a short list, with the numbers that their flags carry on the sheet. A click, the arrows or Enter go there.

#include <memory>
#include <optional>
#include <vector>

#include <QListWidget>

#include "mapstore/map/performance_map.h"
#include "ui/chart/chart_words.h"

namespace islebook {

class DoubtsList : public QListWidget {
  Q_OBJECT

 public:
  explicit DoubtsList(QWidget* parent);

  void SetMap(const PerformanceMap* map);  // null: none
  // The next or previous one after the one that is current; goes there.
  void Step(int by);
  void ShowCurve(std::optional<std::size_t> curve);  // marks its first doubt without going there
  const std::vector<ChartDoubt>& doubts() const { return doubts_; }

 signals:
  void Visited(const ChartDoubt& doubt);

 protected:
  void resizeEvent(QResizeEvent* event) override;

 private:
  void Visit(int row);

  std::vector<ChartDoubt> doubts_;
};

// "3 curves need a look", "Nothing to look at".
QString TopLineOf(const PerformanceMap& map);

}  // namespace islebook
