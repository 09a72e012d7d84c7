#include "ui/desktop/light_table/digitizing.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <condition_variable>
#include <cstdint>
#include <functional>
#include <mutex>
#include <span>
#include <thread>
#include <utility>

#include <QBuffer>

#include "digitizer/first_look.h"
#include "digitizer/session.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/open_shelf.h"

namespace islebook {
namespace {

constexpr std::size_t kMostLines = 1500;  // of a stage; the rest are specks
constexpr double kLineStepPx = 4.0;       // lines that only show how far the work has come need no more points
constexpr int kFrameSteps = 24;           // points along a frame's side

QPolygonF Thinned(const std::vector<ImagePoint>& points, const WorkingSheet& work) {
  QPolygonF line;
  Point2 last;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Point2 p = SheetFromWorking({points[i].x, points[i].y}, work);
    if (i > 0 && i + 1 < points.size() && std::hypot(p.x - last.x, p.y - last.y) < kLineStepPx) continue;
    line << QPointF(p.x, p.y);
    last = p;
  }
  return line;
}

std::vector<QPolygonF> RidgeLines(const Session& session) {
  std::vector<const RidgeChain*> chains;
  for (const RidgeChain& chain : session.stages().ridges->chains) chains.push_back(&chain);
  std::ranges::stable_sort(chains, [](const RidgeChain* a, const RidgeChain* b) { return a->length_px > b->length_px; });
  chains.resize(std::min(chains.size(), kMostLines));
  std::vector<QPolygonF> lines;
  for (const RidgeChain* chain : chains) lines.push_back(Thinned(chain->points, session.work()));
  return lines;
}

std::vector<QPolygonF> FrameLines(const Session& session) {
  std::vector<QPolygonF> frames;
  for (const Panel& panel : session.stages().axes->panels) {
    std::vector<ImagePoint> around;
    constexpr FramePoint kCorners[] = {{0, 1}, {1, 1}, {1, 0}, {0, 0}, {0, 1}};
    for (int side = 0; side < 4; ++side)
      for (int step = 0; step < kFrameSteps; ++step) {
        const double part = static_cast<double>(step) / kFrameSteps;
        const FramePoint a = kCorners[side], b = kCorners[side + 1];
        around.push_back(panel.frame.ImageFromFrame({a.u + part * (b.u - a.u), a.v + part * (b.v - a.v)}));
      }
    around.push_back(around.front());
    frames.push_back(Thinned(around, session.work()));
  }
  return frames;
}

std::vector<QPolygonF> CurveLines(const Session& session) {
  std::vector<QPolygonF> lines;
  for (const PanelEvidence& evidence : *session.stages().evidence)
    for (const TracedCurve& curve : evidence.curves.curves) {
      QPolygonF line = Thinned(curve.points, session.work());
      if (curve.closed && !line.isEmpty()) line << line.front();
      lines.push_back(std::move(line));
    }
  return lines;
}

Result<std::string> PngOf(const QImage& picture) {
  QByteArray bytes;
  QBuffer buffer(&bytes);
  buffer.open(QIODevice::WriteOnly);
  if (!picture.save(&buffer, "PNG"))
    return Fail(ErrorCode::kNotASheet, "the picture from the clipboard could not be kept; save it as a file and open that.");
  return bytes.toStdString();
}

}  // namespace

// The thread and what it is asked. Only `wanted_` and the flags are shared, under the lock.
class Digitizing::Worker {
 public:
  explicit Worker(Digitizing* owner) : owner_(owner), thread_([this] { Work(); }) {}

  ~Worker() {
    {
      const std::lock_guard lock(mutex_);
      ending_ = true;
      ++newest_;
    }
    wake_.notify_one();
    thread_.join();
  }

  void Open(SheetOrder order) {
    Ask([&] {
      wanted_.sheet = std::move(order);
      wanted_.recipe.reset();
      wanted_.flattened = false;
      ++newest_;
    });
  }
  void SetRecipe(Recipe recipe) {
    Ask([&] {
      // A sheet that waits to be opened takes the recipe along.
      if (wanted_.sheet)
        wanted_.sheet->recipe = std::move(recipe);
      else
        wanted_.recipe = std::move(recipe);
      ++newest_;
    });
  }
  void AskFlattened() {
    Ask([&] { wanted_.flattened = true; });
  }
  void Cancel() {
    Ask([&] {
      wanted_ = {};
      ++newest_;
    });
  }
  long newest() const { return newest_; }

