// SPDX-License-Identifier: Apache-2.0
#include "canvas.hpp"

#include <cairo-pdf.h>
#include <fontconfig/fontconfig.h>
#include <pango/pangocairo.h>
#include <pango/pangofc-fontmap.h>

#include <algorithm>
#include <cmath>
#include <fstream>

#include "evendrip/base/error.hpp"

namespace evendrip {

namespace {

template <auto release>
struct Release {
  template <class T>
  void operator()(T* object) const {
    release(object);
  }
};
template <class T, auto release>
using Handle = std::unique_ptr<T, Release<release>>;

using Surface = Handle<cairo_surface_t, cairo_surface_destroy>;
using Context = Handle<cairo_t, cairo_destroy>;
using Config = Handle<FcConfig, FcConfigDestroy>;
using FontMap = Handle<PangoFontMap, g_object_unref>;
using PangoText = Handle<PangoContext, g_object_unref>;
using Layout = Handle<PangoLayout, g_object_unref>;
using Description = Handle<PangoFontDescription, pango_font_description_free>;
using FontOptions = Handle<cairo_font_options_t, cairo_font_options_destroy>;
using Pattern = Handle<FcPattern, FcPatternDestroy>;

std::filesystem::path bold_beside(const std::filesystem::path& font) {
  return font.parent_path() / (font.stem().string() + "-Bold" + font.extension().string());
}

void add_fonts(FcConfig* config, const std::filesystem::path& font) {
  for (const auto& file : {font, bold_beside(font)}) {
    const std::string name = file.string();
    if (FcConfigAppFontAddFile(config, reinterpret_cast<const FcChar8*>(name.c_str())) == FcFalse) {
      throw FileError("font_not_readable", name, "the bundled font cannot be read");
    }
  }
}

FontMap font_map_of(FcConfig* config) {
  FontMap map(pango_cairo_font_map_new_for_font_type(CAIRO_FONT_TYPE_FT));
  pango_fc_font_map_set_config(reinterpret_cast<PangoFcFontMap*>(map.get()), config);
  return map;
}

/// One set of fonts: the bundled ones alone, or the system's behind them.
struct FontSet {
  Config config;
  FontMap map;
  PangoText text;

  FontSet(FcConfig* base, const std::filesystem::path& font) : config(base) {
    add_fonts(config.get(), font);
    map = font_map_of(config.get());
    text.reset(pango_font_map_create_context(map.get()));
    pango_cairo_context_set_resolution(text.get(), 72);
    pango_context_set_round_glyph_positions(text.get(), FALSE);
    FontOptions options(cairo_font_options_create());
    cairo_font_options_set_antialias(options.get(), CAIRO_ANTIALIAS_GRAY);
    cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(text.get(), options.get());
    pango_context_set_language(text.get(), pango_language_from_string("en"));
  }
};

/// Takes the bytes of a PDF: a surface on a file that cannot be written would keep its page.
cairo_status_t keep_bytes(void* kept, const unsigned char* bytes, unsigned int count) {
  static_cast<std::string*>(kept)->append(bytes, bytes + count);
  return CAIRO_STATUS_SUCCESS;
}

[[noreturn]] void drawing_failed(const std::filesystem::path& file, cairo_status_t status) {
  throw FileError("drawing_failed", file.filename().string(),
                  std::string("the picture cannot be written: ") + cairo_status_to_string(status),
                  "Check the free space and whether you may write there");
}

}  // namespace

struct Canvas::State {
  std::unique_ptr<std::string>
      pdf_bytes;  ///< before the surface, which writes to it until it is released
  Surface surface;
  Context context;
  std::filesystem::path font;
  FontSet bundled;
  std::unique_ptr<FontSet> with_system;
  Pattern bundled_font;
  int foreign = 0;

