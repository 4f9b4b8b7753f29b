// SPDX-License-Identifier: Apache-2.0
#include "zone_state.hpp"

#include "evendrip/base/median.hpp"

#include <cmath>
#include <map>
#include <numbers>
#include <utility>

namespace evendrip {
namespace {

constexpr double edge_sd = 0.1;      ///< common practice, no source
constexpr double edge_range_m = 5;   ///< likewise
constexpr double edge_step_m = 2.5;  ///< between the knots, the outermost at the end of laterals
constexpr double ground_sd = 0.05;   ///< for one standard deviation of a term; likewise
constexpr int edge_knots = 6;        ///< of each end; where the next would be the edge has no part

Places places_of(const SegmentGrid& grid, int short_nodes, int long_nodes, bool crop, bool aged,
                 bool edge, int ground_terms) {
  Places p;
  p.own = p.along + grid.stations();
  p.group = p.own + grid.rows();
  p.local = p.group + grid.rows();
  p.crop_level = p.local + grid.segments();
  if (crop) {
    p.patches = p.crop_level;
    p.crop_level += static_cast<int>(most_patches);
  }
  if (aged) {
    p.aged = p.crop_level;
    p.crop_level += grid.rows();
  }
  p.soil_short = p.crop_level + 1;
  if (crop) {
    p.soil_patches = p.soil_short;
    p.soil_short += static_cast<int>(most_patches);
  }
  if (edge) {
    p.edge = p.soil_short;
    p.soil_short += 2 * edge_knots;
  }
  if (ground_terms > 0) {
    p.ground = p.soil_short;
    p.soil_short += ground_terms;
  }
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

bool near_an_end(const CropDatum& datum) {
  return std::min(datum.to_ends_m[0], datum.to_ends_m[1]) < edge_reach_m;
}

/// Of both ends, which know nothing of each other.
Precision edge_precision() {
  std::array<double, edge_knots> places_m{};
  for (int k = 0; k < edge_knots; ++k) places_m[at(k)] = k * edge_step_m;
  return product_of(independent(2), exponential_precision(places_m, edge_range_m));
}

/// Between the knots by straight lines, to 0 where the edge's reach ends.
void add_edge(int place, int row, const std::array<double, 2>& to_ends_m,
              std::vector<SparseEntry>& entries) {
  for (int end = 0; end < 2; ++end) {
    const double at_knot = std::max(0.0, to_ends_m[at(end)]) / edge_step_m;
    const int knot = static_cast<int>(std::min<double>(at_knot, edge_knots));
    const int first = place + end * edge_knots;
    const double beyond = at_knot - knot;
    if (knot < edge_knots) entries.push_back({row, first + knot, 1 - beyond});
    if (knot + 1 < edge_knots) entries.push_back({row, first + knot + 1, beyond});
  }
}

/// By the usual datum: one over the sum of the squares of their shares.
int laterals_mixed(const SegmentGrid& grid, const std::vector<CropDatum>& crop) {
  std::vector<double> mixed;
  for (const CropDatum& datum : crop) {
    std::map<int, double> shares;
    for (std::size_t k = 0; k < datum.segments.size(); ++k)
      shares[datum.segments[k] / grid.stations()] += datum.weights[k];
    double squares = 0;
    for (const auto& [lateral, share] : shares) squares += share * share;
    if (!datum.sees_laterals) mixed.push_back(1 / squares);
  }
  if (mixed.empty()) return 1;
  return static_cast<int>(std::ceil(median_in_place(mixed) - 0.01));
}

int ground_terms(const std::vector<CropDatum>& crop) {
  return crop.empty() ? 0 : static_cast<int>(crop.front().ground.size());
}

std::vector<SparseEntry> ground_entries(int place, const std::vector<CropDatum>& crop) {
  std::vector<SparseEntry> entries;
  for (std::size_t row = 0; row < crop.size(); ++row)
    for (std::size_t term = 0; term < crop[row].ground.size(); ++term)
      entries.push_back(
          {static_cast<int>(row), place + static_cast<int>(term), crop[row].ground[term]});
  return entries;
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
    require(datum.ground.size() == crop.front().ground.size(),
            "not all crop data have the same terms of the ground");
    for (const int segment : datum.segments)
      require(segment >= 0 && segment < grid.segments(), "a crop datum lies outside the segments");
  }
}

double log_of(const std::vector<double>& widths) {
  double sum = 0;
  for (const double width : widths) sum += std::log(width);
  return sum;
}

}  // namespace

ZoneModel::State::State(SegmentGrid of_zone, std::vector<HoleDatum> dug,
                        const std::vector<CropDatum>& crop, const ConditionRanges& ranges,
                        double soil_steps_in_range)
    : grid(std::move(of_zone)),
      holes(std::move(dug)),
      caught(holes),
      response_prior(ranges.response) {
  require_sound(grid, holes, crop);
  std::vector<Point> seen;
  seen.reserve(crop.size());
  for (const CropDatum& datum : crop) seen.push_back(datum.place);
  const SoilMesh near = soil_mesh(seen, ranges.soil_short_m, soil_steps_in_range);
  const SoilMesh far = soil_mesh(seen, ranges.soil_long_m, soil_steps_in_range);
  const bool of_another_time = ranges.aged_sd > 0 && !crop.empty();
  places = places_of(grid, near.nodes(), far.nodes(), !crop.empty(), of_another_time,
                     std::any_of(crop.begin(), crop.end(), near_an_end), ground_terms(crop));
  if (of_another_time) aged_sd = ranges.aged_sd;
  matrices.resize(terms);
  set_priors(ranges, near, far);
  set_crop(crop, near, far);
  set_holes();
  sum.emplace(matrices);
}

void ZoneModel::State::add_part(Term term, const Precision& part, int place) {
  matrices[term] = placed(part.matrix, place, places.all);
  log_determinants[term] = part.log_determinant;
  sizes[term] = part.matrix.rows;
}

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
  unwidened = {matrices[own], matrices[local]};
  add_part(crop_level, independent(1), places.crop_level);
  add_part(soil_short, matern_precision(near, ranges.soil_short_m), places.soil_short);
  add_part(soil_long, matern_precision(far, ranges.soil_long_m), places.soil_long);
  add_part(edge, places.edge < 0 ? independent(0) : edge_precision(), std::max(0, places.edge));
  add_part(ground, independent(places.ground < 0 ? 0 : places.soil_short - places.ground),
           std::max(0, places.ground));
  const Precision of_patches = independent(places.patches < 0 ? 0 : static_cast<int>(most_patches));
  add_part(patch, of_patches, std::max(0, places.patches));
  add_part(soil_patch, of_patches, std::max(0, places.soil_patches));
  add_part(aged, independent(places.aged < 0 ? 0 : grid.rows()), std::max(0, places.aged));
}

