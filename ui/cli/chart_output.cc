#include "ui/cli/chart_output.h"

#include <cstdio>
#include <cstdlib>

#include <QGuiApplication>

#include "ui/chart/chart_files.h"
#include "ui/chart/comparison_chart.h"

namespace islebook {
namespace {

std::filesystem::path PartOf(const std::filesystem::path& file, int part) {
  if (part <= 1) return file;
  return file.parent_path() / (file.stem().string() + "-" + std::to_string(part) + file.extension().string());
}

}  // namespace

// Fonts and painting want an application; it opens no window and needs no display.
void StartWithoutScreen() {
  if (QGuiApplication::instance() != nullptr) return;
  setenv("QT_QPA_PLATFORM", "offscreen", 1);
  // Qt's remarks about the desk it does not find are nothing to the person at the command line.
  qInstallMessageHandler([](QtMsgType type, const QMessageLogContext&, const QString& message) {
    if (type == QtCriticalMsg || type == QtFatalMsg) std::fprintf(stderr, "islebook: %s\n", qPrintable(message));
  });
  static int argc = 1;
  static char name[] = "islebook";
  static char* argv[] = {name, nullptr};
  static QGuiApplication application(argc, argv);
}

Result<std::vector<std::filesystem::path>> WriteCharts(const ChartFileArguments& files, const PerformanceMap& map, const ChartOverlay& overlay,
                                                       const ChartOptions& options, int part) {
  std::vector<std::filesystem::path> written;
  if (!files.Any()) return written;
  StartWithoutScreen();
  using Writer = Result<void> (*)(const std::filesystem::path&, const PerformanceMap&, const ChartOverlay&, const ChartOptions&, const ChartPaper&);
  const std::pair<const std::optional<std::filesystem::path>*, Writer> wanted[] = {
      {&files.svg, WriteChartSvg}, {&files.png, WriteChartPng}, {&files.pdf, WriteChartPdf}};
  for (const auto& [file, write] : wanted) {
    if (!*file) continue;
    const std::filesystem::path target = PartOf(**file, part);
    if (const auto done = write(target, map, overlay, options, ChartPaper{}); !done) return std::unexpected(done.error());
    written.push_back(target);
  }
  return written;
}

Result<std::vector<std::filesystem::path>> WriteComparisons(const ChartFileArguments& files, const std::vector<ComparedMap>& maps,
                                                            const ChartOptions& options) {
  std::vector<std::filesystem::path> written;
  StartWithoutScreen();
  using Writer = Result<void> (*)(const std::filesystem::path&, const std::vector<ComparedMap>&, const ChartOptions&, const ChartPaper&);
  const std::pair<const std::optional<std::filesystem::path>*, Writer> wanted[] = {
      {&files.svg, WriteComparisonSvg}, {&files.png, WriteComparisonPng}, {&files.pdf, WriteComparisonPdf}};
  for (const auto& [file, write] : wanted) {
    if (!*file) continue;
    if (const auto done = write(**file, maps, options, ChartPaper{}); !done) return std::unexpected(done.error());
    written.push_back(**file);
  }
  return written;
}

Result<std::string> ChartAsSvg(const PerformanceMap& map, const ChartOptions& options) {
  StartWithoutScreen();
  return ChartAsSvgText(map, {}, options, {.width = 960.0, .height = 708.0});
}

}  // namespace islebook
