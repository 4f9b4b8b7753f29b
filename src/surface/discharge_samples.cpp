// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/discharge_samples.hpp"

#include "evendrip/base/median.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace evendrip {
namespace {

bool usable_in(const MeasuredEmitter& emitter, int zone) {
  return emitter.usable() && emitter.site.zone == zone && std::isfinite(emitter.discharge_lph);
}

double zone_median_lph(const Survey& survey, int zone) {
  std::vector<double> discharges;
  for (const MeasuredEmitter& emitter : survey.emitters)
    if (usable_in(emitter, zone)) discharges.push_back(emitter.discharge_lph);
  return median_of(std::move(discharges));
}

/// Step of the vessel as discharge, L/h: of the mean duration of the emitter's catches.
double graduation_lph(const Field& field, const Survey& survey, const MeasuredEmitter& emitter) {
  double step_ml = 0;
  for (const SurveySource& source : field.surveys)
    if (source.id == survey.id) step_ml = source.volume_graduation_ml;
  double seconds = 0;
  for (const std::size_t record : emitter.records) seconds += survey.records[record].duration_s;
  if (!(seconds > 0)) return 0;
  constexpr double lph_of_ml_per_s = 3.6;
  return lph_of_ml_per_s * step_ml * static_cast<double>(emitter.records.size()) / seconds;
}

/// Of the catch, as a share of `against` squared.
double catch_variance(const Field& field, const Survey& survey, const MeasuredEmitter& emitter,
                      double against_lph) {
  const double of_catching = survey.replicate_cv * emitter.discharge_lph / against_lph;
  const double step = graduation_lph(field, survey, emitter) / against_lph;
  return (of_catching * of_catching + step * step / 12) / std::max(1, emitter.replicates);
}

/// Adds what the making of the emitters contributes at the level of the zone.
void add_making(const Zone& zone, std::span<Sample> samples) {
  std::vector<double> values;
  values.reserve(samples.size());
  for (const Sample& sample : samples) values.push_back(sample.value);
  const double spread = zone.emitter.manufacturing_cv * median_of(std::move(values));
  for (Sample& sample : samples) sample.noise_variance += spread * spread;
}

void gather_zone(const Field& field, const Survey& survey, const DischargeReference& reference,
                 ZoneSamples& zone, DischargeSamples& out) {
  const std::size_t first = out.samples.size();
  const bool by_hydraulics = zone.reference == ReferenceKind::clean_system;
  for (std::size_t i = 0; i < survey.emitters.size(); ++i) {
    const MeasuredEmitter& emitter = survey.emitters[i];
    const bool placed =
        emitter.placement == Placement::declared || emitter.placement == Placement::by_fix;
    if (!placed || !usable_in(emitter, zone.zone)) continue;
    const double against = by_hydraulics ? reference.emitters_lph.at(i) : zone.median_lph;
    if (!(against > 0)) {
      ++zone.without_reference;
      continue;
    }
    out.samples.push_back({emitter.site, emitter.discharge_lph / against,
                           catch_variance(field, survey, emitter, against)});
    out.emitters.push_back(i);
  }
  zone.samples = static_cast<int>(out.samples.size() - first);
  add_making(field.zones[static_cast<std::size_t>(zone.zone)],
             std::span(out.samples).subspan(first));
}

}  // namespace

std::string to_text(ReferenceKind kind) {
  return kind == ReferenceKind::clean_system ? "what a clean system would give at that place"
                                             : "the median of the zone";
}

std::string why_no_samples(const ZoneSamples& zone) {
  if (zone.without_reference == 0) return "no emitter was measured here at a known place";
  return zone.reference == ReferenceKind::clean_system
             ? "a clean system would give nothing where emitters were measured here"
             : "half or more of the emitters measured here give nothing: they have no median to be "
               "compared with";
}

DischargeSamples discharge_samples(const Field& field, const Survey& survey,
                                   const DischargeReference& reference) {
  DischargeSamples out;
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    ZoneSamples zone;
    zone.zone = static_cast<int>(z);
    zone.median_lph = zone_median_lph(survey, zone.zone);
    if (z < reference.zones.size() && reference.zones[z] != 0)
      zone.reference = ReferenceKind::clean_system;
    gather_zone(field, survey, reference, zone, out);
    out.zones.push_back(zone);
  }
  return out;
}

}  // namespace evendrip