void ZoneModel::State::widen(std::vector<double> by_lateral) {
  solved.reset();
  const double before = log_of(widths);
  widths = std::move(by_lateral);
  const double more = 2 * (before - log_of(widths));
  const auto width_at = [this](int row) { return widths.empty() ? 1 : widths[at(row)]; };
  for (const Term term : {own, local}) {
    const int from = term == own ? places.own : places.local;
    const int each = term == own ? 1 : grid.stations();
    const SparseMatrix& base = unwidened[term == own ? 0 : 1];
    SparseMatrix& now = matrices[term];
    for (int row = 0; row < base.rows; ++row)
      for (std::size_t k = base.begins[at(row)]; k < base.begins[at(row) + 1]; ++k)
        now.values[k] = base.values[k] / (width_at((row - from) / each) *
                                          width_at((base.columns_of[k] - from) / each));
    log_determinants[term] += each * more;
  }
}

void ZoneModel::State::set_crop(const std::vector<CropDatum>& crop, const SoilMesh& near,
                                const SoilMesh& far) {
  const int n = static_cast<int>(crop.size());
  std::vector<SparseEntry> rest;
  std::vector<SparseEntry> soil;
  std::vector<SparseEntry> over;
  std::vector<Point> seen;
  for (int row = 0; row < n; ++row) {
    const CropDatum& datum = crop[at(row)];
    for (std::size_t k = 0; k < datum.segments.size(); ++k)
      over.push_back({row, datum.segments[k], datum.weights[k]});
    rest.push_back({row, places.crop_level, 1});
    seen.push_back(datum.place);
    crop_stations_m.push_back(datum.station_m);
    crop_lengths_m.push_back(datum.length_m);
    crop_values.push_back(datum.value - 1);
    sees_laterals.push_back(datum.sees_laterals ? 1 : 0);
  }
  std::vector<SparseEntry> edges;
  if (places.edge >= 0)
    for (int row = 0; row < n; ++row) add_edge(places.edge, row, crop[at(row)].to_ends_m, edges);
  rest.insert(rest.end(), edges.begin(), edges.end());
  edge_rows = sparse_matrix(n, places.all, edges);
  const std::vector<SparseEntry> under = ground_entries(places.ground, crop);
  rest.insert(rest.end(), under.begin(), under.end());
  ground_rows = sparse_matrix(n, places.all, under);
  const auto add_soil = [&](const SoilMesh& mesh, int place) {
    const SparseMatrix rows = interpolation(mesh, seen);
    for (int row = 0; row < n; ++row)
      for (std::size_t k = rows.begins[at(row)]; k < rows.begins[at(row) + 1]; ++k)
        soil.push_back({row, place + rows.columns_of[k], rows.values[k]});
  };
  add_soil(near, places.soil_short);
  add_soil(far, places.soil_long);
  rest.insert(rest.end(), soil.begin(), soil.end());
  even_rest = sparse_matrix(n, places.all, rest);
  even_soil = sparse_matrix(n, places.all, soil);
  crop_segments = sparse_matrix(n, grid.segments(), over);
  crop_weights = crop_segments.values;
  crop_count = crop.size();
  laterals_seen = laterals_mixed(grid, crop);
  see_soil();
  see_water();
}

