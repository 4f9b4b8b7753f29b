// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/field_folder.hpp"

#include "evendrip/units/quantity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace evendrip {
namespace {

bool as_geojson(const SimulationPlan& plan) {
  return plan.layers_crs == "EPSG:4326";
}

/// From the local frame to the CRS of the layers.
class Drawing {
 public:
  explicit Drawing(const SimulatedField& field)
      : field_(field),
        to_layers_(field.frame.crs,
                   as_geojson(field.plan) ? wgs84() : parse_crs(field.plan.layers_crs)) {}
  Point point(double along_m, double across_m) const {
    return to_layers_(field_.frame.to_grid(along_m, across_m));
  }
  Polygon rectangle(double along_min, double along_max, double across_min,
                    double across_max) const {
    return {{point(along_min, across_min), point(along_min, across_max),
             point(along_max, across_max), point(along_max, across_min)},
            {}};
  }

 private:
  const SimulatedField& field_;
  Transform to_layers_;
};

const std::string& zone_id(const SimulatedField& field, int zone) {
  return field.zones[static_cast<std::size_t>(zone)].id;
}

LayerField text_field(const char* name) {
  return {name, LayerField::Type::text, ""};
}
LayerField number_field(const char* name) {
  return {name, LayerField::Type::number, ""};
}

ResultLayer zones_layer(const SimulatedField& field, const Drawing& draw) {
  ResultLayer layer{
      "zones", "irrigation zones", ResultLayer::Shape::polygon, {text_field("id")}, {}};
  for (const SimulatedZone& zone : field.zones) {
    layer.rows.push_back({MultiPolygon{draw.rectangle(
                              field.along_of(-1), field.along_of(field.plan.lateral_length_m + 1),
                              zone.across_min_m, zone.across_max_m)},
                          {zone.id}});
  }
  return layer;
}

ResultLayer laterals_layer(const SimulatedField& field, const Drawing& draw) {
  ResultLayer layer{"laterals",
                    "buried drip lines",
                    ResultLayer::Shape::line,
                    {text_field("id"), text_field("zone")},
                    {}};
  for (const SimulatedLateral& lateral : field.laterals) {
    Line line = {draw.point(field.along_of(0), lateral.across_m),
                 draw.point(field.along_of(field.plan.lateral_length_m), lateral.across_m)};
    if (field.plan.mixed_directions && lateral.number % 3 == 0) std::swap(line[0], line[1]);
    layer.rows.push_back({line, {lateral.id, zone_id(field, lateral.zone)}});
  }
  return layer;
}

ResultLayer manifolds_layer(const SimulatedField& field, const Drawing& draw) {
  ResultLayer layer{"manifolds",
                    "supply and flush manifolds",
                    ResultLayer::Shape::line,
                    {text_field("id"), text_field("zone"), text_field("kind"),
                     number_field("inside_diameter_mm")},
                    {}};
  for (const SimulatedManifold& manifold : field.manifolds) {
    layer.rows.push_back(
        {Line{draw.point(manifold.along_m, manifold.from_across_m),
              draw.point(manifold.along_m, manifold.to_across_m)},
         {manifold.id, zone_id(field, manifold.zone),
          std::string(manifold.supply ? "supply" : "flush"), manifold.inside_diameter_m * 1000}});
  }
  return layer;
}

ResultLayer ports_layer(const SimulatedField& field, const Drawing& draw) {
  ResultLayer layer{
      "ports",
      "places where a gauge is read",
      ResultLayer::Shape::point,
      {text_field("id"), text_field("zones"), text_field("kind"), number_field("gauge_height_m")},
      {}};
  for (const SimulatedPort& port : field.ports) {
    std::string zones;
    for (const int zone : port.zones) zones += (zones.empty() ? "" : ";") + zone_id(field, zone);
    layer.rows.push_back({draw.point(port.along_m, port.across_m),
                          {port.id, zones, port.kind, port.gauge_height_m}});
  }
  return layer;
}

ResultLayer hazards_layer(const SimulatedField& field, const Drawing& draw) {
  ResultLayer layer{"hazards",
                    "keep clear when digging",
                    ResultLayer::Shape::line,
                    {text_field("kind"), number_field("clearance_m")},
                    {}};
  const double along_m = field.along_of(-3.5);
  layer.rows.push_back({Line{draw.point(along_m, field.zones.front().across_min_m - 5),
                             draw.point(along_m, field.zones.back().across_max_m + 5)},
                        {std::string("buried power cable"), 1.0}});
  return layer;
}

std::string coordinates(Point p) {
  return fmt::format("[{:.8f},{:.8f}]", p.x, p.y);
}

std::string coordinates(const std::vector<Point>& points) {
  std::string text;
  for (const Point& p : points) text += (text.empty() ? "" : ",") + coordinates(p);
  return "[" + text + "]";
}

/// Closed and turning the way that RFC 7946 asks for: outer rings left, holes right.
std::string ring_text(Ring ring, bool outer) {
  double twice_area = 0;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Point& a = ring[i];
    const Point& b = ring[(i + 1) % ring.size()];
    twice_area += (a.x - ring[0].x) * (b.y - ring[0].y) - (b.x - ring[0].x) * (a.y - ring[0].y);
  }
  if ((twice_area > 0) != outer) std::reverse(ring.begin(), ring.end());
  ring.push_back(ring.front());
  return coordinates(ring);
}

