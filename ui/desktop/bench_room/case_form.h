#pragma once
// The case as a form: the important values, as the text says them. A field changes its value in the text; an empty field leaves it to the default, which stands in it
// faintly. Everything else a case can say is in the text.

#include <vector>

#include <QScrollArea>

#include "mapstore/bench/bench_case.h"
#include "mapstore/bench/case_edit.h"

class QComboBox;
class QFormLayout;
class QLabel;
class QLineEdit;
class QTableWidget;
class QToolButton;
class QVBoxLayout;

namespace islebook {

class CaseDocument;
class Workplace;

class CaseForm : public QScrollArea {
  Q_OBJECT

 public:
  CaseForm(CaseDocument& document, Workplace& workplace, QWidget* parent);

  // Names on the shelf to choose from.
  void OfferMaps(const QStringList& compressors, const QStringList& turbines);
  // Defaults that the last run took, shown where nothing is written.
  void ShowAssumed(const std::vector<AssumedValue>& assumed);
  // Marks the field whose value stands in this line; 0: none.
  void MarkLine(int line);
  // The stage that a map sent from the shelf goes to, and the way to put it there.
  int chosen_stage() const { return chosen_stage_; }
  QLineEdit* Field(const QString& name) const;  // "engine.displacement", "stage 1.compressor"

 signals:
  void FieldEntered(int line);  // of the text, where the value stands; 0: nowhere yet

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;

 private:
  struct FieldEntry {
    CasePlace place;
    QLineEdit* edit = nullptr;    // or
    QComboBox* choice = nullptr;  // with an edit of its own where names may be typed
    QString assumed_key;          // as AssumedValue names it
    QString example;
  };

  void Build();
  void Heading(const QString& words, QWidget* beside = nullptr);
  void AddField(const CasePlace& place, const QString& words, const QString& example);
  void AddMapField(const CasePlace& place, const QString& words, bool turbine);
  void AddTarget();
  void AddStage(std::size_t index, std::size_t count);
  void AddPoints();
  void Refresh();
  void RefreshPoints();
  void RefreshTarget();
  void WritePoint(int row, int column);
  void OfferIn(QComboBox* choice, bool turbine);
  void AddPoint();
  QString StageHeading(std::size_t index, std::size_t count) const;
  bool HasTurbines() const;

  CaseDocument& document_;
  Workplace& workplace_;
  QWidget* body_ = nullptr;
  QVBoxLayout* column_ = nullptr;
  QFormLayout* rows_ = nullptr;
  std::vector<FieldEntry> fields_;
  QComboBox* target_kind_ = nullptr;
  QLineEdit* target_value_ = nullptr;
  QComboBox* point_kind_ = nullptr;
  QTableWidget* points_ = nullptr;
  QStringList compressors_, turbines_;
  std::vector<AssumedValue> assumed_;
  std::size_t built_stages_ = 0;
  bool built_turbines_ = false;
  int chosen_stage_ = 0;
  bool writing_ = false;  // the form itself changes the text
  bool filling_ = false;
  QString point_target_ = "boost";
};

}  // namespace islebook
