#pragma once
// What is known about the chosen map besides its curves: wheel, tags, notes. Edited in place; whoever listens puts it on the shelf.

#include <vector>

#include <QWidget>

#include "mapstore/shelf/map_facts.h"

class QLabel;
class QLineEdit;
class QListWidget;

namespace islebook {

class MapFactsPanel : public QWidget {
  Q_OBJECT

 public:
  explicit MapFactsPanel(QWidget* parent);

  // An empty name: none is chosen, and nothing can be edited.
  void Show(const QString& name, const MapFacts& facts);
  const QString& name() const { return name_; }
  const MapFacts& facts() const { return facts_; }

 signals:
  void WheelEdited(const QString& name, const WheelData& before, const WheelData& after);
  void TagEdited(const QString& name, const QString& tag, bool present);
  void NoteAdded(const QString& name, const QString& text);
  // What was typed cannot be taken; the field is marked.
  void Refused(const QString& words);

 private:
  struct Field {
    QLineEdit* edit;
    std::string WheelData::* words;
    std::optional<double> WheelData::* number;
  };
  void TakeField(const Field& field);
  void TakeTag();
  void DropTag();
  void ShowWheel();

  QString name_;
  MapFacts facts_;
  std::vector<Field> fields_;
  QLabel *doubts_, *notes_;
  QListWidget* tags_;
  QLineEdit *new_tag_, *new_note_;
};

}  // namespace islebook
