// SPDX-License-Identifier: Apache-2.0
// What a zone's model holds: the unknowns' places, the matrices whose weighted sum is their
// precision given the data, and the factor of the parameters last used.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <numeric>
#include <optional>
#include <span>
#include <stdexcept>
#include <vector>

#include "evendrip/condition/latent_parts.hpp"
#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

/// Where each part begins among the unknowns.
struct Places {
  int level = 0;
  int along = 1;
  int own = 0;
  int group = 0;
  int local = 0;
  int patches = -1;       ///< of r, before the crop's own parts; -1: there is no crop
  int soil_patches = -1;  ///< likewise, of soil
  int aged = -1;  ///< what time did to each lateral, before the crop's own parts; -1: no such part
  int crop_level = 0;
  int edge = -1;    ///< inlet end first; -1: no such part
  int ground = -1;  ///< likewise: what the crop answers to each term of the ground
  int soil_short = 0;
  int soil_long = 0;
  int all = 0;
};

/// What the equations need of a column of crop data: its squares and its transposed products with
/// both kinds of rows.
struct CropSides {
  std::vector<double> water;
  std::vector<double> rest;
  double squares = 0;
};

inline std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

inline double squared(double v) {
  return v * v;
}

inline double dot(std::span<const double> a, std::span<const double> b) {
  return std::inner_product(a.begin(), a.end(), b.begin(), 0.0);
}

inline void require(bool sound, const char* what) {
  if (!sound) throw std::invalid_argument(what);
}

/// The value of an optional that has one by now.
template <class Value>
const Value& held(const std::optional<Value>& value) {
  if (!value) throw std::logic_error("a value is asked for before it is there");
  return *value;
}

template <class Value>
Value& held(std::optional<Value>& value) {
  if (!value) throw std::logic_error("a value is asked for before it is there");
  return *value;
}

/// Terms of the precision given the data, in the order in which they are added up.
struct ZoneModel::State {
  enum Term {
    level,
    along,
    own,
    group,
    local,
    crop_level,
    soil_short,
    soil_long,
    aged,
    edge,
    ground,
    patch,
    soil_patch,
    water_water,
    water_rest,
    rest_rest,
    hole_hole,
    pattern,
    terms
  };

  SegmentGrid grid;
  std::vector<HoleDatum> holes;   ///< as they enter the equations
  std::vector<HoleDatum> caught;  ///< as given
  Places places;
  double aged_sd = 1;  ///< of no effect without the part
  ResponsePrior response_prior;
  std::size_t crop_count = 0;
  int laterals_seen = 1;
  std::vector<SparseMatrix> matrices;
  std::array<SparseMatrix, 2> unwidened;         ///< own and local part at width 1
  std::array<double, terms> log_determinants{};  ///< of the parts with variance 1
  std::array<int, terms> sizes{};
  std::vector<double> widths;  ///< of each lateral; empty: 1
  std::vector<SharpPatch> patches;
  std::vector<std::vector<double>> patch_shares;  ///< of each: how much of each segment is in it
  SparseMatrix hole_rows;
  SparseMatrix segment_rows;
  SparseMatrix even_soil;      ///< crop data x unknowns, soil parts alone, without sharp patches
  SparseMatrix even_rest;      ///< crop data x unknowns, what is not r, likewise
  SparseMatrix soil_rows;      ///< crop data x unknowns, soil parts alone
  SparseMatrix edge_rows;      ///< crop data x unknowns, the edge part alone
  SparseMatrix ground_rows;    ///< crop data x unknowns, the ground part alone
  SparseMatrix water_rows;     ///< crop data x unknowns, parts of r alone
  SparseMatrix rest_rows;      ///< crop data x unknowns, what is not r
  SparseMatrix crop_segments;  ///< crop data x segments, by the slope of a bent response
  std::vector<double> crop_values;
  std::vector<double> crop_stations_m;      ///< of each crop datum; NaN: not known
  std::vector<double> crop_lengths_m;       ///< likewise, along the laterals
  std::vector<double> crop_weights;         ///< of crop_segments, each share of water as it is
  std::vector<std::uint8_t> sees_laterals;  ///< of each crop datum
  std::vector<double> bend_slopes;   ///< of each segment, about its delivery; empty: straight
  std::vector<double> bend_offsets;  ///< likewise
  std::vector<double> plugged;       ///< of each segment: share of emitters; empty: none
  double plugged_pass = 0;           ///< what each of those gives
  /// Of each crop datum: what a bent response and plugged emitters add to slope x (r - 1).
  std::vector<double> crop_offsets;
  std::vector<double> known_change;  ///< of delivery, of each segment; empty: none
  CropSides value_sides;
  CropSides change_sides;
  double values_by_changes = 0;
  std::optional<SparseSum> sum;
  std::optional<SparseCholesky> factor;  ///< of the parameters last used

