// SPDX-License-Identifier: Apache-2.0
#include "discharge_map_state.hpp"

#include <cmath>
#include <limits>
#include <stdexcept>

namespace evendrip {
namespace {

using Method = ZoneSurface::Method;
using Part = DischargeMap::Part;

constexpr double level = 0.90;

void clear(Part& part, std::size_t cell, Reason reason) {
  for (Raster* raster :
       {&part.relative, &part.standard_error, &part.lower, &part.upper, &part.below_clogged,
        &part.below_low, &part.discharge_lph, &part.depth_mm_h})
    raster->clear(cell, reason);
}

/// PredictionLimits and probabilities of a cell; without a known error none.
void set_uncertainty(Part& part, std::size_t cell, const Prediction& r, double freedom,
                     const Thresholds& thresholds) {
  if (!std::isfinite(r.variance)) {
    for (Raster* raster :
         {&part.standard_error, &part.lower, &part.upper, &part.below_clogged, &part.below_low})
      raster->clear(cell, Reason::too_few);
    return;
  }
  const PredictionLimits limits = student_limits(r, level, freedom);
  part.standard_error.set(cell, std::sqrt(r.variance));
  part.lower.set(cell, std::max(0.0, limits.lower));
  part.upper.set(cell, std::max(0.0, limits.upper));
  part.below_clogged.set(cell, student_probability_below(r, thresholds.clogged_below, freedom));
  part.below_low.set(cell, student_probability_below(r, thresholds.low_below, freedom));
}

/// `expected_lph` is null where the zone is relative to its median.
void set_discharge(Part& part, std::size_t cell, double median_lph, const Raster* expected_lph,
                   double ground_m2) {
  if (expected_lph != nullptr && !expected_lph->has_value(cell)) {
    part.discharge_lph.clear(cell, expected_lph->reasons[cell]);
    part.depth_mm_h.clear(cell, expected_lph->reasons[cell]);
    return;
  }
  const double reference =
      expected_lph != nullptr ? static_cast<double>(expected_lph->values[cell]) : median_lph;
  const double discharge_lph = static_cast<double>(part.relative.values[cell]) * reference;
  part.discharge_lph.set(cell, discharge_lph);
  if (ground_m2 > 0) {
    part.depth_mm_h.set(cell, discharge_lph / ground_m2);  // 1 L on 1 m2 is 1 mm
  } else {
    part.depth_mm_h.clear(cell, Reason::not_computed);
  }
}

void mark_uncertain(Part& part, std::size_t cell, const Prediction& r, double freedom,
                    const Thresholds& thresholds) {
  if (!std::isfinite(r.variance) || !too_uncertain(student_limits(r, level, freedom), thresholds))
    return;
  for (Raster* raster : {&part.relative, &part.lower, &part.upper, &part.below_clogged,
                         &part.below_low, &part.discharge_lph, &part.depth_mm_h})
    if (raster->has_value(cell)) raster->reasons[cell] = Reason::too_uncertain;
}

/// Fills in the cells of one zone that its own surface gives.
void take_over(const Raster& from, double variance, std::span<const std::uint8_t> wanted,
               SurfacePredictor::Surfaces& values) {
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if (wanted[i] == 0) continue;
    if (from.has_value(i)) {
      values.value.set(i, from.values[i]);
      values.variance.set(i, variance);
    } else {
      values.value.clear(i, from.reasons[i]);
    }
  }
}

}  // namespace

bool too_uncertain(const PredictionLimits& limits, const Thresholds& thresholds) {
  return limits.lower < thresholds.clogged_below && limits.upper > thresholds.low_below;
}

