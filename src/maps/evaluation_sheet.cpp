// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/evaluation_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evaluation_layout.hpp"
#include "furniture.hpp"
#include "map_frame.hpp"
#include "sheet_parts.hpp"

namespace evendrip {
namespace {

using namespace evaluation_layout;

constexpr double signature_height = 38;  ///< with the foot below it
constexpr double foot_height = 14;
constexpr double facts_width = 250;
constexpr double text_middle = left + width * 0.69;  ///< between conclusions and cautions
constexpr double plot_height = 118;
constexpr double low_plot_height = 98;  ///< where the first page is short of room
const Colour band{0.925, 0.935, 0.945, 1};

void fill(const Canvas& canvas, const PaperBox& box, const Colour& colour) {
  cairo_rectangle(canvas.context(), box.left, box.top, box.right - box.left, box.bottom - box.top);
  canvas.set_colour(colour);
  cairo_fill(canvas.context());
}

/// Returns where the next part may begin.
double draw_head(Canvas& canvas, const EvaluationSheet& sheet) {
  TextStyle title = bold(14, width);
  title.height_pt = 1;
  canvas.draw_text(left, margin - 8, sheet.title, title);
  TextStyle name = plain(9.5, width);
  name.height_pt = 1;
  name.colour = soft;
  std::string under = sheet.field;
  if (!sheet.survey.empty()) under += ", " + sheet.survey;
  if (!sheet.date.empty()) under += ", " + sheet.date;
  canvas.draw_text(left, margin + 10, under, name);

  const double top = margin + 25;
  TextStyle verdict = bold(10, width - 16);
  TextStyle reading = plain(7.2, width - 16);
  const double height =
      canvas.text_size(sheet.verdict, verdict).height +
      (sheet.reading.empty() ? 0 : canvas.text_size(sheet.reading, reading).height + 2) + 10;
  fill(canvas, {left, top, right, top + height}, band);
  fill(canvas, {left, top, left + 3, top + height}, {0.03, 0.25, 0.50, 1});
  const double below =
      top + 5 + canvas.draw_text(left + 10, top + 5, sheet.verdict, verdict).height;
  if (!sheet.reading.empty()) canvas.draw_text(left + 10, below + 2, sheet.reading, reading);
  return top + height + 7;
}

double draw_facts(Canvas& canvas, const EvaluationSheet& sheet, double top, double within) {
  constexpr double name_width = 56;
  double y = top;
  for (const auto& [name, text] : sheet.facts) {
    TextStyle label = plain(6.8, name_width);
    label.colour = soft;
    const TextStyle value = plain(6.8, within - name_width - 4);
    const double a = canvas.draw_text(left, y, name, label).height;
    const double b = canvas.draw_text(left + name_width + 4, y, text, value).height;
    y += std::max(a, b) + 1.6;
  }
  return y;
}

/// What must be seen, centred in the box.
MapFrame inset_frame(const Sheet& map, const PaperBox& box) {
  MapFrame frame;
  frame.paper = box;
  const double box_width = box.right - box.left, box_height = box.bottom - box.top;
  const double per_point = std::max(std::max(map.extent.width(), 1.0) * 1.08 / box_width,
                                    std::max(map.extent.height(), 1.0) * 1.08 / box_height);
  const Point centre{(map.extent.x_min + map.extent.x_max) / 2,
                     (map.extent.y_min + map.extent.y_max) / 2};
  frame.world = {centre.x - box_width * per_point / 2, centre.y - box_height * per_point / 2,
                 centre.x + box_width * per_point / 2, centre.y + box_height * per_point / 2};
  return frame;
}

/// Marks of the classes that are on the map, in rows; returns the height used.
double draw_map_key(Canvas& canvas, const Sheet& map, const PaperBox& box) {
  constexpr double row = 9.5, swatch = 10;
  double x = box.left, y = box.top;
  for (const Drawing& drawing : map.drawings) {
    const auto* points = std::get_if<PointsDrawing>(&drawing);
    if (points == nullptr || points->classes.empty()) continue;
    for (const StyleRule& rule : points->style.rules) {
      const auto shown = std::count(points->classes.begin(), points->classes.end(), rule.name);
      if (shown == 0 || !rule.mark) continue;
      const std::string text = fmt::format("{} ({})", rule.title, shown);
      const double wide = swatch + canvas.text_size(text, plain(6.4)).width + 9;
      if (x > box.left && x + wide - 9 > box.right) {
        x = box.left;
        y += row;
      }
      draw_mark(canvas, {x + swatch / 2 - 1, y + row / 2}, *rule.mark);
      canvas.draw_text(x + swatch, y + 0.8, text, plain(6.4));
      x += wide;
    }
  }
  return y + row - box.top;
}

void draw_inset(Canvas& canvas, const Sheet& map, const PaperBox& box) {
  constexpr double below = 48;
  const MapFrame frame = inset_frame(map, {box.left, box.top, box.right, box.bottom - below});
  draw_map(canvas, frame, map.drawings);
  cairo_rectangle(canvas.context(), frame.paper.left, frame.paper.top,
                  frame.paper.right - frame.paper.left, frame.paper.bottom - frame.paper.top);
  stroke_path(canvas, rule_stroke);
  const double key = draw_map_key(
      canvas, map, {box.left, frame.paper.bottom + 3, box.right, frame.paper.bottom + 24});
  const double y = frame.paper.bottom + 3 + key + 1;
  draw_scale_bar(canvas, frame, {box.left + 5, y}, 96, map);
  draw_north_arrow(canvas, {box.right - 92, y + 1}, map.convergence_deg);
}

/// Facts at the left, map at the right.
double draw_upper(Canvas& canvas, const EvaluationSheet& sheet, double top) {
  if (!sheet.map) return draw_facts(canvas, sheet, top, width) + 5;
  const double bottom = std::max(draw_facts(canvas, sheet, top, facts_width), top + 160);
  draw_inset(canvas, *sheet.map, {left + facts_width + gap, top, right, bottom});
  return bottom + 5;
}

void draw_plots(Canvas& canvas, const std::vector<Plot>& plots, double top,
                double height = plot_height) {
  if (plots.empty()) return;
  const auto count = static_cast<double>(plots.size());
  const double each = (width - gap * (count - 1)) / count;
  for (std::size_t i = 0; i < plots.size(); ++i) {
    const double x = left + static_cast<double>(i) * (each + gap);
    draw_plot(canvas, {x, top, x + each, top + height}, plots[i]);
  }
}

double texts_height(Canvas& canvas, std::span<const std::string> texts, const TextStyle& style) {
  double height = 0;
  for (const std::string& text : texts) height += canvas.text_size(text, style).height + 1.2;
  return height;
}

/// A heading and its texts in one column, the largest type that holds all of them; returns how many
/// were drawn.
std::size_t draw_texts(Canvas& canvas, const std::string& heading,
                       std::span<const std::string> texts, const PaperBox& box) {
  constexpr double usual_pt = 6.6, smallest_pt = 5.7;
  if (texts.empty()) return 0;
  double y = box.top + canvas.draw_text(box.left, box.top, heading, bold(7.2)).height + 1;
  TextStyle style = plain(usual_pt, box.right - box.left - 7);
  while (style.size_pt > smallest_pt && texts_height(canvas, texts, style) > box.bottom - y) {
    style.size_pt -= 0.1;
  }
  const bool all = texts_height(canvas, texts, style) <= box.bottom - y;
  if (!all) style.size_pt = usual_pt;
  const double told =
      all ? 0 : 1.3 * style.size_pt;  // room for the line that says where the rest is
  std::size_t drawn = 0;
  for (const std::string& text : texts) {
    const double height = canvas.text_size(text, style).height + 1.2;
    if (!all && y + height > box.bottom - told) break;
    canvas.draw_text(box.left, y, "–", style);
    canvas.draw_text(box.left + 7, y, text, style);
    y += height;
    ++drawn;
  }
  if (drawn < texts.size()) {
    canvas.draw_text(box.left, y, fmt::format("{} more on the next page", texts.size() - drawn),
                     style);
  }
  return drawn;
}

void draw_signature(Canvas& canvas) {
  const double y = a4.height - margin - 18;
  struct Place {
    const char* what;
    double from, to;
  };
  for (const Place& place : {Place{"Evaluated by (name, signature)", left, left + 230},
                             Place{"Licence or certificate", left + 245, left + 400},
                             Place{"Date", left + 415, right}}) {
    line_across(canvas, y, place.from, place.to);
    canvas.draw_text(place.from, y + 2, place.what, softened(plain(6.4)));
  }
}

/// Draws page after page. How many there are is known only after a first pass: 0 meanwhile.
class Pages {
 public:
  Pages(Canvas& canvas, const EvaluationSheet& sheet, int in_all, int only)
      : canvas_(canvas), sheet_(sheet), in_all_(in_all), only_(only) {}