  State(cairo_surface_t* drawn_on, const MapResources& resources)
      : surface(drawn_on),
        context(cairo_create(drawn_on)),
        font(resources.font),
        bundled(FcConfigCreate(), resources.font) {
    int faces = 0;
    const std::string name = font.string();
    bundled_font.reset(
        FcFreeTypeQuery(reinterpret_cast<const FcChar8*>(name.c_str()), 0, nullptr, &faces));
    if (!bundled_font)
      throw FileError("font_not_readable", name, "the bundled font cannot be read");
    cairo_set_line_join(context.get(), CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(context.get(), CAIRO_LINE_CAP_ROUND);
  }

  int count_foreign(const std::string& text) const {
    FcCharSet* characters = nullptr;
    FcPatternGetCharSet(bundled_font.get(), FC_CHARSET, 0, &characters);
    int count = 0;
    for (const char* at = text.c_str(); *at != '\0'; at = g_utf8_next_char(at)) {
      const gunichar character = g_utf8_get_char(at);
      if (character > ' ' && FcCharSetHasChar(characters, character) == FcFalse) ++count;
    }
    return count;
  }

  /// The bundled fonts, unless a character is missing in them.
  PangoContext* fonts_for(const std::string& text) {
    if (count_foreign(text) == 0) return bundled.text.get();
    if (!with_system) {
      with_system = std::make_unique<FontSet>(FcInitLoadConfigAndFonts(), font);
    }
    return with_system->text.get();
  }

  Layout layout(const std::string& raw, const TextStyle& style) {
    gchar* valid = g_utf8_make_valid(raw.c_str(), static_cast<gssize>(raw.size()));
    const std::string text(valid);
    g_free(valid);
    Layout result(pango_layout_new(fonts_for(text)));
    Description description(pango_font_description_new());
    pango_font_description_set_family(description.get(), "DejaVu Sans");
    pango_font_description_set_absolute_size(description.get(), style.size_pt * PANGO_SCALE);
    if (style.weight == Weight::bold) {
      pango_font_description_set_weight(description.get(), PANGO_WEIGHT_BOLD);
    }
    pango_layout_set_font_description(result.get(), description.get());
    pango_layout_set_text(result.get(), text.c_str(), -1);
    if (style.width_pt > 0) {
      pango_layout_set_width(result.get(), static_cast<int>(style.width_pt * PANGO_SCALE));
      pango_layout_set_wrap(result.get(), PANGO_WRAP_WORD_CHAR);
    }
    if (style.height_pt > 0) {
      pango_layout_set_height(result.get(), static_cast<int>(style.height_pt * PANGO_SCALE));
      pango_layout_set_ellipsize(result.get(), PANGO_ELLIPSIZE_END);
    }
    return result;
  }
};

Canvas::Canvas(std::unique_ptr<State> state) : state_(std::move(state)) {}
Canvas::~Canvas() = default;
Canvas::Canvas(Canvas&&) noexcept = default;

Canvas Canvas::picture(int width_px, int height_px, TextSize size_pt,
                       const MapResources& resources) {
  Canvas canvas(std::make_unique<State>(
      cairo_image_surface_create(CAIRO_FORMAT_ARGB32, width_px, height_px), resources));
  cairo_scale(canvas.context(), width_px / size_pt.width, height_px / size_pt.height);
  return canvas;
}

Canvas Canvas::pdf(TextSize size_pt, const std::string& title, const std::string& subject,
                   const std::string& created, const MapResources& resources) {
  auto bytes = std::make_unique<std::string>();
  cairo_surface_t* surface =
      cairo_pdf_surface_create_for_stream(keep_bytes, bytes.get(), size_pt.width, size_pt.height);
  Canvas canvas(std::make_unique<State>(surface, resources));
  canvas.state_->pdf_bytes = std::move(bytes);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title.c_str());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_SUBJECT, subject.c_str());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "evendrip");
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, created.c_str());
  return canvas;
}

cairo_t* Canvas::context() const {
  return state_->context.get();
}

void Canvas::set_colour(const Colour& c) const {
  cairo_set_source_rgba(context(), c.red, c.green, c.blue, c.alpha);
}

TextSize Canvas::text_size(const std::string& text, const TextStyle& style) {
  const Layout layout = state_->layout(text, style);
  PangoRectangle logical;
  pango_layout_get_extents(layout.get(), nullptr, &logical);
  return {static_cast<double>(logical.width) / PANGO_SCALE,
          static_cast<double>(logical.height) / PANGO_SCALE};
}

TextSize Canvas::draw_text(double x, double top, const std::string& text, const TextStyle& style) {
  const Layout layout = state_->layout(text, style);
  state_->foreign += state_->count_foreign(pango_layout_get_text(layout.get()));
  PangoRectangle logical;
  pango_layout_get_extents(layout.get(), nullptr, &logical);
  const TextSize size{static_cast<double>(logical.width) / PANGO_SCALE,
                      static_cast<double>(logical.height) / PANGO_SCALE};
  const double share = style.align == Align::left ? 0 : style.align == Align::centre ? 0.5 : 1;
  const Saved saved(*this);
  cairo_translate(context(), x - share * size.width, top);
  if (style.halo_pt > 0) {
    cairo_move_to(context(), 0, 0);
    pango_cairo_layout_path(context(), layout.get());
    set_colour({1, 1, 1, 0.9});
    cairo_set_line_width(context(), 2 * style.halo_pt);
    cairo_stroke(context());
  }
  set_colour(style.colour);
  cairo_move_to(context(), 0, 0);
  pango_cairo_show_layout(context(), layout.get());
  cairo_new_path(context());  // no current point is left to which a later arc would be joined
  return size;
}

int Canvas::foreign_characters() const {
  return state_->foreign;
}

void Canvas::finish_png(const std::filesystem::path& file) {
  cairo_status_t status = cairo_status(context());
  cairo_surface_flush(state_->surface.get());
  if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(state_->surface.get());
  if (status == CAIRO_STATUS_SUCCESS) {
    status = cairo_surface_write_to_png(state_->surface.get(), file.c_str());
  }
  if (status != CAIRO_STATUS_SUCCESS) drawing_failed(file, status);
}

void Canvas::finish_pdf(const std::filesystem::path& file) {
  cairo_show_page(context());
  cairo_status_t status = cairo_status(context());
  cairo_surface_finish(state_->surface.get());
  if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(state_->surface.get());
  if (status != CAIRO_STATUS_SUCCESS) drawing_failed(file, status);
  std::ofstream out(file, std::ios::binary);
  out.write(state_->pdf_bytes->data(), static_cast<std::streamsize>(state_->pdf_bytes->size()));
  if (!out.flush()) drawing_failed(file, CAIRO_STATUS_WRITE_ERROR);
}

}  // namespace evendrip
