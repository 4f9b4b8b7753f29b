// SPDX-License-Identifier: Apache-2.0
// A small field folder for tests: one zone of 100 m by 60 m, 20 laterals of 50 m true length, 2 m
// apart, flowing east from a supply manifold, in UTM zone 14N on its central meridian. Tests change
// single texts in it.
#pragma once

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <stdexcept>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "evendrip/base/error.hpp"
#include "own_folder.hpp"

namespace evendrip::testing {

constexpr double west = 500'000;
constexpr double south = 4'200'000;
/// Grid over ground length on the central meridian of UTM.
constexpr double utm_scale = 0.9996;

class FieldFolder {
 public:
  FieldFolder() {
    files_["field.toml"] = toml();
    files_["zones.geojson"] = layer(polygon("Z1", west, south, west + 100, south + 60));
    std::string lines;
    for (int i = 0; i < 20; ++i) {
      if (i > 0) lines += ",\n";
      lines += lateral(fmt::format("L{}", i + 1), south + 10 + 2 * i);
    }
    files_["laterals.geojson"] = layer(lines);
    files_["manifolds.geojson"] =
        layer(line(R"("id":"M1","zone":"Z1","kind":"supply","inside_diameter_in":2)", west + 10,
                   south + 5, west + 10, south + 55));
    files_["ports.geojson"] = layer(point(
        R"("id":"P1","kind":"zone_inlet","zone":"Z1","gauge_height_m":0.5)", west + 10, south + 5));
    files_["cans.csv"] = "record,lateral,station_m,volume_ml,duration_s\nA,L1,0.25,50,180\n";
  }

  static std::string lateral(const std::string& id, double y, double length_m = 50) {
    return line(fmt::format(R"("id":"{}","zone":"Z1")", id), west + 10, y,
                west + 10 + length_m * utm_scale, y);
  }
  static std::string line(const std::string& properties, double x1, double y1, double x2,
                          double y2) {
    return feature(properties, "LineString",
                   fmt::format("[[{:.6f},{:.6f}],[{:.6f},{:.6f}]]", x1, y1, x2, y2));
  }
  static std::string point(const std::string& properties, double x, double y) {
    return feature(properties, "Point", fmt::format("[{:.6f},{:.6f}]", x, y));
  }
  static std::string polygon(const std::string& id, double x1, double y1, double x2, double y2) {
    return feature(
        fmt::format(R"("id":"{}")", id), "Polygon",
        fmt::format("[[[{0},{1}],[{2},{1}],[{2},{3}],[{0},{3}],[{0},{1}]]]", x1, y1, x2, y2));
  }
  static std::string feature(const std::string& properties, const std::string& type,
                             const std::string& coordinates) {
    return fmt::format(
        R"({{"type":"Feature","properties":{{{}}},"geometry":{{"type":"{}","coordinates":{}}}}})",
        properties, type, coordinates);
  }
  static std::string layer(const std::string& features, const std::string& crs = "EPSG::32614") {
    const std::string member =
        crs.empty()
            ? ""
            : fmt::format(
                  R"("crs":{{"type":"name","properties":{{"name":"urn:ogc:def:crs:{}"}}}},)", crs);
    return fmt::format(R"({{"type":"FeatureCollection",{}"features":[{}]}})", member, features);
  }

  FieldFolder& file(const std::string& name, const std::string& text) {
    files_[name] = text;
    return *this;
  }
  FieldFolder& remove(const std::string& name) {
    files_.erase(name);
    return *this;
  }
  /// Replaces the first `from` in a file; throws if it is not there, so that no test passes idly.
  FieldFolder& change(const std::string& name, const std::string& from, const std::string& to) {
    std::string& text = files_.at(name);
    const auto at = text.find(from);
    if (at == std::string::npos) throw std::logic_error("no such text in " + name + ": " + from);
    text.replace(at, from.size(), to);
    return *this;
  }
  FieldFolder& add(const std::string& toml) {
    files_["field.toml"] += toml;
    return *this;
  }

  /// Writes the folder afresh, in that of the running test.
  std::filesystem::path write() const {
    const std::filesystem::path folder = test::fresh_folder("field");
    for (const auto& [name, text] : files_) {
      std::filesystem::create_directories((folder / name).parent_path());
      std::ofstream(folder / name, std::ios::binary) << text;
    }
    return folder;
  }

 private:
  static std::string toml() {
    return R"([field]
name = "Test Field"
crs = "EPSG:32614"

[layers]
zones = "zones.geojson"
laterals = "laterals.geojson"
manifolds = "manifolds.geojson"
ports = "ports.geojson"

[emitter]
discharge = "1.0 L/h"
pressure = "100 kPa"
spacing = "0.5 m"
first_offset = "0.25 m"

[lateral]
inside_diameter = "16 mm"
spacing = "2 m"
depth = "0.35 m"
position_accuracy = "0.1 m"

[[zone]]
id = "Z1"
inlet_pressure = "110 kPa"

[[survey]]
id = "spring"
date = 2026-05-12
catch_cans = "cans.csv"
)";
  }

  std::map<std::string, std::string> files_;
};

inline int count(const Doubts& doubts, const std::string& code) {
  return static_cast<int>(
      std::count_if(doubts.begin(), doubts.end(), [&](const Doubt& d) { return d.code == code; }));
}

/// The first entry with a code; a failure of the test, and an empty one, if there is none.
inline Doubt entry(const Doubts& doubts, const std::string& code) {
  for (const Doubt& d : doubts) {
    if (d.code == code) return d;
  }
  std::string all;
  for (const Doubt& d : doubts) all += "\n  " + d.code + ": " + to_text(d);
  ADD_FAILURE() << "no entry " << code << " among" << all;
  return {};
}

inline std::string all_text(const Doubts& doubts) {
  std::string all;
  for (const Doubt& d : doubts) all += d.code + ": " + to_text(d) + "\n";
  return all;
}

}  // namespace evendrip::testing
