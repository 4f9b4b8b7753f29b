// SPDX-License-Identifier: Apache-2.0
// Work of the crop room, timed. Peers are run by run_crop.sh on the same data.
//
// usage: crop_bench moran POINTS.csv WITHIN_M THREADS OUT.csv
//        local Moran's I of x,y,value with all neighbours within a distance, search included: best
//        of five times; writes value,expected,variance,z,p
#include <algorithm>
#include <chrono>
#include <ctime>
#include <fstream>
#include <functional>
#include <limits>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include <sys/resource.h>

#include <fmt/core.h>

#include "evendrip/crop/moran.hpp"

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

}  // namespace

int main(int count, char** words) {
  const std::map<std::string, std::function<int(const Words&)>> kinds = {{"moran", time_moran}};
  const Words all(words + 1, words + count);
  if (all.empty() || !kinds.contains(all[0])) {
    fmt::print(stderr, "usage: crop_bench moran POINTS.csv WITHIN_M THREADS OUT.csv\n");
    return 2;
  }
  return kinds.at(all[0])({all.begin() + 1, all.end()});
}
