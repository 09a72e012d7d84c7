#include "digitizer/axes/number_text.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

#include <fmt/format.h>

namespace islebook {
namespace {

struct LookAlike {
  const char* read;
  char meant;
};
constexpr LookAlike kLookAlikes[] = {{"O", '0'}, {"o", '0'}, {"Q", '0'}, {"D", '0'}, {"U", '0'}, {"l", '1'}, {"I", '1'}, {"|", '1'}, {"i", '1'},
                                     {"!", '1'}, {"]", '1'}, {"[", '1'}, {"S", '5'}, {"s", '5'}, {"B", '8'}, {"Z", '2'}, {"z", '2'}, {"G", '6'},
                                     {"b", '6'}, {"g", '9'}, {"q", '9'}, {"T", '7'}, {"A", '4'}, {"−", '-'}, {"–", '-'}, {"—", '-'}, {"~", '-'},
                                     {"·", '.'}, {"•", '.'}, {"‚", ','}, {"'", ','}, {"’", ','}, {"`", ','}, {":", '.'}, {";", ','}};

bool IsDigit(char c) { return c >= '0' && c <= '9'; }

std::string OnlyDigits(std::string_view text) {
  std::string out;
  for (char c : text) {
    if (IsDigit(c)) out += c;
  }
  return out;
}

// Pairs that small print makes alike; cost of taking one for the other.
double SubstitutionCost(char expected, char read) {
  if (expected == read) return 0.0;
  static constexpr std::array<const char*, 18> kPairs = {"06", "08", "09", "68", "38", "35", "56", "58", "17",
                                                         "14", "27", "41", "49", "89", "93", "53", "12", "47"};
  if ((expected == '.' && read == ',') || (expected == ',' && read == '.')) return 0.05;
  for (const char* pair : kPairs) {
    if ((pair[0] == expected && pair[1] == read) || (pair[1] == expected && pair[0] == read)) return 0.55;
  }
  if (!IsDigit(expected) || !IsDigit(read)) return 1.2;
  return 1.0;
}

double EditCost(const std::string& expected, const std::string& read) {
  const std::size_t n = expected.size(), m = read.size();
  std::vector<double> row(m + 1), next(m + 1);
  const auto lost = [&](std::size_t i) { return expected[i] == '.' ? 0.5 : expected[i] == '-' ? 0.7 : 1.0; };
  const auto extra = [&](std::size_t j) { return read[j] == '.' || read[j] == ',' ? 0.4 : read[j] == '-' ? 0.5 : 1.0; };
  for (std::size_t j = 1; j <= m; ++j) row[j] = row[j - 1] + extra(j - 1);
  for (std::size_t i = 0; i < n; ++i) {
    next[0] = row[0] + lost(i);
    for (std::size_t j = 0; j < m; ++j)
      next[j + 1] = std::min({row[j] + SubstitutionCost(expected[i], read[j]), row[j + 1] + lost(i), next[j] + extra(j)});
    std::swap(row, next);
  }
  return row[m];
}

void Add(std::vector<NumberCandidate>* out, double value, double weight) {
  if (!std::isfinite(value)) return;
  for (NumberCandidate& c : *out) {
    if (std::abs(c.value - value) <= 1e-9 * std::max(1.0, std::abs(value))) {
      c.weight = std::max(c.weight, weight);
      return;
    }
  }
  out->push_back({value, weight});
}

// "1,000" or "12 500" or "1.234.567": groups of three digits behind every separator. No number of thousands starts with a zero: "0,080" is a fraction.
bool LooksGrouped(const std::string& text, char separator) {
  const std::size_t first = text.find_first_of("0123456789");
  if (first != std::string::npos && text[first] == '0') return false;
  std::size_t last = std::string::npos, run = 0;
  bool any = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == separator) {
      if (last == std::string::npos ? (run < 1 || run > 3) : run != 3) return false;
      last = i;
      any = true;
      run = 0;
    } else if (IsDigit(text[i])) {
      ++run;
    } else if (text[i] != '-') {
      return false;
    }
  }
  return any && run == 3;
}

double Parse(const std::string& text) { return std::strtod(text.c_str(), nullptr); }

std::string Without(const std::string& text, char c) {
  std::string out = text;
  std::erase(out, c);
  return out;
}

std::string Replaced(std::string text, char from, char to) {
  std::replace(text.begin(), text.end(), from, to);
  return text;
}

// Readings of the text as plain decimal strings with a point, each with the weight of what it supposes.
std::vector<std::pair<std::string, double>> PlainForms(const NumberText& number) {
  const std::string text = Without(NormalizeNumber(number.text), ' ');
  const bool spaced = NormalizeNumber(number.text).find(' ') != std::string::npos;
  std::vector<std::pair<std::string, double>> out;
  if (OnlyDigits(text).empty()) return out;
  const auto commas = std::count(text.begin(), text.end(), ','), points = std::count(text.begin(), text.end(), '.');
  if (commas == 0 && points <= 1) out.push_back({text, spaced ? 0.95 : 1.0});
  if (commas == 1 && points == 0) out.push_back({Replaced(text, ',', '.'), LooksGrouped(text, ',') ? 0.8 : 1.0});
  if (commas >= 1 && points == 0) out.push_back({Without(text, ','), LooksGrouped(text, ',') ? 1.0 : 0.6});
  if (points >= 1 && commas == 0 && LooksGrouped(text, '.')) out.push_back({Without(text, '.'), points > 1 ? 1.0 : 0.5});
  if (commas >= 1 && points >= 1) {
    if (text.rfind(',') > text.rfind('.'))
      out.push_back({Replaced(Without(text, '.'), ',', '.'), 0.9});
    else
      out.push_back({Without(text, ','), 0.9});
  }
  if (out.empty()) out.push_back({OnlyDigits(text), 0.5});
  for (auto& form : out) {  // a point at either end: a blot or a lost digit
    if (form.first.size() > 1 && form.first.back() == '.') form.first.pop_back(), form.second *= 0.9;
  }
  // Where the point's blob was seen, it decides.
  const std::string digits = OnlyDigits(text);
  const bool minus = !text.empty() && text.front() == '-';
  if (number.digits_before_point) {
    const int k = *number.digits_before_point;
    if (k >= 0 && k < static_cast<int>(digits.size())) {
      std::string placed = digits;
      placed.insert(static_cast<std::size_t>(k), 1, '.');
      if (minus) placed.insert(0, 1, '-');
      bool same = false;
      for (auto& form : out) {
        if (form.first == placed)
          same = true;
        else
          form.second *= 0.75;
      }
      if (!same) out.push_back({placed, 0.92});
    }
  } else if (number.point_looked_for) {
    for (auto& form : out) {
      if (form.first.find('.') != std::string::npos) form.second *= 0.85;
    }
  }
  std::stable_sort(out.begin(), out.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
  return out;
}

}  // namespace

