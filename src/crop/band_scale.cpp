// SPDX-License-Identifier: Apache-2.0
#include "band_scale.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "evendrip/units/quantity.hpp"
#include "layer_doubt.hpp"

namespace evendrip {
namespace {

constexpr double rounding = 1e-3;           ///< beyond -1 or 1
constexpr double bright_cells = 0.01;       ///< share of glints that says nothing of the scale
constexpr double too_small = 0.05;          ///< no index or near infrared of a crop stays below it
constexpr double coldest_c = -5;            ///< of a canopy; common practice, no source
constexpr double hottest_c = 60;            ///< likewise
constexpr double highest_yield_t_ha = 200;  ///< sugarcane, fresh; common practice, no source

std::string range_text(const BandRange& range) {
  return fmt::format("{:.4g} to {:.4g}", range.least, range.most);
}

/// The scale on which numbers up to `most` are mostly written.
double usual_full_scale(double most) {
  constexpr std::array<double, 4> usual = {100, 255, 10'000, 65'535};
  const auto found = std::find_if(usual.begin(), usual.end(),
                                  [most](double scale) { return most <= 1.2 * scale; });
  return found == usual.end() ? usual.back() : *found;
}

std::string state_full_scale(const BandRange& range) {
  return fmt::format(
      "State full_scale, the number that stands for 1 (for such numbers often "
      "{:.0f}), or use a raster on its natural scale",
      usual_full_scale(range.most));
}

bool holds_integers(const CropSource& source, const RasterInfo& info) {
  const auto band = static_cast<std::size_t>(source.band - 1);
  return band < info.band_holds_integers.size() && info.band_holds_integers[band];
}

InputError wrong_scale(const CropSource& source, const BandRange& range, const char* what) {
  return InputError(about_layer("crop_scale_wrong", Severity::problem, source,
                                fmt::format("with full_scale {:g} {} would run from {}",
                                            source.full_scale.value_or(1), what, range_text(range)),
                                "Correct full_scale: the number that stands for 1"));
}

void judge_bands(const CropSource& source, const BandRanges& ranges, Doubts& doubts) {
  BandRange both = ranges.first;
  both.least = std::min(both.least, ranges.second.least);
  both.most = std::max(both.most, ranges.second.most);
  both.above_reflectance = std::max(both.above_reflectance, ranges.second.above_reflectance);
  const bool beyond = both.above_reflectance > bright_cells * both.cells;
  if (source.full_scale) {
    if (beyond || both.most < too_small) throw wrong_scale(source, both, "reflectances");
    return;
  }
  if (!beyond) return;
  doubts.push_back(about_layer(
      "crop_scale_not_stated", Severity::doubt, source,
      fmt::format("the bands run from {}, which is no reflectance: the index is right only if 0 "
                  "stands for none",
                  range_text(both)),
      state_full_scale(both)));
}

void judge_index(const CropSource& source, const RasterInfo& info, const BandRange& range,
                 Doubts& doubts) {
  const bool beyond = range.most > 1 + rounding || range.least < -1 - rounding;
  if (source.full_scale) {
    if (beyond || std::max(range.most, -range.least) < too_small)
      throw wrong_scale(source, range, "the index");
    return;
  }
  if (!beyond) return;
  const std::string text = fmt::format("the values run from {}", range_text(range));
  if (holds_integers(source, info) || range.least < -1 - rounding)
    throw InputError(about_layer("crop_scale_not_stated", Severity::problem, source,
                                 text + ", which is no index of -1 to 1, and what stands for 1 is "
                                        "not stated",
                                 state_full_scale(range)));
  doubts.push_back(about_layer("crop_scale_not_stated", Severity::doubt, source,
                               text +
                                   ", which is no index of -1 to 1: they are taken as an amount on "
                                   "a scale that starts at 0",
                               state_full_scale(range)));
}

void judge_temperature(const CropSource& source, const BandRange& range) {
  const double mean = range.mean();
  if (mean >= coldest_c && mean <= hottest_c) return;
  throw InputError(about_layer(
      "crop_scale_wrong", Severity::problem, source,
      fmt::format("the canopy would have {:.4g} C on the mean, {}", mean, range_text(range)),
      mean > 200 && mean < 350 ? "These look like kelvin: write the unit K into the band"
                               : "Write the unit (C, F or K) into the band, or state full_scale"));
}

void judge_yield(const CropSource& source, const BandRange& range, Doubts& doubts) {
  if (range.mean() <= highest_yield_t_ha) return;
  doubts.push_back(about_layer(
      "crop_scale_not_stated", Severity::doubt, source,
      fmt::format("a mean yield of {:.4g} t/ha is more than any crop gives", range.mean()),
      "Write the unit (t/ha, kg/ha, lb/ac) into the band, or state full_scale"));
}

}  // namespace

BandScale scale_of_band(const CropSource& source, const RasterInfo& info, Doubts& doubts) {
  BandScale scale;
  if (source.full_scale) {
    scale.factor = 1 / *source.full_scale;
    scale.told = fmt::format("numbers over {:g}", *source.full_scale);
  }
  if (source.kind == "biomass" || source.bands.near_infrared > 0) return scale;
  const bool temperature = source.kind == "canopy_temperature";
  const Dimension dimension = temperature ? Dimension::temperature : Dimension::yield;
  scale.unit = temperature ? "C" : "t/ha";
  const auto band = static_cast<std::size_t>(source.band - 1);
  const std::string unit = band < info.band_units.size() ? info.band_units[band] : "";
  if (unit.empty()) return scale;
  try {
    const double zero = to_canonical(0, unit, dimension);
    scale.factor *= to_canonical(1, unit, dimension) - zero;
    scale.offset = zero;
    if (scale.factor != 1 || scale.offset != 0)
      scale.told += (scale.told.empty() ? "" : ", ") + ("from " + unit);
  } catch (const InputError&) {
    doubts.push_back(about_layer(
        "crop_unit_not_known", Severity::doubt, source,
        fmt::format("the band's unit \"{}\" is not known: {} is taken", unit, scale.unit),
        "Write a unit into the band that is"));
  }
  return scale;
}

void judge_scale(const CropSource& source, const RasterInfo& info, const BandRanges& ranges,
                 Doubts& doubts) {
  if (source.bands.near_infrared > 0) {
    judge_bands(source, ranges, doubts);
  } else if (source.kind == "canopy_temperature") {
    judge_temperature(source, ranges.first);
  } else if (source.kind == "yield") {
    judge_yield(source, ranges.first, doubts);
  } else {
    judge_index(source, info, ranges.first, doubts);
  }
}

}  // namespace evendrip
