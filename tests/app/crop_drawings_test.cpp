// SPDX-License-Identifier: Apache-2.0
#include "../../src/app/crop_drawings.hpp"

#include "evendrip/maps/style.hpp"

#include "made_crop.hpp"
#include "own_folder.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(DrawHeard, LaysDownEverySheetAndPlotOfEveryLayer) {
  const HeardCrop heard = test::made_crop(test::small_field("crop_drawings_field"));
  const auto folder = test::fresh_folder();
  EXPECT_TRUE(draw_heard(heard, folder, {}).empty());
  for (const char* sheet : {"crop_2025-yield", "water_part_2025-yield", "look_first_2025-yield",
                            "records_2025-yield", "standard_error_2025-yield", "crop_warm",
                            "look_first_warm", "stability_level", "stability_variation"}) {
    for (const char* ending : {".png", ".pdf"}) {
      EXPECT_TRUE(std::filesystem::exists(folder / "sheets" / (std::string(sheet) + ending)))
          << sheet;
    }
  }
  for (const char* plot : {"travel_time_2025-yield", "variogram_2025-yield",
                           "profile_2025-yield_Z1", "profile_2025-yield_Z2"}) {
    EXPECT_TRUE(std::filesystem::exists(folder / "sheets" / (std::string(plot) + ".png"))) << plot;
  }
  EXPECT_FALSE(std::filesystem::exists(folder / "sheets" / "records_warm.png"));
  for (const char* style :
       {"crop_2025-yield", "water_part_warm", "patches", "yield_records", "stability"}) {
    EXPECT_NO_THROW(read_style(folder / (std::string(style) + ".sld"))) << style;
  }
}

TEST(DrawHeard, StopsWhenAsked) {
  const HeardCrop heard = test::made_crop(test::small_field("crop_drawings_stop_field"));
  const auto folder = test::fresh_folder();
  std::stop_source stop;
  stop.request_stop();
  Work work;
  work.stop = stop.get_token();
  EXPECT_THROW(draw_heard(heard, folder, work), Interrupted);
}

}  // namespace
}  // namespace evendrip
