// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/plugged_places.hpp"

#include "evendrip/base/random.hpp"

#include <Eigen/Dense>
#include <boost/random/uniform_01.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <random>
#include <set>
#include <stdexcept>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

using Vector = Eigen::VectorXd;
using Matrix = Eigen::MatrixXd;

constexpr double usual_quantile = -2.33;  ///< of a standard normal: 1 % on the mean
constexpr double of_logistic = 2.9;       ///< variance of the normal that is nearest to it
constexpr double level_sd = 2;
constexpr double across_in_spacings = 4;
constexpr double along_in_lengths = 1.0 / 3;
constexpr int most_turns = 60;
constexpr double settled_gain = 1e-8;    ///< in the logarithm of the density
constexpr double least_chance = 1e-6;    ///< of a way
constexpr double least_share = 1e-3;     ///< of a step
constexpr std::size_t most_spots = 150;  ///< whose equations are solved in a moment
constexpr double passed_before = 2;      ///< emitters that are thought to give half of the most

/// In which plugged emitters keep company.
struct Way {
  double chance;  ///< before anything is dug
  double at_stations;
  double on_laterals;
  double in_places;  ///< standard deviations of logits
};
constexpr std::array<Way, 7> ways = {{{0.7, 0, 0, 0},
                                      {0.05, 2, 0, 0},
                                      {0.05, 4, 0, 0},
                                      {0.05, 0, 2, 0},
                                      {0.05, 0, 4, 0},
                                      {0.05, 0, 0, 2},
                                      {0.05, 0, 0, 4}}};

/// Nodes and weights of Gauss-Hermite quadrature for a standard normal (Abramowitz & Stegun 1964,
/// table 25.10, from memory, scaled by the square root of 2).
constexpr std::array<double, 5> nodes = {-2.856970013872806, -1.355626179974266, 0,
                                         1.355626179974266, 2.856970013872806};
constexpr std::array<double, 5> node_weights = {0.011257411327720689, 0.22207592200561263,
                                                0.5333333333333333, 0.22207592200561263,
                                                0.011257411327720689};

double share_of(double logit) {
  return 1 / (1 + std::exp(-logit));
}

double squared(double v) {
  return v * v;
}

/// Matern's of smoothness 3/2, by distances over its range: places between holes are as those are.
double correlation_at(double ranges) {
  const double off = std::numbers::sqrt3 * std::abs(ranges);
  return (1 + off) * std::exp(-off);
}

/// Covariance of the logits of two segments in one of the ways.
class Company {
 public:
  Company(const SegmentGrid& grid, const Way& way)
      : grid_(grid),
        way_(way),
        across_m_(across_in_spacings * grid.spacing_m()),
        along_m_(along_in_lengths *
                 *std::max_element(grid.lengths_m.begin(), grid.lengths_m.end())) {}

  /// Whose mean share is the same in every way.
  double usual_logit() const {
    const double variance = (*this)(0, 0);
    return usual_quantile * std::sqrt(variance + of_logistic);
  }

  double operator()(int a, int b) const {
    const auto row = [this](int s) { return static_cast<std::size_t>(s / grid_.stations()); };
    const auto station = [this](int s) { return static_cast<std::size_t>(s % grid_.stations()); };
    const double across =
        correlation_at((grid_.across_m[row(a)] - grid_.across_m[row(b)]) / across_m_);
    const double along =
        correlation_at((grid_.stations_m[station(a)] - grid_.stations_m[station(b)]) / along_m_);
    const double lateral = 0.5 * (across + (row(a) == row(b) ? 1 : 0));
    return squared(level_sd) + squared(way_.at_stations) * along +
           squared(way_.on_laterals) * lateral + squared(way_.in_places) * across * along;
  }

 private:
  const SegmentGrid& grid_;
  const Way& way_;
  double across_m_;
  double along_m_;
};

/// Holes that have one logit: those of a segment or, where there are many, of a few neighbours.
struct Spot {
  int segment = 0;  ///< in the middle of them
  std::vector<PluggedHole> holes;
};

