// SPDX-License-Identifier: Apache-2.0
#include "lateral_resampling.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <map>

namespace evendrip {
namespace {

/// Sums of one level: counts and means of its groups.
struct Groups {
  std::vector<double> count;
  std::vector<double> mean;
};

template <typename Level>
Groups group(const std::vector<LevelledEmitter>& emitters, const Level& level) {
  Groups groups;
  for (const LevelledEmitter& e : emitters) {
    const auto at = static_cast<std::size_t>(level(e));
    if (at >= groups.count.size()) {
      groups.count.resize(at + 1, 0);
      groups.mean.resize(at + 1, 0);
    }
    groups.count[at] += 1;
    groups.mean[at] += e.discharge;
  }
  for (std::size_t i = 0; i < groups.count.size(); ++i) {
    if (groups.count[i] > 0) groups.mean[i] /= groups.count[i];
  }
  return groups;
}

int lateral_of(const LevelledEmitter& e) {
  return e.lateral;
}
int pit_of(const LevelledEmitter& e) {
  return e.pit;
}

/// Dense numbers again: some laterals may hold no emitter of this part of the sample.
std::vector<LevelledEmitter> renumbered(std::span<const LevelledEmitter> emitters) {
  std::map<int, int> laterals;
  std::map<int, int> pits;
  for (const LevelledEmitter& e : emitters) {
    laterals[e.lateral] = 0;
    pits[e.pit] = 0;
  }
  int next = 0;
  for (auto& [old, number] : laterals) number = next++;
  next = 0;
  for (auto& [old, number] : pits) number = next++;
  std::vector<LevelledEmitter> result(emitters.begin(), emitters.end());
  for (LevelledEmitter& e : result) {
    e.lateral = laterals.at(e.lateral);
    e.pit = pits.at(e.pit);
  }
  return result;
}

/// Sums of the analysis of variance with three levels.
struct Squares {
  double n = 0;
  double laterals = 0;
  double pits = 0;
  double emitter = 0;           ///< within pits
  double pit = 0;               ///< of pits within laterals
  double lateral = 0;           ///< of laterals
  double laterals_squared = 0;  ///< sum of squared sizes of laterals, over n
  double pits_within = 0;       ///< sum of squared sizes of pits, each over the size of its lateral
  double pits_in_all = 0;       ///< sum of squared sizes of pits, over n
};

Squares squares_of(const std::vector<LevelledEmitter>& emitters) {
  const Groups laterals = group(emitters, lateral_of);
  const Groups pits = group(emitters, pit_of);
  Squares sum;
  sum.n = static_cast<double>(emitters.size());
  sum.laterals = static_cast<double>(laterals.count.size());
  sum.pits = static_cast<double>(pits.count.size());
  double mean = 0;
  for (const LevelledEmitter& e : emitters) mean += e.discharge / sum.n;
  for (const LevelledEmitter& e : emitters) {
    const auto lateral = static_cast<std::size_t>(e.lateral);
    const auto pit = static_cast<std::size_t>(e.pit);
    const double in_pit = e.discharge - pits.mean[pit];
    const double of_pit = pits.mean[pit] - laterals.mean[lateral];
    const double of_lateral = laterals.mean[lateral] - mean;
    sum.emitter += in_pit * in_pit;
    sum.pit += of_pit * of_pit;
    sum.lateral += of_lateral * of_lateral;
    // A sum over emitters: a pit of size m is met m times.
    sum.laterals_squared += laterals.count[lateral] / sum.n;
    sum.pits_within += pits.count[pit] / laterals.count[lateral];
    sum.pits_in_all += pits.count[pit] / sum.n;
  }
  return sum;
}

double mean_square(const std::vector<double>& values) {
  double sum = 0;
  for (const double v : values) sum += v * v;
  return values.empty() ? 0 : sum / static_cast<double>(values.size());
}

/// Moves the mean to 0 and brings the mean square to the variance wanted.
void scale_to(std::vector<double>& effects, double variance) {
  double mean = 0;
  for (const double v : effects) mean += v / static_cast<double>(effects.size());
  for (double& v : effects) v -= mean;
  const double now = mean_square(effects);
  const double factor = now > 0 ? std::sqrt(variance / now) : 0;
  for (double& v : effects) v *= factor;
}

}  // namespace

LateralResampling::LateralResampling(std::span<const LevelledEmitter> emitters)
    : emitters_(renumbered(emitters)) {
  double total = 0;
  bool alike = true;
  for (const LevelledEmitter& e : emitters_) {
    mean_ += e.weight * e.discharge;
    total += e.weight;
    alike = alike && e.weight == emitters_.front().weight;
    cumulated_weight_.push_back(total);
  }
  mean_ /= total;
  if (alike) cumulated_weight_.clear();
  find_variances();
  find_effects();
}

void LateralResampling::find_variances() {
  const Squares sum = squares_of(emitters_);
  const bool pits_told = sum.n > sum.pits && sum.pits > sum.laterals;
  if (pits_told) {
    emitter_variance_ = sum.emitter / (sum.n - sum.pits);
    const double typical = (sum.n - sum.pits_within) / (sum.pits - sum.laterals);
    const double mean_square = sum.pit / (sum.pits - sum.laterals);
    pit_variance_ = std::max(0.0, (mean_square - emitter_variance_) / typical);
  }
  if (sum.laterals < 2 || sum.n <= sum.laterals) {  // no lateral to tell from the emitters
    const double all = sum.emitter + sum.pit + sum.lateral;
    if (pit_variance_ == 0) emitter_variance_ = sum.n > 1 ? all / (sum.n - 1) : 0;
    return;
  }
  if (pit_variance_ == 0) emitter_variance_ = (sum.emitter + sum.pit) / (sum.n - sum.laterals);
  const double typical = (sum.n - sum.laterals_squared) / (sum.laterals - 1);
  const double from_pits = (sum.pits_within - sum.pits_in_all) / (sum.laterals - 1) * pit_variance_;
  const double mean_square = sum.lateral / (sum.laterals - 1);
  lateral_variance_ = std::max(0.0, (mean_square - emitter_variance_ - from_pits) / typical);
}

void LateralResampling::find_effects() {
  const Groups laterals = group(emitters_, lateral_of);
  const Groups pits = group(emitters_, pit_of);
  for (const double mean : laterals.mean) {
    lateral_effects_.push_back(lateral_variance_ > 0 ? mean - mean_ : 0);
  }
  std::vector<std::size_t> lateral_of_pit(pits.mean.size(), 0);
  for (const LevelledEmitter& e : emitters_) {
    lateral_of_pit[static_cast<std::size_t>(e.pit)] = static_cast<std::size_t>(e.lateral);
  }
  for (std::size_t p = 0; p < pits.mean.size(); ++p) {
    const double base = mean_ + lateral_effects_[lateral_of_pit[p]];
    pit_effects_.push_back(pit_variance_ > 0 ? pits.mean[p] - base : 0);
  }
  for (const LevelledEmitter& e : emitters_) {
    emitter_effects_.push_back(e.discharge - mean_ -
                               lateral_effects_[static_cast<std::size_t>(e.lateral)] -
                               pit_effects_[static_cast<std::size_t>(e.pit)]);
  }
  if (lateral_variance_ == 0 && pit_variance_ == 0) return;
  double total = 0;
  for (const LevelledEmitter& e : emitters_) {
    total += (e.discharge - mean_) * (e.discharge - mean_) / static_cast<double>(emitters_.size());
  }
  // The parts in their proportion make up the variance of the sample as a whole.
  const double factor = total / (lateral_variance_ + pit_variance_ + emitter_variance_);
  scale_to(lateral_effects_, lateral_variance_ * factor);
  scale_to(pit_effects_, pit_variance_ * factor);
  scale_to(emitter_effects_, emitter_variance_ * factor);
}

std::vector<Runners::Emitter> LateralResampling::population() const {
  const std::vector<double> none = {0};
  const auto& laterals = lateral_variance_ > 0 ? lateral_effects_ : none;
  const auto& pits = pit_variance_ > 0 ? pit_effects_ : none;
  std::vector<double> sums;
  for (const double lateral : laterals) {
    for (const double pit : pits) sums.push_back(lateral + pit);
  }
  // Past this many, evenly spaced ones among the sorted sums stand for all.
  constexpr std::size_t enough = 256;
  std::sort(sums.begin(), sums.end());
  const std::size_t taken = std::min(enough, sums.size());
  std::vector<Runners::Emitter> all;
  all.reserve(taken * emitters_.size());
  for (std::size_t s = 0; s < taken; ++s) {
    const double shift = mean_ + sums[(2 * s + 1) * sums.size() / (2 * taken)];
    for (std::size_t i = 0; i < emitters_.size(); ++i) {
      all.push_back({std::max(0.0, shift + emitter_effects_[i]), emitters_[i].weight, 0});
    }
  }
  return all;
}

std::size_t LateralResampling::any_emitter(std::mt19937_64& stream) const {
  if (cumulated_weight_.empty()) return draw_below(stream, emitters_.size());
  const double at = static_cast<double>(stream() >> 11U) * 0x1.0p-53 * cumulated_weight_.back();
  const auto found = std::upper_bound(cumulated_weight_.begin(), cumulated_weight_.end(), at);
  return std::min(static_cast<std::size_t>(found - cumulated_weight_.begin()),
                  emitters_.size() - 1);
}

void LateralResampling::draw(std::mt19937_64& stream, std::vector<Runners::Emitter>& sample) {
  drawn_lateral_.assign(lateral_effects_.size(), 0);
  drawn_pit_.assign(pit_effects_.size(), 0);
  if (lateral_variance_ > 0) {
    for (double& v : drawn_lateral_) {
      v = lateral_effects_[draw_below(stream, lateral_effects_.size())];
    }
  }
  if (pit_variance_ > 0) {
    for (double& v : drawn_pit_) v = pit_effects_[draw_below(stream, pit_effects_.size())];
  }
  sample.resize(emitters_.size());
  for (std::size_t i = 0; i < emitters_.size(); ++i) {
    const double discharge = mean_ +
                             drawn_lateral_[static_cast<std::size_t>(emitters_[i].lateral)] +
                             drawn_pit_[static_cast<std::size_t>(emitters_[i].pit)] +
                             emitter_effects_[any_emitter(stream)];
    sample[i] = {std::max(0.0, discharge), emitters_[i].weight, emitters_[i].lateral};
  }
}

}  // namespace evendrip
