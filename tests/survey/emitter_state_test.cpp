// SPDX-License-Identifier: Apache-2.0
#include "evendrip/survey/survey.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(EmitterState, ComesBackFromItsWord) {
  for (const EmitterState state :
       {EmitterState::runs, EmitterState::drips, EmitterState::none, EmitterState::dug_damage,
        EmitterState::leak, EmitterState::not_found}) {
    EXPECT_EQ(emitter_state_of(to_text(state)), state);
  }
}

TEST(EmitterState, IsReadInAnyLetterCaseAndNotGuessed) {
  EXPECT_EQ(emitter_state_of("Not_Found"), EmitterState::not_found);
  EXPECT_FALSE(emitter_state_of("plugged").has_value());
  EXPECT_FALSE(emitter_state_of("").has_value());
}

}  // namespace
}  // namespace evendrip
