// SPDX-License-Identifier: Apache-2.0
// Laterals that are not there, laid over a real maize field: whatever is said of their water is
// wrong.
//
// usage: condition_control LOG THREADS [LAYOUTS [WIDTH_M]]
//        LOG      maize_yield_monitor_2011.tsv: a combine's raw records, Minnesota, 5 Nov 2011
//                 (University of Minnesota Precision Agriculture Center; dataset gartner.corn of
//                 the R package agridat, CC BY-SA 3.0). It is not part of this source.
//        LAYOUTS  by number, 0,5,16 or all: 8 bearings x 3 spacings, 0 to 23; all if not given.
//                 Together they take about half an hour of a processor.
//        WIDTH_M  of an implement, as the grower would state it; none if not given
//
// The ground is cut into four zones of 6 to 7 ha. Each layout is judged twice:
//   no holes       nothing can be verified: no zone may be judged. A water finding is a place of
//                  which the report says that the crop follows the laterals and is low.
//   clean holes    12, 24 or 48 emitters a zone, dug at random laterals, all clean: discharge
//                  scatters by 4 % and the catch by 2 %. A water finding is a place whose verdict
//                  is low, or whose emitters are called low with a probability above 0.8.
// Reach of either: a finding in at most 5 % of the layouts.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "evendrip/condition/field_condition.hpp"
#include "evendrip/crop/crop_reading.hpp"
#include "evendrip/geo/line.hpp"
#include "evendrip/report/condition_places.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "evendrip/surface/discharge_samples.hpp"
#include "evendrip/surface/expected_map.hpp"

#include "condition_scenarios.hpp"
#include "surface_scenarios.hpp"

namespace {

using namespace evendrip;
using namespace evendrip::bench;

constexpr int bearings = 8;  // of half a turn
constexpr std::array<double, 3> spacings_m = {1.5, 3, 6};
constexpr double margin_m = 10;  // left out along the limits of the field
constexpr double reach_share = 0.05;

struct Layout {
  int number = 0;
  double bearing_deg = 0;
  std::size_t spacing = 0;  ///< index into spacings_m
  int holes = 24;           ///< in a zone

  double spacing_m() const { return spacings_m[spacing]; }
};

/// So ordered that any few in a row have other bearings and spacings.
std::vector<Layout> layouts() {
  std::vector<Layout> all;
  for (int i = 0; i < bearings * static_cast<int>(spacings_m.size()); ++i) {
    const int b = i % bearings;
    const std::size_t s = static_cast<std::size_t>(i) % spacings_m.size();
    all.push_back({i, b * 180.0 / bearings, s,
                   hole_counts[(static_cast<std::size_t>(b) + s) % hole_counts.size()]});
  }
  return all;
}

CropSource maize(const std::filesystem::path& log) {
  CropSource source;
  source.id = "maize";
  source.kind = "yield";
  source.file = {std::filesystem::absolute(log), "", log.filename().string()};
  source.date = "2011-11-05";
  source.crop = "maize";
  source.moisture_basis_frac = 0.155;
  source.swath_m = 9.144;  // 360 in
  return source;
}

/// Ground without zones or laterals.
Field bare_field() {
  Field field;
  field.name = "Invented lines";
  field.crs = field.stated_crs = parse_crs("EPSG:32615");
  field.columns = {{"long", "lon"},         {"mass", "mass_flow_lb_s"},
                   {"time", "time_s"},      {"seconds", "duration_s"},
                   {"dist", "distance_in"}, {"moist", "moisture_pct"}};
  return field;
}

Zone zone_over(const std::string& id, const Extent& ground, double spacing_m) {
  Zone zone;
  zone.id = id;
  zone.area = {{{{ground.x_min, ground.y_min},
                 {ground.x_max, ground.y_min},
                 {ground.x_max, ground.y_max},
                 {ground.x_min, ground.y_max}},
                {}}};
  zone.emitter.discharge_lph = 1;
  zone.emitter.pressure_kpa = 100;
  zone.emitter.manufacturing_cv = stated_make_cv;
  zone.emitter.spacing_m = 0.5;
  zone.emitter.first_offset_m = 0.25;
  zone.lateral.spacing_m = spacing_m;
  zone.lateral.source = "laid_out";
  return zone;
}

Field zoned(Field field, const Extent& ground, double spacing_m) {
  field.scale_factor = scale_factor(
      field.crs, {(ground.x_min + ground.x_max) / 2, (ground.y_min + ground.y_max) / 2});
  for (int i = 0; i < 4; ++i) {
    Extent quarter = ground;
    (i % 2 == 0 ? quarter.x_max : quarter.x_min) = (ground.x_min + ground.x_max) / 2;
    (i / 2 == 0 ? quarter.y_max : quarter.y_min) = (ground.y_min + ground.y_max) / 2;
    field.zones.push_back(zone_over("Z" + std::to_string(i + 1), quarter, spacing_m));
  }
  return field;
}

Field with_laterals(Field field, const Layout& layout) {
  LateralLayout lines;
  lines.bearing_deg = layout.bearing_deg;
  lines.spacing_m = layout.spacing_m() * field.scale_factor;
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    const EmitterSpec& emitter = field.zones[z].emitter;
    int number = 0;
    for (Line& line : lay_out_laterals(field.zones[z].area, lines)) {
      Lateral lateral;
      lateral.id = fmt::format("{}-{}", field.zones[z].id, ++number);
      lateral.zone = static_cast<int>(z);
      lateral.length_m = length_m(line) / field.scale_factor;
      lateral.emitters = static_cast<int>(std::floor((lateral.length_m - emitter.first_offset_m) /
                                                     emitter.spacing_m)) +
                         1;
      lateral.line = std::move(line);
      field.laterals.push_back(std::move(lateral));
    }
  }
  return field;
}

