#pragma once
// What opens inline above the chart instead of a box in the way: writing files, looking into a parcel, packing one, deciding what both sides of a merge changed.

#include <vector>

#include <QFrame>

#include "mapstore/shelf/map_merge.h"

class QCheckBox;
class QComboBox;
class QLabel;
class QLineEdit;
class QPushButton;
class QVBoxLayout;

namespace islebook {

// A file to be written: its place and what it is.
class WritePage : public QWidget {
  Q_OBJECT

 public:
  struct Kind {
    QString words;   // "Curves for a spreadsheet"
    QString ending;  // ".xlsx"
    QString twin;
  };
  // `name`: object name, for tests.
  WritePage(const QString& name, const QString& heading, const QString& button, const std::vector<Kind>& kinds, QWidget* parent);
  // Opens with a fresh place: the folder used last, a good name.
  void Open(const QString& folder, const QString& stem);
  QString File() const;
  // One more line under the place.
  void SetRemark(const QString& words, bool limit = false);
  void AddOption(QWidget* option);

 signals:
  void WriteAsked(const QString& file);

 private:
  void TakeKind();
  void Write();

  std::vector<Kind> kinds_;
  QComboBox* kind_;
  QLineEdit* file_;
  QLabel* remark_;
  QVBoxLayout* rows_;
  QString confirmed_;  // to be replaced, as was said once already
};

// What a parcel holds, before anything is taken over.
struct ParcelWords {
  QString file;
  QString signature;     // who signed it
  bool wrong = false;    // its signature does not hold: it is not taken over
  bool unknown = false;  // signed by a key that is not trusted here
  QStringList maps;
  QString sheets;
};

class ParcelPage : public QWidget {
  Q_OBJECT

 public:
  explicit ParcelPage(QWidget* parent);
  void Show(const ParcelWords& words);

 signals:
  void UnpackAsked(const QString& file);
  void TrustAsked(const QString& file);

 private:
  QString file_;
  QLabel *signature_, *maps_;
  QPushButton *unpack_, *trust_;
};

// What both sides changed, one row each; a person chooses.
class MergePage : public QWidget {
  Q_OBJECT

 public:
  explicit MergePage(QWidget* parent);
  void Show(const QString& name, const QString& branch, const std::vector<MergeConflict>& conflicts);

 signals:
  void MergeDecided(const QString& name, const QString& branch, const MergeChoices& choices);

 private:
  MergeChoices Choices() const;

  QString name_, branch_;
  QLabel* heading_;
  QWidget* rows_ = nullptr;
  QVBoxLayout* layout_;
  QPushButton* merge_;
  std::vector<int> numbers_;
};

class Drawer : public QFrame {
  Q_OBJECT

 public:
  explicit Drawer(QWidget* parent);
  void AddPage(QWidget* page);
  void Open(QWidget* page);
  void Close();
  bool IsOpen() const { return isVisibleTo(parentWidget()); }
  QWidget* page() const { return page_; }  // nullptr: closed

 private:
  QVBoxLayout* layout_;
  std::vector<QWidget*> pages_;
  QWidget* page_ = nullptr;
};

}  // namespace islebook

Q_DECLARE_METATYPE(islebook::MergeChoices)
