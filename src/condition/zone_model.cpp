// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include "evendrip/base/random.hpp"
#include "evendrip/condition/latent_parts.hpp"

#include <boost/random/normal_distribution.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr double crop_level_sd = 0.3;
constexpr double soil_steps_in_range = 5;
constexpr double soil_margin_in_ranges = 0.7;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

double squared(double v) {
  return v * v;
}

/// Where each part begins among the unknowns.
struct Places {
  int level = 0;
  int along = 1;
  int own = 0;
  int group = 0;
  int local = 0;
  int crop_level = 0;
  int soil_short = 0;
  int soil_long = 0;
  int all = 0;
};

Places places_of(const SegmentGrid& grid, int short_nodes, int long_nodes) {
  Places p;
  p.own = p.along + grid.stations();
  p.group = p.own + grid.rows();
  p.local = p.group + grid.rows();
  p.crop_level = p.local + grid.segments();
  p.soil_short = p.crop_level + 1;
  p.soil_long = p.soil_short + short_nodes;
  p.all = p.soil_long + long_nodes;
  return p;
}

/// A part's matrix among all unknowns.
SparseMatrix placed(const SparseMatrix& matrix, int place, int all) {
  SparseMatrix out{all, all, std::vector<std::size_t>(at(place) + 1, 0), {}, matrix.values};
  for (std::size_t i = 1; i < matrix.begins.size(); ++i) out.begins.push_back(matrix.begins[i]);
  out.begins.resize(at(all) + 1, matrix.values.size());
  for (const int column : matrix.columns_of) out.columns_of.push_back(place + column);
  return out;
}

/// r of segments as rows among all unknowns.
void add_water(const Places& p, const SegmentGrid& grid, int row, int segment, double weight,
               std::vector<SparseEntry>& entries, bool single_laterals = true) {
  const int lateral = segment / grid.stations();
  const int station = segment % grid.stations();
  for (const int column : {p.level, p.along + station, p.group + lateral})
    entries.push_back({row, column, weight});
  if (!single_laterals) return;
  entries.push_back({row, p.own + lateral, weight});
  entries.push_back({row, p.local + segment, weight});
}

SoilMesh mesh_of(std::span<const Point> places, double range_m) {
  Extent extent;
  for (const Point& place : places) extent.include(place);
  if (extent.empty()) extent.include(Point{0, 0});
  return mesh_over(extent, range_m / soil_steps_in_range, soil_margin_in_ranges * range_m);
}

void require(bool sound, const char* what) {
  if (!sound) throw std::invalid_argument(what);
}

void require_sound(const SegmentGrid& grid, const std::vector<HoleDatum>& holes,
                   const std::vector<CropDatum>& crop) {
  for (const HoleDatum& hole : holes) {
    require(hole.row >= 0 && hole.row < grid.rows() && hole.station >= 0 &&
                hole.station < grid.stations(),
            "a hole lies outside the segments");
    require(hole.noise_variance >= 0, "the noise of a hole is below 0");
  }
  for (const CropDatum& datum : crop) {
    require(datum.segments.size() == datum.weights.size() && !datum.segments.empty(),
            "a crop datum needs one weight for each segment");
    for (const int segment : datum.segments)
      require(segment >= 0 && segment < grid.segments(), "a crop datum lies outside the segments");
  }
}

/// What the equations need of a column of crop data: its squares and its transposed products with
/// both kinds of rows.
struct CropSides {
  std::vector<double> water;
  std::vector<double> rest;
  double squares = 0;
};

double dot(std::span<const double> a, std::span<const double> b) {
  return std::inner_product(a.begin(), a.end(), b.begin(), 0.0);
}

}  // namespace

/// Terms of the precision given the data, in the order in which they are added up.
struct ZoneModel::State {
  enum Term {
    level,
    along,
    own,
    group,
    local,
    crop_level,
    soil_short,
    soil_long,
    water_water,
    water_rest,
    rest_rest,
    hole_hole,
    pattern,
    terms
  };

  SegmentGrid grid;
  std::vector<HoleDatum> holes;
  Places places;
  std::size_t crop_count = 0;
  std::vector<SparseMatrix> matrices;
  std::array<double, terms> log_determinants{};  ///< of the parts with variance 1
  std::array<int, terms> sizes{};
  SparseMatrix hole_rows;
  SparseMatrix segment_rows;
  SparseMatrix soil_rows;      ///< crop data x unknowns, soil parts alone
  SparseMatrix water_rows;     ///< crop data x unknowns, parts of r alone
  SparseMatrix rest_rows;      ///< crop data x unknowns, what is not r
  SparseMatrix crop_segments;  ///< crop data x segments
  std::vector<double> crop_values;
  std::vector<double> known_change;  ///< of delivery, of each segment; empty: none
  CropSides value_sides;
  CropSides change_sides;
  double values_by_changes = 0;
  std::unique_ptr<SparseSum> sum;
  std::unique_ptr<SparseCholesky> factor;  ///< of the parameters last used