std::string geometry_text(const LayerRow& row) {
  if (const auto* point = std::get_if<Point>(&row.shape)) {
    return R"({"type":"Point","coordinates":)" + coordinates(*point) + "}";
  }
  if (const auto* line = std::get_if<Line>(&row.shape)) {
    return R"({"type":"LineString","coordinates":)" + coordinates(*line) + "}";
  }
  const auto* shape = std::get_if<MultiPolygon>(&row.shape);
  if (shape == nullptr) return "null";
  std::string polygons;
  for (const Polygon& polygon : *shape) {
    std::string rings = ring_text(polygon.outer, true);
    for (const Ring& hole : polygon.holes) rings += "," + ring_text(hole, false);
    polygons += (polygons.empty() ? "[" : ",[") + rings + "]";
  }
  return R"({"type":"MultiPolygon","coordinates":[)" + polygons + "]}";
}

std::string json_value(const CellValue& value) {
  if (const auto* number = std::get_if<double>(&value)) return fmt::format("{}", *number);
  if (const auto* integer = std::get_if<long long>(&value)) return fmt::format("{}", *integer);
  const auto* text = std::get_if<std::string>(&value);
  if (text == nullptr) return "null";
  std::string quoted = "\"";
  for (const char c : *text) {
    if (c == '"' || c == '\\') quoted += '\\';
    quoted += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
  }
  return quoted + "\"";
}

/// Quantities as the file states them, in the plan's units.
std::string shown(const SimulationPlan& plan, double value, Dimension dimension) {
  return format_quantity(value, dimension, plan.us_units ? UnitSystem::us : UnitSystem::metric, 5);
}

std::string shown(const SimulationPlan& plan, double value, Dimension dimension,
                  const char* metric_unit, const char* us_unit) {
  const char* unit = plan.us_units ? us_unit : metric_unit;
  return fmt::format("{:.5g} {}", from_canonical(value, unit, dimension), unit);
}

std::string toml_text(const std::string& text) {
  return json_value(CellValue(text));
}

std::string head_text(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  return fmt::format(R"(# Made up by "evendrip simulate" from plan.toml: no such field exists.

[field]
name = {}
crs = "{}"                # UTM zone of the data, or a projected EPSG code
report_units = "{}"

)",
                     toml_text(plan.name), plan.crs, plan.us_units ? "us" : "metric");
}

std::string layers_text(const SimulatedField& field) {
  std::string text = "[layers]\n";
  for (const char* layer : {"zones", "laterals", "manifolds", "ports", "hazards"}) {
    text += as_geojson(field.plan) ? fmt::format("{0} = \"{0}.geojson\"\n", layer)
                                   : fmt::format("{0} = \"system.gpkg|{0}\"\n", layer);
  }
  return text + "elevation = \"elevation.tif\"\n\n";
}

