// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/field_folder.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "evendrip/field/agronomy.hpp"
#include "evendrip/io/vector.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

double turning_area(const Ring& ring) {
  double twice = 0;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Point& a = ring[i];
    const Point& b = ring[(i + 1) % ring.size()];
    twice += (a.x - ring[0].x) * (b.y - ring[0].y) - (b.x - ring[0].x) * (a.y - ring[0].y);
  }
  return twice / 2;
}

TEST(FieldFolder, GeojsonIsReadBackWithItsShapesAndAttributes) {
  const ResultLayer layer{
      "things",
      "",
      ResultLayer::Shape::polygon,
      {{"id", LayerField::Type::text, ""}, {"size", LayerField::Type::number, ""}},
      {{MultiPolygon{{{{10, 44}, {10, 45}, {11, 45}, {11, 44}},
                      {{{10.2, 44.2}, {10.4, 44.2}, {10.4, 44.4}}}}},
        {std::string("a \"b\" \\c"), 2.5}}}};
  const auto folder = test::fresh_folder();
  test::put(folder / "things.geojson", geojson_text(layer));
  const VectorLayer read = read_vector(resolve(folder, "things.geojson", "test"));
  ASSERT_EQ(read.features.size(), 1U);
  EXPECT_EQ(read.features[0].attribute("id"), "a \"b\" \\c");
  EXPECT_DOUBLE_EQ(std::stod(read.features[0].attribute("size")), 2.5);
  ASSERT_EQ(read.features[0].polygons.size(), 1U);
  EXPECT_EQ(read.features[0].polygons[0].holes.size(), 1U);
}

TEST(FieldFolder, OuterRingsTurnLeftAndHolesRight) {
  // RFC 7946, section 3.1.6.
  const Ring clockwise = {{10, 44}, {10, 45}, {11, 45}, {11, 44}};
  const Ring hole = {{10.2, 44.2}, {10.4, 44.2}, {10.4, 44.4}};
  ASSERT_LT(turning_area(clockwise), 0);
  ASSERT_GT(turning_area(hole), 0);
  const ResultLayer layer{
      "l", "", ResultLayer::Shape::polygon, {}, {{MultiPolygon{{clockwise, {hole}}}, {}}}};
  const std::string text = geojson_text(layer);
  EXPECT_NE(text.find("[[[11.00000000,44.00000000],[11.00000000,45.00000000],"
                      "[10.00000000,45.00000000],[10.00000000,44.00000000],"
                      "[11.00000000,44.00000000]],"
                      "[[10.40000000,44.40000000],[10.40000000,44.20000000],"
                      "[10.20000000,44.20000000],[10.40000000,44.40000000]]]"),
            std::string::npos)
      << text;
}

TEST(FieldFolder, LayersHoldEveryPartOfTheSystem) {
  const SimulatedField field = simulated_truth(test::small_plan());
  const auto layers = system_layers(field);
  ASSERT_EQ(layers.size(), 5U);
  EXPECT_EQ(layers[0].rows.size(), 2U);
  EXPECT_EQ(layers[1].rows.size(), 16U);
  EXPECT_EQ(layers[2].rows.size(), 5U)
      << "supply manifolds of two sections; Z1 is closed and has no flush manifold";
  for (const ResultLayer& layer : layers) {
    for (const LayerRow& row : layer.rows) ASSERT_EQ(row.values.size(), layer.fields.size());
  }
}

TEST(FieldFolder, FeetLayersHaveFeetCoordinates) {
  SimulationPlan plan = test::small_plan();
  plan.lonlat_centre = {-99.4, 31.4};
  plan.layers_crs = "EPSG:2277";
  const auto layers = system_layers(simulated_truth(plan));
  const Line line = std::get<Line>(layers[1].rows[0].shape);
  const double feet = std::hypot(line[1].x - line[0].x, line[1].y - line[0].y);
  // 60 m of ground in US survey feet; the grid's scale there is within 2e-4 of 1.
  EXPECT_NEAR(feet, 60 * 3937.0 / 1200, 60 * 3.28 * 2e-4);
}

TEST(FieldFolder, MixedDirectionsTurnEveryThirdLine) {
  SimulationPlan plan = test::small_plan();
  const auto straight = system_layers(simulated_truth(plan))[1].rows;
  plan.mixed_directions = true;
  const auto mixed = system_layers(simulated_truth(plan))[1].rows;
  EXPECT_EQ(std::get<Line>(mixed[0].shape), std::get<Line>(straight[0].shape));
  const Line turned = std::get<Line>(mixed[2].shape);
  const Line as_drawn = std::get<Line>(straight[2].shape);
  EXPECT_EQ(turned.front(), as_drawn.back());
  EXPECT_EQ(turned.back(), as_drawn.front());
}

TEST(FieldFolder, HowItIsWateredStandsThereOnlyWhereThePlanSaysIt) {
  SimulationPlan plan = test::small_plan();
  const std::string without = field_toml(simulated_truth(plan));
  EXPECT_EQ(without.find("[irrigation]"), std::string::npos);
  EXPECT_EQ(without.find("[agronomy]"), std::string::npos);
  plan.us_units = true;
  plan.set_time_s = 43200;
  plan.season_net_need_mm = 16 * 25.4;
  plan.emitters_per_root_zone = 2;
  const auto folder = test::fresh_folder();
  test::put(folder / "field.toml", field_toml(simulated_truth(plan)));
  const Watering watering = read_watering(folder);
  EXPECT_EQ(watering.irrigation.set_time_s, 43200);
  EXPECT_FALSE(watering.irrigation.pulses);
  EXPECT_NEAR(watering.irrigation.season_net_need_mm.value(), 406.4, 1e-9);
  EXPECT_EQ(watering.agronomy.emitters_per_root_zone, 2);
}

TEST(FieldFolder, TheReadmeSaysThatTheFieldIsSynthetic) {
  SimulationPlan plan = test::small_plan();
  plan.about = "Told here.";
  const std::string text = readme_text(simulated_truth(plan));
  EXPECT_NE(text.find("SYNTHETIC"), std::string::npos);
  EXPECT_NE(text.find("Told here."), std::string::npos);
  EXPECT_NE(text.find("seed 99"), std::string::npos);
}

}  // namespace
}  // namespace evendrip
