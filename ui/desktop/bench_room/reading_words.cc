#include "ui/desktop/bench_room/reading_words.h"

#include <algorithm>
#include <cmath>

#include <QCoreApplication>

#include "mapstore/bench/shop_units.h"
#include "mapstore/units/unit.h"
#include "ui/chart/chart_words.h"

namespace islebook {
namespace {

struct Words {
  Q_DECLARE_TR_FUNCTIONS(ReadingWords)
};

QString Grouped(double value, int places) {
  QString text = QString::number(value, 'f', std::max(places, 0));
  const qsizetype end = text.indexOf('.') < 0 ? text.size() : text.indexOf('.'), start = text.startsWith('-') ? 1 : 0;
  if (end - start > 3)
    for (qsizetype at = end - 3; at > start; at -= 3) text.insert(at, ',');
  return text;
}

double RoundedTo(double value, int places) {
  const double step = std::pow(10.0, -places);
  return std::round(value / step) * step;
}

QString WithUnit(const QString& number, const std::string& unit) {
  const QString words = QString::fromStdString(UnitWords(unit));
  return words.isEmpty() ? number : number + ' ' + words;
}

}  // namespace

QString NumberWithSigma(double value, const std::optional<double>& sigma, int digits) {
  if (!sigma || !(*sigma > 0.0)) {
    const int before = value == 0.0 ? 1 : static_cast<int>(std::floor(std::log10(std::abs(value)))) + 1;
    return Grouped(RoundedTo(value, digits - before), digits - before);
  }
  // One digit of the uncertainty, two where it begins with 1.
  int places = -static_cast<int>(std::floor(std::log10(*sigma)));
  if (*sigma * std::pow(10.0, places) < 1.95) ++places;
  return Grouped(RoundedTo(value, places), places) + QStringLiteral(" ± ") + Grouped(RoundedTo(*sigma, places), places);
}

QString PercentWithSigma(const std::optional<double>& value, const std::optional<double>& sigma) {
  if (!value) return QStringLiteral("-");
  const double percent = 100 * *value;
  if (!sigma || !(*sigma > 0.0)) return Grouped(percent, 1) + QStringLiteral(" %");
  const int places = *sigma >= 0.0095 ? 0 : 1;
  const double beside = 100 * *sigma;
  if (beside < 0.05) return Grouped(percent, 1) + QStringLiteral(" ± <0.1 %");
  return Grouped(percent, places) + QStringLiteral(" ± ") + Grouped(beside, places) + QStringLiteral(" %");
}

QString RegionInWords(MapRegion region) {
  switch (region) {
    case MapRegion::kOnMap: return Words::tr("on the map");
    case MapRegion::kLeftOfSurge: return Words::tr("left of the surge line");
    case MapRegion::kPastChoke: return Words::tr("past choke");
    case MapRegion::kOverSpeed: return Words::tr("above the highest speed line");
    case MapRegion::kUnderSpeed: return Words::tr("below the lowest speed line");
  }
  return {};
}

// A wheel's speed in the shop's unit; a speed at the wheel's tip, or a share of the design's, as the map prints it.
QString SpeedInWords(const MapAnswer& answer, const AskableMap& map, const UnitHabit& units) {
  if (!answer.speed) return QStringLiteral("-");
  double factor = 1.0;
  std::string unit = map.speed_unit();
  if (unit == "rpm" || unit == "krpm") {
    const ShopUnit& shop = units.Of(ShopQuantity::kSpeed);
    factor = (unit == "rpm" ? 1.0 / 60 : 1000.0 / 60) / shop.factor;
    unit = shop.document;
  }
  const auto scaled = [factor](const std::optional<double>& value) { return value ? std::optional(*value * factor) : std::nullopt; };
  return WithUnit(NumberWithSigma(*scaled(answer.speed), scaled(answer.sigma_speed)), unit);
}

QStringList ReadingInShort(const MapAnswer& answer, const AskableMap& map, const UnitHabit& units) {
  QStringList lines;
  if (answer.flow && answer.pressure_ratio)
    lines << WithUnit(NumberWithSigma(*answer.flow, std::nullopt, 4), map.flow_unit()) + Words::tr(", PR ") +
                 NumberWithSigma(*answer.pressure_ratio, std::nullopt, 4);
  if (map.is_turbine() && answer.flow && answer.expansion_ratio)
    lines << WithUnit(NumberWithSigma(*answer.flow, answer.sigma_flow, 4), map.flow_unit()) + Words::tr(", ER ") +
                 NumberWithSigma(*answer.expansion_ratio, std::nullopt, 4);
  if (map.is_turbine() && !answer.inside) lines << Words::tr("off the map");
  if (answer.vane_opening) lines << Words::tr("vanes ") + WithUnit(NumberWithSigma(*answer.vane_opening, std::nullopt, 3), map.vane_opening_unit());
  if (!answer.inside && answer.region) lines << RegionInWords(*answer.region);
  if (answer.speed) lines << SpeedInWords(answer, map, units);
  if (answer.efficiency) lines << Words::tr("efficiency ") + PercentWithSigma(answer.efficiency, answer.sigma_efficiency);
  if (answer.surge_margin) lines << Words::tr("surge ") + PercentWithSigma(answer.surge_margin, answer.sigma_surge_margin);
  return lines;
}

std::vector<std::pair<QString, QString>> ReadingInFull(const MapAnswer& answer, const AskableMap& map, const UnitHabit& units) {
  std::vector<std::pair<QString, QString>> rows;
  const auto add = [&rows](const QString& name, const QString& value) { rows.emplace_back(name, value); };
  if (answer.flow) {
    QString flow = WithUnit(NumberWithSigma(*answer.flow, std::nullopt, 4), map.flow_unit());
    // In the shop's unit too, where the map prints another.
    const auto unit = ParseUnit(map.flow_unit());
    if (unit && unit->dimension == Dimension::kMassFlow && map.flow_unit() != units.Of(ShopQuantity::kFlow).document)
      flow += QStringLiteral(" (%1)").arg(QString::fromStdString(Shop(units).Flow(*answer.flow * unit->factor)));
    add(Words::tr("Corrected flow"), flow);
  }
  if (answer.pressure_ratio) add(Words::tr("Pressure ratio"), NumberWithSigma(*answer.pressure_ratio, std::nullopt, 4));
  if (answer.region) add(Words::tr("Place"), RegionInWords(*answer.region));
  if (map.is_turbine()) {
    if (answer.expansion_ratio) add(Words::tr("Expansion ratio"), NumberWithSigma(*answer.expansion_ratio, std::nullopt, 4));
    if (!answer.inside) add(Words::tr("Place"), Words::tr("off the map"));
    if (answer.vane_opening)
      add(Words::tr("Vane opening"), WithUnit(NumberWithSigma(*answer.vane_opening, std::nullopt, 3), map.vane_opening_unit()));
    if (answer.speed) add(Words::tr("Corrected speed"), SpeedInWords(answer, map, units));
    if (answer.efficiency) add(Words::tr("Efficiency"), PercentWithSigma(answer.efficiency, answer.sigma_efficiency));
    if (!answer.reason.empty()) add(Words::tr("Note"), QString::fromStdString(answer.reason));
    return rows;
  }
  add(Words::tr("Corrected speed"), SpeedInWords(answer, map, units));
  add(Words::tr("Efficiency"), PercentWithSigma(answer.efficiency, answer.sigma_efficiency));
  add(Words::tr("Surge margin"), PercentWithSigma(answer.surge_margin, answer.sigma_surge_margin));
  add(Words::tr("Choke margin"), PercentWithSigma(answer.choke_margin, std::nullopt));
  if (answer.map_width) add(Words::tr("Map width here"), PercentWithSigma(answer.map_width, std::nullopt));
  if (!answer.reason.empty()) add(Words::tr("Note"), QString::fromStdString(answer.reason));
  return rows;
}

const Verdict* FindVerdict(const std::vector<Verdict>& verdicts, VerdictKind kind) {
  const auto found = std::find_if(verdicts.begin(), verdicts.end(), [kind](const Verdict& verdict) { return verdict.kind == kind; });
  return found == verdicts.end() ? nullptr : &*found;
}

QString VerdictNumber(const Verdict& verdict, const UnitHabit& units) {
  if (!verdict.value) return {};
  switch (verdict.kind) {
    case VerdictKind::kOutletTemperature:
    case VerdictKind::kManifoldTemperature:
    case VerdictKind::kTurbineTemperature: {
      const Shop shop(units);
      QString words = QString::number(shop.In(ShopQuantity::kTemperature, *verdict.value), 'f', 0);
      if (verdict.sigma && *verdict.sigma > 0.0) {
        const double sigma = shop.Difference(ShopQuantity::kTemperature, *verdict.sigma);
        words += sigma < 0.5 ? QStringLiteral(" ± <1") : QStringLiteral(" ± ") + QString::number(sigma, 'f', 0);
      }
      return words + QLatin1Char(' ') + QString::fromUtf8(shop.Unit(ShopQuantity::kTemperature));
    }
    case VerdictKind::kDriveRatio: return NumberWithSigma(*verdict.value, verdict.sigma, 3);
    case VerdictKind::kTarget: return PercentWithSigma(*verdict.value, verdict.sigma);
    default: return PercentWithSigma(verdict.value, verdict.sigma);
  }
}

QString GradeWords(Grade grade) {
  switch (grade) {
    case Grade::kRoom: return Words::tr("room");
    case Grade::kUnknown: return Words::tr("unknown");
    case Grade::kClose: return Words::tr("close");
    case Grade::kOver: return Words::tr("over");
  }
  return {};
}

}  // namespace islebook
