// SPDX-License-Identifier: Apache-2.0
// OGC Styled Layer Descriptor 1.1 with Symbology Encoding 1.1 (OGC 05-078r4, 05-077r4), read for
// our renderer so that the same file serves any GIS. An element that the renderer does not know is
// an error (InputError "unknown_style_element") with its place.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace evendrip {

struct Colour {
  double red = 0, green = 0, blue = 0, alpha = 1;  ///< 0 to 1
};

/// One entry of a ColorMap: Interpolate (ramp) or Categorize (classes).
struct ColourStop {
  double value = 0;
  Colour colour;
  std::string label;
};
struct ColourMap {
  bool classes = false;  ///< values below the first threshold take the first colour
  std::vector<ColourStop> stops;
  Colour at(double value) const;
};

struct StrokeStyle {
  Colour colour;
  double width_px = 1;  ///< at 96 px per inch (SE: px)
  std::vector<double> dashes_px;
};
struct HatchStyle {
  std::string
      well_known_name;  ///< "shape://slash", "shape://backslash", "shape://horline", "shape://plus"
  StrokeStyle stroke;
  double spacing_px = 6;
};
struct FillStyle {
  std::optional<Colour> colour;
  std::optional<HatchStyle> hatch;
};
struct MarkStyle {
  std::string well_known_name;  ///< circle square triangle star cross x
  double size_px = 6;
  std::optional<FillStyle> fill;
  std::optional<StrokeStyle> stroke;
};
/// One Rule: a name, a title for legends, and one equality on a property (optional).
struct StyleRule {
  std::string name;
  std::string title;
  std::string property;  ///< empty: all features
  std::string equals;
  std::optional<StrokeStyle> line;
  std::optional<FillStyle> fill;
  std::optional<StrokeStyle> outline;
  std::optional<MarkStyle> mark;
};
struct Style {
  std::string name;
  std::string title;
  std::optional<ColourMap> colour_map;
  std::vector<StyleRule> rules;
};

Style read_style(const std::filesystem::path& sld);

}  // namespace evendrip
