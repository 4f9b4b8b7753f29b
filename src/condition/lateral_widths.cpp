// SPDX-License-Identifier: Apache-2.0
#include "lateral_widths.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

constexpr double degrees_before = 3;
constexpr int turns = 4;  ///< to the common width

double degrees_of(const LateralSquares& lateral) {
  return std::max(0.0, lateral.degrees);
}

/// Below 0 where a lateral differs less than its neighbours foretell.
double squares_of(const LateralSquares& lateral) {
  return std::max(0.0, lateral.squares);
}

/// Of a lateral's variance.
double settled_square(const LateralSquares& lateral) {
  return (degrees_before + squares_of(lateral)) / (degrees_before + degrees_of(lateral));
}

/// Of all laterals together, at least that of a typical one.
double common_square(const std::vector<LateralSquares>& laterals) {
  double squares = degrees_before;
  double degrees = degrees_before;
  for (const LateralSquares& lateral : laterals) {
    squares += squares_of(lateral);
    degrees += degrees_of(lateral);
  }
  return std::max(1.0, squares / degrees);
}

void set_common(ZoneModel& model, double width) {
  model.set_lateral_widths(
      std::vector<double>(static_cast<std::size_t>(model.grid().rows()), width));
}

}  // namespace

bool settle_widths(ZoneModel& model, const ConditionParameters& parameters) {
  const auto laterals = model.lateral_squares(parameters);
  if (!laterals) return false;
  std::vector<double> widths;
  for (const LateralSquares& lateral : *laterals)
    widths.push_back(std::sqrt(settled_square(lateral)));
  model.set_lateral_widths(std::move(widths));
  return true;
}

std::optional<double> log_over_widths(const ZoneModel& model,
                                      const ConditionParameters& parameters) {
  if (model.lateral_widths().empty()) return 0;
  const auto laterals = model.lateral_squares(parameters);
  if (!laterals) return {};
  constexpr double nu = degrees_before;
  double sum = 0;
  for (std::size_t i = 0; i < laterals->size(); ++i) {
    const double n = degrees_of((*laterals)[i]);
    const double squares = squares_of((*laterals)[i]);
    const double width = model.lateral_widths()[i];
    sum += std::lgamma((nu + n) / 2) - std::lgamma(nu / 2) + nu / 2 * std::log(nu / 2) -
           (nu + n) / 2 * std::log((nu + squares) / 2) + n * std::log(width) +
           squares / (2 * width * width);
  }
  return sum;
}

bool find_common_width(ZoneModel& model, ConditionParameters& parameters) {
  const std::vector<double> widths = model.lateral_widths();
  double width = 1;
  for (const double one : widths) width = std::max(width, one);
  bool solved = true;
  for (int turn = 0; turn < turns && solved; ++turn) {
    set_common(model, width);
    const auto laterals = model.lateral_squares(parameters);
    solved = laterals.has_value();
    if (solved) width = std::sqrt(common_square(*laterals));
  }
  model.set_lateral_widths(widths);
  parameters.common_width = width;
  return solved;
}

bool widen_unseen(ZoneModel& model, const ConditionParameters& parameters,
                  std::span<const double> hole_weights) {
  const auto laterals = model.lateral_squares(parameters, hole_weights);
  if (!laterals) return false;
  // What the data would tell of a lateral that differs.
  set_common(model, parameters.common_width);
  const auto wide = model.lateral_squares(parameters, hole_weights);
  if (!wide) return false;
  std::vector<double> widths;
  for (std::size_t i = 0; i < laterals->size(); ++i) {
    const double known = std::min(1.0, degrees_of((*wide)[i]));
    widths.push_back(std::sqrt(known * settled_square((*laterals)[i]) +
                               (1 - known) * parameters.common_width * parameters.common_width));
  }
  model.set_lateral_widths(std::move(widths));
  return true;
}

}  // namespace evendrip