/// Relative discharge and its variance in the cells of a window, zone by zone as it is mapped.
SurfacePredictor::Surfaces DischargeMap::State::values_over(const Window& window,
                                                            std::span<const Site> sites_there,
                                                            const Work& work) const {
  const Raster blank(sub_grid(grid, window), Reason::outside_zones);
  SurfacePredictor::Surfaces values{blank, blank};
  if (predictor) {
    std::vector<Site> modelled(sites_there.begin(), sites_there.end());
    for (Site& site : modelled)
      if (site.zone >= 0 && zones[static_cast<std::size_t>(site.zone)].method != Method::model)
        site.zone = -1;
    values = predictor->over(grid, window, modelled, work);
  }
  std::vector<std::uint8_t> wanted(sites_there.size());
  for (const ZoneSurface& zone : zones) {
    if (zone.method == Method::model) continue;
    bool any = false;
    for (std::size_t i = 0; i < wanted.size(); ++i) {
      wanted[i] = sites_there[i].zone == zone.zone ? 1 : 0;
      any = any || wanted[i] == 1;
    }
    if (!any) continue;
    const PlainZone& plan = plans[static_cast<std::size_t>(zone.zone)];
    if (plan.inverse_distance) {
      take_over(plan.inverse_distance->over(grid, window, wanted, work), plan.mean_square_error,
                wanted, values);
      continue;
    }
    for (std::size_t i = 0; i < wanted.size(); ++i) {
      if (wanted[i] == 0) continue;
      if (zone.method == Method::none) {
        values.value.clear(i, Reason::too_few);
      } else {
        values.value.set(i, plan.mean.value);
        values.variance.set(i, plan.mean.variance);
      }
    }
  }
  return values;
}

DischargeMap::Part DischargeMap::over(const Window& window, const Work& work,
                                      const Raster* expected_lph) const {
  const State& state = *state_;
  const Raster blank(sub_grid(state.grid, window), Reason::outside_zones);
  Part part{blank, blank, blank, blank, blank, blank, blank, blank};
  const std::vector<Site> sites = state.sites.over(window);
  const SurfacePredictor::Surfaces values = state.values_over(window, sites, work);
  for (std::size_t i = 0; i < sites.size(); ++i) {
    if (sites[i].zone < 0) continue;
    const auto z = static_cast<std::size_t>(sites[i].zone);
    const ZoneSurface& zone = state.zones[z];
    const bool needs_expected = zone.reference == ReferenceKind::clean_system && zone.samples > 0;
    if (needs_expected && (expected_lph == nullptr || !(expected_lph->grid == blank.grid)))
      throw std::invalid_argument("a zone needs the expected discharge of the window");
    if (!values.value.has_value(i)) {
      clear(part, i, values.value.reasons[i]);
      continue;
    }
    const Prediction r{static_cast<double>(values.value.values[i]),
                       static_cast<double>(values.variance.values[i])};
    const double freedom = this->freedom(sites[i].zone);
    part.relative.set(i, std::max(0.0, r.value));
    set_uncertainty(part, i, r, freedom, state.thresholds);
    set_discharge(part, i, zone.median_lph, needs_expected ? expected_lph : nullptr,
                  state.ground_of_emitter_m2[z]);
    mark_uncertain(part, i, r, freedom, state.thresholds);
  }
  return part;
}

std::vector<Prediction> DischargeMap::means(std::span<const Block> blocks, const Work& work) const {
  const State& state = *state_;
  constexpr double nan = std::numeric_limits<double>::quiet_NaN();
  std::vector<Prediction> out;
  if (state.predictor) {
    out = state.predictor->means(blocks, work);
  } else {
    out.resize(blocks.size(), Prediction{nan, nan});
  }
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    const int zone = blocks[i].sites.empty() ? -1 : blocks[i].sites.front().zone;
    const Method method =
        zone < 0 ? Method::none : state.zones[static_cast<std::size_t>(zone)].method;
    if (method == Method::model) continue;
    out[i] = method == Method::zone_mean ? state.plans[static_cast<std::size_t>(zone)].mean
                                         : Prediction{nan, nan};
  }
  return out;
}

}  // namespace evendrip
