// SPDX-License-Identifier: Apache-2.0
// What the parts of an evaluation sheet share: the page, its inks, the table. Private to this room.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "canvas.hpp"
#include "evendrip/maps/evaluation_sheet.hpp"
#include "symbols.hpp"

namespace evendrip::evaluation_layout {

constexpr TextSize a4{595.276, 841.890};
constexpr double margin = 28;
constexpr double left = margin;
constexpr double right = a4.width - margin;
constexpr double width = right - left;
constexpr double gap = 10;
inline const Colour ink{0.08, 0.08, 0.08, 1};
inline const Colour soft{0.32, 0.32, 0.32, 1};
inline const StrokeStyle rule_stroke{{0.55, 0.55, 0.55, 1}, 0.6, {}};
inline const StrokeStyle hair_stroke{{0.82, 0.82, 0.82, 1}, 0.5, {}};

inline TextStyle plain(double size_pt, double width_pt = 0) {
  TextStyle style{.size_pt = size_pt, .colour = ink};
  style.width_pt = width_pt;
  return style;
}

inline TextStyle bold(double size_pt, double width_pt = 0) {
  TextStyle style = plain(size_pt, width_pt);
  style.weight = Weight::bold;
  return style;
}

inline TextStyle softened(TextStyle style) {
  style.colour = soft;
  return style;
}

void line_across(const Canvas& canvas, double y, double from, double to,
                 const StrokeStyle& stroke = rule_stroke);

/// Heads of columns and the rows below them; a row without cells is a heading.
struct TableText {
  std::vector<std::string> columns;
  std::vector<EvaluationRow> rows;
};

struct DrawnTable {
  double bottom = 0;
  std::vector<EvaluationRow> rest;  ///< rows without room, led by their heading
};

/// In the largest type in which all rows have room above `bottom`, else in the smallest, as far as
/// whole groups have room. `first_on_page`: a group too high for a page is parted, at least one row
/// is drawn.
enum class TablePlace { below_others, first_on_page };
DrawnTable draw_table(Canvas& canvas, const TableText& table, double top, double bottom,
                      TablePlace place);
enum class TableType { usual, smallest };
double table_height(Canvas& canvas, const TableText& table, TableType type);

}  // namespace evendrip::evaluation_layout
