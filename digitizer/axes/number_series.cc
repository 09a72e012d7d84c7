#include "digitizer/axes/number_series.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include <fmt/format.h>

namespace islebook {
namespace {

struct Item {
  int index = 0;
  double t = 0.0;
  const NumberText* number = nullptr;
  std::vector<NumberCandidate> candidates;
};

int DecimalsOf(double value) {
  for (int d = 0; d < 7; ++d) {
    const double scaled = value * std::pow(10.0, d);
    if (std::abs(scaled - std::round(scaled)) < 1e-4) return d;
  }
  return 7;
}

// The even spacing of the numbers: the largest one that puts most of them at whole places.
struct Lattice {
  double origin = 0.0, spacing = 0.0;
  std::vector<int> place;  // per item; only meaningful where on
  std::vector<bool> on;
  int count = 0;
  int lo = 0, hi = 0;
};

void RefineLattice(const std::vector<Item>& items, Lattice* lattice) {
  for (int pass = 0; pass < 3; ++pass) {
    double n = 0, st = 0, sk = 0, skk = 0, skt = 0;
    lattice->count = 0;
    lattice->on.assign(items.size(), false);
    lattice->place.assign(items.size(), 0);
    std::vector<int> seen;
    for (std::size_t i = 0; i < items.size(); ++i) {
      const double place = (items[i].t - lattice->origin) / lattice->spacing;
      const int k = static_cast<int>(std::lround(place));
      if (std::abs(place - k) > (pass == 0 ? 0.16 : 0.10)) continue;
      lattice->on[i] = true;
      lattice->place[i] = k;
      seen.push_back(k);
      n += 1, st += items[i].t, sk += k, skk += static_cast<double>(k) * k, skt += k * items[i].t;
    }
    if (seen.empty()) return;
    std::sort(seen.begin(), seen.end());
    lattice->lo = seen.front();
    lattice->hi = seen.back();
    lattice->count = static_cast<int>(std::unique(seen.begin(), seen.end()) - seen.begin());
    const double determinant = n * skk - sk * sk;
    if (determinant < 1e-9) return;
    lattice->spacing = (n * skt - sk * st) / determinant;
    lattice->origin = (st - lattice->spacing * sk) / n;
    if (!(lattice->spacing > 1e-4)) return;
  }
}

std::vector<Lattice> Lattices(const std::vector<Item>& items) {
  std::vector<Lattice> out;
  std::vector<double> gaps;
  for (std::size_t i = 0; i < items.size(); ++i) {
    for (std::size_t j = i + 1; j < items.size() && j < i + 4; ++j) {
      const double gap = items[j].t - items[i].t;
      if (gap > 0.02) gaps.push_back(gap);
    }
  }
  std::sort(gaps.begin(), gaps.end());
  std::vector<double> distinct;
  for (double gap : gaps) {
    if (distinct.empty() || gap > distinct.back() * 1.02) distinct.push_back(gap);
  }
  for (double gap : distinct) {
    Lattice best;
    for (const Item& item : items) {
      Lattice lattice;
      lattice.origin = item.t;
      lattice.spacing = gap;
      RefineLattice(items, &lattice);
      if (lattice.count > best.count) best = lattice;
    }
    // A spacing that leaves most places empty explains nothing.
    if (best.count >= 2 && best.hi > best.lo && best.count >= 0.45 * (best.hi - best.lo + 1)) out.push_back(best);
  }
  std::sort(out.begin(), out.end(),
            [](const Lattice& a, const Lattice& b) { return a.count != b.count ? a.count > b.count : a.spacing > b.spacing; });
  std::vector<Lattice> kept;
  for (const Lattice& lattice : out) {
    const bool same =
        std::any_of(kept.begin(), kept.end(), [&](const Lattice& k) { return std::abs(k.spacing - lattice.spacing) < 0.03 * k.spacing; });
    if (!same && (kept.empty() || lattice.count >= 0.6 * kept.front().count)) kept.push_back(lattice);
    if (kept.size() >= 4) break;
  }
  return kept;
}

struct Meaning {
  double start = 0.0;  // value at lattice place 0
  double step = 0.0;
  double votes = 0.0;
};

struct Scored {
  NumberSeries series;
  double total = 0.0;
  double literal = 0.0;  // how many numbers say so literally
};

double PriorOf(const SeriesOptions& options, double low, double high) { return options.range_prior ? options.range_prior(low, high) : 0.0; }

// How odd an axis is that starts far from zero, measured in its own span.
double FarFromZero(double low, double high) {
  const double span = std::abs(high - low), far = std::min(std::abs(low), std::abs(high));
  if (low * high <= 0.0 || span <= 0.0) return 0.0;
  const double ratio = far / span;
  return ratio < 3.0 ? 0.0 : std::min(1.0, (ratio - 3.0) / 20.0 + 0.1);
}

std::optional<Scored> ScoreLinear(const std::vector<Item>& items, const Lattice& lattice, const Meaning& meaning, const SeriesOptions& options) {
  const int needed = std::max(DecimalsOf(meaning.start), DecimalsOf(meaning.step));
  if (needed > 6) return std::nullopt;
  Scored best;
  best.total = -1e9;
  // Decimals as printed are the same on all numbers, or as few as each needs.
  for (int style = 0; style < 4; ++style) {
    Scored s;
    NumberSeries& series = s.series;
    double sum = 0.0;
    for (std::size_t i = 0; i < items.size(); ++i) {
      if (!lattice.on[i]) continue;
      const double value = meaning.start + meaning.step * lattice.place[i];
      const int decimals = style == 3 ? DecimalsOf(value) : needed + style;
      const double agreement = TextAgreement(*items[i].number, FormatNumber(value, decimals));
      sum += agreement * (0.5 + 0.5 * items[i].number->confidence);
      if (agreement > 0.3) {
        series.used.push_back(static_cast<int>(i));
        series.values.push_back(std::abs(value) < 1e-9 * std::abs(meaning.step) ? 0.0 : value);
        series.agreement.push_back(agreement);
        if (agreement > 0.85) s.literal += 1.0;
      }
    }
    if (series.used.size() < 2) continue;
    s.total = sum;
    series.decimals = style == 3 ? needed : needed + style;
    if (s.total > best.total) best = s;
  }
  if (best.series.used.size() < 2) return std::nullopt;
  const double low_t = (0.0 - lattice.origin) / lattice.spacing, high_t = (1.0 - lattice.origin) / lattice.spacing;
  const double low = meaning.start + meaning.step * low_t, high = meaning.start + meaning.step * high_t;
  double liking = 1.0;
  NiceStep(std::abs(meaning.step), &liking);
  const double n = static_cast<double>(lattice.count);
  best.total += 0.5 * n * PriorOf(options, std::min(low, high), std::max(low, high));
  best.total -= 0.45 * n * FarFromZero(low, high);
  best.total -= 0.35 * n * (1.0 - liking);
  if (meaning.step < 0.0) best.total -= 0.3 * n;
  NumberSeries& series = best.series;
  series.scale = AxisScale::kLinear;
  series.step = meaning.step;
  series.slope = meaning.step / lattice.spacing;
  series.offset = meaning.start - series.slope * lattice.origin;
  return best;
}

std::vector<Meaning> LinearMeanings(const std::vector<Item>& items, const Lattice& lattice, const SeriesOptions& options) {
  std::vector<Meaning> out;
  const auto add = [&](double start, double step, double votes) {
    for (Meaning& m : out) {
      if (std::abs(m.step - step) < 1e-6 * std::abs(step) && std::abs(m.start - start) < 1e-3 * std::abs(step)) {
        m.votes += votes;
        return;
      }
    }
    out.push_back({start, step, votes});
  };
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (!lattice.on[i]) continue;
    for (std::size_t j = i + 1; j < items.size(); ++j) {
      if (!lattice.on[j] || lattice.place[j] == lattice.place[i]) continue;
      for (const NumberCandidate& a : items[i].candidates) {
        for (const NumberCandidate& b : items[j].candidates) {
          const double step = (b.value - a.value) / (lattice.place[j] - lattice.place[i]);
          if (std::abs(step) < 1e-6 || std::abs(step) > 1e6) continue;
          const double nice = NiceStep(std::abs(step));
          if (std::abs(nice - std::abs(step)) > 1e-6 * nice) continue;
          if (options.whole_numbers && (std::abs(step - 1.0) > 1e-9 || std::abs(a.value - std::round(a.value)) > 1e-9)) continue;
          add(a.value - step * lattice.place[i], step, a.weight * b.weight);
        }
      }
    }
  }
  std::sort(out.begin(), out.end(), [](const Meaning& a, const Meaning& b) { return a.votes > b.votes; });
  if (out.size() > 60) out.resize(60);
  return out;
}

std::optional<Scored> ScoreLog(const std::vector<Item>& items, double offset, double slope, const SeriesOptions& options) {
  Scored s;
  s.series.scale = AxisScale::kLog;
  double sum = 0.0;
  for (std::size_t i = 0; i < items.size(); ++i) {
    const double place = offset + slope * items[i].t;
    const NumberCandidate* best = nullptr;
    double best_weight = 0.0;
    for (const NumberCandidate& c : items[i].candidates) {
      if (c.value <= 0.0) continue;
      const double off = std::abs(std::log10(c.value) - place) / std::abs(slope);
      if (off > options.place_tolerance) continue;
      if (c.weight > best_weight) best = &c, best_weight = c.weight;
    }
    if (best == nullptr) {
      sum -= 0.5;
      continue;
    }
    sum += best_weight * (0.5 + 0.5 * items[i].number->confidence);
    s.series.used.push_back(static_cast<int>(i));
    s.series.values.push_back(best->value);
    s.series.agreement.push_back(best_weight);
    if (best_weight > 0.85) s.literal += 1.0;
  }
  if (s.series.used.size() < 2) return std::nullopt;
  const double low = std::pow(10.0, offset), high = std::pow(10.0, offset + slope);
  s.total = sum + 0.5 * static_cast<double>(items.size()) * PriorOf(options, std::min(low, high), std::max(low, high));
  s.series.offset = offset;
  s.series.slope = slope;
  return s;
}

// Least squares of value (or its logarithm) on place, over the numbers that agree.
void Refit(const std::vector<Item>& items, NumberSeries* series) {
  const bool log = series->scale == AxisScale::kLog;
  double n = 0, st = 0, sv = 0, stt = 0, stv = 0;
  for (std::size_t k = 0; k < series->used.size(); ++k) {
    const double t = items[series->used[k]].t, v = log ? std::log10(series->values[k]) : series->values[k];
    n += 1, st += t, sv += v, stt += t * t, stv += t * v;
  }
  const double determinant = n * stt - st * st;
  if (determinant > 1e-12) {
    series->slope = (n * stv - st * sv) / determinant;
    series->offset = (sv - series->slope * st) / n;
  }
  double sum = 0.0;
  for (std::size_t k = 0; k < series->used.size(); ++k) {
    const double v = log ? std::log10(series->values[k]) : series->values[k];
    const double e = (series->offset - v) / series->slope + items[series->used[k]].t;
    sum += e * e;
  }
  series->residual = std::sqrt(sum / n);
}

bool SameMeaning(const NumberSeries& a, const NumberSeries& b) {
  if (a.scale != b.scale) return false;
  for (const double t : {0.0, 1.0}) {
    if (std::abs((a.offset + a.slope * t) - (b.offset + b.slope * t)) > 0.02 * std::abs(a.slope)) return false;
  }
  return true;
}

}  // namespace

