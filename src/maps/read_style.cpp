// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <initializer_list>
#include <limits>
#include <pugixml.hpp>
#include <sstream>
#include <string_view>

#include "evendrip/base/error.hpp"
#include "evendrip/maps/style.hpp"

namespace evendrip {

namespace {

using pugi::xml_node;

std::string_view local_name(const xml_node& node) {
  const std::string_view name = node.name();
  const auto colon = name.find(':');
  return colon == std::string_view::npos ? name : name.substr(colon + 1);
}

bool is(const xml_node& node, std::string_view name) {
  return local_name(node) == name;
}

bool one_of(std::string_view name, std::initializer_list<std::string_view> names) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

/// The text of the file beside the parsed tree, so that errors can name the line.
class Reader {
 public:
  Reader(std::string file, std::string text) : file_(std::move(file)), text_(std::move(text)) {}

  Style read() {
    pugi::xml_document document;
    const auto parsed = document.load_buffer(text_.data(), text_.size());
    if (!parsed)
      fail_at(parsed.offset, "bad_style", "no well-formed XML", parsed.description(), "");
    const xml_node root = document.document_element();
    expect(root, {"StyledLayerDescriptor"});
    for (const xml_node& child : elements(root)) {
      if (is(child, "NamedLayer")) {
        read_layer(child);
      } else {
        expect(child, {"Name", "Description", "Title"});
      }
    }
    return std::move(style_);
  }

 private:
  static std::vector<xml_node> elements(const xml_node& node) {
    std::vector<xml_node> found;
    for (const xml_node& child : node.children()) {
      if (child.type() == pugi::node_element) found.push_back(child);
    }
    return found;
  }

  [[noreturn]] void fail_at(std::ptrdiff_t offset, const std::string& code, const std::string& text,
                            const std::string& found, const std::string& expected) const {
    Doubt doubt;
    doubt.code = code;
    doubt.severity = Severity::problem;
    doubt.place.file = file_;
    const auto end =
        std::min(static_cast<std::size_t>(std::max<std::ptrdiff_t>(offset, 0)), text_.size());
    doubt.place.row =
        1 + static_cast<std::size_t>(
                std::count(text_.begin(), text_.begin() + static_cast<std::ptrdiff_t>(end), '\n'));
    doubt.text = text;
    doubt.found = found;
    doubt.expected = expected;
    throw InputError(std::move(doubt));
  }

  [[noreturn]] void unknown(const xml_node& node, const std::string& found) const {
    fail_at(node.offset_debug(), "unknown_style_element",
            fmt::format("the style holds an element that is not drawn: {}", found), found,
            fmt::format("an element known inside {}", local_name(node.parent())));
  }

  [[noreturn]] void bad(const xml_node& node, const std::string& expected) const {
    fail_at(node.offset_debug(), "bad_style",
            fmt::format("the value of {} cannot be drawn", local_name(node)), node.text().get(),
            expected);
  }

  void expect(const xml_node& node, std::initializer_list<std::string_view> names) const {
    if (!one_of(local_name(node), names)) unknown(node, std::string(local_name(node)));
  }

  double number(const xml_node& node) const {
    std::istringstream stream(node.text().get());
    stream.imbue(std::locale::classic());
    double value = 0;
    if (!(stream >> value) || !(stream >> std::ws).eof()) bad(node, "a number");
    return value;
  }

  Colour colour(const xml_node& node) const {
    const std::string text = trimmed(node);
    const bool hexadecimal =
        text.size() == 7 && text[0] == '#' &&
        text.find_first_not_of("0123456789abcdefABCDEF", 1) == std::string::npos;
    if (!hexadecimal) bad(node, "a colour as #rrggbb");
    const auto part = [&text](std::size_t at) {
      return static_cast<double>(std::stoi(text.substr(at, 2), nullptr, 16)) / 255.0;
    };
    return {part(1), part(3), part(5), 1};
  }

  static std::string trimmed(const xml_node& node) {
    const std::string text = node.text().get();
    const auto first = text.find_first_not_of(" \t\r\n");
    if (first == std::string::npos) return {};
    return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
  }

  void read_layer(const xml_node& layer) {
    for (const xml_node& child : elements(layer)) {
      if (is(child, "UserStyle")) {
        read_user_style(child);
      } else {
        expect(child, {"Name", "Description"});
        if (is(child, "Name")) style_.name = trimmed(child);
      }
    }
  }

  void read_user_style(const xml_node& user_style) {
    for (const xml_node& child : elements(user_style)) {
      if (is(child, "FeatureTypeStyle") || is(child, "CoverageStyle")) {
        for (const xml_node& part : elements(child)) {
          if (is(part, "Rule")) {
            read_rule(part);
          } else {
            expect(part, {"Name", "Description"});
          }
        }
      } else if (is(child, "Description")) {
        style_.title = title_of(child);
      } else {
        expect(child, {"Name", "IsDefault"});
      }
    }
  }

