#include "mapstore/surface/efficiency_points.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace islebook {
namespace {

constexpr int kIntervals = 12;
constexpr int kTerms = 6;
constexpr double kFlattery = 1.25;
constexpr double kLeastNoise = 1.2e-3;  // of an efficiency; no reading is surer

void TermsOf(const SimilarPlace& place, double terms[kTerms]) {
  terms[0] = 1.0;
  terms[1] = place.flow;
  terms[2] = place.n;
  terms[3] = place.flow * place.n;
  terms[4] = place.n * place.n;
  terms[5] = place.flow * place.flow;
}

}  // namespace

double EfficiencyPoints::Base(const SimilarPlace& place) const {
  double terms[kTerms], base = 0.0;
  TermsOf(place, terms);
  for (int i = 0; i < kTerms; ++i) base += coefficients_[i] * terms[i];
  return base;
}

EfficiencyPoints::EfficiencyPoints(std::vector<EfficiencySpot> spots, std::function<SimilarPlace(double, double)> at) : at_(std::move(at)) {
  // The plane: linear in flow, in speed and in their product where the points suffice for it.
  const int used = spots.size() >= 16 ? kTerms : 2;
  BandedSpd normal(used, used - 1);
  std::vector<double> right(used, 0.0);
  std::vector<SimilarPlace> places;
  double flow_scale = 1e-300, work_scale = 1e-300;
  for (const EfficiencySpot& spot : spots) {
    places.push_back(at_(spot.x, spot.y));
    flow_scale = std::max(flow_scale, std::abs(places.back().flow));
    work_scale = std::max(work_scale, std::abs(places.back().head / spot.value));
  }
  double sum = 0.0;
  for (std::size_t k = 0; k < spots.size(); ++k) {
    SimilarPlace scaled = places[k];
    scaled.flow /= flow_scale;
    double terms[kTerms];
    TermsOf(scaled, terms);
    const double work = places[k].head / spots[k].value / work_scale;
    for (int i = 0; i < used; ++i) {
      right[i] += terms[i] * work;
      for (int j = 0; j <= i; ++j) normal.Lower(i, j) += terms[i] * terms[j];
    }
    sum += spots[k].value;
  }
  typical_ = sum / static_cast<double>(spots.size());
  for (int i = 0; i < used; ++i) normal.Lower(i, i) += 1e-9 * static_cast<double>(spots.size());
  coefficients_[0] = work_scale;
  if (normal.Factor()) {
    normal.Solve(right);
    const double by_flow[kTerms] = {1.0, flow_scale, 1.0, flow_scale, 1.0, flow_scale * flow_scale};
    for (int i = 0; i < used; ++i) coefficients_[i] = right[i] * work_scale / by_flow[i];
  }
  // How rough the rest is and how much the readings scatter: whatever predicts each reading best from the others.
  double best = std::numeric_limits<double>::infinity();
  for (const double third : {0.3, 1.5, 8.0, 40.0}) {
    for (const double noise : {5e-4, 2e-3, 6e-3}) {
      auto sheet = std::make_unique<BsplineSheet>(kIntervals, third, std::max(third, 0.5));
      std::vector<double> variances, ratios;
      for (std::size_t k = 0; k < spots.size(); ++k) {
        const double base = std::max(Base(places[k]), 1e-3 * work_scale);
        const double ratio = spots[k].value * base / places[k].head;
        const double own = spots[k].sigma / spots[k].value;
        ratios.push_back(ratio);
        variances.push_back(own > 0.0 ? own * own : noise * noise);
        sheet->Add(spots[k].x, spots[k].y, ratio, 1.0 / variances.back());
      }
      if (!sheet->Solve()) continue;
      double squares = 0.0, normalized = 0.0;
      for (std::size_t k = 0; k < spots.size(); ++k) {
        const double followed = std::min(sheet->Variance(spots[k].x, spots[k].y) / variances[k], 0.9999);
        const double missed = (ratios[k] - sheet->Value(spots[k].x, spots[k].y)) / (1.0 - followed);
        squares += missed * missed;
        normalized += missed * missed * (1.0 - followed) / variances[k];
      }
      if (squares < best) {
        best = squares;
        sheet_ = std::move(sheet);
        noise_ = noise;
        share_ = std::sqrt(normalized / static_cast<double>(spots.size()));
      }
    }
  }
  // The best of several choices flatters itself, and the plane was not left out with the readings.
  share_ *= kFlattery;
  noise_ = std::max(noise_ * share_, kLeastNoise);
}

double EfficiencyPoints::Value(double x, double y) const {
  const SimilarPlace place = at_(x, y);
  const double base = Base(place);
  if (!sheet_ || !(base > 0.0)) return 0.0;
  return place.head * sheet_->Value(x, y) / base;
}

double EfficiencyPoints::Sigma(double x, double y) {
  if (!sheet_) return 1.0;
  const SimilarPlace place = at_(x, y);
  const double base = Base(place), relative = base > 0.0 ? place.head / base : 1.0;
  return relative * std::hypot(share_ * std::sqrt(sheet_->Variance(x, y)), noise_);
}

}  // namespace islebook
