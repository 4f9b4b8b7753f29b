// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/ground_under.hpp"

#include <algorithm>
#include <iterator>

#include "evendrip/hydraulics/terrain.hpp"

namespace evendrip {
namespace {

constexpr std::size_t chunk = 1024;

/// Units of the map by name: those of one name are one.
class SoilNames {
 public:
  explicit SoilNames(const Field& field) : field_(field) {
    for (const SoilUnit& unit : field.soil) {
      extents_.push_back(extent_of(unit.area));
      auto known = std::find(names_.begin(), names_.end(), unit.name);
      if (known == names_.end()) known = names_.insert(names_.end(), unit.name);
      number_.push_back(static_cast<int>(std::distance(names_.begin(), known)));
    }
  }
  const std::vector<std::string>& names() const { return names_; }
  int at(Point p) const {
    for (std::size_t i = 0; i < extents_.size(); ++i)
      if (extents_[i].contains(p) && contains(field_.soil[i].area, p)) return number_[i];
    return -1;
  }

 private:
  const Field& field_;
  std::vector<Extent> extents_;
  std::vector<int> number_;  ///< of each unit, its name's
  std::vector<std::string> names_;
};

}  // namespace

void see_ground(CropEvidence& evidence, const Field& field, const Work& work) {
  const Terrain terrain(field);
  const SoilNames soil(field);
  evidence.soil_units = soil.names();
  if (!terrain.known() && soil.names().empty()) return;
  for_each_chunk(work, evidence.data.size(), chunk, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) {
      EvidenceDatum& datum = evidence.data[i];
      if (terrain.known()) datum.elevation_m = static_cast<float>(terrain.at(datum.place));
      datum.soil_unit = soil.at(datum.place);
    }
  });
}

}  // namespace evendrip
