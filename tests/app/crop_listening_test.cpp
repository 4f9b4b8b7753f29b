// SPDX-License-Identifier: Apache-2.0
#include "../../src/app/crop_listening.hpp"

#include "made_crop.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

Field small(const std::string& name) {
  Field field = read_field(test::small_field(name));
  throw_if_problem(field.doubts);
  return field;
}

TEST(CropListening, HearsALayerFromItsFileToThePlacesToLookAt) {
  const Field field = small("listening_field");
  const HeardLayer heard = listen_to(field, 0, analysis_grid(field), {}, 1, {});
  EXPECT_EQ(heard.layer.id, field.crops[0].id);
  EXPECT_EQ(heard.zones.size(), field.zones.size());
  EXPECT_EQ(heard.laterals.size(), field.laterals.size());
  EXPECT_EQ(heard.profiles.size(), field.zones.size());
  EXPECT_FALSE(heard.segments.empty());
  ASSERT_TRUE(heard.evidence);
  EXPECT_FALSE(heard.evidence->data.empty());
  EXPECT_FALSE(heard.screening.summary.empty());
}

TEST(CropListening, TakesTheLatestSurveyWithCatches) {
  Field field = small("listening_survey");
  EXPECT_EQ(survey_with_catches(field, "named"), "named");
  SurveySource later = field.surveys.front();
  later.id = "later";
  later.date = "2099-01-01";
  field.surveys.push_back(later);
  EXPECT_EQ(survey_with_catches(field, ""), "later");
  field.surveys.back().catch_cans.reset();
  EXPECT_EQ(survey_with_catches(field, ""), field.surveys.front().id);
  field.surveys.clear();
  EXPECT_EQ(survey_with_catches(field, ""), "");
}

TEST(CropListening, MeasuresEveryEmitterWhosePlaceIsKnown) {
  const Field field = small("listening_discharge");
  const MeasuredDischarge discharge = measured_discharge(field, field.surveys.front().id, {});
  EXPECT_GE(discharge.places.size(), 10U);
  EXPECT_EQ(discharge.places.size(), discharge.relative.size());
  EXPECT_EQ(discharge.places.size(), discharge.names.size());
}

TEST(CropListening, SetsTheCropOfTheirPlacesBesideTheEmitters) {
  const Field field = small("listening_beside");
  const MeasuredDischarge discharge = measured_discharge(field, field.surveys.front().id, {});
  HeardCrop made = test::made_crop(test::small_field("listening_beside_made"));
  HeardLayer& layer = made.layers.front();
  Raster relative(made.grid);
  for (int r = 0; r < made.grid.rows; ++r) {
    for (int c = 0; c < made.grid.columns; ++c) {
      relative.set(made.grid.index(r, c), 1 + 1e-3 * (made.grid.centre(r, c).x - made.grid.x_left));
    }
  }
  layer.layer.relative = layer.water.rest = reader_of(relative);
  const auto pairs = set_beside(field, layer, discharge, 2, 1, {});
  ASSERT_TRUE(pairs);
  ASSERT_EQ(pairs->crop.size(), discharge.places.size());
  for (std::size_t i = 0; i < pairs->crop.size(); ++i) {
    // Values grow evenly to the east: the mean is that of the middle of the piece of strip, which
    // lies within a decimetre of the emitter.
    EXPECT_NEAR(pairs->crop[i], 1 + 1e-3 * (discharge.places[i].x - made.grid.x_left), 1e-4);
  }
  EXPECT_TRUE(pairs->with_rest);
  EXPECT_FALSE(pairs->with_crop.verdict.empty());
  MeasuredDischarge few = discharge;
  few.sites.resize(9);
  EXPECT_FALSE(set_beside(field, layer, few, 2, 1, {}));
}

TEST(CropListening, CountsAYearOfYieldOnce) {
  const HeardCrop made = test::made_crop(test::small_field("listening_seasons"));
  std::vector<HeardLayer> layers = {made.layers[0], made.layers[0], made.layers[1]};
  EXPECT_TRUE(over_dates_of(made.field, layers).empty());
  layers[1].layer.date = "2024-10-01";
  const auto joined = over_dates_of(made.field, layers);
  ASSERT_EQ(joined.size(), 1U);
  EXPECT_EQ(joined[0].stability.seasons, 2);
  EXPECT_EQ(joined[0].dates[0].name, "2024");
}

TEST(CropListening, JoinsTheDatesOfOneSouthernSeason) {
  HeardCrop made = test::made_crop(test::small_field("listening_southern"));
  std::vector<HeardLayer> layers = {made.layers[1], made.layers[1]};
  layers[0].layer.date = "2025-12-20";
  layers[1].layer.date = "2026-02-03";
  EXPECT_TRUE(over_dates_of(made.field, layers)[0].season.empty());  // two years in the north
  made.field.crs = parse_crs("EPSG:32714");  // the same numbers, read as of the south
  EXPECT_EQ(over_dates_of(made.field, layers)[0].season, "2025-26");
}

}  // namespace
}  // namespace evendrip
