// SPDX-License-Identifier: Apache-2.0
// A lateral built from its lines against reference laterals computed step by step with an
// independent programme (its Hazen-Williams flows agree with an EPANET engine to 1e-5 L/h): 16 mm
// inside, 200 outlets every 0.5 m from 0.5 m, q = 0.50596 h^0.5 (1.6 L/h at 10 m), inlet head 10 m,
// no loss at joints, g 9.80665. Uphill and downhill 1 %, read from a raster.
#include "evendrip/crs/crs.hpp"
#include "evendrip/hydraulics/water.hpp"
#include "evendrip/hydraulics/zone_network.hpp"
#include "evendrip/io/raster_file.hpp"
#include "own_folder.hpp"
#include "small_zone.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <numeric>
#include <span>
#include <vector>

namespace evendrip {
namespace {

struct Case {
  const char* name;
  FrictionLaw law;
  double slope;
  double total_lph;
  double end_m;
  double lowest_m;
  int lowest_outlet;
  double first_lph;
  double middle_lph;
  double last_lph;
};

const std::vector<Case> cases{{"flat, Hazen-Williams", FrictionLaw::hazen_williams, 0, 312.9116,
                               9.41158, 9.41158, 200, 1.59931, 1.55891, 1.55220},
                              {"flat, laminar/Blasius", FrictionLaw::laminar_blasius, 0, 311.1186,
                               9.25880, 9.25880, 200, 1.59917, 1.54856, 1.53955},
                              {"flat, Blasius", FrictionLaw::blasius, 0, 311.1062, 9.25727, 9.25727,
                               200, 1.59917, 1.54857, 1.53942},
                              {"uphill, Hazen-Williams", FrictionLaw::hazen_williams, 0.01,
                               304.9184, 8.44637, 8.44637, 200, 1.59895, 1.51970, 1.47045},
                              {"uphill, laminar/Blasius", FrictionLaw::laminar_blasius, 0.01,
                               303.1496, 8.30095, 8.30095, 200, 1.59880, 1.50954, 1.45774},
                              {"downhill, Hazen-Williams", FrictionLaw::hazen_williams, -0.01,
                               320.6409, 10.37708, 9.90283, 53, 1.59968, 1.59718, 1.62987},
                              {"downhill, laminar/Blasius", FrictionLaw::laminar_blasius, -0.01,
                               318.8263, 10.21740, 9.80759, 71, 1.59953, 1.58665, 1.61728}};

constexpr double west = 500'000;
constexpr double south = 4'200'000;

/// A raster of 5 m cells that rises along the lateral.
FileRef sloping_raster(const Crs& crs, double slope) {
  const FileRef file{test::own_folder() / "slope.tif", "", "slope.tif"};
  Raster raster(Grid{west - 50, south + 150, 5, 24, 40});
  for (int row = 0; row < raster.grid.rows; ++row) {
    for (int column = 0; column < raster.grid.columns; ++column) {
      raster.set(raster.grid.index(row, column),
                 slope * (raster.grid.centre(row, column).y - south));
    }
  }
  GeotiffWriter writer(file.path, raster.grid, crs, {{{"elevation", "m"}}, {}, 256});
  writer.write({0, 0, raster.grid.rows, raster.grid.columns}, std::span(&raster, 1));
  writer.finish(Work{});
  return file;
}

ZoneNetwork lateral_of(const Case& one) {
  Field field = invented_zone::field_of(
      {.laterals = 1, .length_m = 100, .emitter_spacing_m = 0.5, .first_offset_m = 0.5});
  field.crs = parse_crs("EPSG:32614");
  for (Line* line :
       {&field.laterals[0].line, &field.manifolds[0].line, &field.zones[0].area[0].outer})
    for (Point& p : *line) p = {p.x + west, p.y + south};
  field.elevation = sloping_raster(field.crs, one.slope);
  EmitterSpec& emitter = field.zones[0].emitter;
  emitter.discharge_lph = 1.6;
  emitter.pressure_kpa = pressure_kpa(10);
  field.zones[0].inlet_pressure_kpa = pressure_kpa(10);
  field.ports[0].place = {west + 0.75, south};  // the inlet lies at the joint
  HydraulicOptions options;
  options.law = one.law;
  options.lateral_inlet_k = 0;
  Doubts doubts;
  ZoneNetwork zone = *zone_network(field, 0, Terrain(field), options, doubts);
  zone.network.frictions[0].viscosity_m2_s = 1.003e-6;
  return zone;
}

TEST(ReferenceLateral, HasTheSameDischargeAndTheSameLowestPlace) {
  for (const Case& one : cases) {
    SCOPED_TRACE(one.name);
    const ZoneNetwork zone = lateral_of(one);
    const NetworkState state = solve_network(zone.network);
    const NetworkLateral& lateral = zone.laterals[0];
    ASSERT_EQ(lateral.emitters, 200);
    std::vector<double> heads;
    for (int e = 1; e <= 200; ++e) {
      heads.push_back(
          head_m(state.pressure_kpa(zone.network, lateral.nodes[static_cast<std::size_t>(e)])));
    }
    const auto lowest = std::min_element(heads.begin(), heads.end());
    EXPECT_NEAR(std::accumulate(state.discharge_lph.begin(), state.discharge_lph.end(), 0.0),
                one.total_lph, 3e-3);
    EXPECT_NEAR(heads.back(), one.end_m, 2e-4);
    EXPECT_NEAR(*lowest, one.lowest_m, 2e-4);
    EXPECT_EQ(lowest - heads.begin() + 1, one.lowest_outlet);
    EXPECT_NEAR(state.discharge_lph[0], one.first_lph, 2e-5);
    EXPECT_NEAR(state.discharge_lph[99], one.middle_lph, 2e-5);
    EXPECT_NEAR(state.discharge_lph[199], one.last_lph, 2e-5);
  }
}

}  // namespace
}  // namespace evendrip
