// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/agronomy.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "evendrip/field/field.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::all_text;
using testing::entry;
using testing::FieldFolder;

/// As stated, after read_field found nothing to mend.
Watering watering_of(const std::string& sections) {
  const auto folder = FieldFolder().add(sections).write();
  const Field field = read_field(folder);
  EXPECT_TRUE(field.doubts.empty()) << all_text(field.doubts);
  return read_watering(folder);
}

TEST(Agronomy, IsReadInAnyUnit) {
  const Watering watering = watering_of(
      "[irrigation]\nset_time = \"8 h\"\ninterval = \"3 d\"\npulses = 2\nbegan = 2026-06-10\n"
      "season_depth = \"20 in\"\nseason_net_need_mm = 450\n"
      "[agronomy]\nemitters_per_root_zone = 3\n");
  EXPECT_EQ(watering.irrigation.set_time_s, 28800);
  EXPECT_EQ(watering.irrigation.interval_s, 259200);
  EXPECT_EQ(watering.irrigation.pulses, 2);
  EXPECT_EQ(watering.irrigation.began, "2026-06-10");
  EXPECT_DOUBLE_EQ(watering.irrigation.season_depth_mm.value(), 508);
  EXPECT_EQ(watering.irrigation.season_net_need_mm, 450);
  EXPECT_EQ(watering.agronomy.emitters_per_root_zone, 3);
}

TEST(Agronomy, IsNothingWhereNothingIsStated) {
  const Watering watering = watering_of("");
  EXPECT_FALSE(watering.irrigation.set_time_s || watering.irrigation.season_net_need_mm);
  EXPECT_EQ(watering.agronomy.emitters_per_root_zone, 0);
}

TEST(Agronomy, TakesTheNeedFromTheSeasonsWaterBalanceUnlessItIsStated) {
  const std::string balance =
      "[agronomy]\nseason_et = \"620 mm\"\nseason_effective_rain = \"140 mm\"\n";
  EXPECT_EQ(watering_of(balance).irrigation.season_net_need_mm, 480);
  EXPECT_EQ(watering_of(balance + "[irrigation]\nseason_net_need = \"500 mm\"\n")
                .irrigation.season_net_need_mm,
            500);
}

TEST(Agronomy, RefusesWhatCannotBeAndAsksAboutWhatIsUnlikely) {
  const Field wrong = read_field(FieldFolder()
                                     .add("[irrigation]\npulses = 0\nset_tme = \"8 h\"\n"
                                          "[agronomy]\nemitters_per_root_zone = 0\n")
                                     .write());
  EXPECT_EQ(testing::count(wrong.doubts, "out_of_range"), 2) << all_text(wrong.doubts);
  EXPECT_EQ(entry(wrong.doubts, "unknown_key").expected, "set_time");
  const Field odd = read_field(FieldFolder().add("[irrigation]\nset_time = \"20 d\"\n").write());
  EXPECT_FALSE(has_problem(odd.doubts)) << all_text(odd.doubts);
  EXPECT_EQ(odd.doubts.size(), 1U) << all_text(odd.doubts);
}

TEST(Agronomy, NamesTheKeysThatNothingReads) {
  const Field field = read_field(
      FieldFolder()
          .add("[irrigation]\ninterval = \"2 d\"\n"
               "[agronomy]\ncrop = \"maize\"\nrow_spacing = \"0.75 m\"\nplanting = 2026-04-20\n")
          .write());
  EXPECT_TRUE(field.doubts.empty()) << all_text(field.doubts);
  EXPECT_EQ(std::count(field.not_computed.begin(), field.not_computed.end(),
                       "[irrigation] interval is read by no part of this version"),
            1);
  for (const char* key : {"crop", "row_spacing", "planting"}) {
    EXPECT_EQ(std::count(field.not_computed.begin(), field.not_computed.end(),
                         "[agronomy] " + std::string(key) + " is read by no part of this version"),
              1)
        << key;
  }
}

TEST(Agronomy, ReadsImplementWidthsAndRefusesImpossibleOnes) {
  FieldFolder folder;
  folder.add("[agronomy]\nimplement_widths = [\"9 m\", \"30 ft\"]\n");
  EXPECT_FALSE(has_problem(read_field(folder.write()).doubts));
  const auto widths_m = read_watering(folder.write()).agronomy.implement_widths_m;
  ASSERT_EQ(widths_m.size(), 2U);
  EXPECT_DOUBLE_EQ(widths_m[0], 9);
  EXPECT_NEAR(widths_m[1], 9.144, 1e-9);
  const Field wrong =
      read_field(FieldFolder().add("[agronomy]\nimplement_widths = [\"900 m\"]\n").write());
  EXPECT_EQ(entry(wrong.doubts, "out_of_range").found, "900 m");
}

}  // namespace
}  // namespace evendrip
