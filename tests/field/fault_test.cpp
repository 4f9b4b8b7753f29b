// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/fault.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(FaultKind, IsToldByName) {
  EXPECT_EQ(to_text(FaultKind::shut), "shut");
  EXPECT_EQ(to_text(FaultKind::pinch), "pinch");
  EXPECT_EQ(to_text(FaultKind::cut), "cut");
}

}  // namespace
}  // namespace evendrip
