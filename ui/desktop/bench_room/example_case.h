#pragma once
// The cases that come with the program, opened with one click: the maps they name are put on the shelf first, where they are not there yet.

#include <atomic>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include <QObject>
#include <QString>

namespace islebook {

class Workplace;

struct ExampleCase {
  QString title;
  QString file;
};
// Those beside the example shelf's sheets; none where they are not installed.
std::vector<ExampleCase> FindExampleCases();

class ExampleOpener : public QObject {
  Q_OBJECT

 public:
  ExampleOpener(Workplace& workplace, QObject* parent);
  ~ExampleOpener() override;
  // Ready or Failed follows; digitizing a sheet that is missing on the shelf takes a few seconds, away from the window's thread.
  void Open(const QString& file);

 signals:
  void Progress(const QString& words);
  void Ready(const QString& text);  // with the shelf's names
  void Failed(const QString& words);

 private:
  Workplace& workplace_;
  std::thread thread_;
  std::shared_ptr<std::atomic<bool>> stop_;
};

}  // namespace islebook