  void add_part(Term term, const Precision& part, int place) {
    matrices[term] = placed(part.matrix, place, places.all);
    log_determinants[term] = part.log_determinant;
    sizes[term] = part.matrix.rows;
  }
  void set_priors(const ConditionRanges& ranges, const SoilMesh& near, const SoilMesh& far);
  void set_crop(const std::vector<CropDatum>& crop, const SoilMesh& near, const SoilMesh& far);
  void set_holes();
  CropSides sides_of(std::span<const double> crop_column) const;
  std::vector<double> hole_precisions(const ConditionParameters& p,
                                      std::span<const double> hole_weights) const;
  double change_at(const HoleDatum& hole) const {
    return known_change.empty() ? 0 : known_change[at(grid.segment(hole.row, hole.station))];
  }
  std::optional<double> solve(const ConditionParameters& p, std::span<const double> hole_weights,
                              std::vector<double>& mean);
};

void ZoneModel::State::set_priors(const ConditionRanges& ranges, const SoilMesh& near,
                                  const SoilMesh& far) {
  const Precision stations = exponential_precision(grid.stations_m, ranges.along_m);
  add_part(level, independent(1), places.level);
  add_part(along, stations, places.along);
  add_part(own, independent(grid.rows()), places.own);
  add_part(group, exponential_precision(grid.across_m, ranges.group_m), places.group);
  add_part(local,
           product_of(exponential_precision(grid.across_m, ranges.local_across_m),
                      exponential_precision(grid.stations_m, ranges.local_along_m)),
           places.local);
  add_part(crop_level, independent(1), places.crop_level);
  add_part(soil_short, matern_precision(near, ranges.soil_short_m), places.soil_short);
  add_part(soil_long, matern_precision(far, ranges.soil_long_m), places.soil_long);
}

void ZoneModel::State::set_crop(const std::vector<CropDatum>& crop, const SoilMesh& near,
                                const SoilMesh& far) {
  const int n = static_cast<int>(crop.size());
  std::vector<SparseEntry> water;
  std::vector<SparseEntry> rest;
  std::vector<SparseEntry> soil;
  std::vector<SparseEntry> over;
  std::vector<Point> seen;
  for (int row = 0; row < n; ++row) {
    const CropDatum& datum = crop[at(row)];
    for (std::size_t k = 0; k < datum.segments.size(); ++k) {
      add_water(places, grid, row, datum.segments[k], datum.weights[k], water, datum.sees_laterals);
      over.push_back({row, datum.segments[k], datum.weights[k]});
    }
    rest.push_back({row, places.crop_level, 1});
    seen.push_back(datum.place);
    crop_values.push_back(datum.value - 1);
  }
  const auto add_soil = [&](const SoilMesh& mesh, int place) {
    const SparseMatrix rows = interpolation(mesh, seen);
    for (int row = 0; row < n; ++row)
      for (std::size_t k = rows.begins[at(row)]; k < rows.begins[at(row) + 1]; ++k)
        soil.push_back({row, place + rows.columns_of[k], rows.values[k]});
  };
  add_soil(near, places.soil_short);
  add_soil(far, places.soil_long);
  rest.insert(rest.end(), soil.begin(), soil.end());
  water_rows = sparse_matrix(n, places.all, water);
  rest_rows = sparse_matrix(n, places.all, rest);
  crop_segments = sparse_matrix(n, grid.segments(), over);
  soil_rows = sparse_matrix(n, places.all, soil);
  const std::vector<double> ones(at(n), 1);
  matrices[water_water] = weighted_square(water_rows, ones);
  const SparseMatrix cross = weighted_product(water_rows, ones, rest_rows);
  matrices[water_rest] = sum_of(cross, transposed(cross));
  matrices[rest_rest] = weighted_square(rest_rows, ones);
  value_sides = sides_of(crop_values);
  crop_count = crop.size();
}

CropSides ZoneModel::State::sides_of(std::span<const double> crop_column) const {
  return {transposed_product(water_rows, crop_column), transposed_product(rest_rows, crop_column),
          dot(crop_column, crop_column)};
}

std::vector<double> ZoneModel::State::hole_precisions(const ConditionParameters& p,
                                                      std::span<const double> hole_weights) const {
  require(hole_weights.empty() || hole_weights.size() == holes.size(),
          "there is not one weight for each hole");
  std::vector<double> precisions;
  precisions.reserve(holes.size());
  for (std::size_t i = 0; i < holes.size(); ++i)
    precisions.push_back((hole_weights.empty() ? 1 : hole_weights[i]) /
                         (squared(p.emitter) + holes[i].noise_variance));
  return precisions;
}

