// SPDX-License-Identifier: Apache-2.0
// The work of predicting surfaces, timed for run_surface.sh.
//
// usage: map_bench solves EQUATIONS THREADS
//          the triangular solves against the peak of the instruction set, in one run
//        map_bench common POINTS.csv CELLS NEAREST THREADS OUT.csv
//          common data neighbourhoods, and how far they are off neighbours of their own
//        map_bench line CELLS THREADS
//          60 digs, a model that knows the lateral, four trend terms: mean, standard error and
//          probability on CELLS x CELLS cells of 0.5 m, window by window
//        map_bench large CELLS THREADS OUT.tif
//          5,000 points, local, to a file; then once more, stopped half way
// Times are the least of three unless the work is long.
#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <functional>
#include <limits>
#include <memory>
#include <random>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include <immintrin.h>
#include <sys/resource.h>

#include <fmt/core.h>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/crs.hpp"
#include "evendrip/io/raster_file.hpp"
#include "evendrip/kernels/dense.hpp"
#include "evendrip/kernels/panels.hpp"
#include "evendrip/surface/prediction.hpp"

namespace {

using namespace evendrip;
using Words = std::vector<std::string>;

constexpr double infinite = std::numeric_limits<double>::infinity();

double cpu_seconds() {
  return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}
double thread_seconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}
double seconds_since(std::chrono::steady_clock::time_point start) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}
double peak_memory_mb() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}
double memory_mb() {
  std::ifstream in("/proc/self/statm");
  double size = 0;
  double resident = 0;
  in >> size >> resident;
  return resident * 4096 / (1024 * 1024);
}

/// Least elapsed and processor time of some repeats.
struct Least {
  double elapsed = infinite;
  double processor = infinite;
  void run(int repeats, const std::function<void()>& work) {
    for (int i = 0; i < repeats; ++i) {
      const auto start = std::chrono::steady_clock::now();
      const double cpu_start = cpu_seconds();
      work();
      elapsed = std::min(elapsed, seconds_since(start));
      processor = std::min(processor, cpu_seconds() - cpu_start);
    }
  }
};

// A plain product that never leaves the registers: twelve sums, as many products.
constexpr int sums = 12;
constexpr long steps = 4'000'000;

__attribute__((target("avx2,fma"), noinline)) double product_v3() {
  __m256d sum[sums] = {};
  __m256d a = _mm256_set1_pd(1e-3);
  __m256d b = _mm256_set1_pd(1.5);
  for (long i = 0; i < steps; ++i) {
#pragma GCC unroll 12
    for (auto& s : sum) {
      asm volatile("" : "+x"(a), "+x"(b));
      s = _mm256_fmadd_pd(a, b, s);
    }
  }
  for (int k = 1; k < sums; ++k) sum[0] = _mm256_add_pd(sum[0], sum[k]);
  return _mm256_cvtsd_f64(sum[0]);
}

__attribute__((noinline)) double product_baseline() {
  __m128d sum[sums] = {};
  __m128d a = _mm_set1_pd(1e-3);
  __m128d b = _mm_set1_pd(1.5);
  for (long i = 0; i < steps; ++i) {
#pragma GCC unroll 12
    for (auto& s : sum) {
      asm volatile("" : "+x"(a), "+x"(b));
      s = _mm_add_pd(s, _mm_mul_pd(a, b));
    }
  }
  for (int k = 1; k < sums; ++k) sum[0] = _mm_add_pd(sum[0], sum[k]);
  return _mm_cvtsd_f64(sum[0]);
}

/// Floating-point operations a second of one thread, in thousands of millions.
double peak_gflops() {
  const bool wide = std::string(kernels::instruction_set()) == "x86-64-v3";
  const double start = thread_seconds();
  const double sum = wide ? product_v3() : product_baseline();
  const double seconds = thread_seconds() - start;
  if (!(sum > 0)) return 0;
  return 2.0 * (wide ? 4 : 2) * sums * static_cast<double>(steps) / seconds / 1e9;
}