Result<void> SeriesOptions::Check() const {
  if (!(place_tolerance > 0.0 && place_tolerance < 0.2))
    return Fail(ErrorCode::kInvalidArgument, "place_tolerance must lie between 0 and 0.2.", "place_tolerance");
  return {};
}

double NumberSeries::ValueAt(double t) const { return scale == AxisScale::kLog ? std::pow(10.0, offset + slope * t) : offset + slope * t; }

double NiceStep(double step, double* liking) {
  static constexpr double kFirst[] = {1.0, 2.0, 2.5, 4.0, 5.0, 10.0};
  static constexpr double kSecond[] = {1.25, 1.5, 3.0, 6.0, 8.0};
  if (!(step > 0.0)) {
    if (liking != nullptr) *liking = 0.0;
    return 0.0;
  }
  const double power = std::pow(10.0, std::floor(std::log10(step) + 1e-9));
  double best = 0.0, best_off = 1e9, best_liking = 0.0;
  for (const double s : kFirst) {
    const double off = std::abs(std::log(step / (s * power)));
    if (off < best_off) best = s * power, best_off = off, best_liking = 1.0;
  }
  for (const double s : kSecond) {
    const double off = std::abs(std::log(step / (s * power)));
    if (off < 0.3 * best_off) best = s * power, best_off = off, best_liking = 0.5;
  }
  if (liking != nullptr) *liking = best_liking;
  return best;
}

