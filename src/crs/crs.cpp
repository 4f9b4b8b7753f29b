// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crs/crs.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>

#include <cpl_conv.h>
#include <fmt/format.h>
#include <gdal.h>
#include <ogr_api.h>
#include <ogr_spatialref.h>
#include <proj.h>
#include <boost/version.hpp>

#include "evendrip/base/error.hpp"
#include "quiet.hpp"

namespace evendrip {
namespace {

[[noreturn]] void refuse(const std::string& code, const std::string& text, const std::string& found,
                         const std::string& expected, const std::string& remedy) {
  throw InputError(Doubt{code, Severity::problem, {}, text, found, expected, remedy});
}

[[noreturn]] void refuse_unknown(const std::string& text, const std::string& why) {
  const std::string shown = text.size() > 80 ? text.substr(0, 80) + "..." : text;
  refuse("unknown_crs", why, shown,
         "an EPSG code such as \"EPSG:32614\", WKT, PROJJSON or a PROJ string of a geographic or "
         "projected CRS",
         "Correct the CRS, or write crs = \"auto\" for the UTM zone of the data");
}

std::string or_empty(const char* text) {
  return text == nullptr ? std::string() : text;
}

bool all_digits(const std::string& text) {
  return !text.empty() && text.find_first_not_of("0123456789") == std::string::npos;
}

std::string wkt_of(const OGRSpatialReference& reference) {
  const std::array<const char*, 2> options{"FORMAT=WKT2_2019", nullptr};
  char* wkt = nullptr;
  const OGRErr error = reference.exportToWkt(&wkt, options.data());
  std::string text = error == OGRERR_NONE ? or_empty(wkt) : std::string();
  CPLFree(wkt);
  return text;
}

OGRSpatialReference reference_of(const std::string& text) {
  const std::string input = all_digits(text) ? "EPSG:" + text : text;
  OGRSpatialReference reference;
  reference.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  // Neither files nor addresses: what a field folder says must not open anything.
  const std::array<const char*, 3> options{"ALLOW_NETWORK_ACCESS=NO", "ALLOW_FILE_ACCESS=NO",
                                           nullptr};
  if (text.empty() || reference.SetFromUserInput(input.c_str(), options.data()) != OGRERR_NONE) {
    refuse_unknown(text, "this coordinate reference system is not known");
  }
  return reference;
}

Crs crs_from(const OGRSpatialReference& reference) {
  Crs crs;
  crs.wkt = wkt_of(reference);
  crs.name = or_empty(reference.GetName());
  const std::string authority = or_empty(reference.GetAuthorityName(nullptr));
  const std::string code = or_empty(reference.GetAuthorityCode(nullptr));
  if (!authority.empty() && !code.empty()) crs.code = authority + ":" + code;
  crs.geographic = reference.IsGeographic() != 0;
  const char* unit = nullptr;
  if (crs.geographic) {
    reference.GetAngularUnits(&unit);
  } else {
    crs.unit_to_metre = reference.GetLinearUnits(&unit);
  }
  crs.unit_name = or_empty(unit);
  return crs;
}

/// PROJ computes this projection on a sphere even where the CRS has an ellipsoid: kilometres off.
bool computed_on_a_sphere(const OGRSpatialReference& reference) {
  const char* projection = reference.GetAttrValue("PROJECTION");
  return projection != nullptr && std::strcmp(projection, SRS_PT_EQUIRECTANGULAR) == 0 &&
         reference.GetInvFlattening() > 0;
}

bool axes_east_north(const OGRSpatialReference& reference) {
  OGRAxisOrientation first = OAO_Other;
  OGRAxisOrientation second = OAO_Other;
  reference.GetAxis(nullptr, 0, &first);
  reference.GetAxis(nullptr, 1, &second);
  return (first == OAO_East && second == OAO_North) || (first == OAO_North && second == OAO_East);
}

int utm_zone(double lon, double lat) {
  const int zone = std::min(60, static_cast<int>(std::floor((lon + 180) / 6)) + 1);
  if (lat >= 56 && lat < 64 && lon >= 3 && lon < 12) return 32;  // south-west Norway
  if (lat >= 72 && lat <= 84 && lon >= 0 && lon < 42) {          // Svalbard
    if (lon < 9) return 31;
    if (lon < 21) return 33;
    return lon < 33 ? 35 : 37;
  }
  return zone;
}

}  // namespace

Crs parse_crs(const std::string& text) {
  const QuietGdal quiet;
  OGRSpatialReference reference = reference_of(text);
  if (reference.IsCompound() != 0) reference.StripVertical();
  if (reference.GetAxesCount() == 3) reference.DemoteTo2D(nullptr);
  if (reference.IsGeographic() == 0 && reference.IsProjected() == 0) {
    refuse_unknown(text, "this CRS is neither geographic nor projected");
  }
  if (computed_on_a_sphere(reference)) {
    refuse_unknown(text, "this projection cannot be computed exactly on its ellipsoid");
  }
  return crs_from(reference);
}

Crs wgs84() {
  return parse_crs("EPSG:4326");
}

Crs utm_for(const Extent& lonlat) {
  const bool on_earth = !lonlat.empty() && lonlat.x_min >= -180 && lonlat.x_max <= 180 &&
                        lonlat.y_min >= -90 && lonlat.y_max <= 90;
  const std::string found =
      lonlat.empty() ? std::string("an empty extent")
                     : fmt::format("longitude {:.6g} to {:.6g}, latitude {:.6g} to {:.6g}",
                                   lonlat.x_min, lonlat.x_max, lonlat.y_min, lonlat.y_max);
  if (!on_earth) {
    refuse("not_lonlat", "the data are not in longitude and latitude", found,
           "longitude -180 to 180, latitude -90 to 90",
           "Look for latitude and longitude swapped, or name the CRS of the data");
  }
  if (lonlat.width() > 10 || lonlat.height() > 10) {
    refuse("extent_too_wide", "the data spread too far for one UTM zone", found,
           "at most 10 degrees", "Look for a stray point, or one with swapped coordinates");
  }
  const double lon = lonlat.x_min + lonlat.width() / 2;
  const double lat = lonlat.y_min + lonlat.height() / 2;
  if (lat > 84 || lat < -80) {
    refuse("outside_utm", "UTM does not reach here", found, "latitude -80 to 84",
           "Name a projected CRS");
  }
  return parse_crs(fmt::format("EPSG:{}", (lat >= 0 ? 32600 : 32700) + utm_zone(lon, lat)));
}

Crs metric_twin(const Crs& projected) {
  const QuietGdal quiet;
  if (!projected.known()) {
    refuse_unknown("", "the data have no coordinate reference system");
  }
  if (projected.geographic) {
    refuse("degrees_refused", "distances cannot be computed in degrees", projected.name,
           "a projected CRS", "Write crs = \"auto\" for the UTM zone of the data");
  }
  OGRSpatialReference reference = reference_of(projected.wkt);
  if (!axes_east_north(reference)) {
    refuse("axes_refused", "the axes of this CRS do not point east and north", projected.name,
           "a projected CRS whose coordinates grow to the east and to the north",
           "Write crs = \"auto\" for the UTM zone of the data");
  }
  if (projected.unit_to_metre == 1) return projected;
  reference.SetLinearUnitsAndUpdateParameters(SRS_UL_METER, 1.0);
  const std::string name = projected.name + ", in metres";
  reference.SetProjCS(name.c_str());
  Crs twin = crs_from(reference);
  twin.code.clear();
  return twin;
}

bool same_crs(const Crs& a, const Crs& b) {
  if (!a.known() || !b.known()) return false;
  if (a.wkt == b.wkt) return true;
  const QuietGdal quiet;
  const OGRSpatialReference first = reference_of(a.wkt);
  const OGRSpatialReference second = reference_of(b.wkt);
  const std::array<const char*, 3> options{"IGNORE_DATA_AXIS_TO_SRS_AXIS_MAPPING=YES",
                                           "CRITERION=EQUIVALENT_EXCEPT_AXIS_ORDER_GEOGCRS",
                                           nullptr};
  return first.IsSame(&second, options.data()) != 0;
}

Extent transformed_extent(const Extent& extent, const Transform& transform) {
  constexpr int steps = 64;
  Extent out;
  if (extent.empty()) return out;
  for (int i = 0; i <= steps; ++i) {
    const double x = i == steps ? extent.x_max : extent.x_min + extent.width() * i / steps;
    const double y = i == steps ? extent.y_max : extent.y_min + extent.height() * i / steps;
    out.include(transform(Point{x, extent.y_min}));
    out.include(transform(Point{x, extent.y_max}));
    out.include(transform(Point{extent.x_min, y}));
    out.include(transform(Point{extent.x_max, y}));
  }
  return out;
}

std::string library_versions() {
  int major = 0;
  int minor = 0;
  int patch = 0;
  OGRGetGEOSVersion(&major, &minor, &patch);
  const PJ_INFO proj = proj_info();
  return fmt::format("GDAL {}, PROJ {}.{}.{}, GEOS {}.{}.{}, Boost {}.{}",
                     GDALVersionInfo("RELEASE_NAME"), proj.major, proj.minor, proj.patch, major,
                     minor, patch, BOOST_VERSION / 100000, BOOST_VERSION / 100 % 1000);
}

}  // namespace evendrip
