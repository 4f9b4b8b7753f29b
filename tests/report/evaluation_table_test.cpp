// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>

#include "evendrip/report/evaluation.hpp"
#include "made_evaluation.hpp"

namespace evendrip {
namespace {

const EvaluationRow* row_of(const EvaluationTable& table, const std::string& label) {
  const auto found = std::find_if(table.rows.begin(), table.rows.end(),
                                  [&](const auto& row) { return row.label.rfind(label, 0) == 0; });
  return found == table.rows.end() ? nullptr : &*found;
}

TEST(EvaluationTable, HasACellForEachPartInEveryRow) {
  const Evaluation e = test::evaluation_of(test::small_field("table_cells"));
  const EvaluationTable table = evaluation_table(e, {&e.whole, &e.zones[0], &e.zones[1]});
  EXPECT_EQ(table.columns, (std::vector<std::string>{"Field, by area", "Zone Z1", "Zone Z2"}));
  for (const EvaluationRow& row : table.rows) {
    EXPECT_TRUE(row.cells.empty() || row.cells.size() == 3) << row.label;
    for (const std::string& cell : row.cells) {
      EXPECT_EQ(cell.find("nan"), std::string::npos) << row.label;
      EXPECT_EQ(cell.find("inf"), std::string::npos) << row.label;
    }
  }
}

TEST(EvaluationTable, TellsFiguresThatCanBeWorkedOutByHand) {
  // Twelve emitters: quarter of three (0.4, 0.6, 0.8), mean 0.9.
  const Evaluation e =
      test::evaluation_with("table_hand", {{0.4, 1, 1, 1}, {0.6, 1, 1, 1}, {0.8, 1, 1, 1}});
  const EvaluationTable table = evaluation_table(e, {&e.zones[0]});
  const EvaluationRow* mean = row_of(table, "Mean discharge, L/h");
  ASSERT_NE(mean, nullptr);
  EXPECT_EQ(mean->cells[0].substr(0, 4), "0.90");
  const EvaluationRow* quarter = row_of(table, "Low-quarter distribution uniformity");
  ASSERT_NE(quarter, nullptr);
  EXPECT_EQ(quarter->cells[0].substr(0, 4), "67 %");
  EXPECT_EQ(row_of(table, "Flow variation")->cells[0], "60 %");
  EXPECT_EQ(row_of(table, "Plugged of those measured")->cells[0], "0 of 12");
}

TEST(EvaluationTable, SpeaksInTheReportUnitsOfTheField) {
  Evaluation e = test::evaluation_with("table_us", {{1, 1.2}, {1, 0.8}});
  e.field.report_units = UnitSystem::us;
  const EvaluationTable table = evaluation_table(e, {&e.zones[0]});
  const EvaluationRow* mean = row_of(table, "Mean discharge, gph");
  // 1 L/h is 0.264172 US gallons an hour (exact definition of the gallon).
  ASSERT_NE(mean, nullptr);
  EXPECT_EQ(mean->cells[0].substr(0, 5), "0.264");
}

TEST(EvaluationTable, TellsNoCostsFromOneEmitterAlone) {
  const Evaluation e = test::evaluation_with("table_one", {{0.9}});
  const EvaluationTable table = evaluation_table(e, {&e.zones[0]});
  EXPECT_EQ(row_of(table, "Depth over need"), nullptr);
}

TEST(EvaluationTable, LeavesOutWhatNothingIsKnownOf) {
  const Evaluation e = test::evaluation_with("table_zero", {{0, 0}, {0, 0}});
  const EvaluationTable table = evaluation_table(e, {&e.zones[0]});
  EXPECT_EQ(row_of(table, "Low-quarter distribution uniformity"), nullptr);
  EXPECT_EQ(row_of(table, "Plants"), nullptr);
  EXPECT_EQ(row_of(table, "Plugged of those measured")->cells[0], "4 of 4");
}

}  // namespace
}  // namespace evendrip
