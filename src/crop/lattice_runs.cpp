// SPDX-License-Identifier: Apache-2.0
#include "lattice_runs.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "evendrip/base/median.hpp"

namespace evendrip {
namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();
constexpr int fewest_bins = 2;
constexpr double least_side = 1.0 / 3;
constexpr double normal_mad = 1.4826022185056018;  ///< normal standard deviation over the MAD
constexpr double rounding = 1e-9;                  ///< relative, of what is bounded

std::size_t size(int n) {
  return static_cast<std::size_t>(n);
}

double or_zero(double value) {
  return std::isfinite(value) ? value : 0;
}

std::vector<double> steps_of(const Lattice& lattice, int together) {
  std::vector<double> steps(lattice.mean.size(), none);
  for (int row = 1; row < lattice.rows; ++row) {
    for (int bin = 0; bin < lattice.bins; ++bin) {
      const double a = mean_of_rows(lattice, row - together, row, bin);
      const double b = mean_of_rows(lattice, row, row + together, bin);
      const double before = mean_of_rows(lattice, row - 2 * together, row - together, bin);
      const double behind = mean_of_rows(lattice, row + together, row + 2 * together, bin);
      steps[size(row) * size(lattice.bins) + size(bin)] =
          a - b - 0.5 * (or_zero(before - a) + or_zero(b - behind));
    }
  }
  return steps;
}

double spread_of(const std::vector<double>& steps) {
  std::vector<double> sizes;
  for (const double step : steps) {
    if (std::isfinite(step)) sizes.push_back(std::abs(step));
  }
  return normal_mad * median_of(std::move(sizes));
}

/// A single step leaves half a step back in the one beside it, by the slope that is taken off: a
/// run counts where its lesser side is at least a third of the greater.
bool low_on_both_sides(const Lattice& lattice, int together, const LatticeRun& found) {
  const int beside = std::max(2, together);
  const auto box = [&](int first_row, int end_row) {
    return mean_of_box(lattice, first_row, end_row, found.first_bin, found.last_bin);
  };
  const double inside = box(found.first_row, found.last_row + 1);
  const double before = box(found.first_row - beside, found.first_row) - inside;
  const double behind = box(found.last_row + 1, found.last_row + 1 + beside) - inside;
  return std::min(before, behind) >= least_side * std::max(before, behind);
}

/// The two sides of a run of rows: steps down into it and up out of it, summed along the bins.
class Sides {
 public:
  explicit Sides(const LatticeSteps& steps)
      : steps_(steps),
        down_(size(steps.bins()) + 1),
        up_(size(steps.bins()) + 1),
        seen_(size(steps.bins()) + 1) {}

  /// Of the rows from `first` to below `end`.
  void look_at(int first, int end) {
    first_ = first;
    end_ = end;
    squares_ = 0;
    for (int bin = 0; bin < steps_.bins(); ++bin) {
      const double in = steps_.at(first, bin);
      const double out = -steps_.at(end, bin);
      const bool both = std::isfinite(in) && std::isfinite(out);
      down_[size(bin) + 1] = down_[size(bin)] + (both ? in : 0);
      up_[size(bin) + 1] = up_[size(bin)] + (both ? out : 0);
      seen_[size(bin) + 1] = seen_[size(bin)] + (both ? 1 : 0);
      const double mean = both ? std::max(0.0, 0.5 * (in + out)) : 0;
      squares_ += mean * mean;
    }
  }

  /// No stretch of bins scores more: the lesser sum is at most that of the means of both sides, and
  /// over n bins that is at most the root of n times their sum of squares (Cauchy and Schwarz).
  double most() const { return (1 + rounding) * std::sqrt(squares_) / steps_.spread(); }

  /// The stretch of bins with the greatest score.
  LatticeRun best() const {
    LatticeRun best{first_, end_ - 1, 0, 0, 0};
    for (int from = 0; from < steps_.bins(); ++from) {
      for (int to = from + fewest_bins; to <= steps_.bins(); ++to) {
        const int count = seen_[size(to)] - seen_[size(from)];
        if (count < fewest_bins) continue;
        const double sum =
            std::min(down_[size(to)] - down_[size(from)], up_[size(to)] - up_[size(from)]);
        const double score = sum / (steps_.spread() * std::sqrt(static_cast<double>(count)));
        if (score > best.score) best = {first_, end_ - 1, from, to - 1, score};
      }
    }
    return best;
  }

