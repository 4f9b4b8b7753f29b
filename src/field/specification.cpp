// SPDX-License-Identifier: Apache-2.0
#include "specification.hpp"

#include <array>
#include <cmath>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "evendrip/field/plausible.hpp"

namespace evendrip {
namespace {

// Ranges: common practice, no source.
PlausibleRange discharge_range() {
  return {Dimension::discharge,
          0.02,
          100,
          0.2,
          16,
          {{"L/h", "gph"},
           {"mL/h", "L/h"},
           {"gph", "L/h"},
           {"L/h", "mL/h"},
           {"gpm", "gph"},
           {"L/min", "L/h"}}};
}
PlausibleRange pressure_range() {
  return {Dimension::pressure,
          3,
          1500,
          30,
          450,
          {{"kPa", "psi"},
           {"kPa", "bar"},
           {"Pa", "kPa"},
           {"kPa", "Pa"},
           {"psi", "kPa"},
           {"bar", "kPa"}}};
}
PlausibleRange length_range(double possible_low, double possible_high, double usual_low,
                            double usual_high) {
  return {Dimension::length,
          possible_low,
          possible_high,
          usual_low,
          usual_high,
          {{"m", "cm"},
           {"mm", "cm"},
           {"m", "in"},
           {"in", "cm"},
           {"m", "mm"},
           {"mm", "m"},
           {"cm", "m"},
           {"m", "ft"},
           {"ft", "in"},
           {"in", "ft"}}};
}
PlausibleRange diameter_range() {
  return {Dimension::length,
          0.003,
          0.2,
          0.008,
          0.045,
          {{"mm", "in"}, {"mm", "cm"}, {"cm", "mm"}, {"m", "mm"}, {"in", "mm"}, {"m", "in"}}};
}
PlausibleRange wall_range() {
  return {Dimension::length,
          0.00005,
          0.01,
          0.0001,
          0.0035,
          {{"mm", "mil"}, {"mil", "mm"}, {"in", "mil"}, {"m", "mm"}}};
}
PlausibleRange roughness_range() {
  return {Dimension::length, 0, 0.005, 0.0000001, 0.0003, {{"m", "mm"}, {"in", "mm"}}};
}

class Keys {
 public:
  Keys(TomlReader& reader, std::string prefix, Doubts& doubts)
      : reader_(reader), prefix_(std::move(prefix)), doubts_(doubts) {}

  /// Only `spacing` stands in both sections, so it alone takes the prefix in a zone.
  std::string key(const std::string& name) const {
    return name == "spacing" ? prefix_ + name : name;
  }

  std::optional<double> quantity(const std::string& name, const PlausibleRange& range) {
    const auto value = reader_.quantity(key(name), range.dimension);
    if (value) check(name, *value, range);
    return value;
  }

  void check(const std::string& name, double value, const PlausibleRange& range) {
    const std::string unit{accepted_units(range.dimension).front()};
    if (auto doubt = implausible(value, range, reader_.place_of(key(name)),
                                 fmt::format("{:g} {}", value, unit))) {
      doubts_.push_back(*std::move(doubt));
    }
  }

  /// A plain number within bounds; a problem outside.
  std::optional<double> number(const std::string& name, double low, double high) {
    const auto value = reader_.number(name);
    if (value && !(*value >= low && *value <= high)) {
      reader_.problem(name, "out_of_range", "the value is out of range",
                      fmt::format("{:g}", *value), fmt::format("{:g} to {:g}", low, high));
      return std::nullopt;
    }
    return value;
  }

