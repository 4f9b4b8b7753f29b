// SPDX-License-Identifier: Apache-2.0
// Harvest logs of tables and layers: the yield formula, what is worked out where it was not logged,
// and what is told when a log looks wrong. The logs are invented.
#include "evendrip/crop/harvest_log.hpp"

#include "invented_field.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>

namespace evendrip {
namespace {

using invented::crop_file;
using invented::small_field;

const Doubt* found(const Doubts& doubts, const std::string& code) {
  const auto at = std::find_if(doubts.begin(), doubts.end(),
                               [&](const Doubt& doubt) { return doubt.code == code; });
  return at == doubts.end() ? nullptr : &*at;
}

HarvestLog log_of(const std::string& text, double basis_frac = 0) {
  CropSource source = crop_file("harvest.csv", "yield", text);
  source.moisture_basis_frac = basis_frac;
  return read_harvest_log(small_field(), source);
}

Doubts problems_in(const std::string& text) {
  try {
    log_of(text);
  } catch (const InputError& error) {
    return error.problems();
  }
  return {};
}

// ---- the formula -------------------------------------------------------------------------------

// Corn grain is traded at 15.5 % moisture and 56 lb to the bushel (US standards for grain, from
// memory). Yield in bu/ac of one record: mass flow x seconds x (100 - moisture) / 84.5 / 56 over
// distance x swath / 6,272,640, lengths in inches: the formula published with the University of
// Minnesota's yield monitor data of 2011 (R package agridat).
TEST(HarvestYield, FollowsThePublishedFormulaInBushelsPerAcre) {
  const auto bushels_per_acre = [](double lb_s, double s, double moisture_pct, double inches,
                                   double swath_inches) {
    const double bushels = lb_s * s * (100 - moisture_pct) / 84.5 / 56;
    return bushels / (inches * swath_inches / 6'272'640);
  };
  // 1 bu/ac of maize is 56 lb on an acre of 4046.8564224 m2 (international).
  const double t_ha_per_bu_ac = 56 * 0.45359237e-3 / 0.40468564224;
  for (const double moisture : {12.0, 15.5, 21.3}) {
    const double ours = yield_at_basis_t_ha(18.4 * 3 * 0.45359237, moisture / 100, 0.155,
                                            152 * 0.0254 * 360 * 0.0254);
    EXPECT_NEAR(ours / (t_ha_per_bu_ac * bushels_per_acre(18.4, 3, moisture, 152, 360)), 1, 1e-12);
  }
}

TEST(HarvestYield, IsNoNumberWithoutArea) {
  EXPECT_TRUE(std::isnan(yield_at_basis_t_ha(5, 0.2, 0.155, 0)));
  EXPECT_TRUE(std::isnan(yield_at_basis_t_ha(5, 0.2, 0.155, std::nan(""))));
  EXPECT_EQ(yield_at_basis_t_ha(5, 0.155, 0.155, 10), 5);
}

// ---- columns -----------------------------------------------------------------------------------

TEST(HarvestLog, ReadsUsHeadings) {
  const HarvestLog log = log_of(
      "x,y,mass_flow_lb_s,duration_s,distance_in,swath_in,moisture_pct,time_s\n"
      "500001,4400001,18.4,3,152,360,21.3,100\n"
      "500003,4400001,18.4,3,152,360,15.5,103\n",
      0.155);
  ASSERT_EQ(log.size(), 2U);
  EXPECT_NEAR(log.mass_flow_kg_s[0], 18.4 * 0.45359237, 1e-12);
  EXPECT_NEAR(log.swath_m[0], 9.144, 1e-12);
  EXPECT_NEAR(log.distance_m[0], 3.8608, 1e-12);
  EXPECT_NEAR(log.moisture_frac[0], 0.213, 1e-12);
  EXPECT_NEAR(log.yield_t_ha[0],
              yield_at_basis_t_ha(18.4 * 3 * 0.45359237, 0.213, 0.155, 3.8608 * 9.144), 1e-12);
  EXPECT_TRUE(log.has_mass_flow);
  EXPECT_EQ(log.time_s[1], 3);
  EXPECT_EQ(log.lines[1], 3U);
  EXPECT_EQ(log.basis_frac, 0.155);
}

TEST(HarvestLog, TakesTheSwathOfTheSourceWhereTheLogHasNone) {
  CropSource source = crop_file("swath.csv", "yield",
                                "x,y,mass_flow_kg_s,duration_s,distance_m,swath_m\n"
                                "500001,4400001,5,1,2,\n"
                                "500003,4400001,5,1,2,4\n");
  source.swath_m = 8;
  const HarvestLog log = read_harvest_log(small_field(), source);
  EXPECT_EQ(log.swath_m, (std::vector<double>{8, 4}));
  EXPECT_NEAR(log.yield_t_ha[0], 10 * 5.0 / 16, 1e-12);
  EXPECT_NE(log.method_text.find("a swath of 8 m"), std::string::npos);
}

TEST(HarvestLog, SaysHowToStateTheSwath) {
  const Doubts problems =
      problems_in("x,y,mass_flow_kg_s,duration_s,distance_m\n500001,4400001,5,1,2\n");
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "missing_column");
  EXPECT_NE(problems[0].remedy.find("swath under [[crop]]"), std::string::npos);
}

TEST(HarvestLog, WorksOutDurationsFromTimesAndDistancesFromPlaces) {
  // The step from the end of one pass to the start of the next is no record's own.
  const HarvestLog log = log_of(
      "x,y,mass_flow_kg_s,swath_m,time_s\n"
      "500001,4400001,5,4,0\n"
      "500001,4400003,5,4,2\n"
      "500001,4400005,5,4,4\n"
      "500021,4400005,5,4,64\n"
      "500021,4400003,5,4,66\n");
  EXPECT_EQ(log.duration_s, (std::vector<double>{2, 2, 2, 2, 2}));
  for (const double distance : log.distance_m) EXPECT_NEAR(distance, 2, 1e-9);
  EXPECT_NEAR(log.yield_t_ha[3], 10 * 10.0 / 8, 1e-9);
  EXPECT_NE(log.method_text.find("durations from the times"), std::string::npos);
  EXPECT_NE(log.method_text.find("distances from the places"), std::string::npos);
}

TEST(HarvestLog, WorksOutDistancesFromSpeed) {
  const HarvestLog log =
      log_of("x,y,mass_flow_kg_s,swath_m,duration_s,speed_km_h\n500001,4400001,5,4,2,7.2\n");
  EXPECT_NEAR(log.distance_m[0], 4, 1e-12);
}

TEST(HarvestLog, CorrectsDistancesBetweenPlacesByTheScaleOfTheGrid) {
  Field field = small_field();
  field.scale_factor = 0.5;
  const HarvestLog log =
      read_harvest_log(field, crop_file("scale.csv", "yield",
                                        "x,y,mass_flow_kg_s,swath_m,duration_s\n"
                                        "500001,4400001,5,4,1\n500001,4400003,5,4,1\n"));
  EXPECT_NEAR(log.distance_m[1], 4, 1e-12);
}

TEST(HarvestLog, ReadsTimesAsNumbersAndAsText) {
  const auto times = [](const std::string& heading, const std::string& a, const std::string& b) {
    return log_of("x,y,yield_t_ha," + heading + "\n500001,4400001,8," + a + "\n500003,4400001,8," +
                  b + "\n")
        .time_s[1];
  };
  EXPECT_EQ(times("time_s", "5", "8"), 3);
  EXPECT_EQ(times("time_min", "1", "1.5"), 30);
  EXPECT_EQ(times("time", "12.5", "14"), 1.5);
  EXPECT_EQ(times("time", "2025-09-30T23:59:59Z", "2025-10-01T00:00:01Z"), 2);
  EXPECT_EQ(times("time", "2025-09-30 08:00:00", "2025-09-30 08:00:01.5"), 1.5);
  EXPECT_EQ(times("time", "2025-09-30T08:00:00+02:00", "2025-09-30T06:00:10Z"), 10);
  EXPECT_EQ(times("time", "2025/09/30 08:00:00+00", "2025/09/30 08:01:00+00"), 60);
  EXPECT_EQ(times("time", "08:00:00", "08:00:03"), 3);
}

TEST(HarvestLog, RefusesTextThatIsNoTime) {
  const Doubts problems = problems_in(
      "x,y,yield_t_ha,time\n500001,4400001,8,08:00:00\n500003,4400001,8,08:61:00\n"
      "500003,4400001,8,2025-02-30T00:00:00\n500003,4400001,8,noon\n");
  ASSERT_EQ(problems.size(), 3U);
  EXPECT_EQ(problems[0].place.row, 3U);
  EXPECT_EQ(problems[0].place.column, "time");
}

TEST(HarvestLog, KeepsTheOtherColumnsOfReadyYields) {
  const HarvestLog log = log_of(
      "x,y,yield_lb_ac,swath_ft,time_s,machine\n500001,4400001,8921.79,20,5,A\n"
      "500003,4400001,8921.79,20,6,B\n");
  EXPECT_FALSE(log.has_mass_flow);
  EXPECT_NEAR(log.yield_t_ha[0], 10, 1e-4);
  EXPECT_NEAR(log.swath_m[0], 6.096, 1e-12);
  EXPECT_EQ(log.machines, (std::vector<std::string>{"A", "B"}));
  EXPECT_EQ(log.machine, (std::vector<int>{0, 1}));
  EXPECT_NE(found(log.doubts, "several_machines"), nullptr);
}

TEST(HarvestLog, LeavesRowsWithoutAPlaceOut) {
  const HarvestLog log =
      log_of("x,y,yield_t_ha,time_s\n500001,4400001,8,0\n,,9,1\n500003,4400001,7,2\n");
  EXPECT_EQ(log.size(), 2U);
  EXPECT_EQ(log.set_aside, 1U);
  EXPECT_EQ(log.first_set_aside, 3U);
  EXPECT_EQ(log.lines, (std::vector<std::size_t>{2, 4}));
  EXPECT_EQ(log.yield_t_ha, (std::vector<double>{8, 7}));
  EXPECT_EQ(log.time_s, (std::vector<double>{0, 2}));
}

TEST(HarvestLog, RefusesMassFlowInTwoUnits) {
  const Doubts problems = problems_in(
      "x,y,mass_flow_kg_s,mass_flow_lb_s,duration_s,distance_m,swath_m\n"
      "500001,4400001,5,11,1,2,6\n");
  ASSERT_NE(found(problems, "two_units"), nullptr);
}

TEST(HarvestLog, TellsRecordsWithoutMoisture) {
  const HarvestLog log = log_of(
      "x,y,mass_flow_kg_s,duration_s,distance_m,swath_m,moisture_pct\n"
      "500001,4400001,5,1,2,6,20\n500003,4400001,5,1,2,6,\n");
  const Doubt* doubt = found(log.doubts, "moisture_missing");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.row, 3U);
  EXPECT_TRUE(std::isnan(log.yield_t_ha[1]));
}