  int draw() {
    begin();
    first_page();
    for (const EvaluationBlock& block : sheet_.further) block_below(block);
    end();
    return page_;
  }

 private:
  /// On a picture only one page shows.
  void begin() {
    cairo_reset_clip(canvas_.context());
    if (only_ > 0 && page_ != only_) {
      cairo_rectangle(canvas_.context(), 0, 0, 0, 0);
      cairo_clip(canvas_.context());
    }
    canvas_.set_colour({1, 1, 1, 1});
    cairo_paint(canvas_.context());
  }

  void end() {
    TextStyle style = softened(plain(5.8, width - 60));
    style.height_pt = 1;
    canvas_.draw_text(left, a4.height - margin + 2, sheet_.foot, style);
    if (in_all_ < 2) return;
    TextStyle number = softened(plain(5.8));
    number.align = Align::right;
    canvas_.draw_text(right, a4.height - margin + 2, fmt::format("page {} of {}", page_, in_all_),
                      number);
  }

  void next_page() {
    end();
    cairo_show_page(canvas_.context());
    ++page_;
    begin();
    TextStyle name = bold(9, width);
    name.height_pt = 1;
    std::string under = sheet_.field;
    if (!sheet_.survey.empty()) under += ", " + sheet_.survey;
    if (!sheet_.date.empty()) under += ", " + sheet_.date;
    canvas_.draw_text(left, margin - 8, sheet_.title + ": " + under, name);
    line_across(canvas_, margin + 7, left, right);
    y_ = margin + 14;
    fresh_ = true;
  }

