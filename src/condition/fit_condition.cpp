// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include <nlopt.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

namespace evendrip {
namespace {

constexpr double least_sd = 1e-3;
constexpr double most_sd = 1;
constexpr int most_evaluations = 250;
constexpr double close_enough = 1e-4;  ///< in the logarithm of the posterior
constexpr double first_step = 0.5;     ///< in logarithms of parameters
constexpr double impossible = -1e9;
constexpr double usual_response = 0.8;
constexpr double response_log_sd = 0.5;

/// A parameter that is fitted, with the median of its prior.
struct Fitted {
  double ConditionParameters::*value;
  double median;
};
constexpr std::array<Fitted, 8> deviations = {{{&ConditionParameters::along, 0.03},
                                               {&ConditionParameters::own, 0.03},
                                               {&ConditionParameters::group, 0.03},
                                               {&ConditionParameters::local, 0.03},
                                               {&ConditionParameters::emitter, 0.05},
                                               {&ConditionParameters::soil_short, 0.06},
                                               {&ConditionParameters::soil_long, 0.06},
                                               {&ConditionParameters::crop_error, 0.05}}};

double log_prior(const ConditionParameters& p) {
  double sum = 0;
  for (const Fitted& one : deviations) sum -= std::numbers::ln2 / one.median * p.*one.value;
  const double off = std::log(p.response / usual_response) / response_log_sd;
  return sum - 0.5 * off * off;
}

struct Search {
  const ZoneModel* model = nullptr;
  ConditionParameters start;
  std::span<const double> hole_weights;
  int evaluations = 0;

  ConditionParameters at(const std::vector<double>& x) const {
    ConditionParameters p = start;
    for (std::size_t i = 0; i < deviations.size(); ++i) p.*deviations[i].value = std::exp(x[i]);
    p.response = std::exp(x[deviations.size()]);
    return p;
  }
};

double objective(const std::vector<double>& x, std::vector<double>&, void* data) {
  auto& search = *static_cast<Search*>(data);
  ++search.evaluations;
  const ConditionParameters p = search.at(x);
  const auto likelihood = search.model->log_likelihood(p, search.hole_weights);
  return likelihood ? *likelihood + log_prior(p) : impossible;
}

}  // namespace

std::optional<ConditionFit> fit_condition(const ZoneModel& model, const ConditionParameters& start,
                                          std::span<const double> hole_weights) {
  Search search{&model, start, hole_weights, 0};
  const auto count = static_cast<unsigned>(deviations.size() + 1);
  std::vector<double> x;
  x.reserve(count);
  for (const Fitted& one : deviations)
    x.push_back(std::log(std::clamp(start.*one.value, 2 * least_sd, most_sd / 2)));
  x.push_back(std::log(start.response));
  std::vector<double> lower(count, std::log(least_sd));
  std::vector<double> upper(count, std::log(most_sd));
  lower.back() = std::log(usual_response / 8);
  upper.back() = std::log(usual_response * 8);
  nlopt::opt climb(nlopt::LN_BOBYQA, count);
  climb.set_max_objective(objective, &search);
  climb.set_lower_bounds(lower);
  climb.set_upper_bounds(upper);
  climb.set_initial_step(first_step);
  climb.set_ftol_abs(close_enough);
  climb.set_maxeval(most_evaluations);
  double best = impossible;
  try {
    climb.optimize(x, best);
  } catch (const nlopt::roundoff_limited&) {  // what it has is the best there is
  }
  if (!(best > impossible)) return {};
  return ConditionFit{search.at(x), best, search.evaluations};
}

}  // namespace evendrip
