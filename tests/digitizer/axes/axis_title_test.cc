#include "digitizer/axes/axis_title.h"

#include <gtest/gtest.h>

namespace islebook {
namespace {

struct TitleCase {
  const char* title;
  AxisMatter matter;
  const char* unit;          // "": none
  int total_to_static = -1;  // -1 not said, 0 total to total, 1 total to static
};

TEST(AxisTitle, WordingsAndMisreadings) {
  const TitleCase cases[] = {
      {"Corrected Air Flow (lb/min)", AxisMatter::kMassFlow, "lb/min"},
      {"Corrected Air Flow (Ib/min)", AxisMatter::kMassFlow, "lb/min"},
      {"Corrected Air Flow (ib/rnin)", AxisMatter::kMassFlow, "lb/min"},
      {"Corrected mass flow  [kg/s]", AxisMatter::kMassFlow, "kg/s"},
      {"Corrected mass flow, kg/h", AxisMatter::kMassFlow, "kg/h"},
      {"Corrected mass flow, kg/s", AxisMatter::kMassFlow, "kg/s"},
      {"Corrected volume flow V* (m³/s)", AxisMatter::kVolumeFlow, "m3/s"},
      {"Corrected volume flow V* (m?/s)", AxisMatter::kVolumeFlow, "m3/s"},
      {"Corrected volume flow V* (m/s)", AxisMatter::kVolumeFlow, "m3/s"},
      {"Mass flow corr. [kg/min]", AxisMatter::kMassFlow, "kg/min"},
      {"Corrected volume flow, CFM", AxisMatter::kVolumeFlow, "ft3/min"},
      {"Air flow ft³/min", AxisMatter::kVolumeFlow, "ft3/min"},
      {"Corrected Mass Flow Rate [lbm/s]", AxisMatter::kMassFlow, "lb/s"},
      {"Equivalent mass flow, lb/sec", AxisMatter::kMassFlow, "lb/s"},
      {"Corrected flow, Wc", AxisMatter::kFlow, ""},
      {"Massenstrom korrigiert [kg/s]", AxisMatter::kMassFlow, "kg/s"},
      {"reduzierter Volumenstrom in m³/s", AxisMatter::kVolumeFlow, "m3/s"},
      {"Débit massique corrigé (kg/s)", AxisMatter::kMassFlow, "kg/s"},
      {"Caudal másico corregido [kg/h]", AxisMatter::kMassFlow, "kg/h"},
      {"Portata massica corretta [kg/s]", AxisMatter::kMassFlow, "kg/s"},
      {"Pressure ratio", AxisMatter::kPressureRatio, ""},
      {"Pressure ratio, total to total", AxisMatter::kPressureRatio, "", 0},
      {"Pressure ratio (total to static)", AxisMatter::kPressureRatio, "", 1},
      {"Pressure ratio (t-s)", AxisMatter::kPressureRatio, "", 1},
      {"Total pressure ratio p2t/p1t [-]", AxisMatter::kPressureRatio, "1", 0},
      {"Pressure ratio p2/p1", AxisMatter::kPressureRatio, ""},
      {"Pressure ratio, PR", AxisMatter::kPressureRatio, ""},
      {"Pressurc rati0", AxisMatter::kPressureRatio, ""},
      {"Stage TPR [-]", AxisMatter::kPressureRatio, "1", 0},
      {"Druckverhältnis", AxisMatter::kPressureRatio, ""},
      {"Totaldruckverhältnis [-]", AxisMatter::kPressureRatio, "1"},
      {"Rapport de pression", AxisMatter::kPressureRatio, ""},
      {"Relación de presiones", AxisMatter::kPressureRatio, ""},
      {"Rapporto di compressione", AxisMatter::kPressureRatio, ""},
      {"Expansion ratio p3t/p4 (total to static)", AxisMatter::kExpansionRatio, "", 1},
      {"Expansion ratio p3t/p4 (total t0 static)", AxisMatter::kExpansionRatio, "", 1},
      {"Expansionsverhältnis t-s", AxisMatter::kExpansionRatio, "", 1},
      {"Taux de détente", AxisMatter::kExpansionRatio, ""},
      {"Equivalent inlet-total- to exit-total-pressure ratio", AxisMatter::kExpansionRatio, "", 0},
      {"Flow parameter  kg/s·√K/kPa", AxisMatter::kFlowParameter, "kg s-1 K0.5 kPa-1"},
      {"Flow parameter kg/s-VK/kPa", AxisMatter::kFlowParameter, "kg s-1 K0.5 kPa-1"},
      {"Flow parameter kg/s:vK/kPa", AxisMatter::kFlowParameter, "kg s-1 K0.5 kPa-1"},
      {"Flow parameter [kg K^0.5 / (s kPa)]", AxisMatter::kFlowParameter, "kg s-1 K0.5 kPa-1"},
      {"Efficiency (total to static)", AxisMatter::kEfficiency, "", 1},
      {"Efficiency [%]", AxisMatter::kEfficiency, "%"},
      {"Wirkungsgrad", AxisMatter::kEfficiency, ""},
      {"Rendement isentropique", AxisMatter::kEfficiency, ""},
      {"Blade speed ratio U/C0", AxisMatter::kVelocityRatio, ""},
  };
  for (const TitleCase& c : cases) {
    const TitleMeaning m = UnderstandTitle(c.title);
    EXPECT_EQ(AxisMatterName(m.matter), std::string(AxisMatterName(c.matter))) << c.title;
    EXPECT_EQ(m.unit, c.unit) << c.title;
    EXPECT_EQ(m.total_to_static ? (*m.total_to_static ? 1 : 0) : -1, c.total_to_static) << c.title;
  }
}

TEST(AxisTitle, ThingsNoPerformanceMapHas) {
  for (const char* title : {"Equivalent torque, N-m", "Equivalent torque, ft-lb", "Rotor-exit flow angle, deg", "Time (s)", "Voltage [V]",
                            "Equivalent specific work, J/kg", "Power [kW]", "Equivalent mass-flow - speed parameter, (kg)(rad)/sec",
                            "Drehmoment [Nm]", "Boost pressure (bar)", "Distance, mm"}) {
    const TitleMeaning m = UnderstandTitle(title);
    EXPECT_EQ(m.matter, AxisMatter::kOther) << title << " " << AxisMatterName(m.matter);
    EXPECT_FALSE(m.other.empty()) << title;
  }
}

TEST(AxisTitle, NothingFromNonsense) {
  for (const char* title : {"", "   ", "xqzt", "...", "wwww 12", "Fellside Rotors", "Alder 52"}) {
    EXPECT_EQ(UnderstandTitle(title).matter, AxisMatter::kUnknown) << title << " " << AxisMatterName(UnderstandTitle(title).matter);
  }
}

TEST(AxisTitle, PowersOfTen) {
  EXPECT_EQ(UnderstandTitle("Mass flow x 10^3 [kg/h]").power_of_ten, 3);
  EXPECT_EQ(UnderstandTitle("Mass flow ×10-3 (kg/s)").power_of_ten, -3);
  EXPECT_EQ(UnderstandTitle("Corrected mass flow [kg/s]").power_of_ten, 0);
  EXPECT_EQ(UnderstandTitle("Speed (rpm x 1000)").power_of_ten, 3);
}

TEST(AxisTitle, UnitsAlone) {
  EXPECT_EQ(MatchUnit("Ib/min")->unit, "lb/min");
  EXPECT_EQ(MatchUnit("kg / s")->unit, "kg/s");
  EXPECT_EQ(MatchUnit("m³/s")->unit, "m3/s");
  EXPECT_FALSE(MatchUnit("N-m"));
  EXPECT_FALSE(MatchUnit("ft-lb"));
}

}  // namespace
}  // namespace islebook
