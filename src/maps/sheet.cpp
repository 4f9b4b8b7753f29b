// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evendrip/base/error.hpp"
#include "evendrip/maps/rulers.hpp"
#include "furniture.hpp"
#include "legend.hpp"
#include "map_frame.hpp"
#include "sheet_parts.hpp"
#include "symbols.hpp"

namespace evendrip {

namespace {

constexpr double points_per_mm = 72 / 25.4;
constexpr double margin = 30;
constexpr double column_width = 196;  ///< legend and notes
constexpr double column_gap = 18;
constexpr double title_height = 46;
constexpr double foot_height = 70;  ///< tick labels, scale bar, north arrow

/// ISO 216 A4 and ANSI letter, landscape.
TextSize paper_size(Paper paper) {
  if (paper == Paper::letter) return {11 * 72.0, 8.5 * 72.0};
  return {297 * points_per_mm, 210 * points_per_mm};
}

/// Where the map, or all panels, are drawn.
PaperBox map_area(TextSize paper) {
  return {margin + 14, margin + title_height, paper.width - margin - column_width - column_gap,
          paper.height - margin - foot_height};
}

/// What must be seen, centred in the box at a round map scale.
MapFrame frame_in(const Sheet& sheet, const PaperBox& box) {
  MapFrame frame;
  frame.paper = box;
  const double width = frame.paper.right - frame.paper.left;
  const double height = frame.paper.bottom - frame.paper.top;
  const double world_width = std::max(sheet.extent.width(), 1.0) * 1.06;
  const double world_height = std::max(sheet.extent.height(), 1.0) * 1.06;
  const double metres_per_point = 0.0254 / 72;
  const double needed = std::max(world_width / width, world_height / height) / metres_per_point;
  // The scale said is that of the ground, so grid lengths are reduced by the scale factor.
  const double per_point =
      round_denominator(needed / sheet.scale_factor) * metres_per_point * sheet.scale_factor;
  const Point centre{(sheet.extent.x_min + sheet.extent.x_max) / 2,
                     (sheet.extent.y_min + sheet.extent.y_max) / 2};
  frame.world = {centre.x - width * per_point / 2, centre.y - height * per_point / 2,
                 centre.x + width * per_point / 2, centre.y + height * per_point / 2};
  return frame;
}

constexpr double panel_gap = 12;
constexpr double panel_title_height = 26;  ///< two lines

/// Boxes in as many columns, titles left out.
std::vector<PaperBox> boxes_in_columns(const PaperBox& area, std::size_t panels,
                                       std::size_t columns) {
  const auto across = static_cast<double>(columns);
  const std::size_t lines = (panels + columns - 1) / columns;
  const auto down = static_cast<double>(lines);
  const double width = (area.right - area.left + panel_gap) / across;
  const double height = (area.bottom - area.top + panel_gap) / down;
  std::vector<PaperBox> boxes;
  for (std::size_t i = 0; i < panels; ++i) {
    const std::size_t row = i / columns;
    const double left = area.left + width * static_cast<double>(i - row * columns);
    const double top = area.top + height * static_cast<double>(row);
    boxes.push_back(
        {left, top + panel_title_height, left + width - panel_gap, top + height - panel_gap});
  }
  return boxes;
}

/// In the columns that show the panels largest.
std::vector<PaperBox> panel_boxes(const Sheet& sheet, const PaperBox& area) {
  std::vector<PaperBox> best;
  double largest = 0;
  for (std::size_t columns = 1; columns <= sheet.panels.size(); ++columns) {
    std::vector<PaperBox> boxes = boxes_in_columns(area, sheet.panels.size(), columns);
    const PaperBox& one = boxes.front();
    const double scale = std::min((one.right - one.left) / std::max(sheet.extent.width(), 1.0),
                                  (one.bottom - one.top) / std::max(sheet.extent.height(), 1.0));
    if (scale <= largest) continue;
    largest = scale;
    best = std::move(boxes);
  }
  return best;
}

/// Returns the labels that found no room.
int draw_panel(Canvas& canvas, const MapFrame& frame, const Panel& panel,
               const std::vector<Drawing>& common) {
  const PaperBox& box = frame.paper;
  TextStyle title{.size_pt = 9, .weight = Weight::bold, .colour = {}};
  title.width_pt = box.right - box.left;
  title.height_pt = panel_title_height;
  const TextSize size = canvas.text_size(panel.title, title);
  canvas.draw_text(box.left, box.top - 2 - size.height, panel.title, title);
  std::vector<Drawing> drawings = panel.drawings;
  drawings.insert(drawings.end(), common.begin(), common.end());
  const int left_out = draw_map(canvas, frame, drawings);
  cairo_rectangle(canvas.context(), box.left, box.top, box.right - box.left, box.bottom - box.top);
  stroke_path(canvas, {{0.2, 0.2, 0.2, 1}, 0.8, {}});
  return left_out;
}

/// Returns the whole area at the panels' scale, for the scale bar.
MapFrame draw_panels(Canvas& canvas, const Sheet& sheet, const PaperBox& area, int& left_out) {
  MapFrame frame;
  const std::vector<PaperBox> boxes = panel_boxes(sheet, area);
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    frame = frame_in(sheet, boxes[i]);
    left_out += draw_panel(canvas, frame, sheet.panels[i], sheet.drawings);
  }
  const double per_m = frame.points_per_m();
  return {{0, 0, (area.right - area.left) / per_m, (area.bottom - area.top) / per_m}, area};
}

std::vector<Drawing> told_in_legend(const Sheet& sheet) {
  std::vector<Drawing> drawings;
  if (!sheet.panels.empty()) drawings = sheet.panels.front().drawings;
  drawings.insert(drawings.end(), sheet.drawings.begin(), sheet.drawings.end());
  return drawings;
}

void draw_title(Canvas& canvas, const Sheet& sheet, TextSize paper) {
  const double width = paper.width - 2 * margin - column_width - column_gap;
  TextStyle title{.size_pt = 18, .weight = Weight::bold, .colour = {}};
  title.width_pt = width;
  title.height_pt = 1;  // one line, ended by an ellipsis
  canvas.draw_text(margin, margin - 8, sheet.title, title);
  TextStyle line{.size_pt = 11, .colour = {0.25, 0.25, 0.25, 1}};
  line.width_pt = width;
  line.height_pt = 1;
  const std::string date =
      sheet.date.empty() ? "" : fmt::format(", {} {}", sheet.occasion, sheet.date);
  canvas.draw_text(margin, margin + 18, sheet.field + date, line);
}

/// The CRS in which coordinates are told: the stated one, be it in feet.
const Crs& told_crs(const Sheet& sheet) {
  return sheet.stated_crs.known() && !sheet.stated_crs.geographic ? sheet.stated_crs : sheet.crs;
}

/// "metres", "US survey feet".
std::string units_of(const Crs& crs) {
  const std::string& unit = crs.unit_name;
  if (!crs.known() || crs.unit_to_metre == 1 || unit.empty()) return "metres";
  if (unit.ends_with("foot")) return unit.substr(0, unit.size() - 4) + "feet";
  return unit + "s";
}

std::string crs_note(const Sheet& sheet, const MapFrame& frame) {
  const double metres_per_point = 0.0254 / 72;
  const double denominator = 1 / (frame.points_per_m() * metres_per_point * sheet.scale_factor);
  const Crs& crs = told_crs(sheet);
  std::string name = crs.name.empty() ? "unknown coordinate system" : crs.name;
  if (!crs.code.empty()) name += " (" + crs.code + ")";
  return fmt::format("Scale 1:{:.0f} on {}. Coordinates in {}: {}.", denominator,
                     sheet.paper == Paper::a4 ? "A4" : "Letter", units_of(crs), name);
}

void draw_foot(Canvas& canvas, const Sheet& sheet, const MapFrame& frame) {
  const double top = frame.paper.bottom + 22;
  const double width = frame.paper.right - frame.paper.left;
  draw_scale_bar(canvas, frame, {frame.paper.left + 6, top}, width * 0.42, sheet);
  draw_north_arrow(canvas, {frame.paper.right - 116, top - 2}, sheet.convergence_deg);
  TextStyle note{.size_pt = 7.5, .colour = {0.2, 0.2, 0.2, 1}};
  note.width_pt = width - 136;
  const double below =
      top + 22 + canvas.draw_text(frame.paper.left, top + 22, crs_note(sheet, frame), note).height;
  note.width_pt = width;
  note.colour = {};
  canvas.draw_text(frame.paper.left, below + 2, sheet.caution, note);
}

constexpr double note_gap = 3;

double notes_height(Canvas& canvas, const std::vector<std::string>& notes, const TextStyle& style) {
  double height = 0;
  for (const std::string& note : notes) height += canvas.text_size(note, style).height + note_gap;
  return height;
}

/// Notes in the largest type that fits; what finds no room in the smallest legible one is left out
/// and counted.
int draw_notes(Canvas& canvas, const std::vector<std::string>& notes, Point top_left,
               double bottom) {
  TextStyle style{.size_pt = 7.5, .colour = {0.1, 0.1, 0.1, 1}};
  style.width_pt = column_width;
  while (style.size_pt > 6 && notes_height(canvas, notes, style) > bottom - top_left.y) {
    style.size_pt -= 0.25;
  }
  double y = top_left.y;
  int left_out = 0;
  for (const std::string& note : notes) {
    if (y + canvas.text_size(note, style).height > bottom - style.size_pt) {
      ++left_out;
      continue;
    }
    y += canvas.draw_text(top_left.x, y, note, style).height + note_gap;
  }
  if (left_out > 0) {
    canvas.draw_text(top_left.x, y, fmt::format("Notes without room here: {}", left_out), style);
  }
  return left_out;
}

DrawnSheet draw_sheet(Canvas& canvas, const Sheet& sheet) {
  const TextSize paper = paper_size(sheet.paper);
  canvas.set_colour({1, 1, 1, 1});
  cairo_paint(canvas.context());
  DrawnSheet drawn;
  MapFrame frame;
  if (sheet.panels.empty()) {
    frame = frame_in(sheet, map_area(paper));
    drawn.labels_left_out = draw_map(canvas, frame, sheet.drawings);
    draw_ticks(canvas, frame, told_crs(sheet).unit_to_metre);
  } else {
    frame = draw_panels(canvas, sheet, map_area(paper), drawn.labels_left_out);
  }
  draw_title(canvas, sheet, paper);
  draw_foot(canvas, sheet, frame);
  const double column = frame.paper.right + column_gap;
  const double legend_bottom =
      draw_legend(canvas, told_in_legend(sheet), {column, margin - 2}, column_width);
  std::vector<std::string> notes = sheet.notes;
  if (drawn.labels_left_out > 0) {
    notes.push_back(fmt::format("Labels without room here: {}; all values are in the tables.",
                                drawn.labels_left_out));
  }
  drawn.notes_left_out =
      draw_notes(canvas, notes, {column, legend_bottom + 2}, paper.height - margin + 10);
  drawn.foreign_characters = canvas.foreign_characters();
  return drawn;
}

}  // namespace