class Solves {
 public:
  explicit Solves(int n) : n_(n), packed_(kernels::packed_size(n)) {
    std::vector<double> l(static_cast<std::size_t>(n) * static_cast<std::size_t>(n));
    for (int c = 0; c < n; ++c)
      for (int r = c; r < n; ++r)
        l[static_cast<std::size_t>(c) * static_cast<std::size_t>(n) + static_cast<std::size_t>(r)] =
            r == c ? 2 : std::sin(7.0 * r + c) / n;
    kernels::pack_lower(l.data(), n, n, packed_.data());
  }
  double gflops() const {
    constexpr int panels = 8;
    constexpr double wanted = 4e9;
    const double each = static_cast<double>(n_) * n_ * panels * kernels::panel_lanes;
    const int repeats = std::max(1, static_cast<int>(wanted / each));
    kernels::PanelVector b(kernels::panel_size(n_) * panels, 0.0);
    double seconds = 0;
    for (int i = 0; i < repeats; ++i) {
      for (int p = 0; p < panels; ++p)
        std::fill_n(b.begin() + static_cast<std::ptrdiff_t>(static_cast<std::size_t>(p) *
                                                            kernels::panel_size(n_)),
                    n_ * kernels::panel_lanes, 0.1);
      const double start = thread_seconds();
      kernels::solve_panels(packed_.data(), n_, b.data(), panels);
      seconds += thread_seconds() - start;
    }
    return each * repeats / seconds / 1e9;
  }

 private:
  int n_;
  kernels::PanelVector packed_;
};

/// Sum over threads of the best of some repeats, all threads at once.
double together(int threads, const std::function<double()>& rate) {
  std::vector<double> best(static_cast<std::size_t>(threads), 0.0);
  std::vector<std::jthread> pool;
  for (double& own : best)
    pool.emplace_back([&own, &rate] {
      for (int i = 0; i < 5; ++i) own = std::max(own, rate());
    });
  pool.clear();
  double sum = 0;
  for (const double own : best) sum += own;
  return sum;
}

int solves(const Words& words) {
  const Solves work(std::stoi(words[0]));
  const int threads = std::stoi(words[1]);
  const double peak = together(threads, peak_gflops);
  const double rate = together(threads, [&] { return work.gflops(); });
  fmt::print("kernels {}, {} thread(s): peak {:.1f}, solves {:.1f} GFLOP/s: {:.0f} %\n",
             kernels::instruction_set(), threads, peak, rate, 100 * rate / peak);
  return 0;
}

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
    sample.site.zone = 0;
    samples.push_back(sample);
  }
  return samples;
}

/// The model of the peer as a surface: ordinary kriging, an emitter's own variance included.
SurfaceModel ordinary() {
  const CorrelationFactor factor{Metric::plane, VariogramShape::exponential, 80, 0, 1};
  return {{constant_term()}, 0, {{{"local", 0.95, {factor}}}}, 0.05};
}

std::vector<Site> centres(const Grid& grid, const Window& window) {
  std::vector<Site> sites(window.cells());
  std::size_t i = 0;
  for (int r = 0; r < window.rows; ++r) {
    for (int c = 0; c < window.columns; ++c, ++i) {
      sites[i].place = grid.centre(window.row + r, window.column + c);
      sites[i].zone = 0;
    }
  }
  return sites;
}

int common(const Words& words) {
  const SurfaceObservations observations = observations_of(read_points(words[0]));
  const int cells = std::stoi(words[1]);
  const Grid grid{0, 400, 400.0 / cells, cells, cells};
  const Window whole{0, 0, cells, cells};
  const std::vector<Site> sites = centres(grid, whole);
  const int most = std::stoi(words[2]);
  Work work;
  work.threads = std::stoi(words[3]);
  SurfacePredictor::Surfaces out;
  const auto map = [&](DataUse use) {
    const SurfacePredictor predictor(observations, ordinary(), {use, most, Target::emitter});
    out = predictor.over(grid, whole, sites, work);
  };
  Least least;
  least.run(3, [&] { map(DataUse::common); });
  const SurfacePredictor::Surfaces shared = out;
  Least own;
  own.run(1, [&] { map(DataUse::nearest); });
  double squares = 0;
  double largest = 0;
  double errors = 0;
  std::ofstream file(words[4]);
  file << "value,variance\n";
  for (std::size_t i = 0; i < sites.size(); ++i) {
    const auto value = static_cast<double>(shared.value.values[i]);
    const auto variance = static_cast<double>(out.variance.values[i]);
    const double off = value - static_cast<double>(out.value.values[i]);
    file << fmt::format("{:.9g},{:.9g}\n", value, shared.variance.values[i]);
    squares += off * off;
    largest = std::max(largest, std::abs(off) / std::sqrt(variance));
    errors += std::sqrt(variance);
  }
  const auto n = static_cast<double>(sites.size());
  fmt::print(
      "kernels {}\nseconds {:.4f}\nprocessor {:.4f}\n"
      "own neighbours: seconds {:.4f}, processor {:.4f}\n"
      "error of common against own neighbours: rms {:.2g}, {:.2g} of the mean standard error; "
      "largest {:.2g} standard errors\n",
      kernels::instruction_set(), least.elapsed, least.processor, own.elapsed, own.processor,
      std::sqrt(squares / n), std::sqrt(squares / n) / (errors / n), largest);
  return 0;
}

