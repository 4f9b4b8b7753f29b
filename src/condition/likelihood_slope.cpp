// SPDX-License-Identifier: Apache-2.0
#include "zone_state.hpp"

#include <cmath>
#include <utility>

namespace evendrip {
namespace {

enum Fitted { along, own, group, local, emitter, soil_short, soil_long, crop_error, response };

std::vector<double> combined(double a, std::span<const double> x, double b,
                             std::span<const double> y) {
  std::vector<double> out(x.size());
  for (std::size_t i = 0; i < x.size(); ++i) out[i] = a * x[i] + b * y[i];
  return out;
}

}  // namespace

/// Derivatives by tr(S dQ) on the pattern and by squares of the mean, which need not be
/// differentiated: it makes them least. Information from working data: f_i of parameter i with
/// f_i' P f_j, P = N^-1 - N^-1 A S A' N^-1. For a part of the unknowns f = 2 A x, x its own mean,
/// and then P is had from Q x alone.
class SlopeOfZone {
 public:
  using State = ZoneModel::State;

  SlopeOfZone(const State& state, const ConditionParameters& parameters,
              std::span<const double> hole_weights, const State::Solved& solved)
      : s_(state),
        p_(parameters),
        x_(solved.mean),
        inverse_(held(state.factor).selected_inverse()),
        at_total_(inverse_.on_pattern()),
        hole_precisions_(state.hole_precisions(parameters, hole_weights)),
        crop_precision_(1 / squared(parameters.crop_error)) {
    if (s_.crop_count > 0) see_crop();
  }

  LikelihoodSlope slope() {
    part(along, State::along, p_.along);
    part(own, State::own, p_.own);
    part(group, State::group, p_.group);
    part(local, State::local, p_.local);
    part(soil_short, State::soil_short, p_.soil_short);
    part(soil_long, State::soil_long, p_.soil_long);
    emitters();
    if (s_.crop_count > 0) crop();
    inform();
    return out_;
  }

 private:
  /// Working data of a parameter: A' N^-1 f, and S times it or, for parts, S times Q x.
  struct Working {
    bool is_part = false;
    std::vector<double> side;
    std::vector<double> solved;
  };

  void see_crop() {
    water_ = product(s_.matrices[State::water_water], x_);
    cross_ = product(s_.matrices[State::water_rest], x_);
    rest_ = product(s_.matrices[State::rest_rest], x_);
    // What the known change adds to the water that the crop sees.
    if (s_.knows_of_crop()) {
      water_seen_ = combined(1, water_, 1, s_.change_sides.water);
      cross_seen_ = combined(1, cross_, 1, s_.change_sides.rest);
      changes_ = s_.change_sides;
    } else {
      water_seen_ = water_;
      cross_seen_ = cross_;
      changes_ = {std::vector<double>(x_.size(), 0), std::vector<double>(x_.size(), 0), 0};
    }
  }

  void part(Fitted which, State::Term term, double sd) {
    std::vector<double> own_mean(x_.size(), 0);
    const SparseMatrix& matrix = s_.matrices[term];
    for (std::size_t i = 0; i < own_mean.size(); ++i)
      if (matrix.begins[i + 1] > matrix.begins[i]) own_mean[i] = 2 * x_[i];
    std::vector<double> side = product(matrix, own_mean);
    for (double& v : side) v /= squared(sd);
    const double squares = dot(side, own_mean);  // 4 x' Q x
    const double trace = held(s_.sum).inner(term, matrix.values, at_total_) / squared(sd);
    out_.slope[which] = trace + squares / 4 - s_.sizes[term];
    out_.information[which][which] = 0.5 * squares;
    working_[which] = {true, std::move(side), {}};
  }

  void emitters() {
    std::vector<double> weighted(s_.holes.size());
    for (std::size_t i = 0; i < s_.holes.size(); ++i) {
      const HoleDatum& hole = s_.holes[i];
      const std::size_t begin = s_.hole_rows.begins[i];
      const auto columns =
          std::span(s_.hole_rows.columns_of).subspan(begin, s_.hole_rows.begins[i + 1] - begin);
      const auto values = std::span(s_.hole_rows.values).subspan(begin, columns.size());
      double fitted = 0;
      for (std::size_t k = 0; k < columns.size(); ++k)
        fitted += values[k] * x_[static_cast<std::size_t>(columns[k])];
      const double left = hole.value - 1 - s_.change_at(hole) - fitted;
      const double share = squared(p_.emitter) / (squared(p_.emitter) + hole.noise_variance);
      const double squares = inverse_.quadratic_form(columns, values) + squared(left);
      out_.slope[emitter] += share * (hole_precisions_[i] * squares - 1);
      weighted[i] = hole_precisions_[i] * 2 * share * left;
      out_.information[emitter][emitter] += 0.5 * weighted[i] * 2 * share * left;
      hole_water_.push_back(hole_precisions_[i] * fitted);
      hole_water_squares_ += hole_precisions_[i] * squared(fitted);
      emitters_by_water_ += weighted[i] * fitted;
    }
    set(emitter, transposed_product(s_.hole_rows, weighted));
  }

