// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "evendrip/field/field.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;

Field with(const std::string& toml) {
  FieldFolder folder;
  folder.add(toml).file("yield.csv", "lat,lon,yield_t_ha\n37,-99,9\n");
  return read_field(folder.write());
}

TEST(CropSection, ReadsEveryKey) {
  const Field field = with(
      "[[crop]]\nid = \"2025\"\nkind = \"yield\"\nfile = \"yield.csv\"\ndate = 2025-09-30\n"
      "crop = \"maize\"\nmoisture_basis = \"15.5 %\"\nswath = \"360 "
      "in\"\ndays_since_rain_or_irrigation = 3\n"
      "full_scale = 10000\nmask = \"yield.csv\"\nmasked_values = [\"3\", \"8\"]\nbare_below = 0.2\n"
      "near_infrared_band = 4\nred_band = 3\nblur = \"5 m\"\nposition_accuracy = \"1 m\"\n"
      "cleaning = { travel_time = \"12 s\", least_cut = \"60 %\", most_yield = \"20 t/ha\" }\n");
  EXPECT_TRUE(field.doubts.empty()) << testing::all_text(field.doubts);
  ASSERT_EQ(field.crops.size(), 1U);
  EXPECT_EQ(field.crops[0].kind, "yield");
  EXPECT_EQ(field.crops[0].crop, "maize");
  EXPECT_NEAR(field.crops[0].moisture_basis_frac, 0.155, 1e-12);
  const CropSource& read = field.crops[0];
  EXPECT_EQ(read.days_since_water, 3.0);
  ASSERT_TRUE(read.swath_m);
  EXPECT_NEAR(*read.swath_m, 9.144, 1e-12);
  EXPECT_EQ(read.full_scale, 10000.0);
  EXPECT_EQ(read.masked_values, (std::vector<int>{3, 8}));
  EXPECT_EQ(read.bare_below, 0.2);
  EXPECT_EQ(read.bands.near_infrared, 4);
  EXPECT_EQ(read.bands.red, 3);
  EXPECT_EQ(read.blur_m, 5.0);
  EXPECT_EQ(read.position_accuracy_m, 1.0);
  EXPECT_EQ(read.cleaning.travel_time_s, 12.0);
  EXPECT_NEAR(read.cleaning.least_cut_share, 0.6, 1e-12);
  EXPECT_EQ(read.cleaning.most_yield_t_ha, 20.0);
  EXPECT_FALSE(read.cleaning.least_yield_t_ha);
  EXPECT_EQ(field.inputs.back().as_written, "yield.csv");
}

TEST(CropSection, KnowsWhoseWaterALayerShows) {
  const auto water = [](const std::string& line) {
    return with("[[crop]]\nid = \"a\"\nkind = \"yield\"\nfile = \"yield.csv\"\n" + line);
  };
  EXPECT_EQ(water("").crops[0].water, CropWater::irrigation);
  EXPECT_EQ(water("water = \"irrigation\"\n").crops[0].water, CropWater::irrigation);
  EXPECT_EQ(water("water = \"before_irrigation\"\n").crops[0].water, CropWater::before_irrigation);
  EXPECT_EQ(water("water = \"soaking_rain\"\n").crops[0].water, CropWater::soaking_rain);
  EXPECT_EQ(entry(water("water = \"river\"\n").doubts, "unknown_crop_water").found, "river");
}

TEST(CropSection, NamesAnUnknownKindAndAnImpossibleBasis) {
  const Field field = with(
      "[[crop]]\nid = \"a\"\nkind = \"colour\"\nfile = \"yield.csv\"\nmoisture_basis = 15.5\n");
  EXPECT_EQ(entry(field.doubts, "unknown_crop_kind").found, "colour");
  EXPECT_EQ(entry(field.doubts, "out_of_range").place.column, "moisture_basis");
}

