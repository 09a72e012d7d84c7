// Each stage's time on a 12-megapixel photograph and a 2-megapixel scan, and as a multiple of what any program must spend on such a picture:
// decode it, make it gray, blur it once ("x floor"). Never a test: run it by hand on a quiet machine.

#include <algorithm>
#include <chrono>
#include <map>
#include <memory>
#include <string>

#include <benchmark/benchmark.h>
#include <QGuiApplication>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/proof/proof.h"
#include "digitizer/session.h"
#include "tests/support/page_wear.h"
#include "tests/support/sheet_painter.h"

namespace islebook {
namespace {

using Clock = std::chrono::steady_clock;
double Seconds(Clock::time_point since) { return std::chrono::duration<double>(Clock::now() - since).count(); }

// A worn sheet with everything that its stages found, done once.
struct Subject {
  std::vector<std::uint8_t> bytes;
  std::shared_ptr<const Sheet> sheet;
  std::unique_ptr<Session> session;
  std::unique_ptr<PrintReader> reader;
  PerformanceMap map;
  double floor_s = 0.0;
};

double FloorSeconds(const std::vector<std::uint8_t>& bytes) {
  double best = 1e9;
  for (int i = 0; i < 5; ++i) {
    const auto start = Clock::now();
    const auto sheet = DecodeSheet(bytes, "floor");
    cv::Mat gray, blurred;
    cv::cvtColor(sheet->pixels, gray, cv::COLOR_BGR2GRAY);
    cv::GaussianBlur(gray, blurred, {0, 0}, 2.0);
    benchmark::DoNotOptimize(blurred.data);
    best = std::min(best, Seconds(start));
  }
  return best;
}

Subject& SubjectOf(const std::string& name) {
  static std::map<std::string, Subject> subjects;
  const auto found = subjects.find(name);
  if (found != subjects.end()) return found->second;
  Subject& subject = subjects[name];
  paint::Random random(20);
  paint::WearLimits limits;
  const paint::WearClass wear = name == "photo12MP" ? paint::WearClass::kPhoto : paint::WearClass::kScan;
  const paint::PaintedSheet painted = paint::PaintStyle(paint::StyleNames().front(), 20, name == "photo12MP" ? 2.0 : 1.0);
  const paint::WornSheet worn = paint::Wear(painted, wear, limits, random);
  subject.bytes.assign(worn.bytes.begin(), worn.bytes.end());
  subject.sheet = std::make_shared<const Sheet>(DecodeSheet(subject.bytes, name).value());
  subject.session = std::make_unique<Session>(subject.sheet);
  subject.map = subject.session->Run().value().maps.front();
  subject.reader = PrintReader::Open().value();
  subject.floor_s = FloorSeconds(subject.bytes);
  return subject;
}

template <typename Work>
void Measure(benchmark::State& state, const std::string& name, Work work) {
  Subject& subject = SubjectOf(name);
  const auto start = Clock::now();
  for (auto _ : state) work(subject);
  state.counters["x floor"] = Seconds(start) / static_cast<double>(state.iterations()) / subject.floor_s;
  state.counters["megapixels"] = static_cast<double>(subject.sheet->pixels.total()) / 1e6;
}

void Floor(Subject& s) { benchmark::DoNotOptimize(FloorSeconds(s.bytes)); }
void Decode(Subject& s) { benchmark::DoNotOptimize(DecodeSheet(s.bytes, "sheet")->pixels.data); }
void FlattenStage(Subject& s) { benchmark::DoNotOptimize(FlattenPage(*s.sheet)->ink.data); }
void RidgeStage(Subject& s) { benchmark::DoNotOptimize(TraceRidges(*s.session->stages().page)->chains.size()); }
void PrintStage(Subject& s) { benchmark::DoNotOptimize(FindPrint(*s.session->stages().page, s.session->stages().ridges->dash_mask)->words.size()); }
void AxesStage(Subject& s) {
  const StageResults& r = s.session->stages();
  benchmark::DoNotOptimize(FindAxes(*r.page, *r.ridges, *r.print, *s.reader)->panels.size());
}
void CurveStage(Subject& s) {
  const StageResults& r = s.session->stages();
  benchmark::DoNotOptimize(TraceCurves(*r.page, *r.ridges, *r.print, *r.axes, 0)->curves.size());
}
void LabelStage(Subject& s) {
  const StageResults& r = s.session->stages();
  benchmark::DoNotOptimize(ReadLabels(*r.page, *r.print, *r.axes, 0, r.evidence->front().curves, *s.reader)->labels.size());
}
void JudgeStage(Subject& s) {
  const StageResults& r = s.session->stages();
  benchmark::DoNotOptimize(JudgeCurves(*r.axes, *r.evidence)->curves.size());
}
void Whole(Subject& s) { benchmark::DoNotOptimize(Digitize(*s.sheet)->maps.size()); }
void WholeWithDecode(Subject& s) { benchmark::DoNotOptimize(Digitize(*DecodeSheet(s.bytes, "sheet"))->maps.size()); }
void Proof(Subject& s) { benchmark::DoNotOptimize(DrawProofPng(*s.sheet, s.map).size()); }
void Correction(Subject& s) {
  static int turn = 0;
  Recipe recipe;
  recipe.corrections.push_back({SetTitle{"Alder 52, turn " + std::to_string(++turn)}, ""});
  s.session->SetRecipe(recipe);
  benchmark::DoNotOptimize(s.session->Run()->maps.size());
}

void RegisterAll() {
  const std::pair<const char*, void (*)(Subject&)> works[] = {{"decode", Decode},
                                                              {"page", FlattenStage},
                                                              {"ridges", RidgeStage},
                                                              {"print", PrintStage},
                                                              {"axes", AxesStage},
                                                              {"curves", CurveStage},
                                                              {"labels", LabelStage},
                                                              {"judge", JudgeStage},
                                                              {"whole_without_decode", Whole},
                                                              {"whole", WholeWithDecode},
                                                              {"one_correction", Correction},
                                                              {"proof", Proof}};
  for (const char* name : {"photo12MP", "scan2MP"}) {
    benchmark::RegisterBenchmark((std::string(name) + "/floor_five_times").c_str(), [name](benchmark::State& state) { Measure(state, name, Floor); })
        ->Unit(benchmark::kMillisecond)
        ->UseRealTime();
    for (const auto& [work_name, work] : works)
      benchmark::RegisterBenchmark((std::string(name) + "/" + work_name).c_str(),
                                   [name, work = work](benchmark::State& state) { Measure(state, name, work); })
          ->Unit(benchmark::kMillisecond)
          ->UseRealTime();
  }
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) {
  qputenv("QT_QPA_PLATFORM", "offscreen");
  QGuiApplication application(argc, argv);
  islebook::RegisterAll();
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