std::string emitter_text(const SimulationPlan& plan) {
  return fmt::format(R"([emitter]
discharge = "{}"           # rated, at the pressure below
pressure = "{}"
rated_tolerance = 0.07           # the maker's rating is good to about this share
exponent = {}                   # x in q = k h^x
manufacturing_cv = {}
spacing = "{}"
first_offset = "{}"        # from the supply end to the first emitter

)",
                     shown(plan, plan.discharge_lph, Dimension::discharge),
                     shown(plan, plan.rated_pressure_kpa, Dimension::pressure), plan.exponent,
                     plan.manufacturing_cv,
                     shown(plan, plan.emitter_spacing_m, Dimension::length, "m", "in"),
                     shown(plan, plan.emitter_spacing_m / 2, Dimension::length, "m", "in"));
}

std::string lateral_text(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  const bool all_closed = std::all_of(field.zones.begin(), field.zones.end(),
                                      [](const SimulatedZone& zone) { return zone.closed; });
  return fmt::format(R"([lateral]
inside_diameter = "{}"
installed = {}
{}
{}spacing = "{}"
depth = "{}"
ends = "{}"          # flush_manifold, closed or both_fed
position_accuracy = "0.1 m"
source = "surveyed"

)",
                     shown(plan, plan.inside_diameter_mm / 1000, Dimension::length, "mm", "in"),
                     plan.installed_year,
                     plan.hazen_williams_c > 0
                         ? fmt::format("hazen_williams_c = {:g}", plan.hazen_williams_c)
                         : fmt::format("roughness = \"{:g} mm\"", plan.roughness_mm),
                     plan.max_pressure_kpa > 0
                         ? fmt::format("max_pressure = \"{}\"\n",
                                       shown(plan, plan.max_pressure_kpa, Dimension::pressure))
                         : "",
                     shown(plan, plan.lateral_spacing_m, Dimension::length, "m", "in"),
                     shown(plan, plan.depth_m, Dimension::length, "m", "in"),
                     all_closed ? "closed" : "flush_manifold");
}

std::string zones_text(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  std::string text;
  for (const SimulatedZone& zone : field.zones) {
    text += fmt::format("[[zone]]\nid = \"{}\"\ninlet_pressure = \"{}\"\n", zone.id,
                        shown(plan, plan.inlet_pressure_kpa, Dimension::pressure));
    if (zone.closed) text += "ends = \"closed\"          # each line has its own flush cap\n";
    text += "\n";
  }
  return text;
}

std::string survey_text(const SimulationPlan& plan) {
  return fmt::format(R"([[survey]]
id = "{0}"
date = {1}
catch_cans = "survey/{0}/catch_cans.csv"
pressures = "survey/{0}/pressures.csv"
meter = "survey/{0}/meter.csv"
gps_accuracy = "{2}"         # one standard deviation in each axis
gps_datum = "WGS84"
volume_graduation = "{3:.4g} mL"
water_temperature = "{4}"
)",
                     plan.survey_id, plan.survey_date,
                     shown(plan, plan.gps_accuracy_m, Dimension::length, "m", "ft"),
                     plan.volume_graduation_ml,
                     shown(plan, plan.water_temperature_c, Dimension::temperature, "C", "F"));
}

std::string crop_text(const SimulationPlan& plan, const std::string& kind, const std::string& file,
                      const std::string& date) {
  std::string id = date.substr(0, 4) + "-" + kind;
  std::replace(id.begin(), id.end(), '_', '-');
  return fmt::format(
      "\n[[crop]]\nid = \"{}\"\nkind = \"{}\"\nfile = \"{}\"\ndate = {}\ncrop = {}\n", id, kind,
      file, date, toml_text(plan.crop));
}

/// A section with the keys that are stated; nothing where none is.
class Section {
 public:
  Section(const SimulationPlan& plan, const char* name) : plan_(plan), name_(name) {}
  void quantity(const char* key, double value, Dimension dimension, const char* remark = "") {
    if (value == 0) return;
    lines_ += fmt::format("{} = \"{}\"{}\n", key, shown(plan_, value, dimension), remark);
  }
  void time(const char* key, double value_s) {
    if (value_s != 0) lines_ += fmt::format("{} = \"{:g} h\"\n", key, value_s / 3600);
  }
  void count(const char* key, int value, const char* remark) {
    if (value != 0) lines_ += fmt::format("{} = {}{}\n", key, value, remark);
  }
  std::string text() const { return lines_.empty() ? "" : fmt::format("\n[{}]\n", name_) + lines_; }