// Powers of ten: their exponents are an even series of their own.
Result<NumberSeries> FitPowers(const std::vector<SeriesNumber>& numbers, const SeriesOptions& options) {
  std::vector<SeriesNumber> exponents;
  std::vector<int> index;
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    const NumberText& n = numbers[i].number;
    const std::string text = NormalizeNumber(n.text);
    if (n.raised_digits <= 0 || static_cast<int>(text.size()) < n.raised_digits + 2) continue;
    SeriesNumber e = numbers[i];
    e.number.text = (text.find('-') != std::string::npos ? "-" : "") + text.substr(text.size() - static_cast<std::size_t>(n.raised_digits));
    e.number.raised_digits = 0;
    e.number.digits_before_point.reset();
    exponents.push_back(e);
    index.push_back(static_cast<int>(i));
  }
  SeriesOptions plain = options;
  plain.log_ticks = false;
  plain.even_ticks = true;
  plain.whole_numbers = true;
  plain.range_prior = [&options](double low, double high) {
    return options.range_prior ? options.range_prior(std::pow(10.0, low), std::pow(10.0, high)) : 0.0;
  };
  auto series = FitNumberSeries(exponents, plain);
  if (!series) return series;
  series->scale = AxisScale::kLog;
  series->step = 0.0;
  series->decimals = 0;
  for (double& v : series->values) v = std::pow(10.0, v);
  for (int& used : series->used) used = index[used];
  if (options.log_ticks) std::erase_if(series->doubts, [](const std::string& d) { return d.starts_with("only 2 numbers"); });
  return series;
}

