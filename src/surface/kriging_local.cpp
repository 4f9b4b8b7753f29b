// SPDX-License-Identifier: Apache-2.0
#include "kriging_system.hpp"

#include <algorithm>
#include <cstddef>
#include <numeric>

namespace evendrip::kriging {
namespace {

std::size_t hash_of(std::span<const int> numbers) {
  std::size_t hash = 14695981039346656037ULL;
  for (const int number : numbers) hash = (hash ^ size(number)) * 1099511628211ULL;
  return hash;
}

}  // namespace

/// Notes the neighbours chosen for a target, or why there are none.
void LocalSystem::want(std::size_t target, bool single_place, Outcome& out) {
  if (chosen_.positions.empty() || static_cast<int>(chosen_.positions.size()) < search_.fewest()) {
    out.reason = Reason::too_few;
    return;
  }
  if (chosen_.at_place >= 0 && single_place && !problem_.kept.empty()) {
    const int sample = candidates_.samples[size(chosen_.at_place)];
    out = {{problem_.kept[size(sample)], 0}, Reason::value};
    return;
  }
  wanted_.push_back(
      {hash_of(chosen_.positions), target, neighbours_.size(), chosen_.positions.size()});
  neighbours_.insert(neighbours_.end(), chosen_.positions.begin(), chosen_.positions.end());
}

void LocalSystem::choose(const Targets& targets, const Circle& circle, int left_out,
                         std::span<Outcome> out) {
  wanted_.clear();
  neighbours_.clear();
  const int spare = left_out < 0 ? 0 : 1;
  const bool common = sharing_ == Sharing::common;
  search_.find_candidates(circle.centre, common ? 0 : circle.radius_m, spare, candidates_);
  for (std::size_t i = 0; i < out.size(); ++i) {
    if (!common || i == 0)
      search_.choose(candidates_, common ? circle.centre : targets.local[i], left_out, chosen_);
    if (common && targets.single_places() && !problem_.kept.empty()) {
      const int sample = problem_.at_place(targets.local[i]);
      const auto found =
          std::lower_bound(candidates_.samples.begin(), candidates_.samples.end(), sample);
      const bool there = sample >= 0 && found != candidates_.samples.end() && *found == sample;
      chosen_.at_place = there ? static_cast<int>(found - candidates_.samples.begin()) : -1;
    }
    want(i, targets.single_places(), out[i]);
  }
}

void LocalSystem::fill(const Targets& targets) {
  workspace_.fill(targets, problem_, candidates_.samples);
  const int count = static_cast<int>(candidates_.samples.size());
  pair_stride_ = padded_for_covariances(count);
  pairs_.resize(size(count) * size(pair_stride_));
  problem_.fill_pairs(candidates_.samples, {pairs_.data(), count, count, pair_stride_});
}

bool LocalSystem::factor(std::span<const int> positions) {
  const int n = static_cast<int>(positions.size());
  const MatrixView c = equations_.room(n, problem_.terms);
  trend_.resize(size(n) * size(problem_.terms));
  values_.resize(size(n));
  for (int j = 0; j < n; ++j) {
    const double* column = pairs_.data() + size(positions[size(j)]) * size(pair_stride_);
    for (int i = j; i < n; ++i) c(i, j) = column[positions[size(i)]];
    const std::size_t observation = size(candidates_.samples[size(positions[size(j)])]);
    values_[size(j)] = problem_.values[observation];
    for (int t = 0; t < problem_.terms; ++t)
      trend_[size(t) * size(n) + size(j)] =
          problem_.trend[size(t) * size(problem_.count()) + observation];
  }
  return equations_.factor(trend_, values_, problem_.smallest_pivot);
}

void LocalSystem::solve(const Targets& targets, std::span<const Wanted> group,
                        std::span<Outcome> out) {
  const std::span<const int> used = neighbours(group.front());
  if (!factor(used)) return;
  workspace_.targets.clear();
  for (const Wanted& wanted : group) workspace_.targets.push_back(wanted.target);
  workspace_.predict(equations_, targets, problem_.offset, used, workspace_.targets, out);
}

void LocalSystem::predict(const Targets& targets, const Circle& circle, int left_out,
                          std::span<Outcome> out) {
  std::fill(out.begin(), out.end(), Outcome{});
  choose(targets, circle, left_out, out);
  if (wanted_.empty()) return;
  fill(targets);
  std::sort(wanted_.begin(), wanted_.end(), [](const Wanted& a, const Wanted& b) {
    return a.hash != b.hash ? a.hash < b.hash : a.target < b.target;
  });
  for (auto first = wanted_.begin(); first != wanted_.end();) {
    const auto last = std::find_if(first, wanted_.end(), [&](const Wanted& other) {
      return other.hash != first->hash ||
             !std::ranges::equal(neighbours(other), neighbours(*first));
    });
    solve(targets, {first, last}, out);
    first = last;
  }
}

std::optional<Equations::Weights> LocalSystem::weights(const Targets& target,
                                                       std::span<const int> observations) {
  candidates_.samples.assign(observations.begin(), observations.end());
  std::vector<int> positions(observations.size());
  std::iota(positions.begin(), positions.end(), 0);
  fill(target);
  if (!factor(positions)) return std::nullopt;
  workspace_.targets = {0};
  std::vector<Outcome> solved(1);
  workspace_.predict(equations_, target, problem_.offset, positions, workspace_.targets, solved);
  return equations_.weights(workspace_.panels.data(), 0);
}

}  // namespace evendrip::kriging
