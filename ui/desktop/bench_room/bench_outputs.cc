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
  for (const BenchMap& map : outcome.bench->compressors()) maps.push_back(map.map.get());
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
    const PerformanceMap& map = *outcome.bench->compressors()[i].map;
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

void BenchOutputs::InThread(std::function<Result<QString>()> write) {
  auto before = std::make_shared<std::thread>(std::move(thread_));
  thread_ = std::thread([this, before, write = std::move(write)] {
    if (before->joinable()) before->join();
    const Result<QString> done = write();
    QMetaObject::invokeMethod(
        this,
        [this, done] {
          if (done)
            emit Written(*done);
          else
            emit Failed(QString::fromStdString(done.error().place.empty() ? done.error().message : done.error().place + ": " + done.error().message));
        },
        Qt::QueuedConnection);
  });
}

void BenchOutputs::Write(std::shared_ptr<const BenchOutcome> outcome, const QString& file, bool report) {
  InThread([outcome = std::move(outcome), file, report]() -> Result<QString> {
    if (const auto written = WriteOut(*outcome, file.toStdString(), report); !written) return std::unexpected(written.error());
    return tr("Wrote %1.").arg(file);
  });
}

void BenchOutputs::Print(std::shared_ptr<const BenchOutcome> outcome, QWidget* window) {
  for (QPrintDialog* open : window->findChildren<QPrintDialog*>(QString(), Qt::FindDirectChildrenOnly)) open->close();
  auto printer = std::make_shared<QPrinter>(QPrinter::HighResolution);
  printer->setDocName(QString::fromStdString(outcome->result.asked.title));
  auto* ask = new QPrintDialog(printer.get(), window);
  ask->setAttribute(Qt::WA_DeleteOnClose);
  connect(ask, qOverload<>(&QDialog::accepted), this, [this, printer, outcome = std::move(outcome)] {
    InThread([printer, outcome]() -> Result<QString> {
      const QString where = printer->outputFileName().isEmpty() ? tr("Sent to the printer %1.").arg(printer->printerName())
                                                                : tr("Wrote %1.").arg(printer->outputFileName());
      if (const auto printed = DrawBenchReport(*printer, outcome->result, MapsOf(*outcome)); !printed) return std::unexpected(printed.error());
      return where;
    });
  });
  ask->open();
}

}  // namespace islebook
