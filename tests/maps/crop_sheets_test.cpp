// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/crop_sheets.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <stdexcept>

#include "made_crop.hpp"
#include "own_folder.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;

using test::made_crop;
using test::small_field;

template <class T>
T last_of(const Sheet& sheet) {
  for (auto drawing = sheet.drawings.rbegin(); drawing != sheet.drawings.rend(); ++drawing) {
    if (const auto* found = std::get_if<T>(&*drawing)) return *found;
  }
  throw std::out_of_range("no such drawing");
}

bool has_note(const Sheet& sheet, const std::string& text) {
  return std::any_of(sheet.notes.begin(), sheet.notes.end(), [&text](const std::string& note) {
    return note.find(text) != std::string::npos;
  });
}

const CropSheetContext context{"Yield, 2025-yield", "2025-09-30", "block kriging", {}, Paper::a4};

TEST(CropSheets, AreDrawnAsPictureAndPdf) {
  const HeardCrop heard = made_crop(small_field("crop_sheets_drawn"));
  const Field& field = heard.field;
  const MappedHarvest& harvest = *heard.layers[0].harvest;
  const Raster relative = overview(*heard.layers[0].layer.relative, 1500);
  const MapResources r = find_map_resources();
  const CropOverDates& joined = heard.over_dates[0];
  const std::vector<std::pair<std::string, Sheet>> sheets = {
      {"crop", crop_index_sheet(field, relative, context, r)},
      {"water_part", water_part_sheet(field, relative, context, r)},
      {"error", yield_error_sheet(field, harvest.map.standard_error, context, r)},
      {"records", cleaning_sheet(field, harvest.log, harvest.cleaned, context, r)},
      {"look_first", look_first_sheet(field, relative, heard.layers[0].screening, context, r)},
      {"level", stability_level_sheet(field, joined, joined.stability.level, context, r)},
      {"variation",
       stability_variation_sheet(field, joined, joined.stability.variation, context, r)},
      {"low_dates", low_dates_sheet(field, joined, joined.low_dates, context, r)}};
  for (const auto& [name, sheet] : sheets) {
    const DrawnSheet drawn = draw_png(sheet, r, test::own_folder() / (name + ".png"));
    EXPECT_EQ(drawn.foreign_characters, 0) << name;
    EXPECT_EQ(drawn.notes_left_out, 0) << name;
    draw_pdf(sheet, r, test::own_folder() / (name + ".pdf"));
    EXPECT_GT(fs::file_size(test::own_folder() / (name + ".png")), 10000U) << name;
    EXPECT_EQ(sheet.date, "2025-09-30") << name;
    EXPECT_EQ(sheet.occasion, "Yield, 2025-yield of") << name;
    EXPECT_NE(sheet.caution.find("Local codes"), std::string::npos) << name;
  }
}

TEST(CropSheets, EveryStepAndShapeHasARuleInItsStyle) {
  const MapResources r = find_map_resources();
  const Style records = read_style(r.styles / "yield_records.sld");
  for (int s = 0; s <= static_cast<int>(SetAside::odd_neighbours); ++s) {
    const std::string name = record_class(static_cast<SetAside>(s));
    const StyleRule* rule = rule_for(records, name);
    ASSERT_NE(rule, nullptr) << name;
    EXPECT_EQ(rule->equals, name);
    EXPECT_TRUE(rule->mark) << name;
  }
  const Style local = read_style(r.styles / "local_association.sld");
  for (int a = 0; a <= static_cast<int>(LocalAssociation::water_high_crop_low); ++a) {
    const std::string name = association_class(static_cast<LocalAssociation>(a));
    const StyleRule* rule = rule_for(local, name);
    ASSERT_NE(rule, nullptr) << name;
    EXPECT_EQ(rule->equals, name);
  }
  const Style patches = read_style(r.styles / "crop_patches.sld");
  for (const PatchShape shape : {PatchShape::follows_laterals, PatchShape::follows_zone,
                                 PatchShape::ignores_laterals, PatchShape::not_told}) {
    const StyleRule* rule = rule_for(patches, patch_class(shape));
    ASSERT_NE(rule, nullptr) << patch_class(shape);
    EXPECT_EQ(rule->equals, patch_class(shape));
  }
}