int middle_of(const SegmentGrid& grid, const std::vector<PluggedHole>& holes) {
  double rows = 0;
  double stations = 0;
  for (const PluggedHole& hole : holes) {
    rows += hole.row;
    stations += hole.station;
  }
  const auto n = static_cast<double>(holes.size());
  return grid.segment(static_cast<int>(std::lround(rows / n)),
                      static_cast<int>(std::lround(stations / n)));
}

std::vector<Spot> spots_of(const SegmentGrid& grid, std::span<const PluggedHole> holes) {
  int rows = 1;  // of laterals and stations that are one
  int stations = 1;
  while (true) {
    std::map<std::pair<int, int>, Spot> spots;
    std::set<int> of_rows;
    std::set<int> of_stations;
    for (const PluggedHole& hole : holes) {
      spots[{hole.row / rows, hole.station / stations}].holes.push_back(hole);
      of_rows.insert(hole.row / rows);
      of_stations.insert(hole.station / stations);
    }
    if (spots.size() > most_spots) {
      (of_rows.size() > of_stations.size() ? rows : stations) *= 2;
      continue;
    }
    std::vector<Spot> out;
    out.reserve(spots.size());
    for (auto& [cell, spot] : spots) {
      spot.segment = middle_of(grid, spot.holes);
      out.push_back(std::move(spot));
    }
    return out;
  }
}

/// Logits at the spots in one of the ways.
struct Told {
  Vector gradient;        ///< of the log-likelihood at the most probable logits: K^-1 times those
  Matrix with_precision;  ///< (K + 1 / W)^-1
  double log_evidence = 0;
};

struct LikelihoodAt {
  double value = 0;
  double slope = 0;
  double bend = 0;  ///< minus the second derivative, not below 0
};
LikelihoodAt likelihood_at(const PluggedHole& hole, double logit) {
  const double share = share_of(logit);
  const double density = share * hole.if_plugged + (1 - share) * hole.if_not;
  const double plugged = share * hole.if_plugged / density;  // chance once it is caught
  return {std::log(density), plugged - share, share * (1 - share)};
}

/// What all holes say of the logits of their spots, and how likely those were before.
struct Look {
  Vector slopes;
  Vector bends;
  double value = 0;  ///< logarithm of both, up to what is constant
};
Look look_at(const std::vector<Spot>& spots, double usual_logit, const Vector& off,
             const Vector& alpha) {
  const auto n = static_cast<Eigen::Index>(spots.size());
  Look look{Vector::Zero(n), Vector::Zero(n), -0.5 * off.dot(alpha)};
  for (Eigen::Index i = 0; i < n; ++i)
    for (const PluggedHole& hole : spots[static_cast<std::size_t>(i)].holes) {
      const LikelihoodAt at = likelihood_at(hole, usual_logit + off(i));
      look.value += at.value;
      look.slopes(i) += at.slope;
      look.bends(i) += at.bend;
    }
  return look;
}

/// Newton's steps in the form that needs no inverse of K, halved until they climb; the bend is that
/// of the likelihood as if it were known which emitters are plugged.
Told told_by(const Matrix& covariance, double usual_logit, const std::vector<Spot>& spots) {
  const auto n = static_cast<Eigen::Index>(spots.size());
  Vector alpha = Vector::Zero(n);
  Vector off = Vector::Zero(n);  // logits less the usual one: K alpha
  Look here = look_at(spots, usual_logit, off, alpha);
  Eigen::LLT<Matrix> factor;
  Vector roots;
  const auto refactor = [&] {
    roots = here.bends.cwiseSqrt();
    Matrix b = roots.asDiagonal() * covariance * roots.asDiagonal();
    b.diagonal().array() += 1;
    factor.compute(b);
  };
  for (int turn = 0; turn < most_turns; ++turn) {
    refactor();
    const Vector side = here.bends.cwiseProduct(off) + here.slopes;
    const Vector inner = roots.asDiagonal() * (covariance * side);
    const Vector step = side - roots.cwiseProduct(factor.solve(inner)) - alpha;
    double gained = 0;
    for (double share = 1; share > least_share && !(gained > 0); share /= 2) {
      const Vector next = alpha + share * step;
      const Vector next_off = covariance * next;
      Look there = look_at(spots, usual_logit, next_off, next);
      gained = there.value - here.value;
      if (!(gained > 0)) continue;
      alpha = next;
      off = next_off;
      here = std::move(there);
    }
    if (!(gained > settled_gain)) break;
  }
  refactor();
  Told told;
  told.gradient = alpha;
  told.with_precision = roots.asDiagonal() * factor.solve(Matrix(roots.asDiagonal()));
  const double log_determinant = 2 * Matrix(factor.matrixL()).diagonal().array().log().sum();
  told.log_evidence = here.value - 0.5 * log_determinant;
  return told;
}

