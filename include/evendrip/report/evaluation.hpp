// SPDX-License-Identifier: Apache-2.0
// The evaluation of a survey that a specialist signs: how even the emitters of each zone and of the
// field are and how sure that is, what plants receive, what the variation is made of, the rating
// and what the limits leave of it, whether enough was dug, and what unevenness costs.
//
// Figures come from room uniformity, in canonical units; ratios are fractions. Here they are put
// together, told as text and JSON, and laid on the sheet (maps/evaluation_sheet.hpp).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/field/agronomy.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/maps/evaluation_sheet.hpp"
#include "evendrip/survey/survey.hpp"
#include "evendrip/uniformity/depth.hpp"
#include "evendrip/uniformity/limits.hpp"
#include "evendrip/uniformity/measures.hpp"
#include "evendrip/uniformity/ratings.hpp"
#include "evendrip/uniformity/sample_size.hpp"
#include "evendrip/uniformity/schedule.hpp"
#include "evendrip/uniformity/variation.hpp"

namespace evendrip {

/// From the supply end of a lateral; both ends belong to it.
struct StationRange {
  double from_m = 0;
  double to_m = 0;
};

/// Emitters by where they stand: in any of the zones, on any of the laterals, within the stations.
/// What is empty restricts nothing.
struct Selection {
  std::string text;           ///< "laterals Z1-20..Z1-26; 100 to 150 m from the supply end"
  std::vector<int> zones;     ///< indices into Field::zones
  std::vector<int> laterals;  ///< indices into Field::laterals
  std::optional<StationRange> stations;
  bool holds(const Site& site) const;
};

/// By ids: "Z1"; "Z1-04" or "Z1-04..Z1-09", from one lateral to another of its zone in the order of
/// the laterals' layer. Throws InputError for an id that the field does not have, a range that runs
/// backwards or over zones, a selection that holds no part of any lateral.
Selection selected(const Field& field, const std::vector<std::string>& zones,
                   const std::vector<std::string>& laterals,
                   const std::optional<StationRange>& stations);

struct EvaluationOptions {
  QuarterRule rule = QuarterRule::fractional;
  double confidence = 0.95;
  int draws = 4000;
  std::uint64_t seed = 1;
  double half_width_frac = 0.05;       ///< wanted on low-quarter uniformity, absolute
  double mean_half_width_frac = 0.05;  ///< wanted on the mean, relative to it
  std::optional<Selection> selection;  ///< to be told beside the zones and the field
};

/// One level: the emitters themselves, or plants that several emitters share.
struct EvaluatedLevel {
  int count = 0;        ///< emitters, or plants
  int each = 1;         ///< emitters that a plant shares
  bool told = false;    ///< two or more, not all without water
  std::string why_not;  ///< a plain sentence where not told
  double mean_lph = 0;
  double cv = 0;
  double low_quarter_frac = 0;            ///< by the rule chosen
  double corrected_low_quarter_frac = 0;  ///< less what a sample of this size flatters
  double low_quarter_floor_frac = 0;      ///< by the other rules
  double low_quarter_ceiling_frac = 0;
  double christiansen_frac = 0;
  double statistical_frac = 0;
  double absolute_emission_frac = 0;
  double flow_variation_frac = 0;
  double two_part_low_quarter_frac = 0;  ///< of the plugged share and the emitters that run
  /// One for each of all_measures; empty where nothing is told.
  std::vector<MeasureLimits> limits;
  const MeasureLimits* limits_of(Measure measure) const;
};

struct RatedFigure {
  std::string figure;  ///< "low-quarter distribution uniformity"
  Rating rating;
};

/// What the depth that was applied leaves, by the discharges measured; shares of the need.
struct AppliedDepth {
  double applied_mm = 0;  ///< of the season, on the mean
  double factor = 0;      ///< over the need
  double short_share_frac = 0;
  double deficit_frac = 0;
  double excess_frac = 0;
};

/// A zone, the whole field, or any other selection of its laterals.
struct EvaluatedPart {
  std::string name;  ///< zone id, "field", "selection"
  int zone = -1;     ///< -1: more than one zone
  double area_ha = 0;
  int laterals = 0;  ///< that were dug on
  int pits = 0;
  int damaged = 0;    ///< by digging: counted, never taken for clogging
  int not_found = 0;  ///< likewise
  double measuring_cv = 0;
  bool rest_on_model = false;  ///< fewer than six laterals
  EmitterSample sample;
  EvaluatedLevel emitters;
  std::optional<EvaluatedLevel> plants;  ///< with [agronomy] emitters_per_root_zone above 1
  std::optional<PluggedShare> plugged;   ///< with one emitter or more
  std::optional<FillTimes> fill_times;   ///< where one container was filled throughout
  std::optional<Variation> variation;    ///< where all its zones have one exponent
  std::vector<RatedFigure> ratings;
  SampleJudgement low_quarter_sample;
  SampleJudgement mean_sample;
  DepthResult depth;
  std::string depth_of;                 ///< "plants" where they are told, else "emitters"
  Schedule schedule;                    ///< what sets apply and how long they must be
  std::optional<AppliedDepth> applied;  ///< with [irrigation] season_depth and a need
  std::vector<std::string> statements;  ///< what can and cannot be concluded, plain sentences
  std::vector<std::string> details;     ///< the same of what the table tells in figures
};

/// Everything one evaluation has found out.
struct Evaluation {
  std::string version;    ///< of the program
  std::string libraries;  ///< versions of what it was built on
  EvaluationOptions options;
  Field field;
  Watering watering;
  Survey survey;
  Expectation expectation;
  std::vector<EvaluatedPart> zones;        ///< in the order of Field::zones
  EvaluatedPart whole;                     ///< the field: zones weighted by their areas
  std::optional<EvaluatedPart> selection;  ///< where options ask for one
  std::vector<std::string> not_computed;
  Doubts doubts;  ///< of all rooms, in the order of the job
};

/// Never fails for what a survey holds: what cannot be told says why.
Evaluation evaluated(Field field, const Watering& watering, Survey survey, Expectation expectation,
                     const EvaluationOptions& options);

/// The emitters of a selection as a part of its own, named "selection": parts of several zones are
/// weighted by the areas that the selected lengths of their laterals stand for.
EvaluatedPart evaluated_selection(const Evaluation& evaluation, const Selection& selection);

/// Discharge of each of Survey::emitters over what is expected there, or over the mean of its zone
/// where nothing is; NaN where it is not usable.
std::vector<double> relative_discharges(const Evaluation& evaluation);

/// "low-quarter distribution uniformity 78 % (66 to 86): fair; good cannot be excluded", or what
/// can be said instead.
std::string verdict_of(const Evaluation& evaluation, const EvaluatedPart& part);

/// The table of a page: figures of the field and of some zones side by side.
struct EvaluationTable {
  std::vector<std::string> columns;
  std::vector<EvaluationRow> rows;
};
/// In full: with the limits by other methods beside the default ones.
enum class TableDetail { page, full };
EvaluationTable evaluation_table(const Evaluation& evaluation,
                                 const std::vector<const EvaluatedPart*>& parts,
                                 TableDetail detail = TableDetail::page);

/// System, emitters, how was measured, counts, what is expected, how limits are drawn.
std::vector<LabelledText> evaluation_facts(const Evaluation& evaluation);

/// What can and cannot be concluded, most important first, each named by its zone.
/// Details tell in words what the table tells in figures.
enum class Conclusions { all, without_details };
std::vector<std::string> conclusions_of(const Evaluation& evaluation,
                                        Conclusions kind = Conclusions::all);
/// Buried utilities, pressure, who decides.
std::vector<std::string> evaluation_cautions();

/// Plain text in the field's report units.
std::string evaluation_text(const Evaluation& evaluation);

/// JSON object with "schema": "evendrip-evaluation/1", every key of which is described in
/// src/report/schemas/evaluation-1.schema.json. Numbers in canonical units, which stand in the keys
/// (_frac, _lph, _kpa, _mm, _m3, _ha); what is unknown is null.
std::string evaluation_json(const Evaluation& evaluation);

/// The sheet with its plots and map, ready to be drawn. The first page holds the field and up to
/// three zones, the least even ones; further pages hold all others on which anything was dug.
EvaluationSheet evaluation_page(const Evaluation& evaluation, const MapResources& resources);

}  // namespace evendrip