TEST(CropSection, ReadsTheDensityOfTheGrainByEitherName) {
  const std::string yield = "[[crop]]\nid = \"a\"\nkind = \"yield\"\nfile = \"yield.csv\"\n";
  EXPECT_EQ(with(yield).crops[0].bulk_density_kg_m3, std::nullopt);
  EXPECT_EQ(with(yield + "bulk_density_kg_m3 = 721\n").crops[0].bulk_density_kg_m3, 721.0);
  // NIST Handbook 44, appendix C (from memory): a US bushel is 2150.42 cubic inches, 35.239 07 L.
  const Field field = with(yield + "test_weight_lb_bu = 56\n");
  ASSERT_TRUE(field.crops[0].bulk_density_kg_m3);
  EXPECT_NEAR(*field.crops[0].bulk_density_kg_m3, 56 * 0.45359237 / 0.03523907, 1e-3);
  const Field twice = with(yield + "bulk_density_kg_m3 = 721\ntest_weight_lb_bu = 56\n");
  EXPECT_EQ(entry(twice.doubts, "stated_twice").place.column, "test_weight_lb_bu");
  const Field thin = with(yield + "bulk_density_kg_m3 = 0.72\n");
  EXPECT_EQ(entry(thin.doubts, "out_of_range").place.column, "bulk_density_kg_m3");
}

TEST(CropSection, RefusesASwathThatNoHeaderHas) {
  const Field field =
      with("[[crop]]\nid = \"a\"\nkind = \"yield\"\nfile = \"yield.csv\"\nswath = \"360 m\"\n");
  EXPECT_EQ(entry(field.doubts, "out_of_range").place.column, "swath");
  EXPECT_FALSE(field.crops.at(0).swath_m);
}

TEST(CropSection, RefusesHalfAnIndexAndTwoIndicesInOne) {
  const std::string start = "[[crop]]\nid = \"a\"\nkind = \"biomass\"\nfile = \"yield.csv\"\n";
  EXPECT_EQ(count(with(start + "red_band = 3\n").doubts, "bands_incomplete"), 1);
  EXPECT_EQ(count(with(start + "near_infrared_band = 3\n").doubts, "bands_incomplete"), 1);
  EXPECT_EQ(count(with(start + "near_infrared_band = 3\nred_band = 2\nred_edge_band = 1\n").doubts,
                  "bands_ambiguous"),
            1);
}

TEST(CropSection, RefusesThresholdsThatCannotBe) {
  const auto cleaned = [](const std::string& keys) {
    return with("[[crop]]\nid = \"a\"\nkind = \"yield\"\nfile = \"yield.csv\"\ncleaning = { " +
                keys + " }\n")
        .doubts;
  };
  EXPECT_EQ(entry(cleaned("travel_time = \"-3 s\""), "out_of_range").place.column, "travel_time");
  EXPECT_EQ(count(cleaned("slowest_m_s = 5"), "limits_swapped"), 1);
  EXPECT_EQ(count(cleaned("least_yield = \"9 t/ha\", most_yield = \"3 t/ha\""), "limits_swapped"),
            1);
  EXPECT_EQ(entry(cleaned("traveltime = \"3 s\""), "unknown_key").expected, "travel_time");
}

TEST(CropSection, RefusesOneIdForTwoLayersAndAValueThatIsNoNumber) {
  const std::string one = "[[crop]]\nid = \"a\"\nkind = \"yield\"\nfile = \"yield.csv\"\n";
  EXPECT_EQ(count(with(one + one).doubts, "id_twice"), 1);
  EXPECT_EQ(entry(with(one + "masked_values = [\"3x\"]\n").doubts, "not_a_number").found, "3x");
}

TEST(CropSection, TakesAFolderAndListsTheFilesInIt) {
  FieldFolder folder;
  folder.add("[[crop]]\nid = \"a\"\nkind = \"yield\"\nfile = \"log\"\n")
      .file("log/TASKDATA.XML", "<x/>")
      .file("log/TLG00001.BIN", "x");
  const Field field = read_field(folder.write());
  EXPECT_FALSE(has_problem(field.doubts)) << testing::all_text(field.doubts);
  const auto listed = [&field](const std::string& name) {
    return std::any_of(field.inputs.begin(), field.inputs.end(),
                       [&](const InputFile& input) { return input.as_written == name; });
  };
  EXPECT_TRUE(listed("log/TASKDATA.XML"));
  EXPECT_TRUE(listed("log/TLG00001.BIN"));
}

}  // namespace
}  // namespace evendrip
