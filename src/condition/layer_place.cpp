// SPDX-License-Identifier: Apache-2.0
#include "layer_place.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "evendrip/base/random.hpp"
#include "evendrip/geo/shapes.hpp"

#include "quick_fit.hpp"

namespace evendrip {
namespace {

constexpr double step = 0.15;  ///< in lateral spacings
constexpr int most_steps = 4;  ///< half a spacing and a step: beyond, it is of the next lateral
constexpr double least_gain = 6;
constexpr double least_alone = 3;  ///< of it, by the crop without any hole
constexpr double laterals_sd_m = 0.5;
constexpr double layer_sd_pixels = 0.5;
constexpr std::size_t enough_data = 2000;
constexpr std::size_t fewest_data = 100;

struct Tried {
  int steps = 0;
  double value = 0;  ///< log posterior
};

/// The places tried so far, best first.
class Places {
 public:
  explicit Places(std::function<std::optional<double>(int)> value_at)
      : value_at_(std::move(value_at)) {}

  void look_at(int steps) {
    const bool known = std::any_of(tried_.begin(), tried_.end(),
                                   [&](const Tried& one) { return one.steps == steps; });
    if (known || std::abs(steps) > most_steps) return;
    if (const auto value = value_at_(steps)) tried_.push_back({steps, *value});
    std::stable_sort(tried_.begin(), tried_.end(),
                     [](const Tried& a, const Tried& b) { return a.value > b.value; });
  }
  const std::vector<Tried>& best_first() const { return tried_; }

 private:
  std::function<std::optional<double>(int)> value_at_;
  std::vector<Tried> tried_;
};

/// The best of those looked at and the next best that is none of its neighbours.
std::vector<int> best_two(const Places& places) {
  std::vector<int> best;
  for (const Tried& one : places.best_first())
    if (best.empty() || (best.size() < 2 && std::abs(one.steps - best.front()) > 2))
      best.push_back(one.steps);
  return best;
}

/// Of every second step and the neighbours of the best two.
std::vector<int> likely_steps(Places& places) {
  for (int steps = -most_steps; steps <= most_steps; steps += 2) places.look_at(steps);
  for (const int steps : best_two(places))
    for (const int by : {-1, 1}) places.look_at(steps + by);
  return best_two(places);
}

}  // namespace

std::optional<LayerPlace> choose_place(const SegmentGrid& grid, const std::vector<HoleDatum>& holes,
                                       const CropByPlace& by_place, const ConditionRanges& ranges,
                                       double pixel_m, const Work& work) {
  if (grid.rows() < 2) return {};
  const std::vector<CropDatum> drawn = by_place(0);
  if (drawn.size() < fewest_data) return {};
  ConditionParameters start;
  start.response = ranges.response.median;
  const auto as_drawn = quick_fit(grid, holes, drawn, ranges, start, work);
  if (!as_drawn) return {};
  const double step_m = step * grid.spacing_m();
  const double sd_m = std::hypot(laterals_sd_m, layer_sd_pixels * pixel_m);
  const auto log_prior = [&](int steps) { return -0.5 * std::pow(steps * step_m / sd_m, 2); };
  const auto data_at = [&](int steps) -> std::optional<std::vector<CropDatum>> {
    if (steps == 0) return drawn;
    std::vector<CropDatum> data = by_place(steps * step_m);
    if (data.size() != drawn.size()) return {};
    return data;
  };
  const auto alone = [&](const std::vector<CropDatum>& data) -> std::optional<double> {
    const auto fit = quick_fit(grid, {}, data, ranges, as_drawn->parameters, work);
    if (!fit) return {};
    return fit->log_posterior;
  };
  Places places([&](int steps) -> std::optional<double> {
    const auto data = data_at(steps);
    if (!data) return {};
    const ZoneModel model = quick_model(grid, holes, *data, ranges);
    const auto value = model.log_likelihood(as_drawn->parameters);
    if (!value) return {};
    return *value + log_prior(steps);
  });
  std::optional<LayerPlace> best;
  std::optional<double> crop_alone;
  for (const int steps : likely_steps(places)) {
    if (steps == 0) continue;
    const auto data = data_at(steps);
    const auto fit = quick_fit(grid, holes, *data, ranges, as_drawn->parameters, work);
    if (!fit) continue;
    const double gain = fit->log_posterior - as_drawn->log_posterior + log_prior(steps);
    if (!(gain > (best ? best->gain : least_gain))) continue;
    if (!crop_alone) crop_alone = alone(drawn);
    const auto moved = alone(*data);
    if (crop_alone && moved && *moved - *crop_alone > least_alone)
      best = LayerPlace{steps * step_m, gain};
  }
  return best;
}

CropEvidence told_everywhere(const CropEvidence& layer, const Field& field,
                             const SegmentGrid& grid) {
  const MultiPolygon& area = field.zones[static_cast<std::size_t>(grid.zone)].area;
  const double most_m = most_steps * step * grid.spacing_m();
  CropEvidence told = part_of(layer, [&](const EvidenceDatum& datum) {
    const double size_m = 0.5 * std::max(datum.along_m, datum.across_m) + 2 * datum.blur_m;
    const double corner_m = std::numbers::sqrt2 * size_m;  // laterals may run aslant of its sides
    const double reach = (most_m + corner_m) * field.scale_factor;
    const auto stays = [&](double by) {
      return contains(area,
                      {datum.place.x + by * grid.across.x, datum.place.y + by * grid.across.y});
    };
    return stays(-reach) && stays(reach);
  });
  const std::size_t every = told.data.size() / enough_data + 1;
  std::size_t i = 0;
  std::erase_if(told.data, [&](const EvidenceDatum&) { return item_seed(1, {i++}) % every != 0; });
  return told;
}

}  // namespace evendrip