 private:
  const LatticeSteps& steps_;
  std::vector<double> down_;
  std::vector<double> up_;
  std::vector<int> seen_;
  int first_ = 0;
  int end_ = 0;
  double squares_ = 0;
};

/// visit(first, end) for each run of rows that is looked at.
template <typename Visit>
void for_each_run(const Lattice& lattice, RunRows wanted, const Visit& visit) {
  for (int first = std::max(1, lattice.first_own); first < lattice.end_own; ++first)
    for (int end = first + wanted.together;
         end < lattice.rows && end <= lattice.end_own && end - first <= wanted.widest; ++end)
      visit(first, end);
}

}  // namespace

double mean_of_rows(const Lattice& lattice, int first, int end, int bin) {
  double sum = 0;
  int count = 0;
  for (int row = std::max(first, 0); row < std::min(end, lattice.rows); ++row) {
    const double value = lattice.at(row, bin);
    if (!std::isfinite(value)) continue;
    sum += value;
    ++count;
  }
  return count > 0 ? sum / count : none;
}

double mean_of_box(const Lattice& lattice, int first_row, int end_row, int first_bin,
                   int last_bin) {
  double sum = 0;
  int count = 0;
  for (int bin = first_bin; bin <= last_bin; ++bin) {
    const double value = mean_of_rows(lattice, first_row, end_row, bin);
    if (!std::isfinite(value)) continue;
    sum += value;
    ++count;
  }
  return count > 0 ? sum / count : none;
}

LatticeSteps::LatticeSteps(const Lattice& lattice, int together)
    : bins_(lattice.bins), steps_(steps_of(lattice, together)), spread_(spread_of(steps_)) {}

LatticeRun LatticeSteps::best_side(int boundary, double sign) const {
  LatticeRun best;
  for (int from = 0; from < bins_; ++from) {
    double sum = 0;
    int count = 0;
    for (int bin = from; bin < bins_; ++bin) {
      const double step = at(boundary, bin);
      if (!std::isfinite(step)) continue;
      sum += sign * step;
      ++count;
      if (count < fewest_bins) continue;
      const double score = sum / (spread_ * std::sqrt(static_cast<double>(count)));
      if (score > best.score) best = {0, 0, from, bin, score};
    }
  }
  return best;
}

std::vector<LatticeRun> low_runs(const Lattice& lattice, RunRows wanted) {
  std::vector<LatticeRun> all;
  const LatticeSteps steps(lattice, wanted.together);
  if (!(steps.spread() > 0)) return all;
  Sides sides(steps);
  for_each_run(lattice, wanted, [&](int first, int end) {
    sides.look_at(first, end);
    const LatticeRun best = sides.best();
    if (best.score > 0 && low_on_both_sides(lattice, wanted.together, best)) all.push_back(best);
  });
  std::stable_sort(all.begin(), all.end(),
                   [](const LatticeRun& a, const LatticeRun& b) { return a.score > b.score; });
  return all;
}

BestScores best_scores(const Lattice& lattice, RunRows wanted) {
  BestScores best;
  const LatticeSteps steps(lattice, wanted.together);
  if (!(steps.spread() > 0)) return best;
  Sides sides(steps);
  for_each_run(lattice, wanted, [&](int first, int end) {
    sides.look_at(first, end);
    if (sides.most() <= best.trough) return;
    const LatticeRun found = sides.best();
    if (found.score > best.trough && low_on_both_sides(lattice, wanted.together, found))
      best.trough = found.score;
  });
  for (int boundary = 1; boundary < lattice.rows; ++boundary)
    for (const double sign : {-1.0, 1.0})
      best.side = std::max(best.side, steps.best_side(boundary, sign).score);
  return best;
}

}  // namespace evendrip
