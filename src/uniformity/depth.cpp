// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/depth.hpp"

#include <fmt/format.h>
#include <boost/math/distributions/normal.hpp>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

// Shares that agree to this many places are one share: cumulated weights carry rounding.
constexpr double share_rounding = 1e-9;
// mm over 1 ha.
constexpr double m3_per_mm_ha = 10;

const boost::math::normal_distribution<double> unit_normal;

struct Weighted {
  double discharge_lph = 0;
  double share = 0;
};

/// Lowest first, shares adding up to 1.
std::vector<Weighted> sorted_shares(std::span<const double> discharges,
                                    std::span<const double> weights) {
  std::vector<Weighted> sorted;
  double sum = 0;
  for (std::size_t i = 0; i < discharges.size(); ++i) {
    sorted.push_back({discharges[i], weights.empty() ? 1 : weights[i]});
  }
  std::sort(sorted.begin(), sorted.end(), [](const Weighted& a, const Weighted& b) {
    return std::pair(a.discharge_lph, a.share) < std::pair(b.discharge_lph, b.share);
  });
  for (const Weighted& emitter : sorted) sum += emitter.share;
  for (Weighted& emitter : sorted) emitter.share /= sum;
  return sorted;
}

std::string not_usable(std::span<const double> discharges, std::span<const double> weights) {
  if (discharges.empty()) return "no emitter has a discharge";
  const auto bad = [](double v) { return !std::isfinite(v) || v < 0; };
  if (std::any_of(discharges.begin(), discharges.end(), bad)) {
    return "a discharge is negative or not finite";
  }
  if (std::any_of(weights.begin(), weights.end(), [&](double w) { return bad(w) || w == 0; })) {
    return "the area of an emitter is not above 0";
  }
  return "";
}

struct Spread {
  double mean = 0;
  double cv = 0;
};

/// Mean and CV by share, the variance as with n - 1; of the emitters that run if asked.
Spread spread_of(std::span<const Weighted> sorted) {
  double share = 0;
  double sum = 0;
  for (const Weighted& e : sorted) {
    share += e.share;
    sum += e.share * e.discharge_lph;
  }
  Spread spread;
  spread.mean = sum / share;
  if (sorted.size() < 2 || !(spread.mean > 0)) return spread;
  double squares = 0;
  for (const Weighted& e : sorted) {
    squares += e.share * (e.discharge_lph - spread.mean) * (e.discharge_lph - spread.mean);
  }
  const auto n = static_cast<double>(sorted.size());
  spread.cv = std::sqrt(squares / share * n / (n - 1)) / spread.mean;
  return spread;
}

/// The distribution of relative discharge: a plugged share and a normal rest, or the sample.
struct Distribution {
  DepthModel model = DepthModel::normal;
  double plugged = 0;
  double mean = 1;               ///< of the rest, over the mean of all
  double sd = 0;                 ///< likewise
  std::vector<Weighted> sample;  ///< relative
};

/// Depth above and below the need of the part that is normal, for a mean depth over the need.
struct Missed {
  double excess = 0;
  double deficit = 0;
  double short_share = 0;
};

Missed missed_by_normal(double mean, double sd) {
  if (!(sd > 0)) {
    return {std::max(0.0, mean - 1), std::max(0.0, 1 - mean),
            mean < 1 - share_rounding ? 1.0 : 0.0};
  }
  const double d = (mean - 1) / sd;
  const double density = pdf(unit_normal, d);
  return {sd * density + (mean - 1) * cdf(unit_normal, d),
          sd * density - (mean - 1) * cdf(unit_normal, -d), cdf(unit_normal, -d)};
}