 private:
  const SimulationPlan& plan_;
  std::string name_;
  std::string lines_;
};

std::string watering_text(const SimulationPlan& plan) {
  Section irrigation(plan, "irrigation");
  irrigation.time("set_time", plan.set_time_s);
  irrigation.count("pulses", plan.pulses, "          # into which a set is cut");
  irrigation.quantity("season_depth", plan.season_depth_mm, Dimension::depth,
                      "          # applied, on the mean of the field");
  irrigation.quantity("season_net_need", plan.season_net_need_mm, Dimension::depth);
  Section agronomy(plan, "agronomy");
  agronomy.count("emitters_per_root_zone", plan.emitters_per_root_zone,
                 "          # that one plant drinks from");
  agronomy.quantity("season_et", plan.season_et_mm, Dimension::depth,
                    "          # less the rain: what irrigation must bring");
  agronomy.quantity("season_effective_rain", plan.season_effective_rain_mm, Dimension::depth);
  return irrigation.text() + agronomy.text();
}

}  // namespace

std::string canopy_file(const SimulationPlan& plan) {
  return fmt::format("crop/{}_{}.tif", plan.canopy_date.substr(0, 4), plan.canopy);
}

std::string yield_file(const SimulationPlan& plan) {
  return fmt::format("crop/{}_yield.csv", plan.yield_date.substr(0, 4));
}

std::string field_toml(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  std::string text = head_text(field) + layers_text(field) + emitter_text(plan) +
                     lateral_text(field) + zones_text(field) + survey_text(plan);
  if (plan.biomass_pixel_m > 0) {
    text += crop_text(plan, plan.canopy, canopy_file(plan), plan.canopy_date);
  }
  if (plan.yield_swath_m > 0) text += crop_text(plan, "yield", yield_file(plan), plan.yield_date);
  return text + watering_text(plan);
}

std::string readme_text(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  std::string text = fmt::format(
      "{}\n\nSYNTHETIC: this field, its owners and every number in this folder are made up.\n"
      "Nothing here was measured, and nothing can be proved by it.\n\n",
      plan.name);
  if (!plan.about.empty()) text += plan.about + "\n\n";
  if (!plan.commissioning_date.empty()) {
    text += "commissioning.csv holds what gauges and meter showed when the system was new.\n\n";
  }
  return text +
         fmt::format(
             "The folder was written by \"evendrip simulate\" from plan.toml (seed {}); the "
             "same plan\ngives the same folder. field.toml is where to start reading. "
             "truth/emitters.csv\nholds what every emitter really passes: look there last.\n",
             plan.seed);
}

std::vector<ResultLayer> system_layers(const SimulatedField& field) {
  const Drawing draw(field);
  return {zones_layer(field, draw), laterals_layer(field, draw), manifolds_layer(field, draw),
          ports_layer(field, draw), hazards_layer(field, draw)};
}

std::string geojson_text(const ResultLayer& layer) {
  std::string features;
  for (const LayerRow& row : layer.rows) {
    std::string properties;
    for (std::size_t i = 0; i < layer.fields.size(); ++i) {
      properties += fmt::format("{}\"{}\":{}", i == 0 ? "" : ",", layer.fields[i].name,
                                json_value(row.values[i]));
    }
    features += fmt::format("{}{{\"type\":\"Feature\",\"properties\":{{{}}},\"geometry\":{}}}",
                            features.empty() ? "\n" : ",\n", properties, geometry_text(row));
  }
  return fmt::format("{{\"type\":\"FeatureCollection\",\"name\":\"{}\",\"features\":[{}\n]}}\n",
                     layer.name, features);
}

void write_layers(const SimulatedField& field, const std::filesystem::path& folder) {
  const std::vector<ResultLayer> layers = system_layers(field);
  if (!as_geojson(field.plan)) {
    write_geopackage(folder / "system.gpkg", parse_crs(field.plan.layers_crs), layers, {});
    return;
  }
  for (const ResultLayer& layer : layers) {
    write_text(folder / (layer.name + ".geojson"), geojson_text(layer));
  }
}

}  // namespace evendrip
