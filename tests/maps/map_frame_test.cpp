// SPDX-License-Identifier: Apache-2.0
// How drawings come onto the map, seen in the bare frame: one metre is ten pixels.
#include <gtest/gtest.h>

#include "example_field.hpp"
#include "pixels.hpp"

namespace evendrip {
namespace {

using example::output;
using example::Pixels;
using example::pixels_of;

constexpr Extent extent{0, 0, 40, 20};

Pixels drawn(const std::vector<Drawing>& drawings) {
  draw_frame_png(drawings, extent, find_map_resources(), output("frame.png"), 400);
  return pixels_of(output("frame.png"));
}

Polygon box(double x0, double y0, double x1, double y1) {
  return {{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, {}};
}

RasterDrawing red() {
  RasterDrawing drawing;
  drawing.raster = Raster(Grid{0, 20, 20, 2, 1});
  drawing.raster.set(0, 1);
  drawing.raster.set(1, 1);
  drawing.style.colour_map = ColourMap{false, {{0, {1, 0, 0, 1}, ""}, {2, {1, 0, 0, 1}, ""}}};
  return drawing;
}

ShapesDrawing filled(const Polygon& shape, const FillStyle& fill) {
  ShapesDrawing drawing;
  drawing.shapes = {{shape}};
  StyleRule rule;
  rule.fill = fill;
  drawing.style.rules = {rule};
  return drawing;
}

TEST(MapFrame, ShowsARasterWithinTheGivenShapesAlone) {
  RasterDrawing drawing = red();
  drawing.shown_within = {{box(5, 5, 15, 15)}, {box(10, 5, 25, 15)}};  // they overlap
  const Pixels pixels = drawn({drawing});
  EXPECT_EQ(pixels.at(20, 100), 0U);
  EXPECT_EQ(pixels.at(60, 100), 0xffff0000U);
  EXPECT_EQ(pixels.at(120, 100), 0xffff0000U);
  EXPECT_EQ(pixels.at(240, 100), 0xffff0000U);
  EXPECT_EQ(pixels.at(260, 100), 0U);
}

TEST(MapFrame, DrawsLaterDrawingsOnTopAndLeavesHolesOpen) {
  Polygon with_hole = box(2, 2, 18, 18);
  with_hole.holes = {box(8, 8, 12, 12).outer};
  const Pixels pixels = drawn({red(), filled(with_hole, {Colour{0, 0, 1, 1}, {}})});
  EXPECT_EQ(pixels.at(50, 100), 0xff0000ffU);
  EXPECT_EQ(pixels.at(100, 100), 0xffff0000U);
}

TEST(MapFrame, PutsNorthOnTop) {
  const Pixels pixels = drawn({filled(box(0, 15, 40, 20), {Colour{0, 1, 0, 1}, {}})});
  EXPECT_EQ(pixels.at(200, 20), 0xff00ff00U);
  EXPECT_EQ(pixels.at(200, 180), 0U);
}

TEST(MapFrame, DrawsNothingForAClassWithoutARule) {
  ShapesDrawing drawing = filled(box(0, 0, 40, 20), {Colour{0, 1, 0, 1}, {}});
  drawing.style.rules[0].property = "class";
  drawing.style.rules[0].equals = "other";
  drawing.classes = {"unknown"};
  EXPECT_EQ(drawn({drawing}).at(200, 100), 0U);
}

TEST(Hatch, RunsHorizontallyAtTheSpacingOfItsStyle) {
  HatchStyle hatch{"shape://horline", {{0, 0, 0, 1}, 2, {}}, 20};
  const Pixels pixels = drawn({filled(box(2, 2, 38, 18), {{}, hatch})});
  // The frame is 720 points wide over 400 pixels: 20 style pixels are 15 points, 8.33 pixels.
  int lines = 0;
  bool inside = false;
  for (int y = 20; y < 180; ++y) {
    const bool ink = (pixels.at(200, y) >> 24) > 100;
    lines += ink && !inside ? 1 : 0;
    inside = ink;
    EXPECT_EQ(pixels.at(200, y), pixels.at(230, y)) << y;  // the same all along
  }
  EXPECT_NEAR(lines, 160 / 8.333, 1);
  EXPECT_EQ(pixels.at(200, 10), 0U);  // clipped to the shape
}

}  // namespace
}  // namespace evendrip
