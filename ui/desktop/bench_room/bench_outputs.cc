#include "ui/desktop/bench_room/bench_outputs.h"

#include <QPrintDialog>
#include <QPrinter>

#include "mapstore/bench/bench_json.h"
#include "mapstore/map/whole_file.h"
#include "ui/chart/chart_files.h"
#include "ui/report/bench_report.h"

namespace islebook {
namespace {

std::vector<const PerformanceMap*> MapsOf(const BenchOutcome& outcome) {
  std::vector<const PerformanceMap*> maps;
  for (const auto& map : outcome.maps.compressors) maps.push_back(&map->map);
  return maps;
}

Result<void> WriteOut(const BenchOutcome& outcome, const std::filesystem::path& file, bool report) {
  const std::string ending = file.extension().string();
  if (ending == ".json") return ReplaceFileContents(file, WriteBenchReport(outcome.result));
  if (ending == ".pdf" && report) return WriteBenchReportPdf(file, outcome.result, MapsOf(outcome));
  if (ending != ".svg" && ending != ".png" && ending != ".pdf")
    return Fail(ErrorCode::kInvalidArgument, "a chart is written as .svg, .png or .pdf, the report as .pdf, the data as .json.", file.string());
  for (std::size_t i = 0; i < outcome.overlays.size(); ++i) {
    std::filesystem::path one = file;
    if (outcome.overlays.size() > 1) one.replace_filename(file.stem().string() + "-" + std::to_string(i + 1) + ending);
    ChartOptions options;
    options.caption = outcome.result.asked.title + (outcome.result.asked.title.empty() ? "" : ", ") + outcome.result.asked.stages[i].name;
    const PerformanceMap& map = outcome.maps.compressors[i]->map;
    const auto written = ending == ".svg"   ? WriteChartSvg(one, map, outcome.overlays[i], options)
                         : ending == ".png" ? WriteChartPng(one, map, outcome.overlays[i], options)
                                            : WriteChartPdf(one, map, outcome.overlays[i], options);
    if (!written) return written;
  }
  return {};
}

}  // namespace

BenchOutputs::~BenchOutputs() {
  if (thread_.joinable()) thread_.join();
}

void BenchOutputs::Write(std::shared_ptr<const BenchOutcome> outcome, const QString& file, bool report) {
  auto before = std::make_shared<std::thread>(std::move(thread_));
  thread_ = std::thread([this, before, outcome = std::move(outcome), file, report] {
    if (before->joinable()) before->join();
    const auto written = WriteOut(*outcome, file.toStdString(), report);
    const QString words = written ? tr("Wrote %1.").arg(file)
                                  : QString::fromStdString(written.error().place.empty() ? written.error().message
                                                                                         : written.error().place + ": " + written.error().message);
    QMetaObject::invokeMethod(
        this,
        [this, words, done = written.has_value()] {
          if (done)
            emit Written(words);
          else
            emit Failed(words);
        },
        Qt::QueuedConnection);
  });
}

void BenchOutputs::Print(std::shared_ptr<const BenchOutcome> outcome, QWidget* window) {
  QPrinter printer(QPrinter::HighResolution);
  printer.setDocName(QString::fromStdString(outcome->result.asked.title));
  QPrintDialog ask(&printer, window);
  if (ask.exec() != QDialog::Accepted) return;
  if (const auto printed = DrawBenchReport(printer, outcome->result, MapsOf(*outcome)); !printed)
    emit Failed(QString::fromStdString(printed.error().message));
  else
    emit Written(tr("Sent to the printer %1.").arg(printer.printerName()));
}

}  // namespace islebook
