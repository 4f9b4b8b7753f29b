// SPDX-License-Identifier: Apache-2.0
// The pixels of a PNG, premultiplied alpha, red, green, blue.
#pragma once

#include <cairo.h>

#include <cstdint>
#include <cstring>
#include <filesystem>
#include <vector>

namespace evendrip::example {

struct Pixels {
  int width = 0, height = 0;
  std::vector<std::uint32_t> values;
  std::uint32_t at(int x, int y) const { return values[static_cast<std::size_t>(y * width + x)]; }
};

inline Pixels pixels_of(const std::filesystem::path& png) {
  cairo_surface_t* surface = cairo_image_surface_create_from_png(png.c_str());
  Pixels pixels{
      cairo_image_surface_get_width(surface), cairo_image_surface_get_height(surface), {}};
  const unsigned char* data = cairo_image_surface_get_data(surface);
  const int stride = cairo_image_surface_get_stride(surface);
  for (int y = 0; y < pixels.height; ++y) {
    for (int x = 0; x < pixels.width; ++x) {
      std::uint32_t value = 0;
      std::memcpy(&value, data + y * stride + 4 * x, 4);
      pixels.values.push_back(value);
    }
  }
  cairo_surface_destroy(surface);
  return pixels;
}

}  // namespace evendrip::example
