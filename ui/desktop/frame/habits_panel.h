#pragma once
// What a person is used to: the unit of each quantity, the language. A panel above the foot of the window; what is chosen is remembered at once.

#include <array>

#include <QFrame>

#include "mapstore/bench/unit_habit.h"

class QComboBox;

namespace islebook {

class Workplace;

class HabitsPanel : public QFrame {
  Q_OBJECT

 public:
  HabitsPanel(Workplace& workplace, QWidget* parent);
  void Open();  // the keyboard goes to the first choice

 signals:
  void Closed();

 protected:
  void keyPressEvent(QKeyEvent* event) override;

 private:
  void ShowUnits();

  Workplace& workplace_;
  std::array<QComboBox*, kShopQuantities> units_{};
  QComboBox* language_;
};

}  // namespace islebook
