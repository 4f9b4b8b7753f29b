// SPDX-License-Identifier: Apache-2.0
#include "surface_tables.hpp"

#include "table_cells.hpp"

#include "evendrip/surface/fit_limits.hpp"
#include "evendrip/surface/fitted_variogram.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

namespace evendrip {
namespace {

using Shape = ResultLayer::Shape;

}  // namespace

ResultLayer segments_layer(const Story& story) {
  ResultLayer layer{
      "segments", "Relative discharge by segments of the laterals", Shape::line, {}, {}};
  layer.fields = {text("zone", "zone"),
                  text("lateral", "lateral"),
                  number("from_m", "station from the supply end, m"),
                  number("to_m", "station from the supply end, m"),
                  number("relative", "mean relative discharge of the emitters in it"),
                  number("standard_error", "of that mean"),
                  number("lower_90", "lower limit of 90 %"),
                  number("upper_90", "upper limit of 90 %"),
                  number("below_clogged", "probability of being below clogged_below"),
                  number("below_low", "probability of being below low_below"),
                  integer("verdict", "1: the limits allow a verdict; 0: too uncertain")};
  const Thresholds& thresholds = story.field.thresholds;
  for (const Segment& segment : story.segments) {
    std::vector<CellValue> values = {
        id_of(story.field.zones,
              story.field.laterals[static_cast<std::size_t>(segment.lateral)].zone),
        id_of(story.field.laterals, segment.lateral), cell(segment.from_m), cell(segment.to_m),
        cell(std::max(0.0, segment.r.value))};
    if (!std::isfinite(segment.r.value)) values.back() = CellValue{};
    if (std::isfinite(segment.r.variance)) {
      const double freedom = story.surface.freedom(
          story.field.laterals[static_cast<std::size_t>(segment.lateral)].zone);
      const PredictionLimits limits = student_limits(segment.r, 0.90, freedom);
      values.push_back(cell(std::sqrt(segment.r.variance)));
      values.push_back(cell(std::max(0.0, limits.lower)));
      values.push_back(cell(std::max(0.0, limits.upper)));
      values.push_back(
          cell(student_probability_below(segment.r, thresholds.clogged_below, freedom)));
      values.push_back(cell(student_probability_below(segment.r, thresholds.low_below, freedom)));
      values.push_back(cell(too_uncertain(limits, thresholds) ? 0 : 1));
    } else {
      values.resize(layer.fields.size());
    }
    layer.rows.push_back({segment.line, std::move(values)});
  }
  return layer;
}

ResultLayer surface_models_layer(const Story& story) {
  ResultLayer layer{"surface_models", "Candidate models of the surface", Shape::none, {}, {}};
  layer.fields = {text("model", "candidate"),
                  integer("trend_terms", "columns of the trend"),
                  integer("covariance_parameters", "variances, ranges and nugget"),
                  number("log_likelihood", "restricted, at the fit"),
                  number("rmse", "whole laterals left out"),
                  number("coverage_90", "share inside the 90 % limits"),
                  number("score", "what is compared: lower is better"),
                  integer("chosen", "1: maps are made with it"),
                  text("doubt", "why it could not be fitted")};
  const std::optional<ModelChoice>& choice = story.surface.choice();
  if (!choice) return layer;
  for (const CandidateScore& score : choice->table)
    layer.rows.push_back(
        {{},
         {CellValue{score.name}, cell(score.trend_terms), cell(score.covariance_parameters),
          cell(score.log_likelihood), cell(score.by_lateral.rmse),
          cell(score.by_lateral.coverage_90), cell(score.penalised), cell(score.chosen ? 1 : 0),
          CellValue{score.doubt}}});
  return layer;
}

ResultLayer surface_parameters_layer(const Story& story) {
  ResultLayer layer{"surface_parameters", "Numbers of the chosen model", Shape::none, {}, {}};
  layer.fields = {text("parameter", "trend coefficient, variance (-) or range (m)"),
                  number("value", "estimate"),
                  number("standard_error", "of a trend coefficient"),
                  number("standard_error_of_log", "of the logarithm of a variance or range"),
                  number("lower_95", "profile limit of a range"),
                  number("upper_95", "profile limit of a range")};
  const std::optional<ModelChoice>& choice = story.surface.choice();
  if (!choice) return layer;
  const SurfaceFit& fit = choice->fit;
  for (std::size_t i = 0; i < fit.coefficients.size(); ++i)
    layer.rows.push_back(
        {{},
         {CellValue{"trend: " + fit.model.trend[i].name}, cell(fit.coefficients[i]),
          cell(fit.coefficient_errors[i]), CellValue{}, CellValue{}, CellValue{}}});
  for (const ParameterEstimate& p : fit.parameters)
    layer.rows.push_back(
        {{},
         {CellValue{p.name}, cell(p.value), CellValue{}, cell(p.log_error),
          p.has_limits ? cell(p.lower) : CellValue{}, p.has_limits ? cell(p.upper) : CellValue{}}});
  return layer;
}

ResultLayer variogram_layer(const Story& story) {
  ResultLayer layer{"variogram", "Moment variograms of relative discharge", Shape::none, {}, {}};
  layer.fields = {text("pairs_of",
                       "all emitters as measured; along or across the laterals, less "
                       "the trend of the model"),
                  integer("pairs", "pairs of emitters"), number("distance_m", "mean distance, m"),
                  number("semivariance", "estimate"),
                  number("model", "of the fitted model, along and across")};
  const auto add = [&layer](const char* name, const std::vector<VariogramLag>& lags,
                            const std::vector<double>& model) {
    for (std::size_t i = 0; i < lags.size(); ++i)
      layer.rows.push_back(
          {{},
           {CellValue{std::string(name)}, cell(lags[i].pairs), cell(lags[i].mean_distance_m),
            cell(lags[i].semivariance), i < model.size() ? cell(model[i]) : CellValue{}}});
  };
  add("all", story.surface.moment(), {});
  const std::optional<FittedVariogram> fitted = fitted_variogram(story.field, story.surface);
  if (!fitted) return layer;
  add("along", fitted->moment.along, fitted->model_along);
  add("across", fitted->moment.across, fitted->model_across);
  return layer;
}

ResultLayer cross_validation_layer(const Story& story) {
  ResultLayer layer{"cross_validation", "Emitters predicted from others", Shape::none, {}, {}};
  layer.fields = {text("estimator", "this map or another way"),
                  text("left_out", "emitter or lateral"),
                  integer("compared", "emitters that could be predicted"),
                  number("mean_error", "observed less predicted"),
                  number("rmse", "root mean square error"),
                  number("coverage_90", "share inside the 90 % limits"),
                  number("ranked_probability_score", "mean continuous ranked probability score"),
                  text("doubt", "what could not be predicted")};
  for (const EstimatorScore& score : story.surface.comparison())
    layer.rows.push_back(
        {{},
         {CellValue{score.name},
          CellValue{std::string(score.left_out == LeaveOut::emitter ? "emitter" : "lateral")},
          cell(score.compared), cell(score.mean_error), cell(score.rmse), cell(score.coverage_90),
          cell(score.mean_score), CellValue{score.doubt}}});
  return layer;
}

ResultLayer unlike_emitters_layer(const Story& story) {
  ResultLayer layer{"unlike_emitters",
                    "Emitters unlike all others, which weigh less in the surface",
                    Shape::point,
                    {},
                    {}};
  layer.fields = {text("name", "record of the first replicate"), number("relative", "as measured"),
                  number("by_the_others", "what the others say there"),
                  number("off", "difference over its robust standard error"),
                  number("weight", "in the surface, 0 to 1")};
  const DischargeSamples& samples = story.surface.samples();
  for (const WildSample& wild : story.surface.wild()) {
    const auto i = static_cast<std::size_t>(wild.sample);
    layer.rows.push_back(
        {samples.samples[i].site.place,
         {CellValue{story.survey.emitters[samples.emitters[i]].name}, cell(wild.value),
          cell(wild.predicted), cell(wild.score), cell(wild.weight)}});
  }
  return layer;
}

ResultLayer influence_layer(const Story& story) {
  ResultLayer layer{
      "influence", "How far each emitter alone moves the map of its zone", Shape::point, {}, {}};
  layer.fields = {text("name", "record of the first replicate"), text("zone", "zone"),
                  number("relative", "as measured"),
                  number("moves_zone_mean_by",
                         "mean relative discharge of the zone's map with all emitters less that "
                         "without this one")};
  const DischargeSamples& samples = story.surface.samples();
  std::vector<std::size_t> order(story.influence.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::erase_if(order, [&](std::size_t i) { return !std::isfinite(story.influence[i]); });
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return std::abs(story.influence[a]) > std::abs(story.influence[b]);
  });
  for (const std::size_t i : order)
    layer.rows.push_back({samples.samples[i].site.place,
                          {CellValue{story.survey.emitters[samples.emitters[i]].name},
                           id_of(story.field.zones, samples.samples[i].site.zone),
                           cell(samples.samples[i].value), cell(story.influence[i])}});
  return layer;
}

ResultLayer areas_below_layer(const Story& story) {
  ResultLayer layer{"areas_below", "Ground below the thresholds of discharge", Shape::none, {}, {}};
  layer.fields = {text("zone", "zone; none: all mapped zones together"),
                  number("relative_below", "threshold of relative discharge"),
                  number("area_ha", "of the zone, ha"),
                  number("below_ha", "of it below the threshold, ha"),
                  number("lower_90_ha", "lower limit of 90 %, ha"),
                  number("upper_90_ha", "upper limit of 90 %, ha")};
  for (const AreaBelow& area : story.areas)
    layer.rows.push_back(
        {{},
         {id_of(story.field.zones, area.zone), cell(area.threshold), cell(area.area_ha),
          cell(area.mean_ha), cell(area.lower_ha), cell(area.upper_ha)}});
  return layer;
}

}  // namespace evendrip
