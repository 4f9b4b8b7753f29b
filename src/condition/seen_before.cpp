// SPDX-License-Identifier: Apache-2.0
#include "seen_before.hpp"

#include "evendrip/geo/index.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

namespace evendrip {
namespace {

constexpr double least_errors = 2;        ///< standard errors from which a part is there still
constexpr double reach_in_pixels = 0.75;  ///< of either layer
constexpr double most_near = 64;
constexpr double least_variance = 1e-12;
constexpr std::size_t fewest_data = 30;

/// Both parts as a layer with pixels of its own size sees them.
class Parts {
 public:
  Parts(const SeenBefore& before, double pixel_m)
      : before_(before),
        index_(before.places),
        reach_m_(reach_in_pixels * (pixel_m + before.pixel_m)),
        most_(static_cast<int>(
            std::clamp(pixel_m * pixel_m / (before.pixel_m * before.pixel_m), 1.0, most_near))) {}

  std::optional<Eigen::Vector2d> at(Point place) {
    index_.nearest(place, most_, reach_m_, found_);
    if (found_.empty()) return std::nullopt;
    Eigen::Vector2d sum = Eigen::Vector2d::Zero();
    for (const NearPoint& near : found_) {
      const auto i = static_cast<std::size_t>(near.point);
      sum += Eigen::Vector2d(before_.shaped[i], before_.soil[i]);
    }
    return sum / static_cast<double>(found_.size());
  }

 private:
  const SeenBefore& before_;
  PointIndex index_;
  double reach_m_;
  int most_;
  std::vector<NearPoint> found_;
};

int heaviest_row(const SegmentGrid& grid, const CropDatum& datum) {
  const auto most = std::max_element(datum.weights.begin(), datum.weights.end());
  return datum.segments[static_cast<std::size_t>(most - datum.weights.begin())] / grid.stations();
}

struct Seen {
  std::vector<Eigen::Vector2d> parts;
  std::vector<double> values;
  std::vector<int> rows;
};

/// All less their means.
Seen seen_in(Parts& parts, const SegmentGrid& grid, const std::vector<CropDatum>& data) {
  Seen seen;
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  double value = 0;
  for (const CropDatum& datum : data) {
    const auto here = parts.at(datum.place);
    if (!here) continue;
    seen.parts.push_back(*here);
    seen.values.push_back(datum.value);
    seen.rows.push_back(heaviest_row(grid, datum));
    mean += *here;
    value += datum.value;
  }
  const auto n = std::max(1.0, static_cast<double>(seen.values.size()));
  for (Eigen::Vector2d& one : seen.parts) one -= mean / n;
  for (double& one : seen.values) one -= value / n;
  return seen;
}

}  // namespace

std::optional<SeenBefore> seen_before(const SegmentGrid& grid, const std::string& layer,
                                      const std::vector<CropDatum>& data, double pixel_m,
                                      const Work& work) {
  const ZoneModel model(grid, {}, data, ranges_of(grid, pixel_m));
  const auto fit = fit_condition(model, {}, {}, FitSearch::several_starts, work);
  if (!fit) return std::nullopt;
  const auto estimate = model.estimate(fit->parameters);
  if (!estimate) return std::nullopt;
  SeenBefore before;
  before.layer = layer;
  before.pixel_m = pixel_m;
  before.soil = estimate->soil;
  for (const double r : estimate->r)
    before.segments.push_back(fit->parameters.response * (r - 1 - estimate->level));
  for (const CropDatum& datum : data) {
    before.places.push_back(datum.place);
    double sum = 0;
    for (std::size_t k = 0; k < datum.segments.size(); ++k)
      sum += datum.weights[k] * before.segments[static_cast<std::size_t>(datum.segments[k])];
    before.shaped.push_back(sum);
  }
  return before;
}

StillThere still_there(const SeenBefore& before, const SegmentGrid& grid,
                       const std::vector<CropDatum>& data, double pixel_m) {
  Parts parts(before, pixel_m);
  const Seen seen = seen_in(parts, grid, data);
  if (seen.values.size() < fewest_data) return {};
  Eigen::Matrix2d squares = Eigen::Matrix2d::Zero();
  Eigen::Vector2d products = Eigen::Vector2d::Zero();
  for (std::size_t i = 0; i < seen.values.size(); ++i) {
    squares += seen.parts[i] * seen.parts[i].transpose();
    products += seen.parts[i] * seen.values[i];
  }
  const auto n = static_cast<double>(seen.values.size());
  squares += least_variance * n * Eigen::Matrix2d::Identity();
  const Eigen::Matrix2d inverse = squares.inverse();
  const Eigen::Vector2d slopes = inverse * products;
  std::map<int, Eigen::Vector2d> by_lateral;
  for (std::size_t i = 0; i < seen.values.size(); ++i) {
    const double left = seen.values[i] - seen.parts[i].dot(slopes);
    by_lateral.try_emplace(seen.rows[i], Eigen::Vector2d::Zero()).first->second +=
        left * seen.parts[i];
  }
  Eigen::Matrix2d scatter = Eigen::Matrix2d::Zero();
  for (const auto& [row, sum] : by_lateral) scatter += sum * sum.transpose();
  const Eigen::Matrix2d covariance = inverse * scatter * inverse;
  StillThere still;
  if (slopes(0) > least_errors * std::sqrt(covariance(0, 0))) still.shaped = slopes(0);
  if (std::abs(slopes(1)) > least_errors * std::sqrt(covariance(1, 1))) still.soil = slopes(1);
  return still;
}

std::vector<double> pattern_of(const SeenBefore& before, const StillThere& still,
                               const CropEvidence& evidence) {
  Parts parts(before, std::max(evidence.typical.along_m, evidence.typical.across_m));
  std::vector<double> pattern;
  pattern.reserve(evidence.data.size());
  for (const EvidenceDatum& datum : evidence.data) {
    const auto here = parts.at(datum.place);
    pattern.push_back(here ? still.shaped * (*here)(0) + still.soil * (*here)(1) : 0);
  }
  return pattern;
}

}  // namespace evendrip