TEST(CropSheets, MarkEmittersByHowWaterAndCropGoTogether) {
  const HeardCrop heard = made_crop(small_field("crop_sheets_association"));
  const Raster relative = overview(*heard.layers[0].layer.relative, 1500);
  const CropAtEmitters emitters{heard.discharge->places,
                                {0.5, 1.1},
                                {0.8, 1.0},
                                {LocalAssociation::both_low, LocalAssociation::none},
                                "they go together"};
  const Sheet sheet =
      association_sheet(heard.field, relative, emitters, context, find_map_resources());
  const auto points = last_of<PointsDrawing>(sheet);
  EXPECT_EQ(points.classes, (std::vector<std::string>{"both_low", "none"}));
  EXPECT_TRUE(has_note(sheet, "they go together"));
}

TEST(CropSheets, LeaveLateralsOutThatWouldRunTogether) {
  HeardCrop heard = made_crop(small_field("crop_sheets_dense"));
  const Raster relative = overview(*heard.layers[0].layer.relative, 1500);
  const auto drawn_laterals = [&] {
    const Sheet sheet = look_first_sheet(heard.field, relative, heard.layers[0].screening, context,
                                         find_map_resources());
    return std::get<LinesDrawing>(sheet.drawings[1]).lines.size();
  };
  EXPECT_EQ(drawn_laterals(), heard.field.laterals.size());
  for (Zone& zone : heard.field.zones) zone.lateral.spacing_m = 0.05;
  EXPECT_EQ(drawn_laterals(), 0U);
}

TEST(CropSheets, NameTheDatesAndCountThemInClasses) {
  const HeardCrop heard = made_crop(small_field("crop_sheets_low_dates"));
  const MapResources r = find_map_resources();
  CropOverDates joined = heard.over_dates[1];
  const Sheet sheet = low_dates_sheet(heard.field, joined, joined.low_dates, context, r);
  EXPECT_TRUE(has_note(sheet, "Dates: 2025-06-01, 2025-06-21, 2025-07-31."));
  EXPECT_TRUE(has_note(sheet, "steady, not therefore dry"));
  const ColourMap& classes = *std::get<RasterDrawing>(sheet.drawings.front()).style.colour_map;
  ASSERT_EQ(classes.stops.size(), 4U);
  EXPECT_EQ(classes.stops[0].label, "on none of 3 dates");
  EXPECT_EQ(classes.stops[2].label, "on 2 of 3");
  EXPECT_EQ(classes.stops[3].label, "on all 3");
  // In grey each class is darker than the one before.
  const auto grey = [&](std::size_t k) {
    const Colour& c = classes.stops[k].colour;
    return 0.2126 * c.red + 0.7152 * c.green + 0.0722 * c.blue;
  };
  for (std::size_t k = 1; k < 4; ++k) EXPECT_LT(grey(k), grey(k - 1) - 0.05);
  joined.dates.assign(20, {"2025-06-01", "a"});
  const ColourMap many = *low_dates_style(joined, r).colour_map;
  ASSERT_EQ(many.stops.size(), 6U);
  EXPECT_EQ(many.stops[1].label, "on 1 to 4 of 20");
  EXPECT_EQ(many.stops[5].label, "on 17 to 20 of 20");
}

class MarksOf : public testing::TestWithParam<const char*> {};

