// SPDX-License-Identifier: Apache-2.0
// Speed and memory of the condition of a zone, fit and prediction, on data that the model itself
// could have drawn.
//
// usage: condition_bench zone LATERALS LENGTH_M HOLES THREADS    one zone, its lines 1.5 m apart
//        condition_bench zones COUNT LATERALS LENGTH_M HOLES THREADS   one on each thread
// The raster has pixels of 1 m. Segments are as long as emitters of 0.4 m times 12; of many zones,
// longer where a zone would have over 4,000 of them, and each zone is one thread's, as in the
// judging of a field. Seconds of processors are those of all threads. Seconds that pass hang on
// what else the machine does; those of processors hardly do.
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

#include <fmt/core.h>

#include "../condition/drawn_zone.hpp"
#include "evendrip/condition/plugged_holes.hpp"

namespace {

using namespace evendrip;

constexpr double spacing_m = 1.5;
constexpr double pixel_m = 1;
constexpr double most_segments = 4000;

double seconds_since(std::chrono::steady_clock::time_point start) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

double peak_mb() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}

/// Of all threads.
double processor_s() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  const auto seconds = [](const timeval& time) {
    return static_cast<double>(time.tv_sec) + 1e-6 * static_cast<double>(time.tv_usec);
  };
  return seconds(usage.ru_utime) + seconds(usage.ru_stime);
}

SegmentGrid grid_of(int laterals, double length_m, double step_m) {
  SegmentGrid grid;
  grid.zone = 0;
  const int stations = std::max(1, static_cast<int>(std::lround(length_m / step_m)));
  grid.step_m = length_m / stations;
  for (int i = 0; i < laterals; ++i) {
    grid.laterals.push_back(i);
    grid.across_m.push_back(spacing_m * i);
    grid.lengths_m.push_back(length_m);
  }
  for (int k = 0; k < stations; ++k) grid.stations_m.push_back((k + 0.5) * grid.step_m);
  return grid;
}

struct Zone {
  SegmentGrid grid;
  ConditionRanges ranges;
  std::vector<HoleDatum> holes;
  std::vector<CropDatum> crop;
};

/// r of each segment: a part along, groups and laterals.
std::vector<double> drawn_r(const SegmentGrid& grid, const ConditionRanges& ranges,
                            std::mt19937_64& stream) {
  std::normal_distribution<double> normal;
  const auto along = test::chain(grid.stations_m, ranges.along_m, 0.02, stream);
  const auto group = test::chain(grid.across_m, ranges.group_m, 0.05, stream);
  std::vector<double> r;
  for (int row = 0; row < grid.rows(); ++row) {
    const double own = 0.06 * normal(stream);
    for (int station = 0; station < grid.stations(); ++station)
      r.push_back(1 + along[static_cast<std::size_t>(station)] +
                  group[static_cast<std::size_t>(row)] + own);
  }
  return r;
}

/// Five by five places of the pixel's box, each the segment about it.
CropDatum datum_at(const SegmentGrid& grid, Point place) {
  CropDatum datum;
  datum.place = place;
  std::vector<int> segments;
  for (const double u : {-0.5, -0.25, 0.0, 0.25, 0.5})
    for (const double v : {-0.5, -0.25, 0.0, 0.25, 0.5}) {
      const int row = std::clamp(static_cast<int>(std::lround((place.x + u * pixel_m) / spacing_m)),
                                 0, grid.rows() - 1);
      segments.push_back(grid.segment(row, grid.station_of(place.y + v * pixel_m)));
    }
  std::sort(segments.begin(), segments.end());
  for (const int segment : segments) {
    if (datum.segments.empty() || datum.segments.back() != segment) {
      datum.segments.push_back(segment);
      datum.weights.push_back(0);
    }
    datum.weights.back() += 1 / 25.0;
  }
  return datum;
}

struct Size {
  int laterals = 0;
  double length_m = 0;
  int holes = 0;
  double step_m = 12 * 0.4;

  double area_ha() const { return laterals * spacing_m * length_m / 10000; }
};

