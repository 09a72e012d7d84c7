// A compressor surface as bytes and back: what takes long to find (smoothed lines, the efficiency sheet) is kept, what follows from it quickly is made again.

#include <algorithm>

#include "mapstore/surface/compressor_surface_impl.h"
#include "mapstore/surface/packed_bytes.h"

namespace islebook {
namespace {

constexpr std::size_t kMostKnots = 100000, kMostLines = 1000, kMostText = 100000;

bool Ascending(const std::vector<double>& values) { return std::adjacent_find(values.begin(), values.end(), std::greater_equal<>()) == values.end(); }

// Flags of 0 and 1, eight a byte.
std::vector<std::uint8_t> Bits(const std::vector<std::uint8_t>& flags) {
  std::vector<std::uint8_t> bits((flags.size() + 7) / 8);
  for (std::size_t i = 0; i < flags.size(); ++i) bits[i / 8] |= static_cast<std::uint8_t>((flags[i] != 0 ? 1 : 0) << (i % 8));
  return bits;
}

std::vector<std::uint8_t> Flags(const std::vector<std::uint8_t>& bits) {
  std::vector<std::uint8_t> flags(8 * bits.size());
  for (std::size_t i = 0; i < flags.size(); ++i) flags[i] = (bits[i / 8] >> (i % 8)) & 1;
  return flags;
}

}  // namespace

void HermiteCurve::Pack(PackedWriter& to) const {
  to.PutMany(x_);
  to.PutMany(y_);
  to.PutMany(slopes_);
}

HermiteCurve HermiteCurve::Unpack(PackedReader& from) {
  std::vector<double> x = from.GetMany<double>(kMostKnots), y = from.GetMany<double>(kMostKnots), slopes = from.GetMany<double>(kMostKnots);
  if (x.size() != y.size() || x.size() != slopes.size() || x.size() == 1 || !Ascending(x)) from.Fail();
  if (!from.good() || x.empty()) return {};
  return HermiteCurve(std::move(x), std::move(y), std::move(slopes));
}

void SurgeCurve::Pack(PackedWriter& to) const {
  flow_at_head_.Pack(to);
  to.Put(sigma_flow_);
}

SurgeCurve SurgeCurve::Unpack(PackedReader& from) {
  SurgeCurve curve;
  curve.flow_at_head_ = HermiteCurve::Unpack(from);
  curve.sigma_flow_ = from.Get<double>();
  return curve;
}

void LineFamily::Pack(PackedWriter& to) const {
  for (const double value : {max_speed_, head_share_, head_weight_}) to.Put(value);
  to.Put(static_cast<std::int32_t>(intervals_));
  surge_.Pack(to);
  to.Put(static_cast<std::uint32_t>(members_.size()));
  for (const Member& member : members_) {
    for (const double value : {member.n, member.surge_flow, member.surge_head, member.width, member.end}) to.Put(value);
    to.PutMany(member.bulge);
  }
}

LineFamily LineFamily::Unpack(PackedReader& from) {
  LineFamily family;
  family.max_speed_ = from.Get<double>();
  family.head_share_ = from.Get<double>();
  family.head_weight_ = from.Get<double>();
  family.intervals_ = from.Get<std::int32_t>();
  family.surge_ = SurgeCurve::Unpack(from);
  const std::size_t lines = from.Get<std::uint32_t>();
  if (!(family.max_speed_ > 0.0) || !(family.head_weight_ > 0.0) || family.intervals_ < 8 || family.intervals_ > 200 || lines < 2 ||
      lines > kMostLines)
    from.Fail();
  for (std::size_t i = 0; i < lines && from.good(); ++i) {
    Member member;
    member.n = from.Get<double>();
    member.surge_flow = from.Get<double>();
    member.surge_head = from.Get<double>();
    member.width = from.Get<double>();
    member.end = from.Get<double>();
    member.bulge = from.GetMany<double>(201);
    if (member.bulge.size() != static_cast<std::size_t>(family.intervals_) + 1 || !(member.n > (i > 0 ? family.members_.back().n : 0.0))) from.Fail();
    family.members_.push_back(std::move(member));
  }
  if (!from.good()) return {};
  family.Interpolate();
  return family;
}

void EfficiencyField::Pack(PackedWriter& to) const {
  to.PutMany(coefficients_);
  to.PutMany(levels_);
  to.Put(peak_start_);
  to.Put(peak_room_);
  to.PutMany(sigma_);
  to.PutMany(Bits(extrapolated_));
  to.PutMany(Bits(doubtful_));
}

EfficiencyField EfficiencyField::Unpack(PackedReader& from) {
  EfficiencyField field;
  field.coefficients_ = from.GetMany<double>(kCoefficients);
  field.levels_ = from.GetMany<double>(kMostLines);
  field.peak_start_ = from.Get<double>();
  field.peak_room_ = from.Get<double>();
  field.sigma_ = from.GetMany<float>(kSigmas);
  field.extrapolated_ = Flags(from.GetMany<std::uint8_t>(kFlags / 8));
  field.doubtful_ = Flags(from.GetMany<std::uint8_t>(kFlags / 8));
  const auto none_or_all = [](std::size_t size, std::size_t all) { return size == 0 || size == all; };
  if (!none_or_all(field.coefficients_.size(), kCoefficients) || !none_or_all(field.sigma_.size(), kSigmas) ||
      !none_or_all(field.extrapolated_.size(), kFlags) || !none_or_all(field.doubtful_.size(), kFlags) ||
      (!field.coefficients_.empty() && field.levels_.empty()) || !(field.peak_room_ > 0.0))
    from.Fail();
  return from.good() ? field : EfficiencyField();
}

std::string CompressorSurface::Pack() const {
  PackedWriter to;
  to.Put(kPackedVersion);
  to.PutMany(impl_->line_speeds);
  to.PutMany(impl_->line_flagged);
  to.PutText(impl_->speed_unit);
  to.Put(static_cast<std::uint32_t>(impl_->notes.size()));
  for (const std::string& note : impl_->notes) to.PutText(note);
  const int flags = (impl_->surge_printed ? 1 : 0) | (impl_->choke_printed ? 2 : 0) | (impl_->table.folds() ? 4 : 0);
  to.Put(static_cast<std::uint8_t>(flags));
  to.Put(static_cast<std::int32_t>(impl_->rows_between));
  for (const double value : {impl_->lowest, impl_->highest, impl_->surge_flow_sigma}) to.Put(value);
  impl_->family.Pack(to);
  impl_->efficiency.Pack(to);
  const std::uint64_t sum = SumOf(to.bytes());
  to.Put(sum);
  return std::move(to.bytes());
}

std::optional<CompressorSurface> CompressorSurface::Unpack(std::string_view bytes) {
  if (bytes.size() < 1 + sizeof(std::uint64_t)) return std::nullopt;
  const std::string_view body = bytes.substr(0, bytes.size() - sizeof(std::uint64_t));
  if (PackedReader(bytes.substr(body.size())).Get<std::uint64_t>() != SumOf(body)) return std::nullopt;
  PackedReader from(body);
  if (from.Get<std::uint8_t>() != kPackedVersion) return std::nullopt;
  auto impl = std::make_shared<Impl>();
  impl->line_speeds = from.GetMany<double>(kMostLines);
  impl->line_flagged = from.GetMany<char>(kMostLines);
  impl->speed_unit = from.GetText(kMostText);
  const std::size_t notes = from.Get<std::uint32_t>();
  for (std::size_t i = 0; i < notes && from.good(); ++i) impl->notes.push_back(from.GetText(kMostText));
  const int flags = from.Get<std::uint8_t>();
  impl->surge_printed = (flags & 1) != 0;
  impl->choke_printed = (flags & 2) != 0;
  impl->rows_between = from.Get<std::int32_t>();
  impl->lowest = from.Get<double>();
  impl->highest = from.Get<double>();
  impl->surge_flow_sigma = from.Get<double>();
  impl->family = LineFamily::Unpack(from);
  impl->efficiency = EfficiencyField::Unpack(from);
  if (!from.at_end() || impl->family.lines().size() != impl->line_speeds.size() || !Ascending(impl->line_speeds) ||
      (!impl->line_flagged.empty() && impl->line_flagged.size() != impl->line_speeds.size()) || impl->rows_between < 1 || impl->rows_between > 16 ||
      !(impl->lowest > 0.0 && impl->lowest <= impl->family.lines().front()) || !(impl->highest >= impl->family.lines().back() && impl->highest < 2.0))
    return std::nullopt;
  impl->max_speed = impl->family.max_speed();
  impl->table = SurfaceTable(impl->family, impl->family.beta_intervals(), impl->rows_between, impl->lowest, impl->highest, SurfaceTable::Uses::kFew,
                             (flags & 4) != 0);
  impl->edge = MapEdge(impl->table, impl->family.surge());
  impl->x_start = impl->table.MinN();
  impl->x_per_n = 1.0 / (impl->table.MaxN() - impl->table.MinN());
  return CompressorSurface(std::move(impl));
}

}  // namespace islebook
