// SPDX-License-Identifier: Apache-2.0
// The whole folder: field.toml section by section, then the layers it names.
#include <algorithm>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "agronomy.hpp"
#include "crop_sections.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/field/unsurveyed_field.hpp"
#include "evendrip/io/toml.hpp"
#include "laterals.hpp"
#include "layer_reading.hpp"
#include "layers.hpp"
#include "layout.hpp"
#include "maintenance.hpp"
#include "sections.hpp"
#include "specification.hpp"
#include "zone_tables.hpp"

namespace evendrip {
namespace {

constexpr const char* toml_name = "field.toml";

const std::vector<std::string>& layer_roles() {
  static const std::vector<std::string> roles{"zones",     "laterals", "manifolds",    "ports",
                                              "elevation", "hazards",  "observations", "soil"};
  return roles;
}

enum class SurveyNeed { required, none };

class FieldReader {
 public:
  explicit FieldReader(const std::filesystem::path& folder) { field_.folder = folder; }

  Field read(SurveyNeed need) {
    const TomlTable document = read_toml(field_.folder / toml_name, toml_name);
    TomlReader root(document, toml_name, "", field_.doubts);
    read_identity(root);
    read_columns(root);
    read_specifications(root);
    read_layer_names(root);
    field_.surveys = surveys_from(root, field_.folder, field_.doubts);
    field_.crops = crops_from(root, field_.folder, field_.doubts);
    field_.thresholds = thresholds_from(root, field_.not_computed, field_.doubts);
    field_.analysis = analysis_from(root, field_.doubts);
    watering_from(root, field_.not_computed, field_.doubts);
    if (field_.surveys.empty() && need == SurveyNeed::required) {
      require(root, "survey", "[[survey]] with its tables");
    }
    read_layers();
    const bool laid_out = root.has("lateral_layout") && !names_layer("laterals");
    field_.zones =
        with_zone_tables(std::move(field_.zones), root, defaults_,
                         laid_out ? LateralPlaces::laid_out : LateralPlaces::drawn, field_.doubts);
    read_laterals(root);
    read_points_and_hazards();
    read_logs(root);
    list_unused(root);
    root.finish();
    field_.inputs = inputs_of(field_, layer_files_);
    return std::move(field_);
  }

 private:
  void require(TomlReader& root, const char* section, const char* example) {
    root.problem(section, "missing_section", "the section is missing", "", example,
                 "Add it to field.toml");
  }

  /// Calls read(its reader) where the section is there; it is a problem where it is not.
  template <typename Read>
  void read_required(TomlReader& root, const char* section, const char* example, const Read& read) {
    const TomlTable* table = root.table(section);
    if (table == nullptr) {
      require(root, section, example);
      return;
    }
    TomlReader reader(*table, toml_name, fmt::format("[{}]", section), field_.doubts);
    read(reader);
    reader.finish();
  }

  void read_identity(TomlReader& root) {
    read_required(root, "field", "[field] with name and crs", [this](TomlReader& reader) {
      reader.required("name", "the field's name");
      field_.name = reader.text("name").value_or("");
      crs_text_ = reader.text("crs").value_or("auto");
      const std::string units = reader.text("report_units").value_or("metric");
      field_.report_units = units == "us" ? UnitSystem::us : UnitSystem::metric;
      if (units != "us" && units != "metric") {
        reader.problem("report_units", "unknown_units", "there are no such report units", units,
                       "metric or us");
      }
    });
    if (crs_text_ == "auto") return;
    attempt(field_.doubts, [this] {
      field_.stated_crs = parse_crs(crs_text_);
      field_.crs = in_metres(field_.stated_crs);
    });
  }

  void read_columns(TomlReader& root) {
    const TomlTable* table = root.table("columns");
    if (table == nullptr) return;
    TomlReader reader(*table, toml_name, "[columns]", field_.doubts);
    field_.columns = reader.text_pairs();
  }

  void read_specifications(TomlReader& root) {
    read_required(root, "emitter", "[emitter] with discharge, pressure and spacing",
                  [this](TomlReader& reader) {
                    defaults_ =
                        with_emitter_keys(defaults_, reader, KeyStyle::own_section, field_.doubts);
                  });
    read_required(root, "lateral", "[lateral] with spacing", [this](TomlReader& reader) {
      defaults_ = with_lateral_keys(defaults_, reader, KeyStyle::own_section, field_.doubts);
    });
  }

  void read_layer_names(TomlReader& root) {
    read_required(root, "layers", "[layers] with zones", [this](TomlReader& reader) {
      reader.required("zones", "the zones' polygons");
      for (const std::string& role : layer_roles()) {
        const auto file = named_file(reader, role, field_.folder, "[layers]", field_.doubts);
        if (!file) continue;
        field_.layer_files.emplace_back(role, file->as_written);
        if (role == "elevation") {
          field_.elevation = file;
        } else {
          layer_files_.emplace_back(role, *file);
        }
      }
    });
  }

