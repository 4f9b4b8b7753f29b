// SPDX-License-Identifier: Apache-2.0
// What a first survey foresees of later ones: possible zones, and the half-widths of the two-part
// limits of surveys in them.
#pragma once

#include <string>
#include <vector>

#include "evendrip/uniformity/survey_plan.hpp"

#include "possible_zones.hpp"
#include "shapes_of_runners.hpp"

namespace evendrip {

class SurveyOutlook {
 public:
  SurveyOutlook(const EmitterSample& first, PlannedMeasure measure, const PlanOptions& options);
  /// Empty where surveys can be foreseen.
  const std::string& why_not() const { return why_not_; }
  const PlanComponents& runner_components() const { return components_; }

  /// Half-width in each possible zone of a survey of m laterals with k emitters on each, infinite
  /// where its limits could not be told.
  std::vector<double> half_widths(int laterals, int emitters_on_each) const;
  /// True where the promised share of them is as narrow as wanted.
  bool reaches(int laterals, int emitters_on_each) const;

 private:
  /// A zone that is possible: its plugged emitters, and the runners as multiples of what was seen.
  struct Possible {
    PluggedZone plugged;
    double between = 0;
    double within = 0;
    double shift = 0;  ///< of the runners' shape, on its scale
  };
  void find_runners(const EmitterSample& first);
  void draw_possible(const PluggedCounts& counts);
  double foreseen(std::size_t number, int laterals, int emitters_on_each) const;
  double runner_error(const Possible& zone, double share, double m, double k, double scatter) const;
  double value_at(double share, double shift) const;

  PlannedMeasure measure_;
  Shape shape_;
  PlanOptions options_;
  std::string why_not_;
  Runners runners_;
  PlanComponents components_;
  double laterals_ = 0;          ///< of the first survey, with runners
  double emitters_each_ = 0;     ///< runners on one of them
  double scale_slope_ = 1;       ///< change of the measure along the scale of its shape
  double spread_alone_ = 0;      ///< standard error of independent runners without plugged ones
  std::vector<double> spreads_;  ///< the same beside a plugged share, over the one without
  std::vector<Possible> zones_;
};

}  // namespace evendrip