  static double bottom() { return a4.height - margin - foot_height; }

  /// Height that the texts at the foot of the first page need, as far as the page is theirs.
  double texts_room() {
    constexpr double most = 72, heading = 14, smallest_pt = 5.7;
    const double conclusions =
        texts_height(canvas_, sheet_.doubts, plain(smallest_pt, text_middle - gap - left - 7));
    const double cautions =
        texts_height(canvas_, sheet_.cautions, plain(smallest_pt, right - text_middle - 7));
    return std::min(most, std::max(conclusions, cautions) + heading);
  }

  void first_page() {
    const double last = a4.height - margin - signature_height;
    double y = draw_upper(canvas_, sheet_, draw_head(canvas_, sheet_));
    // Texts need a column of their own height below table and plots; the table gets the rest.
    const TableText table{sheet_.columns, sheet_.rows};
    const double room = last - y - texts_room() - 6;
    const bool tight = table_height(canvas_, table, TableType::smallest) > room - plot_height - 5;
    const double high = tight ? low_plot_height : plot_height;
    const double plots = sheet_.plots.empty() ? 0 : high + 5;
    DrawnTable drawn = draw_table(canvas_, table, y, y + room - plots, TablePlace::below_others);
    y = drawn.bottom + 6;
    draw_plots(canvas_, sheet_.plots, y, high);
    y += plots;
    const std::size_t told =
        draw_texts(canvas_, "What can and cannot be concluded", sheet_.doubts,
                   {left, y, sheet_.cautions.empty() ? right : text_middle - gap, last});
    const std::size_t warned =
        draw_texts(canvas_, "Cautions", sheet_.cautions, {text_middle, y, right, last});
    draw_signature(canvas_);
    y_ = bottom();
    fresh_ = false;
    texts_below("Cautions", sheet_.cautions, warned);
    texts_below("What can and cannot be concluded", sheet_.doubts, told);
    table_below({sheet_.columns, std::move(drawn.rest)});
  }

