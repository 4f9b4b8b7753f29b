// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/sheet.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "evendrip/base/error.hpp"
#include "example_field.hpp"
#include "pixels.hpp"

namespace evendrip {
namespace {

using example::bytes_of;
using example::make_example;
using example::output;
using example::Pixels;
using example::pixels_of;

Sheet example_sheet() {
  const auto e = make_example();
  return discharge_sheet(e.field, e.survey, e.discharge, e.findings, e.context,
                         find_map_resources());
}

/// What a program prints; empty if it is not installed.
std::string printed_by(const std::string& command) {
  FILE* pipe = popen((command + " 2>/dev/null").c_str(), "r");
  if (pipe == nullptr) return {};
  std::string text;
  std::array<char, 4096> buffer{};
  for (std::size_t n = 0; (n = fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) {
    text.append(buffer.data(), n);
  }
  pclose(pipe);
  return text;
}

TEST(DrawPdf, HasThePageSizeTitleAndDateThatWereAsked) {
  if (printed_by("command -v pdfinfo").empty()) GTEST_SKIP() << "pdfinfo is not installed";
  Sheet sheet = example_sheet();
  const auto file = output("page.pdf");
  draw_pdf(sheet, find_map_resources(), file);
  const std::string a4 = printed_by("TZ=UTC pdfinfo -isodates '" + file.string() + "'");
  // ISO 216: A4 is 210 mm by 297 mm.
  EXPECT_NE(a4.find("841.89 x 595.276 pts (A4)"), std::string::npos) << a4;
  EXPECT_NE(a4.find("Emitter discharge: Heron Flat (invented)"), std::string::npos) << a4;
  EXPECT_NE(a4.find("2026-05-12T00:00:00Z"), std::string::npos) << a4;
  sheet.paper = Paper::letter;
  draw_pdf(sheet, find_map_resources(), file);
  const std::string letter = printed_by("pdfinfo '" + file.string() + "'");
  EXPECT_NE(letter.find("792 x 612 pts (letter)"), std::string::npos) << letter;
}

TEST(DrawPdf, EmbedsTheBundledFontAloneAndKeepsTextSearchable) {
  const auto file = output("fonts.pdf");
  draw_pdf(example_sheet(), find_map_resources(), file);
  const std::string fonts = printed_by("pdffonts '" + file.string() + "'");
  if (fonts.empty()) GTEST_SKIP() << "pdffonts is not installed";
  std::istringstream lines(fonts);
  std::string line;
  std::getline(lines, line);
  std::getline(lines, line);
  int count = 0;
  while (std::getline(lines, line)) {
    ++count;
    EXPECT_NE(line.find("DejaVuSans"), std::string::npos) << line;
    EXPECT_NE(line.find("yes yes yes"), std::string::npos) << line;
  }
  EXPECT_GE(count, 2);
  const std::string text = printed_by("pdftotext '" + file.string() + "' -");
  for (const char* word : {"Emitter discharge", "Discharge, L/h", "on the ground", "grid north",
                           "WGS 84 / UTM zone 14N", "Before digging", "2026-05-12"}) {
    EXPECT_NE(text.find(word), std::string::npos) << word;
  }
}

TEST(DrawSheet, TellsCoordinatesInTheUnitOfTheStatedCrs) {
  if (printed_by("command -v pdftotext").empty()) GTEST_SKIP() << "pdftotext is not installed";
  Sheet sheet = example_sheet();
  const auto file = output("feet.pdf");
  const auto text_of = [&] {
    draw_pdf(sheet, find_map_resources(), file);
    return printed_by("pdftotext '" + file.string() + "' -");
  };
  // The example lies at 612340 m E; 1 US survey foot is 1200/3937 m (NIST SP 811, appendix B.6),
  // so that is 2008985 ft.
  const std::string metres = text_of();
  EXPECT_NE(metres.find("Coordinates in metres"), std::string::npos) << metres;
  EXPECT_NE(metres.find("\n6124"), std::string::npos) << metres;
  sheet.stated_crs = parse_crs("EPSG:2277");
  const std::string feet = text_of();
  EXPECT_NE(feet.find("Coordinates in US survey feet: NAD83 / Texas Central (ftUS) (EPSG:2277)"),
            std::string::npos)
      << feet;
  EXPECT_NE(feet.find("\n20092"), std::string::npos) << feet;
  EXPECT_EQ(feet.find("\n6124"), std::string::npos) << feet;
}

TEST(DrawSheet, GivesTheSameBytesEveryTime) {
  const Sheet sheet = example_sheet();
  const MapResources resources = find_map_resources();
  draw_pdf(sheet, resources, output("first.pdf"));
  draw_pdf(sheet, resources, output("second.pdf"));
  EXPECT_EQ(bytes_of(output("first.pdf")), bytes_of(output("second.pdf")));
  draw_png(sheet, resources, output("first.png"), 72);
  draw_png(sheet, resources, output("second.png"), 72);
  EXPECT_EQ(bytes_of(output("first.png")), bytes_of(output("second.png")));
}

TEST(DrawPdf, TakesItsDateFromTheSourceDateIfOneIsSet) {
  setenv("SOURCE_DATE_EPOCH", "1000000000", 1);
  draw_pdf(example_sheet(), find_map_resources(), output("dated.pdf"));
  unsetenv("SOURCE_DATE_EPOCH");
  const std::string info =
      printed_by("TZ=UTC pdfinfo -isodates '" + output("dated.pdf").string() + "'");
  if (info.empty()) GTEST_SKIP() << "pdfinfo is not installed";
  // 1,000,000,000 s after 1970-01-01 is 2001-09-09 01:46:40 UTC.
  EXPECT_NE(info.find("2001-09-09T01:46:40Z"), std::string::npos) << info;
}

TEST(DrawSheet, CountsLabelsThatFindNoRoom) {
  Sheet sheet = example_sheet();
  sheet.drawings.clear();
  PointsDrawing points;
  points.style = read_style(find_map_resources().styles / "emitters.sld");
  const Point centre{612440, 4118800};
  for (int i = 0; i < 100; ++i) {
    points.points.push_back(centre);
    points.classes.emplace_back("runs");
    points.labels.emplace_back("1.23");
  }
  sheet.drawings.emplace_back(points);
  const DrawnSheet drawn = draw_png(sheet, find_map_resources(), output("crowd.png"), 50);
  EXPECT_GT(drawn.labels_left_out, 80);
  EXPECT_LT(drawn.labels_left_out, 100);
}

TEST(DrawSheet, CountsNotesThatFindNoRoom) {
  Sheet sheet = example_sheet();
  EXPECT_EQ(draw_png(sheet, find_map_resources(), output("notes.png"), 50).notes_left_out, 0);
  sheet.notes.assign(200, "a note that fills a line of its own");
  EXPECT_GT(draw_png(sheet, find_map_resources(), output("notes.png"), 50).notes_left_out, 100);
}

TEST(DrawSheet, TellsCharactersThatTheBundledFontLacks) {
  Sheet sheet = example_sheet();
  sheet.field = "Acequia del Señor Łukasz";
  EXPECT_EQ(draw_png(sheet, find_map_resources(), output("accents.png"), 50).foreign_characters, 0);
  sheet.field = "\u7530\u3093\u307c";  // not in DejaVu Sans
  EXPECT_EQ(draw_png(sheet, find_map_resources(), output("foreign.png"), 50).foreign_characters, 3);
}

TEST(DrawSheet, SurvivesTextThatIsNoUtf8) {
  Sheet sheet = example_sheet();
  sheet.field =
      "Fl\xe4"
      "che";
  EXPECT_NO_THROW(draw_png(sheet, find_map_resources(), output("no_utf8.png"), 50));
}

TEST(DrawSheet, FailsLoudlyWhereNothingCanBeWritten) {
  const auto file = output("no_such_folder") / "sheet";
  EXPECT_THROW(draw_pdf(example_sheet(), find_map_resources(), file), FileError);
  EXPECT_THROW(draw_png(example_sheet(), find_map_resources(), file), FileError);
  if (std::filesystem::exists("/dev/full")) {
    EXPECT_THROW(draw_pdf(example_sheet(), find_map_resources(), "/dev/full"), FileError);
    EXPECT_THROW(draw_png(example_sheet(), find_map_resources(), "/dev/full"), FileError);
  }
}

RasterDrawing checked(int columns, int rows) {
  RasterDrawing drawing;
  drawing.raster = Raster(Grid{1000, 2000, 10, columns, rows});
  for (int row = 0; row < rows; ++row) {
    for (int column = 0; column < columns; ++column) {
      if (row == 0 && column == 0) continue;  // stays without a value
      drawing.raster.set(drawing.raster.grid.index(row, column), (row + column) % 2);
    }
  }
  ColourMap map;
  map.stops = {{0, {1, 0, 0, 1}, ""}, {1, {0, 0, 1, 1}, ""}};
  drawing.style.colour_map = map;
  return drawing;
}

/// Three panels of a field that is twice as wide as high, each filled with a red of its own.
Sheet panelled_sheet() {
  Sheet sheet;
  sheet.title = "Panels";
  sheet.extent = {0, 0, 200, 100};
  for (const double red : {0.2, 0.4, 0.6}) {
    RasterDrawing drawing;
    drawing.raster = Raster(grid_over(sheet.extent, 10), Reason::value);
    for (std::size_t i = 0; i < drawing.raster.values.size(); ++i) drawing.raster.set(i, 1);
    drawing.style.colour_map = ColourMap{true, {{0, {red, 0, 0, 1}, ""}}};
    sheet.panels.push_back({"panel", {drawing}});
  }
  return sheet;
}

TEST(DrawSheet, ShowsEveryPanelAtOneScale) {
  const auto file = output("panels.png");
  draw_png(panelled_sheet(), find_map_resources(), file, 72);
  const Pixels picture = pixels_of(file);
  std::array<int, 3> counts{};
  std::array<int, 3> leftmost{picture.width, picture.width, picture.width};
  // Left of the legend, whose swatch has the first panel's red.
  const int frame_right = static_cast<int>(842 - 30 - 196 - 18);
  for (int y = 0; y < picture.height; ++y) {
    for (int x = 0; x < frame_right; ++x) {
      const std::uint32_t pixel = picture.at(x, y);
      for (const std::size_t k : {0U, 1U, 2U}) {
        const std::uint32_t level = 51 * (static_cast<std::uint32_t>(k) + 1);
        if (pixel != (0xff000000U | level << 16)) continue;
        ++counts[k];
        leftmost[k] = std::min(leftmost[k], x);
      }
    }
  }
  EXPECT_GT(counts[0], 5000);
  for (const int count : counts) EXPECT_NEAR(count, counts[0], 0.02 * counts[0]);
  // Wide fields lie largest in one column of three or in two columns: never all in one row.
  EXPECT_TRUE(leftmost[0] == leftmost[1] || leftmost[0] == leftmost[2]);
}

TEST(DrawFrame, CoversTheExtentExactlyCellByCell) {
  const RasterDrawing drawing = checked(4, 2);
  const auto file = output("frame.png");
  const FrameSize size =
      draw_frame_png({drawing}, drawing.raster.grid.extent(), find_map_resources(), file, 400);
  EXPECT_EQ(size.width_px, 400);
  EXPECT_EQ(size.height_px, 200);
  const Pixels pixels = pixels_of(file);
  ASSERT_EQ(pixels.width, 400);
  ASSERT_EQ(pixels.height, 200);
  EXPECT_EQ(pixels.at(50, 50), 0U);  // no value: transparent
  for (int row = 0; row < 2; ++row) {
    for (int column = row == 0 ? 1 : 0; column < 4; ++column) {
      const std::uint32_t expected = (row + column) % 2 == 0 ? 0xffff0000U : 0xff0000ffU;
      for (const int inset : {1, 50, 98}) {
        EXPECT_EQ(pixels.at(100 * column + inset, 100 * row + inset), expected)
            << row << " " << column << " " << inset;
      }
    }
  }
}

TEST(DrawFrame, RefusesAnEmptyExtent) {
  EXPECT_THROW(draw_frame_png({}, {0, 0, 0, 10}, find_map_resources(), output("x.png"), 100),
               FileError);
}

TEST(DrawFrame, DrawsCirclesOfUncertainPlacesTrueToScale) {
  PointsDrawing points;
  points.style = read_style(find_map_resources().styles / "emitters.sld");
  points.points = {{50, 50}};
  points.classes = {"ambiguous"};
  points.radius_m = {30};
  for (StyleRule& rule : points.style.rules) {
    if (rule.mark->stroke) rule.mark->stroke->dashes_px.clear();
  }
  draw_frame_png({points}, {0, 0, 100, 100}, find_map_resources(), output("circle.png"), 1000);
  const Pixels pixels = pixels_of(output("circle.png"));
  int leftmost = pixels.width, rightmost = 0;
  for (int x = 0; x < pixels.width; ++x) {
    const std::uint32_t value = pixels.at(x, 500);
    const bool dark = (value >> 24) > 200 && (value & 0xff) < 160;
    if (dark) leftmost = std::min(leftmost, x), rightmost = std::max(rightmost, x);
  }
  // 30 m at 10 px a metre: 200 to 800, give or take half a line's width.
  EXPECT_NEAR(leftmost, 200, 2);
  EXPECT_NEAR(rightmost, 800, 2);
}

}  // namespace
}  // namespace evendrip
