// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/condition_sheets.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <variant>

#include "made_condition_maps.hpp"

namespace evendrip {
namespace {

using example::make_condition;
using example::make_example;
using example::output;
using testing::Contains;
using testing::HasSubstr;

template <class T>
std::vector<T> all_of(const std::vector<Drawing>& drawings) {
  std::vector<T> found;
  for (const Drawing& drawing : drawings)
    if (const auto* one = std::get_if<T>(&drawing)) found.push_back(*one);
  return found;
}

/// Area of all shapes of a class, m2.
double area_of_class(const Sheet& sheet, const std::string& name) {
  double area = 0;
  for (const ShapesDrawing& drawing : all_of<ShapesDrawing>(sheet.drawings))
    for (std::size_t i = 0; i < drawing.classes.size(); ++i)
      if (drawing.classes[i] == name) area += area_m2(drawing.shapes[i]);
  return area;
}

template <class Is>
double area_where(const Raster& raster, const Is& is) {
  double area = 0;
  for (std::size_t i = 0; i < raster.values.size(); ++i)
    if (is(i)) area += raster.grid.cell_m * raster.grid.cell_m;
  return area;
}

TEST(DeliverySheet, OutlinesWhereEmittersAreLikelyLowAndWhereAlmostSurely) {
  auto e = make_example();
  const auto made = make_condition(e);
  const Sheet sheet = delivery_sheet(e.field, e.survey, made.delivery, made.p_low, made.lower,
                                     made.upper, made.faults, e.context, find_map_resources());
  const auto above = [&made](float limit) {
    return area_where(made.p_low, [&](std::size_t i) {
      return made.p_low.reasons[i] == Reason::value && made.p_low.values[i] > limit;
    });
  };
  EXPECT_NEAR(area_of_class(sheet, "over_half"), above(0.5F), 1e-6);
  EXPECT_NEAR(area_of_class(sheet, "over_four_fifths"), above(0.8F), 1e-6);
  EXPECT_GT(above(0.8F), 100);
  EXPECT_THAT(sheet.notes, Contains(HasSubstr("90 % limits of what neighbouring emitters share")));
}

TEST(DeliverySheet, HatchesWhatIsNotKnownAndWhatWasNotJudgedApart) {
  auto e = make_example();
  const auto made = make_condition(e);
  const Sheet sheet = delivery_sheet(e.field, e.survey, made.delivery, made.p_low, made.lower,
                                     made.upper, made.faults, e.context, find_map_resources());
  const auto with = [&made](Reason reason) {
    return area_where(made.delivery,
                      [&](std::size_t i) { return made.delivery.reasons[i] == reason; });
  };
  EXPECT_GT(with(Reason::too_few), 100);
  EXPECT_NEAR(area_of_class(sheet, "not_judged"), with(Reason::too_few), 1e-6);
  EXPECT_NEAR(area_of_class(sheet, "too_uncertain"), with(Reason::too_uncertain), 1e-6);
}

TEST(DeliverySheet, MarksEveryFaultByItsKindAndTellsIt) {
  auto e = make_example();
  const auto made = make_condition(e);
  const Sheet sheet = delivery_sheet(e.field, e.survey, made.delivery, made.p_low, made.lower,
                                     made.upper, made.faults, e.context, find_map_resources());
  const auto points = all_of<PointsDrawing>(sheet.drawings);
  ASSERT_EQ(points.size(), 2U);
  EXPECT_EQ(points.back().classes, (std::vector<std::string>{"pinch", "cut"}));
  EXPECT_EQ(points.back().labels, (std::vector<std::string>{"F1", "F2"}));
  for (const std::string& name : points.back().classes) {
    const StyleRule* rule = rule_for(points.back().style, name);
    ASSERT_NE(rule, nullptr);
    EXPECT_TRUE(rule->mark.has_value());
  }
  EXPECT_THAT(sheet.notes, Contains(HasSubstr("F1: laterals Z2-40")));
}

TEST(DeliverySheet, SaysWhatItIsRelativeTo) {
  auto e = make_example();
  const auto made = make_condition(e);
  const auto legend = [&] {
    const Sheet sheet = delivery_sheet(e.field, e.survey, made.delivery, made.p_low, made.lower,
                                       made.upper, {}, e.context, find_map_resources());
    return all_of<RasterDrawing>(sheet.drawings).at(0).legend_title;
  };
  EXPECT_EQ(legend(), "Of what a clean system would give");
  e.context.references = {ReferenceKind::zone_median, ReferenceKind::zone_median};
  EXPECT_EQ(legend(), "Discharge over the median of its zone");
}

TEST(NetworkFaultStyle, HasAMarkForEveryKind) {
  const Style style = read_style(find_map_resources().styles / "network_faults.sld");
  for (const FaultKind kind : {FaultKind::shut, FaultKind::pinch, FaultKind::cut}) {
    const StyleRule* rule = rule_for(style, to_text(kind));
    ASSERT_NE(rule, nullptr) << to_text(kind);
    EXPECT_EQ(rule->equals, to_text(kind));
  }
}

TEST(PartsSheet, ShowsThePartsSideBySideWithTheirSharesAtOneScaleOfColours) {
  auto e = make_example();
  auto made = make_condition(e);
  const MapResources r = find_map_resources();
  std::vector<PartMap> few(made.parts.begin(), made.parts.begin() + 2);
  few[0].share = -1;
  Sheet sheet = parts_sheet(e.field, e.survey, few, e.context, r);
  ASSERT_EQ(sheet.panels.size(), 2U);
  EXPECT_EQ(sheet.panels[0].title, "Along the laterals alike");
  EXPECT_EQ(all_of<RasterDrawing>(sheet.panels[0].drawings).at(0).legend_title,
            "Change, of a clean emitter's discharge");
  EXPECT_EQ(all_of<ShapesDrawing>(sheet.drawings).at(0).labels,
            (std::vector<std::string>{"Z1", "Z2"}));
  sheet = parts_sheet(e.field, e.survey, made.parts, e.context, r);
  ASSERT_EQ(sheet.panels.size(), made.parts.size());
  EXPECT_EQ(sheet.panels[5].title, "Soil and stand (crop)\n30 % of the crop's variance");
  EXPECT_THAT(all_of<RasterDrawing>(sheet.panels[0].drawings).at(0).legend_title,
              HasSubstr("crop"));
  const auto first = all_of<RasterDrawing>(sheet.panels[0].drawings).at(0);
  for (const Panel& panel : sheet.panels) {
    const auto drawn = all_of<RasterDrawing>(panel.drawings).at(0);
    ASSERT_EQ(drawn.style.colour_map->stops.size(), first.style.colour_map->stops.size());
    EXPECT_EQ(drawn.style.colour_map->stops[1].value, first.style.colour_map->stops[1].value);
  }
}

TEST(WaterShapedCropSheet, SaysThatNothingIsVerifiedAndTellsNoProbability) {
  auto e = make_example();
  const auto made = make_condition(e);
  const Sheet sheet = water_shaped_crop_sheet(e.field, e.survey, made.crop, made.faults, e.context,
                                              find_map_resources());
  EXPECT_THAT(sheet.notes, Contains(HasSubstr("Crop and gauges only, not verified")));
  for (const std::string& note : sheet.notes) EXPECT_THAT(note, testing::Not(HasSubstr("robabil")));
  EXPECT_EQ(area_of_class(sheet, "over_half"), 0);
}

TEST(ConditionSheets, AreDrawnAsPictureAndPdfWithRoomForAllNotes) {
  auto e = make_example();
  const auto made = make_condition(e);
  const MapResources r = find_map_resources();
  const std::vector<std::pair<std::string, Sheet>> sheets = {
      {"delivery", delivery_sheet(e.field, e.survey, made.delivery, made.p_low, made.lower,
                                  made.upper, made.faults, e.context, r)},
      {"performance", performance_sheet(e.field, e.survey, made.performance, made.p_clogged,
                                        made.lower, made.upper, e.context, r)},
      {"delivery_error",
       delivery_error_sheet(e.field, e.survey, made.standard_error, e.context, r)},
      {"p_low",
       emitter_probability_sheet(e.field, e.survey, made.p_low, "delivery", 0.9, e.context, r)},
      {"parts", parts_sheet(e.field, e.survey, made.parts, e.context, r)},
      {"crop", water_shaped_crop_sheet(e.field, e.survey, made.crop, made.faults, e.context, r)}};
  for (const auto& [name, sheet] : sheets) {
    const DrawnSheet drawn = draw_png(sheet, r, output(name + ".png"));
    EXPECT_EQ(drawn.foreign_characters, 0) << name;
    EXPECT_EQ(drawn.notes_left_out, 0) << name;
    EXPECT_EQ(drawn.labels_left_out, 0) << name;
    draw_pdf(sheet, r, output(name + ".pdf"));
    EXPECT_GT(std::filesystem::file_size(output(name + ".png")), 20000U) << name;
    EXPECT_GT(std::filesystem::file_size(output(name + ".pdf")), 10000U) << name;
  }
}

}  // namespace
}  // namespace evendrip
