// SPDX-License-Identifier: Apache-2.0
// Against R (base, dense matrices): tests/condition/dense_zone.R.
#include "evendrip/condition/zone_model.hpp"

#include "../surface/gstat_oracle.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>

namespace evendrip {
namespace {

/// Folder of the tables; nothing without R, empty when R failed.
std::optional<std::filesystem::path> zone_tables() {
  namespace fs = std::filesystem;
  const fs::path script = fs::path(EVENDRIP_TEST_DATA) / "condition" / "write_oracles.sh";
  const fs::path folder = fs::path(EVENDRIP_TEST_OUTPUT) / "condition_dense";
  const std::string run = "bash '" + script.string() + "' '" + folder.string() + "' >/dev/null";
  if (std::system(run.c_str()) != 0) return fs::path();
  if (!fs::exists(folder / "segments.csv")) return std::nullopt;
  return folder;
}

struct Case {
  SegmentGrid grid;
  ConditionParameters parameters;
  ConditionRanges ranges;
  std::vector<HoleDatum> holes;
  std::vector<double> hole_weights;
  std::vector<CropDatum> crop;
};

int whole(double value) {
  return static_cast<int>(value);
}

Case read_case(const std::filesystem::path& folder) {
  Case c;
  const Columns laterals = read_columns(folder / "laterals.csv");
  c.grid.zone = 0;
  c.grid.step_m = 10;
  c.grid.across_m = laterals.at("across_m");
  c.grid.stations_m = read_columns(folder / "stations.csv").at("stations_m");
  for (std::size_t i = 0; i < c.grid.across_m.size(); ++i) {
    c.grid.laterals.push_back(static_cast<int>(i));
    c.grid.lengths_m.push_back(60);
  }
  Columns p = read_columns(folder / "parameters.csv");
  const auto one = [&p](const char* name) { return p.at(name).at(0); };
  c.parameters = {one("level"),      one("along"),   one("own"),        one("group"),
                  one("local"),      one("emitter"), one("soil_short"), one("soil_long"),
                  one("crop_error"), one("response")};
  c.ranges = {one("along_m"),        one("group_m"),      one("local_along_m"),
              one("local_across_m"), one("soil_short_m"), one("soil_long_m")};
  Columns holes = read_columns(folder / "holes.csv");
  for (std::size_t i = 0; i < holes.at("row").size(); ++i)
    c.holes.push_back({whole(holes["row"][i]), whole(holes["station"][i]), holes["value"][i],
                       holes["noise_variance"][i]});
  c.hole_weights = holes.at("weight");
  Columns crop = read_columns(folder / "crop.csv");
  for (std::size_t i = 0; i < crop.at("x").size(); ++i)
    c.crop.push_back({{whole(crop["first"][i]), whole(crop["second"][i])},
                      {crop["share"][i], 1 - crop["share"][i]},
                      {crop["x"][i], crop["y"][i]},
                      crop["value"][i]});
  return c;
}

class ZoneModelReference : public testing::Test {
 protected:
  void SetUp() override {
    const auto folder = zone_tables();
    if (!folder) GTEST_SKIP() << "R is missing";
    ASSERT_FALSE(folder->empty()) << "R failed";
    folder_ = *folder;
    case_ = read_case(folder_);
    likelihoods_ = read_columns(folder_ / "likelihoods.csv");
    segments_ = read_columns(folder_ / "segments.csv");
    ASSERT_EQ(segments_.at("both_mean").size(), 30u);
  }
  void expect_segments(const ConditionEstimate& found, const std::string& which) {
    for (std::size_t i = 0; i < found.r.size(); ++i) {
      EXPECT_NEAR(found.r[i], segments_.at(which + "_mean").at(i), 1e-8);
      EXPECT_NEAR(found.r_variance[i], segments_.at(which + "_variance").at(i), 1e-8);
    }
  }

  std::filesystem::path folder_;
  Case case_;
  Columns likelihoods_;
  Columns segments_;
};

TEST_F(ZoneModelReference, OfHolesAloneIsThatOfDenseMatrices) {
  const ZoneModel model(case_.grid, case_.holes, {}, case_.ranges);
  const auto found = model.estimate(case_.parameters);
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->log_likelihood, likelihoods_.at("alone").at(0), 1e-8);
  expect_segments(*found, "alone");
  EXPECT_NEAR(*model.log_likelihood(case_.parameters, case_.hole_weights),
              likelihoods_.at("weighted").at(0), 1e-8);
}

TEST_F(ZoneModelReference, OfHolesAndCropIsThatOfDenseMatrices) {
  const ZoneModel model(case_.grid, case_.holes, case_.crop, case_.ranges);
  const auto found = model.estimate(case_.parameters, case_.hole_weights);
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->log_likelihood, likelihoods_.at("both").at(0), 1e-8);
  expect_segments(*found, "both");
}

}  // namespace
}  // namespace evendrip
