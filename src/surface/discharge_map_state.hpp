// SPDX-License-Identifier: Apache-2.0
// What a map of discharge keeps between its making and the drawing of its windows.
#pragma once

#include "evendrip/surface/discharge_map.hpp"
#include "evendrip/surface/fit_limits.hpp"
#include "evendrip/surface/site_map.hpp"

#include "surface_study.hpp"

#include <algorithm>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace evendrip {

/// What one zone has that is mapped by its mean or by inverse distance.
struct PlainZone {
  Prediction mean;  ///< variance: of the mean; NaN for one sample
  std::unique_ptr<InverseDistanceSurface> inverse_distance;
  double mean_square_error = 0;  ///< of inverse distance, leaving out one sample; NaN if none
};

struct DischargeMap::State {
  Grid grid;
  std::vector<std::string> ids;
  std::vector<double> ground_of_emitter_m2;  ///< of each zone; 0 where a spacing is not stated
  Analysis analysis;
  Thresholds thresholds;
  SiteMap sites;
  DischargeSamples samples;
  SurfaceStudy study;
  std::vector<ZoneSurface> zones;
  std::vector<PlainZone> plans;
  std::optional<SurfacePredictor> predictor;
  FitAssurance assurance;  ///< of the fit, where there is a predictor
  Doubts doubts;

  State(const Field& field, const Grid& g) : grid(g), sites(field, g) {}
  int neighbours() const { return std::max(1, analysis.neighbours); }
  bool by_inverse_distance() const { return analysis.method == SurfaceMethod::inverse_distance; }
  ZoneSurface::Method method_of(const ZoneSamples& zone) const;
  std::string why(ZoneSurface::Method method, const ZoneSamples& zone) const;
  void plan_zone(const ZoneSamples& zone);
  void prepare();
  SurfacePredictor::Surfaces values_over(const Window& window, std::span<const Site> sites_there,
                                         const Work& work) const;
  std::string references() const;
  std::string methods() const;
};

}  // namespace evendrip
