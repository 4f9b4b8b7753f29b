// SPDX-License-Identifier: Apache-2.0
// The whole folder: field.toml section by section, then the layers it names.
#include <algorithm>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "evendrip/field/field.hpp"
#include "evendrip/field/plausible.hpp"
#include "evendrip/io/toml.hpp"
#include "evendrip/io/vector.hpp"
#include "laterals.hpp"
#include "layers.hpp"
#include "layout.hpp"
#include "sections.hpp"
#include "specification.hpp"

namespace evendrip {
namespace {

constexpr const char* toml_name = "field.toml";
/// Layers of one field lie nearer to one another than this, m; farther means another CRS.
constexpr double far_away_m = 20'000;

const std::vector<std::string>& layer_roles() {
  static const std::vector<std::string> roles{"zones",     "laterals", "manifolds",   "ports",
                                              "elevation", "hazards",  "observations"};
  return roles;
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) {
    return static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  });
  return text;
}

/// Attributes under our names: [columns] maps theirs to ours.
VectorLayer renamed(VectorLayer layer,
                    const std::vector<std::pair<std::string, std::string>>& columns) {
  for (Feature& feature : layer.features) {
    for (auto& [name, value] : feature.attributes) {
      for (const auto& [theirs, ours] : columns) {
        if (name == lower(theirs)) name = ours;
      }
    }
  }
  return layer;
}

class FieldReader {
 public:
  explicit FieldReader(const std::filesystem::path& folder) { field_.folder = folder; }

  Field read() {
    const TomlTable document = read_toml(field_.folder / toml_name, toml_name);
    TomlReader root(document, toml_name, "", field_.doubts);
    add_input(field_.folder / toml_name, toml_name);
    read_identity(root);
    read_columns(root);
    read_specifications(root);
    read_layer_names(root);
    field_.surveys = surveys_from(root, field_.folder, field_.doubts);
    field_.crops = crops_from(root, field_.folder, field_.not_computed, field_.doubts);
    field_.thresholds = thresholds_from(root, field_.not_computed, field_.doubts);
    field_.analysis = analysis_from(root, field_.doubts);
    if (field_.surveys.empty()) require(root, "survey", "[[survey]] with its tables");
    read_layers();
    read_zone_tables(root);
    read_laterals(root);
    read_points_and_hazards();
    list_unused(root);
    root.finish();
    list_inputs();
    return std::move(field_);
  }

 private:
  void require(TomlReader& root, const char* section, const char* example) {
    root.problem(section, "missing_section", "the section is missing", "", example,
                 "Add it to field.toml");
  }

  /// Runs a step; what it throws about the input becomes problems, and the rest is still read.
  template <typename Step>
  bool attempt(const Step& step) {
    try {
      step();
      return true;
    } catch (const InputError& error) {
      field_.doubts.insert(field_.doubts.end(), error.problems().begin(), error.problems().end());
      return false;
    }
  }

  void add_input(const std::filesystem::path& path, const std::string& as_written) {
    const std::string name = as_written.substr(0, as_written.rfind('|'));
    if (!listed_inputs_.insert(name).second || !std::filesystem::is_regular_file(path)) return;
    field_.inputs.push_back({name, sha256_of(path)});
  }

  void add_input(const std::optional<FileRef>& file) {
    if (!file) return;
    add_input(file->path, file->as_written);
    if (lower(file->path.extension().string()) != ".shp") return;
    const std::string stem = file->as_written.substr(
        0, std::min(file->as_written.rfind('|'), file->as_written.rfind('.')));
    for (const char* ending : {".dbf", ".prj", ".shx", ".cpg"}) {
      std::filesystem::path part = file->path;
      add_input(part.replace_extension(ending), stem + ending);
    }
  }

  void list_inputs() {
    for (const auto& [role, file] : layer_files_) add_input(file);
    add_input(field_.elevation);
    for (const SurveySource& survey : field_.surveys) {
      add_input(survey.catch_cans);
      add_input(survey.pressures);
      add_input(survey.meter);
    }
    for (const CropSource& crop : field_.crops) add_input(crop.file);
  }

  void read_identity(TomlReader& root) {
    const TomlTable* table = root.table("field");
    if (table == nullptr) {
      require(root, "field", "[field] with name and crs");
      return;
    }
    TomlReader reader(*table, toml_name, "[field]", field_.doubts);
    reader.required("name", "the field's name");
    field_.name = reader.text("name").value_or("");
    crs_text_ = reader.text("crs").value_or("auto");
    const std::string units = reader.text("report_units").value_or("metric");
    field_.report_units = units == "us" ? UnitSystem::us : UnitSystem::metric;
    if (units != "us" && units != "metric") {
      reader.problem("report_units", "unknown_units", "there are no such report units", units,
                     "metric or us");
    }
    reader.finish();
    if (crs_text_ != "auto") attempt([this] { use_crs(parse_crs(crs_text_)); });
  }

  /// The field's CRS in metres; degrees are refused.
  void use_crs(const Crs& stated) {
    field_.stated_crs = stated;
    const bool metres = !stated.geographic && stated.unit_to_metre == 1;
    field_.crs = metres ? stated : metric_twin(stated);
  }

