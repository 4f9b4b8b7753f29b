// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/crop_gate.hpp"

#include "hole_sites.hpp"
#include "lateral_widths.hpp"

#include <fmt/format.h>
#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <utility>

namespace evendrip {
namespace {

constexpr std::size_t fewest_laterals = 3;
constexpr double next_to_nothing = 1e-6;  ///< of the precision of holes left out
constexpr int ranked_steps = 120;
constexpr double sure_gain = 2.995732273553991;  ///< logarithm of 20

std::set<int> dug_rows(const std::vector<HoleDatum>& holes) {
  std::set<int> rows;
  for (const HoleDatum& hole : holes) rows.insert(hole.row);
  return rows;
}

std::vector<std::size_t> holes_on(const std::vector<HoleDatum>& holes, int row) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < holes.size(); ++i)
    if (holes[i].row == row) out.push_back(i);
  return out;
}

/// Delivery of the places of some holes as the others tell it.
struct Forecast {
  Eigen::VectorXd mean;
  Eigen::MatrixXd covariance;
};
std::optional<Forecast> without(ZoneModel& model, const ConditionParameters& parameters,
                                const std::vector<std::size_t>& out) {
  std::vector<double> weights(model.holes(), 1.0);
  for (const std::size_t i : out) weights[i] = next_to_nothing;
  // The lateral's own holes told its width.
  if (!model.lateral_widths().empty() && !widen_unseen(model, parameters, weights)) return {};
  const auto left = model.estimate_at_holes(parameters, weights);
  if (!left) return {};
  const auto n = static_cast<Eigen::Index>(out.size());
  Forecast forecast{Eigen::VectorXd(n), Eigen::MatrixXd(n, n)};
  for (Eigen::Index a = 0; a < n; ++a) {
    const std::size_t i = out[static_cast<std::size_t>(a)];
    forecast.mean(a) = left->mean[i];
    for (Eigen::Index b = 0; b < n; ++b)
      forecast.covariance(a, b) =
          left->covariance[i * model.holes() + out[static_cast<std::size_t>(b)]];
  }
  return forecast;
}

/// What one of them tells of the others.
void learn(Forecast& forecast, Eigen::Index hole, const HoleSite& site, double variance) {
  const Eigen::VectorXd column = forecast.covariance.col(hole);
  const Eigen::VectorXd gain = column / (column(hole) + variance + site.extra_variance);
  forecast.mean += gain * (site.value - forecast.mean(hole));
  forecast.covariance -= gain * column.transpose();
}

/// Integral of the squared difference between what was foretold and what came, by midpoints.
double ranked_score(const Clogging& clogging, const PlaceDelivery& place, double place_variance,
                    double variance, double caught) {
  const double highest =
      std::max(caught, place.delivery + 5 * std::sqrt(place_variance + variance)) + 0.1;
  const double step = highest / ranked_steps;
  double sum = 0;
  for (int k = 0; k < ranked_steps; ++k) {
    const double x = (k + 0.5) * step;
    const double off =
        chance_below(clogging, place, place_variance, variance, x) - (x > caught ? 1 : 0);
    sum += off * off * step;
  }
  return sum;
}

std::size_t segment_of(const ZoneModel& model, const HoleDatum& hole) {
  return static_cast<std::size_t>(model.grid().segment(hole.row, hole.station));
}

/// Where emitters are plugged, by the holes of the other laterals.
PluggedPlaces places_without(int row, const ZoneModel& model, const Clogging& clogging,
                             const std::vector<PluggedHole>& holes) {
  PluggedPlaces as_anywhere;
  as_anywhere.anywhere = clogging.share;
  std::vector<PluggedHole> others;
  for (const PluggedHole& hole : holes)
    if (hole.row != row) others.push_back(hole);
  if (!any_plugged(others)) return as_anywhere;
  return plugged_places(model.grid(), others, clogging.plugged_below);
}

std::string not_verified(std::size_t dug_laterals) {
  return fmt::format(
      "holes on {} cannot verify what the crop says of the water, those on {} laterals can: the "
      "holes alone",
      dug_laterals == 1 ? std::string("one lateral") : fmt::format("{} laterals", dug_laterals),
      fewest_laterals);
}

/// How the holes judge the crop.
std::string compared(const ZoneJudgement& judged) {
  return fmt::format(
      "laterals left out are foretold to {:.3f} (root mean square) with it and to {:.3f} without "
      "it; the log score of a hole gains {:.2f} (standard error {:.2f}), which is {}",
      judged.with_crop.rmse, judged.without_crop.rmse, judged.gain, judged.gain_error,
      judged.crop_used ? "better"
      : judged.with_crop.ranked < judged.without_crop.ranked
          ? "no better by more than its error"
          : fmt::format("no better: what was caught lies farther from it (ranked probability score "
                        "{:.3f}, without it {:.3f})",
                        judged.with_crop.ranked, judged.without_crop.ranked));
}

}  // namespace

