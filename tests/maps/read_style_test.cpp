// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "evendrip/base/error.hpp"
#include "example_field.hpp"

namespace evendrip {
namespace {

using example::output;

const char* const head =
    "<StyledLayerDescriptor version=\"1.1.0\" xmlns=\"http://www.opengis.net/sld\"\n"
    "    xmlns:se=\"http://www.opengis.net/se\" xmlns:ogc=\"http://www.opengis.net/ogc\">\n"
    "<NamedLayer><se:Name>layer</se:Name><UserStyle><se:FeatureTypeStyle>\n";
const char* const tail =
    "</se:FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>\n";

Style style_from(const std::string& rules) {
  const auto file = output("read_style.sld");
  std::ofstream(file) << head << rules << tail;
  return read_style(file);
}

/// The problem that reading these rules ends in.
Doubt problem_of(const std::string& rules) {
  try {
    style_from(rules);
  } catch (const InputError& error) {
    return error.problems().at(0);
  }
  ADD_FAILURE() << "was read without a problem: " << rules;
  return {};
}

std::string raster(const std::string& function) {
  return "<se:Rule><se:RasterSymbolizer><se:ColorMap>" + function +
         "</se:ColorMap></se:RasterSymbolizer></se:Rule>";
}

std::string polygon(const std::string& parts) {
  return "<se:Rule><se:PolygonSymbolizer>" + parts + "</se:PolygonSymbolizer></se:Rule>";
}

TEST(ReadStyle, ReadsEveryStyleOfTheProduct) {
  const auto styles = find_map_resources().styles;
  for (const char* name :
       {"discharge", "relative_discharge", "relative_discharge_error", "crop", "findings",
        "laterals", "zones", "emitters", "hazards", "pressure", "ports", "condition_part",
        "network_faults", "not_judged", "probability_outlines"}) {
    const Style style = read_style(styles / (std::string(name) + ".sld"));
    EXPECT_EQ(style.name, name);
    EXPECT_TRUE(style.colour_map || !style.rules.empty()) << name;
    EXPECT_FALSE(style.title.empty()) << name;
  }
}

TEST(ReadStyle, ReadsThresholdsAsLowerLimitsOfTheSucceedingClass) {
  // SE 1.1 (05-077r4), 11.6.1: thresholdsBelongTo is "succeeding" unless said otherwise.
  const Style style =
      style_from(raster("<se:Categorize><se:LookupValue>Rasterdata</se:LookupValue>"
                        "<se:Value>#ff0000</se:Value><se:Threshold>0.50</se:Threshold>"
                        "<se:Value>#00ff00</se:Value><se:Threshold>0.75</se:Threshold>"
                        "<se:Value>#0000ff</se:Value></se:Categorize>"));
  const ColourMap& map = *style.colour_map;
  ASSERT_EQ(map.stops.size(), 3U);
  EXPECT_TRUE(map.classes);
  EXPECT_DOUBLE_EQ(map.at(0.4999).red, 1);
  EXPECT_DOUBLE_EQ(map.at(0.50).green, 1);
  EXPECT_DOUBLE_EQ(map.at(0.75).blue, 1);
  EXPECT_EQ(map.stops[0].label, "below 0.50");
  EXPECT_EQ(map.stops[1].label, "0.50 to 0.75");
  EXPECT_EQ(map.stops[2].label, "0.75 and above");
}

TEST(ReadStyle, ReadsAColourAndAHatchFromTwoSymbolizersOfOneRule) {
  const Style style = style_from(
      "<se:Rule><se:Name>wet</se:Name><ogc:Filter><ogc:PropertyIsEqualTo>"
      "<ogc:PropertyName>class</ogc:PropertyName><ogc:Literal>wet</ogc:Literal>"
      "</ogc:PropertyIsEqualTo></ogc:Filter>"
      "<se:PolygonSymbolizer><se:Fill><se:SvgParameter name=\"fill\">#102030</se:SvgParameter>"
      "<se:SvgParameter name=\"fill-opacity\">0.5</se:SvgParameter></se:Fill>"
      "</se:PolygonSymbolizer><se:PolygonSymbolizer><se:Fill><se:GraphicFill><se:Graphic><se:Mark>"
      "<se:WellKnownName>shape://slash</se:WellKnownName><se:Stroke>"
      "<se:SvgParameter name=\"stroke\">#ff0000</se:SvgParameter>"
      "<se:SvgParameter name=\"stroke-width\">2</se:SvgParameter></se:Stroke></se:Mark>"
      "<se:Size>7</se:Size></se:Graphic></se:GraphicFill></se:Fill></se:PolygonSymbolizer>"
      "</se:Rule>");
  ASSERT_EQ(style.rules.size(), 1U);
  const StyleRule& rule = style.rules[0];
  EXPECT_EQ(rule.property, "class");
  EXPECT_EQ(rule.equals, "wet");
  EXPECT_NEAR(rule.fill->colour->blue, 48 / 255.0, 1e-12);
  EXPECT_DOUBLE_EQ(rule.fill->colour->alpha, 0.5);
  EXPECT_EQ(rule.fill->hatch->well_known_name, "shape://slash");
  EXPECT_DOUBLE_EQ(rule.fill->hatch->spacing_px, 7);
  EXPECT_DOUBLE_EQ(rule.fill->hatch->stroke.width_px, 2);
}

TEST(ReadStyle, ReadsDashesWithBlanksOrCommas) {
  for (const char* dashes : {"5 3", "5,3", " 5, 3 "}) {
    const Style style = style_from(
        "<se:Rule><se:LineSymbolizer><se:Stroke>"
        "<se:SvgParameter name=\"stroke-dasharray\">" +
        std::string(dashes) + "</se:SvgParameter></se:Stroke></se:LineSymbolizer></se:Rule>");
    EXPECT_EQ(style.rules.at(0).line->dashes_px, (std::vector<double>{5, 3})) << dashes;
  }
}

TEST(ReadStyle, NamesAnUnknownElementAndItsLine) {
  const Doubt problem = problem_of(
      "<se:Rule>\n<se:PolygonSymbolizer>\n<se:Fill/>\n<se:Displacement/>\n"
      "</se:PolygonSymbolizer></se:Rule>");
  EXPECT_EQ(problem.code, "unknown_style_element");
  EXPECT_EQ(problem.found, "Displacement");
  EXPECT_EQ(problem.place.row, 7U);  // three lines of head, then the fourth line of the rule
  EXPECT_EQ(problem.place.file, "read_style.sld");
}

TEST(ReadStyle, RefusesWhatItWouldNotDraw) {
  for (const char* rules :
       {"<se:Rule><se:TextSymbolizer/></se:Rule>", "<se:Rule><se:MinScaleDenominator/></se:Rule>",
        "<se:Rule><ogc:Filter><ogc:PropertyIsLessThan/></ogc:Filter></se:Rule>",
        "<se:Rule><se:LineSymbolizer><se:PerpendicularOffset/></se:LineSymbolizer></se:Rule>"}) {
    EXPECT_EQ(problem_of(rules).code, "unknown_style_element") << rules;
  }
  EXPECT_EQ(problem_of(polygon("<se:Fill><se:SvgParameter name=\"fill-rule\">x</se:SvgParameter>"
                               "</se:Fill>"))
                .found,
            "SvgParameter fill-rule");
}

TEST(ReadStyle, RefusesValuesThatCannotBeDrawn) {
  const std::vector<std::string> bad = {
      polygon("<se:Fill><se:SvgParameter name=\"fill\">red</se:SvgParameter></se:Fill>"),
      polygon("<se:Stroke><se:SvgParameter name=\"stroke-width\">wide</se:SvgParameter>"
              "</se:Stroke>"),
      polygon("<se:Stroke><se:SvgParameter name=\"stroke-dasharray\">3 -1</se:SvgParameter>"
              "</se:Stroke>"),
      raster("<se:Categorize><se:Value>#ff0000</se:Value><se:Threshold>2</se:Threshold>"
             "<se:Value>#00ff00</se:Value><se:Threshold>1</se:Threshold>"
             "<se:Value>#0000ff</se:Value></se:Categorize>"),
      raster("<se:Categorize thresholdsBelongTo=\"preceding\"><se:Value>#ff0000</se:Value>"
             "</se:Categorize>"),
      raster("<se:Interpolate><se:InterpolationPoint><se:Data>1</se:Data>"
             "<se:Value>#ff0000</se:Value></se:InterpolationPoint></se:Interpolate>"),
      "<se:Rule><se:PointSymbolizer><se:Graphic><se:Mark>"
      "<se:WellKnownName>heart</se:WellKnownName></se:Mark></se:Graphic></se:PointSymbolizer>"
      "</se:Rule>"};
  for (const std::string& rules : bad) EXPECT_EQ(problem_of(rules).code, "bad_style") << rules;
}

TEST(ReadStyle, TellsWhereXmlIsBroken) {
  EXPECT_EQ(problem_of("<se:Rule></se:Wrong>").code, "bad_style");
  EXPECT_THROW(read_style(output("no_such.sld")), InputError);
}

/// CIE 1976 lightness of an sRGB colour (IEC 61966-2-1 for sRGB; CIE 15 for L*; both from memory).
double lightness(const Colour& c) {
  const auto linear = [](double v) {
    return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
  };
  const double y = 0.2126 * linear(c.red) + 0.7152 * linear(c.green) + 0.0722 * linear(c.blue);
  return y > 0.008856 ? 116 * std::cbrt(y) - 16 : 903.3 * y;
}

TEST(Styles, FallInLightnessAllTheWaySoThatTheyPrintInGrey) {
  const auto styles = find_map_resources().styles;
  for (const char* name : {"discharge", "relative_discharge", "relative_discharge_error", "crop",
                           "pressure", "condition_part"}) {
    const auto stops = read_style(styles / (std::string(name) + ".sld")).colour_map->stops;
    for (std::size_t i = 1; i < stops.size(); ++i) {
      EXPECT_LT(lightness(stops[i].colour), lightness(stops[i - 1].colour) - 2) << name << " " << i;
    }
  }
}

TEST(Styles, ClassesOfRelativeDischargeDifferClearlyInGrey) {
  const auto styles = find_map_resources().styles;
  const auto stops = read_style(styles / "relative_discharge.sld").colour_map->stops;
  ASSERT_EQ(stops.size(), 6U);
  const double limits[] = {0.50, 0.75, 0.90, 1.10, 1.25};
  for (std::size_t i = 1; i < stops.size(); ++i) {
    EXPECT_DOUBLE_EQ(stops[i].value, limits[i - 1]);
    EXPECT_GT(lightness(stops[i - 1].colour) - lightness(stops[i].colour), 8) << i;
  }
}

TEST(Styles, KindsOfFindingDifferByTheirHatchNotByColourAlone) {
  const Style style = read_style(find_map_resources().styles / "findings.sld");
  ASSERT_EQ(style.rules.size(), 3U);
  EXPECT_NE(style.rules[0].fill->hatch->well_known_name,
            style.rules[1].fill->hatch->well_known_name);
  EXPECT_NE(style.rules[0].fill->hatch->well_known_name,
            style.rules[2].fill->hatch->well_known_name);
  EXPECT_NE(style.rules[1].fill->hatch->well_known_name,
            style.rules[2].fill->hatch->well_known_name);
}

TEST(Styles, OutlinesOfFindingsDifferByTheirDashes) {
  const Style style = read_style(find_map_resources().styles / "findings.sld");
  ASSERT_EQ(style.rules.size(), 3U);
  EXPECT_NE(style.rules[0].outline->dashes_px, style.rules[1].outline->dashes_px);
  EXPECT_NE(style.rules[0].outline->dashes_px, style.rules[2].outline->dashes_px);
  EXPECT_NE(style.rules[1].outline->dashes_px, style.rules[2].outline->dashes_px);
}

}  // namespace
}  // namespace evendrip