  std::string title_of(const xml_node& description) const {
    std::string title;
    for (const xml_node& child : elements(description)) {
      expect(child, {"Title", "Abstract"});
      if (is(child, "Title")) title = trimmed(child);
    }
    return title;
  }

  void read_rule(const xml_node& node) {
    StyleRule rule;
    bool drawn = false;
    for (const xml_node& child : elements(node)) {
      if (is(child, "Name")) {
        rule.name = trimmed(child);
      } else if (is(child, "Description")) {
        rule.title = title_of(child);
      } else if (is(child, "Filter")) {
        read_filter(child, rule);
      } else if (is(child, "RasterSymbolizer")) {
        read_raster(child);
      } else {
        read_symbolizer(child, rule);
        drawn = true;
      }
    }
    if (drawn) style_.rules.push_back(std::move(rule));
  }

  void read_filter(const xml_node& filter, StyleRule& rule) const {
    for (const xml_node& equal : elements(filter)) {
      expect(equal, {"PropertyIsEqualTo"});
      for (const xml_node& part : elements(equal)) {
        if (is(part, "PropertyName") || is(part, "ValueReference")) {
          rule.property = trimmed(part);
        } else {
          expect(part, {"Literal"});
          rule.equals = trimmed(part);
        }
      }
      if (rule.property.empty()) bad(equal, "a PropertyName and a Literal");
    }
  }

  void read_symbolizer(const xml_node& symbolizer, StyleRule& rule) const {
    expect(symbolizer, {"PolygonSymbolizer", "LineSymbolizer", "PointSymbolizer"});
    for (const xml_node& child : elements(symbolizer)) {
      if (is(child, "Name") || is(child, "Description")) continue;
      if (is(symbolizer, "PolygonSymbolizer")) {
        expect(child, {"Fill", "Stroke"});
        if (is(child, "Stroke")) {
          rule.outline = stroke(child);
        } else {
          add_fill(child, rule);
        }
      } else if (is(symbolizer, "LineSymbolizer")) {
        expect(child, {"Stroke"});
        rule.line = stroke(child);
      } else {
        expect(child, {"Graphic"});
        rule.mark = mark(child);
      }
    }
  }

  /// A rule may paint a colour with one symbolizer and a hatch with the next.
  void add_fill(const xml_node& node, StyleRule& rule) const {
    const FillStyle more = fill(node);
    if (!rule.fill) rule.fill = FillStyle{};
    if (more.colour) rule.fill->colour = more.colour;
    if (more.hatch) rule.fill->hatch = more.hatch;
  }

  FillStyle fill(const xml_node& node) const {
    FillStyle result;
    double opacity = 1;
    for (const xml_node& child : elements(node)) {
      if (is(child, "GraphicFill")) {
        result.hatch = hatch(child);
        continue;
      }
      expect(child, {"SvgParameter"});
      const std::string_view name = child.attribute("name").value();
      if (name == "fill") {
        result.colour = colour(child);
      } else if (name == "fill-opacity") {
        opacity = number(child);
      } else {
        unknown(child, fmt::format("SvgParameter {}", name));
      }
    }
    if (!result.colour && !result.hatch) result.colour = Colour{0.5, 0.5, 0.5, 1};  // SE 11.2.2
    if (result.colour) result.colour->alpha = opacity;
    return result;
  }

  StrokeStyle stroke(const xml_node& node) const {
    StrokeStyle result;
    for (const xml_node& child : elements(node)) {
      expect(child, {"SvgParameter"});
      const std::string_view name = child.attribute("name").value();
      if (name == "stroke") {
        const double alpha = result.colour.alpha;
        result.colour = colour(child);
        result.colour.alpha = alpha;
      } else if (name == "stroke-width") {
        result.width_px = number(child);
      } else if (name == "stroke-opacity") {
        result.colour.alpha = number(child);
      } else if (name == "stroke-dasharray") {
        result.dashes_px = dashes(child);
      } else if (name == "stroke-linejoin" || name == "stroke-linecap") {
        if (trimmed(child) != "round") bad(child, "round");
      } else {
        unknown(child, fmt::format("SvgParameter {}", name));
      }
    }
    return result;
  }

  std::vector<double> dashes(const xml_node& node) const {
    std::string text = trimmed(node);
    std::replace(text.begin(), text.end(), ',', ' ');
    std::istringstream stream(text);
    stream.imbue(std::locale::classic());
    std::vector<double> lengths;
    for (double length = 0; stream >> length;) lengths.push_back(length);
    const bool all_positive =
        std::all_of(lengths.begin(), lengths.end(), [](double d) { return d > 0; });
    if (lengths.empty() || !stream.eof() || !all_positive) bad(node, "lengths above 0");
    return lengths;
  }