  void crop() {
    const double slope = p_.response;
    const double by_change = dot(x_, changes_.water);
    // Squares of the water that the crop sees, and of what is left of its values.
    const double water_squares = dot(x_, water_) + 2 * by_change + changes_.squares;
    const double value_by_water = dot(x_, s_.value_sides.water) + s_.values_by_changes;
    const double rest_by_water = 0.5 * dot(x_, cross_) + dot(x_, changes_.rest);
    const double rest_squares = dot(x_, rest_);
    const double left_by_water = value_by_water - slope * water_squares - rest_by_water;
    const double left_squares = s_.value_sides.squares + squared(slope) * water_squares +
                                rest_squares - 2 * slope * value_by_water -
                                2 * dot(x_, s_.value_sides.rest) + 2 * slope * rest_by_water;
    const auto trace = [&](State::Term term) {
      return held(s_.sum).inner(term, s_.matrices[term].values, at_total_);
    };
    const double water = squared(slope) * trace(State::water_water);
    const double cross = slope * trace(State::water_rest);
    out_.slope[crop_error] =
        crop_precision_ * (water + cross + trace(State::rest_rest) + left_squares) -
        static_cast<double>(s_.crop_count);
    out_.slope[response] = crop_precision_ * (slope * left_by_water - water - 0.5 * cross);
    out_.information[crop_error][crop_error] = 2 * crop_precision_ * left_squares;
    out_.information[response][response] =
        0.5 * (4 * squared(slope) * crop_precision_ * water_squares + hole_water_squares_);
    out_.information[crop_error][response] = out_.information[response][crop_error] =
        2 * slope * crop_precision_ * left_by_water;
    out_.information[emitter][response] = out_.information[response][emitter] =
        0.5 * emitters_by_water_;
    work_crop(slope);
  }

  void work_crop(double slope) {
    std::vector<double> left(x_.size());
    std::vector<double> seen(x_.size());
    const auto first_rest = static_cast<std::size_t>(s_.places.crop_level);
    for (std::size_t i = 0; i < x_.size(); ++i) {
      left[i] = 2 * crop_precision_ *
                (slope * s_.value_sides.water[i] + s_.value_sides.rest[i] -
                 squared(slope) * water_seen_[i] - slope * cross_seen_[i] - rest_[i]);
      seen[i] = 2 * slope * crop_precision_ *
                (slope * water_seen_[i] + (i < first_rest ? 0 : cross_seen_[i]));
    }
    set(crop_error, std::move(left));
    const std::vector<double> at_holes = transposed_product(s_.hole_rows, hole_water_);
    set(response, combined(1, seen, 1, at_holes));
  }

  void set(Fitted which, std::vector<double> side) {
    working_[which] = {false, std::move(side), {}};
  }

  void solve_sides() {
    std::vector<std::vector<double>> sides;
    for (const Working& one : working_)
      if (!one.side.empty()) sides.push_back(one.side);
    std::vector<std::vector<double>> solved = held(s_.factor).solve(sides);
    auto next = solved.begin();
    for (Working& one : working_)
      if (!one.side.empty()) one.solved = std::move(*next++);
  }

  void inform() {
    solve_sides();
    for (std::size_t i = 0; i < fitted_count; ++i)
      for (std::size_t j = 0; j < fitted_count; ++j) {
        const Working& a = working_[i];
        const Working& b = working_[j];
        if (a.side.empty() || b.side.empty()) continue;
        const double both = a.is_part == b.is_part ? -dot(a.side, b.solved)
                            : a.is_part            ? dot(a.solved, b.side)
                                                   : dot(a.side, b.solved);
        out_.information[i][j] += 0.5 * both;
      }
  }

  const State& s_;
  const ConditionParameters& p_;
  const std::vector<double>& x_;
  SelectedInverse inverse_;
  std::vector<double> at_total_;
  std::vector<double> hole_precisions_;
  double crop_precision_ = 0;
  std::vector<double> water_, cross_, rest_, water_seen_, cross_seen_, hole_water_;
  CropSides changes_;
  double hole_water_squares_ = 0;
  double emitters_by_water_ = 0;
  std::array<Working, fitted_count> working_;
  LikelihoodSlope out_;
};

std::optional<LikelihoodSlope> ZoneModel::slope_at(const ConditionParameters& parameters,
                                                   std::span<const double> hole_weights) const {
  const State::Solved* solved = state_->solve(parameters, hole_weights);
  if (solved == nullptr) return {};
  LikelihoodSlope out = SlopeOfZone(*state_, parameters, hole_weights, *solved).slope();
  out.log_likelihood = solved->log_likelihood;
  return out;
}

}  // namespace evendrip
