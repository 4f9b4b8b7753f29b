// SPDX-License-Identifier: Apache-2.0
// Text files and GPX.
#include "evendrip/io/results.hpp"

#include <unistd.h>

#include <cmath>
#include <fstream>
#include <system_error>

#include <fmt/format.h>

#include "evendrip/base/error.hpp"
#include "evendrip/io/vector.hpp"
#include "file_errors.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;

std::string gpx_point(const char* element, const Waypoint& waypoint, const std::string& inside) {
  return fmt::format("  <{0} lat=\"{1:.7f}\" lon=\"{2:.7f}\">\n{3}  </{0}>\n", element,
                     waypoint.lonlat.y, waypoint.lonlat.x, inside);
}

std::string gpx_child(const char* element, const std::string& text) {
  if (text.empty()) return {};
  return fmt::format("    <{0}>{1}</{0}>\n", element, xml_escaped(text));
}

}  // namespace

void write_text(const fs::path& file, const std::string& text) {
  const fs::path beside =
      file.parent_path() / fmt::format(".{}.{}.part", file.filename().string(), ::getpid());
  std::error_code failed;
  {
    std::ofstream stream(beside, std::ios::binary | std::ios::trunc);
    stream << text;
    stream.close();
    if (!stream) {
      const std::string cause = std::error_code(errno, std::generic_category()).message();
      fs::remove(beside, failed);
      throw not_written(file, cause);
    }
  }
  fs::rename(beside, file, failed);
  if (!failed) return;
  const std::string cause = failed.message();
  fs::remove(beside, failed);
  throw not_written(file, cause);
}

void write_gpx(const fs::path& file, const std::vector<Waypoint>& waypoints,
               const std::optional<std::string>& route_name) {
  std::string text =
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<gpx version=\"1.1\" creator=\"evendrip\" xmlns=\"http://www.topografix.com/GPX/1/1\" "
      "xmlns:xsi=\"http://www.w3.org/2001/XMLSchema-instance\" "
      "xsi:schemaLocation=\"http://www.topografix.com/GPX/1/1 "
      "http://www.topografix.com/GPX/1/1/gpx.xsd\">\n";
  for (const Waypoint& waypoint : waypoints)
    text += gpx_point("wpt", waypoint,
                      gpx_child("name", waypoint.name) + gpx_child("desc", waypoint.description) +
                          gpx_child("type", waypoint.kind));
  if (route_name) {
    text += "  <rte>\n" + gpx_child("name", *route_name);
    for (const Waypoint& waypoint : waypoints)
      text += gpx_point("rtept", waypoint, gpx_child("name", waypoint.name));
    text += "  </rte>\n";
  }
  write_text(file, text + "</gpx>\n");
}

std::vector<Waypoint> read_gpx(const fs::path& file, const std::string& as_written) {
  VectorLayer layer = read_vector({file, "waypoints", as_written});
  Doubts problems;
  std::vector<Waypoint> waypoints;
  for (const Feature& feature : layer.features) {
    for (const Point& place : feature.points) {
      if (std::abs(place.x) > 180 || std::abs(place.y) > 90)
        problems.push_back({"not_lon_lat",
                            Severity::problem,
                            {as_written, layer.layer, feature.number, ""},
                            "the place is not on earth",
                            fmt::format("lat {}, lon {}", place.y, place.x),
                            "latitude -90 to 90 and longitude -180 to 180",
                            "Correct the waypoint"});
      waypoints.push_back(
          {place, feature.attribute("name"), feature.attribute("desc"), feature.attribute("type")});
    }
  }
  throw_if_problem(problems);
  return waypoints;
}

}  // namespace evendrip