void ZoneModel::State::add_water(int row, int segment, double weight,
                                 std::vector<SparseEntry>& entries, bool single_laterals) const {
  const int lateral = segment / grid.stations();
  const int station = segment % grid.stations();
  for (const int column :
       {places.level, places.along + station, places.group + lateral, places.local + segment})
    entries.push_back({row, column, weight});
  if (single_laterals) entries.push_back({row, places.own + lateral, weight});
}

void ZoneModel::State::add_seen(int row, int segment, double weight,
                                std::vector<SparseEntry>& entries) const {
  add_water(row, segment, weight, entries, sees_laterals[at(row)] != 0);
  if (places.aged >= 0) entries.push_back({row, places.aged + segment / grid.stations(), weight});
}

void ZoneModel::State::see_water() {
  std::vector<SparseEntry> water;
  for (int row = 0; row < crop_segments.rows; ++row)
    for (std::size_t k = crop_segments.begins[at(row)]; k < crop_segments.begins[at(row) + 1]; ++k)
      add_seen(row, crop_segments.columns_of[k], crop_segments.values[k], water);
  for (std::size_t k = 0; k < patches.size(); ++k)
    if (!patches[k].of_soil) add_to_crop(k, places.patches, crop_segments.values, water);
  water_rows = sparse_matrix(crop_segments.rows, places.all, water);
  const std::vector<double> ones(crop_count, 1);
  matrices[water_water] = weighted_square(water_rows, ones);
  const SparseMatrix cross = weighted_product(water_rows, ones, rest_rows);
  matrices[water_rest] = sum_of(cross, transposed(cross));
  value_sides = sides_of(crop_values);
  know_change(std::move(known_change));
}

void ZoneModel::State::respond() {
  if (bend_slopes.empty() && plugged.empty()) {
    if (crop_offsets.empty()) return;
    crop_segments.values = crop_weights;
    crop_offsets.clear();
    see_water();
    return;
  }
  crop_offsets.assign(crop_count, 0);
  for (int row = 0; row < crop_segments.rows; ++row)
    for (std::size_t k = crop_segments.begins[at(row)]; k < crop_segments.begins[at(row) + 1];
         ++k) {
      const auto segment = at(crop_segments.columns_of[k]);
      const double slope = bend_slopes.empty() ? 1 : bend_slopes[segment];
      const double offset = bend_slopes.empty() ? 0 : bend_offsets[segment];
      const double runs = plugged.empty() ? 1 : 1 - plugged[segment];
      crop_segments.values[k] = crop_weights[k] * slope * runs;
      crop_offsets[at(row)] += crop_weights[k] * (offset + slope * (delivered(segment, 1) - 1));
    }
  see_water();
}

void ZoneModel::State::know_change(std::vector<double> change) {
  known_change = std::move(change);
  solved.reset();
  change_sides = {};
  values_by_changes = 0;
  if (!knows_of_crop()) return;
  const std::vector<double> seen = known_of_crop();
  change_sides = sides_of(seen);
  values_by_changes = dot(seen, crop_values);
}