/// One zone with laterals 1.5 m apart that run a little off the grid.
Field lined_field(double side_m) {
  Field field;
  field.zones.resize(1);
  field.zones[0].area = {{{{0, 0}, {side_m, 0}, {side_m, side_m}, {0, side_m}}, {}}};
  for (double x = -0.05 * side_m; x < 1.05 * side_m; x += 1.5) {
    Lateral lateral;
    lateral.zone = 0;
    lateral.line = {{x, 0}, {x + 0.01 * side_m, side_m / 2}, {x + 0.03 * side_m, side_m}};
    lateral.length_m = 1.0005 * side_m;
    field.laterals.push_back(lateral);
  }
  return field;
}

SurfaceModel line_aware(const Field& field, double side_m) {
  auto elevation = std::make_shared<Raster>(Grid{
      -10, side_m + 10, 5, static_cast<int>(side_m / 5) + 4, static_cast<int>(side_m / 5) + 4});
  for (std::size_t i = 0; i < elevation->grid.cells(); ++i)
    elevation->set(i, 0.1 * std::sin(static_cast<double>(i) * 0.001));
  const CorrelationFactor own{Metric::same_lateral};
  const CorrelationFactor along{Metric::along_lateral, VariogramShape::matern32, 60, 0, 1};
  const CorrelationFactor plane{Metric::plane, VariogramShape::exponential, 80, 0, 0.5};
  return {{constant_term(), station_term(field, 1), near_end_term(field, 40),
           raster_term("elevation", elevation)},
          0,
          {{{"laterals", 0.004, {own}}, {"along", 0.003, {along}}, {"local", 0.008, {plane}}}},
          0.002};
}

int line(const Words& words) {
  const int cells = std::stoi(words[0]);
  const double side_m = 0.5 * cells;
  const Grid grid{0, side_m, 0.5, cells, cells};
  const Field field = lined_field(side_m);
  const SurfaceModel model = line_aware(field, side_m);
  std::mt19937_64 random(60);
  std::uniform_int_distribution<int> any(0, cells - 1);
  std::normal_distribution<double> normal;
  const SiteMap map(field, grid);
  SurfaceObservations digs;
  for (int i = 0; i < 60; ++i)
    digs.push_back(
        {map.over({any(random), any(random), 1, 1}), {1}, 0.9 + 0.1 * normal(random), 1e-4});
  Work work;
  work.threads = std::stoi(words[1]);
  std::vector<float> mean(grid.cells());
  std::vector<float> error(grid.cells());
  std::vector<float> low(grid.cells());
  const std::vector<Window> windows = row_blocks(grid, 20);
  double sites_seconds = 0;
  const auto one_window = [&](const SurfacePredictor& predictor, const Window& window) {
    const double start = thread_seconds();
    const std::vector<Site> sites = map.over(window);
    if (work.threads == 1) sites_seconds += thread_seconds() - start;
    const auto part = predictor.over(grid, window, sites, {});
    const std::size_t first = grid.index(window.row, 0);
    for (std::size_t i = 0; i < sites.size(); ++i) {
      const Prediction p{static_cast<double>(part.value.values[i]),
                         static_cast<double>(part.variance.values[i])};
      mean[first + i] = part.value.values[i];
      error[first + i] = static_cast<float>(std::sqrt(p.variance));
      low[first + i] = static_cast<float>(probability_below(p, 0.9));
    }
  };
  Least least;
  least.run(3, [&] {
    sites_seconds = 0;
    const SurfacePredictor predictor(digs, model, {});
    for_each_chunk(work, windows.size(), 1, [&](std::size_t begin, std::size_t, int) {
      one_window(predictor, windows[begin]);
    });
  });
  double sum = 0;
  for (std::size_t i = 0; i < mean.size(); ++i) sum += static_cast<double>(low[i]);
  fmt::print("kernels {}, {} threads\nseconds {:.3f}\nprocessor {:.3f}\n",
             kernels::instruction_set(), work.threads, least.elapsed, least.processor);
  if (work.threads == 1) fmt::print("of these to place the cells {:.3f}\n", sites_seconds);
  fmt::print("peak memory {:.0f} MB; mean probability {:.6f}\n", peak_memory_mb(),
             sum / static_cast<double>(mean.size()));
  return 0;
}

