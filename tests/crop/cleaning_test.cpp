// SPDX-License-Identifier: Apache-2.0
// Errors are planted into the log of an invented harvester (tests/crop/invented_harvest.hpp).
#include "evendrip/crop/cleaning.hpp"

#include "invented_harvest.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

namespace evendrip {
namespace {

using invented::append;
using invented::harvest;
using invented::Harvest;
using invented::HarvestPlan;
using invented::plain_field;
using ::testing::HasSubstr;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

CleanedLog cleaned(const HarvestLog& log, const CleaningSettings& settings = {}, int threads = 1) {
  Work work;
  work.threads = threads;
  return clean(plain_field(), log, settings, work);
}

std::size_t count_of(const CleanedLog& log, SetAside step) {
  return static_cast<std::size_t>(std::count(log.step.begin(), log.step.end(), step));
}

const CleaningStep& step_of(const CleanedLog& log, SetAside step) {
  return *std::find_if(log.steps.begin(), log.steps.end(),
                       [step](const CleaningStep& s) { return s.step == step; });
}

/// Multiplies what a record measured.
void scale(HarvestLog& log, std::size_t i, double factor) {
  log.mass_flow_kg_s[i] *= factor;
  log.yield_t_ha[i] *= factor;
}

/// Record number `into` of a pass, by the truth.
std::size_t record_in(const Harvest& made, int pass, std::size_t into) {
  const auto first = std::find(made.pass.begin(), made.pass.end(), pass) - made.pass.begin();
  return static_cast<std::size_t>(first) + into;
}

/// A record whose grain is measured a delay after record `i`.
std::size_t measured_of(const Harvest& made, std::size_t i, double interval_s) {
  return i + static_cast<std::size_t>(std::lround(made.delay_s / interval_s));
}

TEST(Cleaning, KeepsNearlyAllOfALogWithoutErrors) {
  const Harvest made = harvest({});
  const CleanedLog log = cleaned(made.log);
  std::size_t inside = 0, kept = 0;
  for (std::size_t i = 0; i < made.log.size(); ++i) {
    if (made.pass[i] < 0 || log.step[i] == SetAside::pass_end) continue;
    ++inside;
    kept += log.step[i] == SetAside::kept ? 1U : 0U;
  }
  EXPECT_GT(static_cast<double>(kept), 0.96 * static_cast<double>(inside));
  EXPECT_LT(count_of(log, SetAside::pass_end), made.log.size() / 20);
}

TEST(Cleaning, YieldsThatAreKeptAreCloseToTheTruth) {
  const Harvest made = harvest({});
  const CleanedLog log = cleaned(made.log);
  double raw = 0, now = 0;
  for (std::size_t i = 0; i < made.log.size(); ++i) {
    if (log.step[i] != SetAside::kept) continue;
    raw += std::pow(made.log.yield_t_ha[i] - made.truth_t_ha[i], 2);
    now += std::pow(log.yield_t_ha[i] - made.truth_t_ha[i], 2);
  }
  const auto kept = static_cast<double>(log.kept());
  EXPECT_GT(std::sqrt(raw / kept), 1.0);
  // Noise of 3 % of 9 t/ha is 0.27.
  EXPECT_LT(std::sqrt(now / kept), 0.35);
}

TEST(Cleaning, RecordsOfTurnsHaveNoValue) {
  const Harvest made = harvest({});
  const CleanedLog log = cleaned(made.log);
  std::size_t turns = 0, wrong = 0;
  for (std::size_t i = 0; i < made.log.size(); ++i) {
    if (made.pass[i] >= 0) continue;
    ++turns;
    wrong += log.step[i] == SetAside::kept ? 1U : 0U;
  }
  EXPECT_GT(turns, 100U);
  EXPECT_EQ(wrong, 0U);
}

TEST(Cleaning, StepsStandInTheirOrderEachWithASentenceAndASource) {
  const CleanedLog log = cleaned(harvest({}).log);
  ASSERT_EQ(log.steps.size(), 8U);
  std::size_t aside = 0;
  for (std::size_t k = 0; k < log.steps.size(); ++k) {
    EXPECT_EQ(static_cast<std::size_t>(log.steps[k].step), k + 1);
    EXPECT_EQ(log.steps[k].records, count_of(log, log.steps[k].step));
    EXPECT_FALSE(log.steps[k].told.empty());
    EXPECT_FALSE(log.steps[k].source.empty());
    aside += log.steps[k].records;
  }
  EXPECT_EQ(aside + log.kept(), log.step.size());
  EXPECT_THAT(log.summary, HasSubstr("were kept"));
}

TEST(Cleaning, EveryReasonIsReached) {
  HarvestPlan plan;
  const Harvest made = harvest(plan);
  HarvestLog log = made.log;
  log.distance_m[record_in(made, 3, 60)] *= 1.6;  // a jump
  for (std::size_t k = 0; k < 2; ++k)             // a spike
    scale(log, measured_of(made, record_in(made, 5, 40 + k), plan.interval_s), 4);
  const std::size_t twin = record_in(made, 7, 60);  // a stutter
  log.places[twin] = log.places[twin - 1];
  const std::size_t odd = measured_of(made, record_in(made, 9, 50), plan.interval_s);
  scale(log, odd, 0.72);  // still a likely yield, but not there
  HarvestPlan again = plan;
  again.passes = 1;
  Harvest second = harvest(again);
  for (double& time : second.log.time_s) time += log.time_s.back() + 100;
  append(log, second.log, 0);  // the first pass driven once more
  CleaningSettings settings;
  settings.edge_m = 9;
  const CleanedLog result = cleaned(log, settings);
  for (int step = 1; step <= 8; ++step)
    EXPECT_GT(count_of(result, static_cast<SetAside>(step)), 0U)
        << to_text(static_cast<SetAside>(step));
  EXPECT_EQ(result.step[record_in(made, 3, 60)], SetAside::speed);
  EXPECT_EQ(result.step[record_in(made, 5, 40)], SetAside::impossible_yield);
  EXPECT_EQ(result.step[twin], SetAside::same_spot);
  EXPECT_EQ(result.step[record_in(made, 9, 50)], SetAside::odd_neighbours);
  EXPECT_EQ(result.step[made.log.size() + 60], SetAside::narrow_cut);
}

TEST(Cleaning, FindsMostSpikesThatStandAlone) {
  HarvestPlan plan;
  const Harvest made = harvest(plan);
  HarvestLog log = made.log;
  std::vector<std::size_t> planted;
  for (int pass = 1; pass < plan.passes - 1; ++pass) {
    const std::size_t at = record_in(made, pass, 20 + static_cast<std::size_t>(pass));
    planted.push_back(at);
    scale(log, measured_of(made, at, plan.interval_s), pass % 2 == 0 ? 0.4 : 1.8);
  }
  const CleanedLog result = cleaned(log);
  std::size_t found = 0;
  for (const std::size_t i : planted) found += result.step[i] != SetAside::kept ? 1U : 0U;
  EXPECT_GE(found * 10, planted.size() * 9);
}

TEST(Cleaning, KeepsALowPatchAndALowStripAlongAPass) {
  HarvestPlan plan;
  plan.yield_t_ha = [](double x, double y) {
    const bool patch = x > 60 && x < 90 && y > 100 && y < 160;
    const bool strip = x > 27 && x < 33 && y > 60 && y < 240;
    return invented::rolling_yield(x, y) * (patch || strip ? 0.4 : 1);
  };
  const Harvest made = harvest(plan);
  const CleanedLog log = cleaned(made.log);
  std::size_t low = 0, kept = 0;
  for (std::size_t i = 0; i < made.log.size(); ++i) {
    if (!(made.truth_t_ha[i] < 4.5)) continue;
    ++low;
    kept += log.step[i] == SetAside::kept ? 1U : 0U;
  }
  EXPECT_GT(low, 100U);
  EXPECT_GT(static_cast<double>(kept), 0.9 * static_cast<double>(low));
  EXPECT_THAT(step_of(log, SetAside::impossible_yield).told, HasSubstr("what is looked for"));
}

TEST(Cleaning, StripesBetweenOppositePassesShrink) {
  const CleanedLog log = cleaned(harvest({}).log);
  EXPECT_GT(log.opposite_pass_difference_before, 0.08);
  EXPECT_LT(log.opposite_pass_difference_after, 0.5 * log.opposite_pass_difference_before);
  ASSERT_FALSE(log.before.empty());
  ASSERT_FALSE(log.after.empty());
  EXPECT_LT(log.after.front().semivariance, 0.5 * log.before.front().semivariance);
}

TEST(Cleaning, GivesTheSameForOneThreadAndTwo) {
  HarvestPlan plan;
  plan.spacing_m = 5;
  const HarvestLog log = harvest(plan).log;
  const CleanedLog one = cleaned(log, {}, 1);
  const CleanedLog two = cleaned(log, {}, 2);
  EXPECT_EQ(one.step, two.step);
  EXPECT_EQ(one.pass, two.pass);
  EXPECT_EQ(one.summary, two.summary);
  EXPECT_EQ(one.travel_time.disagreement, two.travel_time.disagreement);
  for (std::size_t i = 0; i < log.size(); ++i) {
    const bool known = std::isfinite(one.yield_t_ha[i]);
    ASSERT_EQ(known, std::isfinite(two.yield_t_ha[i]));
    if (known) {
      ASSERT_EQ(one.yield_t_ha[i], two.yield_t_ha[i]);
    }
  }
}

TEST(Cleaning, SettingsDecideWhatIsSetAside) {
  const HarvestLog log = harvest({}).log;
  CleaningSettings settings;
  settings.pass_start_s = 20;
  EXPECT_GT(count_of(cleaned(log, settings), SetAside::pass_end),
            2 * count_of(cleaned(log), SetAside::pass_end));
  settings = {};
  settings.fastest_m_s = 1.7;
  EXPECT_EQ(cleaned(log, settings).kept(), 0U);
  settings = {};
  settings.least_yield_t_ha = 8;
  settings.most_yield_t_ha = 10;
  const CleanedLog narrow = cleaned(log, settings);
  for (std::size_t i = 0; i < log.size(); ++i)
    if (narrow.step[i] == SetAside::kept) {
      EXPECT_GE(narrow.yield_t_ha[i], 8);
      EXPECT_LE(narrow.yield_t_ha[i], 10);
    }
  EXPECT_GT(count_of(narrow, SetAside::impossible_yield), 100U);
  settings = {};
  settings.edge_m = 20;
  EXPECT_GT(count_of(cleaned(log, settings), SetAside::field_edge), 300U);
  settings = {};
  settings.same_spot_share = 1.2;
  EXPECT_GT(count_of(cleaned(log, settings), SetAside::same_spot), 500U);
  settings = {};
  settings.neighbour_limit = 1.5;
  EXPECT_GT(count_of(cleaned(log, settings), SetAside::odd_neighbours),
            count_of(cleaned(log), SetAside::odd_neighbours));
}

TEST(Cleaning, SkipsWhatALogOfReadyYieldsCannotTellAndSaysSo) {
  const Harvest made = harvest({});
  HarvestLog log;
  log.file = "points.csv";
  for (std::size_t i = 0; i < made.log.size(); ++i) {
    if (made.pass[i] < 0) continue;
    log.places.push_back(made.log.places[i]);
    log.yield_t_ha.push_back(made.truth_t_ha[i]);
  }
  for (auto* values : {&log.time_s, &log.duration_s, &log.distance_m, &log.swath_m,
                       &log.mass_flow_kg_s, &log.moisture_frac})
    values->assign(log.size(), nan);
  log.machine.assign(log.size(), 0);
  const CleanedLog result = cleaned(log);
  EXPECT_GT(static_cast<double>(result.kept()), 0.95 * static_cast<double>(log.size()));
  EXPECT_EQ(step_of(result, SetAside::pass_end).told, "Not done: the log has no times.");
  EXPECT_THAT(step_of(result, SetAside::narrow_cut).told, HasSubstr("how wide the swath is"));
  EXPECT_THAT(step_of(result, SetAside::speed).told, HasSubstr("Not done"));
  ASSERT_EQ(result.doubts.size(), 1U);
  EXPECT_EQ(result.doubts[0].severity, Severity::note);
  for (std::size_t i = 0; i < log.size(); ++i)
    if (result.step[i] == SetAside::kept) {
      ASSERT_EQ(result.yield_t_ha[i], log.yield_t_ha[i]);
    }
}

TEST(Cleaning, SetsADuplicatedLogAsideOnceAsNarrow) {
  HarvestPlan plan;
  plan.passes = 10;
  const Harvest made = harvest(plan);
  HarvestLog log = made.log;
  append(log, made.log, 0);
  const CleanedLog once = cleaned(made.log);
  const CleanedLog twice = cleaned(log);
  std::size_t copies = 0;
  for (std::size_t i = made.log.size(); i < log.size(); ++i)
    copies += twice.step[i] == SetAside::kept ? 1U : 0U;
  EXPECT_EQ(copies, 0U);
  EXPECT_NEAR(static_cast<double>(twice.kept()), static_cast<double>(once.kept()),
              0.05 * static_cast<double>(once.kept()));
}

TEST(Cleaning, TakesAnEmptyLogOneRecordAndOnePass) {
  const CleanedLog none = cleaned({});
  EXPECT_EQ(none.kept(), 0U);
  EXPECT_EQ(none.steps.size(), 8U);

  HarvestPlan plan;
  plan.passes = 1;
  const Harvest made = harvest(plan);
  const CleanedLog pass = cleaned(made.log);
  EXPECT_GT(pass.kept(), 60U);
  EXPECT_FALSE(pass.travel_time.estimated);

  HarvestLog single;
  for (auto* values : {&single.time_s, &single.duration_s, &single.distance_m, &single.swath_m,
                       &single.mass_flow_kg_s, &single.moisture_frac, &single.yield_t_ha})
    values->push_back(1);
  single.places.push_back({1, 1});
  single.machine.push_back(0);
  const CleanedLog one = cleaned(single);
  EXPECT_EQ(one.step.size(), 1U);
  EXPECT_EQ(one.steps.size(), 8U);
}

TEST(Cleaning, TakesYieldsThatAreAllAlike) {
  HarvestLog log = harvest({}).log;
  std::fill(log.yield_t_ha.begin(), log.yield_t_ha.end(), 8.0);
  const CleanedLog result = cleaned(log);
  EXPECT_EQ(count_of(result, SetAside::impossible_yield), 0U);
  EXPECT_EQ(count_of(result, SetAside::odd_neighbours), 0U);
  EXPECT_GT(result.kept(), 1000U);
}

TEST(Cleaning, TakesRecordsThatLackValues) {
  const Harvest made = harvest({});
  HarvestLog log = made.log;
  for (std::size_t i = 0; i < log.size(); i += 50) {
    log.yield_t_ha[i] = nan;
    log.mass_flow_kg_s[i] = nan;
    log.swath_m[i] = nan;
  }
  for (std::size_t i = 25; i < log.size(); i += 50) log.distance_m[i] = 0;
  for (std::size_t i = 10; i < log.size(); i += 50) log.duration_s[i] = nan;
  const CleanedLog result = cleaned(log);
  EXPECT_GT(static_cast<double>(result.kept()),
            0.6 * static_cast<double>(cleaned(made.log).kept()));
  for (std::size_t i = 0; i < log.size(); ++i)
    if (result.step[i] == SetAside::kept) {
      ASSERT_TRUE(std::isfinite(result.yield_t_ha[i])) << i;
      ASSERT_GT(result.yield_t_ha[i], 0) << i;
    }
}

TEST(Cleaning, TellsInTheUnitsOfTheField) {
  Field field = plain_field();
  field.report_units = UnitSystem::us;
  const CleanedLog log = clean(field, harvest({}).log, {}, {});
  EXPECT_THAT(step_of(log, SetAside::narrow_cut).told, HasSubstr("ft"));
}

TEST(Cleaning, StopsWhenAsked) {
  std::stop_source stop;
  stop.request_stop();
  Work work;
  work.stop = stop.get_token();
  EXPECT_THROW(clean(plain_field(), harvest({}).log, {}, work), Interrupted);
}

}  // namespace
}  // namespace evendrip