Missed missed(const Distribution& distribution, double factor) {
  if (distribution.model != DepthModel::empirical) {
    const double rest = 1 - distribution.plugged;
    const Missed normal = missed_by_normal(factor * distribution.mean, factor * distribution.sd);
    return {rest * normal.excess, rest * normal.deficit + distribution.plugged,
            rest * normal.short_share + distribution.plugged};
  }
  Missed total;
  for (const Weighted& e : distribution.sample) {
    const double depth = factor * e.discharge_lph;
    total.excess += e.share * std::max(0.0, depth - 1);
    total.deficit += e.share * std::max(0.0, 1 - depth);
    if (depth < 1 - share_rounding) total.short_share += e.share;
  }
  return total;
}

/// Relative discharge that a share of the plants reaches or exceeds; not above 0 if there is none.
double reached_by(const Distribution& distribution, double served) {
  if (distribution.model == DepthModel::empirical) {
    double below = 0;
    for (const Weighted& e : distribution.sample) {
      below += e.share;
      if (below > 1 - served + share_rounding) return e.discharge_lph;
    }
    return distribution.sample.back().discharge_lph;
  }
  const double rest = 1 - distribution.plugged;
  if (served >= rest - share_rounding) return 0;
  return distribution.mean - quantile(unit_normal, served / rest) * distribution.sd;
}

std::string why_impossible(const Distribution& distribution, double served) {
  if (1 - distribution.plugged <= served + share_rounding) {
    return fmt::format("{:.3g} % of the plants get no water: no depth serves {:.3g} %",
                       100 * distribution.plugged, 100 * served);
  }
  return fmt::format(
      "discharges vary so much that the normal distribution gives no depth that "
      "serves {:.3g} %",
      100 * served);
}

void add_depths(DepthFactor& factor, const DepthOptions& options) {
  if (!options.season_need_mm) return;
  const double need_mm = *options.season_need_mm;
  factor.gross_mm = factor.factor * need_mm;
  factor.excess_mm = factor.excess_frac * need_mm;
  factor.deficit_mm = factor.deficit_frac * need_mm;
  if (options.area_ha) factor.excess_m3 = *factor.excess_mm * *options.area_ha * m3_per_mm_ha;
}

DepthFactor at_factor(const Distribution& distribution, double served, double factor,
                      const DepthOptions& options) {
  DepthFactor result;
  result.model = distribution.model;
  result.possible = true;
  result.factor = factor;
  const Missed parts = missed(distribution, factor);
  result.excess_frac = parts.excess;
  result.deficit_frac = parts.deficit;
  result.short_share_frac = parts.short_share;
  result.served_frac = served > 0 ? served : 1 - parts.short_share;
  add_depths(result, options);
  return result;
}

DepthFactor serving(const Distribution& distribution, double served, const DepthOptions& options) {
  const double reached = reached_by(distribution, served);
  if (reached > share_rounding) return at_factor(distribution, served, 1 / reached, options);
  DepthFactor result;
  result.model = distribution.model;
  result.served_frac = served;
  result.why_not = why_impossible(distribution, served);
  return result;
}

std::vector<SortedDischarge> sorted_steps(const std::vector<Weighted>& sorted,
                                          const Spread& spread) {
  std::vector<SortedDischarge> steps;
  double from = 0;
  for (const Weighted& e : sorted) {
    SortedDischarge step;
    step.share_from_frac = from;
    step.share_to_frac = steps.size() + 1 == sorted.size() ? 1 : from + e.share;
    step.discharge_lph = e.discharge_lph;
    step.relative = e.discharge_lph / spread.mean;
    const double z = quantile(unit_normal, from + 0.5 * e.share);
    step.normal_relative = std::max(0.0, 1 + z * spread.cv);
    from = step.share_to_frac;
    steps.push_back(step);
  }
  return steps;
}

std::vector<Distribution> distributions_of(const std::vector<Weighted>& sorted,
                                           const DepthResult& result, const Spread& running) {
  Distribution normal;
  normal.sd = result.cv;
  Distribution two_part;
  two_part.model = DepthModel::two_part;
  two_part.plugged = result.plugged_frac;
  two_part.mean = running.mean / result.mean_lph;
  two_part.sd = running.cv * two_part.mean;
  Distribution empirical;
  empirical.model = DepthModel::empirical;
  empirical.plugged = result.plugged_frac;
  empirical.sample = sorted;
  for (Weighted& e : empirical.sample) e.discharge_lph /= result.mean_lph;
  return {normal, two_part, empirical};
}

