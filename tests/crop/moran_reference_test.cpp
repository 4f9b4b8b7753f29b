// SPDX-License-Identifier: Apache-2.0
// Likeness of neighbours against R spdep 1.2-7, run at test time: Columbus crime with the
// neighbours of col.gal.nb, the wheat trial (Mercer & Hall 1911) with queen neighbours and within a
// distance, and drawn places. Tolerance 1e-9. Values of Columbus and wheat computed with it are
// also written here.
#include "evendrip/crop/moran.hpp"

#include "spdep_oracle.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

namespace evendrip {
namespace {

constexpr double tolerance = 1e-9;

class MoranReference : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = spdep_tables();
    if (!folder_) GTEST_SKIP() << "needs R with spdep, spData, sf, sp and nlme";
    ASSERT_NE(*folder_, "") << "R failed";
  }
  Columns table(const std::string& name) const { return read_columns(*folder_ / (name + ".csv")); }

  NeighbourWeights weights(const std::string& name, std::size_t items) const {
    const Columns pairs = table(name + "_pairs");
    NeighbourWeights w;
    w.begins = {0};
    std::size_t pair = 0;
    for (std::size_t i = 0; i < items; ++i) {
      for (; pair < pairs.at("from").size() && pairs.at("from")[pair] == static_cast<double>(i);
           ++pair)
        w.neighbours.push_back(static_cast<int>(pairs.at("to")[pair]));
      const std::size_t count = w.neighbours.size() - w.begins.back();
      w.weights.insert(w.weights.end(), count, 1 / static_cast<double>(count));
      w.begins.push_back(w.neighbours.size());
    }
    EXPECT_EQ(pair, pairs.at("from").size());
    return w;
  }

  void expect_global(const std::vector<double>& values, const NeighbourWeights& w,
                     const std::string& name) const {
    const Columns theirs = table(name + "_global");
    const GlobalAutocorrelation ours[] = {moran(values, w), geary(values, w)};
    for (std::size_t k = 0; k < 2; ++k) {
      EXPECT_NEAR(ours[k].value, theirs.at("value")[k], tolerance);
      EXPECT_NEAR(ours[k].expected, theirs.at("expected")[k], tolerance);
      EXPECT_NEAR(ours[k].variance, theirs.at("variance")[k], 1e-9 * ours[k].variance);
      EXPECT_NEAR(ours[k].z, theirs.at("z")[k], tolerance * std::abs(ours[k].z));
      EXPECT_NEAR(ours[k].p, theirs.at("p")[k], tolerance);
    }
  }

  void expect_local(const LocalMoran& ours, const std::string& name) const {
    const Columns theirs = table(name + "_local");
    ASSERT_EQ(ours.value.size(), theirs.at("value").size());
    const std::vector<double> adjusted = false_discovery_adjusted(ours.p);
    for (std::size_t i = 0; i < ours.value.size(); ++i) {
      ASSERT_NEAR(ours.value[i], theirs.at("value")[i], tolerance);
      ASSERT_NEAR(ours.expected[i], theirs.at("expected")[i], tolerance);
      ASSERT_NEAR(ours.variance[i], theirs.at("variance")[i], tolerance);
      ASSERT_NEAR(ours.z[i], theirs.at("z")[i], tolerance * std::max(1.0, std::abs(ours.z[i])));
      ASSERT_NEAR(ours.p[i], theirs.at("p")[i], tolerance);
      ASSERT_NEAR(adjusted[i], theirs.at("adjusted")[i], tolerance);
    }
  }

  std::vector<Point> places(const std::string& name) const {
    const Columns columns = table(name);
    std::vector<Point> points;
    for (std::size_t i = 0; i < columns.at("x").size(); ++i)
      points.push_back({columns.at("x")[i], columns.at("y")[i]});
    return points;
  }

  std::optional<std::filesystem::path> folder_;
};

TEST_F(MoranReference, AgreesOnColumbus) {
  const std::vector<double> crime = table("columbus").at("value");
  ASSERT_EQ(crime.size(), 49U);
  const NeighbourWeights w = weights("columbus", 49);
  expect_global(crime, w, "columbus");
  EXPECT_NEAR(moran(crime, w).value, 0.485770913662, 1e-11);
  EXPECT_NEAR(geary(crime, w).value, 0.547803377, 1e-9);
  const LocalMoran local = local_moran(crime, w, {});
  expect_local(local, "columbus");
  EXPECT_NEAR(local.value[0], 0.736818491, 1e-9);
  EXPECT_NEAR(local.value[3], 0.004820967, 1e-9);
}

TEST_F(MoranReference, AgreesOnTheWheatTrial) {
  const std::vector<double> grain = table("wheat").at("value");
  ASSERT_EQ(grain.size(), 500U);
  const NeighbourWeights w = weights("wheat", 500);
  expect_global(grain, w, "wheat");
  EXPECT_NEAR(moran(grain, w).value, 0.3083838620, 1e-10);
  EXPECT_NEAR(moran(grain, w).variance, 0.00054143414453, 1e-13);
  const LocalMoran local = local_moran(grain, w, {});
  expect_local(local, "wheat");
  EXPECT_NEAR(local.value[0], -0.2959782405, 1e-10);
  EXPECT_NEAR(local.z[0], -0.7352570, 1e-7);
}

TEST_F(MoranReference, AgreesOnTheWheatTrialWithinADistance) {
  const std::vector<double> grain = table("wheat").at("value");
  expect_global(grain, neighbours_within(places("wheat"), 10, {}), "wheat_within_10");
  expect_local(local_moran(places("wheat"), grain, 10, {}), "wheat_within_10");
}

TEST_F(MoranReference, AgreesAtDrawnPlacesWithNeighboursWithinFortyMetres) {
  const std::vector<double> values = table("points").at("value");
  expect_global(values, neighbours_within(places("points"), 40, {}), "points");
  expect_local(local_moran(places("points"), values, 40, {}), "points");
  expect_local(local_moran(values, neighbours_within(places("points"), 40, {}), {}), "points");
}

}  // namespace
}  // namespace evendrip
