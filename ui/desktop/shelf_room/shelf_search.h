#pragma once
// The search line: words as you type; kind, tag and wheel; and a point that the map must cover.

#include <QWidget>

class QAction;
class QComboBox;
class QLabel;
class QLineEdit;

namespace islebook {

class Workplace;

// What is asked, as typed.
struct ShelfQuestion {
  QString words, kind, tag, inducer, exducer;
  bool removed = false;  // those that were removed, instead
  bool by_point = false;
  QString flow, pressure_ratio, surge_margin, efficiency;
  QString like;  // a map's name
  bool newest_first = false;
  bool AsksForWords() const {
    return !words.trimmed().isEmpty() || !kind.isEmpty() || !tag.isEmpty() || !inducer.isEmpty() || !exducer.isEmpty() || removed;
  }
  bool AsksForPoint() const { return by_point && (!flow.isEmpty() || !pressure_ratio.isEmpty()); }
  bool AsksNothing() const { return !AsksForWords() && !AsksForPoint() && like.isEmpty(); }
  bool operator==(const ShelfQuestion&) const = default;
};

class ShelfSearch : public QWidget {
  Q_OBJECT

 public:
  // The deeds' keys work anywhere in `room`.
  ShelfSearch(Workplace& workplace, QWidget* room, QWidget* parent);

  ShelfQuestion Question() const;
  void SetLike(const QString& name);
  // Everything empty again; the point stays open where it is.
  void Clear();
  // To choose from; what is chosen stays.
  void SetTags(const QStringList& tags);
  // The field of this name is wrong; empty: none.
  void MarkWrong(const QString& field);
  void ShowProgress(const QString& words);

 signals:
  void Asked();

 private:
  void TakeUnits();
  void Changed();

  Workplace& workplace_;
  QLineEdit *words_, *inducer_, *exducer_, *flow_, *ratio_, *margin_, *efficiency_;
  QComboBox *kind_, *tag_;
  QWidget* point_;
  QLabel *like_, *progress_;
  QAction *by_point_, *removed_, *newest_;
  QString like_name_;
  ShelfQuestion last_;
};

}  // namespace islebook
