// SPDX-License-Identifier: Apache-2.0
#include "possible_zones.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <map>
#include <numbers>
#include <utility>

#include <boost/random/binomial_distribution.hpp>
#include <boost/random/gamma_distribution.hpp>
#include <boost/random/uniform_01.hpp>

namespace evendrip {
namespace {

constexpr int share_nodes = 80;
constexpr int correlation_nodes = 20;

/// Nodes of equal mass of Beta(1/2, 1/2), whose distribution function is an arc sine.
double share_node(int i) {
  const double root = std::sin(0.5 * std::numbers::pi * (i + 0.5) / share_nodes);
  return root * root;
}

double correlation_node(int i) {
  return (i + 0.5) / correlation_nodes;
}

/// Logarithm of the chance to see those plugged ones among those of one lateral, in that order.
double log_chance(const PluggedZone& zone, int plugged, int emitters) {
  const double free = 1 - zone.correlation;
  double sum = 0;
  for (int i = 0; i < plugged; ++i) sum += std::log(zone.share * free + i * zone.correlation);
  for (int i = 0; i < emitters - plugged; ++i) {
    sum += std::log((1 - zone.share) * free + i * zone.correlation);
  }
  for (int i = 0; i < emitters; ++i) sum -= std::log(free + i * zone.correlation);
  return sum;
}

/// Laterals that show the same counts are counted together.
std::map<std::pair<int, int>, int> alike_laterals(const PluggedCounts& counts) {
  std::map<std::pair<int, int>, int> alike;
  for (std::size_t l = 0; l < counts.emitters.size(); ++l) {
    ++alike[{counts.plugged[l], counts.emitters[l]}];
  }
  return alike;
}

}  // namespace

std::vector<PluggedZone> possible_zones(const PluggedCounts& counts, int zones,
                                        std::mt19937_64& stream) {
  const auto alike = alike_laterals(counts);
  std::vector<PluggedZone> nodes;
  std::vector<double> logs;
  for (int c = 0; c < correlation_nodes; ++c) {
    for (int s = 0; s < share_nodes; ++s) {
      const PluggedZone& zone = nodes.emplace_back(PluggedZone{share_node(s), correlation_node(c)});
      double sum = 0;
      for (const auto& [seen, laterals] : alike) {
        sum += laterals * log_chance(zone, seen.first, seen.second);
      }
      logs.push_back(sum);
    }
  }
  const double largest = *std::max_element(logs.begin(), logs.end());
  std::vector<double> cumulated;
  cumulated.reserve(logs.size());
  double total = 0;
  for (const double log : logs) cumulated.push_back(total += std::exp(log - largest));
  boost::random::uniform_01<double> even;
  std::vector<PluggedZone> drawn;
  for (int z = 0; z < zones; ++z) {
    const double at = (z + even(stream)) / zones * total;  // one in each part of equal mass
    const auto found = std::upper_bound(cumulated.begin(), cumulated.end(), at);
    const auto node =
        std::min(static_cast<std::size_t>(found - cumulated.begin()), nodes.size() - 1);
    drawn.push_back(nodes[node]);
  }
  return drawn;
}

PluggedCounts drawn_counts(const PluggedZone& zone, int laterals, int emitters_on_each,
                           std::mt19937_64& stream) {
  const double scale = (1 - zone.correlation) / zone.correlation;
  boost::random::gamma_distribution<double> plugged_part(zone.share * scale);
  boost::random::gamma_distribution<double> running_part((1 - zone.share) * scale);
  PluggedCounts counts;
  for (int l = 0; l < laterals; ++l) {
    const double plugged = plugged_part(stream);
    const double running = running_part(stream);
    const double share = plugged + running > 0 ? plugged / (plugged + running) : zone.share;
    boost::random::binomial_distribution<int> count(emitters_on_each, std::min(share, 1.0));
    counts.emitters.push_back(emitters_on_each);
    counts.plugged.push_back(count(stream));
  }
  return counts;
}

}  // namespace evendrip
