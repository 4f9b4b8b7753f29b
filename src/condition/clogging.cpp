// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/clogging.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace evendrip {
namespace {

constexpr int places_tried = 61;
constexpr int most_places = 601;
constexpr double furthest = 6;            ///< standard deviations
constexpr double least_variance = 1e-10;  ///< where nothing passes

double loss_of(const PlaceDelivery& place) {
  if (!(place.passed > 0)) return 0;
  return std::clamp(1 - place.delivery / place.passed, 0.0, 1.0);
}

/// Share that what befell the place has plugged.
double plugged_there(const Clogging& clogging, double loss) {
  return std::clamp(clogging.plugging, 0.0, 1.0) * loss * loss;
}

/// Mean over what the delivery of a place may be.
template <class Of>
double over_places(const PlaceDelivery& mean, double variance, int places, const Of& of) {
  if (!(variance > 0)) return of(mean);
  const double sd = std::sqrt(variance);
  double sum = 0;
  double weights = 0;
  for (int k = 0; k < places; ++k) {
    const double z = furthest * (2.0 * k / (places - 1) - 1);
    const double weight = std::exp(-0.5 * z * z);
    sum += weight * of(PlaceDelivery{std::max(0.0, mean.delivery + sd * z), mean.passed});
    weights += weight;
  }
  return sum / weights;
}

}  // namespace

double plugged_chance(const Clogging& clogging, const PlaceDelivery& place) {
  return clogging.share + (1 - clogging.share) * plugged_there(clogging, loss_of(place));
}

SoundEmitters sound_emitters(const Clogging& clogging, const PlaceDelivery& place,
                             double variance) {
  variance = std::max(variance, least_variance);
  const double loss = loss_of(place);
  if (loss == 0) return {place.delivery, variance};
  const double plugged = plugged_there(clogging, loss);
  const double by_plugged = plugged * clogging.plugged_below / 2;
  const double left = plugged < 1 ? (1 - loss - by_plugged) / (1 - plugged) : 0;
  const double performance = std::clamp(left, 0.0, 1.0);
  const double lost = place.passed * (1 - performance);
  return {place.passed * performance, variance + clogging.spread * lost * lost};
}

double discharge_density(const Clogging& clogging, const PlaceDelivery& place, double variance,
                         double discharge) {
  const double plugged = plugged_chance(clogging, place);
  const SoundEmitters sound = sound_emitters(clogging, place, variance);
  const double off = discharge - sound.mean;
  const double normal = std::exp(-0.5 * off * off / sound.variance) /
                        std::sqrt(2 * std::numbers::pi * sound.variance);
  const double stuck = discharge < clogging.plugged_below ? 1 / clogging.plugged_below : 0;
  return plugged * stuck + (1 - plugged) * normal;
}

double chance_below(const Clogging& clogging, const PlaceDelivery& place, double variance,
                    double discharge) {
  const double plugged = plugged_chance(clogging, place);
  const SoundEmitters sound = sound_emitters(clogging, place, variance);
  const double normal = 0.5 * std::erfc((sound.mean - discharge) / std::sqrt(2 * sound.variance));
  return plugged * std::clamp(discharge / clogging.plugged_below, 0.0, 1.0) +
         (1 - plugged) * normal;
}

double discharge_density(const Clogging& clogging, const PlaceDelivery& mean, double place_variance,
                         double variance, double discharge) {
  const int places = static_cast<int>(8 * furthest * std::sqrt(place_variance / variance));
  return over_places(mean, place_variance, std::clamp(places, places_tried, most_places),
                     [&](const PlaceDelivery& place) {
                       return discharge_density(clogging, place, variance, discharge);
                     });
}

double chance_below(const Clogging& clogging, const PlaceDelivery& mean, double place_variance,
                    double variance, double discharge) {
  return over_places(mean, place_variance, places_tried, [&](const PlaceDelivery& place) {
    return chance_below(clogging, place, variance, discharge);
  });
}

}  // namespace evendrip
