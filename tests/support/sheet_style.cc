#include "tests/support/sheet_style.h"

#include <algorithm>
#include <functional>
#include <map>

#include <QFontDatabase>
#include <QStringList>

namespace islebook::paint {
namespace {

using Change = std::function<void(SheetStyle&, Random&)>;

const NumberForm kGermanNumbers{true, "."};
const NumberForm kFrenchNumbers{true, "\u00a0"};

void Turbine(SheetStyle& s, Random& r) {
  s.kind = MapKind::kTurbine;
  s.markers = Marker::kNone;
  s.speed_unit = "rpm";
  s.flow_units = {"kg s-1 K0.5 kPa-1"};
  s.efficiency_unit = r.Chance(0.3) ? "%" : "1";
  s.speed.width = r.Between(2.0, 3.0);
  s.efficiency.width = r.Between(1.5, 2.2);
}

const std::vector<std::pair<std::string, Change>>& Styles() {
  static const std::vector<std::pair<std::string, Change>> kStyles = {
      {"ledger",
       [](SheetStyle& s, Random& r) {
         s.font = "serif", s.ticks = TickSide::kInside, s.grid = GridKind::kNone;
         s.surge_line.width = r.Between(3.5, 5.5), s.numbers.thousands = r.Pick({"", ","});
         s.speed.width = r.Between(1.8, 2.6), s.island.width = r.Between(1.1, 1.6);
         s.numbers_on_right = r.Chance(0.4);
       }},
      {"atlas",
       [](SheetStyle& s, Random& r) {
         s.speed.color = r.Pick({QColor(20, 40, 110), QColor(30, 30, 30), QColor(0, 70, 120)});
         s.island.color = r.Pick({QColor(190, 40, 30), QColor(200, 90, 0), QColor(20, 120, 60)});
         s.surge_line.color = r.Pick({QColor(180, 20, 20), QColor(20, 20, 20)});
         s.island_labels = LabelLook::kTurned, s.numbers.thousands = ",";
         s.width = 1500, s.height = 1100, s.grid_color = QColor(214, 218, 222);
       }},
      {"typist",
       [](SheetStyle& s, Random& r) {
         s.font = "mono", s.island.dash = Dash::kDashed, s.grid = GridKind::kMajorDotted, s.grid_color = QColor(120, 120, 120);
         s.tick_size = 18, s.label_size = 17, s.title_size = 20, s.island.width = r.Between(1.3, 1.9), s.speed_note = r.Chance(0.5);
       }},
      {"millimeter",
       [](SheetStyle& s, Random& r) {
         s.grid = GridKind::kPaper, s.grid_color = r.Pick({QColor(190, 215, 190), QColor(240, 205, 180), QColor(190, 208, 228)});
         s.width = 2000, s.height = 1500, s.tick_size = 24, s.label_size = 22, s.title_size = 26;
         s.speed.width = r.Between(2.6, 3.4), s.island.width = r.Between(1.8, 2.4), s.surge_line.width = 5.5, s.frame_width = 2.6;
         s.island_labels = r.Pick({LabelLook::kOnPad, LabelLook::kBoxed});
       }},
      {"kurve",
       [](SheetStyle& s, Random& r) {
         s.language = Language::kGerman, s.numbers = kGermanNumbers, s.surge = SurgeLook::kHatched, s.ticks = TickSide::kInside;
         s.flow_units = {"m3/s", "m3/h", "kg/s"}, s.speed_unit = r.Pick({"m/s", "rpm"}), s.speed_note = true, s.upright_y_title = r.Chance(0.4);
         s.island.dash = r.Pick({Dash::kSolid, Dash::kDashDot});
       }},
      {"courbe",
       [](SheetStyle& s, Random& r) {
         s.language = Language::kFrench, s.numbers = kFrenchNumbers, s.efficiency_unit = "%", s.font = r.Pick({QString("serif"), QString("sans")});
         s.flow_units = {"kg/s", "kg/min", "g/s"}, s.speed_note = true, s.grid = GridKind::kMajorDashed, s.grid_color = QColor(170, 170, 170);
         s.speed.color = QColor(10, 60, 140), s.island.color = QColor(90, 90, 90), s.island_labels = LabelLook::kTurned;
       }},
      {"bands",
       [](SheetStyle& s, Random& r) {
         s.bands = true, s.grid = GridKind::kNone, s.island.width = r.Between(0.9, 1.4), s.island.color = QColor(60, 60, 60);
         s.speed.color = Qt::black, s.speed.width = r.Between(2.0, 2.8), s.width = 1400, s.height = 1050, s.flow_units = {"lb/min", "kg/s"};
         s.numbers.thousands = r.Pick({"", ","});
       }},
      {"dusk",
       [](SheetStyle& s, Random& r) {
         s.paper = r.Pick({QColor(18, 20, 26), QColor(10, 28, 48), QColor(34, 34, 34)}), s.ink = QColor(235, 235, 230);
         s.speed.color = QColor(240, 240, 235), s.island.color = r.Pick({QColor(90, 200, 220), QColor(240, 190, 80)});
         s.surge_line.color = QColor(240, 90, 70), s.choke.color = s.ink, s.grid_color = QColor(66, 70, 78), s.width = 1280, s.height = 960;
         s.tick_size = 18, s.label_size = 16, s.head_size = 26;
       }},
      {"stations",
       [](SheetStyle& s, Random& r) {
         s.markers = r.Pick({Marker::kRing, Marker::kDisc, Marker::kSquare}), s.speed.width = 1.6, s.island.dash = Dash::kDotted,
         s.island.width = 1.8;
         s.speed_unit = r.Pick({"krpm", "rpm"}), s.speed_note = true, s.grid = r.Pick({GridKind::kMajor, GridKind::kNone}), s.frame_width = 1.6;
       }},
      {"percent",
       [](SheetStyle& s, Random& r) {
         s.speed_unit = "%", s.efficiency_unit = "%", s.percent_sign = r.Chance(0.6), s.frame = FrameShape::kBareL, s.upright_y_title = true,
         s.grid = GridKind::kMajor;
         s.speed_note = true, s.speed_labels = r.Pick({SpeedLabelAt::kEnd, SpeedLabelAt::kInline}), s.font = "narrow";
       }},
      {"legend",
       [](SheetStyle& s, Random& r) {
         s.legend = true, s.choke_line = true, s.choke.dash = r.Pick({Dash::kDashed, Dash::kDotted}),
         s.grid = r.Pick({GridKind::kNone, GridKind::kMajor});
         s.speed.color = QColor(30, 30, 30), s.island.color = QColor(0, 110, 170), s.surge_line.color = QColor(190, 30, 40),
         s.numbers.thousands = ",";
         s.surge = r.Pick({SurgeLook::kThick, SurgeLook::kDashed});
       }},
      {"double",
       [](SheetStyle& s, Random& r) {
         s.charts = 2, s.width = 1500, s.height = 2050, s.furniture = true, s.font = r.Pick({QString("serif"), QString("sans")}),
         s.ticks = TickSide::kInside;
         s.grid = r.Pick({GridKind::kNone, GridKind::kMajorDotted}), s.grid_color = QColor(150, 150, 150);
       }},
      {"logflow",
       [](SheetStyle& s, Random& r) {
         s.log_x = true, s.grid = GridKind::kFine, s.grid_color = QColor(205, 205, 205), s.numbers.thousands = r.Pick({"", ","});
         s.flow_units = {"lb/min", "m3/min", "kg/min"}, s.ticks = TickSide::kInside;
       }},
      {"topaxis",
       [](SheetStyle& s, Random& r) {
         s.second_x_unit = true, s.numbers_on_right = true, s.flow_units = {"lb/min", "kg/s"}, s.grid = GridKind::kMajorDotted,
         s.grid_color = QColor(140, 140, 140);
         s.numbers.thousands = r.Pick({"", ","}), s.height = 1280;
       }},
      {"slim",
       [](SheetStyle& s, Random& r) {
         s.speed.width = r.Between(1.0, 1.3), s.island.width = r.Between(0.7, 1.0), s.island.color = QColor(110, 110, 110), s.surge_line.width = 2.0,
         s.frame_width = 1.0;
         s.font = "narrow", s.tick_size = 15, s.label_size = 14, s.title_size = 17, s.head_size = 22, s.ticks = TickSide::kAcross, s.width = 1300,
         s.height = 980;
         s.color_labels = false;
       }},
      {"heavy",
       [](SheetStyle& s, Random& r) {
         s.speed.width = r.Between(3.6, 4.6), s.island.width = r.Between(2.2, 2.8), s.surge_line.width = 8, s.frame_width = 3.6, s.bold_print = true,
         s.tick_size = 26, s.label_size = 22;
         s.title_size = 28, s.head_size = 38, s.width = 1800, s.height = 1400, s.grid = GridKind::kMajor;
       }},
      {"office",
       [](SheetStyle& s, Random& r) {
         s.island_colors = true, s.speed.color = QColor(68, 114, 196), s.surge = r.Pick({SurgeLook::kDashed, SurgeLook::kPlain}),
         s.surge_line = {2.4, QColor(192, 0, 0), Dash::kDashed};
         s.ticks = TickSide::kNone, s.minor_ticks = false, s.frame = FrameShape::kBareL, s.frame_width = 1.2, s.width = 1200, s.height = 860,
         s.tick_size = 17, s.label_size = 15;
         s.title_size = 19, s.head_size = 26, s.grid_color = QColor(217, 217, 217), s.speed_note = true;
       }},
      {"archive",
       [](SheetStyle& s, Random& r) {
         s.font = "serif", s.slanted_title = true, s.speed_labels = SpeedLabelAt::kInline, s.speed_label_look = LabelLook::kTurned,
         s.island.dash = Dash::kDashed, s.island.width = r.Between(1.4, 1.9);
         s.grid = GridKind::kFine, s.grid_color = QColor(176, 176, 176), s.furniture = true, s.width = 1900, s.height = 1500, s.tick_size = 22,
         s.label_size = 20, s.title_size = 24;
         s.surge = r.Pick({SurgeLook::kHatched, SurgeLook::kThick}), s.numbers.thousands = ",";
       }},
      {"beside",
       [](SheetStyle& s, Random& r) {
         s.island_labels = LabelLook::kTurnedBeside, s.speed_labels = r.Pick({SpeedLabelAt::kEnd, SpeedLabelAt::kStart}), s.surge = SurgeLook::kPlain,
         s.surge_line.width = 2.6;
         s.numbers.thousands = r.Pick({"", ","}), s.flow_units = {"ft3/min", "lb/min", "m3/min"};
       }},
      {"tinted",
       [](SheetStyle& s, Random& r) {
         s.frame = FrameShape::kNone, s.ground = r.Pick({QColor(229, 229, 229), QColor(234, 234, 242), QColor(240, 236, 226)});
         s.grid_color = Qt::white, s.grid_width = 1.8, s.ticks = r.Pick({TickSide::kNone, TickSide::kOutside}), s.minor_ticks = false;
         s.speed.color = QColor(50, 50, 60), s.island.color = r.Pick({QColor(190, 70, 70), QColor(60, 120, 170)}), s.island.width = 1.8;
         s.numbers.thousands = r.Pick({"", ","}), s.width = 1400, s.height = 1050;
       }},
      {"rows",
       [](SheetStyle& s, Random& r) {
         s.frame = FrameShape::kNone, s.grid = GridKind::kRows, s.ticks = TickSide::kNone, s.minor_ticks = false,
         s.grid_color = QColor(200, 200, 200);
         s.ink = QColor(80, 80, 80), s.speed.color = QColor(60, 100, 180), s.island.color = r.Pick({QColor(220, 120, 50), QColor(90, 90, 90)});
         s.numbers.thousands = r.Pick({"", ","}), s.width = 1500, s.height = 1000;
       }},
      {"endwise",
       [](SheetStyle& s, Random& r) {
         s.y_numbers_on_end = r.Chance(0.7), s.x_numbers_on_end = !s.y_numbers_on_end, s.ticks = r.Pick({TickSide::kInside, TickSide::kOutside});
         s.grid = r.Pick({GridKind::kNone, GridKind::kMajor}), s.font = r.Pick({QString("sans"), QString("serif")});
         s.numbers.thousands = r.Pick({"", ","});
       }},
      {"tledger",
       [](SheetStyle& s, Random& r) {
         Turbine(s, r);
         s.font = r.Pick({QString("serif"), QString("sans")}), s.grid = r.Pick({GridKind::kMajorDotted, GridKind::kNone}),
         s.grid_color = QColor(150, 150, 150), s.numbers.thousands = r.Pick({"", ","});
       }},
      {"tpair",
       [](SheetStyle& s, Random& r) {
         Turbine(s, r);
         s.efficiency_place = EfficiencyPlace::kPanel, s.efficiency.dash = Dash::kSolid, s.width = 1400, s.height = 1800,
         s.numbers.thousands = r.Pick({"", ","});
         if (r.Chance(0.4)) s.language = Language::kGerman, s.numbers = kGermanNumbers;
       }},
      {"tvane",
       [](SheetStyle& s, Random& r) {
         Turbine(s, r);
         s.has_vanes = true, s.speed_unit = "%", s.efficiency.color = r.Pick({QColor(Qt::black), QColor(180, 30, 30)}), s.grid = GridKind::kMajor;
       }},
      {"tflow",
       [](SheetStyle& s, Random& r) {
         Turbine(s, r);
         s.efficiency_place = EfficiencyPlace::kNone, s.flow_units = {"kg/s", "lb/min", "kg s-1 K0.5 kPa-1"}, s.reference_note_part = 1.0,
         s.numbers.thousands = ",";
       }},
  };
  return kStyles;
}

}  // namespace

std::vector<std::string> StyleNames() {
  std::vector<std::string> names;
  for (const auto& [name, change] : Styles()) names.push_back(name);
  return names;
}

bool IsStyle(const std::string& name) {
  const std::vector<std::string> names = StyleNames();
  return std::ranges::find(names, name) != names.end();
}

SheetStyle DrawStyle(const std::string& name, Random& random) {
  SheetStyle style;
  style.name = name;
  style.from_zero = random.Chance(0.7);
  style.ends_between_ticks = random.Chance(0.15);
  style.unit_at_top_label = random.Chance(0.25);
  style.unlabeled_part = random.Chance(0.15) ? 0.3 : 0.0;
  style.efficiency_unit = random.Chance(0.25) ? "%" : "1";
  for (const auto& [key, change] : Styles())
    if (key == name) change(style, random);
  // Whether speeds are in rpm must be said somewhere, by a note or at a label.
  if (style.speed_unit != "rpm") style.speed_note = true;
  style.font = FontFamily(style.font, random);
  return style;
}

QString FontFamily(const QString& kind, Random& random) {
  static const std::map<QString, QStringList> kFamilies = {
      {"sans", {"Liberation Sans", "Nimbus Sans", "DejaVu Sans", "Lato", "URW Gothic"}},
      {"serif", {"Liberation Serif", "Nimbus Roman", "DejaVu Serif", "C059", "P052", "URW Bookman"}},
      {"mono", {"Liberation Mono", "DejaVu Sans Mono", "Nimbus Mono PS"}},
      {"narrow", {"Liberation Sans Narrow", "Nimbus Sans Narrow", "DejaVu Sans Condensed", "DejaVu Sans"}},
  };
  const auto known = kFamilies.find(kind);
  const int draw = random.Whole(0, 5);
  if (known == kFamilies.end()) return kind;
  const QStringList installed = QFontDatabase::families();
  QStringList usable;
  for (const QString& family : known->second)
    if (installed.contains(family)) usable << family;
  if (usable.isEmpty()) return QStringLiteral("DejaVu Sans");
  return usable[draw % usable.size()];
}

}  // namespace islebook::paint
