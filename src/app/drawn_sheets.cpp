// SPDX-License-Identifier: Apache-2.0
#include "drawn_sheets.hpp"

#include "evendrip/io/raster_file.hpp"
#include "evendrip/maps/discharge_sheets.hpp"

namespace evendrip {

void draw_sheet(const NamedSheet& named, const MapResources& resources,
                const std::filesystem::path& folder, Doubts& doubts) {
  const DrawnSheet drawn = draw_png(named.sheet, resources, folder / (named.name + ".png"));
  draw_pdf(named.sheet, resources, folder / (named.name + ".pdf"));
  if (drawn.foreign_characters == 0) return;
  doubts.push_back({"font_of_the_system",
                    Severity::doubt,
                    {"sheets/" + named.name, "", 0, ""},
                    "characters that the bundled font lacks are drawn with a font of this machine; "
                    "they may look different elsewhere",
                    std::to_string(drawn.foreign_characters),
                    "",
                    ""});
}

void draw_sheet_and_frame(const NamedSheet& named, const MapResources& resources,
                          const std::filesystem::path& folder, Doubts& doubts) {
  draw_sheet(named, resources, folder / "sheets", doubts);
  const std::filesystem::path frame = folder / "frames" / (named.name + ".png");
  const FrameSize size =
      draw_frame_png(without_labels(named.sheet.drawings), named.sheet.extent, resources, frame);
  write_world_file(frame, named.sheet.extent, size.width_px, size.height_px, named.sheet.crs);
}

void draw_sheets(const std::vector<NamedSheet>& sheets, const MapResources& resources,
                 const std::filesystem::path& folder, const Work& work, Doubts& doubts) {
  for (std::size_t i = 0; i < sheets.size(); ++i) {
    if (work.stop.stop_requested()) throw Interrupted();
    draw_sheet(sheets[i], resources, folder, doubts);
    if (work.progress) {
      work.progress(static_cast<double>(i + 1) / static_cast<double>(sheets.size()));
    }
  }
}

}  // namespace evendrip