Zone drawn(const Size& size, std::uint64_t seed) {
  const auto [laterals, length_m, holes, step_m] = size;
  Zone zone;
  zone.grid = grid_of(laterals, length_m, step_m);
  zone.ranges = ranges_of(zone.grid, pixel_m);
  std::mt19937_64 stream(seed);
  std::normal_distribution<double> normal;
  const std::vector<double> r = drawn_r(zone.grid, zone.ranges, stream);
  for (int i = 0; i < holes; ++i) {
    const int row = static_cast<int>(stream() % static_cast<std::uint64_t>(zone.grid.rows()));
    const int station =
        static_cast<int>(stream() % static_cast<std::uint64_t>(zone.grid.stations()));
    const double value = r[static_cast<std::size_t>(zone.grid.segment(row, station))];
    zone.holes.push_back({row, station, value + 0.05 * normal(stream), 1e-4});
  }
  for (double x = 0.5; x < spacing_m * laterals - 1; x += pixel_m)
    for (double y = 0.5; y < length_m; y += pixel_m) {
      CropDatum datum = datum_at(zone.grid, {x, y});
      datum.value = 1 + 0.05 * std::cos(x / 20) * std::sin(y / 30) + 0.05 * normal(stream);
      for (std::size_t k = 0; k < datum.segments.size(); ++k)
        datum.value +=
            0.7 * datum.weights[k] * (r[static_cast<std::size_t>(datum.segments[k])] - 1);
      zone.crop.push_back(std::move(datum));
    }
  return zone;
}

std::string judge(const Size& size, std::uint64_t seed, const Work& work) {
  const Zone zone = drawn(size, seed);
  const auto start = std::chrono::steady_clock::now();
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const double built = seconds_since(start);
  model.slope_at({});
  const auto once = std::chrono::steady_clock::now();
  ConditionParameters other;
  other.own = 0.04;
  const auto slope = model.slope_at(other);
  const double slope_s = seconds_since(once);
  const auto fit_start = std::chrono::steady_clock::now();
  const double processor_before = processor_s();
  const auto found = zone_condition(model, 0.75, {}, work);
  const double processor = processor_s() - processor_before;
  const double fitted = seconds_since(fit_start);
  std::string told =
      fmt::format("segments {} pixels {} holes {} threads {}\n", zone.grid.segments(),
                  zone.crop.size(), zone.holes.size(), work.threads);
  told += fmt::format("  model {:.2f} s, likelihood and slope {:.3f} s\n", built, slope_s);
  if (!found || !slope) return told + "  nothing could be fitted\n";
  double sd = 0;
  for (const double variance : found->estimate.r_variance) sd += std::sqrt(variance);
  const ConditionParameters& p = found->fit.parameters;
  told += fmt::format(
      "  fit and prediction {:.2f} s ({:.2f} s of processors), evaluations {}, log posterior "
      "{:.6f}\n",
      fitted, processor, found->fit.evaluations, found->fit.log_posterior);
  told += fmt::format(
      "  own {:.4f} group {:.4f} response {:.3f} crop error {:.4f}, mean sd of r {:.6f}\n", p.own,
      p.group, p.response, p.crop_error,
      sd / static_cast<double>(found->estimate.r_variance.size()));
  return told + fmt::format("  peak memory {:.0f} MB\n", peak_mb());
}

int usage() {
  fmt::print(stderr,
             "usage: condition_bench zone LATERALS LENGTH_M HOLES THREADS\n"
             "       condition_bench zones COUNT LATERALS LENGTH_M HOLES THREADS\n");
  return 2;
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  const bool one = words.size() == 5 && words[0] == "zone";
  const bool many = words.size() == 6 && words[0] == "zones";
  if (!one && !many) return usage();
  const std::size_t at = one ? 1 : 2;
  const int count = one ? 1 : std::stoi(words[1]);
  Size size{std::stoi(words[at]), std::stod(words[at + 1]), std::stoi(words[at + 2])};
  if (many) size.step_m = std::max(size.step_m, size.laterals * size.length_m / most_segments);
  Work work;
  work.threads = std::stoi(words[at + 3]);
  const auto start = std::chrono::steady_clock::now();
  const double processor_before = processor_s();
  // Memory when every thread has judged a zone, and at the end.
  const int at_once = std::min(count, work.threads);
  std::vector<std::string> told(static_cast<std::size_t>(count));
  double first_peak_mb = 0;
  const auto judge_some = [&](int from, int to) {
    const Work each{1, {}, {}};
    for_each_chunk(work, static_cast<std::size_t>(to - from), 1,
                   [&](std::size_t begin, std::size_t end, int) {
                     for (std::size_t i = begin; i < end; ++i) {
                       const auto number = static_cast<std::size_t>(from) + i;
                       told[number] = judge(size, number + 1, count > 1 ? each : work);
                     }
                   });
  };
  judge_some(0, at_once);
  first_peak_mb = peak_mb();
  judge_some(at_once, count);
  for (const std::string& text : told) fmt::print("{}", text);
  fmt::print(
      "{} zones of {:.1f} ha, data drawn, model, fit and prediction: {:.1f} s on {} threads "
      "({:.1f} "
      "s of processors); peak memory {:.0f} MB after the first, {:.0f} MB after the last\n",
      count, size.area_ha(), seconds_since(start), work.threads, processor_s() - processor_before,
      first_peak_mb, peak_mb());
  return 0;
}
