// SPDX-License-Identifier: Apache-2.0
// Restricted maximum likelihood of a linear trend, an exponential covariance and a nugget, timed;
// the peer is run by run_surface.sh on the same points.
//
// usage: fit_bench POINTS.csv THREADS
// Prints the least of three times, the logarithm of the restricted likelihood and the parameters.
#include <algorithm>
#include <chrono>
#include <ctime>
#include <fstream>
#include <limits>
#include <sstream>
#include <string>
#include <vector>

#include <fmt/core.h>

#include "evendrip/kernels/dense.hpp"
#include "evendrip/surface/surface_model.hpp"

namespace {

using namespace evendrip;

SurfaceObservations read_points(const std::string& file) {
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
  return observations_of(samples);
}

/// The start that the peer has: a range of 50 m, a fifth of the variance as nugget.
SurfaceModel form() {
  SurfaceModel model;
  model.trend = {constant_term(),
                 function_term("east", [](const Site& site) { return site.place.x; }),
                 function_term("north", [](const Site& site) { return site.place.y; })};
  const CorrelationFactor plane{Metric::plane, VariogramShape::exponential, 50, 0, 1};
  model.covariance.terms = {{"local", 0.016, {plane}}};
  model.nugget = 0.004;
  return model;
}

}  // namespace

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.size() != 2) {
    fmt::print(stderr, "usage: fit_bench POINTS.csv THREADS\n");
    return 2;
  }
  const SurfaceObservations observations = read_points(words[0]);
  Work work;
  work.threads = std::stoi(words[1]);
  double least = std::numeric_limits<double>::infinity();
  double least_processor = least;
  SurfaceFit fit;
  for (int repeat = 0; repeat < 3; ++repeat) {
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t processor = std::clock();
    fit = fit_surface(observations, form(), {}, work);
    const std::chrono::duration<double> passed = std::chrono::steady_clock::now() - start;
    least = std::min(least, passed.count());
    least_processor =
        std::min(least_processor, static_cast<double>(std::clock() - processor) / CLOCKS_PER_SEC);
  }
  fmt::print("kernels {}\nseconds {:.4f}\nprocessor {:.4f}\nlikelihood {:.9f}\nconverged {}\n",
             kernels::instruction_set(), least, least_processor, fit.log_likelihood, fit.converged);
  for (const ParameterEstimate& parameter : fit.parameters)
    fmt::print("{}: {:.9g} (error of the logarithm {:.3f})\n", parameter.name, parameter.value,
               parameter.log_error);
  for (std::size_t k = 0; k < fit.coefficients.size(); ++k)
    fmt::print("{}: {:.9g} ({:.3g})\n", fit.model.trend[k].name, fit.coefficients[k],
               fit.coefficient_errors[k]);
  return 0;
}
