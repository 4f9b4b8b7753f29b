// SPDX-License-Identifier: Apache-2.0
#include "zone_tables.hpp"

#include <set>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "evendrip/field/plausible.hpp"
#include "layers.hpp"

namespace evendrip {
namespace {

constexpr const char* toml_name = "field.toml";

void check_inlet(const TomlReader& reader, double inlet_kpa, Doubts& doubts) {
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
    doubts.push_back(*std::move(doubt));
  }
}

class ZoneTables {
 public:
  ZoneTables(std::vector<Zone> zones, const Specification& defaults, Doubts& doubts)
      : zones_(std::move(zones)),
        defaults_(defaults),
        doubts_(doubts),
        specifications_(zones_.size(), defaults),
        places_(zones_.size(), Place{toml_name, "[emitter]", 0, ""}) {}

  void read(TomlReader& root) {
    for (const TomlTable* table : root.tables("zone")) {
      TomlReader reader(*table, toml_name, "[[zone]]", doubts_);
      read_one(reader);
      reader.finish();
      any_ = true;
    }
  }

  /// Each missing value is told once, not once for each zone.
  void complete(LateralPlaces lateral_places) {
    std::set<std::string> told;
    for (std::size_t z = 0; z < specifications_.size(); ++z) {
      Doubts doubts;
      std::string& source = specifications_[z].lateral.source;
      if (lateral_places == LateralPlaces::laid_out && source.empty()) source = "laid_out";
      specifications_[z] = completed(std::move(specifications_[z]), places_[z], doubts);
      for (Doubt& doubt : doubts) {
        if (told.insert(to_text(doubt.place)).second) doubts_.push_back(std::move(doubt));
      }
    }
    if (specifications_.empty()) completed(defaults_, {toml_name, "", 0, ""}, doubts_);
    if (!specifications_.empty() && !defaults_.first_offset_m) {
      doubts_.push_back({"first_offset_taken",
                         Severity::note,
                         {toml_name, "[emitter]", 0, "first_offset"},
                         "first_offset is not stated: half the emitter spacing is taken",
                         "",
                         "",
                         ""});
    }
  }

  std::vector<Zone> take() {
    for (std::size_t z = 0; z < zones_.size(); ++z) {
      zones_[z].emitter = specifications_[z].emitter;
      zones_[z].lateral = specifications_[z].lateral;
      if (named_.count(zones_[z].id) > 0 || !any_) continue;
      doubts_.push_back({"zone_without_table",
                         Severity::note,
                         {toml_name, "[[zone]]", 0, ""},
                         "zone " + zones_[z].id + " has no [[zone]]; defaults are used",
                         "",
                         "",
                         ""});
    }
    return std::move(zones_);
  }

 private:
  /// Index of the zone that the table is of, -1 with a problem if there is none.
  int zone_of(TomlReader& reader) {
    reader.required("id", "the id of a polygon in [layers] zones");
    const std::string id = reader.text("id").value_or("");
    const int zone = zone_index(zones_, id);
    if (!id.empty() && zone < 0) {
      reader.problem("id", "unknown_zone", "no polygon of [layers] zones has this id", id,
                     zone_list(zones_), "Correct the id here or in the layer");
    }
    if (!id.empty() && !named_.insert(id).second) {
      reader.problem("id", "id_twice", "two [[zone]] sections have one id", id, "one section",
                     "Join them");
    }
    return zone;
  }

  void read_one(TomlReader& reader) {
    const int zone = zone_of(reader);
    if (reader.has("spacing")) {
      reader.problem("spacing", "ambiguous_key", "spacing could be of emitters or of laterals",
                     "spacing", "emitter_spacing or lateral_spacing", "Name the one you mean");
      reader.quantity("spacing", Dimension::length);
    }
    Specification own = zone < 0 ? defaults_ : specifications_[static_cast<std::size_t>(zone)];
    own = with_emitter_keys(std::move(own), reader, KeyStyle::in_zone, doubts_);
    own = with_lateral_keys(std::move(own), reader, KeyStyle::in_zone, doubts_);
    const auto inlet = reader.quantity("inlet_pressure", Dimension::pressure);
    if (inlet) check_inlet(reader, *inlet, doubts_);
    if (zone < 0) return;
    const auto z = static_cast<std::size_t>(zone);
    specifications_[z] = std::move(own);
    places_[z] = {toml_name, "[[zone]]", reader.place_of("id").row, ""};
    zones_[z].inlet_pressure_kpa = inlet.value_or(0);
  }

  std::vector<Zone> zones_;
  const Specification& defaults_;
  Doubts& doubts_;
  std::vector<Specification> specifications_;  ///< one for each zone
  std::vector<Place> places_;                  ///< of its specification
  std::set<std::string> named_;
  bool any_ = false;  ///< there is a [[zone]]
};

}  // namespace

std::vector<Zone> with_zone_tables(std::vector<Zone> zones, TomlReader& root,
                                   const Specification& defaults, LateralPlaces places,
                                   Doubts& doubts) {
  ZoneTables tables(std::move(zones), defaults, doubts);
  tables.read(root);
  tables.complete(places);
  return tables.take();
}

}  // namespace evendrip
