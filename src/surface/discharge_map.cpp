// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/discharge_map.hpp"

#include "evendrip/base/median.hpp"
#include "zone_cells.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

using Method = ZoneSurface::Method;

constexpr int fewest_for_kriging = 10;
constexpr int fewest_for_inverse_distance = 4;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

/// What one zone needs to be mapped.
struct ZonePlan {
  Samples samples;                   ///< values relative
  std::vector<std::size_t> numbers;  ///< of the samples in the list of all zones
  std::unique_ptr<OrdinaryKriging> kriging;
  std::unique_ptr<InverseDistanceSurface> inverse_distance;
  double mean = 0;
  double standard_error = nan;  ///< where it is the same all over the zone
};

bool usable_in(const MeasuredEmitter& emitter, int zone) {
  return emitter.usable() && emitter.site.zone == zone && std::isfinite(emitter.discharge_lph);
}

double zone_median_lph(const Survey& survey, int zone) {
  std::vector<double> discharges;
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (usable_in(emitter, zone)) discharges.push_back(emitter.discharge_lph);
  }
  return median_of(std::move(discharges));
}

Doubt zone_doubt(const std::string& code, const std::string& zone, const std::string& text,
                 const std::string& remedy) {
  Doubt doubt;
  doubt.code = code;
  doubt.severity = Severity::doubt;
  doubt.text = fmt::format("Zone {}: {}", zone, text);
  doubt.remedy = remedy;
  return doubt;
}

double mean_of_values(const Samples& samples) {
  double sum = 0;
  for (const Sample& sample : samples) sum += sample.value;
  return sum / static_cast<double>(samples.size());
}

/// Standard deviation of a new emitter about the mean of n; NaN for n = 1.
double error_of_mean(const Samples& samples, double mean) {
  const double n = static_cast<double>(samples.size());
  if (n < 2) return nan;
  double squares = 0;
  for (const Sample& sample : samples) squares += (sample.value - mean) * (sample.value - mean);
  return std::sqrt(squares / (n - 1) * (1 + 1 / n));
}

std::string plural(int count, const char* one, const char* many) {
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

std::string to_text(ReferenceKind kind) {
  return kind == ReferenceKind::clean_system ? "what a clean system would give at that place"
                                             : "the median of the zone";
}

struct DischargeMap::State {
  Grid grid;
  std::vector<std::string> ids;
  std::vector<MultiPolygon> areas;
  Analysis analysis;
  std::vector<ZoneSurface> zones;
  std::vector<ZonePlan> plans;
  Samples samples;  ///< of all zones
  std::vector<VariogramLag> moment;
  std::optional<VariogramFit> fit;
  std::optional<LeaveOneOut> kriging_check;
  std::optional<LeaveOneOut> inverse_distance_check;
  Doubts doubts;

  void gather(const Field& field, const Survey& survey, const DischargeReference& reference);
  void gather_zone(const Survey& survey, const DischargeReference& reference, std::size_t number);
  void find_structure();
  Method method_of(int samples) const;
  std::string why(Method method, int samples) const;
  void plan_zone(std::size_t number);
  void check(const Work& work);
  std::string references() const;
  Neighbourhood neighbourhood() const {
    Neighbourhood out;
    out.most = std::max(1, analysis.neighbours);
    return out;
  }
  InverseDistance inverse_distance() const { return {2, neighbourhood()}; }
  void map_zone(const Window& window, std::size_t number, std::span<const std::uint8_t> wanted,
                const Raster* expected_lph, Part& part, const Work& work) const;
  void set_discharge(std::size_t number, std::size_t cell, double relative,
                     const Raster* expected_lph, Raster& discharge_lph) const;
};

/// Medians and relative discharges, zone by zone.
void DischargeMap::State::gather(const Field& field, const Survey& survey,
                                 const DischargeReference& reference) {
  plans.resize(field.zones.size());
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    ZoneSurface zone;
    zone.zone = static_cast<int>(z);
    zone.median_lph = zone_median_lph(survey, zone.zone);
    if (z < reference.zones.size() && reference.zones[z] != 0)
      zone.reference = ReferenceKind::clean_system;
    zones.push_back(std::move(zone));
    gather_zone(survey, reference, z);
  }
}

