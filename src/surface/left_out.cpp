// SPDX-License-Identifier: Apache-2.0
#include "left_out.hpp"

#include <algorithm>
#include <map>
#include <numeric>
#include <utility>

namespace evendrip {
namespace {

/// Joined samples point to one of them, the first.
class Joined {
 public:
  explicit Joined(std::size_t count) : parent_(count) {
    std::iota(parent_.begin(), parent_.end(), std::size_t{0});
  }
  std::size_t first_of(std::size_t i) {
    while (parent_[i] != i) i = parent_[i] = parent_[parent_[i]];
    return i;
  }
  void join(std::size_t a, std::size_t b) {
    a = first_of(a);
    b = first_of(b);
    parent_[std::max(a, b)] = std::min(a, b);
  }

 private:
  std::vector<std::size_t> parent_;
};

}  // namespace

std::vector<std::vector<int>> groups_left_out(const Samples& samples, LeaveOut left_out) {
  Joined joined(samples.size());
  std::map<std::pair<double, double>, std::size_t> places;
  std::map<int, std::size_t> laterals;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const Site& site = samples[i].site;
    joined.join(i, places.try_emplace({site.place.x, site.place.y}, i).first->second);
    if (left_out == LeaveOut::lateral && site.lateral >= 0)
      joined.join(i, laterals.try_emplace(site.lateral, i).first->second);
  }
  std::map<std::size_t, std::vector<int>> groups;
  for (std::size_t i = 0; i < samples.size(); ++i)
    groups[joined.first_of(i)].push_back(static_cast<int>(i));
  std::vector<std::vector<int>> out;
  out.reserve(groups.size());
  for (auto& [first, group] : groups) out.push_back(std::move(group));
  return out;
}

}  // namespace evendrip
