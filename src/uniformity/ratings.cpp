// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/ratings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <utility>

namespace evendrip {
namespace {

// Printed limits carry two digits; figures that meet one up to rounding lie in the better class.
constexpr double rounding = 1e-9;
constexpr double no_end = std::numeric_limits<double>::infinity();

RatingTable statistical_ep458() {
  return {RatingTableId::statistical_ep458,
          "statistical uniformity",
          "ASAE EP458 (from memory)",
          true,
          {{"excellent", 0.95, 1.00},
           {"good", 0.85, 0.90},
           {"fair", 0.75, 0.80},
           {"poor", 0.65, 0.70},
           {"unacceptable", 0, 0.60}}};
}

RatingTable low_quarter_ep458() {
  return {RatingTableId::low_quarter_ep458,
          "low-quarter uniformity",
          "ASAE EP458 (from memory)",
          true,
          {{"excellent", 0.94, 1.00},
           {"good", 0.81, 0.87},
           {"fair", 0.68, 0.75},
           {"poor", 0.56, 0.62},
           {"unacceptable", 0, 0.50}}};
}

RatingTable statistical_bralts() {
  return {RatingTableId::statistical_bralts,
          "statistical uniformity",
          "Bralts 1986 (from memory)",
          true,
          {{"excellent", 0.90, 1.00},
           {"very good", 0.80, 0.90},
           {"fair", 0.70, 0.80},
           {"poor", 0.60, 0.70},
           {"unacceptable", 0, 0.60}}};
}

RatingTable emission_merriam_keller() {
  return {RatingTableId::emission_merriam_keller,
          "field emission uniformity",
          "Merriam & Keller 1978 (from memory)",
          true,
          {{"excellent", 0.90, 1.00, false},
           {"good", 0.80, 0.90},
           {"fair", 0.70, 0.80},
           {"poor", 0, 0.70}}};
}

RatingTable emission_capra_scicolone() {
  return {RatingTableId::emission_capra_scicolone,
          "emission uniformity",
          "Capra & Scicolone 1998 (from memory)",
          true,
          {{"high", 0.84, 1.00, false}, {"mean", 0.66, 0.84}, {"low", 0, 0.66}}};
}

RatingTable statistical_capra_scicolone() {
  return {RatingTableId::statistical_capra_scicolone,
          "statistical uniformity",
          "Capra & Scicolone 1998 (from memory)",
          true,
          {{"high", 0.89, 1.00, false}, {"mean", 0.71, 0.89}, {"low", 0, 0.71}}};
}

RatingTable flow_variation_wu_gitlin() {
  return {RatingTableId::flow_variation_wu_gitlin,
          "flow variation",
          "Wu & Gitlin (from memory)",
          false,
          {{"desirable", 0.10, 0, false}, {"acceptable", 0.20, 0.10}, {"not acceptable", 1, 0.20}}};
}

RatingTable point_emitter_cv_ep405() {
  return {RatingTableId::point_emitter_cv_ep405,
          "manufacturing CV of point sources",
          "ASAE EP405 (from memory)",
          false,
          {{"excellent", 0.05, 0, false},
           {"average", 0.07, 0.05},
           {"marginal", 0.11, 0.07},
           {"poor", 0.15, 0.11},
           {"unacceptable", no_end, 0.15}}};
}

RatingTable line_emitter_cv_ep405() {
  return {RatingTableId::line_emitter_cv_ep405,
          "manufacturing CV of line sources",
          "ASAE EP405 (from memory)",
          false,
          {{"good", 0.10, 0, false},
           {"average", 0.20, 0.10},
           {"marginal to unacceptable", no_end, 0.20}}};
}

/// How far a figure falls short of a limit, whichever way is better.
double shortfall(const RatingTable& table, double limit, double figure) {
  return table.more_is_better ? limit - figure : figure - limit;
}

/// The limit that a figure must reach to lie in a class or a better one.
double reach_of(const RatingTable& table, std::size_t index, GapRule rule) {
  const double printed = table.classes[index].worse;
  if (rule == GapRule::worse_class || index + 1 == table.classes.size()) return printed;
  return 0.5 * (printed + table.classes[index + 1].better);
}

bool reaches(const RatingTable& table, std::size_t index, double figure, GapRule rule) {
  const double limit = reach_of(table, index, rule);
  const bool inside = table.classes[index].worse_inside || limit != table.classes[index].worse;
  return shortfall(table, limit, figure) <= (inside ? rounding : -rounding);
}

std::size_t class_of(const RatingTable& table, double figure, GapRule rule) {
  for (std::size_t i = 0; i + 1 < table.classes.size(); ++i) {
    if (reaches(table, i, figure, rule)) return i;
  }
  return table.classes.size() - 1;
}

/// Index of the class above the gap that holds the figure.
std::optional<std::size_t> gap_of(const RatingTable& table, double figure) {
  for (std::size_t i = 0; i + 1 < table.classes.size(); ++i) {
    if (shortfall(table, table.classes[i].worse, figure) > rounding &&
        shortfall(table, table.classes[i + 1].better, figure) < -rounding) {
      return i;
    }
  }
  return std::nullopt;
}

std::string why_not_rated(const RatingTable& table, double figure) {
  if (!std::isfinite(figure)) return "the figure is not known";
  if (figure < -rounding) return table.measure + " below 0 is in no class";
  const bool without_end = table.classes.back().worse == no_end;
  if (!without_end && figure > 1 + rounding) return table.measure + " above 100 % is in no class";
  return "";
}

std::string gap_text(const RatingTable& table, std::size_t above, double figure, GapRule rule) {
  const RatingClass& better = table.classes[above];
  const RatingClass& worse = table.classes[above + 1];
  return fmt::format("{:.1f} % lies between the printed {} ({:.0f} %) and {} ({:.0f} %): {}",
                     100 * figure, better.name, 100 * better.worse, worse.name, 100 * worse.better,
                     to_text(rule));
}

std::string joined(const std::vector<std::string>& names) {
  std::string text;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) text += i + 1 == names.size() ? " and " : ", ";
    text += names[i];
  }
  return text;
}

}  // namespace

