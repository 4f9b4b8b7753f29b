// SPDX-License-Identifier: Apache-2.0
// Work of the crop room, timed. Peers are run by run_crop.sh on the same data.
//
// usage: crop_bench moran POINTS.csv WITHIN_M THREADS OUT.csv
//        local Moran's I of x,y,value with all neighbours within a distance, search included: best
//        of five times; writes value,expected,variance,z,p
//        crop_bench clean RECORDS THREADS
//        an invented harvest log of that many records, cleaned by all steps; seconds of each
//        crop_bench zonal THREADS STRIPS.txt OUT.csv
//        exact statistics of 4,000 x 4,000 cells under 500 slanting strips of 8 cells, least of
//        five times; writes the strips as WKT, one to a line, and strip,cells,mean (the values of
//        the cells are those of zonal_raster, terra_times.R)
//        crop_bench grid RECORDS CELL_M THREADS
//        the same log cleaned, and what is kept put on a grid by block kriging
//        crop_bench screen ZONES SIDE_M SPACING_M CELL_M THREADS
//        screening of an invented crop over so many square zones side by side
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstddef>
#include <ctime>
#include <fstream>
#include <functional>
#include <limits>
#include <map>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include <sys/resource.h>

#include <fmt/core.h>

#include "evendrip/base/random.hpp"
#include "evendrip/crop/cleaning.hpp"
#include "evendrip/crop/moran.hpp"
#include "evendrip/crop/patches.hpp"
#include "evendrip/crop/yield_map.hpp"
#include "evendrip/crop/zonal.hpp"

namespace {

using namespace evendrip;
using Words = std::vector<std::string>;

struct Seconds {
  double elapsed = std::numeric_limits<double>::infinity();
  double processor = std::numeric_limits<double>::infinity();
};

/// Least of several runs.
Seconds least_of(int runs, const std::function<void()>& work) {
  Seconds least;
  for (int run = 0; run < runs; ++run) {
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t processor = std::clock();
    work();
    const std::chrono::duration<double> elapsed = std::chrono::steady_clock::now() - start;
    least.elapsed = std::min(least.elapsed, elapsed.count());
    least.processor =
        std::min(least.processor, static_cast<double>(std::clock() - processor) / CLOCKS_PER_SEC);
  }
  return least;
}

double peak_megabytes() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}

void tell(const Seconds& seconds) {
  fmt::print("seconds {:.5f}\nprocessor {:.5f}\npeak MB {:.0f}\n", seconds.elapsed,
             seconds.processor, peak_megabytes());
}

struct Logged {
  std::vector<Point> places;
  std::vector<double> values;
};

Logged read_points(const std::string& file) {
  std::ifstream in(file);
  std::string line;
  std::getline(in, line);
  Logged logged;
  while (std::getline(in, line)) {
    std::replace(line.begin(), line.end(), ',', ' ');
    std::istringstream cells(line);
    Point place;
    double value = 0;
    cells >> place.x >> place.y >> value;
    logged.places.push_back(place);
    logged.values.push_back(value);
  }
  return logged;
}

int time_moran(const Words& words) {
  const Logged logged = read_points(words.at(0));
  Work work;
  work.threads = std::stoi(words.at(2));
  LocalMoran local;
  tell(least_of(
      5, [&] { local = local_moran(logged.places, logged.values, std::stod(words.at(1)), work); }));
  std::ofstream out(words.at(3));
  out << "value,expected,variance,z,p\n";
  for (std::size_t i = 0; i < local.value.size(); ++i)
    out << fmt::format("{:.17g},{:.17g},{:.17g},{:.17g},{:.17g}\n", local.value[i],
                       local.expected[i], local.variance[i], local.z[i], local.p[i]);
  return 0;
}

double waves(double x, double y) {
  return 9 + 1.2 * std::sin(x / 17 + 1) * std::cos(y / 13) + 0.8 * std::sin(y / 21 + x / 40);
}

