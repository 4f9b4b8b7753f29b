// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/uncertainty_sheets.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <stdexcept>
#include <variant>

#include "example_field.hpp"

namespace evendrip {
namespace {

using example::make_example;
using example::output;

template <class T>
std::vector<T> all_of(const Sheet& sheet) {
  std::vector<T> found;
  for (const Drawing& drawing : sheet.drawings)
    if (const auto* one = std::get_if<T>(&drawing)) found.push_back(*one);
  return found;
}

/// Probability that falls from west to east; the cells of the middle third are too uncertain.
Raster made_probability(const example::Example& e) {
  Raster raster = e.relative;
  const Grid& grid = raster.grid;
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column) {
      const std::size_t i = grid.index(row, column);
      if (!raster.has_value(i)) continue;
      raster.set(i, 1 - static_cast<double>(column) / grid.columns);
      if (column > grid.columns / 3 && column < 2 * grid.columns / 3)
        raster.reasons[i] = Reason::too_uncertain;
    }
  return raster;
}

TEST(UncertaintySheets, StandardErrorIsShownOverItsOwnRange) {
  const auto e = make_example();
  const MapResources r = find_map_resources();
  const Sheet sheet =
      relative_discharge_error_sheet(e.field, e.survey, e.standard_error, e.findings, e.context, r);
  const auto raster = all_of<RasterDrawing>(sheet).at(0);
  EXPECT_EQ(raster.raster.values.size(), e.standard_error.values.size());
  EXPECT_NE(raster.legend_title.find("0.1 = 10 %"), std::string::npos);
  // The example's error runs from 0.03 in the middle to less than 0.36 at the corners.
  const auto& stops = raster.style.colour_map->stops;
  EXPECT_GE(stops.front().value, 0);
  EXPECT_LE(stops.front().value, 0.05);
  EXPECT_GT(stops.back().value, 0.25);
  EXPECT_LT(stops.back().value, 0.40);
}

TEST(UncertaintySheets, HatchTheGroundThatIsTooUncertainForAVerdictAndNoOther) {
  const auto e = make_example();
  const MapResources r = find_map_resources();
  const Raster probability = made_probability(e);
  const Sheet sheet = probability_sheet(e.field, e.survey, probability, 0.75, e.context, r);
  EXPECT_EQ(sheet.title, "Probability of relative discharge below 0.75");
  const auto shapes = all_of<ShapesDrawing>(sheet);
  const auto hatched = std::find_if(shapes.begin(), shapes.end(), [](const ShapesDrawing& drawing) {
    return !drawing.classes.empty() && drawing.classes.front() == "too_uncertain";
  });
  ASSERT_NE(hatched, shapes.end());
  double hatched_m2 = 0;
  for (const MultiPolygon& shape : hatched->shapes) hatched_m2 += area_m2(shape);
  const auto cells =
      std::count(probability.reasons.begin(), probability.reasons.end(), Reason::too_uncertain);
  EXPECT_NEAR(hatched_m2, static_cast<double>(cells) * 4, 1e-6);  // cells of 2 m
  Raster certain = probability;
  for (Reason& reason : certain.reasons)
    if (reason == Reason::too_uncertain) reason = Reason::value;
  EXPECT_EQ(all_of<ShapesDrawing>(probability_sheet(e.field, e.survey, certain, 0.75, e.context, r))
                    .size() +
                1,
            shapes.size());
}

TEST(UncertaintySheets, AreDrawnAsPictureAndPdf) {
  const auto e = make_example();
  const MapResources r = find_map_resources();
  const std::vector<std::pair<std::string, Sheet>> sheets = {
      {"relative_discharge_error",
       relative_discharge_error_sheet(e.field, e.survey, e.standard_error, e.findings, e.context,
                                      r)},
      {"probability",
       probability_sheet(e.field, e.survey, made_probability(e), 0.90, e.context, r)}};
  for (const auto& [name, sheet] : sheets) {
    const DrawnSheet drawn = draw_png(sheet, r, output(name + ".png"));
    EXPECT_EQ(drawn.foreign_characters, 0) << name;
    EXPECT_LT(drawn.labels_left_out, 20) << name;
    draw_pdf(sheet, r, output(name + ".pdf"));
    EXPECT_GT(std::filesystem::file_size(output(name + ".png")), 20000U) << name;
    EXPECT_GT(std::filesystem::file_size(output(name + ".pdf")), 10000U) << name;
  }
}

}  // namespace
}  // namespace evendrip
