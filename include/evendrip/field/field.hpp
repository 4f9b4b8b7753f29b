// SPDX-License-Identifier: Apache-2.0
// What is buried: zones, manifolds, laterals, emitters and what the maker says of them, as read
// from a field folder (field.toml and the layers it names). Plain structs; all coordinates are
// metres of `Field::crs` (metric_twin of a feet CRS).
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/crs.hpp"
#include "evendrip/field/crop_source.hpp"
#include "evendrip/field/maintenance.hpp"
#include "evendrip/geo/shapes.hpp"
#include "evendrip/io/paths.hpp"
#include "evendrip/units/quantity.hpp"

namespace evendrip {

struct EmitterSpec {
  double discharge_lph = 0;     ///< rated
  double pressure_kpa = 0;      ///< at which it is rated
  double exponent = 0.5;        ///< x in q = k h^x
  double manufacturing_cv = 0;  ///< 0 if not stated
  double rated_tolerance_frac = 0.07;
  double spacing_m = 0;
  double first_offset_m = 0;  ///< supply end to first emitter
  std::optional<std::pair<double, double>> pressure_compensating_kpa;
  double connection_loss_m = 0;  ///< equivalent length at each emitter
};

enum class LateralEnds { closed, flush_manifold, both_fed };

struct LateralSpec {
  double inside_diameter_mm = 0;  ///< 0 if not stated
  double wall_thickness_mm = 0;
  double max_pressure_kpa = 0;
  int installed_year = 0;
  double roughness_mm = 0.0015;
  double hazen_williams_c = 0;  ///< 0: roughness is used
  double spacing_m = 0;
  double depth_m = 0;
  LateralEnds ends = LateralEnds::closed;
  double position_accuracy_m = 0.1;
  std::string source;  ///< surveyed, drawing, laid_out
};

struct Zone {
  std::string id;
  MultiPolygon area;
  double inlet_pressure_kpa = 0;  ///< 0 if not stated
  EmitterSpec emitter;
  LateralSpec lateral;
};

struct Lateral {
  std::string id;
  int zone = -1;        ///< index into Field::zones
  Line line;            ///< from the supply end
  double length_m = 0;  ///< true on the ground
  int emitters = 0;     ///< by spacing and first offset
};

struct Manifold {
  std::string id;
  int zone = -1;
  bool supply = true;  ///< else a flush manifold
  double inside_diameter_mm = 0;
  Line line;
};

struct Port {
  std::string id;
  std::vector<int> zones;
  std::string kind;  ///< pump filter_in filter_out main valve_in valve_out zone_inlet lateral_inlet
                     ///< lateral_end flush_end
  double gauge_height_m = 0;
  Point place;
};

struct Hazard {
  std::string kind;
  double clearance_m = 0;
  std::vector<Point> points;
  std::vector<Line> lines;
  MultiPolygon area;
};

struct Observation {
  std::string kind;  ///< wet_spot dry_strip mound salt wheel_track surfacing
  std::string note;
  std::vector<Point> points;
  std::vector<Line> lines;
};

struct Thresholds {
  double clogged_below = 0.75;   ///< of expected discharge; common in the literature (from memory)
  double low_below = 0.90;       ///< relative discharge; common practice, no source
  double crop_low_below = 0.90;  ///< relative crop index; common practice, no source
};

enum class SurfaceMethod { automatic, kriging, inverse_distance };
struct Analysis {
  double cell_m = 0;  ///< 0: chosen from the lateral spacing and the extent
  SurfaceMethod method = SurfaceMethod::automatic;
  int neighbours = 32;
  double smallest_area_m2 = 0;  ///< patches below it are not findings; 0: chosen from the grid
};

/// The files of one survey, as named in [[survey]].
struct SurveySource {
  std::string id;
  std::string date;  ///< ISO 8601
  std::optional<FileRef> catch_cans;
  std::optional<FileRef> pressures;
  std::optional<FileRef> meter;
  double gps_accuracy_m = 3;  ///< one standard deviation in each axis
  std::string gps_datum = "WGS84";
  double volume_graduation_ml = 0;  ///< 0 if not stated
  double water_temperature_c = 20;
  bool water_temperature_stated = false;
};

/// One unit of a soil map.
struct SoilUnit {
  std::string name;
  MultiPolygon area;
};

struct InputFile {
  std::string as_written;
  std::string sha256;
};

struct Field {
  std::string name;
  std::filesystem::path folder;
  Crs crs;         ///< projected, metres
  Crs stated_crs;  ///< as the user asked for it (feet included); outputs are in `crs`
  UnitSystem report_units = UnitSystem::metric;
  std::vector<Zone> zones;
  std::vector<Lateral> laterals;
  std::vector<Manifold> manifolds;
  std::vector<Port> ports;
  std::vector<Hazard> hazards;
  std::vector<Observation> observations;
  std::optional<FileRef> elevation;
  std::vector<SoilUnit> soil;  ///< of [layers] soil; units of one name are one
  std::vector<SurveySource> surveys;
  std::vector<CropSource> crops;
  std::optional<FileRef> maintenance_log;
  std::vector<MaintenanceEntry> maintenance;  ///< in the order of the log
  Thresholds thresholds;
  Analysis analysis;
  std::vector<std::pair<std::string, std::string>> columns;  ///< (theirs, ours)
  std::vector<InputFile> inputs;                             ///< every file read, for the record
  std::vector<std::pair<std::string, std::string>> layer_files;  ///< (role in [layers], as written)
  std::vector<std::string> not_computed;  ///< "pressure sheet: needs [layers] elevation"
  double scale_factor = 1;                ///< grid over ground length at the field's centre
  Doubts doubts;

  Extent extent() const;                ///< of zones and laterals
  double zone_area_ha(int zone) const;  ///< true on the ground
};

/// Station of emitter number `emitter` (1-based from the supply end) along a lateral of this spec.
double emitter_station_m(const EmitterSpec& spec, int emitter);
/// Place of a station along a lateral; grid length is corrected by the field's scale factor.
Point place_on_lateral(const Field& field, int lateral, double station_m);

/// Reads the whole folder. Every problem is in `doubts`, with the field as far as it could be read:
/// `check` tells them all, `run` calls throw_if_problem.
/// Throws InputError only when the folder or field.toml is missing or cannot be parsed.
Field read_field(const std::filesystem::path& folder);

}  // namespace evendrip