 private:
  struct Wanted {
    std::optional<SheetOrder> sheet;
    std::optional<Recipe> recipe;
    bool flattened = false;
    bool any() const { return sheet || recipe || flattened; }
  };

  template <typename Change>
  void Ask(Change change) {
    {
      const std::lock_guard lock(mutex_);
      change();
    }
    wake_.notify_one();
  }

  void Work() {
    while (true) {
      Wanted wanted;
      {
        std::unique_lock lock(mutex_);
        wake_.wait(lock, [this] { return ending_ || wanted_.any(); });
        if (ending_) return;
        wanted = std::exchange(wanted_, {});
        mine_ = newest_;
      }
      try {
        if (wanted.sheet) OpenSheet(std::move(*wanted.sheet));
        if (wanted.recipe && session_) Run(std::move(*wanted.recipe));
        if (wanted.flattened && session_) {
          SheetPicture picture = FlattenedPictureOf(*session_);
          Tell([picture](Digitizing& owner) { emit owner.FlattenedShown(picture); });
        }
      } catch (const std::bad_alloc&) {
        session_.reset();
        TellFailure({ErrorCode::kInternal, "there is not enough memory for this sheet; give a smaller copy.", {}});
      } catch (const std::exception& failure) {
        TellFailure({ErrorCode::kInternal, std::string("the work on this sheet stopped unexpectedly (") + failure.what() + ").", {}});
      }
    }
  }

  bool Superseded() const { return newest_ != mine_; }

  // In the window's thread, unless a newer request came meanwhile.
  void Tell(std::function<void(Digitizing&)> tell) {
    QMetaObject::invokeMethod(
        owner_,
        [owner = owner_, request = mine_, tell = std::move(tell)] {
          if (request == owner->worker_->newest()) tell(*owner);
        },
        Qt::QueuedConnection);
  }
  void TellFailure(const Error& error) {
    Tell([error](Digitizing& owner) {
      owner.busy_ = false;
      emit owner.Failed(error);
    });
  }

  // Bytes, name and recipe of what was ordered.
  Result<ReadSheetFacts> Fetch(SheetOrder& order) {
    ReadSheetFacts facts;
    facts.recipe = std::move(order.recipe);
    facts.file = order.name;
    facts.bytes = order.bytes;
    if (!order.shelf_name.empty()) {
      const auto shelf = islebook::OpenShelf(order.shelf_file, {});
      if (!shelf) return std::unexpected(shelf.error());
      const auto shown = (*shelf)->Show(order.shelf_name);
      if (!shown) return std::unexpected(shown.error());
      auto map = ParseMapDocument(shown->document);
      if (!map) return std::unexpected(map.error());
      if (!map->source) return Fail(ErrorCode::kNotFound, "this map names no sheet, so there is nothing to lay on the table.", order.shelf_name);
      auto bytes = (*shelf)->Sheet(map->source->sha256);
      if (!bytes)
        return Fail(bytes.error().code, "this map's sheet is not on the shelf; open the sheet's file instead, or add it to the shelf.",
                    order.shelf_name);
      if (!map->recipe_json.empty()) {
        auto recipe = ParseRecipe(map->recipe_json);
        if (!recipe) return std::unexpected(recipe.error());
        facts.recipe = std::move(*recipe);
      }
      if (!facts.recipe.settings.page && map->source->page > 1) facts.recipe.settings.page = map->source->page;
      facts.bytes = std::make_shared<const std::string>(std::move(*bytes));
      facts.file = map->source->file;
      facts.shelf_name = shown->name;
      facts.shelf_revision = shown->revision.id;
      facts.shelf_map = std::move(*map);
    } else if (!order.file.empty()) {
      const auto bytes = ReadSheetBytes(order.file);
      if (!bytes) return std::unexpected(bytes.error());
      facts.bytes = std::make_shared<const std::string>(bytes->begin(), bytes->end());
      facts.file = order.file.filename().string();
    } else if (!order.picture.isNull()) {
      auto png = PngOf(order.picture);
      if (!png) return std::unexpected(png.error());
      facts.bytes = std::make_shared<const std::string>(std::move(*png));
    }
    if (!facts.bytes) return Fail(ErrorCode::kNotASheet, "there is no sheet to open.");
    return facts;
  }

