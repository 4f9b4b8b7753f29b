// SPDX-License-Identifier: Apache-2.0
// Values of a quantity that several elements of a device log (ISO 11783-10, types of device
// elements from memory: 1 device, 2 function, 4 section, 5 unit).
#include "../../src/crop/logged_quantity.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>
#include <vector>

namespace evendrip {
namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();
constexpr int mass_flow = 87;

struct Column {
  std::string element;
  int type = 0;
  std::string device;
  std::vector<double> values;
};

TimeLog log_of(const std::vector<Column>& columns) {
  TimeLog log;
  const std::size_t records = columns.front().values.size();
  log.time_s.assign(records, 0);
  for (const Column& column : columns)
    log.quantities.push_back({mass_flow, column.element, column.type, column.device, ""});
  for (std::size_t r = 0; r < records; ++r)
    for (const Column& column : columns) log.values.push_back(column.values[r]);
  return log;
}

TEST(ElementValues, OfSectionsAddUpOrMakeAMean) {
  const TimeLog log =
      log_of({{"DET-3", 4, "A", {1, 2, 0, none}}, {"DET-4", 4, "A", {3, none, 0, none}}});
  const ElementValues values(log, mass_flow);
  EXPECT_EQ(values.parts(), 2U);
  EXPECT_EQ(values.sum(0), 4);
  EXPECT_EQ(values.mean(0), 2);
  EXPECT_EQ(values.sum(1), 2);
  EXPECT_TRUE(std::isnan(values.sum(3)));
  EXPECT_TRUE(std::isnan(values.mean(3)));
  EXPECT_FALSE(values.all_zero(0));
  EXPECT_TRUE(values.all_zero(2));
  EXPECT_FALSE(values.all_zero(3));
  EXPECT_EQ(values.part_of("DET-4"), 1U);
  EXPECT_EQ(values.part_of("DET-9"), 2U);
  EXPECT_EQ(values.not_described(), 0U);
}

TEST(ElementValues, OfTheWholeMachineAreNotAddedToThoseOfItsSections) {
  const TimeLog log =
      log_of({{"DET-3", 4, "A", {1, 2}}, {"DET-4", 4, "A", {3, 4}}, {"DET-1", 2, "A", {4, none}}});
  const ElementValues values(log, mass_flow);
  ASSERT_EQ(values.parts(), 1U);
  EXPECT_EQ(values.sum(0), 4);
  EXPECT_EQ(values.description().device_element, "DET-1");
}

TEST(ElementValues, OfElementsNotDescribedCountOnceAndAreTold) {
  const TimeLog log = log_of({{"DET-3", 0, "", {1, none}}, {"DET-4", 0, "", {3, 4}}});
  const ElementValues values(log, mass_flow);
  ASSERT_EQ(values.parts(), 1U);
  EXPECT_EQ(values.sum(0), 3);
  EXPECT_EQ(values.not_described(), 2U);
}

TEST(ElementValues, AreOfOneDeviceAndNameTheOthers) {
  const TimeLog log = log_of({{"DET-1", 2, "A", {1, none}}, {"DET-5", 2, "B", {3, 4}}});
  const ElementValues values(log, mass_flow);
  EXPECT_EQ(values.sum(0), 3);
  EXPECT_EQ(values.left_out(), (std::vector<std::string>{"A"}));
  EXPECT_EQ(ElementValues(log, mass_flow, "A").sum(0), 1);
  EXPECT_EQ(ElementValues(log, mass_flow, "C").sum(0), 3);
}

TEST(ElementValues, AreNotThereWithoutAnyValue) {
  const TimeLog log = log_of({{"DET-1", 2, "A", {none, none}}});
  const ElementValues values(log, mass_flow);
  EXPECT_FALSE(values.there());
  EXPECT_TRUE(std::isnan(values.sum(0)));
  EXPECT_FALSE(values.all_zero(0));
}

}  // namespace
}  // namespace evendrip
