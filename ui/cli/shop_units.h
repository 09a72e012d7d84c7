#pragma once
// Numbers in the units a shop is used to, and tables of them as text.

#include <algorithm>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "mapstore/bench/bench_case.h"

namespace islebook {

// Numbers in the shop's units.
class Shop {
 public:
  explicit Shop(UnitHabit habit) : us_(habit == UnitHabit::kUs) {}
  std::string Pressure(double pascal) const {
    return us_ ? fmt::format("{:.1f} psi", pascal / 6894.757293168) : fmt::format("{:.3f} bar", pascal / 1e5);
  }
  std::string Drop(double pascal) const { return us_ ? fmt::format("{:.2f} psi", pascal / 6894.757293168) : fmt::format("{:.1f} kPa", pascal / 1e3); }
  std::string Temperature(double kelvin) const {
    return us_ ? fmt::format("{:.0f} °F", kelvin * 1.8 - 459.67) : fmt::format("{:.0f} °C", kelvin - 273.15);
  }
  std::string Flow(double kg_s) const { return us_ ? fmt::format("{:.4g} lb/min", kg_s * 60 / 0.45359237) : fmt::format("{:.4g} kg/s", kg_s); }
  std::string Fuel(double kg_s) const { return us_ ? fmt::format("{:.4g} lb/h", kg_s * 3600 / 0.45359237) : fmt::format("{:.4g} kg/h", kg_s * 3600); }
  std::string Power(double watt) const { return us_ ? fmt::format("{:.4g} hp", watt / 745.699872) : fmt::format("{:.4g} kW", watt / 1e3); }
  std::string Volume(double m3) const { return us_ ? fmt::format("{:.4g} in3", m3 / 1.6387064e-5) : fmt::format("{:.4g} L", m3 * 1e3); }
  std::string Consumption(double kg_J) const {
    return us_ ? fmt::format("{:.3g} lb/(hp h)", kg_J * 745.699872 * 3600 / 0.45359237) : fmt::format("{:.4g} g/kWh", kg_J * 3.6e9);
  }

 private:
  bool us_;
};

// Columns as wide as their widest cell; the first is left-aligned, the rest right-aligned.
class Table {
 public:
  void Add(std::vector<std::string> cells) { rows_.push_back(std::move(cells)); }
  std::string Draw(const char* indent = "  ") const {
    std::vector<std::size_t> widths;
    for (const auto& row : rows_) {
      widths.resize(std::max(widths.size(), row.size()), 0);
      for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], Letters(row[i]));
    }
    std::string out;
    for (const auto& row : rows_) {
      std::string line = indent;
      for (std::size_t i = 0; i < row.size(); ++i) {
        const std::string pad(widths[i] - Letters(row[i]), ' ');
        line += i == 0 ? row[i] + pad : "  " + pad + row[i];
      }
      line.erase(line.find_last_not_of(' ') + 1);
      out += line + "\n";
    }
    return out;
  }

 private:
  static std::size_t Letters(const std::string& text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
  }
  std::vector<std::vector<std::string>> rows_;
};

}  // namespace islebook