/// Writes value and standard error; memory after a tenth of the windows, after half and after all.
void write_map(const SurfacePredictor& predictor, const Grid& grid, const std::string& file,
               const Work& work, std::array<double, 3>& memory) {
  GeotiffOptions options;
  options.bands = {{"value", ""}, {"standard_error", ""}};
  GeotiffWriter writer(file, grid, parse_crs("EPSG:32633"), options);
  const std::vector<Window> windows = row_blocks(grid, options.row_block);
  for (std::size_t k = 0; k < windows.size(); ++k) {
    const std::vector<Site> sites = centres(grid, windows[k]);
    SurfacePredictor::Surfaces part =
        predictor.over(grid, windows[k], sites, without_progress(work));
    for (float& v : part.variance.values) v = std::sqrt(v);
    const std::array<Raster, 2> bands{std::move(part.value), std::move(part.variance)};
    writer.write(windows[k], bands);
    if (k == windows.size() / 10) memory[0] = memory_mb();
    if (k == windows.size() / 2) memory[1] = memory_mb();
    memory[2] = memory_mb();
    if (work.progress)
      work.progress(static_cast<double>(k + 1) / static_cast<double>(windows.size()));
  }
  writer.finish(work);
}

SurfaceObservations scattered(std::size_t count, double side_m) {
  std::mt19937_64 random(20);
  std::uniform_real_distribution<double> place(0, side_m);
  std::normal_distribution<double> normal;
  Samples samples;
  for (std::size_t i = 0; i < count; ++i) {
    Sample sample;
    sample.site.place = {place(random), place(random)};
    sample.site.zone = 0;
    sample.value = std::sin(sample.site.place.x / 60) + 0.3 * normal(random);
    samples.push_back(sample);
  }
  return observations_of(samples);
}

int large(const Words& words) {
  const int cells = std::stoi(words[0]);
  const Grid grid{0, 400, 400.0 / cells, cells, cells};
  const SurfacePredictor predictor(scattered(5000, 400), ordinary(), {});
  std::stop_source stop;
  Work work;
  work.threads = std::stoi(words[1]);
  int told = 0;
  work.progress = [&](double) { ++told; };
  std::array<double, 3> memory{};
  const auto start = std::chrono::steady_clock::now();
  write_map(predictor, grid, words[2], work, memory);
  fmt::print(
      "kernels {}, {} threads, {}\nseconds {:.1f}\nprocessor {:.1f}\n"
      "memory after a tenth {:.0f} MB, half way {:.0f} MB, at the end {:.0f} MB, peak {:.0f} MB; "
      "progress told {} "
      "times\n",
      kernels::instruction_set(), work.threads, predictor.use_text(), seconds_since(start),
      cpu_seconds(), memory[0], memory[1], memory[2], peak_memory_mb(), told);
  const auto written = std::filesystem::last_write_time(words[2]);
  work.stop = stop.get_token();
  work.progress = [&](double done) {
    if (done >= 0.5) stop.request_stop();
  };
  bool stopped = false;
  try {
    write_map(predictor, grid, words[2], work, memory);
  } catch (const Interrupted&) {
    stopped = true;
  }
  const auto folder = std::filesystem::absolute(words[2]).parent_path();
  const auto files = std::distance(std::filesystem::directory_iterator(folder), {});
  fmt::print(
      "stopped half way: {}; the earlier file is {}; files beside it: {}\n", stopped ? "yes" : "no",
      std::filesystem::last_write_time(words[2]) == written ? "untouched" : "changed", files - 1);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const Words words(argv + 1, argv + argc);
  const Words rest(words.begin() + (words.empty() ? 0 : 1), words.end());
  if (!words.empty() && words[0] == "solves" && rest.size() == 2) return solves(rest);
  if (!words.empty() && words[0] == "common" && rest.size() == 5) return common(rest);
  if (!words.empty() && words[0] == "line" && rest.size() == 2) return line(rest);
  if (!words.empty() && words[0] == "large" && rest.size() == 3) return large(rest);
  fmt::print(stderr, "usage: see the first lines of map_bench.cpp\n");
  return 2;
}
