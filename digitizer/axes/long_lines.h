#pragma once
// Long, nearly straight lines of a sheet, joined from ridge chains across crossings and small gaps: sides of frames, grid lines, scale lines.
// Pages curl and lenses bend, so a line may bow smoothly; it may turn by 13 degrees in all.

#include <vector>

#include "digitizer/page/page.h"
#include "digitizer/ridges/ridges.h"
#include "digitizer/sheet/points.h"

namespace islebook {

struct LongLineOptions {
  double min_length_px = 60.0;
  double longer_side_px = 2000.0;  // of the picture, the yardstick of gaps
  double max_turn_deg = 13.0;
  double family_deg = 22.0;  // lines of one family lie within this of its main direction
};

struct LongLine {
  bool horizontal = true;                   // of the family nearer to the picture's rows
  std::vector<ImagePoint> points;           // in order: left to right, or top to bottom
  std::vector<int> chains;                  // the chains it is made of (others may run on it too)
  std::vector<double> polynomial;           // across = sum c_i s^i, s = (along - middle) / half, in the family's turned axes
  double along_from = 0.0, along_to = 0.0;  // extent in the family's turned axes, px
  double ink_px = 0.0;                      // length covered by ink
  double ink_mass = 0.0;                    // median of its chains
  double Length() const { return along_to - along_from; }
};

// Turned axes of a family: along = x cos a + y sin a, across = -x sin a + y cos a.
struct LongLineFamily {
  double angle_rad = 0.0;
  double Along(ImagePoint p) const;
  double Across(ImagePoint p) const;
  ImagePoint At(double along, double across) const;
};

struct LongLines {
  LongLineFamily rows, columns;  // columns: along points down the picture
  std::vector<LongLine> lines;   // longest first
  bool found = false;            // a dominant direction exists
  // Place across the family at `along`, extrapolated straight beyond the ends.
  double AcrossAt(const LongLine& line, double along) const;
  ImagePoint PointAt(const LongLine& line, double along) const;
  const LongLineFamily& FamilyOf(const LongLine& line) const { return line.horizontal ? rows : columns; }
  // Where two lines of different families meet (or would, run on).
  ImagePoint Meet(const LongLine& row, const LongLine& column) const;
};

LongLines FindLongLines(const RidgesFound& ridges, const Page& page, const LongLineOptions& options);

}  // namespace islebook