Result<NumberSeries> FitNumberSeries(const std::vector<SeriesNumber>& numbers, const SeriesOptions& options) {
  if (auto checked = options.Check(); !checked) return std::unexpected(checked.error());
  const auto powers = std::count_if(numbers.begin(), numbers.end(), [](const SeriesNumber& n) { return n.number.raised_digits > 0; });
  if (powers >= 2 && 2 * powers > static_cast<long>(numbers.size())) {
    if (auto series = FitPowers(numbers, options)) return series;
  }
  std::vector<Item> items;
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    Item item{static_cast<int>(i), numbers[i].t, &numbers[i].number, NumberCandidates(numbers[i].number)};
    if (!item.candidates.empty()) items.push_back(std::move(item));
  }
  std::sort(items.begin(), items.end(), [](const Item& a, const Item& b) { return a.t < b.t; });
  if (items.size() < 2) return Fail(ErrorCode::kNotFound, "Fewer than two numbers could be read along the axis.");

  std::vector<Scored> found;
  for (const Lattice& lattice : Lattices(items)) {
    for (const Meaning& meaning : LinearMeanings(items, lattice, options)) {
      if (auto scored = ScoreLinear(items, lattice, meaning, options)) {
        // Numbers off the lattice count against it; strangers are few on a real axis.
        scored->total -= 0.25 * static_cast<double>(items.size() - lattice.count);
        if (options.log_ticks) scored->total -= 0.5 * static_cast<double>(items.size());
        found.push_back(std::move(*scored));
      }
    }
  }
  for (std::size_t i = 0; i < items.size(); ++i) {
    for (std::size_t j = i + 1; j < items.size(); ++j) {
      if (items[j].t - items[i].t < 0.1) continue;
      for (const NumberCandidate& a : items[i].candidates) {
        for (const NumberCandidate& b : items[j].candidates) {
          if (a.weight * b.weight < 0.6 || a.value <= 0.0 || b.value <= a.value * 1.05) continue;
          const double slope = std::log10(b.value / a.value) / (items[j].t - items[i].t);
          if (slope < 0.15 || slope > 12.0) continue;
          if (auto scored = ScoreLog(items, std::log10(a.value) - slope * items[i].t, slope, options)) {
            // Two numbers fit any logarithm: three are needed, or the ticks must say so, or the numbers are printed as powers.
            const bool printed_powers = std::any_of(items.begin(), items.end(), [](const Item& item) { return item.number->raised_digits > 0; });
            if (scored->series.used.size() < 3 && !options.log_ticks && !printed_powers) continue;
            if (options.even_ticks) scored->total -= 0.5 * static_cast<double>(items.size());
            if (!options.log_ticks && !printed_powers) scored->total -= 0.3;
            found.push_back(std::move(*scored));
          }
        }
      }
    }
  }
  if (found.empty()) return Fail(ErrorCode::kNotFound, "The numbers along the axis do not form a series.");
  std::sort(found.begin(), found.end(), [](const Scored& a, const Scored& b) { return a.total > b.total; });

  Scored best = found.front();
  Refit(items, &best.series);
  NumberSeries& series = best.series;
  // A stray number that agreed in text but not in place is left out.
  for (int pass = 0; pass < 2 && series.used.size() > 3; ++pass) {
    std::vector<int> used;
    std::vector<double> values, agreement;
    const double limit = std::max(options.place_tolerance, 3.0 * series.residual);
    for (std::size_t k = 0; k < series.used.size(); ++k) {
      const double v = series.scale == AxisScale::kLog ? std::log10(series.values[k]) : series.values[k];
      if (std::abs((v - series.offset) / series.slope - items[series.used[k]].t) > limit) continue;
      used.push_back(series.used[k]);
      values.push_back(series.values[k]);
      agreement.push_back(series.agreement[k]);
    }
    if (used.size() < 2 || used.size() == series.used.size()) break;
    series.used = used;
    series.values = values;
    series.agreement = agreement;
    Refit(items, &series);
  }

  const double n = static_cast<double>(std::max<std::size_t>(series.used.size(), 1));
  series.score = best.total;
  series.margin = best.total / n;
  for (std::size_t k = 1; k < found.size(); ++k) {
    if (SameMeaning(found[k].series, series)) continue;
    series.margin = (best.total - found[k].total) / n;
    break;
  }

  // Doubts, in words.
  const std::size_t read = items.size();
  double liking = 1.0;
  if (series.scale == AxisScale::kLinear) NiceStep(std::abs(series.step), &liking);
  const double low = series.ValueAt(0.0), high = series.ValueAt(1.0);
  if (series.used.size() < 3 && !(series.scale == AxisScale::kLog && options.log_ticks))
    series.doubts.push_back(fmt::format("only {} numbers along the axis agree", series.used.size()));
  if (best.literal < 2.0 || best.literal < 0.4 * n)
    series.doubts.push_back(fmt::format("only {:.0f} of {} numbers were read as they must be", best.literal, read));
  if (series.margin < 0.12) series.doubts.push_back("the numbers along the axis allow another reading");
  if (read >= 5 && series.used.size() < 0.6 * static_cast<double>(read))
    series.doubts.push_back(fmt::format("{} of {} numbers along the axis do not fit the series", read - series.used.size(), read));
  if (liking < 0.9 && series.used.size() < 5) series.doubts.push_back(fmt::format("the step of the numbers ({:g}) is unusual", series.step));
  if (PriorOf(options, std::min(low, high), std::max(low, high)) < -0.45)
    series.doubts.push_back(fmt::format("a range from {:g} to {:g} is unusual for this axis", low, high));
  if (FarFromZero(low, high) > 0.3 && series.scale == AxisScale::kLinear)
    series.doubts.push_back(fmt::format("the axis starts far from zero ({:g} to {:g})", low, high));
  for (int& used : series.used) used = items[used].index;
  return series;
}

}  // namespace islebook