struct Moments {
  double first = 0;
  double second = 0;
};

class Ways {
 public:
  Ways(const SegmentGrid& grid, std::span<const PluggedHole> holes) : grid_(grid) {
    for (const PluggedHole& hole : holes) {
      if (hole.row < 0 || hole.row >= grid.rows() || hole.station < 0 ||
          hole.station >= grid.stations())
        throw std::invalid_argument("a hole lies outside the segments");
      if (!(hole.if_plugged >= 0 && hole.if_not >= 0 && hole.if_plugged + hole.if_not > 0))
        throw std::invalid_argument("a catch has no density");
    }
    spots_ = spots_of(grid, holes);
    for (const Way& way : ways) {
      const Company& company = companies_.emplace_back(grid_, way);
      const auto n = static_cast<Eigen::Index>(spots_.size());
      Matrix covariance(n, n);
      for (Eigen::Index a = 0; a < n; ++a)
        for (Eigen::Index b = 0; b < n; ++b)
          covariance(a, b) = company(spots_[static_cast<std::size_t>(a)].segment,
                                     spots_[static_cast<std::size_t>(b)].segment);
      told_.push_back(told_by(covariance, company.usual_logit(), spots_));
    }
    weigh();
  }

  double log_evidence() const { return log_evidence_; }

  KnownShare share_at(int segment) {
    Moments mixed;
    for (std::size_t w = 0; w < ways.size(); ++w) {
      if (chances_[w] < least_chance) continue;
      const auto [at, unknown] = known_[w].try_emplace(alike_in(ways[w], segment));
      if (unknown) at->second = moments_in(w, segment);
      const Moments& one = at->second;
      mixed.first += chances_[w] * one.first;
      mixed.second += chances_[w] * one.second;
    }
    return {mixed.first, std::max(0.0, mixed.second - squared(mixed.first))};
  }

 private:
  void weigh() {
    double most = -std::numeric_limits<double>::infinity();
    for (const Told& told : told_) most = std::max(most, told.log_evidence);
    double together = 0;  // in all ways but the first
    for (std::size_t w = 0; w < ways.size(); ++w) {
      chances_[w] = ways[w].chance * std::exp(told_[w].log_evidence - most);
      if (w > 0) together += chances_[w];
    }
    log_evidence_ = most + std::log(together / (1 - ways[0].chance));
    const double sum = chances_[0] + together;
    for (double& chance : chances_) chance /= sum;
  }

  /// The first segment that differs in nothing that counts in this way.
  int alike_in(const Way& way, int segment) const {
    if (way.in_places > 0) return segment;
    if (way.at_stations > 0) return segment % grid_.stations();
    if (way.on_laterals > 0) return segment - segment % grid_.stations();
    return 0;
  }

  Moments moments_in(std::size_t w, int segment) const {
    const Company& company = companies_[w];
    Vector with(static_cast<Eigen::Index>(spots_.size()));
    for (std::size_t i = 0; i < spots_.size(); ++i)
      with(static_cast<Eigen::Index>(i)) = company(segment, spots_[i].segment);
    const double mean = company.usual_logit() + with.dot(told_[w].gradient);
    const double variance = company(segment, segment) - with.dot(told_[w].with_precision * with);
    const double sd = std::sqrt(std::max(0.0, variance));
    Moments out;
    for (std::size_t k = 0; k < nodes.size(); ++k) {
      const double share = share_of(mean + sd * nodes[k]);
      out.first += node_weights[k] * share;
      out.second += node_weights[k] * share * share;
    }
    return out;
  }

  const SegmentGrid& grid_;
  std::vector<Spot> spots_;
  std::vector<Company> companies_;  ///< of each way, as told_
  std::vector<Told> told_;
  std::array<double, ways.size()> chances_{};
  std::array<std::map<int, Moments>, ways.size()> known_;
  double log_evidence_ = 0;
};

