// SPDX-License-Identifier: Apache-2.0
#include "../../src/crop/lattice_runs.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <limits>
#include <random>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

/// Noise about 1, one in `unseen` not seen.
Lattice noise_of(std::uint64_t seed, int rows, int bins, double sd, std::uint64_t unseen) {
  Lattice lattice;
  lattice.rows = lattice.end_own = rows;
  lattice.bins = bins;
  std::mt19937_64 stream = item_stream(seed, {1});
  std::normal_distribution<double> normal(1, sd);
  for (int i = 0; i < rows * bins; ++i) {
    const double value = normal(stream);
    lattice.mean.push_back(stream() % unseen == 0 ? std::numeric_limits<double>::quiet_NaN()
                                                  : value);
  }
  return lattice;
}

Lattice with_trough(Lattice lattice, int first_row, int last_row, int first_bin, int last_bin) {
  for (int row = first_row; row <= last_row; ++row)
    for (int bin = first_bin; bin <= last_bin; ++bin)
      lattice.mean[static_cast<std::size_t>(row * lattice.bins + bin)] -= 0.6;
  return lattice;
}

TEST(LatticeRuns, FindATroughWhereItLies) {
  const Lattice lattice = with_trough(noise_of(3, 40, 12, 0.02, 1'000'000'000), 17, 20, 4, 9);
  const auto runs = low_runs(lattice, {1, 12});
  ASSERT_FALSE(runs.empty());
  EXPECT_EQ(runs.front().first_row, 17);
  EXPECT_EQ(runs.front().last_row, 20);
  EXPECT_EQ(runs.front().first_bin, 4);
  EXPECT_EQ(runs.front().last_bin, 9);
}

TEST(LatticeRuns, AreSearchedForTheBestAloneWithTheSameResult) {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    const int together = 1 + static_cast<int>(seed % 3);
    Lattice lattice = noise_of(seed, 30, 14, 0.1, 7);
    if (seed % 2 == 0) lattice = with_trough(lattice, 9, 12, 2, 11);
    const auto runs = low_runs(lattice, {together, 12});
    const BestScores best = best_scores(lattice, {together, 12});
    EXPECT_EQ(best.trough, runs.empty() ? 0 : runs.front().score) << seed;
    double side = 0;
    const LatticeSteps steps(lattice, together);
    for (int boundary = 1; boundary < lattice.rows; ++boundary)
      for (int from = 0; from < lattice.bins; ++from)
        for (int to = from + 2; to <= lattice.bins; ++to) {
          double sum = 0;
          int count = 0;
          for (int bin = from; bin < to; ++bin) {
            if (!std::isfinite(steps.at(boundary, bin))) continue;
            sum += steps.at(boundary, bin);
            ++count;
          }
          if (count >= 2)
            side = std::max(side, std::abs(sum) / (steps.spread() * std::sqrt(count)));
        }
    EXPECT_NEAR(best.side, side, 1e-12) << seed;
  }
}

TEST(LatticeRuns, OfFlatGroundAreNone) {
  Lattice lattice;
  lattice.rows = lattice.end_own = 10;
  lattice.bins = 5;
  lattice.mean.assign(50, 1.0);
  EXPECT_TRUE(low_runs(lattice, {1, 12}).empty());
  EXPECT_EQ(best_scores(lattice, {1, 12}).trough, 0);
  EXPECT_EQ(best_scores(lattice, {1, 12}).side, 0);
}

}  // namespace
}  // namespace evendrip