// ---- logs that look wrong ----------------------------------------------------------------------

/// A driven log: passes of 20 records along y, 2 m and 1 s apart, swath 4 m, about 8 t/ha.
struct Driven {
  double x, y, time_s, flow_kg_s, distance_m, swath_m, moisture_pct;
};

std::vector<Driven> driven(int passes) {
  std::vector<Driven> all;
  for (int pass = 0; pass < passes; ++pass) {
    for (int i = 0; i < 20; ++i) {
      const int along = pass % 2 == 0 ? i : 19 - i;
      const double ripple = 1 + 0.08 * std::sin(1.7 * i + pass);
      all.push_back(
          {500'002.0 + 4 * pass, 4'400'001.0 + 2 * along, 40.0 * pass + i, 6.4 * ripple, 2, 4, 15});
    }
  }
  return all;
}

std::string csv_of(const std::vector<Driven>& records) {
  std::string text = "x,y,time_s,mass_flow_kg_s,duration_s,distance_m,swath_m,moisture_pct\n";
  for (const Driven& r : records) {
    text += fmt::format("{},{},{},{},1,{},{},{}\n", r.x, r.y, r.time_s, r.flow_kg_s, r.distance_m,
                        r.swath_m, r.moisture_pct);
  }
  return text;
}

Doubts doubts_of(const std::vector<Driven>& records) {
  return log_of(csv_of(records)).doubts;
}

TEST(HarvestDoubts, AreNoneOfASoundLog) {
  EXPECT_TRUE(doubts_of(driven(10)).empty());
}

TEST(HarvestDoubts, TellTimeThatRunsBackwards) {
  std::vector<Driven> records = driven(4);
  for (std::size_t i = 40; i < 60; ++i) records[i].time_s -= 500;
  const Doubts doubts = doubts_of(records);
  const Doubt* doubt = found(doubts, "time_runs_backwards");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.row, 42U);
  EXPECT_EQ(doubts.size(), 1U);
}

TEST(HarvestDoubts, TellPassesThatStandTwice) {
  std::vector<Driven> records = driven(4);
  const std::vector<Driven> again(records.begin() + 20, records.begin() + 40);
  records.insert(records.end(), again.begin(), again.end());
  const Doubts doubts = doubts_of(records);
  const Doubt* doubt = found(doubts, "records_twice");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.row, 82U);
  EXPECT_NE(doubt->text.find("20 of 100"), std::string::npos) << doubt->text;
}

