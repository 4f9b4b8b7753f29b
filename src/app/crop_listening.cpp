// SPDX-License-Identifier: Apache-2.0
#include "crop_listening.hpp"

#include "evendrip/crop/emitter_crop.hpp"
#include "evendrip/crs/crs.hpp"
#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/surface/discharge_samples.hpp"
#include "evendrip/surface/expected_map.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace evendrip {
namespace {

constexpr double segment_m = 10;               // what one hole speaks for; common practice
constexpr double false_discovery_rate = 0.05;  // the same in all maps; common practice
constexpr double unknown_sight_m = 12;  // of points that are no log: as far as they are carried
constexpr std::size_t fewest_pairs = 10;

/// No narrower run of laterals is looked for. Where a layer shows no fault however large, that is
/// wider than the field.
double narrowest_m(const Field& field, const HeardLayer& heard) {
  if (!heard.evidence) return unknown_sight_m;
  if (heard.evidence->smallest_width_m > 0) return heard.evidence->smallest_width_m;
  const Extent extent = field.extent();
  return std::hypot(extent.width(), extent.height());
}

/// Twice the mean distance of the emitters, were they spread evenly over the zones.
double neighbourhood_m(const Field& field, std::size_t emitters) {
  double area_ha = 0;
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    area_ha += field.zone_area_ha(static_cast<int>(z));
  }
  return 2 * std::sqrt(10'000 * area_ha / static_cast<double>(emitters)) * field.scale_factor;
}

}  // namespace

bool lies_south(const Field& field) {
  if (!field.crs.known()) return false;
  const Extent extent = field.extent();
  const Point middle{0.5 * (extent.x_min + extent.x_max), 0.5 * (extent.y_min + extent.y_max)};
  return Transform(field.crs, wgs84())(middle).y < 0;
}

HeardLayer screen_layer(const Field& field, std::size_t source, const Grid& grid,
                        const std::vector<double>& implement_widths_m, std::uint64_t seed,
                        const Work& work) {
  const CropSource& named = field.crops[source];
  const Work inner = without_progress(work);
  HeardLayer heard;
  heard.source = source;
  CropReading reading = read_crop(field, named, grid, work);
  const RasterReader& relative = *reading.layer.relative;
  heard.headland = recognise_headland(field, relative, inner);
  heard.stripes = machine_stripes(field, relative, implement_widths_m, inner);
  heard.water = water_part(field, reading.layer.relative, inner);
  heard.evidence = evidence_of(field, named, reading, inner);
  if (heard.evidence) {
    mark_headland(*heard.evidence, field, heard.headland.width_m);
    mark_machine_stripes(*heard.evidence, field, heard.stripes);
  }
  heard.screening =
      screen_crop(field, *heard.water.rest, narrowest_m(field, heard), heard.headland.width_m,
                  false_discovery_rate, seed, inner, heard.evidence ? &*heard.evidence : nullptr);
  heard.layer = std::move(reading.layer);
  heard.harvest = std::move(reading.harvest);
  heard.index = std::move(reading.index);
  return heard;
}

HeardLayer listen_to(const Field& field, std::size_t source, const Grid& grid,
                     const std::vector<double>& implement_widths_m, std::uint64_t seed,
                     const Work& work) {
  HeardLayer heard = screen_layer(field, source, grid, implement_widths_m, seed, work);
  const Work inner = without_progress(work);
  const RasterReader& relative = *heard.layer.relative;
  heard.profiles = lateral_profiles(field, relative, heard.headland.width_m, inner);
  heard.zones = crop_by_zone(field, heard.layer);
  heard.laterals = crop_by_lateral(field, heard.layer, inner);
  heard.segments = crop_by_segment(field, relative, segment_m, inner);
  return heard;
}

std::vector<CropOverDates> over_dates_of(const Field& field,
                                         const std::vector<HeardLayer>& layers) {
  std::vector<DatedCrop> dated;
  for (const HeardLayer& heard : layers) {
    const CropLayer& layer = heard.layer;
    dated.push_back(
        {layer.id, layer.kind, layer.date, layer.relative, heard.zones, heard.laterals});
  }
  return over_dates(field, dated, lies_south(field));
}

std::string survey_with_catches(const Field& field, const std::string& named) {
  if (!named.empty()) return named;
  const SurveySource* latest = nullptr;
  for (const SurveySource& source : field.surveys) {
    if (!source.catch_cans) continue;
    if (latest == nullptr || source.date >= latest->date) latest = &source;
  }
  return latest == nullptr ? "" : latest->id;
}

MeasuredDischarge measured_discharge(const Field& field, const std::string& survey_id,
                                     const Work& work) {
  const Survey survey = read_survey(field, survey_id);
  throw_if_problem(survey.doubts);
  const Expectation expectation = expect(field, survey, hydraulic_options(field, survey.id), work);
  const DischargeSamples samples = discharge_samples(field, survey, reference_of(expectation));
  MeasuredDischarge discharge;
  discharge.survey = survey.id;
  discharge.date = survey.date;
  for (std::size_t i = 0; i < samples.samples.size(); ++i) {
    discharge.names.push_back(survey.emitters[samples.emitters[i]].name);
    discharge.places.push_back(samples.samples[i].site.place);
    discharge.sites.push_back(samples.samples[i].site);
    discharge.relative.push_back(samples.samples[i].value);
  }
  return discharge;
}

std::optional<LayerAssociation> set_beside(const Field& field, const HeardLayer& heard,
                                           const MeasuredDischarge& discharge,
                                           int emitters_per_root_zone, std::uint64_t seed,
                                           const Work& work) {
  const double cell_m = heard.layer.relative->grid().cell_m / field.scale_factor;
  LayerAssociation pairs;
  pairs.along_m = strip_length_m(field, emitters_per_root_zone, cell_m);
  const std::vector<double> crops =
      crop_at_sites(field, *heard.layer.relative, discharge.sites, pairs.along_m, work);
  const std::vector<double> rests =
      crop_at_sites(field, *heard.water.rest, discharge.sites, pairs.along_m, work);
  std::vector<Point> places;
  std::vector<double> water;
  for (std::size_t i = 0; i < discharge.sites.size(); ++i) {
    if (std::isnan(crops[i])) continue;
    pairs.emitters.push_back(i);
    pairs.crop.push_back(crops[i]);
    pairs.rest.push_back(rests[i]);
    places.push_back(discharge.places[i]);
    water.push_back(discharge.relative[i]);
  }
  if (places.size() < fewest_pairs) return std::nullopt;
  pairs.neighbours_within_m = neighbourhood_m(field, places.size());
  const auto associated = [&](const std::vector<double>& crop) {
    return associate(places, water, crop, pairs.neighbours_within_m, false_discovery_rate, seed,
                     work);
  };
  pairs.with_crop = associated(pairs.crop);
  const bool all = std::all_of(pairs.rest.begin(), pairs.rest.end(),
                               [](double value) { return std::isfinite(value); });
  if (all) pairs.with_rest = associated(pairs.rest);
  return pairs;
}

}  // namespace evendrip