/// Clean emitters, one in each quarter of laterals at random.
Survey dug(const Field& field, const Layout& layout) {
  Chance chance(condition_tuning_seed, 1000 + static_cast<std::uint64_t>(layout.number));
  Survey survey;
  survey.id = "survey";
  survey.replicate_cv = catch_error;
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    std::vector<int> mine;
    for (std::size_t l = 0; l < field.laterals.size(); ++l)
      if (field.laterals[l].zone == static_cast<int>(z) &&
          field.laterals[l].emitters >= holes_on_a_lateral)
        mine.push_back(static_cast<int>(l));
    for (const std::size_t pick : picked(mine.size(), layout.holes / holes_on_a_lateral, chance)) {
      const int l = mine[pick];
      const int emitters = field.laterals[static_cast<std::size_t>(l)].emitters;
      for (int i = 0; i < holes_on_a_lateral; ++i) {
        const double part = (i + chance.even()) / holes_on_a_lateral;
        const double station_m =
            emitter_station_m(field.zones[z].emitter, 1 + static_cast<int>(part * emitters));
        MeasuredEmitter caught;
        caught.name = std::to_string(survey.emitters.size() + 1);
        caught.site = {place_on_lateral(field, l, station_m), l, station_m, static_cast<int>(z)};
        caught.discharge_lph = field.zones[z].emitter.discharge_lph *
                               (1 + stated_make_cv * chance.normal()) *
                               (1 + catch_error * chance.normal());
        survey.emitters.push_back(caught);
      }
    }
  }
  return survey;
}

/// As run makes it of a log.
CropWitness witness_of(const Field& field, const CropSource& source, const CropReading& reading,
                       const std::vector<double>& implement_widths_m, const Work& work) {
  auto evidence = evidence_of(field, source, reading, work);
  const RasterReader& relative = *reading.layer.relative;
  mark_headland(*evidence, field, recognise_headland(field, relative, work).width_m);
  std::vector<MachineStripe> stripes = machine_stripes(field, relative, implement_widths_m, work);
  mark_machine_stripes(*evidence, field, stripes);
  return {*std::move(evidence), std::move(stripes)};
}

/// Of one layout, or the sum of many.
struct Found {
  int layouts = 0;
  int zones = 0;
  int judged = 0;   ///< zones
  int follows = 0;  ///< zones whose crop is taken to follow the laterals: used, or told unverified
  int zones_low = 0;
  int layouts_low = 0;
  double places = 0;
  double places_low = 0;
  double places_called = 0;  ///< with a probability above 0.8

  void add(const Found& other) {
    layouts += other.layouts;
    zones += other.zones;
    judged += other.judged;
    follows += other.follows;
    zones_low += other.zones_low;
    layouts_low += other.layouts_low;
    places += other.places;
    places_low += other.places_low;
    places_called += other.places_called;
  }
};

void count_zone(const Field& field, const ZoneState& zone, Found& found) {
  double low = 0;
  if (told_without_holes(zone)) {
    for (int row = 0; row < zone.grid.rows(); ++row) {
      for (int station = 0; station < zone.grid.stations(); ++station) {
        if (!zone.grid.present(row, station)) continue;
        found.places += 1;
        low += water_shaped_crop(zone, row, station) < field.thresholds.crop_low_below ? 1 : 0;
      }
    }
  }
  for (const SegmentCondition& segment : zone.segments) {
    const bool called = segment.slope_holds && segment.p_low > called_above;
    found.places += 1;
    found.places_called += called ? 1 : 0;
    low += called || verdict_on(segment, field.thresholds) == WaterVerdict::low ? 1 : 0;
  }
  found.zones += 1;
  found.judged += zone.judged ? 1 : 0;
  found.follows += zone.layer_used.empty() ? 0 : 1;
  found.zones_low += low > 0 ? 1 : 0;
  found.places_low += low;
}

