#include "ui/desktop/shelf_room/shelf_answers.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <QCoreApplication>

#include "ui/desk/answer_words.h"
#include "ui/desk/shelf_questions.h"

namespace islebook {
namespace {

struct Words {
  Q_DECLARE_TR_FUNCTIONS(ShelfFinding)
};

QString Text(const std::string& text) { return QString::fromStdString(text); }

constexpr int kMostFound = 2000;
constexpr int kMostCapable = 200;

// A field that cannot be read: the rest stays as it is.
struct Misread {
  QString field, words;
};

QString WithoutPlace(const Error& error) {
  QString words = Text(error.message);
  return words.isEmpty() ? words : words.left(1).toUpper() + words.mid(1);
}

std::optional<Misread> ReadWords(const ShelfQuestion& question, FindOptions& options) {
  options.words = question.words.trimmed().toStdString();
  options.kind = question.kind.toStdString();
  if (!question.tag.isEmpty()) options.tags = {question.tag.toStdString()};
  options.removed = question.removed;
  options.limit = kMostFound;
  if (const auto read = ReadSizeSpan(question.inducer.toStdString(), "inducer", options.inducer_min_mm, options.inducer_max_mm); !read)
    return Misread{QStringLiteral("search_inducer"), WithoutPlace(read.error())};
  if (const auto read = ReadSizeSpan(question.exducer.toStdString(), "exducer", options.exducer_min_mm, options.exducer_max_mm); !read)
    return Misread{QStringLiteral("search_exducer"), WithoutPlace(read.error())};
  return std::nullopt;
}

// A bare number is in the unit of the person's habit.
std::string FlowText(const QString& typed, const UnitHabit& units) {
  bool bare = false;
  typed.toDouble(&bare);
  return (bare ? typed + QLatin1Char(' ') + QLatin1String(units.Of(ShopQuantity::kFlow).name) : typed).toStdString();
}

std::optional<Misread> ReadPoint(const ShelfQuestion& question, const UnitHabit& units, CapabilityOptions& options) {
  const Result<QuestionUnits> standard = StandardPointUnits("");
  if (question.flow.isEmpty()) return Misread{QStringLiteral("search_flow"), Words::tr("A point has a flow and a pressure ratio.")};
  if (question.pressure_ratio.isEmpty()) return Misread{QStringLiteral("search_ratio"), Words::tr("A point has a flow and a pressure ratio.")};
  const Result<double> flow = standard->Parse(QuestionValue::kFlow, FlowText(question.flow, units));
  if (!flow) return Misread{QStringLiteral("search_flow"), WithoutPlace(flow.error())};
  const Result<double> ratio = standard->Parse(QuestionValue::kPressureRatio, question.pressure_ratio.toStdString());
  if (!ratio) return Misread{QStringLiteral("search_ratio"), WithoutPlace(ratio.error())};
  options.points = {{*flow, *ratio}};
  if (!question.surge_margin.isEmpty()) {
    const Result<double> margin = ReadFraction(question.surge_margin.toStdString(), "surge margin");
    if (!margin) return Misread{QStringLiteral("search_margin"), WithoutPlace(margin.error())};
    options.surge_margin = *margin;
  }
  if (!question.efficiency.isEmpty()) {
    const Result<double> efficiency = ReadFraction(question.efficiency.toStdString(), "efficiency");
    if (!efficiency) return Misread{QStringLiteral("search_efficiency"), WithoutPlace(efficiency.error())};
    options.efficiency = *efficiency;
  }
  if (const Result<void> good = options.Check(); !good) {
    const QString words = WithoutPlace(good.error());
    return Misread{!(*flow > 0) ? QStringLiteral("search_flow") : QStringLiteral("search_ratio"), words};
  }
  options.limit = kMostCapable;
  return std::nullopt;
}

QString CapableWords(const CapableMap& map) {
  QStringList parts;
  if (map.mean_efficiency) parts << Words::tr("eff. %1").arg(Text(WithSigma(*map.mean_efficiency, std::nullopt, 3, 3)));
  parts << Words::tr("margin %1").arg(Text(PercentWithSigma(map.least_surge_margin, std::nullopt)));
  if (map.total_to_static) parts << Words::tr("total to static");
  if (map.reference_assumed) parts << Words::tr("reference conditions assumed");
  for (const std::string& doubt : map.doubts) parts << Text(doubt);
  return parts.join(QStringLiteral(", "));
}

QString Share(double part) { return QString::number(100.0 * part, 'f', 1) + QStringLiteral(" %"); }

QString LikeWords(const LikeMap& map) {
  QString words = Words::tr("flow %1 off, pressure ratio %2").arg(Share(map.flow_difference), Share(map.pressure_ratio_difference));
  if (map.peak_efficiency_difference) words += Words::tr(", efficiency %1 points").arg(100.0 * *map.peak_efficiency_difference, 0, 'f', 1);
  return words;
}

// The index that points and likeness are searched by.
Result<std::int64_t> UpdateIndex(ClerkDesk& desk, MapFinder& finder, const std::function<void(double)>& progress) {
  return finder.UpdateIndex([&](double part) {
    desk.Tell([progress, part] { progress(part); });
    return !desk.IsStale();
  });
}

}  // namespace

Result<ShelfFinding> Answer(ClerkDesk& desk, const ShelfQuestion& question, const UnitHabit& units, const std::function<void(double)>& progress) {
  const Result<Shelf*> shelf = desk.OpenShelf();
  if (!shelf) return std::unexpected(shelf.error());
  const Result<std::vector<ShelfEntry>> entries = (*shelf)->List();
  if (!entries) return std::unexpected(entries.error());
  ShelfFinding finding;
  finding.maps = static_cast<qint64>(entries->size());
  std::set<std::string> tags;
  std::map<std::string, const ShelfEntry*> by_name;
  for (const ShelfEntry& entry : *entries) {
    tags.insert(entry.tags.begin(), entry.tags.end());
    by_name[entry.name] = &entry;
  }
  for (const std::string& tag : tags) finding.tags << Text(tag);
  const auto add = [&](const std::string& name, const QString& found) {
    const auto at = by_name.find(name);
    if (at == by_name.end()) return;
    finding.rows.push_back(RowOf(*at->second));
    finding.rows.back().found = found;
  };
  const auto misread = [&](const Misread& wrong) {
    finding.wrong_field = wrong.field;
    finding.words = wrong.words;
    for (const ShelfEntry& entry : *entries) add(entry.name, {});
  };

  FindOptions words;
  if (const auto wrong = ReadWords(question, words); wrong) {
    misread(*wrong);
    return finding;
  }
  std::vector<FoundMap> found;
  if (question.AsksForWords()) {
    Result<std::vector<FoundMap>> maps = (*shelf)->Find(words);
    if (!maps && maps.error().code != ErrorCode::kInvalidArgument) return std::unexpected(maps.error());
    if (!maps) {
      misread({QStringLiteral("search_words"), WithoutPlace(maps.error())});
      return finding;
    }
    found = std::move(*maps);
  }
  std::optional<std::vector<std::string>> among;
  if (question.AsksForWords()) {
    among.emplace();
    for (const FoundMap& map : found) among->push_back(map.name);
  }

  if (question.AsksForPoint()) {
    CapabilityOptions options;
    if (const auto wrong = ReadPoint(question, units, options); wrong) {
      misread(*wrong);
      return finding;
    }
    const Result<MapFinder*> finder = desk.Finder();
    if (!finder) return std::unexpected(finder.error());
    if (const auto made = UpdateIndex(desk, **finder, progress); !made && made.error().code == ErrorCode::kCancelled)
      return std::unexpected(made.error());
    options.among = among;
    const Result<CapableMaps> capable = (*finder)->FindCapable(options);
    if (!capable) return std::unexpected(capable.error());
    for (const CapableMap& map : capable->maps) add(map.name, CapableWords(map));
    const qint64 all = static_cast<qint64>(capable->maps.size()) + capable->more;
    finding.words = all == 0 ? Words::tr("No compressor here covers this point")
                             : Counted(all, Words::tr("%1 map covers this point"), Words::tr("%1 maps cover this point"));
    if (capable->more > 0) finding.remark = Words::tr("%1 more, less efficient, not listed.").arg(capable->more);
    if (!capable->undecided.empty())
      finding.remark +=
          QLatin1Char(' ') + Words::tr("Maps whose left edge is doubtful, so that nothing can be told: %1.").arg(capable->undecided.size());
    if (capable->not_searched > 0)
      finding.remark += QLatin1Char(' ') + Words::tr("Maps that could not be searched yet: %1.").arg(capable->not_searched);
    return finding;
  }
  if (!question.like.isEmpty()) {
    const Result<MapFinder*> finder = desk.Finder();
    if (!finder) return std::unexpected(finder.error());
    if (const auto made = UpdateIndex(desk, **finder, progress); !made && made.error().code == ErrorCode::kCancelled)
      return std::unexpected(made.error());
    const Result<std::vector<LikeMap>> like = (*finder)->FindLike(question.like.toStdString(), among ? kMostFound : 50);
    if (!like) return std::unexpected(like.error());
    add(question.like.toStdString(), Words::tr("the map itself"));
    for (const LikeMap& map : *like)
      if (!among || std::find(among->begin(), among->end(), map.name) != among->end()) add(map.name, LikeWords(map));
    finding.words = like->empty() ? Words::tr("No other compressor to compare with") : Words::tr("The likest: %1").arg(Text(like->front().name));
    return finding;
  }
  if (question.AsksForWords()) {
    for (const FoundMap& map : found) {
      const auto at = by_name.find(map.name);
      finding.rows.push_back(at == by_name.end() ? RowOf(map) : RowOf(*at->second));
      if (!question.words.trimmed().isEmpty()) finding.rows.back().found = Text(map.where).simplified();
    }
    const auto count = static_cast<qint64>(found.size());
    finding.words = question.removed ? (count == 0 ? Words::tr("Nothing was removed")
                                                   : Counted(count, Words::tr("%1 map was removed"), Words::tr("%1 maps were removed")))
                    : count == 0     ? Words::tr("No map fits")
                                     : Counted(count, Words::tr("%1 map fits"), Words::tr("%1 maps fit"));
    if (count >= kMostFound) finding.remark = Words::tr("Only the best are listed; say more.");
  } else {
    for (const ShelfEntry& entry : *entries) add(entry.name, {});
  }
  if (question.newest_first)
    std::stable_sort(finding.rows.begin(), finding.rows.end(), [](const ShelfRow& a, const ShelfRow& b) { return a.time > b.time; });
  return finding;
}

}  // namespace islebook
