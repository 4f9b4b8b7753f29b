// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <cmath>
#include <pugixml.hpp>
#include <sstream>

#include "evendrip/io/results.hpp"
#include "evendrip/maps/style.hpp"

namespace evendrip {

namespace {

using pugi::xml_node;

xml_node add(xml_node parent, const char* name) {
  return parent.append_child(name);
}

void add_text(xml_node parent, const char* name, const std::string& text) {
  add(parent, name).text().set(text.c_str());
}

std::string hexadecimal(const Colour& colour) {
  const auto part = [](double share) { return static_cast<int>(std::lround(share * 255)); };
  return fmt::format("#{:02x}{:02x}{:02x}", part(colour.red), part(colour.green),
                     part(colour.blue));
}

void add_parameter(xml_node parent, const char* name, const std::string& value) {
  xml_node parameter = add(parent, "se:SvgParameter");
  parameter.append_attribute("name").set_value(name);
  parameter.text().set(value.c_str());
}

void add_stroke(xml_node parent, const StrokeStyle& style) {
  xml_node stroke = add(parent, "se:Stroke");
  add_parameter(stroke, "stroke", hexadecimal(style.colour));
  if (style.colour.alpha < 1) {
    add_parameter(stroke, "stroke-opacity", fmt::format("{}", style.colour.alpha));
  }
  add_parameter(stroke, "stroke-width", fmt::format("{}", style.width_px));
  if (!style.dashes_px.empty()) {
    add_parameter(stroke, "stroke-dasharray", fmt::format("{}", fmt::join(style.dashes_px, " ")));
  }
}

void add_colour_fill(xml_node parent, const Colour& colour) {
  xml_node fill = add(parent, "se:Fill");
  add_parameter(fill, "fill", hexadecimal(colour));
  if (colour.alpha < 1) add_parameter(fill, "fill-opacity", fmt::format("{}", colour.alpha));
}

void add_polygon(xml_node rule_node, const StyleRule& rule) {
  if (rule.fill && rule.fill->colour) {
    add_colour_fill(add(rule_node, "se:PolygonSymbolizer"), *rule.fill->colour);
  }
  if (rule.fill && rule.fill->hatch) {
    const HatchStyle& hatch = *rule.fill->hatch;
    xml_node fill = add(add(rule_node, "se:PolygonSymbolizer"), "se:Fill");
    xml_node graphic = add(add(fill, "se:GraphicFill"), "se:Graphic");
    xml_node mark = add(graphic, "se:Mark");
    add_text(mark, "se:WellKnownName", hatch.well_known_name);
    add_stroke(mark, hatch.stroke);
    add_text(graphic, "se:Size", fmt::format("{}", hatch.spacing_px));
  }
  if (rule.outline) add_stroke(add(rule_node, "se:PolygonSymbolizer"), *rule.outline);
}

void add_mark(xml_node rule_node, const MarkStyle& style) {
  xml_node graphic = add(add(rule_node, "se:PointSymbolizer"), "se:Graphic");
  xml_node mark = add(graphic, "se:Mark");
  add_text(mark, "se:WellKnownName", style.well_known_name);
  if (style.fill && style.fill->colour) add_colour_fill(mark, *style.fill->colour);
  if (style.stroke) add_stroke(mark, *style.stroke);
  add_text(graphic, "se:Size", fmt::format("{}", style.size_px));
}

void add_rule(xml_node type_style, const StyleRule& rule) {
  xml_node node = add(type_style, "se:Rule");
  if (!rule.name.empty()) add_text(node, "se:Name", rule.name);
  if (!rule.title.empty()) add_text(add(node, "se:Description"), "se:Title", rule.title);
  if (!rule.property.empty()) {
    xml_node equal = add(add(node, "ogc:Filter"), "ogc:PropertyIsEqualTo");
    add_text(equal, "ogc:PropertyName", rule.property);
    add_text(equal, "ogc:Literal", rule.equals);
  }
  add_polygon(node, rule);
  if (rule.line) add_stroke(add(node, "se:LineSymbolizer"), *rule.line);
  if (rule.mark) add_mark(node, *rule.mark);
}

void add_colour_map(xml_node type_style, const ColourMap& map) {
  xml_node symbolizer = add(add(type_style, "se:Rule"), "se:RasterSymbolizer");
  const double opacity = map.stops.empty() ? 1 : map.stops.front().colour.alpha;
  if (opacity < 1) add_text(symbolizer, "se:Opacity", fmt::format("{}", opacity));
  xml_node colour_map = add(symbolizer, "se:ColorMap");
  xml_node function = add(colour_map, map.classes ? "se:Categorize" : "se:Interpolate");
  function.append_attribute("fallbackValue").set_value("#ffffff");
  add_text(function, "se:LookupValue", "Rasterdata");
  bool first = true;
  for (const ColourStop& stop : map.stops) {
    if (map.classes) {
      if (!first) add_text(function, "se:Threshold", fmt::format("{}", stop.value));
      add_text(function, "se:Value", hexadecimal(stop.colour));
    } else {
      xml_node point = add(function, "se:InterpolationPoint");
      add_text(point, "se:Data", fmt::format("{}", stop.value));
      add_text(point, "se:Value", hexadecimal(stop.colour));
    }
    first = false;
  }
}

}  // namespace

void write_style(const Style& style, const std::filesystem::path& sld) {
  pugi::xml_document document;
  xml_node declaration = document.append_child(pugi::node_declaration);
  declaration.append_attribute("version").set_value("1.0");
  declaration.append_attribute("encoding").set_value("UTF-8");
  xml_node root = document.append_child("sld:StyledLayerDescriptor");
  root.append_attribute("version").set_value("1.1.0");
  root.append_attribute("xmlns:sld").set_value("http://www.opengis.net/sld");
  root.append_attribute("xmlns:se").set_value("http://www.opengis.net/se");
  root.append_attribute("xmlns:ogc").set_value("http://www.opengis.net/ogc");
  xml_node layer = add(root, "sld:NamedLayer");
  add_text(layer, "se:Name", style.name);
  xml_node user_style = add(layer, "sld:UserStyle");
  if (!style.title.empty()) add_text(add(user_style, "se:Description"), "se:Title", style.title);
  xml_node type_style = add(user_style, "se:FeatureTypeStyle");
  if (style.colour_map) add_colour_map(type_style, *style.colour_map);
  for (const StyleRule& rule : style.rules) add_rule(type_style, rule);
  std::ostringstream text;
  document.save(text, "  ", pugi::format_default, pugi::encoding_utf8);
  write_text(sld, text.str());
}

}  // namespace evendrip
