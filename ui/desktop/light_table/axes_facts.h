#pragma once
// What the axes show, their ends, the reference conditions and the title: each can be put right here, under the chart that is drawn with them.

#include <array>
#include <memory>
#include <optional>

#include <QWidget>

#include "digitizer/recipe/recipe.h"
#include "mapstore/bench/unit_habit.h"
#include "mapstore/map/performance_map.h"

class QCheckBox;
class QComboBox;
class QGridLayout;
class QLabel;
class QLineEdit;

namespace islebook {

class AxesFacts : public QWidget {
  Q_OBJECT

 public:
  explicit AxesFacts(QWidget* parent);

  void SetMap(std::shared_ptr<const PerformanceMap> map);  // null: none
  void EditAxis(AxisSide side);                            // the keyboard goes to its first end
  void EditReference();
  void SetUnits(const UnitHabit& units);

 signals:
  void Corrected(const CorrectionStep& step, const QString& words);
  void Refused(const QString& reason);
  void LeftEditing();

 private:
  struct Row {
    QLabel* name = nullptr;
    QComboBox* quantity = nullptr;
    QLineEdit *min = nullptr, *max = nullptr, *unit = nullptr;
    QLabel* to = nullptr;
    QCheckBox* log = nullptr;
  };
  Row MakeRow(QGridLayout* grid, int line, const QString& name, const QString& id);
  void FillRow(const Row& row, const std::optional<Axis>& axis);
  void FillReference();
  void TakeRow(AxisSide side);
  void TakeReference();
  void TakeTitle();
  const std::optional<Axis>& AxisOf(AxisSide side) const;
  void Mark(QLineEdit* edit, bool wrong);

  std::shared_ptr<const PerformanceMap> map_;
  std::array<Row, 3> rows_;  // along AxisSide
  QLineEdit *temperature_, *pressure_, *title_;
  QCheckBox* printed_;
  UnitHabit units_;
  QString shown_temperature_, shown_pressure_;  // as the map has them: what nobody touched is not a correction
};

}  // namespace islebook