  void read_layers() {
    std::vector<RoleLayer> raw = layers_as_written(layer_files_, field_.columns, field_.doubts);
    const bool automatic = crs_text_ == "auto";
    if (automatic && !raw.empty()) {
      attempt(field_.doubts, [&] { field_.crs = field_.stated_crs = automatic_crs(raw); });
    }
    if (!field_.crs.known()) return;
    layers_ = layers_in_crs(std::move(raw), field_.crs,
                            automatic ? std::nullopt : std::optional<Crs>(field_.stated_crs),
                            field_.doubts);
    if (const RoleLayer* zones = layer_of("zones")) {
      field_.zones = zones_from(*zones, field_.doubts);
      add(far_layers(layers_, extent_of(zones->layer)));
    }
    const Extent extent = field_.extent();
    if (extent.empty()) return;
    const Point centre{(extent.x_min + extent.x_max) / 2, (extent.y_min + extent.y_max) / 2};
    attempt(field_.doubts, [&] { field_.scale_factor = scale_factor(field_.crs, centre); });
  }

  void add(const Doubts& doubts) {
    field_.doubts.insert(field_.doubts.end(), doubts.begin(), doubts.end());
  }

  const RoleLayer* layer_of(const std::string& role) const {
    const auto found = std::find_if(layers_.begin(), layers_.end(),
                                    [&](const RoleLayer& layer) { return layer.role == role; });
    return found == layers_.end() ? nullptr : &*found;
  }

  bool names_layer(const std::string& role) const {
    return std::any_of(layer_files_.begin(), layer_files_.end(),
                       [&](const auto& file) { return file.first == role; });
  }

  void read_laterals(TomlReader& root) {
    if (const RoleLayer* manifolds = layer_of("manifolds")) {
      field_.manifolds = manifolds_from(*manifolds, field_.zones, field_.doubts);
    }
    const TomlTable* layout = root.table("lateral_layout");
    const auto request =
        layout == nullptr ? std::nullopt : layout_request(*layout, field_, field_.doubts);
    const RoleLayer* drawn = layer_of("laterals");
    LateralSet set;
    if (drawn != nullptr) {
      set = laterals_from(*drawn, field_, field_.doubts);
    } else if (request && !names_layer("laterals")) {
      lay_out(*request, set);
    }
    set = with_lengths(std::move(set), field_);
    field_.laterals = set.laterals;
    add(lateral_doubts(field_, set));
    if (!names_layer("laterals") && !request) {
      field_.not_computed.push_back(
          "places on laterals: needs [layers] laterals or [lateral_layout]");
    }
  }

  void lay_out(const LayoutRequest& request, LateralSet& set) {
    set = laid_out_laterals(field_, request, field_.doubts);
    field_.doubts.push_back({"laterals_laid_out", Severity::doubt, request.place,
                             fmt::format("{} laterals were laid out by bearing and spacing; where "
                                         "they really lie is not known",
                                         set.laterals.size()),
                             "", "", "Survey a few line ends to confirm the layout"});
  }

  void read_points_and_hazards() {
    if (const RoleLayer* ports = layer_of("ports")) {
      field_.ports = ports_from(*ports, field_.zones, field_.doubts);
    }
    if (const RoleLayer* hazards = layer_of("hazards")) {
      field_.hazards = hazards_from(*hazards, field_.doubts);
    }
    if (const RoleLayer* soil = layer_of("soil")) {
      field_.soil = soil_from(*soil, field_.doubts);
    }
    if (const RoleLayer* observations = layer_of("observations")) {
      field_.observations = observations_from(*observations, field_.doubts);
    }
  }

  void read_logs(TomlReader& root) {
    const TomlTable* table = root.table("logs");
    if (table == nullptr) return;
    TomlReader reader(*table, toml_name, "[logs]", field_.doubts);
    field_.maintenance_log =
        named_file(reader, "maintenance", field_.folder, "[logs]", field_.doubts);
    field_.maintenance = maintenance_from(field_, field_.doubts);
    for (const TomlEntry& entry : *table) {
      if (entry.key == "maintenance") continue;
      field_.not_computed.push_back(
          fmt::format("[logs] {} is read by no part of this version", entry.key));
    }
  }

  void list_unused(TomlReader& root) {
    if (root.table("economics") != nullptr) {
      field_.not_computed.emplace_back("[economics] is read by no part of this version");
    }
    if (!field_.elevation) field_.not_computed.push_back("heights: needs [layers] elevation");
    if (field_.crops.empty()) field_.not_computed.push_back("crop maps: needs [[crop]]");
  }

  Field field_;
  std::string crs_text_ = "auto";
  Specification defaults_;
  NamedFiles layer_files_;
  std::vector<RoleLayer> layers_;
};

Field read(const std::filesystem::path& folder, SurveyNeed need) {
  if (!std::filesystem::is_directory(folder)) {
    throw InputError(Doubt{"missing_folder",
                           Severity::problem,
                           {folder.string(), "", 0, ""},
                           "there is no such folder",
                           "",
                           "a folder that holds field.toml",
                           "Name the field folder itself"});
  }
  if (!std::filesystem::exists(folder / toml_name)) {
    throw InputError(Doubt{"missing_file",
                           Severity::problem,
                           {(folder / toml_name).string(), "", 0, ""},
                           "the folder holds no field.toml, which describes the field",
                           "",
                           "",
                           "Copy one from sample_fields/ and change it"});
  }
  return FieldReader(folder).read(need);
}

}  // namespace

Field read_field(const std::filesystem::path& folder) {
  return read(folder, SurveyNeed::required);
}

Field read_field_without_survey(const std::filesystem::path& folder) {
  return read(folder, SurveyNeed::none);
}

}  // namespace evendrip