  void texts_below(const std::string& heading, const std::vector<std::string>& texts,
                   std::size_t from) {
    while (from < texts.size()) {
      constexpr double least = 40;
      if (bottom() - y_ < least) next_page();
      const std::span<const std::string> rest = std::span(texts).subspan(from);
      const std::string title = from > 0 ? heading + ", continued" : heading;
      const double high = texts_height(canvas_, rest, plain(6.6, width - 7)) + 14;
      from += draw_texts(canvas_, title, rest, {left, y_, right, bottom()});
      y_ = std::min(bottom(), y_ + high + 4);
      fresh_ = false;
    }
  }

  void table_below(TableText table) {
    while (!table.rows.empty()) {
      const bool room = y_ + table_height(canvas_, table, TableType::usual) <= bottom();
      if (!room && !fresh_) next_page();
      DrawnTable drawn = draw_table(canvas_, table, y_, bottom(),
                                    fresh_ ? TablePlace::first_on_page : TablePlace::below_others);
      y_ = drawn.bottom + 8;
      fresh_ = false;
      table.rows = std::move(drawn.rest);
    }
  }

  void block_below(const EvaluationBlock& block) {
    const TableText table{block.columns, block.rows};
    const double plots = block.plots.empty() ? 0 : plot_height + 12;
    if (!fresh_ && y_ + table_height(canvas_, table, TableType::usual) + plots > bottom())
      next_page();
    table_below(table);
    if (block.plots.empty()) return;
    if (y_ + plots > bottom()) next_page();
    draw_plots(canvas_, block.plots, y_);
    y_ += plots;
    fresh_ = false;
  }

  Canvas& canvas_;
  const EvaluationSheet& sheet_;
  int in_all_;
  int only_;
  int page_ = 1;
  double y_ = margin;
  bool fresh_ = true;  ///< nothing stands on the page yet
};

Canvas pdf_canvas(const EvaluationSheet& sheet, const MapResources& resources) {
  return Canvas::pdf(a4, sheet.title + ": " + sheet.field, "surveyed " + sheet.date,
                     creation_date(sheet.date), resources);
}

}  // namespace

DrawnEvaluation draw_evaluation_pdf(const EvaluationSheet& sheet, const MapResources& resources,
                                    const std::filesystem::path& file) {
  Canvas counting = pdf_canvas(sheet, resources);
  const int pages = Pages(counting, sheet, 0, 0).draw();
  Canvas canvas = pdf_canvas(sheet, resources);
  Pages(canvas, sheet, pages, 0).draw();
  canvas.finish_pdf(file);
  return {pages, canvas.foreign_characters()};
}

DrawnEvaluation draw_evaluation_png(const EvaluationSheet& sheet, const MapResources& resources,
                                    const std::filesystem::path& file, double dots_per_inch,
                                    int page) {
  const auto pixels = [&](double points) {
    return static_cast<int>(std::lround(points / 72 * dots_per_inch));
  };
  Canvas counting = Canvas::picture(pixels(a4.width), pixels(a4.height), a4, resources);
  const int pages = Pages(counting, sheet, 0, page).draw();
  Canvas canvas = Canvas::picture(pixels(a4.width), pixels(a4.height), a4, resources);
  Pages(canvas, sheet, pages, page).draw();
  canvas.finish_png(file);
  return {pages, canvas.foreign_characters()};
}

}  // namespace evendrip
