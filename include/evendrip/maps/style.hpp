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
  bool classes = false;  ///< each stop's value is the lower limit of its class; the first is -inf
  std::vector<ColourStop> stops;
  /// Colour of a value: between stops by linear interpolation in sRGB, beyond them the end colours.
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

/// Reads one SLD file. Throws InputError: "unknown_style_element" with the element's name and line;
/// "bad_style" for what is no XML or a value that cannot be drawn; "missing_file".
Style read_style(const std::filesystem::path& sld);

/// Writes SLD 1.1 that read_style reads back to the same style, whole or not at all. Throws
/// FileError.
void write_style(const Style& style, const std::filesystem::path& sld);

/// The style with its stops, which run from 0 to 1, stretched to the limits: 0 becomes `low`, 1
/// becomes `high`. Labels of the stops are dropped, as they no longer hold.
Style rescaled(const Style& style, double low, double high);

/// The rule whose `equals` is the class; else the first rule that asks for no property; else null.
const StyleRule* rule_for(const Style& style, const std::string& feature_class);

}  // namespace evendrip