  void read_columns(TomlReader& root) {
    const TomlTable* table = root.table("columns");
    if (table == nullptr) return;
    TomlReader reader(*table, toml_name, "[columns]", field_.doubts);
    field_.columns = reader.text_pairs();
  }

  void read_specifications(TomlReader& root) {
    const TomlTable* emitter = root.table("emitter");
    if (emitter == nullptr) {
      require(root, "emitter", "[emitter] with discharge, pressure and spacing");
    } else {
      TomlReader reader(*emitter, toml_name, "[emitter]", field_.doubts);
      defaults_ = with_emitter_keys(defaults_, reader, KeyStyle::own_section, field_.doubts);
      reader.finish();
    }
    const TomlTable* lateral = root.table("lateral");
    if (lateral == nullptr) {
      require(root, "lateral", "[lateral] with spacing");
    } else {
      TomlReader reader(*lateral, toml_name, "[lateral]", field_.doubts);
      defaults_ = with_lateral_keys(defaults_, reader, KeyStyle::own_section, field_.doubts);
      reader.finish();
    }
  }

  void read_layer_names(TomlReader& root) {
    const TomlTable* table = root.table("layers");
    if (table == nullptr) {
      require(root, "layers", "[layers] with zones");
      return;
    }
    TomlReader reader(*table, toml_name, "[layers]", field_.doubts);
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
    reader.finish();
  }

  void read_layers() {
    std::vector<RoleLayer> raw;
    for (const auto& [role, file] : layer_files_) {
      attempt([&, &role = role, &file = file] {
        raw.push_back({role, renamed(read_vector(file), field_.columns)});
      });
    }
    if (crs_text_ == "auto" && !raw.empty()) attempt([&] { use_crs(automatic_crs(raw)); });
    if (!field_.crs.known()) return;
    for (RoleLayer& layer : raw) {
      attempt([&] {
        const std::optional<Crs> assumed =
            crs_text_ == "auto" ? std::nullopt : std::optional<Crs>(field_.stated_crs);
        layer.layer = in_crs(std::move(layer.layer), field_.crs, assumed, field_.doubts);
        layers_.push_back(std::move(layer));
      });
    }
    if (const RoleLayer* zones = layer_of("zones")) {
      field_.zones = zones_from(*zones, field_.doubts);
      tell_far_layers(extent_of(zones->layer));
    }
    const Extent extent = field_.extent();
    if (extent.empty()) return;
    const Point centre{(extent.x_min + extent.x_max) / 2, (extent.y_min + extent.y_max) / 2};
    attempt([&] { field_.scale_factor = scale_factor(field_.crs, centre); });
  }

  /// UTM zone of the zones' extent, or of the first layer if there are no zones.
  static Crs automatic_crs(const std::vector<RoleLayer>& raw) {
    const auto zones = std::find_if(raw.begin(), raw.end(),
                                    [](const RoleLayer& layer) { return layer.role == "zones"; });
    const VectorLayer& layer = zones == raw.end() ? raw.front().layer : zones->layer;
    if (!layer.crs.known()) {
      throw InputError(Doubt{"layer_without_crs",
                             Severity::problem,
                             {layer.file, layer.layer, 0, ""},
                             "the layer does not say in which CRS its coordinates are, and crs is "
                             "\"auto\"",
                             "",
                             "a layer with a CRS",
                             "Export it with its CRS, or state crs in [field]"});
    }
    Extent extent = extent_of(layer);
    if (!same_crs(layer.crs, wgs84())) {
      extent = transformed_extent(extent, Transform(layer.crs, wgs84()));
    }
    return utm_for(extent);
  }

