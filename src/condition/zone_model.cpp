// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include "evendrip/base/random.hpp"
#include "zone_state.hpp"

#include <boost/random/normal_distribution.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace evendrip {
namespace {

constexpr double soil_steps = 5;  ///< in the range of a soil part
constexpr double coarse_soil_steps = 3;
constexpr int many_segments = 3000;
constexpr int few_segments = 1600;
constexpr int fewest_stations = 12;

/// How many stations become one in the coarser model; 1: there is none.
int joined_stations(const SegmentGrid& grid) {
  if (grid.segments() <= many_segments) return 1;
  const int wanted = (grid.segments() + few_segments - 1) / few_segments;
  return std::max(1, std::min(wanted, grid.stations() / fewest_stations));
}

struct Coarse {
  SegmentGrid grid;
  std::vector<HoleDatum> holes;
  std::vector<CropDatum> crop;
};
Coarse coarse_of(const SegmentGrid& grid, std::vector<HoleDatum> holes, std::vector<CropDatum> crop,
                 int joined) {
  Coarse out{grid, std::move(holes), std::move(crop)};
  out.grid.step_m = grid.step_m * joined;
  out.grid.stations_m.clear();
  for (int first = 0; first < grid.stations(); first += joined) {
    const int last = std::min(first + joined, grid.stations()) - 1;
    out.grid.stations_m.push_back(0.5 * (grid.stations_m[at(first)] + grid.stations_m[at(last)]));
  }
  for (HoleDatum& hole : out.holes) hole.station /= joined;
  for (CropDatum& datum : out.crop)
    for (int& segment : datum.segments)
      segment = out.grid.segment(segment / grid.stations(), segment % grid.stations() / joined);
  return out;
}

/// Means over the stations that became one.
std::vector<double> joined(const std::vector<double>& values, const SegmentGrid& from,
                           const SegmentGrid& to) {
  if (values.empty()) return {};
  const auto step = static_cast<int>(std::lround(to.step_m / from.step_m));
  std::vector<double> out;
  for (int row = 0; row < to.rows(); ++row)
    for (int station = 0; station < to.stations(); ++station) {
      const int first = station * step;
      const int end = std::min(first + step, from.stations());
      double sum = 0;
      for (int k = first; k < end; ++k) sum += values[at(from.segment(row, k))];
      out.push_back(sum / (end - first));
    }
  return out;
}

}  // namespace

ConditionRanges ranges_of(const SegmentGrid& grid, double crop_pixel_m) {
  const double longest_m = *std::max_element(grid.lengths_m.begin(), grid.lengths_m.end());
  const double spacing_m = grid.spacing_m();
  ConditionRanges ranges;
  ranges.along_m = ranges.local_along_m = longest_m / 3;
  ranges.group_m = 4 * spacing_m;
  ranges.local_across_m = 2 * spacing_m;
  ranges.soil_short_m = std::max(25.0, 4 * crop_pixel_m);
  ranges.soil_long_m = 4 * ranges.soil_short_m;
  return ranges;
}

ZoneModel::ZoneModel(SegmentGrid grid, std::vector<HoleDatum> holes,
                     const std::vector<CropDatum>& crop, const ConditionRanges& ranges) {
  const int step = joined_stations(grid);
  if (step > 1) {
    const Coarse few = coarse_of(grid, holes, crop, step);
    auto state = std::make_unique<State>(few.grid, few.holes, few.crop, ranges, coarse_soil_steps);
    state_ = std::make_unique<State>(std::move(grid), std::move(holes), crop, ranges, soil_steps);
    state_->coarser.push_back(ZoneModel(std::move(state)));
  } else {
    state_ = std::make_unique<State>(std::move(grid), std::move(holes), crop, ranges, soil_steps);
  }
}
ZoneModel::ZoneModel(std::unique_ptr<State> state) : state_(std::move(state)) {}
ZoneModel::ZoneModel(const ZoneModel& other) : state_(std::make_unique<State>(*other.state_)) {}
ZoneModel::~ZoneModel() = default;
ZoneModel::ZoneModel(ZoneModel&&) noexcept = default;

