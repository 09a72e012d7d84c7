#pragma once
// The altitude of the case as a slider, and its fan: the same points at sea level, half way and there.

#include <QWidget>

class QCheckBox;
class QLabel;
class QSlider;

namespace islebook {

class CaseDocument;
struct BenchResult;
class Workplace;

class AltitudeBar : public QWidget {
  Q_OBJECT

 public:
  AltitudeBar(CaseDocument& document, Workplace& workplace, QWidget* parent);
  // As the case has it, where nobody holds the slider.
  void Show(const BenchResult& result);
  QSlider* slider() const { return slider_; }

 signals:
  void Said(const QString& words);

 private:
  bool InFeet() const;
  void TakeUnits();
  void Write();
  void ShowWords();

  CaseDocument& document_;
  Workplace& workplace_;
  QSlider* slider_;
  QLabel* value_;
  QCheckBox* fan_;
  double highest_m_ = 0.0;
};

}  // namespace islebook
