// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/pressure_sheet.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "example_field.hpp"

namespace evendrip {
namespace {

using example::make_example;
using example::make_pressures;
using example::output;
using example::pressure_raster;

const PointsDrawing& ports_of(const Sheet& sheet) {
  for (const Drawing& drawing : sheet.drawings) {
    if (const auto* points = std::get_if<PointsDrawing>(&drawing)) return *points;
  }
  throw std::out_of_range("no ports");
}

bool has_note(const Sheet& sheet, const std::string& text) {
  return std::any_of(sheet.notes.begin(), sheet.notes.end(), [&text](const std::string& note) {
    return note.find(text) != std::string::npos;
  });
}

TEST(PressureSheet, IsDrawnWithoutLosingALabel) {
  auto e = make_example();
  const auto zones = make_pressures(e);
  const MapResources r = find_map_resources();
  const Sheet sheet =
      pressure_sheet(e.field, e.survey, pressure_raster(e.field), zones, e.context, r);
  const DrawnSheet drawn = draw_png(sheet, r, output("pressure.png"));
  EXPECT_EQ(drawn.labels_left_out, 0);
  EXPECT_EQ(drawn.notes_left_out, 0);
  EXPECT_EQ(drawn.foreign_characters, 0);
  draw_pdf(sheet, r, output("pressure.pdf"));
  EXPECT_GT(std::filesystem::file_size(output("pressure.pdf")), 10000U);
}

TEST(PressureSheet, ShowsEachPortWithMeasuredAgainstModelledAndMarksThoseThatDisagree) {
  auto e = make_example();
  const auto zones = make_pressures(e);
  const PointsDrawing ports = ports_of(pressure_sheet(e.field, e.survey, pressure_raster(e.field),
                                                      zones, e.context, find_map_resources()));
  ASSERT_EQ(ports.points.size(), e.field.ports.size());
  EXPECT_EQ(ports.style.title, "Gauge ports, measured / modelled, kPa");
  EXPECT_EQ(std::count(ports.classes.begin(), ports.classes.end(), "agrees"), 7);
  EXPECT_EQ(std::count(ports.classes.begin(), ports.classes.end(), "disagrees"), 1);
  EXPECT_EQ(ports.classes.back(), "not_compared");
  EXPECT_EQ(ports.labels.back(), "");
  const PortComparison& first = zones[0].gauges.ports[0];
  EXPECT_EQ(ports.labels[0], std::to_string(std::lround(first.measured_kpa)) + " / " +
                                 std::to_string(std::lround(first.modelled_kpa)));
  for (const std::string& name : ports.classes) {
    EXPECT_NE(rule_for(ports.style, name), nullptr) << name;
  }
}

TEST(PressureSheet, SpeaksInTheReportUnitsOfTheField) {
  auto e = make_example();
  e.field.report_units = UnitSystem::us;
  const auto zones = make_pressures(e);
  const Raster pressure = pressure_raster(e.field);
  const Sheet sheet =
      pressure_sheet(e.field, e.survey, pressure, zones, e.context, find_map_resources());
  const auto& raster = std::get<RasterDrawing>(sheet.drawings.front());
  EXPECT_EQ(raster.legend_title, "Pressure of a clean system, psi");
  const auto& reasons = pressure.reasons;
  const auto i = static_cast<std::size_t>(std::find(reasons.begin(), reasons.end(), Reason::value) -
                                          reasons.begin());
  // 1 psi is 6.894757 kPa (NIST SP 811, appendix B.8).
  EXPECT_NEAR(raster.raster.values[i], pressure.values[i] / 6.894757F, 1e-4);
  EXPECT_TRUE(has_note(sheet, "Zone Z1: inlet 15.7 \u00b1 0.1 psi (gauge Z1 inlet)."));
}

TEST(PressureSheet, SaysWhatAZoneNeedsThatIsNotComputed) {
  auto e = make_example();
  auto zones = make_pressures(e);
  zones[1] = ExpectedZone{};
  zones[1].zone = 1;
  zones[1].why_not = "needs [layers] manifolds";
  const Sheet sheet = pressure_sheet(e.field, e.survey, pressure_raster(e.field), zones, e.context,
                                     find_map_resources());
  EXPECT_TRUE(has_note(sheet, "Zone Z2 is not computed: needs [layers] manifolds."));
  const auto& classes = ports_of(sheet).classes;
  EXPECT_EQ(std::count(classes.begin(), classes.end(), "not_compared"), 5);
}

TEST(PressureSheet, WarnsOfLinesUnderPressure) {
  auto e = make_example();
  const Sheet sheet = pressure_sheet(e.field, e.survey, pressure_raster(e.field), make_pressures(e),
                                     e.context, find_map_resources());
  EXPECT_NE(sheet.caution.find("under pressure"), std::string::npos);
  EXPECT_NE(sheet.caution.find("Local codes"), std::string::npos);
}

TEST(IrrigatingReading, IsTheMeanOfThePortsReadingsAndLeavesOutFlushing) {
  Survey survey;
  survey.pressures = {{2, 0, 100, 1, "irrigating", "Z1", ""},
                      {3, 0, 104, 1, "irrigating", "Z1", ""},
                      {4, 0, 60, 1, "flushing", "Z1", ""},
                      {5, 1, 60, 1, "flushing", "Z1", ""}};
  EXPECT_DOUBLE_EQ(irrigating_reading_kpa(survey, 0).value(), 102);
  EXPECT_FALSE(irrigating_reading_kpa(survey, 1));
}

}  // namespace
}  // namespace evendrip
