// SPDX-License-Identifier: Apache-2.0
#include "judged_water.hpp"

#include <cmath>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

using Shared = std::shared_ptr<const RasterReader>;

class Relative : public RasterReader {
 public:
  Relative(Shared delivery, Shared surface)
      : delivery_(std::move(delivery)), surface_(std::move(surface)) {}
  const Grid& grid() const override { return surface_->grid(); }
  Raster read(const Window& window) const override {
    Raster out = surface_->read(window);
    if (!delivery_) return out;
    const Raster delivery = delivery_->read(window);
    for (std::size_t i = 0; i < out.values.size(); ++i) {
      if (!delivery.has_value(i)) continue;
      out.values[i] = delivery.values[i];
      out.reasons[i] = delivery.reasons[i];
    }
    return out;
  }

 private:
  Shared delivery_;
  Shared surface_;
};

class Discharge : public RasterReader {
 public:
  Discharge(Shared delivery, Shared relative, Shared discharge_lph)
      : delivery_(std::move(delivery)),
        relative_(std::move(relative)),
        discharge_(std::move(discharge_lph)) {}
  const Grid& grid() const override { return discharge_->grid(); }
  Raster read(const Window& window) const override {
    Raster out = discharge_->read(window);
    if (!delivery_) return out;
    const Raster delivery = delivery_->read(window);
    const Raster relative = relative_->read(window);
    for (std::size_t i = 0; i < out.values.size(); ++i) {
      const bool known = delivery.has_value(i) && relative.has_value(i) && out.has_value(i);
      if (!known || !(relative.values[i] > 0)) continue;
      out.values[i] *= delivery.values[i] / relative.values[i];
      out.reasons[i] = delivery.reasons[i];
    }
    return out;
  }

 private:
  Shared delivery_;
  Shared relative_;
  Shared discharge_;
};

bool alike(const Grid& a, const Grid& b) {
  return a.rows == b.rows && a.columns == b.columns;
}

}  // namespace

JudgedWater judged_water(const Shared& delivery, const Shared& relative,
                         const Shared& discharge_lph) {
  if (!alike(relative->grid(), discharge_lph->grid()) ||
      (delivery && !alike(relative->grid(), delivery->grid())))
    throw std::invalid_argument("rasters of the water lie on different grids");
  JudgedWater water;
  water.relative = std::make_unique<Relative>(delivery, relative);
  water.discharge_lph = std::make_unique<Discharge>(delivery, relative, discharge_lph);
  return water;
}

}  // namespace evendrip
