// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include "evendrip/base/random.hpp"
#include "zone_state.hpp"

#include <boost/random/normal_distribution.hpp>

#include <algorithm>
#include <cmath>
#include <utility>

namespace evendrip {

ConditionRanges ranges_of(const SegmentGrid& grid, double crop_pixel_m) {
  const double longest_m = *std::max_element(grid.lengths_m.begin(), grid.lengths_m.end());
  const double spacing_m =
      grid.rows() > 1 ? grid.across_m.back() / (grid.rows() - 1) : std::max(1.0, grid.step_m);
  ConditionRanges ranges;
  ranges.along_m = ranges.local_along_m = longest_m / 3;
  ranges.group_m = 4 * spacing_m;
  ranges.local_across_m = 2 * spacing_m;
  ranges.soil_short_m = std::max(25.0, 4 * crop_pixel_m);
  ranges.soil_long_m = 4 * ranges.soil_short_m;
  return ranges;
}

ZoneModel::ZoneModel(SegmentGrid grid, std::vector<HoleDatum> holes,
                     const std::vector<CropDatum>& crop, const ConditionRanges& ranges)
    : state_(std::make_unique<State>(std::move(grid), std::move(holes), crop, ranges)) {}
ZoneModel::ZoneModel(const ZoneModel& other) : state_(std::make_unique<State>(*other.state_)) {}
ZoneModel::~ZoneModel() = default;
ZoneModel::ZoneModel(ZoneModel&&) noexcept = default;

const SegmentGrid& ZoneModel::grid() const {
  return state_->grid;
}
std::size_t ZoneModel::holes() const {
  return state_->holes.size();
}
const std::vector<HoleDatum>& ZoneModel::hole_data() const {
  return state_->holes;
}
std::size_t ZoneModel::crop_data() const {
  return state_->crop_count;
}

void ZoneModel::set_known_change(std::vector<double> change) {
  State& s = *state_;
  require(change.empty() || change.size() == at(s.grid.segments()),
          "there is not one change for each segment");
  s.known_change = std::move(change);
  s.solved.reset();
  s.change_sides = {};
  s.values_by_changes = 0;
  if (s.known_change.empty()) return;
  const std::vector<double> seen = product(s.crop_segments, s.known_change);
  s.change_sides = s.sides_of(seen);
  s.values_by_changes = dot(seen, s.crop_values);
}

const std::vector<double>& ZoneModel::known_change() const {
  return state_->known_change;
}

std::vector<ResponseTest> ZoneModel::tested_responses(
    const ConditionParameters& parameters, std::span<const std::vector<double>> responses,
    std::span<const double> hole_weights) const {
  State& s = *state_;
  const State::Solved* solved = s.solve(parameters, hole_weights);
  if (solved == nullptr) return {};
  const std::vector<double> precisions = s.hole_precisions(parameters, hole_weights);
  const double crop_precision = 1 / squared(parameters.crop_error);
  const double slope = parameters.response;
  const std::vector<double> known =
      s.known_change.empty() ? std::vector<double>{} : product(s.crop_segments, s.known_change);
  std::vector<ResponseTest> tests;
  tests.reserve(responses.size());
  for (const std::vector<double>& response : responses) {
    require(response.size() == at(s.grid.segments()), "a response has not all segments");
    std::vector<double> weighted(s.holes.size());
    double own = 0;     // x' W x
    double shared = 0;  // x' W y
    for (std::size_t i = 0; i < s.holes.size(); ++i) {
      const HoleDatum& hole = s.holes[i];
      const double x = response[at(s.grid.segment(hole.row, hole.station))];
      weighted[i] = precisions[i] * x;
      own += weighted[i] * x;
      shared += weighted[i] * (hole.value - 1 - s.change_at(hole));
    }
    std::vector<double> seen = product(s.crop_segments, response);
    const CropSides sides = s.sides_of(seen);
    own += crop_precision * squared(slope) * sides.squares;
    shared += crop_precision * slope *
              (dot(seen, s.crop_values) - (known.empty() ? 0 : slope * dot(seen, known)));
    std::vector<double> column = transposed_product(s.hole_rows, weighted);
    for (std::size_t i = 0; i < column.size(); ++i)
      column[i] += crop_precision * slope * (slope * sides.water[i] + sides.rest[i]);
    const double information = own - dot(column, s.factor->solve(column));
    const double score = shared - dot(column, solved->mean);
    if (!(information > 0)) {
      tests.push_back({});
      continue;
    }
    tests.push_back(
        {score / information, 1 / std::sqrt(information), 0.5 * squared(score) / information});
  }
  return tests;
}

std::optional<double> ZoneModel::log_likelihood(const ConditionParameters& parameters,
                                                std::span<const double> hole_weights) const {
  const State::Solved* solved = state_->solve(parameters, hole_weights);
  if (solved == nullptr) return {};
  return solved->log_likelihood;
}

std::optional<ConditionEstimate> ZoneModel::estimate(const ConditionParameters& parameters,
                                                     std::span<const double> hole_weights) const {
  State& s = *state_;
  const State::Solved* solved = s.solve(parameters, hole_weights);
  if (solved == nullptr) return {};
  const std::vector<double>& mean = solved->mean;
  ConditionEstimate out;
  out.log_likelihood = solved->log_likelihood;
  out.level = mean[at(s.places.level)];
  out.crop_level = mean[at(s.places.crop_level)];
  const auto part = [&mean](int from, int count) {
    return std::vector<double>(mean.begin() + from, mean.begin() + from + count);
  };
  out.along = part(s.places.along, s.grid.stations());
  out.own = part(s.places.own, s.grid.rows());
  const std::vector<double> group = part(s.places.group, s.grid.rows());
  for (std::size_t i = 0; i < group.size(); ++i) out.own[i] += group[i];
  out.local = part(s.places.local, s.grid.segments());
  out.soil = product(s.soil_rows, mean);
  out.r = product(s.segment_rows, mean);
  const SelectedInverse inverse = s.factor->selected_inverse();
  for (int segment = 0; segment < s.grid.segments(); ++segment) {
    out.r[at(segment)] += 1 + (s.known_change.empty() ? 0 : s.known_change[at(segment)]);
    const std::size_t begin = s.segment_rows.begins[at(segment)];
    const std::size_t count = s.segment_rows.begins[at(segment) + 1] - begin;
    out.r_variance.push_back(
        inverse.quadratic_form(std::span(s.segment_rows.columns_of).subspan(begin, count),
                               std::span(s.segment_rows.values).subspan(begin, count)));
  }
  return out;
}

std::optional<HoleEstimate> ZoneModel::estimate_at_holes(
    const ConditionParameters& parameters, std::span<const double> hole_weights) const {
  State& s = *state_;
  const State::Solved* solved = s.solve(parameters, hole_weights);
  if (solved == nullptr) return {};
  HoleEstimate out;
  out.mean = product(s.hole_rows, solved->mean);
  std::vector<double> row(solved->mean.size());
  for (std::size_t i = 0; i < s.holes.size(); ++i) {
    out.mean[i] += 1 + s.change_at(s.holes[i]);
    std::fill(row.begin(), row.end(), 0.0);
    for (std::size_t k = s.hole_rows.begins[i]; k < s.hole_rows.begins[i + 1]; ++k)
      row[at(s.hole_rows.columns_of[k])] = s.hole_rows.values[k];
    const std::vector<double> with = product(s.hole_rows, s.factor->solve(row));
    out.covariance.insert(out.covariance.end(), with.begin(), with.end());
  }
  return out;
}

std::vector<std::vector<double>> ZoneModel::draws(const ConditionParameters& parameters, int count,
                                                  std::uint64_t seed,
                                                  std::span<const double> hole_weights) const {
  State& s = *state_;
  const State::Solved* solved = s.solve(parameters, hole_weights);
  if (solved == nullptr) return {};
  const std::vector<double>& mean = solved->mean;
  std::vector<std::vector<double>> out;
  out.reserve(static_cast<std::size_t>(count));
  std::vector<double> normals(mean.size());
  for (int draw = 0; draw < count; ++draw) {
    std::mt19937_64 stream = item_stream(seed, {static_cast<std::uint64_t>(draw)});
    boost::random::normal_distribution<double> normal;
    for (double& z : normals) z = normal(stream);
    std::vector<double> unknowns = s.factor->correlated(normals);
    for (std::size_t i = 0; i < unknowns.size(); ++i) unknowns[i] += mean[i];
    out.push_back(product(s.segment_rows, unknowns));
    for (std::size_t i = 0; i < out.back().size(); ++i)
      out.back()[i] += 1 + (s.known_change.empty() ? 0 : s.known_change[i]);
  }
  return out;
}

}  // namespace evendrip
