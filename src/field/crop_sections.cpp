// SPDX-License-Identifier: Apache-2.0
#include "crop_sections.hpp"

#include <algorithm>
#include <limits>

#include <fmt/format.h>

#include "sections.hpp"

namespace evendrip {
namespace {

constexpr const char* toml_name = "field.toml";
constexpr double no_limit = std::numeric_limits<double>::infinity();

void read_kind(CropSource& crop, TomlReader& reader) {
  crop.kind = reader.text("kind").value_or("");
  if (crop.kind.empty() || crop.kind == "yield" || crop.kind == "biomass" ||
      crop.kind == "canopy_temperature") {
    return;
  }
  reader.problem("kind", "unknown_crop_kind", "there is no such kind of crop data", crop.kind,
                 "yield, biomass or canopy_temperature");
}

/// The number of a band, 0 if it is not stated.
int band_number(TomlReader& reader, const char* key) {
  const auto band = reader.integer(key);
  if (!band) return 0;
  if (*band < 1 || *band > 10'000) {
    reader.problem(key, "out_of_range", "bands count from 1", fmt::format("{}", *band),
                   "1 or more");
    return 0;
  }
  return static_cast<int>(*band);
}

void read_moisture_basis(CropSource& crop, TomlReader& reader) {
  const auto basis = reader.quantity("moisture_basis", Dimension::fraction);
  if (!basis) return;
  crop.moisture_basis_frac = *basis;
  if (*basis >= 0 && *basis < 0.9) return;
  reader.problem("moisture_basis", "out_of_range", "the moisture basis cannot be used",
                 fmt::format("{:g}", *basis), "a fraction below 0.9, for example \"15.5 %\"");
}

/// A value that has to lie within limits; else a problem, and nothing.
std::optional<double> within(std::optional<double> value, TomlReader& reader, const char* key,
                             double lowest, double highest, const char* expected) {
  if (!value || (*value >= lowest && *value <= highest)) return value;
  reader.problem(key, "out_of_range", "the value cannot be used", fmt::format("{:g}", *value),
                 expected);
  return std::nullopt;
}

/// By either name; a test weight is in pounds a US bushel of 2150.42 cubic inches.
void read_bulk_density(CropSource& crop, TomlReader& reader) {
  constexpr double kg_m3_per_lb_bu = 0.45359237 / (2150.42 * 0.0254 * 0.0254 * 0.0254);
  constexpr double lightest_kg_m3 = 30;
  constexpr double heaviest_kg_m3 = 1500;
  crop.bulk_density_kg_m3 =
      within(reader.number("bulk_density_kg_m3"), reader, "bulk_density_kg_m3", lightest_kg_m3,
             heaviest_kg_m3, "30 to 1500 kg/m3");
  const auto test_weight = within(reader.number("test_weight_lb_bu"), reader, "test_weight_lb_bu",
                                  lightest_kg_m3 / kg_m3_per_lb_bu,
                                  heaviest_kg_m3 / kg_m3_per_lb_bu, "2.4 to 116 lb a US bushel");
  if (!test_weight) return;
  if (crop.bulk_density_kg_m3) {
    reader.problem("test_weight_lb_bu", "stated_twice", "the density of the grain is stated twice",
                   "", "bulk_density_kg_m3 or test_weight_lb_bu");
    return;
  }
  crop.bulk_density_kg_m3 = *test_weight * kg_m3_per_lb_bu;
}

void read_bands(CropSource& crop, TomlReader& reader) {
  if (const int band = band_number(reader, "band"); band > 0) crop.band = band;
  crop.bands.red = band_number(reader, "red_band");
  crop.bands.red_edge = band_number(reader, "red_edge_band");
  crop.bands.near_infrared = band_number(reader, "near_infrared_band");
  const bool any_visible = crop.bands.red > 0 || crop.bands.red_edge > 0;
  if (any_visible != (crop.bands.near_infrared > 0)) {
    reader.problem("near_infrared_band", "bands_incomplete",
                   "an index needs the near infrared and one of red and red edge", "",
                   "near_infrared_band with red_band or red_edge_band",
                   "State both, or neither for a ready index");
  }
  if (crop.bands.red > 0 && crop.bands.red_edge > 0) {
    reader.problem("red_edge_band", "bands_ambiguous",
                   "red and red edge make two different indices", "", "one of the two",
                   "Give each index its own [[crop]]");
  }
}

void read_masks(CropSource& crop, TomlReader& reader, const std::filesystem::path& folder,
                Doubts& doubts) {
  crop.full_scale = within(reader.number("full_scale"), reader, "full_scale", 1e-9, no_limit,
                           "a number above 0, for example 10000");
  crop.mask = named_file(reader, "mask", folder, "[[crop]]", doubts);
  for (const std::string& text : reader.texts("masked_values")) {
    try {
      std::size_t used = 0;
      const int value = std::stoi(text, &used);
      if (used == text.size()) {
        crop.masked_values.push_back(value);
        continue;
      }
    } catch (const std::exception&) {  // told below
    }
    reader.problem("masked_values", "not_a_number", "the value is no whole number", text,
                   "whole numbers as texts, for example [\"3\", \"8\"]");
  }
  crop.bare_below =
      within(reader.number("bare_below"), reader, "bare_below", -1, 1, "an index from -1 to 1");
}

void read_water(CropSource& crop, TomlReader& reader) {
  const auto water = reader.text("water");
  if (!water || *water == "irrigation") return;
  if (*water == "before_irrigation") {
    crop.water = CropWater::before_irrigation;
  } else if (*water == "soaking_rain") {
    crop.water = CropWater::soaking_rain;
  } else {
    reader.problem("water", "unknown_crop_water", "there is no such water of a crop layer", *water,
                   "irrigation, before_irrigation or soaking_rain");
  }
}

void read_sight(CropSource& crop, TomlReader& reader) {
  crop.days_since_water = within(reader.number("days_since_rain_or_irrigation"), reader,
                                 "days_since_rain_or_irrigation", 0, 366, "0 to 366 days");
  crop.blur_m =
      within(reader.quantity("blur", Dimension::length), reader, "blur", 0, 1000, "0 to 1000 m");
  crop.position_accuracy_m = within(reader.quantity("position_accuracy", Dimension::length), reader,
                                    "position_accuracy", 0, 100, "0 to 100 m");
}

CleaningSettings cleaning_from(TomlReader& reader) {
  CleaningSettings to;
  const auto set = [&reader](auto& value, const char* key, std::optional<double> read,
                             double lowest, double highest, const char* expected) {
    if (const auto v = within(read, reader, key, lowest, highest, expected)) value = *v;
  };
  const auto time = [&](auto& value, const char* key) {
    set(value, key, reader.quantity(key, Dimension::time), 0, 600, "0 to 600 s");
  };
  const auto share = [&](auto& value, const char* key) {
    set(value, key, reader.quantity(key, Dimension::fraction), 0, 1, "a fraction from 0 to 1");
  };
  const auto length = [&](auto& value, const char* key) {
    set(value, key, reader.quantity(key, Dimension::length), 0, 1000, "0 to 1000 m");
  };
  const auto yield = [&](auto& value, const char* key) {
    set(value, key, reader.quantity(key, Dimension::yield), 0, 1000, "0 to 1000 t/ha");
  };
  const auto number = [&](auto& value, const char* key) {
    set(value, key, reader.number(key), 0, 1000, "a number from 0 to 1000");
  };
  time(to.travel_time_s, "travel_time");
  time(to.longest_travel_time_s, "longest_travel_time");
  time(to.pass_start_s, "pass_start");
  time(to.pass_end_s, "pass_end");
  share(to.least_cut_share, "least_cut");
  number(to.slowest_m_s, "slowest_m_s");
  number(to.fastest_m_s, "fastest_m_s");
  share(to.speed_jump_share, "speed_jump");
  yield(to.least_yield_t_ha, "least_yield");
  yield(to.most_yield_t_ha, "most_yield");
  number(to.robust_limit, "robust_limit");
  length(to.edge_m, "edge");
  share(to.same_spot_share, "same_spot");
  length(to.neighbours_within_m, "neighbours_within");
  share(to.false_discovery_rate, "false_discovery_rate");
  number(to.neighbour_limit, "neighbour_limit");
  return to;
}

void read_cleaning(CropSource& crop, TomlReader& reader, Doubts& doubts) {
  const TomlTable* table = reader.table("cleaning");
  if (table == nullptr) return;
  TomlReader cleaning(*table, toml_name, "[[crop]] cleaning", doubts);
  crop.cleaning = cleaning_from(cleaning);
  const CleaningSettings& c = crop.cleaning;
  if (c.slowest_m_s >= c.fastest_m_s) {
    cleaning.problem("slowest_m_s", "limits_swapped", "the slowest is not below the fastest",
                     fmt::format("{:g}", c.slowest_m_s), fmt::format("below {:g}", c.fastest_m_s));
  }
  if (c.least_yield_t_ha && c.most_yield_t_ha && *c.least_yield_t_ha >= *c.most_yield_t_ha) {
    cleaning.problem("least_yield", "limits_swapped", "the least yield is not below the most",
                     fmt::format("{:g} t/ha", *c.least_yield_t_ha),
                     fmt::format("below {:g} t/ha", *c.most_yield_t_ha));
  }
  cleaning.finish();
}

std::optional<CropSource> crop_from(const TomlTable& table, const std::filesystem::path& folder,
                                    Doubts& doubts) {
  TomlReader reader(table, toml_name, "[[crop]]", doubts);
  CropSource crop;
  reader.required("id", "the name of the crop data");
  reader.required("kind", "yield, biomass or canopy_temperature");
  reader.required("file", "the raster, table, vector file or task data");
  crop.id = reader.text("id").value_or("");
  crop.date = reader.date("date").value_or("");
  crop.crop = reader.text("crop").value_or("");
  read_kind(crop, reader);
  read_moisture_basis(crop, reader);
  crop.swath_m = within(reader.quantity("swath", Dimension::length), reader, "swath", 0.1, 100,
                        "0.1 to 100 m, the width of the header");
  read_bulk_density(crop, reader);
  read_bands(crop, reader);
  read_masks(crop, reader, folder, doubts);
  read_sight(crop, reader);
  read_water(crop, reader);
  read_cleaning(crop, reader, doubts);
  const auto file = named_file(reader, "file", folder, "[[crop]]", doubts, Named::file_or_folder);
  reader.finish();
  if (!file) return std::nullopt;
  crop.file = *file;
  return crop;
}

}  // namespace

std::vector<CropSource> crops_from(TomlReader& root, const std::filesystem::path& folder,
                                   Doubts& doubts) {
  std::vector<CropSource> crops;
  for (const TomlTable* table : root.tables("crop")) {
    auto crop = crop_from(*table, folder, doubts);
    if (!crop) continue;
    const bool twice = std::any_of(crops.begin(), crops.end(),
                                   [&](const CropSource& other) { return other.id == crop->id; });
    if (twice) {
      doubts.push_back({"id_twice",
                        Severity::problem,
                        {toml_name, "[[crop]]", 0, "id"},
                        "two crop layers have one id",
                        crop->id,
                        "an id that no other has",
                        "Give each its own id: results are named by it"});
    }
    crops.push_back(*std::move(crop));
  }
  return crops;
}

}  // namespace evendrip
