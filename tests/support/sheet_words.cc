#include "tests/support/sheet_words.h"

#include <cmath>
#include <cstdio>

namespace islebook::paint {
namespace {

std::string PrintedUnit(const std::string& unit, Language language, Random& random) {
  if (unit == "m3/s") return "m\u00b3/s";
  if (unit == "m3/min") return "m\u00b3/min";
  if (unit == "m3/h") return "m\u00b3/h";
  if (unit == "ft3/min") return random.Chance(0.5) ? "CFM" : "ft\u00b3/min";
  if (unit == "kg s-1 K0.5 kPa-1") return random.Chance(0.5) ? "kg/s\u00b7\u221aK/kPa" : "kg\u00b7\u221aK/(s\u00b7kPa)";
  if (unit == "lb/min" && language == Language::kEnglish && random.Chance(0.2)) return "lbm/min";
  return unit;
}

std::string WithUnit(const std::string& words, const std::string& unit, Language language, Random& random) {
  if (unit == "1") return words;
  const std::string printed = PrintedUnit(unit, language, random);
  switch (random.Whole(0, 2)) {
    case 0: return words + " (" + printed + ")";
    case 1: return words + " [" + printed + "]";
    default: return language == Language::kEnglish ? words + ", " + printed : words + " in " + printed;
  }
}

}  // namespace

std::string PrintNumber(double value, int decimals, const NumberForm& form) {
  char text[48];
  std::snprintf(text, sizeof text, "%.*f", decimals, std::abs(value) < 0.5 * std::pow(10.0, -decimals) ? 0.0 : value);
  std::string digits = text, out;
  const std::size_t point = std::min(digits.find('.'), digits.size());
  for (std::size_t i = 0; i < digits.size(); ++i) {
    if (i > 0 && i < point && point > 4 && (point - i) % 3 == 0) out += form.thousands;
    out += digits[i] == '.' && form.decimal_comma ? ',' : digits[i];
  }
  return out;
}

std::string PrintShort(double value, const NumberForm& form) {
  int decimals = 0;
  while (decimals < 6 && std::abs(value * std::pow(10.0, decimals) - std::round(value * std::pow(10.0, decimals))) > 1e-6) ++decimals;
  return PrintNumber(value, decimals, form);
}

std::string XTitle(const Axis& axis, Language language, Random& random) {
  const bool volume = axis.quantity == Quantity::kCorrectedVolumeFlow;
  if (axis.quantity == Quantity::kExpansionRatioTotalToStatic) {
    switch (language) {
      case Language::kGerman: return random.Pick({"Expansionsverh\u00e4ltnis p3t/p4", "Turbinendruckverh\u00e4ltnis p3t/p4s"});
      case Language::kFrench: return random.Pick({"Rapport de d\u00e9tente p3t/p4", "Taux de d\u00e9tente (total-statique)"});
      default: return random.Pick({"Expansion ratio (total to static)", "Expansion ratio p3t/p4s", "Turbine expansion ratio t-s"});
    }
  }
  std::string words;
  switch (language) {
    case Language::kGerman:
      words = volume ? random.Pick({"Reduzierter Volumenstrom", "Korrigierter Volumenstrom"})
                     : random.Pick({"Reduzierter Massenstrom", "Korrigierter Massenstrom"});
      break;
    case Language::kFrench:
      words = volume ? random.Pick({"D\u00e9bit volumique corrig\u00e9", "D\u00e9bit volume r\u00e9duit"})
                     : random.Pick({"D\u00e9bit massique corrig\u00e9", "D\u00e9bit masse r\u00e9duit"});
      break;
    default:
      words = volume ? random.Pick({"Corrected volume flow", "Corrected inlet volume flow"})
                     : random.Pick({"Corrected mass flow", "Corrected air flow", "Corrected mass flow rate", "Corrected airflow"});
  }
  return WithUnit(words, axis.unit, language, random);
}

std::string YTitle(const Axis& axis, Language language, Random& random) {
  if (axis.quantity == Quantity::kTurbineFlowParameter || axis.quantity == Quantity::kCorrectedMassFlow) {
    const bool parameter = axis.quantity == Quantity::kTurbineFlowParameter;
    std::string words;
    switch (language) {
      case Language::kGerman: words = parameter ? "Durchsatzparameter" : "Reduzierter Massenstrom"; break;
      case Language::kFrench: words = parameter ? "Param\u00e8tre de d\u00e9bit" : "D\u00e9bit massique corrig\u00e9"; break;
      default:
        words = parameter ? random.Pick({"Flow parameter", "Turbine flow parameter", "Swallowing capacity"})
                          : random.Pick({"Corrected mass flow", "Corrected gas flow"});
    }
    return WithUnit(words, axis.unit, language, random);
  }
  if (axis.quantity == Quantity::kPressureRatioTotalToStatic) {
    switch (language) {
      case Language::kGerman: return "Druckverh\u00e4ltnis (total-statisch)";
      case Language::kFrench: return "Rapport de pression (total-statique)";
      default: return "Pressure ratio (total to static)";
    }
  }
  switch (language) {
    case Language::kGerman: return random.Pick({"Druckverh\u00e4ltnis", "Druckverh\u00e4ltnis p2t/p1t", "Totaldruckverh\u00e4ltnis"});
    case Language::kFrench: return random.Pick({"Rapport de pression", "Taux de compression p2t/p1t", "Rapport de pressions totales"});
    default: return random.Pick({"Pressure ratio", "Pressure ratio p2t/p1t", "Total pressure ratio", "Compressor pressure ratio (t-t)"});
  }
}

std::string EfficiencyTitle(const Axis& axis, Language language, Random& random) {
  std::string words = EfficiencyWord(language);
  if (language == Language::kEnglish) words = random.Pick({"Efficiency (total to static)", "Turbine efficiency t-s", "Total to static efficiency"});
  if (axis.unit == "%") words += random.Pick({" (%)", " [%]", ", %"});
  return words;
}

std::string SheetTitle(const std::string& wheel, MapKind kind, Language language, Random& random) {
  const bool turbine = kind == MapKind::kTurbine;
  switch (language) {
    case Language::kGerman:
      return random.Pick(
          {std::string(turbine ? "Turbinenkennfeld " : "Verdichterkennfeld ") + wheel, wheel + (turbine ? " Turbine" : " Verdichter")});
    case Language::kFrench: return random.Pick({std::string(turbine ? "Champ turbine " : "Champ compresseur ") + wheel, wheel + " Fellside Rotors"});
    default:
      return random.Pick({"Fellside Rotors " + wheel, wheel + (turbine ? " turbine map" : " compressor map"),
                          std::string(turbine ? "Turbine " : "Compressor ") + wheel});
  }
}

ReferenceNote DrawReferenceNote(Language language, Random& random) {
  struct Choice {
    const char* english;
    const char* german;
    const char* french;
    double kelvin;
    double pascal;
  };
  static constexpr Choice kChoices[] = {
      {"Corrected to 288.15 K, 101.325 kPa", "Bezugszustand: 288,15 K, 101,325 kPa", "Conditions de r\u00e9f\u00e9rence : 288,15 K, 101,325 kPa",
       288.15, 101325},
      {"Reference conditions: 298 K, 100 kPa", "Bezugszustand: 298 K, 100 kPa", "Conditions de r\u00e9f\u00e9rence : 298 K, 100 kPa", 298.0, 100000},
      {"Corrected to 20 \u00b0C, 981 mbar", "Bezugszustand 20 \u00b0C, 981 mbar", "R\u00e9f\u00e9rence 20 \u00b0C, 981 mbar", 293.15, 98100},
      {"Corrected to 25 \u00b0C, 1.0 bar", "Bezogen auf 25 \u00b0C, 1,0 bar", "R\u00e9f\u00e9rence 25 \u00b0C, 1,0 bar", 298.15, 100000},
      {"Corrected to 85 \u00b0F, 28.4 inHg", "Bezogen auf 85 \u00b0F, 28,4 inHg", "R\u00e9f\u00e9rence 85 \u00b0F, 28,4 inHg", (85 + 459.67) / 1.8,
       28.4 * 3386.389},
      {"T ref = 288.15 K, p ref = 101.3 kPa", "T ref = 288,15 K, p ref = 101,3 kPa", "T r\u00e9f = 288,15 K, p r\u00e9f = 101,3 kPa", 288.15, 101300},
  };
  const Choice& choice = kChoices[random.Whole(0, static_cast<int>(std::size(kChoices)) - 1)];
  const char* text = language == Language::kGerman ? choice.german : language == Language::kFrench ? choice.french : choice.english;
  return {text, {choice.kelvin, choice.pascal, ReferenceConditions::Basis::kPrinted}};
}

std::string SpeedNote(const std::string& unit, Language language) {
  if (unit == "krpm")
    return language == Language::kGerman ? "Drehzahl in 1000/min" : language == Language::kFrench ? "Vitesse en 1000 tr/min" : "Speed in 1000 rpm";
  if (unit == "%")
    return language == Language::kGerman   ? "Drehzahl in % der Nenndrehzahl"
           : language == Language::kFrench ? "Vitesse en % du nominal"
                                           : "Speed in % of design speed";
  if (unit == "m/s")
    return language == Language::kGerman   ? "Umfangsgeschwindigkeit in m/s"
           : language == Language::kFrench ? "Vitesse p\u00e9riph\u00e9rique en m/s"
                                           : "Tip speed in m/s";
  return language == Language::kGerman ? "Drehzahl in 1/min" : language == Language::kFrench ? "Vitesse en tr/min" : "Speed in rpm";
}

std::string EfficiencyWord(Language language) {
  return language == Language::kGerman ? "Wirkungsgrad" : language == Language::kFrench ? "Rendement" : "Efficiency";
}
std::string SpeedWord(Language language) {
  return language == Language::kGerman ? "Drehzahl" : language == Language::kFrench ? "Vitesse" : "Speed lines";
}
std::string SurgeWord(Language language) {
  return language == Language::kGerman ? "Pumpgrenze" : language == Language::kFrench ? "Ligne de pompage" : "Surge line";
}

}  // namespace islebook::paint
