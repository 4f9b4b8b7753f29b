// SPDX-License-Identifier: Apache-2.0
// What unevenness costs: how much more must be applied on the mean so that a share of the plants
// gets its need, what that applies in excess, and what is still left short.
//
// Under a normal distribution the factor is 1/(1 - z CV) (from memory of texts on irrigation
// performance); of the sample itself it is 1 over the relative discharge that the share reaches.
// A third form, plugged emitters as a share of their own and the rest normal, stands between.
// Depths in mm, volumes in m3, area in ha. All water that enters the soil counts as received; deep
// percolation below the roots is the excess.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace evendrip {

enum class DepthModel { normal, two_part, empirical };
std::string to_text(DepthModel model);

/// For one share of plants and one model; depths relative to the need.
struct DepthFactor {
  DepthModel model = DepthModel::normal;
  double served_frac = 0;  ///< of plants that shall get their need
  bool possible = false;
  std::string why_not;          ///< "6 % are plugged: no depth serves 95 %"
  double factor = 0;            ///< mean depth applied over the need
  double excess_frac = 0;       ///< mean depth above the need where it is exceeded, over the need
  double deficit_frac = 0;      ///< mean depth missing where it is not reached, over the need
  double short_share_frac = 0;  ///< of plants left short at that factor
  std::optional<double> gross_mm;  ///< a season; only with the season's need
  std::optional<double> excess_mm;
  std::optional<double> excess_m3;  ///< only with the area too
  std::optional<double> deficit_mm;
};

struct DepthOptions {
  std::vector<double> served_frac = {0.80, 0.90, 0.95};
  std::optional<double> season_need_mm;
  std::optional<double> area_ha;
};

/// One step of the plot of sorted discharges against the cumulated share of the area.
struct SortedDischarge {
  double share_from_frac = 0;
  double share_to_frac = 0;
  double discharge_lph = 0;
  double relative = 0;         ///< over the mean
  double normal_relative = 0;  ///< of the fitted normal at the middle of the step, not below 0
};

struct DepthResult {
  bool computed = false;
  std::string why_not;
  std::string remark;
  double mean_lph = 0;
  double cv = 0;            ///< of all, by weight, with n - 1
  double plugged_frac = 0;  ///< by weight
  double running_cv = 0;
  std::vector<DepthFactor> uncorrected;  ///< mean depth = need, by each model
  std::vector<DepthFactor> factors;      ///< by share, then by model
  std::vector<SortedDischarge> sorted;   ///< lowest first
};

/// `area_weights`: the area that each emitter stands for, empty for equal ones; of the same length
/// otherwise (std::invalid_argument). Shares must lie above 0 and below 1 (std::invalid_argument).
/// Data that allow nothing (none, all zero, a negative or infinite value) give why_not.
DepthResult depth_result(std::span<const double> discharges_lph,
                         std::span<const double> area_weights, const DepthOptions& options = {});

/// 1/(1 - z CV) with z of the share; nothing where 1 - z CV is not above 0.
std::optional<double> normal_depth_factor(double cv, double served_frac);
/// Factors by which run times are raised in practice, from low-quarter uniformity: 1/DU (most
/// crops) and 1/(0.4 + 0.6 DU) (landscapes); from memory. Nothing for a uniformity of 0.
std::optional<double> low_quarter_run_time_factor(double low_quarter_frac);
std::optional<double> landscape_run_time_factor(double low_quarter_frac);

}  // namespace evendrip
