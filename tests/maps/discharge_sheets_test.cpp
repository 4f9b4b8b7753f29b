// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/discharge_sheets.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "example_field.hpp"

namespace evendrip {
namespace {

using example::make_example;
using example::output;

template <class T>
T first_of(const Sheet& sheet) {
  for (const Drawing& drawing : sheet.drawings) {
    if (const auto* found = std::get_if<T>(&drawing)) return *found;
  }
  throw std::out_of_range("no such drawing");
}

TEST(DischargeSheets, AreDrawnAsPictureAndPdf) {
  const auto e = make_example();
  const MapResources r = find_map_resources();
  const std::vector<std::pair<std::string, Sheet>> sheets = {
      {"discharge", discharge_sheet(e.field, e.survey, e.discharge, e.findings, e.context, r)},
      {"relative_discharge",
       relative_discharge_sheet(e.field, e.survey, e.relative, e.findings, e.context, r)},
      {"crop", crop_sheet(e.field, e.survey, e.crop, "Biomass", e.discharge, e.context, r)},
      {"findings", findings_sheet(e.field, e.survey, e.findings, &e.crop, e.context, r)}};
  for (const auto& [name, sheet] : sheets) {
    const DrawnSheet drawn = draw_png(sheet, r, output(name + ".png"));
    EXPECT_EQ(drawn.foreign_characters, 0) << name;
    EXPECT_LT(drawn.labels_left_out, 20) << name;
    draw_pdf(sheet, r, output(name + ".pdf"));
    EXPECT_GT(std::filesystem::file_size(output(name + ".png")), 20000U) << name;
    EXPECT_GT(std::filesystem::file_size(output(name + ".pdf")), 10000U) << name;
  }
}

bool has_note(const Sheet& sheet, const std::string& text) {
  return std::any_of(sheet.notes.begin(), sheet.notes.end(), [&text](const std::string& note) {
    return note.find(text) != std::string::npos;
  });
}

TEST(DischargeSheets, SayWhatRelativeDischargeIsRelativeTo) {
  auto e = make_example();
  const MapResources r = find_map_resources();
  struct Case {
    std::vector<ReferenceKind> references;
    const char *title, *legend, *scale;
  };
  const auto median = ReferenceKind::zone_median;
  const auto clean = ReferenceKind::clean_system;
  for (const Case& c : {Case{{median, median},
                             "Relative discharge",
                             "Discharge over the median of its zone",
                             "relative to the median (1.00) of the zone"},
                        Case{{clean, clean},
                             "Discharge, of what a clean system would give",
                             "Of what a clean system would give",
                             "Water is relative to what a clean system would give, crop"},
                        Case{{clean, median},
                             "Relative discharge",
                             "Of the reference of its zone, see notes",
                             "what a clean system would give, or to the median of the zone"}}) {
    e.context.references = c.references;
    const Sheet sheet =
        relative_discharge_sheet(e.field, e.survey, e.relative, e.findings, e.context, r);
    EXPECT_EQ(sheet.title, c.title);
    EXPECT_EQ(first_of<RasterDrawing>(sheet).legend_title, c.legend);
    EXPECT_TRUE(
        has_note(findings_sheet(e.field, e.survey, e.findings, nullptr, e.context, r), c.scale));
  }
}

TEST(DischargeSheets, SpeakInTheReportUnitsOfTheField) {
  auto e = make_example();
  e.field.report_units = UnitSystem::us;
  e.context.paper = Paper::letter;
  const MapResources r = find_map_resources();
  const Sheet sheet = discharge_sheet(e.field, e.survey, e.discharge, e.findings, e.context, r);
  const auto raster = first_of<RasterDrawing>(sheet);
  EXPECT_EQ(raster.legend_title, "Discharge, gph");
  const auto& reasons = raster.raster.reasons;
  const auto i = static_cast<std::size_t>(std::find(reasons.begin(), reasons.end(), Reason::value) -
                                          reasons.begin());
  // 1 US gallon is 3.785412 L (NIST SP 811, appendix B.8).
  EXPECT_NEAR(raster.raster.values[i], e.discharge.values[i] / 3.785412, 1e-6);
  EXPECT_EQ(sheet.units, UnitSystem::us);
  draw_png(sheet, r, output("discharge_us.png"));
}

TEST(DischargeSheets, TellCoordinatesInTheCrsThatWasStated) {
  auto e = make_example();
  e.field.stated_crs = parse_crs("EPSG:2277");
  const Sheet sheet =
      discharge_sheet(e.field, e.survey, e.discharge, e.findings, e.context, find_map_resources());
  EXPECT_EQ(sheet.stated_crs.code, "EPSG:2277");
  EXPECT_EQ(sheet.crs.code, e.field.crs.code);
}

TEST(DischargeSheets, KeepAmbiguousEmittersAsCirclesTrueToScale) {
  const auto e = make_example();
  const Sheet sheet = relative_discharge_sheet(e.field, e.survey, e.relative, e.findings, e.context,
                                               find_map_resources());
  const auto points = first_of<PointsDrawing>(sheet);
  ASSERT_EQ(points.points.size(), e.survey.emitters.size());
  for (std::size_t i = 0; i < points.points.size(); ++i) {
    const bool ambiguous = e.survey.emitters[i].placement == Placement::ambiguous;
    EXPECT_EQ(points.classes[i] == "ambiguous", ambiguous);
    EXPECT_DOUBLE_EQ(points.radius_m[i], ambiguous ? 4 : 0);
  }
}

TEST(DischargeSheets, EveryStateAndKindHasARuleInItsStyle) {
  const MapResources r = find_map_resources();
  const Style marks = read_style(r.styles / "emitters.sld");
  MeasuredEmitter emitter;
  for (const EmitterState state :
       {EmitterState::runs, EmitterState::drips, EmitterState::none, EmitterState::dug_damage,
        EmitterState::leak, EmitterState::not_found}) {
    emitter.state = state;
    const StyleRule* rule = rule_for(marks, emitter_class(emitter));
    ASSERT_NE(rule, nullptr) << emitter_class(emitter);
    EXPECT_TRUE(rule->mark.has_value());
  }
  emitter.placement = Placement::ambiguous;
  EXPECT_NE(rule_for(marks, emitter_class(emitter)), nullptr);
  const Style hatches = read_style(r.styles / "findings.sld");
  for (const FindingKind kind :
       {FindingKind::both_low, FindingKind::water_low, FindingKind::crop_low}) {
    ASSERT_NE(rule_for(hatches, finding_class(kind)), nullptr) << finding_class(kind);
  }
}

TEST(DischargeSheets, LeaveOutEmittersOutsideEveryZoneAndSaySo) {
  auto e = make_example();
  e.survey.emitters[0].placement = Placement::outside;
  const Sheet sheet =
      discharge_sheet(e.field, e.survey, e.discharge, e.findings, e.context, find_map_resources());
  EXPECT_EQ(first_of<PointsDrawing>(sheet).points.size(), e.survey.emitters.size() - 1);
  EXPECT_TRUE(std::any_of(sheet.notes.begin(), sheet.notes.end(), [](const std::string& note) {
    return note.find("in no zone, not shown: 1.") != std::string::npos;
  }));
}

TEST(DischargeSheets, ClassSharesOfTheAreaSumToTheWhole) {
  const auto e = make_example();
  const Sheet sheet = relative_discharge_sheet(e.field, e.survey, e.relative, e.findings, e.context,
                                               find_map_resources());
  const auto raster = first_of<RasterDrawing>(sheet);
  ASSERT_EQ(raster.class_notes.size(), 6U);
  int sum = 0;
  for (const std::string& note : raster.class_notes) {
    if (note.rfind("under", 0) != 0) sum += std::stoi(note);
  }
  EXPECT_NEAR(sum, 100, 3);  // each share is rounded to a whole per cent
}

TEST(DischargeSheets, DischargeRampSpansTheMiddleOfTheValues) {
  Raster raster(grid_over({0, 0, 100, 100}, 1));
  for (std::size_t i = 0; i < raster.values.size(); ++i) {
    raster.set(i, 0.83 + 0.4 * static_cast<double>(i) / 1e4);
  }
  const Style style = discharge_style(raster, find_map_resources());
  const auto& stops = style.colour_map->stops;
  EXPECT_LE(stops.front().value, 0.834);
  EXPECT_GT(stops.front().value, 0.75);
  EXPECT_GE(stops.back().value, 1.226);
  EXPECT_LT(stops.back().value, 1.30);
}

TEST(DischargeSheets, DischargeRampOfOneValueStillHasAWidth) {
  Raster raster(grid_over({0, 0, 10, 10}, 1));
  for (std::size_t i = 0; i < raster.values.size(); ++i) raster.set(i, 1.2);
  const Style style = discharge_style(raster, find_map_resources());
  EXPECT_LT(style.colour_map->stops.front().value, style.colour_map->stops.back().value);
}

TEST(DischargeSheets, BareFramesCarryNoEmittersAndNoLabels) {
  const auto e = make_example();
  const Sheet sheet =
      discharge_sheet(e.field, e.survey, e.discharge, e.findings, e.context, find_map_resources());
  const auto bare = without_labels(sheet.drawings);
  EXPECT_EQ(bare.size() + 1, sheet.drawings.size());
  for (const Drawing& drawing : bare) {
    EXPECT_FALSE(std::holds_alternative<PointsDrawing>(drawing));
    if (const auto* shapes = std::get_if<ShapesDrawing>(&drawing)) {
      EXPECT_TRUE(shapes->labels.empty());
    }
  }
}

}  // namespace
}  // namespace evendrip
