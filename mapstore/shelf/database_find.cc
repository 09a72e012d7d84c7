// Searching: by words and facts, and the index of what maps cover. `words` and the `reach` tables are made from the rest of the shelf and may be made again.

#include <fmt/format.h>

#include "mapstore/map/json_text.h"
#include "mapstore/shelf/database_shelf.h"

namespace islebook {
namespace {

constexpr std::int64_t kRankedAtMost = 2000;  // weighing more than this takes too long, and a word that so many maps have tells none of them apart
constexpr std::int64_t kBandsPerMap = 32;     // a band's number in the file is its map's times this, plus its place

// The words of what was typed, parted by blanks. Empty without a letter or digit.
std::string WordsOf(std::string_view typed) {
  std::string words;
  for (const char c : ValidUtf8(typed)) {
    const bool letter = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (static_cast<unsigned char>(c) & 0x80) != 0;
    if (letter)
      words += c;
    else if (!words.empty() && words.back() != ' ')
      words += ' ';
  }
  return words;
}

Result<void> CheckSpan(const std::optional<double>& least, const std::optional<double>& most, const char* word) {
  const auto bad = [](const std::optional<double>& value) { return value && !(*value > 0 && *value < 1e6); };
  if (bad(least) || bad(most) || (least && most && *least > *most))
    return Fail(ErrorCode::kInvalidArgument, fmt::format("the {} asked for is no span of positive millimeters from small to large.", word));
  return {};
}

}  // namespace

Result<std::vector<FoundMap>> DatabaseShelf::Find(const FindOptions& options) {
  if (const Result<void> good = CheckSpan(options.inducer_min_mm, options.inducer_max_mm, "inducer"); !good) return Pass(good);
  if (const Result<void> good = CheckSpan(options.exducer_min_mm, options.exducer_max_mm, "exducer"); !good) return Pass(good);
  if (options.limit < 1) return Fail(ErrorCode::kInvalidArgument, "the number of maps to find must be at least 1.");
  const std::string anywhere = WordsOf(options.words), maker = WordsOf(options.maker);
  if (anywhere.empty() && !options.words.empty()) return Fail(ErrorCode::kInvalidArgument, "there is no letter or digit to look for.", options.words);
  if (maker.empty() && !options.maker.empty()) return Fail(ErrorCode::kInvalidArgument, "there is no letter or digit to look for.", options.maker);
  const bool asks_words = !anywhere.empty() || !maker.empty();
  const std::string match = asks_words ? database_->WordsAskedFor(anywhere, maker) : std::string();
  const WordIndex index = database_->Words();
  const bool inducer = options.inducer_min_mm || options.inducer_max_mm, exducer = options.exducer_min_mm || options.exducer_max_mm;
  if (!asks_words && options.tags.empty() && options.kind.empty() && !inducer && !exducer && !options.removed)
    return Fail(ErrorCode::kInvalidArgument, "say what to look for: words, a maker, a tag, a kind or a size.");

  Result<Transaction> reading = Transaction::Begin(*database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  bool ranked = asks_words;
  if (ranked) {
    Result<Statement> count =
        database_->Prepare(fmt::format("SELECT count(*) FROM (SELECT 1 FROM words WHERE {} LIMIT ?2) AS counted", index.matches));
    if (!count) return Pass(count);
    const Result<bool> row = count->Bind(1, match).Bind(2, kRankedAtMost + 1).Step();
    if (!row) return Pass(row);
    ranked = count->Integer(0) <= kRankedAtMost;
  }
  std::string sql = "SELECT maps.number, maps.name, documents.kind, documents.title, revisions.id, revisions.time, ";
  sql += options.words.empty() ? "''" : index.where;
  sql += asks_words ? fmt::format(" FROM words {} maps ON maps.number = words.rowid ", index.join) : " FROM maps ";
  sql += fmt::format(
      "{0} heads ON heads.number = (SELECT max(number) FROM heads WHERE heads.map = maps.number AND heads.branch = '') "
      "{0} revisions ON revisions.number = heads.revision {0} documents ON documents.sha256 = revisions.document "
      "WHERE coalesce((SELECT removed FROM removals WHERE removals.map = maps.number ORDER BY removals.number DESC LIMIT 1), 0) = ",
      index.join);
  sql += options.removed ? "1 " : "0 ";
  if (asks_words) sql += fmt::format("AND {} ", index.matches);
  if (ranked && *index.ranked != '\0') sql += fmt::format("AND {} ", index.ranked);
  if (!options.kind.empty()) sql += "AND documents.kind = ?2 ";
  const auto size = [&](const char* column, int least, int most) {
    sql += fmt::format(
        "AND maps.number IN (SELECT map FROM wheels WHERE {0} BETWEEN ?{1} AND ?{2}) AND (SELECT {0} FROM wheels WHERE wheels.map = maps.number "
        "ORDER BY "
        "wheels.number DESC LIMIT 1) BETWEEN ?{1} AND ?{2} ",
        column, least, most);
  };
  if (inducer) size("inducer_mm", 3, 4);
  if (exducer) size("exducer_mm", 5, 6);
  for (std::size_t i = 0; i < options.tags.size(); ++i)
    sql += fmt::format(
        "AND maps.number IN (SELECT map FROM tags WHERE tag = ?{0}) AND (SELECT present FROM tags WHERE tags.map = maps.number AND tag = ?{0} ORDER "
        "BY "
        "tags.number DESC LIMIT 1) = 1 ",
        i + 8);
  sql += fmt::format("ORDER BY {} ", !asks_words ? "maps.name" : ranked ? index.order : "words.rowid DESC");
  sql += "LIMIT ?7";
  Result<Statement> find = database_->Prepare(sql);
  if (!find) return Pass(find);
  if (asks_words) find->Bind(1, match);
  if (!options.kind.empty()) find->Bind(2, options.kind);
  if (inducer) find->Bind(3, options.inducer_min_mm.value_or(0.0)).Bind(4, options.inducer_max_mm.value_or(1e9));
  if (exducer) find->Bind(5, options.exducer_min_mm.value_or(0.0)).Bind(6, options.exducer_max_mm.value_or(1e9));
  find->Bind(7, static_cast<std::int64_t>(options.limit));
  for (std::size_t i = 0; i < options.tags.size(); ++i) find->Bind(static_cast<int>(i + 8), options.tags[i]);
  std::vector<FoundMap> maps;
  while (true) {
    const Result<bool> row = find->Step();
    if (!row) return Pass(row);
    if (!*row) return maps;
    FoundMap map{find->Text(1), find->Text(2), find->Text(3), find->Text(4), find->Text(5), {}, {}, find->Text(6)};
    Result<std::vector<std::string>> tags = ReadTags(find->Integer(0));
    if (!tags) return Pass(tags);
    map.tags = std::move(*tags);
    Result<std::optional<WheelData>> wheel = ReadWheel(find->Integer(0));
    if (!wheel) return Pass(wheel);
    map.wheel = std::move(*wheel);
    maps.push_back(std::move(map));
  }
}

Result<void> DatabaseShelf::DropReach(std::int64_t map, bool due) {
  Result<Statement> count = database_->Prepare("SELECT bands FROM reach_maps WHERE map = ?1");
  if (!count) return Pass(count);
  const Result<bool> known = count->Bind(1, map).Step();
  if (!known) return Pass(known);
  if (*known) {
    const std::int64_t bands = count->Integer(0);
    if (const Result<void> done = count->Run(); !done) return done;
    Result<Statement> drop = database_->Prepare("DELETE FROM reach_bands WHERE band = ?1");
    if (!drop) return Pass(drop);
    for (std::int64_t i = 0; i < bands; ++i) {
      drop->Reset();
      if (const Result<void> dropped = drop->Bind(1, map * kBandsPerMap + i).Run(); !dropped) return dropped;
    }
    for (const char* const sql : {"DELETE FROM reach_maps WHERE map = ?1", "DELETE FROM reach_kept WHERE map = ?1"}) {
      Result<Statement> forget = database_->Prepare(sql);
      if (!forget) return Pass(forget);
      if (const Result<void> forgotten = forget->Bind(1, map).Run(); !forgotten) return forgotten;
    }
  }
  Result<Statement> mark =
      database_->Prepare(due ? "INSERT INTO reach_due (map) VALUES (?1) ON CONFLICT DO NOTHING" : "DELETE FROM reach_due WHERE map = ?1");
  if (!mark) return Pass(mark);
  return mark->Bind(1, map).Run();
}

Result<std::vector<std::string>> DatabaseShelf::ReachDue(std::int64_t version, std::int64_t limit) {
  Result<Statement> read = database_->Prepare(
      "SELECT maps.name FROM (SELECT map FROM reach_due UNION SELECT map FROM reach_maps WHERE version < ?1 UNION SELECT map FROM reach_maps WHERE "
      "version > ?1) AS due JOIN maps ON maps.number = due.map ORDER BY maps.number LIMIT ?2");
  if (!read) return Pass(read);
  read->Bind(1, version).Bind(2, limit);
  std::vector<std::string> names;
  while (true) {
    const Result<bool> row = read->Step();
    if (!row) return Pass(row);
    if (!*row) return names;
    names.push_back(read->Text(0));
  }
}

Result<void> DatabaseShelf::SetReach(const std::vector<ReachEntry>& entries) {
  Result<Transaction> writing = Transaction::Begin(*database_, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  for (const ReachEntry& entry : entries) {
    if (entry.bands.size() > static_cast<std::size_t>(kBandsPerMap))
      return Fail(ErrorCode::kInvalidArgument, fmt::format("a map has at most {} bands.", kBandsPerMap), entry.name);
    const Result<std::int64_t> map = NeedMap(entry.name);
    if (!map) return Pass(map);
    const Result<std::optional<std::int64_t>> head = FindHead(*map);
    if (!head) return Pass(head);
    const Result<std::optional<std::int64_t>> made_from = FindRevision(entry.revision);
    if (!made_from) return Pass(made_from);
    const Result<bool> removed = ReadRemoved(*map);
    if (!removed) return Pass(removed);
    if (!*head || *head != *made_from || *removed) continue;
    if (const Result<void> dropped = DropReach(*map, false); !dropped) return dropped;
    Result<Statement> insert = database_->Prepare(
        "INSERT INTO reach_bands (band, flow_min, flow_max, pressure_ratio_min, pressure_ratio_max, efficiency_min, efficiency_max, "
        "surge_margin_min, "
        "surge_margin_max, grid) VALUES (?1, ?2, ?3, ?4, ?5, -1, ?6, -1, ?7, ?8)");
    if (!insert) return Pass(insert);
    for (std::size_t i = 0; i < entry.bands.size(); ++i) {
      const ReachBand& band = entry.bands[i];
      insert->Reset();
      insert->Bind(1, *map * kBandsPerMap + static_cast<std::int64_t>(i)).Bind(2, band.flow_min).Bind(3, band.flow_max);
      insert->Bind(4, band.pressure_ratio_min).Bind(5, band.pressure_ratio_max).Bind(6, band.efficiency_max).Bind(7, band.surge_margin_max);
      if (const Result<void> inserted = insert->BindBlob(8, band.grid).Run(); !inserted) return inserted;
    }
    Result<Statement> note = database_->Prepare("INSERT INTO reach_maps (map, revision, bands, outline, version) VALUES (?1, ?2, ?3, ?4, ?5)");
    if (!note) return Pass(note);
    note->Bind(1, *map).Bind(2, **head).Bind(3, static_cast<std::int64_t>(entry.bands.size())).BindBlob(4, entry.outline).Bind(5, entry.version);
    if (const Result<void> noted = note->Run(); !noted) return noted;
    if (entry.kept.empty()) continue;
    Result<Statement> keep = database_->Prepare("INSERT INTO reach_kept (map, kept) VALUES (?1, ?2)");
    if (!keep) return Pass(keep);
    if (const Result<void> kept = keep->Bind(1, *map).BindBlob(2, entry.kept).Run(); !kept) return kept;
  }
  return writing->Commit();
}

Result<void> DatabaseShelf::ReachAt(double flow, double pressure_ratio, double efficiency, double surge_margin,
                                    const std::function<bool(const ReachHit&)>& each) {
  Result<Statement> read = database_->Prepare(std::string("SELECT band, grid, efficiency_max FROM reach_bands WHERE flow_min <= ?1 AND flow_max >= "
                                                          "?1 AND pressure_ratio_min <= ?2 AND pressure_ratio_max >= ?2 "
                                                          "AND efficiency_max >= ?3 AND surge_margin_max >= ?4") +
                                              database_->ReachCondition());
  if (!read) return Pass(read);
  read->Bind(1, flow).Bind(2, pressure_ratio).Bind(3, efficiency).Bind(4, surge_margin);
  while (true) {
    const Result<bool> row = read->Step();
    if (!row) return Pass(row);
    if (!*row || !each({read->Integer(0) / kBandsPerMap, read->View(1), read->Real(2)})) return {};
  }
}

Result<void> DatabaseShelf::ReachOutlines(const std::function<bool(const ReachHit&)>& each) {
  Result<Statement> read = database_->Prepare("SELECT map, outline FROM reach_maps");
  if (!read) return Pass(read);
  while (true) {
    const Result<bool> row = read->Step();
    if (!row) return Pass(row);
    if (!*row || !each({read->Integer(0), read->View(1), 0.0})) return {};
  }
}

Result<ReachName> DatabaseShelf::ReachNameOf(std::int64_t map) {
  Result<Statement> read = database_->Prepare(
      "SELECT maps.name, revisions.id, reach_kept.kept FROM reach_maps JOIN maps ON maps.number = reach_maps.map JOIN revisions ON "
      "revisions.number = reach_maps.revision LEFT JOIN reach_kept ON reach_kept.map = reach_maps.map WHERE reach_maps.map = ?1");
  if (!read) return Pass(read);
  const Result<bool> row = read->Bind(1, map).Step();
  if (!row) return Pass(row);
  if (!*row) return Fail(ErrorCode::kNotFound, "the map was changed while it was searched for; search again.");
  return ReachName{read->Text(0), read->Text(1), read->IsNull(2) ? std::string() : std::string(read->View(2))};
}

}  // namespace islebook