Found judged(const Field& field, const Survey& survey, const CropWitness& witness,
             const Layout& layout, const Work& work) {
  ConditionOptions options;
  options.seed = static_cast<std::uint64_t>(layout.number);
  options.draws = 20;  // of the uniformity, which is not looked at
  options.segment_m = scored_over_m;
  const Expectation expectation = expect(field, survey, {}, work);
  const FieldCondition condition = judge_condition(
      field, survey, expectation, discharge_samples(field, survey, reference_of(expectation)),
      {witness}, options, work);
  Found found;
  found.layouts = 1;
  for (const ZoneState& zone : condition.zones) count_zone(field, zone, found);
  found.layouts_low = found.zones_low > 0 ? 1 : 0;
  return found;
}

void tell_layout(const Layout& layout, const CropWitness& witness, const Found& bare,
                 const Found& holes) {
  fmt::print("{:7.1f} {:7.1f} {:7} {:7} | {:7} {:7} {:7} {:9.0f} | {:5} {:6} {:7} {:7} {:9.0f}\n",
             layout.bearing_deg, layout.spacing_m(), witness.evidence.data.size(),
             witness.stripes.size(), bare.judged, bare.follows, bare.zones_low, bare.places_low,
             layout.holes, holes.judged, holes.follows, holes.zones_low, holes.places_low);
  std::fflush(stdout);
}

void tell_sum(const char* control, const Found& found) {
  const double share = static_cast<double>(found.layouts_low) / found.layouts;
  fmt::print(
      "{}: a water finding in {} of {} layouts, {:.3f} (reach: at most {}: {}); in {} of {} zones, "
      "{:.3f}; {:.0f} of {:.0f} places, {:.0f} of them above 0.8; crop taken to follow the "
      "laterals "
      "in {} zones; judged {} zones\n",
      control, found.layouts_low, found.layouts, share, reach_share,
      share <= reach_share ? "reached" : "not reached", found.zones_low, found.zones,
      static_cast<double>(found.zones_low) / found.zones, found.places_low, found.places,
      found.places_called, found.follows, found.judged);
}

struct Asked {
  std::string log;
  std::vector<Layout> layouts;
  std::vector<double> implement_widths_m;
};
int run(const Asked& asked, const Work& work) {
  const CropSource source = maize(asked.log);
  Extent ground;
  for (const Point place : read_harvest_log(bare_field(), source).places) ground.include(place);
  ground = ground.grown(-margin_m);
  std::array<Field, spacings_m.size()> fields;
  std::array<CropReading, spacings_m.size()> readings;
  for (std::size_t s = 0; s < spacings_m.size(); ++s) {
    fields[s] = zoned(bare_field(), ground, spacings_m[s]);
    readings[s] = read_crop(fields[s], source, analysis_grid(fields[s]), work);
  }
  fmt::print("{:23} {:7} | no holes: zones, of {:10} | clean holes: zones\n", "", "",
             fields[0].zones.size());
  fmt::print("{:>7} {:>7} {:>7} {:>7} | {:>7} {:>7} {:>7} {:>9} | {:>5} {:>6} {:>7} {:>7} {:>9}\n",
             "bearing", "spacing", "records", "stripes", "judged", "follow", "low", "places",
             "holes", "judged", "follow", "low", "places");
  std::fflush(stdout);
  Found bare_sum;
  Found holes_sum;
  for (const Layout& layout : asked.layouts) {
    const Field field = with_laterals(fields[layout.spacing], layout);
    const CropWitness witness =
        witness_of(field, source, readings[layout.spacing], asked.implement_widths_m, work);
    const Found bare = judged(field, {}, witness, layout, work);
    const Found holes = judged(field, dug(field, layout), witness, layout, work);
    tell_layout(layout, witness, bare, holes);
    bare_sum.add(bare);
    holes_sum.add(holes);
  }
  tell_sum("no holes", bare_sum);
  tell_sum("clean holes", holes_sum);
  return 0;
}

std::vector<Layout> layouts_named(const std::string& words) {
  const std::vector<Layout> all = layouts();
  if (words == "all") return all;
  std::vector<Layout> some;
  std::istringstream list(words);
  for (std::string word; std::getline(list, word, ',');) {
    const int number = std::atoi(word.c_str());
    if (number >= 0 && number < static_cast<int>(all.size()))
      some.push_back(all[static_cast<std::size_t>(number)]);
  }
  return some;
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.size() < 2) {
    fmt::print(stderr, "usage: condition_control LOG THREADS [LAYOUTS [WIDTH_M]]\n");
    return 2;
  }
  Asked asked{words[0], layouts_named(words.size() > 2 ? words[2] : "all"), {}};
  if (words.size() > 3) asked.implement_widths_m.push_back(std::atof(words[3].c_str()));
  if (asked.layouts.empty()) {
    fmt::print(stderr, "layouts have the numbers 0 to 23\n");
    return 2;
  }
  Work work;
  work.threads = std::max(1, std::atoi(words[1].c_str()));
  try {
    return run(asked, work);
  } catch (const std::exception& error) {
    fmt::print(stderr, "{}\n", error.what());
    return 1;
  }
}
