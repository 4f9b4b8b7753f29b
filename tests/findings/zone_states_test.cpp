// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/zone_states.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numeric>
#include <set>
#include <vector>

namespace evendrip {
namespace {

constexpr double sharp_sd = 0.015;

Change change(Evidence evidence, double share, double sd = sharp_sd) {
  Change made;
  made.evidence = evidence;
  made.change = share;
  made.sd = sd;
  made.instrument_sd = sd;
  return made;
}

double belief_in(ScreenedState state, const std::vector<StateBelief>& beliefs) {
  for (const StateBelief& belief : beliefs) {
    if (belief.state == state) return belief.probability;
  }
  return -1;
}

struct TableRow {
  ScreenedState state;
  std::vector<Change> changes;
};

/// The rows of "what gauge and meter changes mean" (from memory): flow, zone inlet, far end, and
/// the filter or main gauges where the row names them.
std::vector<TableRow> rows() {
  using E = Evidence;
  return {
      {ScreenedState::clogging,
       {change(E::flow_as_metered, -0.12), change(E::zone_inlet, 0.03),
        change(E::far_end_as_read, 0.04)}},
      {ScreenedState::filter_blocked,
       {change(E::flow_as_metered, -0.12), change(E::before_filter, 0.12),
        change(E::after_filter, -0.15), change(E::far_end_as_read, -0.15)}},
      {ScreenedState::supply_fault,
       {change(E::flow_as_metered, -0.10), change(E::zone_inlet, -0.2),
        change(E::far_end_as_read, -0.2)}},
      {ScreenedState::leak,
       {change(E::flow_as_metered, 0.2), change(E::zone_inlet, -0.12),
        change(E::far_end_as_read, -0.25)}},
      {ScreenedState::wear,
       {change(E::flow_as_metered, 0.09), change(E::zone_inlet, -0.01),
        change(E::far_end_as_read, -0.06)}},
      {ScreenedState::main_pinched,
       {change(E::flow_as_metered, -0.15), change(E::zone_inlet, 0.06),
        change(E::far_end_as_read, -0.25)}},
      {ScreenedState::regulator_high,
       {change(E::flow_as_metered, 0.12), change(E::zone_inlet, 0.25),
        change(E::far_end_as_read, 0.25)}},
      {ScreenedState::local_break,
       {change(E::flow_as_metered, 0.0), change(E::zone_inlet, 0.0),
        change(E::far_end_as_read, -0.4)}},
      {ScreenedState::leak_behind_regulator,
       {change(E::flow_as_metered, 0.25), change(E::zone_inlet, 0.0),
        change(E::far_end_as_read, -0.2)}},
  };
}

TEST(ZoneStates, EveryRowOfTheTableGivesItsState) {
  for (const TableRow& row : rows()) {
    const auto beliefs = state_beliefs(row.changes);
    EXPECT_EQ(beliefs.front().state, row.state) << to_text(row.state);
    EXPECT_GT(beliefs.front().probability, 0.5) << to_text(row.state);
  }
}

TEST(ZoneStates, EveryRowGivesItsStateAlsoWithFlowCorrectedForPressure) {
  using E = Evidence;
  const std::vector<TableRow> corrected{
      {ScreenedState::clogging,
       {change(E::flow_at_pressure, -0.14), change(E::zone_inlet, 0.03),
        change(E::far_end_at_inlet, 0.03)}},
      {ScreenedState::filter_blocked,
       {change(E::flow_at_pressure, 0.0), change(E::before_filter, 0.12),
        change(E::after_filter, -0.15), change(E::zone_inlet, -0.2),
        change(E::far_end_at_inlet, 0.0)}},
      {ScreenedState::supply_fault,
       {change(E::flow_at_pressure, 0.0), change(E::before_filter, -0.2),
        change(E::zone_inlet, -0.2), change(E::far_end_at_inlet, 0.0)}},
      {ScreenedState::main_pinched,
       {change(E::flow_at_pressure, 0.0), change(E::before_valve, 0.06),
        change(E::zone_inlet, -0.2), change(E::far_end_at_inlet, 0.0)}},
      {ScreenedState::main_pinched,
       {change(E::flow_at_pressure, -0.15), change(E::zone_inlet, 0.04),
        change(E::far_end_at_inlet, -0.25)}},
      {ScreenedState::regulator_high,
       {change(E::flow_at_pressure, 0.0), change(E::zone_inlet, 0.25),
        change(E::far_end_at_inlet, 0.0)}},
      {ScreenedState::leak,
       {change(E::flow_at_pressure, 0.25), change(E::zone_inlet, -0.12),
        change(E::far_end_at_inlet, -0.15)}},
      {ScreenedState::local_break,
       {change(E::flow_at_pressure, 0.0), change(E::zone_inlet, 0.0),
        change(E::far_end_at_inlet, 0.0), change(E::weakest_end, -0.5)}},
  };
  for (const TableRow& row : corrected) {
    EXPECT_EQ(state_beliefs(row.changes).front().state, row.state) << to_text(row.state);
  }
}

// "Flow down, all else as it was: clogging, or a worn meter: time a known volume first" (from
// memory).
TEST(ZoneStates, FlowDownAloneIsCloggingOrAWornMeter) {
  using E = Evidence;
  std::vector<Change> changes{change(E::flow_at_pressure, -0.15), change(E::zone_inlet, 0.0)};
  const auto few = state_beliefs(changes);
  EXPECT_EQ(few[0].state, ScreenedState::clogging);
  EXPECT_EQ(few[1].state, ScreenedState::meter_worn);
  EXPECT_GT(few[0].probability + few[1].probability, 0.75);
  for (const E evidence :
       {E::before_filter, E::after_filter, E::before_valve, E::far_end_at_inlet}) {
    changes.push_back(change(evidence, 0.0, 0.005));
  }
  const auto many = state_beliefs(changes);
  EXPECT_GT(many[0].probability + many[1].probability, 0.9);
  EXPECT_GT(belief_in(ScreenedState::meter_worn, many), belief_in(ScreenedState::meter_worn, few));
  EXPECT_THAT(first_check(ScreenedState::clogging), ::testing::StartsWith("Time a known volume"));
}

TEST(ZoneStates, AFlowThatIsMultipliedIsALeak) {
  using E = Evidence;
  const std::vector<Change> changes{change(E::flow_at_pressure, 2.7, 0.08),
                                    change(E::zone_inlet, -0.15),
                                    change(E::far_end_at_inlet, -0.2)};
  EXPECT_EQ(state_beliefs(changes).front().state, ScreenedState::leak);
}

TEST(ZoneStates, NothingChangedIsSound) {
  using E = Evidence;
  const std::vector<Change> changes{change(E::flow_at_pressure, 0.0), change(E::zone_inlet, 0.0),
                                    change(E::far_end_at_inlet, 0.0), change(E::weakest_end, 0.0)};
  const auto beliefs = state_beliefs(changes);
  EXPECT_EQ(beliefs.front().state, ScreenedState::sound);
  EXPECT_GT(beliefs.front().probability, 0.9);
}

TEST(ZoneStates, ProbabilitiesSumToOneAndFall) {
  std::vector<std::vector<Change>> cases{{}};
  for (const TableRow& row : rows()) cases.push_back(row.changes);
  cases.push_back({change(Evidence::flow_as_metered, 40), change(Evidence::zone_inlet, -0.99)});
  for (const auto& changes : cases) {
    const auto beliefs = state_beliefs(changes);
    ASSERT_EQ(beliefs.size(), static_cast<std::size_t>(zone_states));
    double sum = 0;
    std::set<ScreenedState> seen;
    for (std::size_t i = 0; i < beliefs.size(); ++i) {
      sum += beliefs[i].probability;
      seen.insert(beliefs[i].state);
      if (i > 0) {
        EXPECT_LE(beliefs[i].probability, beliefs[i - 1].probability);
      }
    }
    EXPECT_NEAR(sum, 1, 1e-12);
    EXPECT_EQ(seen.size(), beliefs.size());
  }
}

TEST(ZoneStates, WithoutEvidenceThePriorStands) {
  double sum = 0;
  for (const StateBelief& belief : state_beliefs({})) {
    EXPECT_NEAR(belief.probability, prior_share(belief.state), 1e-12);
    sum += prior_share(belief.state);
  }
  EXPECT_NEAR(sum, 1, 1e-12);
}

TEST(ZoneStates, MoreInstrumentErrorMakesLessSure) {
  for (const TableRow& row : rows()) {
    double before = 1;
    for (const double sd : {0.02, 0.08, 0.2, 0.5}) {
      std::vector<Change> blurred = row.changes;
      for (Change& one : blurred) one.sd = sd;
      const double belief = belief_in(row.state, state_beliefs(blurred));
      EXPECT_LT(belief, before) << to_text(row.state) << " at " << sd;
      before = belief;
    }
  }
}

TEST(ZoneStates, AGaugeThatWasNotReadOrHasNoNumberDropsOut) {
  std::vector<Change> changes{change(Evidence::flow_at_pressure, -0.2)};
  const auto without = state_beliefs(changes);
  changes.push_back(change(Evidence::zone_inlet, std::numeric_limits<double>::quiet_NaN()));
  const auto with = state_beliefs(changes);
  for (const StateBelief& belief : without) {
    EXPECT_EQ(belief.probability, belief_in(belief.state, with));
  }
}

TEST(ZoneStates, OrderOfTheEvidenceDoesNotMatter) {
  for (const TableRow& row : rows()) {
    const auto forward = state_beliefs(row.changes);
    const std::vector<Change> turned(row.changes.rbegin(), row.changes.rend());
    for (const StateBelief& belief : state_beliefs(turned)) {
      EXPECT_NEAR(belief.probability, belief_in(belief.state, forward), 1e-12);
    }
  }
}

TEST(ZoneStates, AStateExplainsTheChangesOfItsRow) {
  EXPECT_TRUE(explains(ScreenedState::clogging, Evidence::flow_at_pressure, -0.2));
  EXPECT_FALSE(explains(ScreenedState::clogging, Evidence::flow_at_pressure, 0.2));
  EXPECT_FALSE(explains(ScreenedState::local_break, Evidence::flow_at_pressure, -0.2));
  EXPECT_TRUE(explains(ScreenedState::local_break, Evidence::weakest_end, -0.5));
  EXPECT_FALSE(explains(ScreenedState::sound, Evidence::zone_inlet, 0.1));
}

TEST(ZoneStates, TheDecidingReadingIsOneThatWasNotTakenAndTellsTheStatesApart) {
  const std::vector<Change> flow_alone{change(Evidence::flow_as_metered, -0.3)};
  EXPECT_EQ(deciding_evidence(ScreenedState::clogging, ScreenedState::supply_fault, flow_alone),
            Evidence::zone_inlet);
  std::vector<Change> all;
  for (int i = 0; i < evidence_kinds; ++i) all.push_back(change(static_cast<Evidence>(i), 0));
  EXPECT_FALSE(deciding_evidence(ScreenedState::clogging, ScreenedState::supply_fault, all));
  EXPECT_FALSE(deciding_evidence(ScreenedState::leak, ScreenedState::leak, flow_alone));
}

TEST(ZoneStates, EveryCheckThatOpensOrDigsBearsItsCaution) {
  for (int i = 1; i < zone_states; ++i) {
    const std::string check = first_check(static_cast<ScreenedState>(i));
    EXPECT_THAT(check, ::testing::AnyOf(::testing::HasSubstr("pressure before"),
                                        ::testing::HasSubstr("utilities located"),
                                        ::testing::HasSubstr("lock the power off"),
                                        ::testing::HasSubstr("Relieve the pressure")))
        << check;
  }
}

}  // namespace
}  // namespace evendrip
