#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "digitizer/axes/panel_axes.h"

namespace islebook {
namespace {

bool IsFlow(AxisMatter m) {
  return m == AxisMatter::kMassFlow || m == AxisMatter::kVolumeFlow || m == AxisMatter::kFlow || m == AxisMatter::kFlowParameter;
}
bool IsRatio(AxisMatter m) { return m == AxisMatter::kPressureRatio || m == AxisMatter::kExpansionRatio; }

enum class Machine { kUnknown, kCompressor, kTurbine };

AxisMatter MatterOf(const std::optional<SideAxis>& axis, const SideTitle& title) {
  const TitleMeaning& m = axis && axis->title.meaning.matter != AxisMatter::kUnknown ? axis->title.meaning : title.meaning;
  return m.confidence > 0.0 ? m.matter : AxisMatter::kUnknown;
}

Quantity QuantityOf(AxisMatter matter, Machine machine, const TitleMeaning& title) {
  switch (matter) {
    case AxisMatter::kVolumeFlow: return Quantity::kCorrectedVolumeFlow;
    case AxisMatter::kFlowParameter: return Quantity::kTurbineFlowParameter;
    case AxisMatter::kPressureRatio:
      return title.total_to_static.value_or(false) ? Quantity::kPressureRatioTotalToStatic : Quantity::kPressureRatioTotalToTotal;
    case AxisMatter::kExpansionRatio:
      return title.total_to_static.value_or(true) ? Quantity::kExpansionRatioTotalToStatic : Quantity::kExpansionRatioTotalToTotal;
    case AxisMatter::kEfficiency:
      return title.total_to_static.value_or(machine == Machine::kTurbine) ? Quantity::kEfficiencyTotalToStatic : Quantity::kEfficiencyTotalToTotal;
    case AxisMatter::kSpeed: return Quantity::kCorrectedSpeed;
    case AxisMatter::kVelocityRatio: return Quantity::kVelocityRatio;
    default: return Quantity::kCorrectedMassFlow;
  }
}

// A unit for a flow axis that prints none, from its size.
std::string LikelyFlowUnit(AxisMatter matter, double high) {
  if (matter == AxisMatter::kVolumeFlow) return high < 20.0 ? "m3/s" : high < 200.0 ? "m3/min" : "ft3/min";
  return high <= 3.0 ? "kg/s" : high < 400.0 ? "lb/min" : "kg/h";
}

void Settle(SideAxis* axis, AxisMatter matter, Machine machine, bool quantity_read, const char* name) {
  AxisFit& fit = axis->fit;
  const TitleMeaning& title = axis->title.meaning;
  fit.axis.quantity = QuantityOf(matter, machine, title);
  fit.quantity_read = quantity_read;
  if (!quantity_read)
    fit.doubts.push_back(fmt::format("what the {} axis shows was not read; {} is assumed", name, AxisMatterName(matter)));
  else if (title.confidence < 0.5 && title.matter == matter)
    fit.doubts.push_back(fmt::format("the title of the {} axis was hard to read (\"{}\")", name, axis->title.text));
  const double high = std::max(std::abs(fit.axis.min), std::abs(fit.axis.max));
  const bool fits = !title.unit.empty() && UnitFits(matter, title.unit);
  if (fits) {
    fit.axis.unit = title.unit;
    fit.unit_read = true;
    if (title.unit_confidence < 0.6) fit.doubts.push_back(fmt::format("the unit of the {} axis was hard to read; {} is likely", name, title.unit));
  } else if (IsFlow(matter)) {
    fit.axis.unit = matter == AxisMatter::kFlowParameter ? "kg s-1 K0.5 kPa-1" : LikelyFlowUnit(matter, high);
    fit.doubts.push_back(title.strange_unit.empty() ? fmt::format("no unit was read on the {} axis; {} is assumed", name, fit.axis.unit)
                                                    : fmt::format("the unit of the {} axis (\"{}\") is not one of a map; {} is assumed", name,
                                                                  title.strange_unit, fit.axis.unit));
  } else if (matter == AxisMatter::kSpeed) {
    fit.axis.unit = high > 1000 ? "rpm" : "krpm";
    fit.doubts.push_back(fmt::format("no unit was read on the {} axis; {} is assumed", name, fit.axis.unit));
  } else {
    fit.axis.unit = "1";
  }
  if (matter == AxisMatter::kEfficiency) {
    // The numbers themselves say per cent or fraction.
    const std::string by_range = high > 1.5 ? "%" : "1";
    if (fit.unit_read && fit.axis.unit != by_range)
      fit.doubts.push_back(fmt::format("the {} axis says {} but runs to {:g}", name, fit.axis.unit == "%" ? "per cent" : "a fraction", high));
    fit.axis.unit = by_range;
  }
  if (fit.axis.unit == "1") fit.unit_read = true;
  const double likely = RangeLikelihood(matter, fit.axis.unit, fit.axis.min, fit.axis.max);
  const bool said =
      std::any_of(fit.doubts.begin(), fit.doubts.end(), [](const std::string& d) { return d.find("is unusual for this axis") != std::string::npos; });
  if (likely < -0.35 && !said)
    fit.doubts.push_back(
        fmt::format("{:g} to {:g} {} is unusual for the {} axis ({})", fit.axis.min, fit.axis.max, fit.axis.unit, name, AxisMatterName(matter)));
  if (!fit.doubts.empty()) fit.confidence = std::min(fit.confidence, 0.6);
}

bool SameRange(const AxisFit& a, const AxisFit& b) {
  const double span = std::max(1e-12, std::abs(a.axis.max - a.axis.min));
  return a.axis.scale == b.axis.scale && std::abs(a.axis.min - b.axis.min) < 0.01 * span && std::abs(a.axis.max - b.axis.max) < 0.01 * span;
}

// Do two plots stand one above the other, side in line with side and tick in line with tick? Then the numbers along one are those of both.
bool InLine(const PanelReading& a, const PanelReading& b) {
  const std::array<ImagePoint, 4> p = a.frame.Corners(), q = b.frame.Corners();
  const double width = a.frame.WidthPx();
  // The sides of the one carried on to the other.
  for (const auto& [top, bottom] : {std::pair{0, 3}, std::pair{1, 2}}) {
    const double dx = p[bottom].x - p[top].x, dy = p[bottom].y - p[top].y;
    for (const int end : {top, bottom}) {
      const double away = ((q[end].x - p[top].x) * dy - (q[end].y - p[top].y) * dx) / std::max(1.0, std::hypot(dx, dy));
      if (std::abs(away) > 0.004 * width + 1.0) return false;
    }
  }
  const auto places = [](const PanelReading& r) {
    std::vector<double> t;
    for (const auto* marks : {&r.marks.grid_u, &r.marks.ticks[kBottom], &r.marks.ticks[kTop]})
      for (const Mark& m : *marks)
        if (m.t > 0.02 && m.t < 0.98) t.push_back(m.t);
    return t;
  };
  const std::vector<double> here = places(a), there = places(b);
  const auto met =
      std::ranges::count_if(here, [&](double t) { return std::ranges::any_of(there, [&](double o) { return std::abs(o - t) < 0.003; }); });
  return met >= 3 && 10 * met >= 7 * static_cast<long>(here.size());
}

}  // namespace

std::vector<std::string> SettleQuantities(std::vector<PanelReading>* panels) {
  // A plot above another may leave the numbers along their common axis to it.
  for (std::size_t i = 0; i < panels->size(); ++i) {
    PanelReading& p = (*panels)[i];
    if (p.x || !p.y) continue;
    for (const PanelReading& other : *panels) {
      if (&other == &p || !other.x || other.x->fit.numbers_used < 3 || !InLine(p, other)) continue;
      p.x = other.x;
      p.x_title = other.x_title;
      break;
    }
  }
  std::vector<std::string> doubts;
  // What every axis says, with what the other panels lend it.
  Machine machine = Machine::kUnknown;
  bool turbine_signs = false, compressor_signs = false;
  struct Matters {
    AxisMatter x = AxisMatter::kUnknown, y = AxisMatter::kUnknown, right = AxisMatter::kUnknown;
    bool x_read = true, y_read = true, right_read = true;
  };
  std::vector<Matters> matters(panels->size());
  for (std::size_t i = 0; i < panels->size(); ++i) {
    PanelReading& p = (*panels)[i];
    matters[i] = {MatterOf(p.x, p.x_title), MatterOf(p.y, p.y_title), MatterOf(p.right, p.right_title)};
    for (const SideTitle* t : {&p.x_title, &p.y_title, &p.right_title}) {
      turbine_signs = turbine_signs || t->meaning.turbine_signs;
      compressor_signs = compressor_signs || t->meaning.compressor_signs;
    }
  }
  for (std::size_t i = 0; i < panels->size(); ++i) {
    PanelReading& p = (*panels)[i];
    if (matters[i].x != AxisMatter::kUnknown || !p.x) continue;
    for (std::size_t k = 0; k < panels->size(); ++k) {
      const PanelReading& other = (*panels)[k];
      if (k == i || matters[k].x == AxisMatter::kUnknown || !other.x) continue;
      // Panels that share their x axis stand one above the other.
      const std::array<ImagePoint, 4> a = p.frame.Corners(), b = other.frame.Corners();
      const double width = p.frame.WidthPx();
      if (std::abs(a[3].x - b[3].x) < 0.08 * width && std::abs(a[2].x - b[2].x) < 0.08 * width && SameRange(p.x->fit, other.x->fit)) {
        matters[i].x = matters[k].x;
        p.x->title = other.x->title;
        p.x->fit.title = other.x->fit.title;
        break;
      }
    }
  }
  for (const Matters& m : matters) {
    if (m.x == AxisMatter::kExpansionRatio || m.y == AxisMatter::kExpansionRatio || m.y == AxisMatter::kFlowParameter ||
        m.x == AxisMatter::kFlowParameter || m.x == AxisMatter::kVelocityRatio)
      machine = Machine::kTurbine;
    if (machine == Machine::kUnknown && m.x == AxisMatter::kPressureRatio && (IsFlow(m.y) || m.y == AxisMatter::kEfficiency))
      machine = Machine::kTurbine;
    if (machine == Machine::kUnknown && IsFlow(m.x) && m.y == AxisMatter::kPressureRatio) machine = Machine::kCompressor;
  }
  if (machine == Machine::kUnknown)
    machine = turbine_signs && !compressor_signs ? Machine::kTurbine : compressor_signs && !turbine_signs ? Machine::kCompressor : Machine::kUnknown;

  for (std::size_t i = 0; i < panels->size(); ++i) {
    PanelReading& p = (*panels)[i];
    Matters& m = matters[i];
    // A flow against a pressure ratio drawn the turbine's way is an expansion ratio.
    if (machine == Machine::kTurbine) {
      if (m.x == AxisMatter::kPressureRatio) m.x = AxisMatter::kExpansionRatio;
      if (m.y == AxisMatter::kPressureRatio) m.y = AxisMatter::kExpansionRatio;
    }
    // What was not read is assumed from its partner, and said.
    if (m.x == AxisMatter::kUnknown && p.x) {
      m.x_read = false;
      if (m.y == AxisMatter::kPressureRatio)
        m.x = AxisMatter::kMassFlow;
      else if (IsFlow(m.y) || (m.y == AxisMatter::kEfficiency && machine == Machine::kTurbine))
        m.x = AxisMatter::kExpansionRatio;
    }
    if (m.y == AxisMatter::kUnknown && p.y) {
      m.y_read = false;
      const double high = std::max(p.y->fit.axis.min, p.y->fit.axis.max), low = std::min(p.y->fit.axis.min, p.y->fit.axis.max);
      if (IsFlow(m.x) && RangeLikelihood(AxisMatter::kPressureRatio, "1", low, high) > -0.3)
        m.y = AxisMatter::kPressureRatio;
      else if (m.x == AxisMatter::kExpansionRatio)
        m.y = RangeLikelihood(AxisMatter::kEfficiency, "", low, high) > -0.1 && high > 0.3 ? AxisMatter::kEfficiency : AxisMatter::kFlowParameter;
    }
    if (m.right == AxisMatter::kUnknown && p.right && !p.right->mirrored) {
      m.right_read = false;
      const double high = p.right->fit.axis.max, low = p.right->fit.axis.min;
      if (machine == Machine::kTurbine && RangeLikelihood(AxisMatter::kEfficiency, "", low, high) > -0.3) m.right = AxisMatter::kEfficiency;
    }
    const auto settle = [&](std::optional<SideAxis>& axis, AxisMatter matter, bool read, const char* name) {
      if (!axis) return;
      if (matter == AxisMatter::kOther || matter == AxisMatter::kUnknown) {
        if (matter == AxisMatter::kOther)
          doubts.push_back(fmt::format("the {} axis shows {} (\"{}\"), which neither a compressor map nor a turbine map has", name,
                                       axis->title.meaning.other, axis->title.text));
        else
          doubts.push_back(fmt::format("what the {} axis shows could not be read{}", name,
                                       axis->title.text.empty() ? "" : fmt::format(" (\"{}\")", axis->title.text)));
        axis->fit.confidence = std::min(axis->fit.confidence, 0.2);
        axis.reset();
        return;
      }
      Settle(&*axis, matter, machine, read, name);
    };
    settle(p.x, m.x, m.x_read, "x");
    settle(p.y, m.y, m.y_read, "y");
    if (p.right && (p.right->mirrored || m.right == AxisMatter::kUnknown || m.right == AxisMatter::kOther)) p.right.reset();
    settle(p.right, m.right, m.right_read, "right");
    // A pair of axes that no map has.
    if (p.x && p.y) {
      const bool compressor = IsFlow(m.x) && IsRatio(m.y);
      const bool turbine = (IsRatio(m.x) || m.x == AxisMatter::kVelocityRatio) && (IsFlow(m.y) || m.y == AxisMatter::kEfficiency);
      const bool swapped = IsFlow(m.x) && m.y == AxisMatter::kEfficiency;
      const bool swapped_turbine = IsFlow(m.x) && m.y == AxisMatter::kExpansionRatio;
      if (!compressor && !turbine && !swapped && !swapped_turbine)
        doubts.push_back(fmt::format("{} against {} is neither a compressor map nor a turbine map", AxisMatterName(m.y), AxisMatterName(m.x)));
    }
  }
  return doubts;
}

}  // namespace islebook