const ZoneModel* ZoneModel::coarser() const {
  return state_->coarser.empty() ? nullptr : &state_->coarser.front();
}
const SegmentGrid& ZoneModel::grid() const {
  return state_->grid;
}
std::size_t ZoneModel::holes() const {
  return state_->holes.size();
}
int ZoneModel::laterals_seen() const {
  return state_->laterals_seen;
}
const ResponsePrior& ZoneModel::response_prior() const {
  return state_->response_prior;
}
const std::vector<HoleDatum>& ZoneModel::hole_data() const {
  return state_->caught;
}
const std::vector<HoleDatum>& ZoneModel::hole_sites() const {
  return state_->holes;
}
std::size_t ZoneModel::crop_data() const {
  return state_->crop_count;
}

void ZoneModel::set_hole_sites(std::span<const HoleSite> sites) {
  State& s = *state_;
  require(sites.empty() || sites.size() == s.caught.size(), "there is not one site for each hole");
  for (ZoneModel& few : s.coarser) few.set_hole_sites(sites);
  s.solved.reset();
  s.holes = s.caught;
  for (std::size_t i = 0; i < sites.size(); ++i) {
    require(sites[i].extra_variance >= 0, "the extra variance of a hole is below 0");
    s.holes[i].value = sites[i].value;
    s.holes[i].noise_variance += sites[i].extra_variance;
  }
}

void ZoneModel::set_lateral_widths(std::vector<double> widths) {
  require(widths.empty() || widths.size() == at(grid().rows()),
          "there is not one width for each lateral");
  for (const double width : widths) require(width > 0, "a width is not above 0");
  for (ZoneModel& few : state_->coarser) few.set_lateral_widths(widths);
  state_->widen(std::move(widths));
}

const std::vector<double>& ZoneModel::lateral_widths() const {
  return state_->widths;
}

std::optional<std::vector<LateralSquares>> ZoneModel::lateral_squares(
    const ConditionParameters& parameters, std::span<const double> hole_weights) const {
  State& s = *state_;
  const State::Solved* solved = s.solve(parameters, hole_weights);
  if (solved == nullptr) return {};
  const SelectedInverse inverse = held(s.factor).selected_inverse();
  const std::vector<double>& mean = solved->mean;
  std::vector<LateralSquares> out(at(s.grid.rows()));
  const auto add = [&](State::Term term, double sd, int first, int each) {
    const SparseMatrix& precision = s.matrices[at(term)];
    for (int row = 0; row < s.grid.rows(); ++row) {
      LateralSquares& lateral = out[at(row)];
      lateral.degrees += each;
      for (int a = first + row * each; a < first + (row + 1) * each; ++a)
        for (std::size_t i = precision.begins[at(a)]; i < precision.begins[at(a) + 1]; ++i) {
          const int b = precision.columns_of[i];
          const double of_both = precision.values[i] / squared(sd);
          lateral.squares += of_both * mean[at(a)] * mean[at(b)];
          lateral.degrees -= of_both * inverse.at(a, b);
        }
    }
  };
  add(State::own, parameters.own, s.places.own, 1);
  add(State::local, parameters.local, s.places.local, s.grid.stations());
  for (std::size_t row = 0; row < out.size(); ++row)
    if (!s.widths.empty()) out[row].squares *= squared(s.widths[row]);
  return out;
}

void ZoneModel::set_known_change(std::vector<double> change) {
  State& s = *state_;
  require(change.empty() || change.size() == at(s.grid.segments()),
          "there is not one change for each segment");
  for (ZoneModel& few : s.coarser) few.state_->know_change(joined(change, s.grid, few.grid()));
  s.know_change(std::move(change));
}

