// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/expected.hpp"

#include <cmath>

#include <gtest/gtest.h>

#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;

/// A field folder with its survey, and what is expected of it.
struct Expected {
  Field field;
  Survey survey;
  Expectation expectation;

  explicit Expected(const FieldFolder& folder)
      : field(read_field(folder.write())), survey(read_survey(field, "")) {
    again();
  }
  void again(int threads = 1) {
    Work work;
    work.threads = threads;
    expectation = expect(field, survey, hydraulic_options(field, ""), work);
  }
  const ExpectedZone& zone() const { return expectation.zones.at(0); }
};

FieldFolder gauged_folder() {
  FieldFolder folder;
  folder.add("pressures = \"pressures.csv\"\n");
  folder.file("pressures.csv", "port,pressure_kpa,gauge_accuracy_kpa\nP1,100,0.01\n");
  return folder;
}

std::string cans(const std::string& rows) {
  return "record,lateral,station_m,volume_ml,duration_s,pressure_kpa\n" + rows;
}

TEST(Expectation, IsOfACleanSystemAtTheGaugedInletPressure) {
  const Expected expected(gauged_folder());
  const ExpectedZone& zone = expected.zone();
  ASSERT_TRUE(zone.computed) << zone.why_not;
  ASSERT_EQ(zone.laterals.size(), 20U);
  // The gauge stands 0.5 m above the line.
  EXPECT_NEAR(zone.gauges.inlet_kpa.value, 100 + 0.5 * 9.80665, 1e-3);
  EXPECT_EQ(zone.gauges.inlet_source, "gauge P1");
  for (const ExpectedLateral& lateral : zone.laterals) {
    ASSERT_EQ(lateral.discharge_lph.size(), 100U);
    EXPECT_NEAR(lateral.station_m.front(), 0.25, 1e-9);
    EXPECT_NEAR(lateral.station_m.back(), 49.75, 1e-6);
    EXPECT_LT(lateral.pressure_kpa.front(), zone.gauges.inlet_kpa.value);
    EXPECT_LT(lateral.pressure_kpa.back(), lateral.pressure_kpa.front());
  }
  EXPECT_NEAR(zone.total_lph, 2000 * std::sqrt(1.049), 20);
  EXPECT_DOUBLE_EQ(zone.rated_tolerance_frac, 0.07);
}

TEST(Expectation, JudgesEveryEmitterOfTheSurveyInItsOrder) {
  FieldFolder folder = gauged_folder();
  folder.file("cans.csv", cans("A,L1,0.25,50,180,\nB,L2,49.75,40,180,50\n"));
  const Expected expected(folder);
  ASSERT_EQ(expected.expectation.emitters.size(), 2U);
  const JudgedEmitter& first = expected.expectation.emitters[0];
  EXPECT_NEAR(first.delivery, 1.0 / expected.zone().laterals[0].discharge_lph[0], 1e-9);
  EXPECT_FALSE(first.pressure_measured);
  const JudgedEmitter& second = expected.expectation.emitters[1];
  EXPECT_EQ(second.emitter, 1);
  EXPECT_TRUE(second.pressure_measured);
  EXPECT_NEAR(second.performance, 0.8 / std::sqrt(0.5), 1e-9);
}

TEST(Expectation, LetsCloggedHolesRaiseThePressuresAsTheyAre) {
  FieldFolder folder = gauged_folder();
  folder.file("cans.csv", cans("A,L1,5,25,180,\nB,L5,25,25,180,\nC,L9,45,25,180,\n"));
  const Expected clogged(folder);
  const ExpectedZone& zone = clogged.zone();
  EXPECT_LT(zone.gauges.wear_factor.value, 0.7);
  EXPECT_GT(zone.laterals[19].as_is_pressure_kpa.back(), zone.laterals[19].pressure_kpa.back());
  // The reference stays that of a clean system.
  EXPECT_NEAR(zone.total_lph, Expected(gauged_folder()).zone().total_lph, 1e-3);
}

TEST(Expectation, HearsTheMeterOfTheWear) {
  FieldFolder folder = gauged_folder();
  folder.add("meter = \"meter.csv\"\n");
  folder.file("meter.csv", "meter,zones,flow_m3_h,accuracy_pct\nW1,Z1,1.3,1\n");
  folder.file("cans.csv",
              "record,lateral,station_m,volume_ml,duration_s,state\n"
              "A,L1,0.25,50,180,dug_damage\n");
  const Expected metered(folder);
  // 1.3 m3/h of about 0.905 x 2.03 m3/h, drawn a little towards 1.
  EXPECT_NEAR(metered.zone().gauges.wear_factor.value, 0.73, 0.04);
  EXPECT_LT(metered.zone().gauges.wear_factor.sd, 0.06);
}

