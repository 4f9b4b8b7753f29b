// SPDX-License-Identifier: Apache-2.0
// Cairo and Pango behind one drawing surface: points of 1/72 inch, y downwards, text in the bundled
// font. Private to this room.
#pragma once

#include <cairo.h>

#include <filesystem>
#include <memory>
#include <string>

#include "evendrip/maps/label_placing.hpp"
#include "evendrip/maps/sheet.hpp"

namespace evendrip {

constexpr double points_per_px = 0.75;  ///< a pixel of a style is 1/96 inch

enum class Weight { regular, bold };
enum class Align { left, centre, right };
struct TextStyle {
  double size_pt = 9;
  Weight weight = Weight::regular;
  Align align = Align::left;
  double width_pt = 0;   ///< text is wrapped to it; 0: not wrapped
  double height_pt = 0;  ///< what is longer ends in an ellipsis; 0: as high as needed
  double halo_pt = 0;    ///< width of a white rim
  Colour colour;
};
struct TextSize {
  double width = 0;
  double height = 0;
};

/// Owns the surface; nothing is on disk before `finish_png` or `finish_pdf`.
class Canvas {
 public:
  /// Pixels of a picture; `width_pt` by `height_pt` are stretched over them.
  static Canvas picture(int width_px, int height_px, TextSize size_pt, const MapResources&);
  static Canvas pdf(TextSize size_pt, const std::string& title, const std::string& subject,
                    const std::string& created, const MapResources&);
  ~Canvas();
  Canvas(Canvas&&) noexcept;

  cairo_t* context() const;
  void set_colour(const Colour& colour) const;
  TextSize text_size(const std::string& text, const TextStyle& style);
  /// `x` is the left edge, centre or right edge, as aligned; `top` the top of the first line.
  TextSize draw_text(double x, double top, const std::string& text, const TextStyle& style);
  int foreign_characters() const;

  /// Throws FileError if anything drawn or written failed.
  void finish_png(const std::filesystem::path& file);
  void finish_pdf(const std::filesystem::path& file);

 private:
  struct State;
  explicit Canvas(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

/// Saves the drawing state for a scope.
class Saved {
 public:
  explicit Saved(const Canvas& canvas) : context_(canvas.context()) { cairo_save(context_); }
  ~Saved() { cairo_restore(context_); }
  Saved(const Saved&) = delete;
  Saved& operator=(const Saved&) = delete;

 private:
  cairo_t* context_;
};

}  // namespace evendrip