  void tell_far_layers(const Extent& zones) {
    for (const RoleLayer& layer : layers_) {
      const Extent extent = extent_of(layer.layer);
      if (extent.empty() || zones.grown(far_away_m).intersects(extent)) continue;
      field_.doubts.push_back({"layer_far_away",
                               Severity::problem,
                               {layer.layer.file, layer.layer.layer, 0, ""},
                               "the layer lies more than 20 km from the zones",
                               fmt::format("{:.0f} E, {:.0f} N", extent.x_min, extent.y_min),
                               fmt::format("near {:.0f} E, {:.0f} N", zones.x_min, zones.y_min),
                               "Check the layer's CRS, and latitude and longitude for a swap"});
    }
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

  void read_zone_tables(TomlReader& root) {
    lays_out_ = root.has("lateral_layout");
    std::vector<Specification> specifications(field_.zones.size(), defaults_);
    std::vector<Place> places(field_.zones.size(), Place{toml_name, "[emitter]", 0, ""});
    std::set<std::string> named;
    const auto tables = root.tables("zone");
    for (const TomlTable* table : tables) {
      TomlReader reader(*table, toml_name, "[[zone]]", field_.doubts);
      read_zone_table(reader, specifications, places, named);
      reader.finish();
    }
    tell_missing_requirements(specifications, places);
    for (std::size_t z = 0; z < field_.zones.size(); ++z) {
      field_.zones[z].emitter = specifications[z].emitter;
      field_.zones[z].lateral = specifications[z].lateral;
      if (named.count(field_.zones[z].id) > 0 || tables.empty()) continue;
      field_.doubts.push_back({"zone_without_table",
                               Severity::note,
                               {toml_name, "[[zone]]", 0, ""},
                               "zone " + field_.zones[z].id + " has no [[zone]]; defaults are used",
                               "",
                               "",
                               ""});
    }
  }

  /// Each missing value is told once, not once for each zone.
  void tell_missing_requirements(std::vector<Specification>& specifications,
                                 const std::vector<Place>& places) {
    std::set<std::string> told;
    const bool laid_out = lays_out_ && !names_layer("laterals");
    for (std::size_t z = 0; z < specifications.size(); ++z) {
      Doubts doubts;
      std::string& source = specifications[z].lateral.source;
      if (laid_out && source.empty()) source = "laid_out";
      specifications[z] = completed(std::move(specifications[z]), places[z], doubts);
      for (Doubt& doubt : doubts) {
        if (told.insert(to_text(doubt.place)).second) field_.doubts.push_back(std::move(doubt));
      }
    }
    if (specifications.empty()) completed(defaults_, {toml_name, "", 0, ""}, field_.doubts);
    if (!specifications.empty() && !defaults_.first_offset_m) {
      field_.doubts.push_back({"first_offset_taken",
                               Severity::note,
                               {toml_name, "[emitter]", 0, "first_offset"},
                               "first_offset is not stated: half the emitter spacing is taken",
                               "",
                               "",
                               ""});
    }
  }

  void read_zone_table(TomlReader& reader, std::vector<Specification>& specifications,
                       std::vector<Place>& places, std::set<std::string>& named) {
    reader.required("id", "the id of a polygon in [layers] zones");
    const std::string id = reader.text("id").value_or("");
    const int zone = zone_index(field_.zones, id);
    if (!id.empty() && zone < 0) {
      reader.problem("id", "unknown_zone", "no polygon of [layers] zones has this id", id,
                     zone_list(field_.zones), "Correct the id here or in the layer");
    }
    if (!id.empty() && !named.insert(id).second) {
      reader.problem("id", "id_twice", "two [[zone]] sections have one id", id, "one section",
                     "Join them");
    }
    if (reader.has("spacing")) {
      reader.problem("spacing", "ambiguous_key", "spacing could be of emitters or of laterals",
                     "spacing", "emitter_spacing or lateral_spacing", "Name the one you mean");
      reader.quantity("spacing", Dimension::length);
    }
    Specification own = zone < 0 ? defaults_ : specifications[static_cast<std::size_t>(zone)];
    own = with_emitter_keys(std::move(own), reader, KeyStyle::in_zone, field_.doubts);
    own = with_lateral_keys(std::move(own), reader, KeyStyle::in_zone, field_.doubts);
    const auto inlet = reader.quantity("inlet_pressure", Dimension::pressure);
    if (inlet) check_inlet(reader, *inlet);
    if (zone < 0) return;
    const auto z = static_cast<std::size_t>(zone);
    specifications[z] = std::move(own);
    places[z] = {toml_name, "[[zone]]", reader.place_of("id").row, ""};
    field_.zones[z].inlet_pressure_kpa = inlet.value_or(0);
  }

  void check_inlet(TomlReader& reader, double inlet_kpa) {
    const PlausibleRange range{Dimension::pressure,
                               3,
                               1500,
                               20,
                               600,
                               {{"kPa", "psi"},
                                {"kPa", "bar"},
                                {"Pa", "kPa"},
                                {"kPa", "Pa"},
                                {"psi", "kPa"},
                                {"bar", "kPa"}}};
    if (auto doubt = implausible(inlet_kpa, range, reader.place_of("inlet_pressure"),
                                 fmt::format("{:g} kPa", inlet_kpa))) {
      field_.doubts.push_back(*std::move(doubt));
    }
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
    const Doubts doubts = lateral_doubts(field_, set);
    field_.doubts.insert(field_.doubts.end(), doubts.begin(), doubts.end());
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
    if (const RoleLayer* observations = layer_of("observations")) {
      field_.observations = observations_from(*observations, field_.doubts);
    }
  }

  void list_unused(TomlReader& root) {
    for (const char* section : {"irrigation", "agronomy", "economics", "logs"}) {
      if (root.table(section) == nullptr) continue;
      field_.not_computed.push_back(
          fmt::format("[{}] is read by no part of this version", section));
    }
    if (!field_.elevation) field_.not_computed.push_back("heights: needs [layers] elevation");
    if (field_.crops.empty()) field_.not_computed.push_back("crop maps: needs [[crop]]");
  }

  Field field_;
  std::string crs_text_ = "auto";
  Specification defaults_;
  bool lays_out_ = false;  ///< there is a [lateral_layout]
  std::vector<std::pair<std::string, FileRef>> layer_files_;
  std::vector<RoleLayer> layers_;
  std::set<std::string> listed_inputs_;
};

}  // namespace

Field read_field(const std::filesystem::path& folder) {
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
  return FieldReader(folder).read();
}

}  // namespace evendrip