void DischargeMap::State::gather_zone(const Survey& survey, const DischargeReference& reference,
                                      std::size_t number) {
  ZoneSurface& zone = zones[number];
  ZonePlan& plan = plans[number];
  const bool by_hydraulics = zone.reference == ReferenceKind::clean_system;
  int without = 0;
  for (std::size_t i = 0; i < survey.emitters.size(); ++i) {
    const MeasuredEmitter& emitter = survey.emitters[i];
    const bool placed =
        emitter.placement == Placement::declared || emitter.placement == Placement::by_fix;
    if (!placed || !usable_in(emitter, zone.zone)) continue;
    const double against = by_hydraulics ? reference.emitters_lph.at(i) : zone.median_lph;
    if (!(against > 0)) {
      ++without;
      continue;
    }
    plan.numbers.push_back(samples.size());
    samples.push_back({emitter.site, emitter.discharge_lph / against});
    plan.samples.push_back(samples.back());
  }
  zone.samples = static_cast<int>(plan.samples.size());
  if (by_hydraulics && without > 0)
    doubts.push_back(zone_doubt(
        "emitter_without_expected_discharge", ids[number],
        fmt::format("{} on lines that carry no water in a clean system, or that join no manifold; "
                    "left out of the surface.",
                    plural(without, "measured emitter is", "measured emitters are")),
        "Look at the doubts about the lines of this zone."));
}

void DischargeMap::State::find_structure() {
  moment = moment_variogram(samples);
  fit = fit_best_variogram(moment, usual_shapes);
}

Method DischargeMap::State::method_of(int count) const {
  if (count == 0) return Method::none;
  const bool may_krige = analysis.method != SurfaceMethod::inverse_distance;
  if (may_krige && count >= fewest_for_kriging) return fit ? Method::kriging : Method::zone_mean;
  return count >= fewest_for_inverse_distance ? Method::inverse_distance : Method::zone_mean;
}

std::string DischargeMap::State::why(Method method, int count) const {
  const std::string emitters = plural(count, "emitter", "emitters");
  switch (method) {
    case Method::none:
      return "no emitter was measured here at a known place";
    case Method::zone_mean:
      if (count >= fewest_for_kriging) {
        return fmt::format(
            "{}, but no spatial structure was found in their differences: the mean of the zone",
            emitters);
      }
      return fmt::format("too few emitters ({}) for a surface: the mean of the zone", count);
    case Method::kriging:
      return fmt::format("{} and a variogram with spatial structure", emitters);
    case Method::inverse_distance:
      break;
  }
  if (analysis.method == SurfaceMethod::inverse_distance)
    return fmt::format("{}; inverse distance was asked for", emitters);
  return fmt::format("too few emitters ({}) for kriging, which takes {} or more", count,
                     fewest_for_kriging);
}

void DischargeMap::State::plan_zone(std::size_t number) {
  ZonePlan& plan = plans[number];
  ZoneSurface& surface = zones[number];
  surface.method = method_of(surface.samples);
  surface.why = why(surface.method, surface.samples);
  if (surface.method == Method::none) {
    doubts.push_back(zone_doubt("zone_not_mapped", ids[number], surface.why + "; it is not mapped.",
                                surface.reference == ReferenceKind::zone_median
                                    ? "Measure emitters in this zone whose median is above 0."
                                    : "Measure emitters on the laterals of this zone."));
    return;
  }
  plan.mean = mean_of_values(plan.samples);
  plan.standard_error = error_of_mean(plan.samples, plan.mean);
  if (surface.method == Method::kriging && fit)
    plan.kriging = std::make_unique<OrdinaryKriging>(plan.samples, fit->model, neighbourhood());
  if (surface.method == Method::inverse_distance)
    plan.inverse_distance =
        std::make_unique<InverseDistanceSurface>(plan.samples, inverse_distance());
  const bool asked_for = analysis.method == SurfaceMethod::inverse_distance &&
                         surface.method == Method::inverse_distance;
  if (surface.method != Method::kriging && !asked_for)
    doubts.push_back(zone_doubt("surface_without_kriging", ids[number], surface.why + ".",
                                "Dig more emitters, spread over the zone, for a firmer map."));
}

