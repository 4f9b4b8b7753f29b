// SPDX-License-Identifier: Apache-2.0
#include "kriging_system.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>

namespace evendrip::kriging {
namespace {

constexpr int lanes = kernels::panel_lanes;

}  // namespace

GlobalSystem::GlobalSystem(const Problem& problem)
    : problem_(problem), all_(size(problem.count())) {
  std::iota(all_.begin(), all_.end(), 0);
  const MatrixView pairs = equations_.room(problem.count(), problem.terms);
  problem.fill_pairs(all_, pairs);
  solvable_ = equations_.factor(problem.trend, problem.values, problem.smallest_pivot);
}

void GlobalSystem::predict(const Targets& targets, Workspace& workspace,
                           std::span<Outcome> out) const {
  std::fill(out.begin(), out.end(), Outcome{});
  if (!solvable_ || out.empty()) return;
  workspace.fill(targets, problem_, all_);
  workspace.targets.resize(out.size());
  std::iota(workspace.targets.begin(), workspace.targets.end(), std::size_t{0});
  for (std::size_t first = 0; first < out.size(); first += block) {
    const std::size_t some = std::min<std::size_t>(block, out.size() - first);
    workspace.predict(equations_, targets, problem_.offset, all_,
                      std::span(workspace.targets).subspan(first, some), out);
  }
  if (problem_.kept.empty() || !targets.single_places()) return;
  for (std::size_t i = 0; i < out.size(); ++i) {
    const int sample = problem_.at_place(targets.local[i]);
    if (sample >= 0) out[i] = {{problem_.kept[size(sample)], 0}, Reason::value};
  }
}

std::vector<Outcome> GlobalSystem::leave_one_out() const {
  const int n = problem_.count();
  std::vector<Outcome> out(size(n));
  if (n < 2) {
    for (Outcome& outcome : out) outcome.reason = Reason::too_few;
    return out;
  }
  if (!solvable_) return out;
  // A unit vector in place of the covariances gives (Q y)_i and Q_ii.
  kernels::PanelVector panel(kernels::panel_size(equations_.rows()));
  for (int first = 0; first < n; first += lanes) {
    std::fill(panel.begin(), panel.end(), 0.0);
    const int some = std::min(lanes, n - first);
    for (int k = 0; k < some; ++k) panel[size((first + k) * lanes + k)] = 1;
    const std::vector<Equations::Solved> solved = equations_.solve(panel);
    for (int k = 0; k < some; ++k) {
      const std::size_t i = size(first + k);
      const double error = solved[size(k)].value / solved[size(k)].explained;
      const double variance = 1 / solved[size(k)].explained;
      if (std::isfinite(error) && variance > 0 && std::isfinite(variance))
        out[i] = {{problem_.offset + problem_.values[i] - error, variance}, Reason::value};
    }
  }
  return out;
}

}  // namespace evendrip::kriging
