// SPDX-License-Identifier: Apache-2.0
// The rate of application against a published worked number.
#include "evendrip/uniformity/schedule.hpp"

#include <gtest/gtest.h>

#include <vector>

#include "evendrip/units/quantity.hpp"

namespace evendrip {
namespace {

// University of California, drip emitter evaluation of a vineyard: emitters of 0.48 gph on the
// mean, two a vine, vines 7 ft by 11 ft; gallons a day = square feet x inches a day x 0.623. Worked
// with the rounded 0.623: 0.96/(77 x 0.623) = 0.02001 in/h, 0.508 mm/h. The rounding of 0.623 is
// worth up to 0.0005/0.623 of it, that of the print half a unit of its last figure.
TEST(ScheduleReference, RateOfTheVineyardOfTheUniversityOfCalifornia) {
  const double mean_lph = parse_quantity("0.48 gph", Dimension::discharge);
  ScheduleFacts facts;
  facts.emitter_ground_m2 = 10'000 * parse_quantity("77 ft2", Dimension::area) / 2;
  facts.set_time_s = 24 * 3600;
  const Schedule schedule = schedule_of(depth_result(std::vector<double>(36, mean_lph), {}), facts);
  ASSERT_TRUE(schedule.rate_mm_h && schedule.set_depth_mm);
  EXPECT_NEAR(from_canonical(*schedule.rate_mm_h, "in/h", Dimension::depth_rate), 0.02001,
              0.02001 * 0.0005 / 0.623 + 5e-6);
  EXPECT_NEAR(*schedule.rate_mm_h, 0.508, 5e-4);
  // 24 hours of it over the ground of a vine are its gallons: 0.96 x 24.
  EXPECT_NEAR(77 * from_canonical(*schedule.set_depth_mm, "in", Dimension::depth) * 0.623,
              0.96 * 24, 0.02);
}

}  // namespace
}  // namespace evendrip
