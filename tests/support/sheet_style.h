#pragma once
// How a sheet is drawn: everything that differs from one maker's brochure to the next. Lengths in page units (pixels at scale 1).

#include <string>
#include <vector>

#include <QColor>
#include <QString>

#include "mapstore/map/performance_map.h"
#include "tests/support/random.h"
#include "tests/support/sheet_words.h"

namespace islebook::paint {

enum class FrameShape { kBox, kBareL, kNone };
enum class TickSide { kInside, kOutside, kAcross, kNone };
enum class GridKind {
  kNone,
  kMajor,
  kMajorDotted,
  kMajorDashed,
  kFine,
  kPaper,
  kRows
};  // kPaper: printed millimeter paper; kRows: level lines alone
enum class SurgeLook { kThick, kHatched, kDashed, kPlain, kNone };
enum class Dash { kSolid, kDashed, kDotted, kDashDot };
enum class LabelLook { kOnPad, kBoxed, kTurned, kTurnedBeside, kNone };
enum class SpeedLabelAt { kEnd, kInline, kStart };
enum class Marker { kNone, kRing, kDisc, kSquare, kCross };
enum class EfficiencyPlace { kNone, kSecondAxis, kPanel };

struct LineLook {
  double width = 2.0;
  QColor color = Qt::black;
  Dash dash = Dash::kSolid;
};

struct SheetStyle {
  std::string name;
  MapKind kind = MapKind::kCompressor;
  bool has_vanes = false;
  int charts = 1;
  int width = 1600, height = 1200;
  QColor paper = Qt::white, ink = Qt::black;
  QColor ground;  // of the plot alone, where it is unlike the paper

  QString font = "sans";  // sans, serif, mono, narrow, or a family
  bool bold_print = false, slanted_title = false;
  double tick_size = 20, title_size = 22, head_size = 30, label_size = 18;

  Language language = Language::kEnglish;
  NumberForm numbers;

  FrameShape frame = FrameShape::kBox;
  double frame_width = 2.0;
  TickSide ticks = TickSide::kOutside;
  bool minor_ticks = true;
  bool x_numbers_on_end = false, y_numbers_on_end = false;  // turned to run up the page
  bool numbers_on_right = false;                            // the y numbers again on the right side
  bool second_x_unit = false;                               // another flow unit along the top
  bool upright_y_title = false;                             // above the axis instead of turned
  bool ends_between_ticks = false;
  bool log_x = false;
  bool from_zero = true;  // flow axis
  GridKind grid = GridKind::kMajor;
  QColor grid_color = QColor(200, 200, 200);
  double grid_width = 1.0;

  LineLook speed, island{1.4, Qt::black, Dash::kSolid}, efficiency{2.0, Qt::black, Dash::kDashed};
  bool island_colors = false;  // each level its own color
  bool bands = false;          // filled between the islands
  SurgeLook surge = SurgeLook::kThick;
  LineLook surge_line{4.0, Qt::black, Dash::kSolid};
  bool choke_line = false;
  LineLook choke{1.6, Qt::black, Dash::kDashed};
  Marker markers = Marker::kNone;

  LabelLook island_labels = LabelLook::kOnPad;
  bool color_labels = true;  // labels take their curve's color
  SpeedLabelAt speed_labels = SpeedLabelAt::kEnd;
  LabelLook speed_label_look = LabelLook::kOnPad;
  double unlabeled_part = 0.0;     // of the speed lines
  std::string speed_unit = "rpm";  // rpm krpm % m/s
  std::string efficiency_unit = "1";
  bool percent_sign = true;
  bool unit_at_top_label = false;
  bool speed_note = false;
  bool legend = false;
  double reference_note_part = 0.7;     // how often the reference conditions are printed
  bool head = true, furniture = false;  // title; page number, maker's line and such

  std::vector<std::string> flow_units{"kg/s", "lb/min"};
  EfficiencyPlace efficiency_place = EfficiencyPlace::kSecondAxis;
};

// Names of all styles; each is a base with its own random variation.
std::vector<std::string> StyleNames();
bool IsStyle(const std::string& name);
SheetStyle DrawStyle(const std::string& name, Random& random);

// First installed family of the kind.
QString FontFamily(const QString& kind, Random& random);

}  // namespace islebook::paint
