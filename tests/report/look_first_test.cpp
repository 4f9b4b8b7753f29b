// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/look_first.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <sstream>

#include "made_crop.hpp"

namespace evendrip {
namespace {

using test::made_crop;
using test::small_field;
using testing::HasSubstr;
using testing::Not;

std::string unwrapped(const std::string& text) {
  std::istringstream words(text);
  std::string out;
  for (std::string word; words >> word;) out += (out.empty() ? "" : " ") + word;
  return out;
}

TEST(LookFirst, SaysWhyAShapeIsNotTold) {
  const HeardCrop heard = made_crop(small_field("look_first_why"));
  CropScreening screening = heard.layers.front().screening;
  ASSERT_EQ(screening.patches.back().shape, PatchShape::not_told);
  EXPECT_THAT(unwrapped(look_first_text(heard.field, screening)), HasSubstr("(shape not told)."));
  screening.patches.back().at_field_limit = true;
  EXPECT_THAT(unwrapped(look_first_text(heard.field, screening)),
              HasSubstr("(shape not told: beside a limit of the field)."));
  screening.patches.back().runs_with_passes = true;
  EXPECT_THAT(unwrapped(look_first_text(heard.field, screening)),
              HasSubstr("(shape not told: beside a limit of the field and along passes of a "
                        "machine)."));
  const auto list = look_first_json(heard.field, screening.patches);
  ASSERT_EQ(list.size(), screening.patches.size());
  for (std::size_t i = 0; i < list.size(); ++i) {
    EXPECT_EQ(list[i]["at_field_limit"], i + 1 == list.size()) << i;
    EXPECT_EQ(list[i]["runs_with_passes"], i + 1 == list.size()) << i;
  }
}

TEST(LookFirst, ListsADozenPlacesAndCountsTheOthers) {
  const HeardCrop heard = made_crop(small_field("look_first_many"));
  CropScreening screening = heard.layers.front().screening;
  screening.patches.assign(12, screening.patches.front());
  EXPECT_THAT(look_first_text(heard.field, screening), Not(HasSubstr("in the tables")));
  screening.patches.assign(15, screening.patches.front());
  const std::string text = look_first_text(heard.field, screening);
  EXPECT_THAT(text, HasSubstr("12. Zone"));
  EXPECT_THAT(text, Not(HasSubstr("13. Zone")));
  EXPECT_THAT(text, HasSubstr("and 3 more, in the tables."));
}

}  // namespace
}  // namespace evendrip
