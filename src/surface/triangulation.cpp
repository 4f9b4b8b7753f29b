// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/triangulation.hpp"

#include "delaunay.hpp"
#include "natural_areas.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <stdexcept>

namespace evendrip {
namespace {

using delaunay::Mesh;
using delaunay::size;
using delaunay::Spot;
using delaunay::Triangle;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double mm_per_m = 1000;
constexpr double widest_m = 1e6;

Point local_mm(Point place, Point origin) {
  return {(place.x - origin.x) * mm_per_m, (place.y - origin.y) * mm_per_m};
}

Spot spot_at(Point mm) {
  return {static_cast<std::int32_t>(std::lround(mm.x)),
          static_cast<std::int32_t>(std::lround(mm.y))};
}

Extent checked_extent(const Samples& samples) {
  Extent extent;
  for (const Sample& sample : samples) {
    const Point p = sample.site.place;
    if (!std::isfinite(p.x) || !std::isfinite(p.y))
      throw std::invalid_argument("a sample to be triangulated has no place");
    extent.include(p);
  }
  if (!extent.empty() && (extent.width() > widest_m || extent.height() > widest_m))
    throw std::invalid_argument("samples to be triangulated are more than 1,000 km apart");
  return extent;
}

struct Total {
  double sum = 0;
  int count = 0;
};

/// What one thread keeps from place to place.
struct Scratch {
  int triangle = 0;
  std::vector<int> around;
  std::vector<int> neighbours;
  std::vector<Point> places;
  NaturalAreas areas;
};

}  // namespace

struct Triangulation::State {
  Point origin;
  Extent extent;
  std::vector<Spot> spots;  ///< ascending
  std::vector<double> values;
  std::unique_ptr<Mesh> mesh;

  std::optional<double> at_sample(Point mm) const;
  double linear_in(const Triangle& triangle, Point mm) const;
  double natural(Point mm, Scratch& scratch) const;
  template <typename Inside>
  std::vector<double> each(std::span<const Point> places, const Work& work,
                           const Inside& inside) const;
};

std::optional<double> Triangulation::State::at_sample(Point mm) const {
  const Spot spot = spot_at(mm);
  const auto found = std::lower_bound(spots.begin(), spots.end(), spot);
  if (found == spots.end() || *found != spot) return std::nullopt;
  return values[static_cast<std::size_t>(found - spots.begin())];
}

double Triangulation::State::linear_in(const Triangle& triangle, Point mm) const {
  double sum = 0;
  double whole = 0;
  for (int i = 0; i < 3; ++i) {
    const double part = delaunay::twice_area(mesh->corner(triangle, (i + 1) % 3),
                                             mesh->corner(triangle, (i + 2) % 3), mm);
    whole += part;
    sum += part * values[size(triangle.corners[size(i)])];
  }
  return sum / whole;
}

/// Where the place is on the edge of the hull its cell has no end, and its value is the one to
/// which natural neighbours tend there: linear between the ends of the edge.
double Triangulation::State::natural(Point mm, Scratch& scratch) const {
  mesh->around(mm, scratch.triangle, scratch.around);
  scratch.neighbours.clear();
  for (const int t : scratch.around) {
    const auto& corners = mesh->triangles()[size(t)].corners;
    scratch.neighbours.insert(scratch.neighbours.end(), corners.begin(), corners.end());
  }
  std::sort(scratch.neighbours.begin(), scratch.neighbours.end());
  scratch.neighbours.erase(std::unique(scratch.neighbours.begin(), scratch.neighbours.end()),
                           scratch.neighbours.end());
  scratch.places.clear();
  for (const int n : scratch.neighbours) {
    const Point p = mesh->places()[size(n)];
    scratch.places.push_back({p.x - mm.x, p.y - mm.y});
  }
  const auto areas = scratch.areas.at_origin(scratch.places);
  double sum = 0;
  double whole = 0;
  for (std::size_t i = 0; areas && i < areas->size(); ++i) {
    whole += (*areas)[i];
    sum += (*areas)[i] * values[size(scratch.neighbours[i])];
  }
  return whole > 0 && std::isfinite(whole)
             ? sum / whole
             : linear_in(mesh->triangles()[size(scratch.triangle)], mm);
}

template <typename Inside>
std::vector<double> Triangulation::State::each(std::span<const Point> places, const Work& work,
                                               const Inside& inside) const {
  std::vector<double> out(places.size(), nan);
  constexpr std::size_t chunk = 256;
  const Extent reach = extent.grown(1 / mm_per_m);
  for_each_chunk(work, places.size(), chunk, [&](std::size_t begin, std::size_t end, int) {
    Scratch scratch;
    for (std::size_t i = begin; i < end; ++i) {
      if (!reach.contains(places[i])) continue;
      const Point mm = local_mm(places[i], origin);
      if (const auto value = at_sample(mm)) {
        out[i] = *value;
        continue;
      }
      const int found = mesh->holding(mm, scratch.triangle);
      if (found < 0) continue;
      scratch.triangle = found;
      out[i] = inside(mm, scratch);
    }
  });
  return out;
}

Triangulation::Triangulation(const Samples& samples) : state_(std::make_unique<State>()) {
  state_->extent = checked_extent(samples);
  if (!state_->extent.empty())
    state_->origin = {std::floor(state_->extent.x_min), std::floor(state_->extent.y_min)};
  std::map<Spot, Total> merged;
  Samples ordered = samples;
  std::sort(ordered.begin(), ordered.end(),
            [](const Sample& a, const Sample& b) { return a.value < b.value; });
  for (const Sample& sample : ordered) {
    Total& total = merged[spot_at(local_mm(sample.site.place, state_->origin))];
    total.sum += sample.value;
    ++total.count;
  }
  for (const auto& [spot, total] : merged) {
    state_->spots.push_back(spot);
    state_->values.push_back(total.sum / total.count);
  }
  state_->mesh = std::make_unique<Mesh>(state_->spots);
}
Triangulation::~Triangulation() = default;
Triangulation::Triangulation(Triangulation&&) noexcept = default;

std::vector<double> Triangulation::linear_at(std::span<const Point> places,
                                             const Work& work) const {
  return state_->each(places, work, [this](Point mm, const Scratch& scratch) {
    return state_->linear_in(state_->mesh->triangles()[size(scratch.triangle)], mm);
  });
}

std::vector<double> Triangulation::natural_neighbour_at(std::span<const Point> places,
                                                        const Work& work) const {
  return state_->each(places, work,
                      [this](Point mm, Scratch& scratch) { return state_->natural(mm, scratch); });
}

}  // namespace evendrip