  /// What was solved last: asked again, it is not solved again.
  struct Solved {
    ConditionParameters parameters;
    std::vector<double> hole_weights;
    std::vector<double> mean;
    double log_likelihood = 0;
  };
  std::optional<Solved> solved;

  /// One or none.
  std::vector<ZoneModel> coarser;

  State(SegmentGrid grid, std::vector<HoleDatum> holes, const std::vector<CropDatum>& crop,
        const ConditionRanges& ranges, double soil_steps_in_range);
  void add_part(Term term, const Precision& part, int place);
  void set_priors(const ConditionRanges& ranges, const SoilMesh& near, const SoilMesh& far);
  /// Own and local part by the widths.
  void widen(std::vector<double> by_lateral);
  void set_crop(const std::vector<CropDatum>& crop, const SoilMesh& near, const SoilMesh& far);
  void set_holes();
  void set_patches(std::vector<SharpPatch> there);
  /// How much of what a hole or a crop datum sees is in a patch.
  double share_at(const HoleDatum& hole, const SharpPatch& sharp,
                  std::span<const double> share_of_segment) const;
  double share_of_crop(int row, std::span<const double> weights, const SharpPatch& sharp,
                       std::span<const double> share_of_segment) const;
  /// Entries of a patch in rows of the crop, in its column from the first.
  void add_to_crop(std::size_t which, int first, std::span<const double> weights,
                   std::vector<SparseEntry>& entries) const;
  /// A change of delivery as the data see it.
  struct SeenChange {
    std::vector<double> at_holes;
    std::vector<double> by_crop;  ///< empty: the crop is not asked
  };
  /// Each is asked for when its turn comes, so that one at a time is held.
  std::vector<ResponseTest> tested(const ConditionParameters& p, std::size_t changes,
                                   const std::function<SeenChange(std::size_t)>& seen_of,
                                   std::span<const double> hole_weights);
  /// r of a segment in a row among all unknowns, but for sharp patches.
  void add_water(int row, int segment, double weight, std::vector<SparseEntry>& entries,
                 bool single_laterals = true) const;
  /// A segment's water in a row of the crop, with what time did to it.
  void add_seen(int row, int segment, double weight, std::vector<SparseEntry>& entries) const;
  CropSides sides_of(std::span<const double> crop_column) const;
  std::vector<double> hole_precisions(const ConditionParameters& p,
                                      std::span<const double> hole_weights) const;
  /// Rows of the crop's soil and of all that is not r.
  void see_soil();
  /// Rows of the crop's water, from crop_segments, and all that follows from them.
  void see_water();
  void know_change(std::vector<double> change);
  /// Slope and offset of the response to r at each segment, by its bend and the plugged emitters.
  void respond();
  double delivered(std::size_t segment, double r) const {
    return plugged.empty() ? r : r - plugged[segment] * (r - plugged_pass);
  }
  /// What is known of each crop datum's water: the known change and the offset of a bent response.
  bool knows_of_crop() const { return !known_change.empty() || !crop_offsets.empty(); }
  std::vector<double> known_of_crop() const;
  double change_at(const HoleDatum& hole) const {
    return known_change.empty() ? 0 : known_change[at(grid.segment(hole.row, hole.station))];
  }
  /// The parts of such unknowns; r without 1 and the known change.
  ConditionEstimate parts_of(const std::vector<double>& unknowns) const;
  /// Leaves the factor and `solved`; nothing where the equations cannot be solved.
  const Solved* solve(const ConditionParameters& p, std::span<const double> hole_weights);
};

}  // namespace evendrip