std::vector<double> ZoneModel::State::known_of_crop() const {
  std::vector<double> seen = known_change.empty() ? std::vector<double>(crop_count, 0)
                                                  : product(crop_segments, known_change);
  if (!crop_offsets.empty())
    for (std::size_t i = 0; i < seen.size(); ++i) seen[i] += crop_offsets[i];
  return seen;
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
    add_water(static_cast<int>(i), grid.segment(holes[i].row, holes[i].station), 1, rows);
  std::vector<SparseEntry> segments;
  for (int segment = 0; segment < grid.segments(); ++segment)
    add_water(segment, segment, 1, segments);
  for (std::size_t k = 0; k < patches.size(); ++k) {
    if (patches[k].of_soil) continue;
    const int column = places.patches + static_cast<int>(k);
    for (std::size_t i = 0; i < holes.size(); ++i)
      if (const double share = share_at(holes[i], patches[k], patch_shares[k]); share > 0)
        rows.push_back({static_cast<int>(i), column, share});
    for (int segment = 0; segment < grid.segments(); ++segment)
      if (const double share = patch_shares[k][at(segment)]; share > 0)
        segments.push_back({segment, column, share});
  }
  hole_rows = sparse_matrix(static_cast<int>(holes.size()), places.all, rows);
  matrices[hole_hole] = weighted_square(hole_rows, std::vector<double>(holes.size(), 1));
  segment_rows = sparse_matrix(grid.segments(), places.all, segments);
  // Of no value itself: keeps the pairs of unknowns whose covariances make the variance of r.
  matrices[pattern] = weighted_square(segment_rows, std::vector<double>(at(grid.segments()), 0));
}

ConditionEstimate ZoneModel::State::parts_of(const std::vector<double>& unknowns) const {
  const auto part = [&unknowns](int from, int count) {
    return std::vector<double>(unknowns.begin() + from, unknowns.begin() + from + count);
  };
  ConditionEstimate out;
  out.level = unknowns[at(places.level)];
  out.crop_level = unknowns[at(places.crop_level)];
  out.along = part(places.along, grid.stations());
  out.own = part(places.own, grid.rows());
  out.group = part(places.group, grid.rows());
  out.local = part(places.local, grid.segments());
  for (std::size_t k = 0; k < patches.size(); ++k) {
    if (patches[k].of_soil) continue;
    for (std::size_t i = 0; i < out.local.size(); ++i)
      out.local[i] += patch_shares[k][i] * unknowns[at(places.patches) + k];
  }
  out.soil = product(soil_rows, unknowns);
  out.edge = product(edge_rows, unknowns);
  out.ground = product(ground_rows, unknowns);
  out.r = product(segment_rows, unknowns);
  return out;
}

const ZoneModel::State::Solved* ZoneModel::State::solve(const ConditionParameters& p,
                                                        std::span<const double> hole_weights) {
  if (solved && solved->parameters == p &&
      std::equal(hole_weights.begin(), hole_weights.end(), solved->hole_weights.begin(),
                 solved->hole_weights.end()))
    return &*solved;
  solved.reset();
  const std::array<double, 13> sds = {p.level,       p.along,      p.own,        p.group, p.local,
                                      crop_level_sd, p.soil_short, p.soil_long,  aged_sd, edge_sd,
                                      ground_sd,     patch_sd,     soil_patch_sd};
  SparseSum& precision = held(sum);
  precision.clear();
  double log_sum = 0;
  for (std::size_t part = 0; part < sds.size(); ++part) {
    precision.add(part, matrices[part].values, 1 / squared(sds[part]));
    log_sum += log_determinants[part] - 2 * sizes[part] * std::log(sds[part]);
  }
  const double crop_precision = 1 / squared(p.crop_error);
  precision.add(water_water, matrices[water_water].values, squared(p.response) * crop_precision);
  precision.add(water_rest, matrices[water_rest].values, p.response * crop_precision);
  precision.add(rest_rest, matrices[rest_rest].values, crop_precision);
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
  precision.add(hole_hole, weighted_square(hole_rows, weights).values, 1);
  std::vector<double> side = transposed_product(hole_rows, weighted);
  for (std::size_t i = 0; i < side.size(); ++i)
    side[i] += crop_precision * (p.response * value_sides.water[i] + value_sides.rest[i]);
  if (knows_of_crop())
    for (std::size_t i = 0; i < side.size(); ++i)
      side[i] -=
          crop_precision * p.response * (p.response * change_sides.water[i] + change_sides.rest[i]);
  if (!factor) {
    try {
      factor.emplace(precision.total());
    } catch (const std::invalid_argument&) {
      return nullptr;
    }
  } else if (!factor->refactor(precision.total())) {
    return nullptr;
  }
  std::vector<double> mean = factor->solve(side);
  squares -= dot(side, mean);
  const double n = static_cast<double>(crop_count + holes.size());
  const double log_likelihood =
      0.5 * (log_sum - factor->log_determinant() - squares - n * std::log(2 * std::numbers::pi));
  if (!std::isfinite(log_likelihood)) return nullptr;
  solved = {p, {hole_weights.begin(), hole_weights.end()}, std::move(mean), log_likelihood};
  return &*solved;
}

}  // namespace evendrip