TEST(Expectation, SaysWhatAZoneNeedsThatCannotBeComputed) {
  FieldFolder no_manifold;
  no_manifold.change("field.toml", "manifolds = \"manifolds.geojson\"\n", "");
  const Expected unsupplied(no_manifold);
  EXPECT_FALSE(unsupplied.zone().computed);
  EXPECT_EQ(unsupplied.zone().why_not, "needs [layers] manifolds");
  EXPECT_FALSE(unsupplied.expectation.at({testing::west + 20, testing::south + 10}, 0));
  EXPECT_FALSE(unsupplied.expectation.at_station(0, 5));
  ASSERT_EQ(unsupplied.expectation.emitters.size(), 1U);
  EXPECT_TRUE(std::isnan(unsupplied.expectation.emitters[0].delivery));

  FieldFolder no_pressure;
  no_pressure.change("field.toml", "inlet_pressure = \"110 kPa\"\n", "");
  const Expected unpressed(no_pressure);
  EXPECT_FALSE(unpressed.zone().computed);
  EXPECT_NE(unpressed.zone().why_not.find("inlet_pressure"), std::string::npos);
  const Doubt doubt = entry(unpressed.expectation.doubts, "no_inlet_pressure");
  EXPECT_EQ(to_text(doubt.place).find("field.toml"), 0U) << to_text(doubt.place);
}

TEST(Expectation, SaysWhereNoEmitterIsJoinedToTheSupply) {
  FieldFolder folder;
  folder.file("manifolds.geojson",
              FieldFolder::layer(FieldFolder::line(
                  R"("id":"M1","zone":"Z1","kind":"supply","inside_diameter_in":2)",
                  testing::west + 80, testing::south + 1, testing::west + 95, testing::south + 1)));
  const Expected expected(folder);
  EXPECT_FALSE(expected.zone().computed);
  EXPECT_FALSE(expected.zone().why_not.empty());
  EXPECT_FALSE(expected.expectation.at({testing::west + 20, testing::south + 10}, 0));
}

TEST(Expectation, TellsOnceWhatItsZonesHaveInCommon) {
  FieldFolder folder;
  folder.file("zones.geojson",
              FieldFolder::layer(FieldFolder::polygon("Z1", testing::west, testing::south,
                                                      testing::west + 100, testing::south + 60) +
                                 "," +
                                 FieldFolder::polygon("Z2", testing::west, testing::south + 60,
                                                      testing::west + 100, testing::south + 120)));
  folder.add("\n[[zone]]\nid = \"Z2\"\ninlet_pressure = \"90 kPa\"\n");
  std::string lines = FieldFolder::lateral("L1", testing::south + 20);
  std::string other = FieldFolder::lateral("L2", testing::south + 80);
  other.replace(other.find("Z1"), 2, "Z2");
  folder.file("laterals.geojson", FieldFolder::layer(lines + "," + other));
  folder.file(
      "manifolds.geojson",
      FieldFolder::layer(
          FieldFolder::line(R"("id":"M1","zone":"Z1","kind":"supply","inside_diameter_in":2)",
                            testing::west + 10, testing::south + 5, testing::west + 10,
                            testing::south + 55) +
          "," +
          FieldFolder::line(R"("id":"M2","zone":"Z2","kind":"supply","inside_diameter_in":2)",
                            testing::west + 10, testing::south + 65, testing::west + 10,
                            testing::south + 115)));
  const Expected expected(folder);
  ASSERT_EQ(expected.expectation.zones.size(), 2U);
  for (const ExpectedZone& zone : expected.expectation.zones) EXPECT_TRUE(zone.computed);
  EXPECT_NEAR(expected.expectation.zones[1].gauges.inlet_kpa.value, 90, 1e-9);
  EXPECT_EQ(count(expected.expectation.doubts, "no_elevation"), 1);
}

TEST(Expectation, IsFoundByPlaceAndByStation) {
  const Expected expected(gauged_folder());
  const Expectation& e = expected.expectation;
  const ExpectedLateral& lateral = expected.zone().laterals[4];
  const auto by_station = e.at_station(lateral.lateral, 10.5);
  ASSERT_TRUE(by_station);
  EXPECT_NEAR(by_station->discharge_lph,
              (lateral.discharge_lph[20] + lateral.discharge_lph[21]) / 2, 1e-12);
  const Point place = place_on_lateral(expected.field, lateral.lateral, 10.5);
  const auto by_place = e.at({place.x, place.y + 0.7}, 0);
  ASSERT_TRUE(by_place);
  EXPECT_NEAR(by_place->discharge_lph, by_station->discharge_lph, 1e-9);
  EXPECT_NEAR(by_place->pressure_kpa, by_station->pressure_kpa, 1e-7);
  EXPECT_DOUBLE_EQ(e.at_station(lateral.lateral, 80)->discharge_lph, lateral.discharge_lph.back());
  EXPECT_FALSE(e.at(place, 1));
  EXPECT_FALSE(e.at(place, -1));
  EXPECT_FALSE(e.at_station(99, 1));
  EXPECT_FALSE(Expectation().at(place, 0));
}

