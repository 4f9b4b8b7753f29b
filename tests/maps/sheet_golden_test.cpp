// SPDX-License-Identifier: Apache-2.0
// Whole sheets at a small size, and each kind of symbol, against kept pictures.
#include <gtest/gtest.h>

#include "evendrip/maps/uncertainty_sheets.hpp"

#include "example_field.hpp"
#include "golden_picture.hpp"

namespace evendrip {
namespace {

using example::make_example;
using example::output;

constexpr double dots_per_inch = 50;

void expect_golden(const Sheet& sheet, const std::string& name) {
  const auto file = output("golden_" + name + ".png");
  draw_png(sheet, find_map_resources(), file, dots_per_inch);
  golden::expect_same_picture(file, name);
}

TEST(GoldenSheets, Discharge) {
  const auto e = make_example();
  expect_golden(
      discharge_sheet(e.field, e.survey, e.discharge, e.findings, e.context, find_map_resources()),
      "discharge");
}

TEST(GoldenSheets, RelativeDischarge) {
  const auto e = make_example();
  expect_golden(relative_discharge_sheet(e.field, e.survey, e.relative, e.findings, e.context,
                                         find_map_resources()),
                "relative_discharge");
}

TEST(GoldenSheets, StandardErrorOfRelativeDischarge) {
  const auto e = make_example();
  expect_golden(relative_discharge_error_sheet(e.field, e.survey, e.standard_error, e.findings,
                                               e.context, find_map_resources()),
                "relative_discharge_error");
}

TEST(GoldenSheets, DischargeOfWhatACleanSystemWouldGive) {
  auto e = make_example();
  e.context.references = {ReferenceKind::clean_system, ReferenceKind::clean_system};
  expect_golden(relative_discharge_sheet(e.field, e.survey, e.relative, e.findings, e.context,
                                         find_map_resources()),
                "delivery");
}

TEST(GoldenSheets, PressureWithGaugePorts) {
  auto e = make_example();
  const auto zones = example::make_pressures(e);
  e.context.method = "expected discharge by hydraulics (Darcy-Weisbach, water 16 degC).";
  e.context.further.clear();
  expect_golden(pressure_sheet(e.field, e.survey, example::pressure_raster(e.field), zones,
                               e.context, find_map_resources()),
                "pressure");
}

TEST(GoldenSheets, CropWithIsolines) {
  const auto e = make_example();
  expect_golden(crop_sheet(e.field, e.survey, e.crop, "Biomass", e.discharge, e.context,
                           find_map_resources()),
                "crop");
}

TEST(GoldenSheets, FindingsOnLetterPaperInUnitedStatesUnits) {
  auto e = make_example();
  e.field.report_units = UnitSystem::us;
  e.context.paper = Paper::letter;
  expect_golden(
      findings_sheet(e.field, e.survey, e.findings, &e.crop, e.context, find_map_resources()),
      "findings_us");
}

TEST(GoldenSymbols, EveryMarkAndHatch) {
  PointsDrawing points;
  ShapesDrawing shapes;
  int k = 0;
  for (const char* name : {"circle", "square", "triangle", "star", "cross", "x"}) {
    StyleRule rule;
    rule.property = "class";
    rule.equals = name;
    rule.mark = MarkStyle{name, 30, FillStyle{Colour{1, 0.7, 0.2, 1}, {}}, StrokeStyle{{}, 2, {}}};
    points.style.rules.push_back(rule);
    points.points.push_back({10.0 + 16 * k++, 25});
    points.classes.emplace_back(name);
  }
  k = 0;
  for (const char* name : {"slash", "backslash", "horline", "vertline", "plus", "times"}) {
    StyleRule rule;
    rule.property = "class";
    rule.equals = name;
    rule.fill = FillStyle{{}, HatchStyle{"shape://" + std::string(name), {}, 9}};
    rule.outline = StrokeStyle{{0.6, 0, 0, 1}, 2, {5, 3}};
    shapes.style.rules.push_back(rule);
    const double x = 3.0 + 16 * k++;
    shapes.shapes.push_back({{{{x, 2}, {x + 14, 2}, {x + 14, 16}, {x, 16}},
                              {{{x + 5, 6}, {x + 9, 6}, {x + 9, 11}, {x + 5, 11}}}}});
    shapes.classes.emplace_back(name);
  }
  const auto file = output("golden_symbols.png");
  draw_frame_png({shapes, points}, {0, 0, 100, 34}, find_map_resources(), file, 500);
  golden::expect_same_picture(file, "symbols");
}

TEST(GoldenPictures, AreToldApartWhenTheyDiffer) {
  auto e = make_example();
  Sheet sheet =
      discharge_sheet(e.field, e.survey, e.discharge, e.findings, e.context, find_map_resources());
  const auto one = output("told_apart_1.png"), other = output("told_apart_2.png");
  draw_png(sheet, find_map_resources(), one, dots_per_inch);
  sheet.title = "Something else";
  draw_png(sheet, find_map_resources(), other, dots_per_inch);
  const auto a = golden::read_picture(one), b = golden::read_picture(other);
  const golden::Picture difference(
      cairo_image_surface_create(CAIRO_FORMAT_ARGB32, cairo_image_surface_get_width(a.get()),
                                 cairo_image_surface_get_height(a.get())));
  EXPECT_GT(golden::share_of_difference(a.get(), b.get(), difference.get()),
            golden::pixel_share_allowed);
}

}  // namespace
}  // namespace evendrip
