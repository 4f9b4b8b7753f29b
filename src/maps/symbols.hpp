// SPDX-License-Identifier: Apache-2.0
// Strokes, fills, hatches and marks of a style, drawn on a canvas. Private to this room.
#pragma once

#include "canvas.hpp"

namespace evendrip {

/// Strokes the current path and clears it.
void stroke_path(const Canvas& canvas, const StrokeStyle& style);
/// The same over a white rim, so that it shows on any ground.
void stroke_path_with_rim(const Canvas& canvas, const StrokeStyle& style);
/// Fills the current path (even-odd) and keeps it. Hatches are anchored to the page, so that
/// neighbouring shapes of one class look like one.
void fill_path(const Canvas& canvas, const FillStyle& style);
void draw_mark(const Canvas& canvas, Point centre, const MarkStyle& style);
/// A swatch as legends show it: polygon, line or mark, whichever the rule draws.
void draw_swatch(const Canvas& canvas, const PaperBox& box, const StyleRule& rule);

}  // namespace evendrip