TEST(Expectation, NamesItsMethod) {
  FieldFolder folder;
  folder.add("water_temperature = \"16 C\"\n");
  EXPECT_EQ(Expected(folder).expectation.method_text(),
            "expected discharge by hydraulics (Darcy-Weisbach, water 16 degC), clean system at the "
            "inlet pressure that the gauges say");
  folder.change("field.toml", "inside_diameter = \"16 mm\"",
                "inside_diameter = \"16 mm\"\nhazen_williams_c = 140");
  EXPECT_NE(Expected(folder).expectation.method_text().find("(Hazen-Williams,"), std::string::npos);
}

TEST(HydraulicOptions, TakeTheWaterTemperatureOfTheSurvey) {
  FieldFolder folder;
  folder.add(
      "water_temperature = \"12 C\"\n\n[[survey]]\nid = \"old\"\ndate = 2020-01-01\n"
      "catch_cans = \"cans.csv\"\nwater_temperature = \"25 C\"\n");
  const Field field = read_field(folder.write());
  EXPECT_DOUBLE_EQ(hydraulic_options(field, "old").water_temperature_c, 25);
  EXPECT_DOUBLE_EQ(hydraulic_options(field, "spring").water_temperature_c, 12);
  EXPECT_DOUBLE_EQ(hydraulic_options(field, "").water_temperature_c, 12);
}

class SampleField : public ::testing::TestWithParam<const char*> {
 protected:
  Field field =
      read_field(std::filesystem::path(EVENDRIP_TEST_DATA) / "../sample_fields" / GetParam());
  Survey survey = read_survey(field, "");
  Expectation expected(int threads) const {
    Work work;
    work.threads = threads;
    return expect(field, survey, hydraulic_options(field, ""), work);
  }
};

TEST_P(SampleField, IsComputedWhole) {
  const Expectation expectation = expected(2);
  ASSERT_EQ(expectation.zones.size(), field.zones.size());
  for (const ExpectedZone& zone : expectation.zones) {
    ASSERT_TRUE(zone.computed) << zone.why_not;
    EXPECT_NEAR(zone.gauges.soil_factor.value * zone.total_lph, zone.state.inflow_m3_s * 3.6e6,
                1e-6 * zone.total_lph);
    EXPECT_GT(zone.smallest_lph, 0.5 * zone.mean_lph);
    EXPECT_GT(zone.relative_sd, 0);
    EXPECT_LT(zone.relative_sd, 0.1);
  }
  double delivery = 0;
  int judged = 0;
  for (const JudgedEmitter& emitter : expectation.emitters) {
    if (std::isnan(emitter.delivery)) continue;
    delivery += emitter.delivery;
    ++judged;
  }
  ASSERT_GT(judged, 20);
  EXPECT_GT(delivery / judged, 0.6);
  EXPECT_LT(delivery / judged, 1.1);
}

TEST(Expectation, IsTheSameForAnyNumberOfThreads) {
  const Field field =
      read_field(std::filesystem::path(EVENDRIP_TEST_DATA) / "../sample_fields/heron_flat");
  const Survey survey = read_survey(field, "");
  const auto with_threads = [&](int threads) {
    Work work;
    work.threads = threads;
    return expect(field, survey, hydraulic_options(field, ""), work);
  };
  const Expectation one = with_threads(1);
  const Expectation three = with_threads(3);
  EXPECT_EQ(testing::all_text(one.doubts), testing::all_text(three.doubts));
  for (std::size_t z = 0; z < one.zones.size(); ++z) {
    EXPECT_EQ(one.zones[z].gauges.inlet_kpa.value, three.zones[z].gauges.inlet_kpa.value);
    for (std::size_t i = 0; i < one.zones[z].laterals.size(); ++i) {
      EXPECT_EQ(one.zones[z].laterals[i].pressure_kpa, three.zones[z].laterals[i].pressure_kpa);
      EXPECT_EQ(one.zones[z].laterals[i].as_is_pressure_kpa,
                three.zones[z].laterals[i].as_is_pressure_kpa);
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Expectation, SampleField,
                         ::testing::Values("heron_flat", "cottonwood_draw", "wattle_bend"),
                         [](const auto& test) { return std::string(test.param); });

}  // namespace
}  // namespace evendrip
