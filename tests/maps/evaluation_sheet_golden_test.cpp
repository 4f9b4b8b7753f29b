// SPDX-License-Identifier: Apache-2.0
// The evaluation sheet at a small size against a kept picture.
#include <gtest/gtest.h>

#include "golden_picture.hpp"
#include "made_evaluation_sheet.hpp"

namespace evendrip {
namespace {

TEST(GoldenEvaluationSheet, OfTwoZones) {
  const auto file = example::output("golden_evaluation.png");
  draw_evaluation_png(example::made_sheet(), find_map_resources(), file, 50);
  golden::expect_same_picture(file, "evaluation");
}

}  // namespace
}  // namespace evendrip
