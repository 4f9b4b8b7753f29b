// SPDX-License-Identifier: Apache-2.0
// A small invented field for the tests of the crop room: two zones side by side, laterals that run
// north.
#pragma once

#include "evendrip/crop/crop.hpp"

#include "own_folder.hpp"

#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

namespace evendrip::invented {

inline MultiPolygon rectangle(double x, double y, double width, double height) {
  return {Polygon{{{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}}, {}}};
}

constexpr double west = 500'000;
constexpr double south = 4'400'000;

/// Zones W and E of 20 x 30 m, laterals 2 m apart.
inline Field small_field() {
  Field field;
  field.name = "Curlew Bottom";
  field.crs = parse_crs("EPSG:32614");
  field.stated_crs = field.crs;
  field.scale_factor = 1;
  for (int z = 0; z < 2; ++z) {
    Zone zone;
    zone.id = z == 0 ? "W" : "E";
    zone.area = rectangle(west + 20 * z, south, 20, 30);
    zone.emitter.spacing_m = 0.5;
    zone.emitter.first_offset_m = 0.25;
    zone.lateral.spacing_m = 2;
    field.zones.push_back(zone);
    for (int i = 0; i < 10; ++i) {
      Lateral lateral;
      lateral.id = zone.id + std::to_string(i + 1);
      lateral.zone = z;
      const double x = west + 20 * z + 1 + 2 * i;
      lateral.line = {{x, south}, {x, south + 30}};
      lateral.length_m = 30;
      lateral.emitters = 60;
      field.laterals.push_back(lateral);
    }
  }
  return field;
}

/// Cells of `cell_m` over both zones.
inline Grid small_grid(double cell_m) {
  return {west, south + 30, cell_m, static_cast<int>(40 / cell_m), static_cast<int>(30 / cell_m)};
}

/// Writes a file below a folder of the running test's own, as tests run side by side, and names it
/// as a crop source does.
inline CropSource crop_file(const std::string& name, const std::string& kind,
                            const std::string& text) {
  const std::filesystem::path folder = test::own_folder();
  std::ofstream(folder / name, std::ios::binary) << text;
  CropSource source;
  source.id = "invented";
  source.kind = kind;
  source.file = {folder / name, "", "crop/" + name};
  return source;
}

}  // namespace evendrip::invented