 private:
  TomlReader& reader_;
  std::string prefix_;
  Doubts& doubts_;
};

/// Rated flow of one emitter, or by length of lateral ("5 L/h/m").
void read_discharge(Specification& result, TomlReader& reader, Keys& keys) {
  std::optional<double> each;
  std::optional<double> per_metre;
  if (reader.has("discharge")) {
    const auto text = reader.text("discharge");
    if (!text) return;
    try {
      each = parse_quantity(*text, Dimension::discharge);
    } catch (const InputError&) {
      per_metre = reader.quantity("discharge", Dimension::discharge_per_length);
    }
  } else {
    each = reader.quantity("discharge", Dimension::discharge);
    if (!each) per_metre = reader.quantity("discharge", Dimension::discharge_per_length);
  }
  if (each) {
    keys.check("discharge", *each, discharge_range());
    result.emitter.discharge_lph = *each;
    result.discharge_per_metre_lph.reset();
  } else if (per_metre) {
    result.discharge_per_metre_lph = per_metre;
  }
}

void read_compensation(Specification& result, TomlReader& reader) {
  if (!reader.has("pressure_compensating")) return;
  const auto limits = reader.quantities("pressure_compensating", Dimension::pressure);
  if (limits.size() != 2 || !(limits[0] >= 0 && limits[0] < limits[1])) {
    reader.problem("pressure_compensating", "bad_range", "the compensating range cannot be used",
                   fmt::format("{} pressures", limits.size()),
                   R"(two pressures, the lower first: ["70 kPa", "300 kPa"])");
    return;
  }
  result.emitter.pressure_compensating_kpa = std::pair{limits[0], limits[1]};
}

void read_ends(Specification& result, TomlReader& reader) {
  const auto text = reader.text("ends");
  if (!text) return;
  if (*text == "closed") {
    result.lateral.ends = LateralEnds::closed;
  } else if (*text == "flush_manifold") {
    result.lateral.ends = LateralEnds::flush_manifold;
  } else if (*text == "both_fed") {
    result.lateral.ends = LateralEnds::both_fed;
  } else {
    reader.problem("ends", "unknown_ends", "no such kind of lateral end", *text,
                   "closed, flush_manifold or both_fed");
  }
}

void read_source(Specification& result, TomlReader& reader) {
  const auto text = reader.text("source");
  if (!text) return;
  if (*text == "surveyed" || *text == "drawing" || *text == "laid_out") {
    result.lateral.source = *text;
  } else {
    reader.problem("source", "unknown_source", "no such source of lateral positions", *text,
                   "surveyed, drawing or laid_out");
  }
}

void read_roughness(Specification& result, TomlReader& reader, Keys& keys) {
  const auto roughness = keys.quantity("roughness", roughness_range());
  const auto coefficient = keys.number("hazen_williams_c", 60, 170);
  if (roughness && coefficient) {
    reader.problem("hazen_williams_c", "two_roughnesses",
                   "roughness and hazen_williams_c are both stated",
                   fmt::format("{:g}", *coefficient), "one of the two");
  }
  if (roughness) {
    result.lateral.roughness_mm = *roughness * 1000;
    result.lateral.hazen_williams_c = 0;
  } else if (coefficient) {
    result.lateral.hazen_williams_c = *coefficient;
  }
}

double default_position_accuracy_m(const LateralSpec& lateral) {
  // Laid out: anywhere within half a spacing, as a uniform spread. Drawings: common practice.
  if (lateral.source == "laid_out") return lateral.spacing_m / std::sqrt(12.0);
  if (lateral.source == "drawing") return 1.0;
  return LateralSpec{}.position_accuracy_m;
}

}  // namespace

Specification with_emitter_keys(Specification base, TomlReader& reader, KeyStyle style,
                                Doubts& doubts) {
  Keys keys(reader, style == KeyStyle::in_zone ? "emitter_" : "", doubts);
  EmitterSpec& emitter = base.emitter;
  read_discharge(base, reader, keys);
  if (const auto v = keys.quantity("pressure", pressure_range())) emitter.pressure_kpa = *v;
  if (const auto v = keys.number("rated_tolerance", 0, 0.5)) emitter.rated_tolerance_frac = *v;
  if (const auto v = keys.number("exponent", 0, 1)) emitter.exponent = *v;
  if (const auto v = keys.number("manufacturing_cv", 0, 1)) emitter.manufacturing_cv = *v;
  if (const auto v = keys.quantity("spacing", length_range(0.02, 20, 0.1, 2))) {
    emitter.spacing_m = *v;
  }
  if (const auto v = keys.quantity("first_offset", length_range(0, 100, 0, 5))) {
    base.first_offset_m = *v;
  }
  if (const auto v = keys.quantity("connection_loss", length_range(0, 5, 0, 1))) {
    emitter.connection_loss_m = *v;
  }
  read_compensation(base, reader);
  return base;
}

Specification with_lateral_keys(Specification base, TomlReader& reader, KeyStyle style,
                                Doubts& doubts) {
  Keys keys(reader, style == KeyStyle::in_zone ? "lateral_" : "", doubts);
  LateralSpec& lateral = base.lateral;
  if (const auto v = keys.quantity("inside_diameter", diameter_range())) {
    lateral.inside_diameter_mm = *v * 1000;
  }
  if (const auto v = keys.quantity("wall_thickness", wall_range())) {
    lateral.wall_thickness_mm = *v * 1000;
  }
  if (const auto v = keys.quantity("max_pressure", pressure_range())) lateral.max_pressure_kpa = *v;
  if (const auto v = keys.number("installed", 1950, 2200)) {
    lateral.installed_year = static_cast<int>(*v);
  }
  read_roughness(base, reader, keys);
  if (const auto v = keys.quantity("spacing", length_range(0.05, 30, 0.3, 4)))
    lateral.spacing_m = *v;
  if (const auto v = keys.quantity("depth", length_range(0, 2, 0, 0.8))) lateral.depth_m = *v;
  if (const auto v = keys.quantity("position_accuracy", length_range(0, 100, 0.001, 10))) {
    base.position_accuracy_m = *v;
  }
  read_ends(base, reader);
  read_source(base, reader);
  return base;
}

Specification completed(Specification specification, const Place& place, Doubts& doubts) {
  EmitterSpec& emitter = specification.emitter;
  if (specification.discharge_per_metre_lph) {
    emitter.discharge_lph = *specification.discharge_per_metre_lph * emitter.spacing_m;
  }
  emitter.first_offset_m = specification.first_offset_m.value_or(emitter.spacing_m / 2);
  LateralSpec& lateral = specification.lateral;
  lateral.position_accuracy_m =
      specification.position_accuracy_m.value_or(default_position_accuracy_m(lateral));
  const auto require = [&](double value, const char* section, const char* key,
                           const char* example) {
    if (value > 0) return;
    Place where = place;
    where.layer = section;
    where.column = key;
    doubts.push_back({"missing_key", Severity::problem, where,
                      "a value greater than zero is needed here", "", example,
                      fmt::format("Add {} to {}", key, section)});
  };
  require(emitter.discharge_lph, "[emitter]", "discharge", "a flow, for example \"1.0 L/h\"");
  require(emitter.pressure_kpa, "[emitter]", "pressure", "a pressure, for example \"100 kPa\"");
  require(emitter.spacing_m, "[emitter]", "spacing", "a length, for example \"0.5 m\"");
  require(lateral.spacing_m, "[lateral]", "spacing", "a length, for example \"1.5 m\"");
  return specification;
}

}  // namespace evendrip
