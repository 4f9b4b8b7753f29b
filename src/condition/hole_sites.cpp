// SPDX-License-Identifier: Apache-2.0
#include "hole_sites.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

namespace evendrip {
namespace {

constexpr int most_turns = 10;
constexpr double settled_value = 1e-3;
constexpr double step = 0.7;  ///< of a site towards what it should be
constexpr double first_sd = 0.25;
constexpr int places_tried = 121;
constexpr double furthest = 5;       ///< standard deviations
constexpr double least_said = 0.02;  ///< precision of a site over that of all else
constexpr double most_above = 1;     ///< of a site over what the others tell
constexpr std::array<double, 5> pluggings = {0, 0.25, 0.5, 0.75, 1};
constexpr std::array<double, 5> spreads = {0.003, 0.03, 0.1, 1.0 / 3, 0.6};

/// Chance before that emitters are plugged one by one and yet keep company: what befell a place is
/// likelier to have taken water from all of them. Common practice, no source.
constexpr double in_company = 0.01;

/// What the other data say of a hole's place.
struct Cavity {
  double mean = 1;
  double variance = first_sd * first_sd;
  double passed = 1;
};

/// A hole with them.
struct Told {
  double probability = 0;  ///< density of what was caught
  double mean = 1;
  double variance = 0;
  double plugged = 0;    ///< chance
  double by_chance = 0;  ///< that it is plugged by chance alone
};

/// By quadrature over the delivery of the place.
Told told_by(const Clogging& clogging, const Cavity& others, double variance, double caught) {
  const double sd = std::sqrt(others.variance);
  // Fine enough for what a sound emitter says.
  const double reach = furthest * sd;
  const int places =
      std::clamp(static_cast<int>(8 * reach / std::sqrt(variance)), places_tried, 601);
  const double stuck = caught < clogging.plugged_below ? 1 / clogging.plugged_below : 0;
  double weights = 0;
  double sum = 0;
  double first = 0;
  double second = 0;
  double plugged = 0;
  double by_chance = 0;
  for (int k = 0; k < places; ++k) {
    const double z = furthest * (2.0 * k / (places - 1) - 1);
    const double prior = std::exp(-0.5 * z * z);
    const PlaceDelivery place{others.mean + sd * z, others.passed};
    const double density = discharge_density(
        clogging, {std::max(0.0, place.delivery), place.passed}, variance, caught);
    const double chance = plugged_chance(clogging, place);
    weights += prior;
    sum += prior * density;
    first += prior * density * z;
    second += prior * density * z * z;
    plugged += prior * chance * stuck;
    by_chance += prior * clogging.share * stuck;
  }
  Told told;
  told.probability = std::max(sum / weights, std::numeric_limits<double>::min());
  if (!(sum > 0)) return {told.probability, others.mean, others.variance, 1, 1};
  const double mean = first / sum;
  told.mean = others.mean + sd * mean;
  told.variance = others.variance * std::max(1e-6, second / sum - mean * mean);
  told.plugged = plugged / sum;
  told.by_chance = by_chance / sum;
  return told;
}

/// The normal measurement that moves the place as the hole does. One that says next to nothing has
/// to lie far off for that; far above, it would pull upwards, beyond any hole, where others say
/// less.
HoleSite site_of(const Told& told, const Cavity& others, double variance) {
  const double up = std::clamp(told.mean - others.mean, 0.0, most_above / 2);
  const double least = std::max(least_said, up / (most_above - up));
  const double precision =
      std::max(1 / told.variance - 1 / others.variance, least / others.variance);
  HoleSite site;
  site.extra_variance = std::max(0.0, 1 / precision - variance);
  const double held = 1 / (variance + site.extra_variance);
  site.value = others.mean + (told.mean - others.mean) * (1 + 1 / (held * others.variance));
  return site;
}

std::vector<Cavity> cavities(const ZoneModel& model, const ConditionParameters& parameters,
                             const HoleEstimate& estimate) {
  const std::vector<HoleDatum>& sites = model.hole_sites();
  std::vector<Cavity> out;
  out.reserve(sites.size());
  for (std::size_t i = 0; i < sites.size(); ++i) {
    const double variance = estimate.covariance[i * sites.size() + i];
    const double own = 1 / own_variance(parameters, sites[i]);
    const double others = std::max(1 / variance - own, 1e-6 / variance);
    out.push_back({(estimate.mean[i] / variance - own * sites[i].value) / others, 1 / others,
                   passed_at(model, model.hole_data()[i])});
  }
  return out;
}

/// Shares and spreads that make the holes likely, each foretold by the others: their mean by how
/// likely, all alike before; of spreads, which are tried by factors, the geometric one.
void learn(const ZoneModel& model, const ConditionParameters& parameters,
           const std::vector<Cavity>& others, Clogging& clogging) {
  std::array<double, pluggings.size() * spreads.size()> values{};
  for (std::size_t a = 0; a < values.size(); ++a) {
    Clogging tried = clogging;
    tried.plugging = pluggings[a / spreads.size()];
    tried.spread = spreads[a % spreads.size()];
    for (std::size_t i = 0; i < others.size(); ++i) {
      const HoleDatum& hole = model.hole_data()[i];
      values[a] += std::log(
          told_by(tried, others[i], own_variance(parameters, hole), hole.value).probability);
    }
  }
  const double most = *std::max_element(values.begin(), values.end());
  double sum = 0;
  double plugging = 0;
  double spread = 0;
  for (std::size_t a = 0; a < values.size(); ++a) {
    const double weight = std::exp(values[a] - most);
    sum += weight;
    plugging += weight * pluggings[a / spreads.size()];
    spread += weight * std::log(spreads[a % spreads.size()]);
  }
  clogging.plugging = plugging / sum;
  clogging.spread = std::exp(spread / sum);
}

Clogging not_learned(double plugged_below) {
  Clogging clogging;
  clogging.plugged_below = plugged_below;
  // Places are not known yet: emitters of a clogged one would be told to differ everywhere.
  clogging.plugging = clogging.spread = 0;
  return clogging;
}

std::vector<PluggedHole> plugged_or_not(const ZoneModel& model,
                                        const ConditionParameters& parameters,
                                        const Clogging& clogging,
                                        const std::vector<Cavity>& others) {
  Clogging by_place = clogging;
  by_place.share = 0;
  std::vector<PluggedHole> out;
  out.reserve(others.size());
  for (std::size_t i = 0; i < others.size(); ++i) {
    const HoleDatum& hole = model.hole_data()[i];
    out.push_back(
        {hole.row, hole.station, hole.value,
         hole.value < clogging.plugged_below ? 1 / clogging.plugged_below : 0,
         told_by(by_place, others[i], own_variance(parameters, hole), hole.value).probability});
  }
  return out;
}

/// Likelihood of what was caught, in logarithms, plugged emitters anywhere or in company.
double log_caught(const SegmentGrid& grid, const std::vector<PluggedHole>& holes,
                  const Clogging& clogging) {
  double anywhere = 0;
  for (const PluggedHole& hole : holes)
    anywhere += std::log(clogging.share * hole.if_plugged + (1 - clogging.share) * hole.if_not);
  if (!any_plugged(holes)) return anywhere;
  const double together = log_evidence_of_company(grid, holes);
  const double most = std::max(anywhere, together);
  return most + std::log((1 - in_company) * std::exp(anywhere - most) +
                         in_company * std::exp(together - most));
}

}  // namespace

double own_variance(const ConditionParameters& parameters, const HoleDatum& hole) {
  return parameters.emitter * parameters.emitter + hole.noise_variance;
}

double passed_at(const ZoneModel& model, const HoleDatum& hole) {
  const std::vector<double>& change = model.known_change();
  const auto segment = static_cast<std::size_t>(model.grid().segment(hole.row, hole.station));
  return change.empty() ? 1 : std::max(0.0, 1 + change[segment]);
}

HoleSite site_given(const Clogging& clogging, const PlaceDelivery& mean, double place_variance,
                    double variance, double caught) {
  const Cavity others{mean.delivery, place_variance, mean.passed};
  return site_of(told_by(clogging, others, variance, caught), others, variance);
}

HoleSites first_sites(const ZoneModel& model, const ConditionParameters& parameters,
                      double plugged_below) {
  HoleSites out;
  out.clogging = not_learned(plugged_below);
  for (const HoleDatum& hole : model.hole_data()) {
    const Cavity before{passed_at(model, hole), first_sd * first_sd, passed_at(model, hole)};
    const double variance = own_variance(parameters, hole);
    const Told told = told_by(out.clogging, before, variance, hole.value);
    out.sites.push_back(site_of(told, before, variance));
    out.plugged.push_back(told.plugged);
    out.by_chance.push_back(told.by_chance);
  }
  return out;
}

HoleSites sites_as_caught(const ZoneModel& model, double plugged_below) {
  HoleSites out;
  out.clogging = not_learned(plugged_below);
  for (const HoleDatum& hole : model.hole_data()) out.sites.push_back({hole.value, 0});
  out.plugged.assign(out.sites.size(), 0.0);
  out.by_chance.assign(out.sites.size(), 0.0);
  return out;
}

bool settle_sites(ZoneModel& model, const ConditionParameters& parameters, HoleSites& sites) {
  if (model.holes() == 0) return true;
  for (int turn = 0; turn < most_turns; ++turn) {
    const auto estimate = model.estimate_at_holes(parameters);
    if (!estimate) return false;
    const std::vector<Cavity> others = cavities(model, parameters, *estimate);
    learn(model, parameters, others, sites.clogging);
    double moved = 0;
    for (std::size_t i = 0; i < others.size(); ++i) {
      const HoleDatum& hole = model.hole_data()[i];
      const double variance = own_variance(parameters, hole);
      const Told told = told_by(sites.clogging, others[i], variance, hole.value);
      const HoleSite next = site_of(told, others[i], variance);
      HoleSite& site = sites.sites[i];
      // In precisions, so that each step lies between two sites.
      const double was = 1 / (variance + site.extra_variance);
      const double will = 1 / (variance + next.extra_variance);
      const double held = (1 - step) * was + step * will;
      const double value = ((1 - step) * was * site.value + step * will * next.value) / held;
      moved = std::max(moved, std::abs(value - site.value) * held * others[i].variance);
      site = {value, std::max(0.0, 1 / held - variance)};
      sites.plugged[i] = told.plugged;
      sites.by_chance[i] = told.by_chance;
    }
    model.set_hole_sites(sites.sites);
    if (moved < settled_value) break;
  }
  return true;
}

std::optional<std::vector<PluggedHole>> plugged_or_not(const ZoneModel& model,
                                                       const ConditionParameters& parameters,
                                                       const Clogging& clogging) {
  if (model.holes() == 0) return std::vector<PluggedHole>{};
  const auto estimate = model.estimate_at_holes(parameters);
  if (!estimate) return {};
  return plugged_or_not(model, parameters, clogging, cavities(model, parameters, *estimate));
}

std::optional<double> log_over_sites(const ZoneModel& model, const ConditionParameters& parameters,
                                     const Clogging& clogging) {
  if (model.holes() == 0) return 0;
  const auto estimate = model.estimate_at_holes(parameters);
  if (!estimate) return {};
  const std::vector<Cavity> others = cavities(model, parameters, *estimate);
  double sum =
      log_caught(model.grid(), plugged_or_not(model, parameters, clogging, others), clogging);
  for (std::size_t i = 0; i < others.size(); ++i) {
    const HoleDatum& site = model.hole_sites()[i];
    const double variance = others[i].variance + own_variance(parameters, site);
    const double off = site.value - others[i].mean;
    sum += 0.5 * (std::log(2 * std::numbers::pi * variance) + off * off / variance);
  }
  return sum;
}

}  // namespace evendrip