TEST(HarvestDoubts, TellTwoMachinesInOneLogByTheirPlaces) {
  std::vector<Driven> records = driven(4);
  for (std::size_t i = 0; i < records.size(); ++i) {
    if (i / 5 % 2 == 1) records[i].x += 400;
  }
  const Doubts doubts = doubts_of(records);
  ASSERT_NE(found(doubts, "places_alternate"), nullptr);
}

TEST(HarvestDoubts, DoNotTakeLongWaysBetweenPassesForTwoMachines) {
  // Lands: passes by turns at the two sides of the field, 300 m apart, with time to drive.
  std::vector<Driven> records = driven(10);
  for (std::size_t i = 0; i < records.size(); ++i) {
    if (i / 20 % 2 == 1) records[i].x += 300;
    records[i].time_s += 100.0 * static_cast<double>(i / 20);
  }
  EXPECT_EQ(found(doubts_of(records), "places_alternate"), nullptr);
}

TEST(HarvestDoubts, TellPoundsAmongKilograms) {
  std::vector<Driven> records = driven(20);
  for (std::size_t i = 200; i < records.size(); ++i) records[i].flow_kg_s *= 2.2046;
  const Doubts doubts = doubts_of(records);
  const Doubt* doubt = found(doubts, "units_look_mixed");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.column, "mass_flow");
  EXPECT_NEAR(static_cast<double>(doubt->place.row), 202, 20);
}