void ZoneModel::bend_crop(const CropKink& kink, const ConditionEstimate& about, double emitter_sd) {
  State& s = *state_;
  require(about.r.size() == at(s.grid.segments()) && about.r_variance.size() == about.r.size(),
          "there is not one r for each segment");
  std::vector<double> slopes;
  std::vector<double> offsets;
  for (std::size_t i = 0; i < about.r.size(); ++i) {
    const double runs = s.plugged.empty() ? 1 : 1 - s.plugged[i];
    const double sd = std::sqrt(squared(runs) * about.r_variance[i] + squared(emitter_sd));
    const double delivered = s.delivered(i, about.r[i]);
    const double off = delivered - kink.need;
    // Share of emitters beyond the need, and how far beyond it they are, on the mean of all.
    const double share = 0.5 * std::erfc(-off / (sd * std::numbers::sqrt2));
    const double beyond =
        off * share + sd * std::exp(-0.5 * squared(off / sd)) / std::sqrt(2 * std::numbers::pi);
    slopes.push_back(1 - (1 - kink.beyond) * share);
    offsets.push_back((1 - kink.beyond) * (share * (delivered - 1) - beyond));
  }
  for (ZoneModel& few : s.coarser) {
    few.state_->bend_slopes = joined(slopes, s.grid, few.grid());
    few.state_->bend_offsets = joined(offsets, s.grid, few.grid());
    few.state_->respond();
  }
  s.bend_slopes = std::move(slopes);
  s.bend_offsets = std::move(offsets);
  s.respond();
}

void ZoneModel::set_plugged(std::vector<double> shares, double passed) {
  State& s = *state_;
  require(shares.empty() || shares.size() == at(s.grid.segments()),
          "there is not one plugged share for each segment");
  if (shares.empty() && s.plugged.empty()) return;
  for (const double share : shares) require(share >= 0 && share <= 1, "a share is not 0 to 1");
  for (ZoneModel& few : s.coarser) few.set_plugged(joined(shares, s.grid, few.grid()), passed);
  s.plugged = std::move(shares);
  s.plugged_pass = passed;
  s.respond();
}

std::vector<double> ZoneModel::segment_scores(const ConditionParameters& parameters) const {
  State& s = *state_;
  const State::Solved* solved = s.solve(parameters, {});
  if (solved == nullptr) return {};
  // What the crop is over what is thought of it.
  std::vector<double> left = product(s.water_rows, solved->mean);
  const std::vector<double> rest = product(s.rest_rows, solved->mean);
  const std::vector<double> known = s.knows_of_crop() ? s.known_of_crop() : std::vector<double>{};
  const double slope = parameters.response;
  for (std::size_t i = 0; i < left.size(); ++i)
    left[i] = slope / squared(parameters.crop_error) *
              (s.crop_values[i] - slope * (left[i] + (known.empty() ? 0 : known[i])) - rest[i]);
  std::vector<double> scores = transposed_product(s.crop_segments, left);
  const std::vector<double> precisions = s.hole_precisions(parameters, {});
  const std::vector<double> fitted = product(s.hole_rows, solved->mean);
  for (std::size_t i = 0; i < s.holes.size(); ++i) {
    const HoleDatum& hole = s.holes[i];
    scores[at(s.grid.segment(hole.row, hole.station))] +=
        precisions[i] * (hole.value - 1 - s.change_at(hole) - fitted[i]);
  }
  return scores;
}

const std::vector<double>& ZoneModel::known_change() const {
  return state_->known_change;
}

std::vector<ResponseTest> ZoneModel::State::tested(
    const ConditionParameters& p, std::size_t changes,
    const std::function<SeenChange(std::size_t)>& seen_of, std::span<const double> hole_weights) {
  const Solved* found = solve(p, hole_weights);
  if (found == nullptr) return {};
  const std::vector<double> precisions = hole_precisions(p, hole_weights);
  const double crop_precision = 1 / squared(p.crop_error);
  const double slope = p.response;
  const std::vector<double> known = knows_of_crop() ? known_of_crop() : std::vector<double>{};
  std::vector<double> squares;
  std::vector<double> shared_sums;
  std::vector<std::vector<double>> columns;
  for (std::size_t k = 0; k < changes; ++k) {
    const SeenChange change = seen_of(k);
    std::vector<double> weighted(holes.size());
    double square = 0;  // x' W x
    double shared = 0;  // x' W y
    for (std::size_t i = 0; i < holes.size(); ++i) {
      const double x = change.at_holes[i];
      weighted[i] = precisions[i] * x;
      square += weighted[i] * x;
      shared += weighted[i] * (holes[i].value - 1 - change_at(holes[i]));
    }
    std::vector<double> column = transposed_product(hole_rows, weighted);
    if (const std::vector<double>& seen = change.by_crop; !seen.empty()) {
      const CropSides sides = sides_of(seen);
      square += crop_precision * squared(slope) * sides.squares;
      shared += crop_precision * slope *
                (dot(seen, crop_values) - (known.empty() ? 0 : slope * dot(seen, known)));
      for (std::size_t i = 0; i < column.size(); ++i)
        column[i] += crop_precision * slope * (slope * sides.water[i] + sides.rest[i]);
    }
    squares.push_back(square);
    shared_sums.push_back(shared);
    columns.push_back(std::move(column));
  }
  const std::vector<std::vector<double>> with = held(factor).solve(columns);
  std::vector<ResponseTest> tests(changes);
  for (std::size_t k = 0; k < changes; ++k) {
    const double information = squares[k] - dot(columns[k], with[k]);
    const double score = shared_sums[k] - dot(columns[k], found->mean);
    if (information > 0)
      tests[k] = {score / information, 1 / std::sqrt(information),
                  0.5 * squared(score) / information};
  }
  return tests;
}

