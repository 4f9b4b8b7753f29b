// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include "evendrip/base/error.hpp"
#include "example_field.hpp"

namespace evendrip {
namespace {

using example::bytes_of;
using example::output;

TEST(WriteStyle, WritesWhatIsReadBackToTheSameFile) {
  const auto styles = find_map_resources().styles;
  for (const char* name : {"discharge", "relative_discharge", "crop", "findings", "laterals",
                           "zones", "emitters", "hazards"}) {
    const auto once = output("once.sld"), twice = output("twice.sld");
    const Style original = read_style(styles / (std::string(name) + ".sld"));
    write_style(original, once);
    const Style again = read_style(once);
    write_style(again, twice);
    EXPECT_EQ(bytes_of(once), bytes_of(twice)) << name;
    EXPECT_EQ(again.name, original.name);
    EXPECT_EQ(again.title, original.title);
    ASSERT_EQ(again.rules.size(), original.rules.size()) << name;
    for (std::size_t i = 0; i < again.rules.size(); ++i) {
      EXPECT_EQ(again.rules[i].equals, original.rules[i].equals);
      EXPECT_EQ(again.rules[i].title, original.rules[i].title);
      EXPECT_EQ(again.rules[i].fill.has_value(), original.rules[i].fill.has_value());
      EXPECT_EQ(again.rules[i].mark.has_value(), original.rules[i].mark.has_value());
    }
  }
}

TEST(WriteStyle, KeepsTheStretchedStopsExactly) {
  const Style ramp = read_style(find_map_resources().styles / "discharge.sld");
  const Style stretched = rescaled(ramp, 0.73, 1.91);
  const auto file = output("stretched.sld");
  write_style(stretched, file);
  const Style back = read_style(file);
  ASSERT_EQ(back.colour_map->stops.size(), stretched.colour_map->stops.size());
  for (std::size_t i = 0; i < back.colour_map->stops.size(); ++i) {
    EXPECT_EQ(back.colour_map->stops[i].value, stretched.colour_map->stops[i].value);
  }
  EXPECT_DOUBLE_EQ(back.colour_map->stops.front().value, 0.73);
  EXPECT_DOUBLE_EQ(back.colour_map->stops.back().value, 1.91);
}

TEST(WriteStyle, EscapesMarkupInTitles) {
  Style style;
  style.name = "a<b";
  style.title = "wet & \"dry\"";
  style.rules.push_back({});
  style.rules[0].line = StrokeStyle{};
  write_style(style, output("escaped.sld"));
  const Style back = read_style(output("escaped.sld"));
  EXPECT_EQ(back.name, style.name);
  EXPECT_EQ(back.title, style.title);
}

TEST(WriteStyle, FailsWhereNothingCanBeWritten) {
  EXPECT_THROW(write_style({}, output("no_folder") / "x.sld"), FileError);
}

}  // namespace
}  // namespace evendrip