TEST(HarvestDoubts, TellPoundsAmongKilogramsThoughLongStretchesHaveNoYield) {
  std::vector<Driven> records = driven(40);
  for (std::size_t i = 400; i < records.size(); ++i) records[i].flow_kg_s *= 2.2046;
  for (std::size_t i = 300; i < 500; ++i) records[i].distance_m = 0;
  const Doubts doubts = doubts_of(records);
  const Doubt* doubt = found(doubts, "units_look_mixed");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.column, "mass_flow");
  EXPECT_EQ(doubt->place.row, 502U);
}

TEST(HarvestDoubts, TellTwoMachinesOfOneClockThatCutCloseTogether) {
  std::vector<Driven> records;
  for (const Driven& one : driven(5)) {
    records.push_back(one);
    records.push_back(one);
    records.back().x += 60;
  }
  EXPECT_NE(found(doubts_of(records), "places_alternate"), nullptr);
}

TEST(HarvestDoubts, TellPlacesFarFromTheField) {
  std::vector<Driven> records = driven(10);
  records[30].x -= 5000;
  records[31].x -= 5000;
  const Doubts doubts = doubts_of(records);
  const Doubt* doubt = found(doubts, "places_far_away");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.row, 32U);
  EXPECT_NE(doubt->text.find("2 of 200 places"), std::string::npos) << doubt->text;
}

TEST(HarvestDoubts, TellALevelThatNoCropHas) {
  for (const double factor : {1e6, 1e-4}) {
    std::vector<Driven> records = driven(10);
    for (Driven& record : records) record.flow_kg_s *= factor;
    EXPECT_NE(found(doubts_of(records), "yield_of_no_crop"), nullptr) << factor;
  }
}

TEST(HarvestDoubts, TellMoisturesThatAreAllBelowThoseOfGrain) {
  std::vector<Driven> records = driven(10);
  for (Driven& record : records) record.moisture_pct = 0.15;
  const Doubts doubts = doubts_of(records);
  const Doubt* doubt = found(doubts, "moisture_looks_like_fractions");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.row, 2U);
}

TEST(HarvestDoubts, TellPoundsAmongKilogramsFromPassToPass) {
  std::vector<Driven> records = driven(20);
  for (std::size_t i = 0; i < records.size(); ++i) {
    if (i / 20 % 3 == 1) records[i].flow_kg_s *= 2.2046;
  }
  const Doubts doubts = doubts_of(records);
  const Doubt* doubt = found(doubts, "units_look_mixed");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.column, "mass_flow");
  // A field that has every level between the two is no mixture.
  for (std::size_t i = 0; i < records.size(); ++i) {
    if (i / 20 % 3 == 1) records[i].flow_kg_s /= 2.2046;
    records[i].flow_kg_s *= 1 + 1.2 * static_cast<double>(i * 7 % 400) / 400;
  }
  EXPECT_EQ(found(doubts_of(records), "units_look_mixed"), nullptr);
}

TEST(HarvestDoubts, DoNotTakeASlowChangeOfLevelForPounds) {
  std::vector<Driven> records = driven(20);
  for (std::size_t i = 0; i < records.size(); ++i) {
    records[i].flow_kg_s *= 1 + 2.4 * static_cast<double>(i) / 400;
  }
  EXPECT_EQ(found(doubts_of(records), "units_look_mixed"), nullptr);
}

