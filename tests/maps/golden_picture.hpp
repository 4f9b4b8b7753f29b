// SPDX-License-Identifier: Apache-2.0
// Compares a PNG with the one kept in tests/golden/. EVENDRIP_UPDATE_GOLDEN=1 rewrites the kept
// one. A picture that differs leaves name.actual.png, name.expected.png and name.difference.png.
#pragma once

#include <cairo.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <memory>
#include <string>

namespace evendrip::golden {

/// What another version of Cairo, Pango or FreeType may change: shades along edges of letters.
constexpr int channel_tolerance = 24;           ///< of 255
constexpr double pixel_share_allowed = 0.0005;  ///< of all pixels may differ by more than it

struct Destroy {
  void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
};
using Picture = std::unique_ptr<cairo_surface_t, Destroy>;

inline Picture read_picture(const std::filesystem::path& file) {
  return Picture(cairo_image_surface_create_from_png(file.c_str()));
}

inline int largest_difference(std::uint32_t a, std::uint32_t b) {
  int largest = 0;
  for (int shift = 0; shift < 32; shift += 8) {
    const int difference =
        static_cast<int>(a >> shift & 0xff) - static_cast<int>(b >> shift & 0xff);
    largest = std::max(largest, std::abs(difference));
  }
  return largest;
}

/// Share of pixels that differ by more than the tolerance; they turn black in `difference`, all
/// others white.
inline double share_of_difference(cairo_surface_t* actual, cairo_surface_t* expected,
                                  cairo_surface_t* difference) {
  const int width = cairo_image_surface_get_width(actual);
  const int height = cairo_image_surface_get_height(actual);
  const auto row_of = [](cairo_surface_t* surface, int y) {
    return reinterpret_cast<std::uint32_t*>(cairo_image_surface_get_data(surface) +
                                            y * cairo_image_surface_get_stride(surface));
  };
  int differing = 0;
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const bool differs =
          largest_difference(row_of(actual, y)[x], row_of(expected, y)[x]) > channel_tolerance;
      row_of(difference, y)[x] = differs ? 0xff000000U : 0xffffffffU;
      differing += differs ? 1 : 0;
    }
  }
  cairo_surface_mark_dirty(difference);
  return static_cast<double>(differing) / (static_cast<double>(width) * height);
}

inline void expect_same_picture(const std::filesystem::path& actual_file, const std::string& name) {
  const auto kept = std::filesystem::path(EVENDRIP_TEST_DATA) / "golden" / (name + ".png");
  const char* update = std::getenv("EVENDRIP_UPDATE_GOLDEN");
  if (update != nullptr && std::string(update) == "1") {
    std::filesystem::create_directories(kept.parent_path());
    std::filesystem::copy_file(actual_file, kept,
                               std::filesystem::copy_options::overwrite_existing);
    return;
  }
  const Picture actual = read_picture(actual_file), expected = read_picture(kept);
  ASSERT_EQ(cairo_surface_status(actual.get()), CAIRO_STATUS_SUCCESS) << actual_file;
  ASSERT_EQ(cairo_surface_status(expected.get()), CAIRO_STATUS_SUCCESS)
      << kept << " cannot be read: EVENDRIP_UPDATE_GOLDEN=1 writes it";
  const int width = cairo_image_surface_get_width(actual.get());
  const int height = cairo_image_surface_get_height(actual.get());
  ASSERT_EQ(width, cairo_image_surface_get_width(expected.get()));
  ASSERT_EQ(height, cairo_image_surface_get_height(expected.get()));
  const Picture difference(cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width, height));
  const double share = share_of_difference(actual.get(), expected.get(), difference.get());
  if (share <= pixel_share_allowed) return;
  const auto beside = actual_file.parent_path() / name;
  std::filesystem::copy_file(actual_file, beside.string() + ".actual.png",
                             std::filesystem::copy_options::overwrite_existing);
  std::filesystem::copy_file(kept, beside.string() + ".expected.png",
                             std::filesystem::copy_options::overwrite_existing);
  cairo_surface_write_to_png(difference.get(), (beside.string() + ".difference.png").c_str());
  ADD_FAILURE() << name << ": " << 100 * share << " % of the pixels differ by more than "
                << channel_tolerance << ", allowed are " << 100 * pixel_share_allowed << " %; see "
                << beside << ".*.png";
}

}  // namespace evendrip::golden
