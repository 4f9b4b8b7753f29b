// SPDX-License-Identifier: Apache-2.0
// Map sheets: one value that says what is on the sheet, drawn to PNG and PDF with the same code.
//
// A sheet has title, date, legend with units, scale bar in true ground length, north arrow,
// coordinate ticks, CRS note, and the layers in the order given. ISO A4 or US Letter, landscape.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "evendrip/crs/crs.hpp"
#include "evendrip/geo/raster.hpp"
#include "evendrip/maps/style.hpp"
#include "evendrip/units/quantity.hpp"

namespace evendrip {

struct RasterDrawing {
  Raster raster;  ///< at screen resolution or coarser (overview)
  Style style;    ///< with a colour map
  double opacity = 1;
  std::string legend_title;  ///< with the unit: "Discharge, L/h"
  /// Empty, or one for each class, told after its limits: "n = 12, 8 % of area".
  std::vector<std::string> class_notes;
  /// Where the raster is shown, so that cells end at the edge of a zone; empty: everywhere.
  std::vector<MultiPolygon> shown_within = {};
  bool missing_told = true;  ///< whether the legend tells cells without a value
};
struct LinesDrawing {
  std::vector<Line> lines;
  std::vector<std::string> labels;  ///< empty, or one for each line (isoline levels)
  StyleRule style;
};
enum class Rim { none, white };  ///< a white rim below an outline shows it on any ground
enum class Counted { no, yes };  ///< whether the legend tells how many there are
struct ShapesDrawing {
  std::vector<MultiPolygon> shapes;
  std::vector<std::string> classes;  ///< value of the rules' property for each shape
  std::vector<std::string> labels;   ///< empty, or one for each shape
  Style style;                       ///< the rule whose `equals` is the class draws it
  Rim rim = Rim::none;
  Counted counted = Counted::yes;
};
struct PointsDrawing {
  std::vector<Point> points;
  std::vector<std::string> classes;
  std::vector<std::string>
      labels;  ///< placed without overlap; those that do not fit are left out and counted
  std::vector<double> radius_m;  ///< empty, or circles drawn true to scale (ambiguous fixes)
  Style style;
};
using Drawing = std::variant<RasterDrawing, LinesDrawing, ShapesDrawing, PointsDrawing>;

/// One of several small maps on a sheet.
struct Panel {
  std::string title;
  std::vector<Drawing> drawings;  ///< below those of the sheet
};

enum class Paper { a4, letter };

struct Sheet {
  std::string title;               ///< "Relative discharge"
  std::string field;               ///< "Heron Flat"
  std::string date;                ///< of the survey
  std::vector<std::string> notes;  ///< method line, counts, cautions; wrapped under the legend
  Crs crs;                         ///< of the drawings, in metres
  Extent extent;                   ///< what must be seen, m
  UnitSystem units = UnitSystem::metric;
  Paper paper = Paper::a4;
  std::vector<Drawing> drawings;
  double scale_factor = 1;  ///< grid over ground length, for the scale bar
  double convergence_deg = 0;
  std::string caution = {};  ///< stands at the foot and is never left out
  /// In whose unit ticks and CRS note tell coordinates: `crs` in feet, say. Unknown: that of `crs`.
  Crs stated_crs = {};
  std::string occasion = "surveyed";  ///< what the date is of
  /// If any, small maps of one scale beside each other in place of the one map, without
  /// coordinates. The legend tells the drawings of the first one and those of the sheet.
  std::vector<Panel> panels = {};
};

/// Where styles and the font lie: beside the build or installed, found relative to the executable.
struct MapResources {
  std::filesystem::path styles;
  std::filesystem::path font;  ///< DejaVuSans.ttf
};
/// Throws FileError if they are nowhere to be found, naming the folders tried.
MapResources find_map_resources();

struct DrawnSheet {
  int labels_left_out = 0;     ///< also told on the sheet
  int notes_left_out = 0;      ///< for lack of room below the legend
  int foreign_characters = 0;  ///< not in the bundled font: drawn with a font of the system
};
DrawnSheet draw_png(const Sheet& sheet, const MapResources& resources,
                    const std::filesystem::path& file, double dots_per_inch = 150);
/// Vector text, embedded font, title metadata, fixed creation date.
DrawnSheet draw_pdf(const Sheet& sheet, const MapResources& resources,
                    const std::filesystem::path& file);

/// The bare map frame without furniture: pixels cover `extent` exactly (for a world file).
struct FrameSize {
  int width_px = 0;
  int height_px = 0;
};
FrameSize draw_frame_png(const std::vector<Drawing>& drawings, const Extent& extent,
                         const MapResources& resources, const std::filesystem::path& file,
                         int longest_side_px = 2000);

}  // namespace evendrip