/// A header of 6 m at 1.8 m/s, a record each second, passes of 1 km to and fro, the grain measured
/// 12 s late, a twelfth of the time spent turning, one record in 500 wrong.
HarvestLog invented_log(std::size_t records) {
  HarvestLog log;
  log.file = "invented.csv";
  log.machines = {"1"};
  log.has_mass_flow = true;
  std::mt19937_64 stream = item_stream(7, {records});
  const auto uniform = [&stream] { return static_cast<double>(stream() >> 11) * 0x1p-53 - 0.5; };
  constexpr double speed = 1.8, swath = 6, length = 1000;
  constexpr std::size_t pass_records = 555, round_records = 600, late = 12;
  std::vector<double> cut(records, 0.0);
  for (std::size_t i = 0; i < records; ++i) {
    const std::size_t pass = i / round_records, into = i % round_records;
    const bool north = pass % 2 == 0;
    const double share = into < pass_records ? 0
                                             : static_cast<double>(into - pass_records) /
                                                   (round_records - pass_records);
    const double along = std::min(length, static_cast<double>(into) * speed);
    const double x = (static_cast<double>(pass) + share) * swath;
    const double out = 10 * std::sin(3.14159265358979 * share);
    const double y = north ? along + out : length - along - out;
    if (into < pass_records) cut[i] = waves(x, y);
    log.places.push_back({500'000 + x + 0.1 * uniform(), 4'400'000 + y + 0.1 * uniform()});
    log.time_s.push_back(static_cast<double>(i));
    log.distance_m.push_back(speed * (1 + 0.04 * uniform()));
    log.lines.push_back(i + 2);
  }
  for (std::size_t i = 0; i < records; ++i) {
    const double wrong = stream() % 500 == 0 ? 2.5 : 1;
    const double yield = (i < late ? 0 : cut[i - late]) * (1 + 0.15 * uniform()) * wrong;
    log.yield_t_ha.push_back(yield);
    log.mass_flow_kg_s.push_back(yield * log.distance_m[i] * swath / 10);
  }
  log.duration_s.assign(records, 1.0);
  log.swath_m.assign(records, swath);
  log.moisture_frac.assign(records, 0.0);
  log.machine.assign(records, 0);
  return log;
}

int time_cleaning(const Words& words) {
  const HarvestLog log = invented_log(std::stoul(words.at(0)));
  Work work;
  work.threads = std::stoi(words.at(1));
  const double before_mb = peak_megabytes();
  const auto start = std::chrono::steady_clock::now();
  auto last = start;
  std::vector<double> parts;
  work.progress = [&](double) {
    const auto now = std::chrono::steady_clock::now();
    parts.push_back(std::chrono::duration<double>(now - last).count());
    last = now;
  };
  Field field;
  const CleanedLog cleaned = clean(field, log, {}, work);
  const std::chrono::duration<double> passed = std::chrono::steady_clock::now() - start;
  fmt::print("{}\n", cleaned.summary);
  fmt::print("passes and pairs {:.2f} s\n", parts.front());
  for (std::size_t k = 0; k < cleaned.steps.size(); ++k)
    fmt::print("{} {:.2f} s, {} records\n", to_text(cleaned.steps[k].step), parts[k + 1],
               cleaned.steps[k].records);
  fmt::print("variograms {:.2f} s\n", parts.back());
  fmt::print("seconds {:.2f}\npeak {:.0f} MB, {:.0f} MB of it the log\n", passed.count(),
             peak_megabytes(), before_mb);
  return 0;
}

constexpr int side = 4000;
constexpr int strips = 500;

/// Eighths, so that they are the same numbers everywhere.
Raster zonal_raster() {
  Raster raster(Grid{0, side, 1, side, side});
  for (int row = 0; row < side; ++row) {
    for (int column = 0; column < side; ++column)
      raster.set(raster.grid.index(row, column), (row * 37 + column * 91) % 1009 / 8.0);
  }
  return raster;
}

/// Laterals that run north by 7 degrees east, 8 m apart.
std::vector<MultiPolygon> zonal_strips() {
  constexpr double bearing = 7 * 3.14159265358979323846 / 180;
  const double dx = std::sin(bearing);
  const double dy = std::cos(bearing);
  std::vector<MultiPolygon> shapes;
  for (int i = 0; i < strips; ++i) {
    const double x = (i + 0.5) * 8 / dy - side * std::tan(bearing) / 2;
    shapes.push_back(strip_along({{x, 0}, {x + side / dy * dx, side}}, 4));
  }
  return shapes;
}

int time_zonal(const Words& words) {
  const auto reader = reader_of(zonal_raster());
  const std::vector<MultiPolygon> shapes = zonal_strips();
  Work work;
  work.threads = std::stoi(words.at(0));
  std::vector<CoverageStatistics> found;
  tell(least_of(5, [&] { found = statistics_under(*reader, shapes, work); }));
  std::ofstream wkt(words.at(1));
  std::ofstream out(words.at(2));
  out << "strip,cells,mean\n";
  for (std::size_t i = 0; i < shapes.size(); ++i) {
    wkt << "POLYGON ((";
    for (const Point p : shapes[i][0].outer) wkt << fmt::format("{:.17g} {:.17g}, ", p.x, p.y);
    const Point first = shapes[i][0].outer[0];
    wkt << fmt::format("{:.17g} {:.17g}))\n", first.x, first.y);
    out << fmt::format("{},{:.17g},{:.17g}\n", i + 1, found[i].weight_cells, found[i].mean);
  }
  return 0;
}

int time_grid(const Words& words) {
  const HarvestLog log = invented_log(std::stoul(words.at(0)));
  Work work;
  work.threads = std::stoi(words.at(2));
  const Field field;
  CleanedLog cleaned;
  const Seconds cleaning = least_of(1, [&] { cleaned = clean(field, log, {}, work); });
  Extent extent;
  std::vector<Point> places;
  std::vector<double> yields;
  for (std::size_t i = 0; i < log.size(); ++i) {
    if (cleaned.step[i] != SetAside::kept) continue;
    places.push_back(log.places[i]);
    yields.push_back(cleaned.yield_t_ha[i]);
    extent.include(log.places[i]);
  }
  const Grid grid = grid_over(extent, std::stod(words.at(1)));
  YieldMapOptions options;
  options.swath_m = log.swath_m.front();
  YieldMap map;
  const Seconds mapping =
      least_of(1, [&] { map = map_yield(places, yields, grid, {}, options, work); });
  fmt::print("{} points kept, {} cells; {}\n", places.size(), grid.cells(), map.method_text);
  fmt::print("cleaning {:.2f} s, processor {:.2f} s\n", cleaning.elapsed, cleaning.processor);
  tell(mapping);
  return 0;
}

/// Square zones in rows of ten, laterals that run north.
Field square_zones(int zones, double side_m, double spacing_m) {
  constexpr int in_row = 10;
  Field field;
  field.scale_factor = 1;
  for (int z = 0; z < zones; ++z) {
    const double west = side_m * (z % in_row);
    const double south = side_m * (z / in_row);
    Zone zone;
    zone.id = fmt::format("Z{}", z + 1);
    zone.lateral.spacing_m = spacing_m;
    zone.area = {{{{west, south},
                   {west + side_m, south},
                   {west + side_m, south + side_m},
                   {west, south + side_m}},
                  {}}};
    field.zones.push_back(zone);
    for (int i = 0; (i + 0.5) * spacing_m < side_m; ++i) {
      Lateral lateral;
      lateral.id = fmt::format("{}-{}", zone.id, i + 1);
      lateral.zone = z;
      const double x = west + (i + 0.5) * spacing_m;
      lateral.line = {{x, south}, {x, south + side_m}};
      lateral.length_m = side_m;
      field.laterals.push_back(lateral);
    }
  }
  return field;
}

/// Smooth ground with noise, about 1.
Raster invented_crop(const Field& field, double cell_m) {
  Raster raster(grid_over(field.extent().grown(-1e-6), cell_m));
  std::mt19937_64 stream = item_stream(11, {raster.grid.cells()});
  std::normal_distribution<double> noise(0, 0.06);
  for (int row = 0; row < raster.grid.rows; ++row) {
    for (int column = 0; column < raster.grid.columns; ++column) {
      const Point at = raster.grid.centre(row, column);
      raster.set(raster.grid.index(row, column), waves(at.x, at.y) / 9 + noise(stream));
    }
  }
  return raster;
}

int time_screening(const Words& words) {
  const Field field =
      square_zones(std::stoi(words.at(0)), std::stod(words.at(1)), std::stod(words.at(2)));
  const double cell_m = std::stod(words.at(3));
  const auto reader = reader_of(invented_crop(field, cell_m));
  Work work;
  work.threads = std::stoi(words.at(4));
  CropScreening screening;
  const Seconds seconds =
      least_of(1, [&] { screening = screen_crop(field, *reader, cell_m, 0, 0.05, 1, work); });
  fmt::print("{} zones, {} laterals, {} cells, {} places\n", field.zones.size(),
             field.laterals.size(), reader->grid().cells(), screening.patches.size());
  tell(seconds);
  return 0;
}

}  // namespace

int main(int count, char** words) {
  const std::map<std::string, std::function<int(const Words&)>> kinds = {
      {"moran", time_moran},
      {"clean", time_cleaning},
      {"zonal", time_zonal},
      {"grid", time_grid},
      {"screen", time_screening}};
  const Words all(words + 1, words + count);
  if (all.empty() || !kinds.contains(all[0])) {
    fmt::print(stderr,
               "usage: crop_bench moran POINTS.csv WITHIN_M THREADS OUT.csv\n"
               "       crop_bench clean RECORDS THREADS\n"
               "       crop_bench zonal THREADS STRIPS.txt OUT.csv\n"
               "       crop_bench grid RECORDS CELL_M THREADS\n"
               "       crop_bench screen ZONES SIDE_M SPACING_M CELL_M THREADS\n");
    return 2;
  }
  return kinds.at(all[0])({all.begin() + 1, all.end()});
}