  void OpenSheet(SheetOrder order) {
    session_.reset();
    TellStage("read", 0.0);
    auto facts = Fetch(order);
    if (!facts) return TellFailure(facts.error());
    const std::span bytes(reinterpret_cast<const std::uint8_t*>(facts->bytes->data()), facts->bytes->size());
    facts->pages = CountPages(bytes);
    if (facts->pages > 1 && !facts->recipe.settings.page) facts->recipe.settings.page = 1;
    auto decoded = DecodeSheet(bytes, facts->file, SheetOptionsFor(facts->recipe));
    if (!decoded) return TellFailure(decoded.error());
    const auto sheet = std::make_shared<const Sheet>(std::move(*decoded));
    facts->sha256 = sheet->sha256;
    facts->picture = PictureOf(*sheet);
    Recipe recipe = facts->recipe;
    session_ = std::make_unique<Session>(sheet);  // now: a correction may come as soon as the sheet is seen
    Tell([facts = std::move(*facts)](Digitizing& owner) { emit owner.SheetRead(facts); });
    if (Superseded()) return;
    std::vector<QPolygonF> lines;
    for (const auto& points : TakeFirstLook(*sheet)) {
      QPolygonF line;
      for (const Point2& p : points) line << QPointF(p.x, p.y);
      lines.push_back(std::move(line));
      if (lines.size() == kMostLines) break;
    }
    Tell([lines = std::move(lines)](Digitizing& owner) { emit owner.LinesSeen(lines); });
    Run(std::move(recipe));
  }

  void TellStage(const char* stage, double part) {
    Tell([name = QString::fromUtf8(stage), part](Digitizing& owner) { emit owner.StageBegun(name, part); });
  }

  // Also what the stages before this one found: they stay with the session.
  void ShowStage(const std::string& stage) {
    if (stage == "print" && session_->stages().ridges) Tell([lines = RidgeLines(*session_)](Digitizing& owner) { emit owner.LinesSeen(lines); });
    if (stage == "curves" && session_->stages().axes) Tell([frames = FrameLines(*session_)](Digitizing& owner) { emit owner.FramesSeen(frames); });
    if (stage == "judge" && session_->stages().evidence) Tell([lines = CurveLines(*session_)](Digitizing& owner) { emit owner.LinesSeen(lines); });
  }

  void Run(Recipe recipe) {
    const auto start = std::chrono::steady_clock::now();
    session_->SetRecipe(std::move(recipe));
    auto result = session_->Run([this](const char* stage, double part) {
      if (Superseded()) return false;
      TellStage(stage, part);
      ShowStage(stage);
      return true;
    });
    if (!result) {
      if (result.error().code != ErrorCode::kCancelled) TellFailure(result.error());
      return;
    }
    auto done = std::make_shared<Digitized>();
    done->maps = std::move(result->maps);
    done->seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    Tell([done = std::shared_ptr<const Digitized>(std::move(done))](Digitizing& owner) {
      owner.busy_ = false;
      emit owner.Finished(done);
    });
  }

  Digitizing* owner_;
  std::mutex mutex_;
  std::condition_variable wake_;
  Wanted wanted_;
  bool ending_ = false;
  std::atomic<long> newest_{0};       // request
  long mine_ = 0;                     // that the thread works on
  std::unique_ptr<Session> session_;  // the thread's own
  std::thread thread_;
};

Digitizing::Digitizing(QObject* parent) : QObject(parent), worker_(std::make_unique<Worker>(this)) {}
Digitizing::~Digitizing() = default;

void Digitizing::Open(SheetOrder order) {
  busy_ = true;
  worker_->Open(std::move(order));
}

void Digitizing::SetRecipe(Recipe recipe) {
  busy_ = true;
  worker_->SetRecipe(std::move(recipe));
}

void Digitizing::AskFlattened() { worker_->AskFlattened(); }

void Digitizing::Cancel() {
  if (!busy_) return;
  busy_ = false;
  worker_->Cancel();
  emit Cancelled();
}

}  // namespace islebook