std::string NormalizeNumber(std::string_view text) {
  std::string out;
  int digits = 0, replaced = 0, dropped = 0;
  for (std::size_t i = 0; i < text.size();) {
    const char c = text[i];
    if (IsDigit(c)) {
      out += c;
      ++digits;
      ++i;
      continue;
    }
    if (c == '.' || c == ',' || c == '-' || c == ' ') {
      out += c;
      ++i;
      continue;
    }
    bool found = false;
    for (const LookAlike& alike : kLookAlikes) {
      const std::string_view read(alike.read);
      if (text.substr(i, read.size()) != read) continue;
      out += alike.meant;
      if (IsDigit(alike.meant)) ++replaced;
      i += read.size();
      found = true;
      break;
    }
    if (found) continue;
    ++dropped;
    const unsigned char lead = static_cast<unsigned char>(c);
    i += lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC0 ? 2 : 1;
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  while (!out.empty() && out.front() == ' ') out.erase(out.begin());
  while (out.size() > 1 && (out.back() == '-' || out.back() == ',')) out.pop_back();
  if (digits + replaced == 0) return {};
  if (digits == 0 && replaced > 0 && static_cast<std::size_t>(replaced) + dropped > 2) return {};  // a word, not a number
  if (dropped > digits + replaced || replaced > digits + 1) return {};
  return out;
}

std::string FormatNumber(double value, int decimals) {
  std::string out = fmt::format("{:.{}f}", value, std::max(0, decimals));
  if (!out.empty() && out.front() == '-' && OnlyDigits(out).find_first_not_of('0') == std::string::npos) out.erase(out.begin());
  return out;
}

std::vector<NumberCandidate> NumberCandidates(const NumberText& number) {
  std::vector<NumberCandidate> out;
  const std::string text = Without(NormalizeNumber(number.text), ' ');
  const std::string digits = OnlyDigits(text);
  if (digits.empty() || digits.size() > 9) return out;
  if (number.raised_digits > 0 && static_cast<int>(digits.size()) > number.raised_digits &&
      digits.substr(0, digits.size() - number.raised_digits) == "10") {
    const double exponent = Parse(digits.substr(digits.size() - number.raised_digits));
    const bool negative = text.find('-') != std::string::npos;
    Add(&out, std::pow(10.0, negative ? -exponent : exponent), 1.0);
  }
  for (const auto& [form, weight] : PlainForms(number)) Add(&out, Parse(form), weight * (number.raised_digits > 0 ? 0.7 : 1.0));
  const bool minus = !text.empty() && text.front() == '-';
  const double sign = minus ? -1.0 : 1.0;
  // A point that the reader lost, at every place; a zero read as a round digit.
  for (std::size_t k = 0; k < digits.size(); ++k) {
    std::string pointed = digits;
    pointed.insert(k, 1, '.');
    Add(&out, sign * Parse(pointed), 0.45);
  }
  Add(&out, sign * Parse(digits), 0.4);
  const std::string best = PlainForms(number).front().first;
  const std::size_t first = best.find_first_of("0123456789");
  if (first != std::string::npos && (best[first] == '6' || best[first] == '8' || best[first] == '9') && first + 1 < best.size()) {
    std::string zero = best;
    zero[first] = '0';
    Add(&out, Parse(zero), 0.4);
  }
  std::stable_sort(out.begin(), out.end(), [](const NumberCandidate& a, const NumberCandidate& b) { return a.weight > b.weight; });
  if (out.size() > 12) out.resize(12);
  return out;
}

double TextAgreement(const NumberText& number, const std::string& expected) {
  const std::vector<std::pair<std::string, double>> forms = PlainForms(number);
  if (forms.empty()) return 0.0;
  double best = -0.6;
  if (number.raised_digits > 0) {
    for (const NumberCandidate& c : NumberCandidates(number)) {
      const double value = Parse(expected);
      if (c.weight >= 1.0 && std::abs(c.value - value) < 1e-6 * std::abs(value)) return 1.0;
    }
  }
  for (const auto& [form, weight] : forms) {
    // A leading zero may be left out in print (".05").
    double cost = EditCost(expected, form);
    if (expected.size() > 1 && expected[0] == '0' && expected[1] == '.' && form[0] == '.')
      cost = std::min(cost, 0.1 + EditCost(expected.substr(1), form));
    best = std::max(best, weight - 1.5 * cost / static_cast<double>(std::max<std::size_t>(expected.size(), 2)));
  }
  if (number.guessed && best > 0.0) best *= 0.8;
  return best;
}

}  // namespace islebook
