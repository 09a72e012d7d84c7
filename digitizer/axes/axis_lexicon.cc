#include "digitizer/axes/axis_lexicon.h"

namespace islebook {
namespace {

constexpr LexiconWord kWords[] = {
    // English
    {"flow", kSaysFlow, nullptr}, {"flowrate", kSaysFlow, nullptr}, {"airflow", kSaysFlow, nullptr}, {"massflow", kSaysFlow | kSaysMass, nullptr}, {"mass", kSaysMass, nullptr},
    {"volume", kSaysVolume, nullptr}, {"volumetric", kSaysVolume, nullptr}, {"pressure", kSaysPressure, nullptr}, {"press", kSaysPressure, nullptr}, {"ratio", kSaysRatio, nullptr},
    {"expansion", kSaysExpansion | kSaysTurbine, nullptr}, {"efficiency", kSaysEfficiency, nullptr}, {"effcy", kSaysEfficiency, nullptr}, {"eff", kSaysEfficiency, nullptr}, {"eta", kSaysEfficiency, nullptr},
    {"isentropic", 0u, nullptr}, {"parameter", kSaysParameter, nullptr}, {"param", kSaysParameter, nullptr}, {"function", kSaysParameter, nullptr}, {"mfp", kSaysParameter | kSaysFlow | kSaysMass, nullptr},
    {"speed", kSaysSpeed, nullptr}, {"velocity", kSaysVelocity, nullptr}, {"blade", kSaysBlade, nullptr}, {"static", kSaysStatic, nullptr}, {"total", kSaysTotal, nullptr}, {"corrected", kSaysCorrected, nullptr},
    {"corr", kSaysCorrected, nullptr}, {"reduced", kSaysCorrected, nullptr}, {"referred", kSaysCorrected, nullptr}, {"equivalent", kSaysCorrected, nullptr}, {"turbine", kSaysTurbine, nullptr},
    {"compressor", kSaysCompressor, nullptr}, {"tpr", kSaysPressure | kSaysRatio | kSaysTotalTotal, nullptr}, {"pr", kSaysPressure | kSaysRatio, nullptr}, {"compression", kSaysPressure, nullptr},
    {"capacity", kSaysFlow, nullptr}, {"swallowing", kSaysFlow | kSaysTurbine, nullptr}, {"cfm", kSaysFlow | kSaysVolume, nullptr}, {"boost", kSaysPressure, nullptr}, {"wcorr", kSaysFlow | kSaysMass | kSaysCorrected, nullptr},
    // German
    {"massenstrom", kSaysFlow | kSaysMass, nullptr}, {"massendurchsatz", kSaysFlow | kSaysMass, nullptr}, {"luftdurchsatz", kSaysFlow, nullptr}, {"durchsatz", kSaysFlow, nullptr}, {"durchfluss", kSaysFlow, nullptr},
    {"volumenstrom", kSaysFlow | kSaysVolume, nullptr}, {"luftmenge", kSaysFlow, nullptr}, {"druckverhaltnis", kSaysPressure | kSaysRatio, nullptr}, {"druckverhaeltnis", kSaysPressure | kSaysRatio, nullptr},
    {"totaldruck", kSaysPressure | kSaysTotal, nullptr}, {"verhaltnis", kSaysRatio, nullptr}, {"verhaeltnis", kSaysRatio, nullptr}, {"expansionsverhaltnis", kSaysExpansion | kSaysRatio | kSaysTurbine, nullptr},
    {"entspannungsverhaltnis", kSaysExpansion | kSaysRatio | kSaysTurbine, nullptr}, {"wirkungsgrad", kSaysEfficiency, nullptr}, {"kennzahl", kSaysParameter, nullptr}, {"drehzahl", kSaysSpeed, nullptr},
    {"statisch", kSaysStatic, nullptr}, {"korrigiert", kSaysCorrected, nullptr}, {"reduziert", kSaysCorrected, nullptr}, {"bezogen", kSaysCorrected, nullptr}, {"verdichter", kSaysCompressor, nullptr}, {"laufzahl", kSaysVelocity | kSaysRatio | kSaysBlade, nullptr},
    // French
    {"debit", kSaysFlow, nullptr}, {"massique", kSaysMass, nullptr}, {"volumique", kSaysVolume, nullptr}, {"pression", kSaysPressure, nullptr}, {"rapport", kSaysRatio, nullptr}, {"taux", kSaysRatio, nullptr},
    {"detente", kSaysExpansion | kSaysTurbine, nullptr}, {"rendement", kSaysEfficiency, nullptr}, {"parametre", kSaysParameter, nullptr}, {"vitesse", kSaysSpeed, nullptr}, {"statique", kSaysStatic, nullptr},
    {"corrige", kSaysCorrected, nullptr}, {"reduit", kSaysCorrected, nullptr}, {"compresseur", kSaysCompressor, nullptr},
    // Spanish
    {"caudal", kSaysFlow, nullptr}, {"gasto", kSaysFlow | kSaysMass, nullptr}, {"masico", kSaysMass, nullptr}, {"volumetrico", kSaysVolume, nullptr}, {"presion", kSaysPressure, nullptr}, {"presiones", kSaysPressure, nullptr},
    {"relacion", kSaysRatio, nullptr}, {"rendimiento", kSaysEfficiency, nullptr}, {"eficiencia", kSaysEfficiency, nullptr}, {"parametro", kSaysParameter, nullptr}, {"velocidad", kSaysSpeed, nullptr}, {"estatico", kSaysStatic, nullptr},
    {"corregido", kSaysCorrected, nullptr}, {"turbina", kSaysTurbine, nullptr}, {"compresor", kSaysCompressor, nullptr},
    // Italian
    {"portata", kSaysFlow, nullptr}, {"massica", kSaysMass, nullptr}, {"volumetrica", kSaysVolume, nullptr}, {"pressione", kSaysPressure, nullptr}, {"rapporto", kSaysRatio, nullptr}, {"espansione", kSaysExpansion | kSaysTurbine, nullptr},
    {"compressione", kSaysPressure, nullptr}, {"rendimento", kSaysEfficiency, nullptr}, {"efficienza", kSaysEfficiency, nullptr}, {"statico", kSaysStatic, nullptr}, {"corretta", kSaysCorrected, nullptr}, {"compressore", kSaysCompressor, nullptr},
    // What a performance map has not.
    {"torque", kSaysOther, "torque"}, {"drehmoment", kSaysOther, "torque"}, {"couple", kSaysOther, "torque"}, {"coppia", kSaysOther, "torque"}, {"angle", kSaysOther, "angle"}, {"winkel", kSaysOther, "angle"}, {"angulo", kSaysOther, "angle"},
    {"power", kSaysOther, "power"}, {"leistung", kSaysOther, "power"}, {"puissance", kSaysOther, "power"}, {"potencia", kSaysOther, "power"}, {"potenza", kSaysOther, "power"}, {"time", kSaysOther, "time"}, {"zeit", kSaysOther, "time"},
    {"temps", kSaysOther, "time"}, {"tiempo", kSaysOther, "time"}, {"tempo", kSaysOther, "time"}, {"seconds", kSaysOther, "time"}, {"temperature", kSaysOther, "temperature"}, {"temperatur", kSaysOther, "temperature"},
    {"temperatura", kSaysOther, "temperature"}, {"voltage", kSaysOther, "voltage"}, {"volts", kSaysOther, "voltage"}, {"spannung", kSaysOther, "voltage"}, {"tension", kSaysOther, "voltage"}, {"current", kSaysOther, "current"},
    {"work", kSaysOther, "work"}, {"enthalpy", kSaysOther, "enthalpy"}, {"frequency", kSaysOther, "frequency"}, {"frequenz", kSaysOther, "frequency"}, {"distance", kSaysOther, "distance"}, {"stress", kSaysOther, "stress"},
    {"strain", kSaysOther, "strain"}, {"force", kSaysOther, "force"}, {"consumption", kSaysOther, "consumption"}, {"displacement", kSaysOther, "displacement"}, {"noise", kSaysOther, "noise"}, {"density", kSaysOther, "density"},
    {"price", kSaysOther, "price"}, {"year", kSaysOther, "time"}, {"month", kSaysOther, "time"}, {"population", kSaysOther, "population"}, {"percentage", 0u, nullptr},
};

constexpr UnitSpelling kUnits[] = {
    {"lb/min", "lb/min"}, {"lbs/min", "lb/min"}, {"lbm/min", "lb/min"}, {"#/min", "lb/min"}, {"lbmin-1", "lb/min"}, {"lbmmin-1", "lb/min"}, {"pounds/minute", "lb/min"}, {"poundsperminute", "lb/min"}, {"lbpermin", "lb/min"}, {"lb/mn", "lb/min"},
    {"lb/minute", "lb/min"}, {"ppm", "lb/min"},
    {"lb/s", "lb/s"}, {"lbm/s", "lb/s"}, {"lb/sec", "lb/s"}, {"lbm/sec", "lb/s"}, {"lbs/s", "lb/s"}, {"lbs/sec", "lb/s"}, {"lbs-1", "lb/s"}, {"lbms-1", "lb/s"}, {"poundspersecond", "lb/s"}, {"lb/second", "lb/s"},
    {"kg/s", "kg/s"}, {"kg/sec", "kg/s"}, {"kgs-1", "kg/s"}, {"kilogramspersecond", "kg/s"}, {"kg/second", "kg/s"},
    {"kg/min", "kg/min"}, {"kgmin-1", "kg/min"}, {"kg/mn", "kg/min"}, {"kg/minute", "kg/min"},
    {"kg/h", "kg/h"}, {"kg/hr", "kg/h"}, {"kg/hour", "kg/h"}, {"kgh-1", "kg/h"}, {"kg/std", "kg/h"}, {"kg/heure", "kg/h"},
    {"g/s", "g/s"}, {"g/sec", "g/s"}, {"gs-1", "g/s"}, {"grams/s", "g/s"},
    {"m3/s", "m3/s"}, {"m3/sec", "m3/s"}, {"m3s-1", "m3/s"}, {"cum/s", "m3/s"},
    {"m3/min", "m3/min"}, {"m3min-1", "m3/min"}, {"m3/mn", "m3/min"}, {"cum/min", "m3/min"},
    {"m3/h", "m3/h"}, {"m3/hr", "m3/h"}, {"m3h-1", "m3/h"}, {"m3/std", "m3/h"},
    {"ft3/min", "ft3/min"}, {"cfm", "ft3/min"}, {"acfm", "ft3/min"}, {"scfm", "ft3/min"}, {"cuft/min", "ft3/min"}, {"cubicfeet/min", "ft3/min"}, {"cubicfeetperminute", "ft3/min"}, {"ft3min-1", "ft3/min"}, {"cf/min", "ft3/min"},
    {"rpm", "rpm"}, {"1/min", "rpm"}, {"min-1", "rpm"}, {"u/min", "rpm"}, {"tr/min", "rpm"}, {"rev/min", "rpm"}, {"r/min", "rpm"}, {"giri/min", "rpm"}, {"krpm", "krpm"}, {"x1000rpm", "krpm"}, {"rpmx1000", "krpm"},
    {"m/s", "m/s"}, {"m/sec", "m/s"}, {"ms-1", "m/s"},
    {"%", "%"}, {"percent", "%"}, {"prozent", "%"}, {"pourcent", "%"}, {"pct", "%"},
    {"-", "1"}, {"--", "1"}, {"1", "1"}, {"dimensionless", "1"}, {"nodim", "1"}, {"nondim", "1"}, {"adim", "1"}, {"fraction", "1"},
    {"kg/svk/kpa", "kg s-1 K0.5 kPa-1"}, {"(kg/s)vk/kpa", "kg s-1 K0.5 kPa-1"}, {"kgvk/(skpa)", "kg s-1 K0.5 kPa-1"}, {"kgvk/skpa", "kg s-1 K0.5 kPa-1"}, {"kgvk/s/kpa", "kg s-1 K0.5 kPa-1"}, {"kgvk/kpas", "kg s-1 K0.5 kPa-1"},
    {"kgvk/(kpas)", "kg s-1 K0.5 kPa-1"}, {"kgs-1k05kpa-1", "kg s-1 K0.5 kPa-1"}, {"kg/sk05/kpa", "kg s-1 K0.5 kPa-1"}, {"kg/sk1/2/kpa", "kg s-1 K0.5 kPa-1"}, {"kgk05/(skpa)", "kg s-1 K0.5 kPa-1"}, {"kgk1/2/(skpa)", "kg s-1 K0.5 kPa-1"},
    {"kgs-1k1/2kpa-1", "kg s-1 K0.5 kPa-1"}, {"kgvks-1kpa-1", "kg s-1 K0.5 kPa-1"}, {"kg/sv(k)/kpa", "kg s-1 K0.5 kPa-1"}, {"kg/svk/kpa", "kg s-1 K0.5 kPa-1"},
};

}  // namespace

std::span<const LexiconWord> TitleLexicon() { return kWords; }
std::span<const UnitSpelling> UnitLexicon() { return kUnits; }

}  // namespace islebook