std::vector<ResponseTest> ZoneModel::tested_responses(
    const ConditionParameters& parameters, std::span<const std::vector<double>> responses,
    std::span<const double> hole_weights, std::span<const std::uint8_t> by_crop) const {
  State& s = *state_;
  require(by_crop.empty() || by_crop.size() == responses.size(),
          "not every response says whether the crop is asked");
  const auto seen_of = [&](std::size_t k) {
    const std::vector<double>& response = responses[k];
    require(response.size() == at(s.grid.segments()), "a response has not all segments");
    State::SeenChange seen;
    for (const HoleDatum& hole : s.holes)
      seen.at_holes.push_back(response[at(s.grid.segment(hole.row, hole.station))]);
    if (by_crop.empty() || by_crop[k] != 0) seen.by_crop = product(s.crop_segments, response);
    return seen;
  };
  return s.tested(parameters, responses.size(), seen_of, hole_weights);
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
  ConditionEstimate out = s.parts_of(solved->mean);
  out.log_likelihood = solved->log_likelihood;
  const SelectedInverse inverse = held(s.factor).selected_inverse();
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

std::optional<MeanPull> ZoneModel::pull_of_mean(const ConditionParameters& parameters,
                                                std::span<const double> weights,
                                                std::span<const double> hole_weights) const {
  State& s = *state_;
  require(weights.size() == at(s.grid.segments()), "there is not one weight for each segment");
  const State::Solved* solved = s.solve(parameters, hole_weights);
  if (solved == nullptr) return {};
  const std::vector<double> sum = transposed_product(s.segment_rows, weights);
  std::vector<double> with = held(s.factor).solve(sum);
  MeanPull pull;
  pull.variance = dot(sum, with);
  pull.mean = 1 + dot(sum, solved->mean);
  if (!s.known_change.empty()) pull.mean += dot(weights, s.known_change);
  if (!(pull.variance > 0)) return {};
  for (double& moved : with) moved /= pull.variance;
  pull.moved = s.parts_of(with);
  return pull;
}

std::optional<HoleEstimate> ZoneModel::estimate_at_holes(
    const ConditionParameters& parameters, std::span<const double> hole_weights) const {
  State& s = *state_;
  const State::Solved* solved = s.solve(parameters, hole_weights);
  if (solved == nullptr) return {};
  HoleEstimate out;
  out.mean = product(s.hole_rows, solved->mean);
  std::vector<std::vector<double>> rows;
  for (std::size_t i = 0; i < s.holes.size(); ++i) {
    out.mean[i] += 1 + s.change_at(s.holes[i]);
    std::vector<double>& row = rows.emplace_back(solved->mean.size());
    for (std::size_t k = s.hole_rows.begins[i]; k < s.hole_rows.begins[i + 1]; ++k)
      row[at(s.hole_rows.columns_of[k])] = s.hole_rows.values[k];
  }
  for (const std::vector<double>& one : held(s.factor).solve(rows)) {
    const std::vector<double> with = product(s.hole_rows, one);
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
    std::vector<double> unknowns = held(s.factor).correlated(normals);
    for (std::size_t i = 0; i < unknowns.size(); ++i) unknowns[i] += mean[i];
    out.push_back(product(s.segment_rows, unknowns));
    for (std::size_t i = 0; i < out.back().size(); ++i)
      out.back()[i] += 1 + (s.known_change.empty() ? 0 : s.known_change[i]);
  }
  return out;
}

}  // namespace evendrip