DrawnSheet draw_png(const Sheet& sheet, const MapResources& resources,
                    const std::filesystem::path& file, double dots_per_inch) {
  const TextSize size = paper_size(sheet.paper);
  const auto pixels = [&](double points) {
    return static_cast<int>(std::lround(points / 72 * dots_per_inch));
  };
  Canvas canvas = Canvas::picture(pixels(size.width), pixels(size.height), size, resources);
  const DrawnSheet drawn = draw_sheet(canvas, sheet);
  canvas.finish_png(file);
  return drawn;
}

DrawnSheet draw_pdf(const Sheet& sheet, const MapResources& resources,
                    const std::filesystem::path& file) {
  Canvas canvas =
      Canvas::pdf(paper_size(sheet.paper), sheet.title + ": " + sheet.field,
                  sheet.occasion + " " + sheet.date, creation_date(sheet.date), resources);
  const DrawnSheet drawn = draw_sheet(canvas, sheet);
  canvas.finish_pdf(file);
  return drawn;
}

FrameSize draw_frame_png(const std::vector<Drawing>& drawings, const Extent& extent,
                         const MapResources& resources, const std::filesystem::path& file,
                         int longest_side_px) {
  const double longest_m = std::max(extent.width(), extent.height());
  if (!(extent.width() > 0 && extent.height() > 0)) {
    throw FileError("empty_extent", file.filename().string(),
                    "a picture of an empty extent was asked for");
  }
  const auto pixels = [&](double metres) {
    return std::max(1, static_cast<int>(std::lround(metres / longest_m * longest_side_px)));
  };
  const FrameSize size{pixels(extent.width()), pixels(extent.height())};
  // Symbols are as large as on a sheet ten inches wide.
  const double points = 720;
  const TextSize paper{points * extent.width() / longest_m, points * extent.height() / longest_m};
  Canvas canvas = Canvas::picture(size.width_px, size.height_px, paper, resources);
  draw_map(canvas, {extent, {0, 0, paper.width, paper.height}}, drawings);
  canvas.finish_png(file);
  return size;
}

}  // namespace evendrip
