#pragma once
// The chosen curve: what it is, its value, how well it is known. Role and value can be changed here.

#include <memory>
#include <optional>
#include <span>

#include <QWidget>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

class QComboBox;
class QLabel;
class QLineEdit;

namespace islebook {

class CurveFacts : public QWidget {
  Q_OBJECT

 public:
  explicit CurveFacts(QWidget* parent);

  void SetCurve(std::shared_ptr<const PerformanceMap> map, std::optional<std::size_t> curve);
  // The keyboard goes to the value; `first` is what was typed already.
  void EditValue(const QString& first = {});

 signals:
  void Relabeled(std::optional<double> value, const QString& unit);
  void RoleGiven(CurveRole role);
  void Refused(const QString& reason);
  void LeftEditing();

 private:
  void TakeValue();

  std::shared_ptr<const PerformanceMap> map_;
  std::optional<std::size_t> curve_;
  QLabel* name_;
  QComboBox* role_;
  QLineEdit* value_;
  QLabel* unit_;
  QLabel* facts_;
};

// The roles that a curve of such a map can have, likeliest first.
std::span<const CurveRole> RolesOf(std::optional<MapKind> kind);
QString RoleWords(CurveRole role);

}  // namespace islebook