TEST_P(MarksOf, AreToldApartWithoutColour) {
  const Style records =
      read_style(find_map_resources().styles / (std::string(GetParam()) + ".sld"));
  const auto shade = [](const MarkStyle& mark) {
    if (!mark.fill || !mark.fill->colour) return -1;
    const Colour& c = *mark.fill->colour;
    return static_cast<int>(10 * (0.3 * c.red + 0.59 * c.green + 0.11 * c.blue));
  };
  for (std::size_t a = 0; a < records.rules.size(); ++a) {
    for (std::size_t b = a + 1; b < records.rules.size(); ++b) {
      const MarkStyle& one = *records.rules[a].mark;
      const MarkStyle& other = *records.rules[b].mark;
      EXPECT_FALSE(one.well_known_name == other.well_known_name && shade(one) == shade(other))
          << records.rules[a].name << " and " << records.rules[b].name;
    }
  }
}

INSTANTIATE_TEST_SUITE_P(CropStyles, MarksOf,
                         testing::Values("yield_records", "local_association"));

TEST(CropSheets, DrawSomeOfManyRecordsAndSaySo) {
  HeardCrop heard = made_crop(small_field("crop_sheets_many"));
  MappedHarvest harvest = *heard.layers[0].harvest;
  harvest.log.places.assign(50'000, harvest.log.places.front());
  harvest.cleaned.step.assign(50'000, SetAside::kept);
  const Sheet sheet =
      cleaning_sheet(heard.field, harvest.log, harvest.cleaned, context, find_map_resources());
  EXPECT_EQ(last_of<PointsDrawing>(sheet).points.size(), 16'667U);
  EXPECT_TRUE(has_note(sheet, "Of 50000 records \"" + to_text(SetAside::kept) + "\" one in 3"));
}

TEST(CropSheets, NumberThePlacesToLookAtFirst) {
  const HeardCrop heard = made_crop(small_field("crop_sheets_first"));
  const Raster relative = overview(*heard.layers[0].layer.relative, 1500);
  const MapResources r = find_map_resources();
  const Sheet sheet =
      look_first_sheet(heard.field, relative, heard.layers[0].screening, context, r);
  const auto patches = last_of<ShapesDrawing>(sheet);
  ASSERT_EQ(patches.labels.size(), 4U);
  EXPECT_EQ(patches.labels.front(), "1");
  EXPECT_EQ(patches.classes.front(), "follows_laterals");
  EXPECT_TRUE(has_note(sheet, "The crop tells where to look, not what is wrong"));
  const Sheet none = look_first_sheet(heard.field, relative, {}, context, r);
  EXPECT_TRUE(has_note(none, "No place is lower than chance"));
}

TEST(CropSheets, SpeakInTheReportUnitsOfTheField) {
  HeardCrop heard = made_crop(small_field("crop_sheets_us"));
  heard.field.report_units = UnitSystem::us;
  const Raster& error = heard.layers[0].harvest->map.standard_error;
  const Sheet sheet = yield_error_sheet(heard.field, error, context, find_map_resources());
  const auto raster = std::get<RasterDrawing>(sheet.drawings.front());
  EXPECT_EQ(raster.legend_title, "Standard error, lb/ac");
  std::size_t i = 0;
  while (!error.has_value(i)) ++i;
  // 1 t/ha is 892.18 lb/ac (1 lb = 0.45359237 kg, 1 ac = 4046.8564 m2; NIST SP 811, appendix B.8).
  EXPECT_NEAR(raster.raster.values[i], 892.18 * error.values[i], 0.01);
}

TEST(CropSheets, StretchTheClassesToTheUnitOfTheValues) {
  const MapResources r = find_map_resources();
  const Style yield = crop_value_style(9, CropSense::low_is_bad, r);
  EXPECT_NEAR(yield.colour_map->stops[1].value, 0.7 * 9, 1e-9);
  const Style index = read_style(r.styles / "crop_index.sld");
  const Style warm = crop_value_style(30, CropSense::high_is_bad, r);
  // 31 over a median of 30 is an index of 0.968, the class below 0.97.
  const Colour hot = warm.colour_map->at(31);
  const Colour low = index.colour_map->at(30.0 / 31);
  EXPECT_DOUBLE_EQ(hot.red, low.red);
  EXPECT_DOUBLE_EQ(hot.blue, low.blue);
}

}  // namespace
}  // namespace evendrip