void ZoneModel::State::set_holes() {
  std::vector<SparseEntry> rows;
  for (std::size_t i = 0; i < holes.size(); ++i)
    add_water(places, grid, static_cast<int>(i), grid.segment(holes[i].row, holes[i].station), 1,
              rows);
  hole_rows = sparse_matrix(static_cast<int>(holes.size()), places.all, rows);
  matrices[hole_hole] = weighted_square(hole_rows, std::vector<double>(holes.size(), 1));
  std::vector<SparseEntry> segments;
  for (int segment = 0; segment < grid.segments(); ++segment)
    add_water(places, grid, segment, segment, 1, segments);
  segment_rows = sparse_matrix(grid.segments(), places.all, segments);
  // Of no value itself: keeps the pairs of unknowns whose covariances make the variance of r.
  matrices[pattern] = weighted_square(segment_rows, std::vector<double>(at(grid.segments()), 0));
}

std::optional<double> ZoneModel::State::solve(const ConditionParameters& p,
                                              std::span<const double> hole_weights,
                                              std::vector<double>& mean) {
  const std::array<double, 8> sds = {p.level, p.along,       p.own,        p.group,
                                     p.local, crop_level_sd, p.soil_short, p.soil_long};
  sum->clear();
  double log_sum = 0;
  for (std::size_t part = 0; part < sds.size(); ++part) {
    sum->add(part, matrices[part].values, 1 / squared(sds[part]));
    log_sum += log_determinants[part] - 2 * sizes[part] * std::log(sds[part]);
  }
  const double crop_precision = 1 / squared(p.crop_error);
  sum->add(water_water, matrices[water_water].values, squared(p.response) * crop_precision);
  sum->add(water_rest, matrices[water_rest].values, p.response * crop_precision);
  sum->add(rest_rest, matrices[rest_rest].values, crop_precision);
  const std::vector<double> weights = hole_precisions(p, hole_weights);
  std::vector<double> weighted(holes.size());
  // Crop values less what the known change of delivery makes of them: v - response x g.
  double squares = crop_precision * (value_sides.squares - 2 * p.response * values_by_changes +
                                     squared(p.response) * change_sides.squares);
  log_sum += static_cast<double>(crop_count) * std::log(crop_precision);
  for (std::size_t i = 0; i < holes.size(); ++i) {
    const double value = holes[i].value - 1 - change_at(holes[i]);
    weighted[i] = weights[i] * value;
    squares += weighted[i] * value;
    log_sum += std::log(weights[i]);
  }
  sum->add(hole_hole, weighted_square(hole_rows, weights).values, 1);
  std::vector<double> side = transposed_product(hole_rows, weighted);
  for (std::size_t i = 0; i < side.size(); ++i)
    side[i] += crop_precision * (p.response * value_sides.water[i] + value_sides.rest[i]);
  if (!known_change.empty())
    for (std::size_t i = 0; i < side.size(); ++i)
      side[i] -=
          crop_precision * p.response * (p.response * change_sides.water[i] + change_sides.rest[i]);
  if (!factor) {
    try {
      factor = std::make_unique<SparseCholesky>(sum->total());
    } catch (const std::invalid_argument&) {
      return {};
    }
  } else if (!factor->refactor(sum->total())) {
    return {};
  }
  mean = factor->solve(side);
  for (std::size_t i = 0; i < side.size(); ++i) squares -= side[i] * mean[i];
  const double n = static_cast<double>(crop_count + holes.size());
  return 0.5 * (log_sum - factor->log_determinant() - squares - n * std::log(2 * std::numbers::pi));
}

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
    : state_(std::make_unique<State>()) {
  require_sound(grid, holes, crop);
  State& s = *state_;
  s.grid = std::move(grid);
  s.holes = std::move(holes);
  std::vector<Point> seen;
  seen.reserve(crop.size());
  for (const CropDatum& datum : crop) seen.push_back(datum.place);
  const SoilMesh near = mesh_of(seen, ranges.soil_short_m);
  const SoilMesh far = mesh_of(seen, ranges.soil_long_m);
  s.places = places_of(s.grid, near.nodes(), far.nodes());
  s.matrices.resize(State::terms);
  s.set_priors(ranges, near, far);
  s.set_crop(crop, near, far);
  s.set_holes();
  s.sum = std::make_unique<SparseSum>(s.matrices);
}
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
  std::vector<double> mean;
  if (!s.solve(parameters, hole_weights, mean)) return {};
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
    const double score = shared - dot(column, mean);
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
  std::vector<double> mean;
  return state_->solve(parameters, hole_weights, mean);
}

std::optional<ConditionEstimate> ZoneModel::estimate(const ConditionParameters& parameters,
                                                     std::span<const double> hole_weights) const {
  State& s = *state_;
  std::vector<double> mean;
  const auto likelihood = s.solve(parameters, hole_weights, mean);
  if (!likelihood) return {};
  ConditionEstimate out;
  out.log_likelihood = *likelihood;
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

std::vector<std::vector<double>> ZoneModel::draws(const ConditionParameters& parameters, int count,
                                                  std::uint64_t seed,
                                                  std::span<const double> hole_weights) const {
  State& s = *state_;
  std::vector<double> mean;
  if (!s.solve(parameters, hole_weights, mean)) return {};
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
