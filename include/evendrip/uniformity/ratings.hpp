// SPDX-License-Identifier: Apache-2.0
// The published classes into which uniformity and emitters are rated, and what confidence limits
// leave of a rating.
//
// The tables are from memory of the publications named in each; a printed table with gaps between
// its classes (95-90) is filled by a stated rule. Figures are fractions.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace evendrip {

enum class RatingTableId {
  statistical_ep458,            ///< statistical uniformity, ASAE EP458
  low_quarter_ep458,            ///< low-quarter or emission uniformity, ASAE EP458
  statistical_bralts,           ///< statistical uniformity, Bralts 1986
  emission_merriam_keller,      ///< field emission uniformity, Merriam & Keller 1978
  emission_capra_scicolone,     ///< emission uniformity, Capra & Scicolone 1998
  statistical_capra_scicolone,  ///< statistical uniformity, Capra & Scicolone 1998
  flow_variation_wu_gitlin,     ///< (largest - smallest) over largest
  point_emitter_cv_ep405,       ///< manufacturing CV of point sources, ASAE EP405
  line_emitter_cv_ep405         ///< manufacturing CV of line sources, ASAE EP405
};

enum class GapRule {
  split_at_middle,  ///< default: the nearer printed class; the middle itself goes to the better
  worse_class       ///< cautious: what falls short of a class belongs to the next worse
};
/// "values between two printed classes go to the nearer one"
std::string to_text(GapRule rule);

/// A class as printed. A limit that two classes share belongs to the better one unless that one is
/// printed with "over" or "under".
struct RatingClass {
  std::string name;
  double worse = 0;
  double better = 0;
  bool worse_inside = true;
};

struct RatingTable {
  RatingTableId id = RatingTableId::statistical_ep458;
  std::string measure;  ///< "statistical uniformity"
  std::string source;   ///< with "from memory"
  bool more_is_better = true;
  std::vector<RatingClass> classes;  ///< best first
  bool has_gaps() const;
};
RatingTable rating_table(RatingTableId id);
std::vector<RatingTableId> all_rating_tables();

struct Rating {
  bool rated = false;
  std::string why_not;  ///< a plain sentence where not rated
  std::string table_source;
  int class_index = -1;
  std::string class_name;
  bool in_gap = false;  ///< the figure lies between two printed classes
  /// Other classes that the confidence limits reach, best first; empty without limits.
  std::vector<std::string> not_excluded;
  bool limits_given = false;
  std::string text;      ///< "good; fair cannot be excluded"
  std::string gap_text;  ///< which gap, filled by which rule; empty if not in one
};

/// Class of a figure alone.
Rating rating_of(const RatingTable& table, double figure, GapRule rule = GapRule::split_at_middle);
/// With confidence limits around the figure, in either order. A limit that is not finite counts as
/// the end of the scale; limits that do not hold the figure are stretched to it.
Rating rating_of(const RatingTable& table, double figure, double lower, double upper,
                 GapRule rule = GapRule::split_at_middle);

enum class EmitterKind { wide_point_source, close_point_source, line_source };
enum class Ground { uniform, steep };  ///< steep or undulating: over 2 %
struct RecommendedRange {
  double lower_frac = 0;
  double upper_frac = 0;
  std::string source;
};
/// Recommended design emission uniformity, ASAE EP405 (from memory). Wide: over 4 m apart.
RecommendedRange recommended_design_uniformity(EmitterKind kind, Ground ground);

}  // namespace evendrip