LeftOutScore laterals_left_out(const ZoneModel& model, const ConditionParameters& parameters,
                               const Clogging& clogging) {
  const std::vector<HoleDatum>& holes = model.hole_data();
  LeftOutScore not_foretold;
  not_foretold.log_scores.assign(holes.size(), 0);
  LeftOutScore score = not_foretold;
  ZoneModel left(model);
  const std::vector<double>& widths = model.lateral_widths();
  const auto each_hole = plugged_or_not(model, parameters, clogging);
  if (!each_hole) return not_foretold;
  double squares = 0;
  for (const int row : dug_rows(holes)) {
    const std::vector<std::size_t> out = holes_on(holes, row);
    left.set_lateral_widths(widths);
    const PluggedPlaces places = places_without(row, model, clogging, *each_hole);
    if (model.crop_data() > 0) show_to_crop(places, left);
    auto found = without(left, parameters, out);
    if (!found) return not_foretold;
    Forecast& forecast = *found;
    for (std::size_t k = 0; k < out.size(); ++k) {
      Clogging here = clogging;
      here.share = share_at(places, segment_of(model, holes[out[k]]));
      const HoleDatum& hole = holes[out[k]];
      const auto at = static_cast<Eigen::Index>(k);
      const PlaceDelivery place{forecast.mean(at), passed_at(model, hole)};
      const double place_variance = std::max(0.0, forecast.covariance(at, at));
      const double variance = own_variance(parameters, hole);
      const double density = discharge_density(here, place, place_variance, variance, hole.value);
      const double log_score = -std::log(std::max(density, std::numeric_limits<double>::min()));
      score.log_scores[out[k]] = log_score;
      score.log_score += log_score;
      score.ranked += ranked_score(here, place, place_variance, variance, hole.value);
      const double mean = (1 - here.share) * std::max(0.0, place.delivery) +
                          here.share * clogging.plugged_below / 2;
      squares += (hole.value - mean) * (hole.value - mean);
      score.holes += 1;
      learn(forecast, at,
            site_given(here, place, std::max(place_variance, 1e-12), variance, hole.value),
            variance);
    }
  }
  if (score.holes > 0) {
    score.log_score /= score.holes;
    score.ranked /= score.holes;
    score.rmse = std::sqrt(squares / score.holes);
  }
  return score;
}

ScoreGain gain_of(const std::vector<HoleDatum>& holes, const LeftOutScore& from,
                  const LeftOutScore& to) {
  std::map<int, double> by_row;
  for (std::size_t i = 0; i < holes.size(); ++i)
    by_row[holes[i].row] += from.log_scores[i] - to.log_scores[i];
  if (by_row.empty()) return {};
  const auto rows = static_cast<double>(by_row.size());
  double sum = 0;
  for (const auto& [row, gain] : by_row) sum += gain;
  double squares = 0;
  for (const auto& [row, gain] : by_row) squares += (gain - sum / rows) * (gain - sum / rows);
  const auto counted = static_cast<double>(holes.size());
  return {sum / counted, std::sqrt(squares * rows / std::max(1.0, rows - 1)) / counted};
}

std::optional<ZoneJudgement> judge_zone(const SegmentGrid& grid,
                                        const std::vector<HoleDatum>& holes,
                                        const std::vector<CropDatum>& crop,
                                        const ConditionRanges& ranges, double plugged_below,
                                        const Work& work, const CropKink& kink) {
  ZoneModel holes_alone(grid, holes, {}, ranges);
  auto alone = zone_condition(holes_alone, plugged_below, {}, work);
  if (!alone) return {};
  ZoneJudgement judged;
  const std::size_t dug = dug_rows(holes).size();
  judged.verified = dug >= fewest_laterals;
  if (crop.empty() || !judged.verified) {
    judged.why = crop.empty() ? "there is no crop: the holes alone" : not_verified(dug);
    judged.condition = *std::move(alone);
    return judged;
  }
  ZoneModel joint(grid, holes, crop, ranges);
  ConditionParameters start;
  start.response = ranges.response.median;
  auto both = bent_condition(joint, plugged_below, kink, start, work);
  judged.without_crop = laterals_left_out(holes_alone, alone->fit.parameters, alone->clogging);
  if (both) {
    judged.with_crop = laterals_left_out(joint, both->fit.parameters, both->clogging);
    const ScoreGain gain = gain_of(holes, judged.without_crop, judged.with_crop);
    judged.gain = gain.mean;
    judged.gain_error = gain.error;
  }
  const double in_all = judged.gain * static_cast<double>(holes.size());
  judged.crop_used = both && (judged.gain > judged.gain_error || in_all > sure_gain) &&
                     judged.with_crop.ranked < judged.without_crop.ranked;
  judged.why = compared(judged);
  judged.condition = judged.crop_used ? *std::move(both) : *std::move(alone);
  return judged;
}

}  // namespace evendrip
