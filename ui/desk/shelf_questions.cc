#include "ui/desk/shelf_questions.h"

#include <charconv>
#include <string_view>

#include <fmt/format.h>

namespace islebook {
namespace {

std::optional<double> Number(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc() && end == text.data() + text.size() ? std::optional(value) : std::nullopt;
}

}  // namespace

Result<double> ReadFraction(const std::string& text, const char* word) {
  const std::size_t percent = text.find('%');
  const std::optional<double> value = Number(std::string_view(text).substr(0, percent));
  if (!value || (percent != std::string::npos && percent + 1 != text.size()))
    return Fail(ErrorCode::kInvalidArgument, fmt::format("the {} is a number such as 0.15 or 15 %.", word), text);
  return percent == std::string::npos ? *value : *value / 100.0;
}

Result<void> ReadSizeSpan(const std::string& text, const char* word, std::optional<double>& least, std::optional<double>& most) {
  if (text.empty()) return {};
  const std::size_t dots = text.find("..");
  bool good = true;
  if (dots == std::string::npos) {
    const std::optional<double> value = Number(text);
    good = value.has_value();
    if (good) {
      least = *value - 0.05;
      most = *value + 0.05;
    }
  } else {
    const std::string low = text.substr(0, dots), high = text.substr(dots + 2);
    if (!low.empty()) least = Number(low);
    if (!high.empty()) most = Number(high);
    good = (low.empty() || least) && (high.empty() || most) && (least || most);
  }
  if (good) return {};
  return Fail(ErrorCode::kInvalidArgument, fmt::format("the {} is a size in mm or a span such as 50..60.", word), text);
}

Result<QuestionUnits> StandardPointUnits(const std::string& reference) {
  PerformanceMap standard;
  standard.kind = MapKind::kCompressor;
  standard.x = Axis{Quantity::kCorrectedMassFlow, "kg/s", AxisScale::kLinear, 0, 1};
  standard.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1, 2};
  standard.reference_conditions = ReferenceConditions{288.15, 101325.0, ReferenceConditions::Basis::kAssumed};
  std::optional<ReferenceConditions> given;
  if (!reference.empty()) {
    const Result<ReferenceConditions> read = ParseReferenceArgument(reference);
    if (!read) return std::unexpected(read.error());
    given = *read;
  }
  return QuestionUnits::For(standard, given);
}

}  // namespace islebook
