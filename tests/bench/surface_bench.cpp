// SPDX-License-Identifier: Apache-2.0
// The work of the speed table, timed: kriging over a grid, inverse distance to a GeoTIFF. The peers
// are run by run.sh on the same points.
//
// usage: surface_bench kriging POINTS.csv CELLS NEAREST THREADS OUT.csv
//        surface_bench idw POINTS.csv CELLS NEAREST WITHIN_M THREADS OUT.tif
// Points lie in 400 m x 400 m; CELLS along each side. kriging prints the best of three times and
// writes value and variance at every cell centre in double precision. NEAREST 0: all.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>
#include <fstream>
#include <limits>
#include <sstream>
#include <string>
#include <vector>

#include <fmt/core.h>

#include "evendrip/crs/crs.hpp"
#include "evendrip/io/raster_file.hpp"
#include "evendrip/kernels/dense.hpp"
#include "evendrip/surface/estimators.hpp"

namespace {

using namespace evendrip;

constexpr double side_m = 400;
const VariogramModel model{VariogramShape::exponential, 0.05, 0.95, 80, 0, 1};

Samples read_points(const std::string& file) {
  std::ifstream in(file);
  std::string line;
  std::getline(in, line);
  Samples samples;
  while (std::getline(in, line)) {
    std::replace(line.begin(), line.end(), ',', ' ');
    std::istringstream cells(line);
    Sample sample;
    cells >> sample.site.place.x >> sample.site.place.y >> sample.value;
    samples.push_back(sample);
  }
  return samples;
}

Grid grid_of(int cells) {
  return {0, side_m, side_m / cells, cells, cells};
}

/// Processor time of all threads.
double cpu_seconds() {
  return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

double seconds_since(std::chrono::steady_clock::time_point start) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

int krige(const std::vector<std::string>& words) {
  const Samples samples = read_points(words[0]);
  const Grid grid = grid_of(std::stoi(words[1]));
  Neighbourhood neighbourhood;
  neighbourhood.most = std::stoi(words[2]);
  Work work;
  work.threads = std::stoi(words[3]);
  double best = std::numeric_limits<double>::infinity();
  double least_cpu = best;
  OrdinaryKriging::Surfaces surfaces;
  for (int repeat = 0; repeat < 3; ++repeat) {
    const auto start = std::chrono::steady_clock::now();
    const double cpu_start = cpu_seconds();
    const OrdinaryKriging kriging(samples, model, neighbourhood);
    surfaces = kriging.over(grid, {0, 0, grid.rows, grid.columns}, {}, work);
    best = std::min(best, seconds_since(start));
    least_cpu = std::min(least_cpu, cpu_seconds() - cpu_start);
  }
  std::vector<Point> places;
  for (int r = 0; r < grid.rows; ++r)
    for (int c = 0; c < grid.columns; ++c) places.push_back(grid.centre(r, c));
  const auto exact = OrdinaryKriging(samples, model, neighbourhood).at(places, work);
  double rounding = 0;
  std::ofstream out(words[4]);
  out << "value,variance\n";
  for (std::size_t i = 0; i < exact.size(); ++i) {
    out << fmt::format("{:.17g},{:.17g}\n", exact[i].value, exact[i].variance);
    const double stored = static_cast<double>(surfaces.value.values[i]);
    rounding = std::max(rounding, std::abs(stored - exact[i].value));
  }
  fmt::print(
      "kernels {}\nseconds {:.4f}\nprocessor {:.4f}\n"
      "largest difference of the raster {:.2g}\n",
      kernels::instruction_set(), best, least_cpu, rounding);
  return 0;
}

int weigh(const std::vector<std::string>& words) {
  const Samples samples = read_points(words[0]);
  const Grid grid = grid_of(std::stoi(words[1]));
  InverseDistance options;
  options.neighbourhood.most = std::stoi(words[2]);
  options.neighbourhood.within_m = std::stod(words[3]);
  Work work;
  work.threads = std::stoi(words[4]);
  const auto start = std::chrono::steady_clock::now();
  const InverseDistanceSurface surface(samples, options);
  GeotiffOptions file;
  file.bands = {{"value", ""}};
  GeotiffWriter writer(words[5], grid, parse_crs("EPSG:32633"), file);
  double in_surface = 0;
  for (const Window& window : row_blocks(grid, file.row_block)) {
    const auto begin = std::chrono::steady_clock::now();
    const Raster part = surface.over(grid, window, {}, work);
    in_surface += seconds_since(begin);
    writer.write(window, std::span(&part, 1));
  }
  writer.finish(work);
  fmt::print("seconds {:.3f}\nof these in the surface {:.3f}\nprocessor {:.3f}\n",
             seconds_since(start), in_surface, cpu_seconds());
  return 0;
}

}  // namespace

int main(int count, char** texts) {
  const std::vector<std::string> words(texts + 1, texts + count);
  if (words.size() == 6 && words[0] == "kriging") return krige({words.begin() + 1, words.end()});
  if (words.size() == 7 && words[0] == "idw") return weigh({words.begin() + 1, words.end()});
  fmt::print(stderr, "usage: see the first lines of surface_bench.cpp\n");
  return 2;
}
