// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/discharge_map.hpp"

#include "discharge_map_state.hpp"
#include "map_doubts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <optional>
#include <utility>

namespace evendrip {
namespace {

using Method = ZoneSurface::Method;

constexpr int fewest_for_a_model = 10;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

/// Mean of a zone and the variance of that mean; NaN for one sample alone.
Prediction zone_mean_of(const Samples& samples, int zone) {
  double sum = 0;
  double squares = 0;
  double n = 0;
  for (const Sample& sample : samples) {
    if (sample.site.zone != zone) continue;
    n += 1;
    sum += sample.value;
    squares += sample.value * sample.value;
  }
  const double mean = sum / n;
  return {mean, n > 1 ? std::max(0.0, squares - n * mean * mean) / (n - 1) / n : nan};
}

Samples samples_of(const Samples& samples, int zone) {
  Samples own;
  std::copy_if(samples.begin(), samples.end(), std::back_inserter(own),
               [zone](const Sample& sample) { return sample.site.zone == zone; });
  return own;
}

/// Mean square of observed minus predicted over the samples of a zone; NaN if none was predicted.
double inverse_distance_error(const Samples& samples, int zone, int neighbours,
                              const std::vector<EstimatorScore>& scores) {
  const std::string name = inverse_distance_estimator(2, neighbours).name;
  double squares = 0;
  double n = 0;
  for (const EstimatorScore& score : scores) {
    if (score.name != name || score.left_out != LeaveOut::emitter) continue;
    for (std::size_t i = 0; i < samples.size(); ++i) {
      const double error = samples[i].value - score.predicted[i].value;
      if (samples[i].site.zone != zone || !std::isfinite(error)) continue;
      squares += error * error;
      n += 1;
    }
  }
  return n > 0 ? squares / n : nan;
}

std::string plural(std::size_t count, const char* one, const char* many) {
  return fmt::format("{} {}", count, count == 1 ? one : many);
}

/// "zone A", "zones A, B and C"; of many zones their number.
std::string named_zones(const std::vector<std::string>& ids) {
  constexpr std::size_t most = 6;
  if (ids.size() > most) return fmt::format("{} zones", ids.size());
  std::string names = (ids.size() > 1 ? "zones " : "zone ") + ids.front();
  for (std::size_t i = 1; i < ids.size(); ++i)
    names += (i + 1 == ids.size() ? " and " : ", ") + ids[i];
  return names;
}

}  // namespace

Method DischargeMap::State::method_of(const ZoneSamples& zone) const {
  if (zone.samples == 0) return Method::none;
  if (by_inverse_distance()) return Method::inverse_distance;
  return study.choice ? Method::model : Method::zone_mean;
}

std::string DischargeMap::State::why(Method method, const ZoneSamples& zone) const {
  const std::string emitters =
      plural(static_cast<std::size_t>(zone.samples), "emitter", "emitters");
  switch (method) {
    case Method::none:
      return why_no_samples(zone);
    case Method::zone_mean:
      return fmt::format("{} here, too few in all ({}) for a model, which takes {}: the mean",
                         emitters, samples.samples.size(), fewest_for_a_model);
    case Method::inverse_distance:
      return fmt::format("{}; inverse distance was asked for", emitters);
    case Method::model:
      break;
  }
  return study.choice ? fmt::format("{}; {}", emitters, study.choice->why) : emitters;
}

void DischargeMap::State::plan_zone(const ZoneSamples& zone) {
  ZoneSurface surface;
  surface.zone = zone.zone;
  surface.samples = zone.samples;
  surface.median_lph = zone.median_lph;
  surface.reference = zone.reference;
  surface.method = method_of(zone);
  surface.why = why(surface.method, zone);
  const std::string& id = ids[static_cast<std::size_t>(zone.zone)];
  if (zone.without_reference > 0 && zone.reference == ReferenceKind::clean_system)
    doubts.push_back(without_expected_discharge(id, zone.without_reference));
  if (surface.method == Method::none)
    doubts.push_back(zone_not_mapped(id, surface.why, zone.reference));
  if (surface.method == Method::zone_mean) doubts.push_back(surface_without_model(id, surface.why));
  PlainZone plan;
  if (zone.samples > 0) plan.mean = zone_mean_of(samples.samples, zone.zone);
  if (surface.method == Method::inverse_distance) {
    plan.mean_square_error =
        inverse_distance_error(samples.samples, zone.zone, neighbours(), study.scores);
    plan.inverse_distance = std::make_unique<InverseDistanceSurface>(
        samples_of(samples.samples, zone.zone), InverseDistance{2, {neighbours()}});
  }
  plans.push_back(std::move(plan));
  zones.push_back(std::move(surface));
}

void DischargeMap::State::prepare() {
  for (const ZoneSamples& zone : samples.zones) plan_zone(zone);
  if (!study.choice) return;
  assurance = assurance_of(study.choice->fit);
  predictor.emplace(observations_of(study.fitted), study.choice->fit.model,
                    PredictionOptions{DataUse::automatic, neighbours(), assurance.target});
}

DischargeMap::DischargeMap(const Field& field, const Survey& survey, const Grid& grid,
                           const Work& work, const DischargeReference& reference,
                           std::uint64_t seed)
    : state_(std::make_unique<State>(field, grid)) {
  for (const Zone& zone : field.zones) {
    state_->ids.push_back(zone.id);
    state_->ground_of_emitter_m2.push_back(zone.emitter.spacing_m * zone.lateral.spacing_m);
  }
  state_->analysis = field.analysis;
  state_->thresholds = field.thresholds;
  state_->samples = discharge_samples(field, survey, reference);
  const bool enough = state_->samples.samples.size() >= fewest_for_a_model;
  if (enough && !state_->by_inverse_distance())
    state_->study = study_surface(field, state_->samples.samples, seed, work);
  state_->study.moment = moment_variogram(state_->samples.samples);
  state_->study.scores =
      compared_estimators(state_->samples.samples, state_->study, field.analysis, work);
  state_->prepare();
}
DischargeMap::~DischargeMap() = default;
DischargeMap::DischargeMap(DischargeMap&&) noexcept = default;

const Grid& DischargeMap::grid() const {
  return state_->grid;
}
const std::vector<ZoneSurface>& DischargeMap::zones() const {
  return state_->zones;
}
const DischargeSamples& DischargeMap::samples() const {
  return state_->samples;
}
const std::optional<ModelChoice>& DischargeMap::choice() const {
  return state_->study.choice;
}
const std::vector<WildSample>& DischargeMap::wild() const {
  return state_->study.wild;
}
const std::vector<EstimatorScore>& DischargeMap::comparison() const {
  return state_->study.scores;
}
const std::vector<VariogramLag>& DischargeMap::moment() const {
  return state_->study.moment;
}
const Doubts& DischargeMap::doubts() const {
  return state_->doubts;
}
double DischargeMap::freedom(int zone) const {
  const ZoneSurface& mapped = state_->zones.at(static_cast<std::size_t>(zone));
  if (mapped.method == Method::model) return state_->assurance.freedom;
  if (mapped.method == Method::zone_mean) return std::max(1, mapped.samples - 1);
  return std::numeric_limits<double>::infinity();
}
const SurfaceModel* DischargeMap::model() const {
  const std::optional<ModelChoice>& made = choice();
  return made ? &made->fit.model : nullptr;
}
const Samples& DischargeMap::fitted_samples() const {
  return state_->study.fitted;
}

/// What relative discharge is relative to: one text, or one for each group of zones.
std::string DischargeMap::State::references() const {
  std::vector<std::string> clean;
  std::vector<std::string> median;
  for (std::size_t z = 0; z < zones.size(); ++z) {
    if (zones[z].method == Method::none) continue;
    (zones[z].reference == ReferenceKind::clean_system ? clean : median).push_back(ids[z]);
  }
  if (clean.empty()) return to_text(ReferenceKind::zone_median);
  if (median.empty()) return to_text(ReferenceKind::clean_system);
  return fmt::format("{} in {}, over {} in {}", to_text(ReferenceKind::clean_system),
                     named_zones(clean), to_text(ReferenceKind::zone_median), named_zones(median));
}

std::string DischargeMap::State::methods() const {
  if (predictor && study.choice) {
    const ModelChoice& choice = *study.choice;
    return fmt::format("the model \"{}\" with {}",
                       choice.table[static_cast<std::size_t>(choice.chosen)].name,
                       predictor->use_text());
  }
  if (by_inverse_distance())
    return fmt::format("inverse squared distance, {} nearest", neighbours());
  return "the mean of the zone";
}

std::string DischargeMap::method_text() const {
  const auto mapped = std::any_of(state_->zones.begin(), state_->zones.end(),
                                  [](const auto& zone) { return zone.method != Method::none; });
  if (!mapped) return "No zone could be mapped.";
  return fmt::format("Relative discharge is discharge over {}, mapped zone by zone from {}: {}.",
                     state_->references(),
                     plural(state_->samples.samples.size(), "emitter", "emitters"),
                     state_->methods());
}

}  // namespace evendrip
