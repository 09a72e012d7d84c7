#include "mapstore/units/unit_lexicon.h"

namespace islebook {
namespace {

constexpr auto kNone = PressureBasis::kUnstated;
constexpr auto kAbs = PressureBasis::kAbsolute;
constexpr auto kGauge = PressureBasis::kGauge;

constexpr BaseExponents Of(int kilogram, int meter, int second, int kelvin = 0, int revolution = 0) {
  return {{2 * kilogram, 2 * meter, 2 * second, 2 * kelvin, 2 * revolution}};
}
constexpr BaseExponents kPressureBase = Of(1, -1, -2), kForceBase = Of(1, 1, -2), kEnergyBase = Of(1, 2, -2), kPowerBase = Of(1, 2, -3);

constexpr UnitAtom kAtoms[] = {
    // mass
    {"kg", "kg", "kg", Of(1, 0, 0), kNone, "kgs kilogram kilograms kilogramme kilogrammes kilo", 0},
    {"g", "g", "kg", Of(1, 0, 0), kNone, "gm gms gr gram grams gramme grammes gramm", 0},
    {"mg", "mg", "kg", Of(1, 0, 0), kNone, "milligram milligrams", 0},
    {"t", "1000 kg", "kg", Of(1, 0, 0), kNone, "tonne tonnes to", 0},
    {"lb", "lb", "kg", Of(1, 0, 0), kNone, "lbs lbm lbms pound pounds", 0},
    {"oz", "lb/16", "kg", Of(1, 0, 0), kNone, "ounce ounces", 0},
    {"slug", "slug", "kg", Of(1, 0, 0), kNone, "slugs", 0},
    // length, area, volume
    {"m", "m", "m", Of(0, 1, 0), kNone, "meter meters metre metres mtr", 1},
    {"mm", "mm", "m", Of(0, 1, 0), kNone, "millimeter millimeters millimetre millimetres", 1},
    {"um", "1e-6 m", "m", Of(0, 1, 0), kNone, "micrometer micrometers micrometre micron microns", 1},
    {"cm", "cm", "m", Of(0, 1, 0), kNone, "centimeter centimeters centimetre centimetres", 1},
    {"dm", "dm", "m", Of(0, 1, 0), kNone, "", 1},
    {"km", "km", "m", Of(0, 1, 0), kNone, "kilometer kilometers kilometre kilometres", 1},
    {"in", "0.0254 m", "m", Of(0, 1, 0), kNone, "inch inches ins", 1},
    {"ft", "0.3048 m", "m", Of(0, 1, 0), kNone, "foot feet", 1},
    {"yd", "0.9144 m", "m", Of(0, 1, 0), kNone, "yard yards", 1},
    {"mi", "1609.344 m", "m", Of(0, 1, 0), kNone, "mile miles", 1},
    {"L", "0.001 m3", "m3", Of(0, 3, 0), kNone, "l liter liters litre litres ltr lit", 1},
    {"cc", "1e-6 m3", "m3", Of(0, 3, 0), kNone, "ccm", 1},
    {"cfm", "ft3/min", "m3/s", Of(0, 3, -1), kNone, "acfm icfm cuftmin", 1},
    // time
    {"s", "s", "s", Of(0, 0, 1), kNone, "sec secs second seconds sek sekunde seconde", 2},
    {"ms", "ms", "s", Of(0, 0, 1), kNone, "", 2},
    {"min", "min", "s", Of(0, 0, 1), kNone, "mins minute minutes mn", 2},
    {"h", "h", "s", Of(0, 0, 1), kNone, "hr hrs hour hours std stunde heure heures", 2},
    {"day", "day", "s", Of(0, 0, 1), kNone, "days d", 2},
    // temperature; the two with an offset stand alone, all may be rooted as differences from zero
    {"K", "K", "K", Of(0, 0, 0, 1), kNone, "kelvin kelvins degk ~k", 3},
    {"degR", "degR", "K", Of(0, 0, 0, 1), kNone, "r rankine ~r ra", 3},
    {"degC", "degC", "K", Of(0, 0, 0, 1), kNone, "c celsius centigrade ~c", 3},
    {"degF", "degF", "K", Of(0, 0, 0, 1), kNone, "f fahrenheit ~f", 3},
    // pressure and force
    {"Pa", "Pa", "Pa", kPressureBase, kNone, "pascal pascals", 4},
    {"hPa", "hPa", "Pa", kPressureBase, kNone, "", 4},
    {"kPa", "kPa", "Pa", kPressureBase, kNone, "kilopascal kilopascals", 4},
    {"MPa", "MPa", "Pa", kPressureBase, kNone, "", 4},
    {"bar", "bar", "Pa", kPressureBase, kNone, "bars", 4},
    {"mbar", "mbar", "Pa", kPressureBase, kNone, "millibar millibars mb", 4},
    {"psi", "lbf/in2", "Pa", kPressureBase, kNone, "", 4},
    {"atm", "atm", "Pa", kPressureBase, kNone, "atmosphere atmospheres", 4},
    {"at", "98066.5 Pa", "Pa", kPressureBase, kNone, "kp/cm2", 4},
    {"inHg", "inHg", "Pa", kPressureBase, kNone, "", 4},
    {"mmHg", "mmHg", "Pa", kPressureBase, kNone, "torr", 4},
    {"cmHg", "10 mmHg", "Pa", kPressureBase, kNone, "", 4},
    {"inH2O", "249.08891 Pa", "Pa", kPressureBase, kNone, "inwc inwg", 4},   // conventional water: 25.4 mm of 9.80665 Pa
    {"mmH2O", "9.80665 Pa", "Pa", kPressureBase, kNone, "mmws mmwc mmwg", 4},
    {"psia", "lbf/in2", "Pa", kPressureBase, kAbs, "", 4},
    {"bara", "bar", "Pa", kPressureBase, kAbs, "", 4},
    {"kPaa", "kPa", "Pa", kPressureBase, kAbs, "", 4},
    {"ata", "98066.5 Pa", "Pa", kPressureBase, kAbs, "", 4},
    {"psig", "lbf/in2", "Pa", kPressureBase, kGauge, "", 4},
    {"barg", "bar", "Pa", kPressureBase, kGauge, "bar\u00FC bar\u00DC", 4},
    {"kPag", "kPa", "Pa", kPressureBase, kGauge, "", 4},
    {"atg", "98066.5 Pa", "Pa", kPressureBase, kGauge, "at\u00FC at\u00DC", 4},
    {"N", "N", "N", kForceBase, kNone, "newton newtons", 5},
    {"kN", "kN", "N", kForceBase, kNone, "", 5},
    {"kgf", "kgf", "N", kForceBase, kNone, "kp", 5},
    {"lbf", "lbf", "N", kForceBase, kNone, "", 5},
    // energy and power
    {"J", "J", "J", kEnergyBase, kNone, "joule joules", 5},
    {"kJ", "kJ", "J", kEnergyBase, kNone, "", 5},
    {"MJ", "MJ", "J", kEnergyBase, kNone, "", 5},
    {"kWh", "3.6e6 J", "J", kEnergyBase, kNone, "", 5},
    {"hph", "550 ft lbf/s h", "J", kEnergyBase, kNone, "bhph hphr bhphr", 5},
    {"Btu", "BTU", "J", kEnergyBase, kNone, "", 5},
    {"kcal", "4186.8 J", "J", kEnergyBase, kNone, "", 5},
    {"W", "W", "W", kPowerBase, kNone, "watt watts", 5},
    {"kW", "kW", "W", kPowerBase, kNone, "kilowatt kilowatts", 5},
    {"MW", "MW", "W", kPowerBase, kNone, "", 5},
    {"hp", "550 ft lbf/s", "W", kPowerBase, kNone, "bhp horsepower", 5},
    {"PS", "75 kgf m/s", "W", kPowerBase, kNone, "ch cv pk", 5},
    // turning
    {"rev", "revolution", "rad", Of(0, 0, 0, 0, 1), kNone, "revs revolution revolutions u umdr umdrehungen tr tours giri r", 1},
    {"rad", "rad", "rad", Of(0, 0, 0, 0, 1), kNone, "radian radians", 1},
    {"rpm", "revolution/min", "rad/s", Of(0, 0, -1, 0, 1), kNone, "rpms upm", 1},
    {"krpm", "1000 revolution/min", "rad/s", Of(0, 0, -1, 0, 1), kNone, "", 1},
    {"rps", "revolution/s", "rad/s", Of(0, 0, -1, 0, 1), kNone, "", 1},
    {"Hz", "revolution/s", "rad/s", Of(0, 0, -1, 0, 1), kNone, "hertz", 1},
    // plain numbers
    {"%", "0.01", "1", Of(0, 0, 0), kNone, "percent pct prozent pourcent procent", 5},
};

constexpr UnitPhrase kPhrases[] = {
    {"revolutions per minute", "rpm"},
    {"inches of mercury", "inHg"},
    {"inch of mercury", "inHg"},
    {"inches of water", "inH2O"},
    {"pounds per square inch absolute", "psia"},
    {"pounds per square inch gauge", "psig"},
    {"pounds per square inch", "psi"},
    {"pound per square inch", "psi"},
    {"kilograms force", "kgf"},
    {"degrees fahrenheit", "degF"}, {"degree fahrenheit", "degF"}, {"deg. fahrenheit", "degF"}, {"deg fahrenheit", "degF"}, {"grad fahrenheit", "degF"},
    {"degrees celsius", "degC"}, {"degree celsius", "degC"}, {"deg. celsius", "degC"}, {"deg celsius", "degC"}, {"grad celsius", "degC"}, {"degres celsius", "degC"},
    {"degrees rankine", "degR"}, {"degree rankine", "degR"}, {"deg. rankine", "degR"}, {"deg rankine", "degR"},
    {"degrees kelvin", "K"}, {"degree kelvin", "K"}, {"deg kelvin", "K"},
    {"degrees f", "degF"}, {"degrees c", "degC"}, {"degrees r", "degR"}, {"degrees k", "K"},
    {"deg. f", "degF"}, {"deg. c", "degC"}, {"deg. r", "degR"}, {"deg. k", "K"},
    {"deg.f", "degF"}, {"deg.c", "degC"}, {"deg.r", "degR"}, {"deg.k", "K"},
    {"deg f", "degF"}, {"deg c", "degC"}, {"deg r", "degR"}, {"deg k", "K"},
    {"grad c", "degC"}, {"grad f", "degF"}, {"grd c", "degC"},
    {"~ f", "degF"}, {"~ c", "degC"}, {"~ r", "degR"}, {"~ k", "K"},
    {"thousands of rpm", "krpm"}, {"thousand rpm", "krpm"}, {"rpm (thousands)", "krpm"}, {"rpm in thousands", "krpm"}, {"rpm, thousands", "krpm"}, {"'000 rpm", "krpm"}, {"rpm '000", "krpm"},
    {"k rpm", "krpm"}, {"k-rpm", "krpm"}, {"kupm", "krpm"},
    {"r.p.m.", "rpm"}, {"r.p.m", "rpm"}, {"u.p.m.", "rpm"}, {"r.p.s.", "rps"},
    {"c.f.m.", "cfm"}, {"c.f.m", "cfm"}, {"cu. ft. per min.", "cfm"},
    {"cubic feet", "ft^3"}, {"cubic foot", "ft^3"}, {"cubic meters", "m^3"}, {"cubic meter", "m^3"}, {"cubic metres", "m^3"}, {"cubic metre", "m^3"},
    {"cubic inches", "in^3"}, {"cubic inch", "in^3"}, {"cubic centimeters", "cm^3"}, {"cubic centimetres", "cm^3"},
    {"cu. ft.", "ft^3"}, {"cu. ft", "ft^3"}, {"cu.ft.", "ft^3"}, {"cu.ft", "ft^3"}, {"cu ft", "ft^3"}, {"cuft", "ft^3"}, {"cu. in.", "in^3"}, {"cu.in.", "in^3"}, {"cu.in", "in^3"}, {"cu in", "in^3"},
    {"cuin", "in^3"}, {"ci", "in^3"}, {"cu m", "m^3"}, {"cbm", "m^3"},
    {"square inches", "in^2"}, {"square inch", "in^2"}, {"square meter", "m^2"}, {"square meters", "m^2"}, {"sq. in.", "in^2"}, {"sq in", "in^2"}, {"sq.in.", "in^2"}, {"sq.in", "in^2"}, {"sq ft", "ft^2"},
    {"inches hg", "inHg"}, {"inch hg", "inHg"}, {"in. hg.", "inHg"}, {"in. hg", "inHg"}, {"in.hg", "inHg"}, {"in hg", "inHg"}, {"\" hg", "inHg"}, {"\"hg", "inHg"}, {"'' hg", "inHg"}, {"''hg", "inHg"},
    {"inches h2o", "inH2O"}, {"inch h2o", "inH2O"}, {"in. h2o", "inH2O"}, {"in h2o", "inH2O"}, {"in.h2o", "inH2O"}, {"\"h2o", "inH2O"}, {"\" h2o", "inH2O"}, {"\"wc", "inH2O"}, {"in wc", "inH2O"},
    {"in. wc", "inH2O"}, {"in w.c.", "inH2O"}, {"inh2o", "inH2O"},
    {"mm hg", "mmHg"}, {"mm h2o", "mmH2O"}, {"mm ws", "mmH2O"}, {"mmh2o", "mmH2O"}, {"cm hg", "cmHg"},
    {"kgf/cm^2", "at"}, {"kgf/cm2", "at"}, {"kg/cm^2", "at"}, {"kg/cm2", "at"}, {"kp/cm^2", "at"}, {"kp/cm2", "at"},
    {"ft lbf", "lbf*ft"}, {"ft-lbf", "lbf*ft"}, {"lb-ft", "lbf*ft"}, {"lb ft", "lbf*ft"}, {"ft-lbs", "lbf*ft"}, {"ft-lb", "lbf*ft"}, {"ft lbs", "lbf*ft"}, {"ft lb", "lbf*ft"}, {"lbft", "lbf*ft"},
    {"lbs-ft", "lbf*ft"}, {"ft*lb", "lbf*ft"}, {"lb*ft", "lbf*ft"}, {"lb.ft", "lbf*ft"}, {"ft.lb", "lbf*ft"},
    {"hp-hr", "hph"}, {"hp-h", "hph"}, {"hp h", "hph"}, {"hp hr", "hph"}, {"hp*h", "hph"}, {"bhp-hr", "hph"}, {"bhp hr", "hph"}, {"bhp-h", "hph"}, {"kw h", "kWh"}, {"kw-hr", "kWh"}, {"kw-h", "kWh"}, {"kw*h", "kWh"},
    {"nm", "N*m"},
    {"per cent", "%"}, {"pour cent", "%"}, {"~/o", "%"}, {"o/o", "%"}, {"0/0", "%"},
};

constexpr NamedUnit kNamed[] = {
    {"lb/min", "lb/min", true}, {"lb/s", "lb/s", true}, {"kg/s", "kg/s", true}, {"kg/min", "kg/min", true}, {"kg/h", "kg/h", true}, {"g/s", "g/s", true},
    {"m3/s", "m^3/s", true}, {"m3/min", "m^3/min", true}, {"m3/h", "m^3/h", true}, {"ft3/min", "ft^3/min", true},
    {"1", "", true}, {"%", "%", true},
    {"rpm", "rpm", true}, {"krpm", "krpm", true}, {"m/s", "m/s", true},
    {"kg s-1 K0.5 kPa-1", "kg/s*K^0.5/kPa", true},
    {"lb/h", "lb/h", false}, {"g/min", "g/min", false}, {"t/h", "t/h", false},
    {"L/s", "L/s", false}, {"L/min", "L/min", false}, {"ft3/s", "ft^3/s", false}, {"ft3/h", "ft^3/h", false},
    {"rps", "rps", false}, {"rad/s", "rad/s", false}, {"ft/s", "ft/s", false}, {"ft/min", "ft/min", false}, {"km/h", "km/h", false},
    {"Pa", "Pa", false}, {"hPa", "hPa", false}, {"kPa", "kPa", false}, {"MPa", "MPa", false}, {"bar", "bar", false}, {"mbar", "mbar", false}, {"psi", "psi", false}, {"inHg", "inHg", false},
    {"N m", "N*m", false}, {"lbf ft", "lbf*ft", false},
    {"m3", "m^3", false}, {"L", "L", false}, {"cm3", "cm^3", false}, {"in3", "in^3", false}, {"ft3", "ft^3", false}, {"m2", "m^2", false}, {"mm2", "mm^2", false}, {"cm2", "cm^2", false}, {"in2", "in^2", false},
    {"kg/m3", "kg/m^3", false}, {"lb/ft3", "lb/ft^3", false},
    {"J/kg", "J/kg", false}, {"kJ/kg", "kJ/kg", false}, {"Btu/lb", "Btu/lb", false},
    {"g/kWh", "g/kWh", false}, {"lb/hph", "lb/hph", false},
};

}  // namespace

std::span<const UnitAtom> UnitAtoms() { return kAtoms; }
std::span<const UnitPhrase> UnitPhrases() { return kPhrases; }
std::span<const NamedUnit> NamedUnits() { return kNamed; }

}  // namespace islebook