  HatchStyle hatch(const xml_node& graphic_fill) const {
    HatchStyle result;
    for (const xml_node& graphic : elements(graphic_fill)) {
      expect(graphic, {"Graphic"});
      for (const xml_node& child : elements(graphic)) {
        if (is(child, "Size")) {
          result.spacing_px = number(child);
          if (!(result.spacing_px >= 1)) bad(child, "a size of 1 or more");
          continue;
        }
        expect(child, {"Mark"});
        for (const xml_node& part : elements(child)) {
          if (is(part, "Stroke")) {
            result.stroke = stroke(part);
          } else {
            expect(part, {"WellKnownName"});
            result.well_known_name = trimmed(part);
            if (!one_of(result.well_known_name,
                        {"shape://slash", "shape://backslash", "shape://horline",
                         "shape://vertline", "shape://plus", "shape://times"})) {
              bad(part, "shape://slash, backslash, horline, vertline, plus or times");
            }
          }
        }
      }
    }
    if (result.well_known_name.empty()) bad(graphic_fill, "a Graphic with a Mark");
    return result;
  }

  MarkStyle mark(const xml_node& graphic) const {
    MarkStyle result;
    result.well_known_name = "square";  // SE 11.3.2
    for (const xml_node& child : elements(graphic)) {
      if (is(child, "Size")) {
        result.size_px = number(child);
        if (!(result.size_px > 0)) bad(child, "a size above 0");
        continue;
      }
      expect(child, {"Mark"});
      for (const xml_node& part : elements(child)) {
        if (is(part, "Fill")) {
          result.fill = fill(part);
        } else if (is(part, "Stroke")) {
          result.stroke = stroke(part);
        } else {
          expect(part, {"WellKnownName"});
          result.well_known_name = trimmed(part);
          if (!one_of(result.well_known_name,
                      {"circle", "square", "triangle", "star", "cross", "x"})) {
            bad(part, "circle, square, triangle, star, cross or x");
          }
        }
      }
    }
    return result;
  }

  void read_raster(const xml_node& symbolizer) {
    double opacity = 1;
    for (const xml_node& child : elements(symbolizer)) {
      if (is(child, "Opacity")) {
        opacity = number(child);
      } else if (is(child, "ColorMap")) {
        for (const xml_node& function : elements(child)) {
          expect(function, {"Interpolate", "Categorize"});
          style_.colour_map =
              is(function, "Interpolate") ? interpolate(function) : categorize(function);
        }
      } else {
        expect(child, {"Name", "Description"});
      }
    }
    if (!style_.colour_map) bad(symbolizer, "a ColorMap with Interpolate or Categorize");
    for (ColourStop& stop : style_.colour_map->stops) stop.colour.alpha = opacity;
  }

  ColourMap interpolate(const xml_node& function) const {
    const std::string_view mode = function.attribute("mode").as_string("linear");
    if (mode != "linear") bad(function, "mode linear");
    ColourMap map;
    for (const xml_node& child : elements(function)) {
      if (is(child, "LookupValue")) continue;
      expect(child, {"InterpolationPoint"});
      ColourStop stop;
      for (const xml_node& part : elements(child)) {
        if (is(part, "Data")) {
          stop.value = number(part);
        } else {
          expect(part, {"Value"});
          stop.colour = colour(part);
        }
      }
      if (!map.stops.empty() && !(stop.value > map.stops.back().value)) {
        bad(child, "data that rise from point to point");
      }
      map.stops.push_back(std::move(stop));
    }
    if (map.stops.size() < 2) bad(function, "two interpolation points or more");
    return map;
  }

  ColourMap categorize(const xml_node& function) const {
    const std::string_view belong =
        function.attribute("thresholdsBelongTo").as_string("succeeding");
    if (belong != "succeeding") bad(function, "thresholds that belong to the succeeding class");
    ColourMap map;
    map.classes = true;
    double limit = -std::numeric_limits<double>::infinity();
    std::string limit_text;
    for (const xml_node& child : elements(function)) {
      if (is(child, "LookupValue")) continue;
      expect(child, {"Value", "Threshold"});
      if (is(child, "Threshold")) {
        const double next = number(child);
        if (map.stops.empty() || !(next > limit)) bad(child, "thresholds that rise, a value first");
        limit = next;
        limit_text = trimmed(child);
        std::string& label = map.stops.back().label;
        label.append(label.empty() ? "below " : " to ").append(limit_text);
      } else {
        map.stops.push_back({limit, colour(child), limit_text});
      }
    }
    if (map.stops.size() < 2) bad(function, "two classes or more");
    map.stops.back().label = limit_text + " and above";
    return map;
  }

  std::string file_;
  std::string text_;
  Style style_;
};

}  // namespace

Style read_style(const std::filesystem::path& sld) {
  std::ifstream stream(sld, std::ios::binary);
  if (!stream) throw InputError::missing_file(sld.string(), "the style of a map layer");
  std::ostringstream text;
  text << stream.rdbuf();
  return Reader(sld.filename().string(), text.str()).read();
}

}  // namespace evendrip