/// Leaves out sample after sample, zone by zone, and pools what comes back.
void DischargeMap::State::check(const Work& work) {
  const std::vector<double> none(samples.size(), nan);
  LeaveOneOut kriged{none, none, 0, 0, 0, 0};
  LeaveOneOut weighted = kriged;
  const auto keep = [](const ZonePlan& plan, const LeaveOneOut& zone, LeaveOneOut& all) {
    for (std::size_t i = 0; i < plan.numbers.size(); ++i) {
      all.predicted[plan.numbers[i]] = zone.predicted[i];
      all.variance[plan.numbers[i]] = zone.variance[i];
    }
  };
  bool any_kriged = false;
  bool any_weighted = false;
  for (std::size_t z = 0; z < plans.size(); ++z) {
    ZonePlan& plan = plans[z];
    if (plan.kriging && fit) {
      keep(plan, leave_one_out(plan.samples, fit->model, neighbourhood(), work), kriged);
      any_kriged = true;
    }
    if (zones[z].samples < fewest_for_inverse_distance) continue;
    const LeaveOneOut zone = leave_one_out(plan.samples, inverse_distance(), work);
    if (plan.inverse_distance) plan.standard_error = zone.rmse;
    keep(plan, zone, weighted);
    any_weighted = true;
  }
  if (any_kriged) kriging_check = leave_one_out_summary(samples, kriged.predicted, kriged.variance);
  if (any_weighted)
    inverse_distance_check = leave_one_out_summary(samples, weighted.predicted, weighted.variance);
}

DischargeMap::DischargeMap(const Field& field, const Survey& survey, const Grid& grid,
                           const Work& work, const DischargeReference& reference)
    : state_(std::make_unique<State>()) {
  state_->grid = grid;
  state_->areas = areas_of(field);
  state_->analysis = field.analysis;
  for (const Zone& zone : field.zones) state_->ids.push_back(zone.id);
  state_->gather(field, survey, reference);
  state_->find_structure();
  for (std::size_t z = 0; z < field.zones.size(); ++z) state_->plan_zone(z);
  state_->check(without_progress(work));
}
DischargeMap::~DischargeMap() = default;
DischargeMap::DischargeMap(DischargeMap&&) noexcept = default;

