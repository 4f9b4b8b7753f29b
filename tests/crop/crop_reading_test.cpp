// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/crop_reading.hpp"

#include "invented_field.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>

#include <fmt/format.h>

namespace evendrip {
namespace {

using invented::crop_file;
using invented::small_field;
using invented::small_grid;
using invented::south;
using invented::west;

/// A log of ten passes of 4 m, up and down; a yield that falls from west to east with a little
/// unevenness, and one record that cannot be.
std::string log_text() {
  std::string text = "x,y,yield_t_ha,swath_m,time_s\n";
  int time_s = 0;
  for (int pass = 0; pass < 10; ++pass) {
    for (int i = 0; i < 30; ++i) {
      const double north = pass % 2 == 0 ? i + 0.5 : 29.5 - i;
      const double yield = pass == 4 && i == 15 ? 90 : 10 - 0.1 * pass + 0.05 * std::sin(3.0 * i);
      text += fmt::format("{},{},{:.3f},4,{}\n", west + 2 + 4 * pass, south + north, yield, time_s);
      ++time_s;
    }
    time_s += 30;
  }
  return text;
}

TEST(ReadCrop, CleansALogAndMapsWhatIsKept) {
  const Field field = small_field();
  CropSource source = crop_file("reading_log.csv", "yield", log_text());
  source.cleaning.travel_time_s = 0;  // the records are right
  const CropReading reading = read_crop(field, source, small_grid(2), {});
  ASSERT_TRUE(reading.harvest);
  EXPECT_FALSE(reading.index);
  EXPECT_EQ(reading.harvest->log.size(), 300U);
  const std::size_t kept = reading.harvest->cleaned.kept();
  EXPECT_LT(kept, 300U);
  EXPECT_GT(kept, 150U);
  EXPECT_NE(reading.harvest->cleaned.step[4 * 30 + 15], SetAside::kept);
  EXPECT_EQ(reading.layer.unit, "t/ha");
  const Grid grid = small_grid(2);
  const Raster yield = reading.layer.values->read({0, 0, grid.rows, grid.columns});
  for (std::size_t i = 0; i < yield.values.size(); ++i) {
    ASSERT_TRUE(yield.has_value(i));
    const double pass = (grid.centre(0, static_cast<int>(i) % grid.columns).x - west - 2) / 4;
    EXPECT_NEAR(yield.values[i], 10 - 0.1 * pass, 0.2);
    EXPECT_GE(reading.harvest->map.standard_error.values[i], 0);
  }
  EXPECT_NEAR(reading.layer.median, 9.55, 0.1);
}

TEST(ReadCrop, RefusesALogOfWhichNothingIsLeft) {
  CropSource source = crop_file("reading_nothing.csv", "yield", log_text());
  source.cleaning.least_yield_t_ha = 500;
  source.cleaning.most_yield_t_ha = 600;
  try {
    read_crop(small_field(), source, small_grid(2), {});
    FAIL() << "nothing was refused";
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().front().code, "crop_without_values");
    EXPECT_NE(error.problems().front().text.find("most by the step \"impossible yield\""),
              std::string::npos)
        << error.problems().front().text;
    EXPECT_NE(error.problems().front().text.back(), '.');
  }
}

TEST(ReadCrop, GridsOtherPointsAsTheyStand) {
  const CropSource source = crop_file("reading_points.csv", "biomass",
                                      "x,y,biomass\n500010,4400010,0.6\n500030,4400020,0.8\n");
  const CropReading reading = read_crop(small_field(), source, small_grid(2), {});
  EXPECT_FALSE(reading.harvest);
  EXPECT_FALSE(reading.index);
  EXPECT_NE(reading.layer.method_text.find("inverse squared distance"), std::string::npos);
}

TEST(IsHarvestLog, IsYieldAtPointsOrTaskData) {
  CropSource source = crop_file("reading_kind.csv", "yield", "x,y,yield_t_ha\n");
  EXPECT_TRUE(is_harvest_log(source));
  source.kind = "biomass";
  EXPECT_FALSE(is_harvest_log(source));
  CropSource task = source;
  task.kind = "yield";
  task.file.path = source.file.path.parent_path() / "reading_task";
  std::filesystem::create_directories(task.file.path);
  std::ofstream(task.file.path / "TASKDATA.XML") << "<ISO11783_TaskData/>\n";
  EXPECT_TRUE(is_harvest_log(task));
  task.file = {"yield.tif", "", "yield.tif"};
  EXPECT_FALSE(is_harvest_log(task));
}

}  // namespace
}  // namespace evendrip