std::string to_text(GapRule rule) {
  return rule == GapRule::worse_class
             ? "values between two printed classes go to the worse one"
             : "values between two printed classes go to the nearer one, the middle to the better";
}

bool RatingTable::has_gaps() const {
  for (std::size_t i = 0; i + 1 < classes.size(); ++i) {
    if (classes[i].worse != classes[i + 1].better) return true;
  }
  return false;
}

RatingTable rating_table(RatingTableId id) {
  switch (id) {
    case RatingTableId::low_quarter_ep458:
      return low_quarter_ep458();
    case RatingTableId::statistical_bralts:
      return statistical_bralts();
    case RatingTableId::emission_merriam_keller:
      return emission_merriam_keller();
    case RatingTableId::emission_capra_scicolone:
      return emission_capra_scicolone();
    case RatingTableId::statistical_capra_scicolone:
      return statistical_capra_scicolone();
    case RatingTableId::flow_variation_wu_gitlin:
      return flow_variation_wu_gitlin();
    case RatingTableId::point_emitter_cv_ep405:
      return point_emitter_cv_ep405();
    case RatingTableId::line_emitter_cv_ep405:
      return line_emitter_cv_ep405();
    case RatingTableId::statistical_ep458:
      break;
  }
  return statistical_ep458();
}

std::vector<RatingTableId> all_rating_tables() {
  return {RatingTableId::statistical_ep458,        RatingTableId::low_quarter_ep458,
          RatingTableId::statistical_bralts,       RatingTableId::emission_merriam_keller,
          RatingTableId::emission_capra_scicolone, RatingTableId::statistical_capra_scicolone,
          RatingTableId::flow_variation_wu_gitlin, RatingTableId::point_emitter_cv_ep405,
          RatingTableId::line_emitter_cv_ep405};
}

Rating rating_of(const RatingTable& table, double figure, GapRule rule) {
  Rating rating;
  rating.table_source = table.source;
  rating.why_not = why_not_rated(table, figure);
  if (!rating.why_not.empty()) {
    rating.text = "not rated: " + rating.why_not;
    return rating;
  }
  rating.rated = true;
  const std::size_t index = class_of(table, figure, rule);
  rating.class_index = static_cast<int>(index);
  rating.class_name = table.classes[index].name;
  rating.text = rating.class_name;
  if (const auto above = gap_of(table, figure)) {
    rating.in_gap = true;
    rating.gap_text = gap_text(table, *above, figure, rule);
  }
  return rating;
}

Rating rating_of(const RatingTable& table, double figure, double lower, double upper,
                 GapRule rule) {
  Rating rating = rating_of(table, figure, rule);
  if (!rating.rated) return rating;
  if (!std::isfinite(lower)) lower = 0;
  if (!std::isfinite(upper)) upper = table.classes.back().worse == no_end ? no_end : 1;
  const auto [least, most] = std::minmax({lower, figure, upper});
  const std::size_t a = class_of(table, least, rule);
  const std::size_t b = class_of(table, most, rule);
  for (std::size_t i = std::min(a, b); i <= std::max(a, b); ++i) {
    if (static_cast<int>(i) != rating.class_index) {
      rating.not_excluded.push_back(table.classes[i].name);
    }
  }
  rating.limits_given = true;
  if (!rating.not_excluded.empty()) {
    rating.text += "; " + joined(rating.not_excluded) + " cannot be excluded";
  }
  return rating;
}

RecommendedRange recommended_design_uniformity(EmitterKind kind, Ground ground) {
  const std::string source = "ASAE EP405 (from memory)";
  const bool uniform = ground == Ground::uniform;
  switch (kind) {
    case EmitterKind::close_point_source:
      return uniform ? RecommendedRange{0.85, 0.90, source} : RecommendedRange{0.80, 0.90, source};
    case EmitterKind::line_source:
      return uniform ? RecommendedRange{0.80, 0.90, source} : RecommendedRange{0.70, 0.85, source};
    case EmitterKind::wide_point_source:
      break;
  }
  return uniform ? RecommendedRange{0.90, 0.95, source} : RecommendedRange{0.85, 0.90, source};
}

}  // namespace evendrip
