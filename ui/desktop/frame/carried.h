#pragma once
// What is dragged or copied out of the window for a spreadsheet, a mail or a drawing: a table and a picture at once; whoever takes it chooses.

#include <functional>

#include <QImage>
#include <QMimeData>

#include "mapstore/map/performance_map.h"

class QWidget;

namespace islebook {

// A picture that is drawn only when somebody takes it; tables and words are put in as in any QMimeData.
class Carried : public QMimeData {
  Q_OBJECT

 public:
  explicit Carried(std::function<QImage()> draw) : draw_(std::move(draw)) {}
  QStringList formats() const override;

 protected:
  QVariant retrieveData(const QString& type, QMetaType preferred) const override;

 private:
  std::function<QImage()> draw_;
  mutable QImage drawn_;
};

// The curves of a map as a spreadsheet takes them: tab-separated text, CSV and an HTML table. `name` and `revision` lead a correction home. Any thread.
void PutCurveTable(QMimeData& data, const PerformanceMap& map, const std::string& name, const std::string& revision);

// Carries it out of the window until the person lets go; `look` goes along under the mouse. The drag owns `carried`.
void CarryOut(QWidget* from, QMimeData* carried, const QPixmap& look);

}  // namespace islebook