/// Chances that holes are plugged by the share where they are, then what such ones pass.
double passed_by(Ways& by, const SegmentGrid& grid, std::span<const PluggedHole> holes,
                 double plugged_below) {
  double sum = passed_before * plugged_below / 2;
  double count = passed_before;
  for (const PluggedHole& hole : holes) {
    if (!(hole.if_plugged > 0)) continue;
    const double share = by.share_at(grid.segment(hole.row, hole.station)).mean;
    const double plugged =
        share * hole.if_plugged / (share * hole.if_plugged + (1 - share) * hole.if_not);
    sum += plugged * std::clamp(hole.caught, 0.0, plugged_below);
    count += plugged;
  }
  return sum / count;
}

/// Quantile of a share: the largest that it may be times a power of an even number, which has its
/// mean and variance where 1 does not cut it off.
double quantile_of(const KnownShare& share, double even) {
  if (!(share.mean > 0)) return 0;
  const double squares = 1 + share.variance / squared(share.mean);
  const double power = squares - 1 + std::sqrt(squares * (squares - 1));
  return std::min(1.0, share.mean * (1 + power) * std::pow(even, power));
}

}  // namespace

bool any_plugged(std::span<const PluggedHole> holes) {
  return std::any_of(holes.begin(), holes.end(),
                     [](const PluggedHole& hole) { return hole.if_plugged > hole.if_not; });
}

PluggedPlaces plugged_places(const SegmentGrid& grid, std::span<const PluggedHole> holes,
                             double plugged_below) {
  Ways by(grid, holes);
  PluggedPlaces out;
  out.passed = passed_by(by, grid, holes, plugged_below);
  out.anywhere = 1;
  for (int segment = 0; segment < grid.segments(); ++segment) {
    out.beyond.push_back(by.share_at(segment));
    out.anywhere = std::min(out.anywhere, out.beyond.back().mean);
  }
  for (KnownShare& share : out.beyond) {
    share.mean = (share.mean - out.anywhere) / (1 - out.anywhere);
    share.variance /= squared(1 - out.anywhere);
  }
  return out;
}

double log_evidence_of_company(const SegmentGrid& grid, std::span<const PluggedHole> holes) {
  return Ways(grid, holes).log_evidence();
}

double share_at(const PluggedPlaces& places, std::size_t segment) {
  if (places.beyond.empty()) return places.anywhere;
  return 1 - (1 - places.anywhere) * (1 - places.beyond[segment].mean);
}

double mean_share(const PluggedPlaces& places) {
  double sum = 0;
  for (std::size_t i = 0; i < places.beyond.size(); ++i) sum += share_at(places, i);
  return places.beyond.empty() ? places.anywhere : sum / static_cast<double>(places.beyond.size());
}

void show_to_crop(const PluggedPlaces& places, ZoneModel& model) {
  std::vector<double> shares;
  shares.reserve(places.beyond.size());
  for (const KnownShare& share : places.beyond) shares.push_back(std::clamp(share.mean, 0.0, 1.0));
  model.set_plugged(std::move(shares), places.passed);
}

KnownShare delivered_at(const PluggedPlaces& places, std::size_t segment, double r,
                        double variance) {
  if (places.beyond.empty()) return {r, variance};
  const KnownShare& share = places.beyond[segment];
  const double lost = r - places.passed;  // by each that is plugged
  if (!(lost > 0)) return {r, variance};
  const double left = 1 - share.mean;
  return {left * r + share.mean * places.passed,
          (squared(left) + share.variance) * variance + squared(lost) * share.variance};
}

void draw_plugged(const PluggedPlaces& places, std::uint64_t seed,
                  std::vector<std::vector<double>>& draws) {
  if (places.beyond.empty()) return;
  for (std::size_t draw = 0; draw < draws.size(); ++draw) {
    std::mt19937_64 stream = item_stream(seed, {draw, 1});
    const double even = boost::random::uniform_01<double>()(stream);
    for (std::size_t i = 0; i < draws[draw].size(); ++i) {
      double& r = draws[draw][i];
      if (r > places.passed) r -= quantile_of(places.beyond[i], even) * (r - places.passed);
    }
  }
}

}  // namespace evendrip