TEST(HarvestDoubts, TellSwathsInTwoUnits) {
  std::vector<Driven> records = driven(10);
  for (std::size_t i = 100; i < 120; ++i) records[i].swath_m = 4 / 0.3048;
  const Doubts doubts = doubts_of(records);
  const Doubt* doubt = found(doubts, "units_look_mixed");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.row, 102U);
  EXPECT_EQ(doubt->place.column, "swath");
}

TEST(HarvestDoubts, TakePartialSwathsAsSound) {
  std::vector<Driven> records = driven(10);
  for (std::size_t i = 0; i < records.size(); ++i) {
    records[i].swath_m = 4.0 * static_cast<double>(1 + i % 6) / 6;
  }
  EXPECT_EQ(found(doubts_of(records), "units_look_mixed"), nullptr);
}

TEST(HarvestDoubts, TellDistancesInInches) {
  std::vector<Driven> records = driven(10);
  for (std::size_t i = 60; i < 100; ++i) records[i].distance_m /= 0.0254;
  const Doubts doubts = doubts_of(records);
  const auto told = std::find_if(doubts.begin(), doubts.end(), [](const Doubt& d) {
    return d.code == "units_look_mixed" && d.place.column == "distance";
  });
  ASSERT_NE(told, doubts.end());
  EXPECT_EQ(told->place.row, 63U);  // the first of a pass has no step of its own
}

TEST(HarvestDoubts, TellFractionsAmongPerCents) {
  std::vector<Driven> records = driven(10);
  for (std::size_t i = 60; i < 100; ++i) records[i].moisture_pct = 0.15;
  const Doubts doubts = doubts_of(records);
  const Doubt* doubt = found(doubts, "units_look_mixed");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.column, "moisture");
}

TEST(HarvestDoubts, TellMachinesWhoseLevelsDifferByThePound) {
  std::string text = "x,y,yield_t_ha,machine\n";
  for (int i = 0; i < 30; ++i) {
    text += fmt::format("{},4400001,{},{}\n", 500'001 + i, i % 2 == 0 ? 8.0 : 17.6,
                        i % 2 == 0 ? "A" : "B");
  }
  EXPECT_NE(found(log_of(text).doubts, "units_look_mixed"), nullptr);
}

// ---- places ------------------------------------------------------------------------------------

TEST(HarvestPlaces, NameTheWrongHemisphere) {
  for (const auto& [lat, lon] :
       {std::pair{"-39.7485", "-99"}, {"39.7485", "99"}, {"-39.7485", "99"}}) {
    const Doubts problems = problems_in(
        fmt::format("lat,lon,yield_t_ha\n39.7486,-99,8\n{0},{1},8\n{0},{1},9\n", lat, lon));
    ASSERT_EQ(problems.size(), 1U) << lat << lon;
    EXPECT_EQ(problems[0].code, "wrong_hemisphere");
    EXPECT_EQ(problems[0].place.row, 3U);
    EXPECT_NE(problems[0].text.find("2 of 3"), std::string::npos) << problems[0].text;
    EXPECT_EQ(problems[0].expected, "lat 39.7485, lon -99");
  }
}

TEST(HarvestPlaces, NameSwappedLatitudeAndLongitude) {
  // A field at 47 N, 8 E: both numbers could be latitudes.
  Field field = small_field();
  field.crs = field.stated_crs = parse_crs("EPSG:32632");
  const Point there = Transform(wgs84(), field.crs)({8, 47});
  field.zones.resize(1);
  field.zones[0].area = invented::rectangle(there.x, there.y, 50, 50);
  field.laterals.clear();
  try {
    read_harvest_log(field, crop_file("swap.csv", "yield", "lat,lon,yield_t_ha\n8,47,8\n"));
    FAIL();
  } catch (const InputError& error) {
    ASSERT_EQ(error.problems().size(), 1U);
    EXPECT_EQ(error.problems()[0].code, "swapped_lat_lon");
  }
}

TEST(HarvestPlaces, NameTheWrongHemisphereOfALayer) {
  const char* layer = R"({"type": "FeatureCollection", "features": [{"type": "Feature",
    "properties": {"yield_t_ha": 8},
    "geometry": {"type": "Point", "coordinates": [99, 39.7485]}}]})";
  try {
    read_harvest_log(small_field(), crop_file("east.geojson", "yield", layer));
    FAIL();
  } catch (const InputError& error) {
    ASSERT_EQ(error.problems().size(), 1U);
    EXPECT_EQ(error.problems()[0].code, "wrong_hemisphere");
  }
}

}  // namespace
}  // namespace evendrip
