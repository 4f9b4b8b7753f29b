// SPDX-License-Identifier: Apache-2.0
#include "layer_reading.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "evendrip/io/vector.hpp"

namespace evendrip {
namespace {

/// Layers of one field lie nearer to one another than this, m; farther means another CRS.
constexpr double far_away_m = 20'000;

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) {
    return static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  });
  return text;
}

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

}  // namespace

std::vector<RoleLayer> layers_as_written(
    const NamedFiles& files, const std::vector<std::pair<std::string, std::string>>& columns,
    Doubts& doubts) {
  std::vector<RoleLayer> layers;
  for (const auto& [role, file] : files) {
    attempt(doubts, [&, &role = role, &file = file] {
      layers.push_back({role, renamed(read_vector(file), columns)});
    });
  }
  return layers;
}

Crs in_metres(const Crs& stated) {
  const bool metres = !stated.geographic && stated.unit_to_metre == 1;
  return metres ? stated : metric_twin(stated);
}

Crs automatic_crs(const std::vector<RoleLayer>& layers) {
  const auto zones = std::find_if(layers.begin(), layers.end(),
                                  [](const RoleLayer& layer) { return layer.role == "zones"; });
  const VectorLayer& layer = zones == layers.end() ? layers.front().layer : zones->layer;
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

std::vector<RoleLayer> layers_in_crs(std::vector<RoleLayer> layers, const Crs& crs,
                                     const std::optional<Crs>& assumed, Doubts& doubts) {
  std::vector<RoleLayer> moved;
  for (RoleLayer& layer : layers) {
    attempt(doubts, [&] {
      layer.layer = in_crs(std::move(layer.layer), crs, assumed, doubts);
      moved.push_back(std::move(layer));
    });
  }
  return moved;
}

Doubts far_layers(const std::vector<RoleLayer>& layers, const Extent& zones) {
  Doubts doubts;
  for (const RoleLayer& layer : layers) {
    const Extent extent = extent_of(layer.layer);
    if (extent.empty() || zones.grown(far_away_m).intersects(extent)) continue;
    doubts.push_back({"layer_far_away",
                      Severity::problem,
                      {layer.layer.file, layer.layer.layer, 0, ""},
                      "the layer lies more than 20 km from the zones",
                      fmt::format("{:.0f} E, {:.0f} N", extent.x_min, extent.y_min),
                      fmt::format("near {:.0f} E, {:.0f} N", zones.x_min, zones.y_min),
                      "Check the layer's CRS, and latitude and longitude for a swap"});
  }
  return doubts;
}

namespace {

class InputList {
 public:
  void add(const std::filesystem::path& path, const std::string& as_written) {
    const std::string name = as_written.substr(0, as_written.rfind('|'));
    const bool listed =
        std::any_of(inputs_.begin(), inputs_.end(),
                    [&name](const InputFile& input) { return input.as_written == name; });
    if (listed || !std::filesystem::is_regular_file(path)) return;
    inputs_.push_back({name, sha256_of(path)});
  }

  void add(const std::optional<FileRef>& file) {
    if (!file) return;
    if (std::filesystem::is_directory(file->path)) {
      add_files_in(*file);
      return;
    }
    add(file->path, file->as_written);
    if (lower(file->path.extension().string()) != ".shp") return;
    const std::string stem = file->as_written.substr(
        0, std::min(file->as_written.rfind('|'), file->as_written.rfind('.')));
    for (const char* ending : {".dbf", ".prj", ".shx", ".cpg"}) {
      std::filesystem::path part = file->path;
      add(part.replace_extension(ending), stem + ending);
    }
  }

  std::vector<InputFile> take() { return std::move(inputs_); }

 private:
  /// The files of a folder that a part reads as one, in the order of their names.
  void add_files_in(const FileRef& folder) {
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator(folder.path)) {
      if (entry.is_regular_file() && !entry.is_symlink()) files.push_back(entry.path());
    }
    std::sort(files.begin(), files.end());
    for (const auto& file : files) {
      add(file, (std::filesystem::path(folder.as_written) / file.filename()).string());
    }
  }

  std::vector<InputFile> inputs_;
};

}  // namespace

std::vector<InputFile> inputs_of(const Field& field, const NamedFiles& layer_files) {
  InputList list;
  list.add(field.folder / "field.toml", "field.toml");
  for (const auto& [role, file] : layer_files) list.add(file);
  list.add(field.elevation);
  for (const SurveySource& survey : field.surveys) {
    list.add(survey.catch_cans);
    list.add(survey.pressures);
    list.add(survey.meter);
  }
  for (const CropSource& crop : field.crops) {
    list.add(crop.file);
    list.add(crop.mask);
  }
  list.add(field.maintenance_log);
  return list.take();
}

}  // namespace evendrip