const Grid& DischargeMap::grid() const {
  return state_->grid;
}
const std::vector<ZoneSurface>& DischargeMap::zones() const {
  return state_->zones;
}
const std::vector<VariogramLag>& DischargeMap::moment() const {
  return state_->moment;
}
const std::optional<VariogramFit>& DischargeMap::fit() const {
  return state_->fit;
}
const std::optional<LeaveOneOut>& DischargeMap::kriging_check() const {
  return state_->kriging_check;
}
const std::optional<LeaveOneOut>& DischargeMap::inverse_distance_check() const {
  return state_->inverse_distance_check;
}
const Samples& DischargeMap::relative_samples() const {
  return state_->samples;
}
const Doubts& DischargeMap::doubts() const {
  return state_->doubts;
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

std::string DischargeMap::method_text() const {
  const auto zones_by = [&](Method method) {
    return static_cast<int>(
        std::count_if(state_->zones.begin(), state_->zones.end(),
                      [&](const ZoneSurface& z) { return z.method == method; }));
  };
  std::vector<std::string> parts;
  const auto& fit = state_->fit;
  if (const int n = zones_by(Method::kriging); n > 0 && fit) {
    const VariogramModel& m = fit->model;
    parts.push_back(fmt::format(
        "ordinary kriging in {} ({} variogram, nugget {:.4g}, partial sill {:.4g}, range parameter "
        "{:.4g} m, {} nearest)",
        plural(n, "zone", "zones"), to_text(m.shape), m.nugget, m.partial_sill, m.range_m,
        state_->neighbourhood().most));
  }
  if (const int n = zones_by(Method::inverse_distance); n > 0)
    parts.push_back(fmt::format("inverse squared distance in {} ({} nearest)",
                                plural(n, "zone", "zones"), state_->neighbourhood().most));
  if (const int n = zones_by(Method::zone_mean); n > 0)
    parts.push_back(fmt::format("the mean in {}", plural(n, "zone", "zones")));
  if (parts.empty()) return "No zone could be mapped: no emitter was measured at a known place.";
  std::string methods = parts.front();
  for (std::size_t i = 1; i < parts.size(); ++i) methods += ", " + parts[i];
  return fmt::format("Relative discharge is discharge over {}, mapped zone by zone from {}: {}.",
                     state_->references(),
                     plural(static_cast<int>(state_->samples.size()), "emitter", "emitters"),
                     methods);
}

void DischargeMap::State::set_discharge(std::size_t number, std::size_t cell, double relative,
                                        const Raster* expected_lph, Raster& discharge_lph) const {
  if (zones[number].reference == ReferenceKind::zone_median) {
    discharge_lph.set(cell, relative * zones[number].median_lph);
  } else if (expected_lph->has_value(cell)) {
    discharge_lph.set(cell, relative * static_cast<double>(expected_lph->values[cell]));
  } else {
    discharge_lph.clear(cell, expected_lph->reasons[cell]);
  }
}

/// Fills the wanted cells of one zone.
void DischargeMap::State::map_zone(const Window& window, std::size_t number,
                                   std::span<const std::uint8_t> wanted, const Raster* expected_lph,
                                   Part& part, const Work& work) const {
  const ZonePlan& plan = plans[number];
  if (zones[number].reference == ReferenceKind::clean_system && zones[number].samples > 0 &&
      (expected_lph == nullptr || !(expected_lph->grid == part.relative.grid)))
    throw std::invalid_argument("a zone needs the expected discharge of the window");
  OrdinaryKriging::Surfaces kriged;
  Raster weighted;
  if (plan.kriging) kriged = plan.kriging->over(grid, window, wanted, work);
  if (plan.inverse_distance) weighted = plan.inverse_distance->over(grid, window, wanted, work);
  const Raster* values = plan.kriging ? &kriged.value : plan.inverse_distance ? &weighted : nullptr;
  const bool mapped = zones[number].method != Method::none;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if (wanted[i] == 0) continue;
    const Reason reason = !mapped ? Reason::too_few : values ? values->reasons[i] : Reason::value;
    if (reason != Reason::value) {
      for (Raster* raster : {&part.relative, &part.discharge_lph, &part.standard_error})
        raster->clear(i, reason);
      continue;
    }
    const double relative =
        std::max(0.0, values ? static_cast<double>(values->values[i]) : plan.mean);
    part.relative.set(i, relative);
    set_discharge(number, i, relative, expected_lph, part.discharge_lph);
    const double error = plan.kriging ? std::sqrt(static_cast<double>(kriged.variance.values[i]))
                                      : plan.standard_error;
    if (std::isfinite(error)) {
      part.standard_error.set(i, error);
    } else {
      part.standard_error.clear(i, Reason::too_few);
    }
  }
}

DischargeMap::Part DischargeMap::over(const Window& window, const Work& work,
                                      const Raster* expected_lph) const {
  const Raster blank(sub_grid(state_->grid, window), Reason::outside_zones);
  Part part{blank, blank, blank};
  const std::vector<int> zones = zones_of_cells(state_->areas, state_->grid, window);
  std::vector<std::uint8_t> wanted(zones.size());
  for (std::size_t z = 0; z < state_->plans.size(); ++z) {
    bool any = false;
    for (std::size_t i = 0; i < zones.size(); ++i) {
      wanted[i] = zones[i] == static_cast<int>(z) ? 1 : 0;
      any = any || wanted[i] == 1;
    }
    if (any) state_->map_zone(window, z, wanted, expected_lph, part, work);
  }
  return part;
}

}  // namespace evendrip