std::string remark_on(std::size_t emitters, const DepthOptions& options) {
  if (emitters == 1) return "one emitter: nothing can be concluded about the others";
  const double most = *std::max_element(options.served_frac.begin(), options.served_frac.end());
  const auto needed = static_cast<int>(std::ceil(1 / (1 - most) - share_rounding));
  if (static_cast<int>(emitters) >= needed) return "";
  return fmt::format(
      "{} emitters are too few to show by themselves what serves {:.3g} %: the "
      "empirical factor there rests on the lowest one",
      emitters, 100 * most);
}

void require(std::span<const double> discharges, std::span<const double> weights,
             const DepthOptions& options) {
  if (!weights.empty() && weights.size() != discharges.size()) {
    throw std::invalid_argument("discharges and areas differ in number");
  }
  for (const double share : options.served_frac) {
    if (!(share > 0 && share < 1)) throw std::invalid_argument("a share is not inside 0 to 1");
  }
  for (const auto& value : {options.season_need_mm, options.area_ha}) {
    if (value && !(std::isfinite(*value) && *value >= 0)) {
      throw std::invalid_argument("the season's need or the area is negative or not finite");
    }
  }
}

}  // namespace

std::string to_text(DepthModel model) {
  switch (model) {
    case DepthModel::two_part:
      return "plugged share and normal rest";
    case DepthModel::empirical:
      return "as measured";
    case DepthModel::normal:
      break;
  }
  return "normal";
}

DepthResult depth_result(std::span<const double> discharges_lph,
                         std::span<const double> area_weights, const DepthOptions& options) {
  require(discharges_lph, area_weights, options);
  DepthResult result;
  result.why_not = not_usable(discharges_lph, area_weights);
  if (!result.why_not.empty()) return result;
  const std::vector<Weighted> sorted = sorted_shares(discharges_lph, area_weights);
  const Spread all = spread_of(sorted);
  if (!(all.mean > 0)) {
    result.why_not = "no emitter gives water: no depth serves any plant";
    return result;
  }
  const auto runs = std::find_if(sorted.begin(), sorted.end(),
                                 [](const Weighted& e) { return e.discharge_lph > 0; });
  for (auto it = sorted.begin(); it != runs; ++it) result.plugged_frac += it->share;
  const Spread running = spread_of({runs, sorted.end()});
  result.mean_lph = all.mean;
  result.cv = all.cv;
  result.running_cv = running.cv;
  const std::vector<Distribution> distributions = distributions_of(sorted, result, running);
  for (const Distribution& distribution : distributions) {
    result.uncorrected.push_back(at_factor(distribution, 0, 1, options));
  }
  for (const double served : options.served_frac) {
    for (const Distribution& distribution : distributions) {
      result.factors.push_back(serving(distribution, served, options));
    }
  }
  result.sorted = sorted_steps(sorted, all);
  if (!options.served_frac.empty()) result.remark = remark_on(sorted.size(), options);
  result.computed = true;
  return result;
}

std::optional<double> normal_depth_factor(double cv, double served_frac) {
  if (!(cv >= 0) || !(served_frac > 0 && served_frac < 1)) return std::nullopt;
  const double reached = 1 - quantile(unit_normal, served_frac) * cv;
  if (!(reached > 0)) return std::nullopt;
  return 1 / reached;
}

std::optional<double> low_quarter_run_time_factor(double low_quarter_frac) {
  if (!(low_quarter_frac > 0)) return std::nullopt;
  return 1 / low_quarter_frac;
}

std::optional<double> landscape_run_time_factor(double low_quarter_frac) {
  if (!(low_quarter_frac > 0)) return std::nullopt;
  return 1 / (0.4 + 0.6 * low_quarter_frac);
}

}  // namespace evendrip
