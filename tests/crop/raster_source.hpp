// SPDX-License-Identifier: Apache-2.0
// Rasters with any number of bands, written for tests of crop layers.
#pragma once

#include "evendrip/crop/crop.hpp"
#include "invented_field.hpp"

#include <gdal_priv.h>
#include <gtest/gtest.h>
#include <ogr_spatialref.h>

#include <functional>
#include <string>
#include <vector>

namespace evendrip::invented {

struct Bands {
  Grid pixels;
  int count = 1;
  GDALDataType type = GDT_Float32;
  std::string unit;
  std::string name;
};

inline FileRef raster_file(const std::string& name, const Bands& bands,
                           const std::function<double(int band, Point centre)>& value) {
  GDALAllRegister();
  const CropSource source = crop_file(name, "biomass", "");
  const GDALDatasetUniquePtr raster(GetGDALDriverManager()->GetDriverByName("GTiff")->Create(
      source.file.path.c_str(), bands.pixels.columns, bands.pixels.rows, bands.count, bands.type,
      nullptr));
  double t[6] = {bands.pixels.x_left, bands.pixels.cell_m, 0, bands.pixels.y_top, 0,
                 -bands.pixels.cell_m};
  raster->SetGeoTransform(t);
  OGRSpatialReference reference;
  reference.importFromEPSG(32614);
  raster->SetSpatialRef(&reference);
  std::vector<double> row(static_cast<std::size_t>(bands.pixels.columns));
  for (int b = 1; b <= bands.count; ++b) {
    GDALRasterBand* band = raster->GetRasterBand(b);
    if (!bands.unit.empty()) band->SetUnitType(bands.unit.c_str());
    if (!bands.name.empty()) band->SetDescription(bands.name.c_str());
    for (int r = 0; r < bands.pixels.rows; ++r) {
      for (int c = 0; c < bands.pixels.columns; ++c)
        row[static_cast<std::size_t>(c)] = value(b, bands.pixels.centre(r, c));
      EXPECT_EQ(band->RasterIO(GF_Write, 0, r, bands.pixels.columns, 1, row.data(),
                               bands.pixels.columns, 1, GDT_Float64, 0, 0, nullptr),
                CE_None);
    }
  }
  return source.file;
}

inline CropSource raster_source(const std::string& name, const std::string& kind,
                                const Bands& bands,
                                const std::function<double(int band, Point centre)>& value) {
  CropSource source;
  source.id = "invented";
  source.kind = kind;
  source.file = raster_file(name, bands, value);
  return source;
}

}  // namespace evendrip::invented
