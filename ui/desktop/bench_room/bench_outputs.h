#pragma once
// What goes out of the bench: the report, the charts, the data. Files are written away from the window's thread, whole or not at all.

#include <functional>
#include <memory>
#include <thread>

#include <QObject>
#include <QString>

#include "ui/desktop/bench_room/bench_worker.h"

class QWidget;

namespace islebook {

class BenchOutputs : public QObject {
  Q_OBJECT

 public:
  explicit BenchOutputs(QObject* parent) : QObject(parent) {}
  ~BenchOutputs() override;

  // By the file's ending: .pdf the report, .json the data, .svg and .png each stage's chart (several stages: NAME-1.svg, NAME-2.svg).
  void Write(std::shared_ptr<const BenchOutcome> outcome, const QString& file, bool report);
  // The report on a printer that the person chooses.
  void Print(std::shared_ptr<const BenchOutcome> outcome, QWidget* window);

 signals:
  void Written(const QString& words);
  void Failed(const QString& words);

 private:
  // One after the other; what was done in words, or why not.
  void InThread(std::function<Result<QString>()> write);
  std::thread thread_;
};

}  // namespace islebook
