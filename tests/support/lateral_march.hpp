// SPDX-License-Identifier: Apache-2.0
// A single line with outlets, solved step by step from its closed end: the discharge of the last
// outlet is the flow of the last reach, its loss gives the head before it, and so on to the inlet.
// The head at the end is found by halving until the head at the inlet is the one given. It knows
// nothing of networks, so that network solutions can be compared with it.
#pragma once

#include "evendrip/hydraulics/emitter_curve.hpp"
#include "evendrip/hydraulics/friction.hpp"
#include "evendrip/hydraulics/water.hpp"

#include <algorithm>
#include <cstddef>
#include <functional>
#include <vector>

namespace evendrip::test {

/// Outlet i stands at the end of reach i, counted from the inlet; all vectors have its length.
struct MarchLine {
  std::vector<double> length_m;     ///< of the reach before each outlet
  std::vector<double> elevation_m;  ///< of each outlet
  /// Loss of head (m) in reach i at a flow (m3/s).
  std::function<double(std::size_t, double)> loss_m;
  /// Outflow (m3/s) of outlet i at a pressure head (m).
  std::function<double(std::size_t, double)> outflow_m3_s;
};

struct MarchedLine {
  double inlet_total_head_m = 0;        ///< above the datum of the elevations
  std::vector<double> pressure_head_m;  ///< at each outlet
  std::vector<double> outflow_m3_s;
  std::vector<double> flow_m3_s;  ///< of the reach before each outlet

  double inflow_m3_s() const { return flow_m3_s.front(); }
  std::size_t lowest_outlet() const {
    return static_cast<std::size_t>(
        std::min_element(pressure_head_m.begin(), pressure_head_m.end()) - pressure_head_m.begin());
  }
};

/// From the head at the end of the line to the inlet.
inline MarchedLine march_from_end(const MarchLine& line, double end_total_head_m) {
  const std::size_t outlets = line.length_m.size();
  MarchedLine result;
  result.pressure_head_m.resize(outlets);
  result.outflow_m3_s.resize(outlets);
  result.flow_m3_s.resize(outlets);
  double head = end_total_head_m;
  double flow = 0;
  for (std::size_t i = outlets; i-- > 0;) {
    result.pressure_head_m[i] = head - line.elevation_m[i];
    result.outflow_m3_s[i] = line.outflow_m3_s(i, result.pressure_head_m[i]);
    flow += result.outflow_m3_s[i];
    result.flow_m3_s[i] = flow;
    head += line.loss_m(i, flow);
  }
  result.inlet_total_head_m = head;
  return result;
}

/// Needs an inlet head above the lowest outlet. The end head is as near as doubles come.
inline MarchedLine march(const MarchLine& line, double inlet_total_head_m) {
  double low = *std::min_element(line.elevation_m.begin(), line.elevation_m.end());
  double high = inlet_total_head_m;
  for (int halving = 0; halving < 200; ++halving) {
    const double middle = low + (high - low) / 2;
    if (middle == low || middle == high) break;
    if (march_from_end(line, middle).inlet_total_head_m < inlet_total_head_m)
      low = middle;
    else
      high = middle;
  }
  return march_from_end(line, high);
}

/// A line of one pipe with equal outlets at one spacing, the first `first_m` from the inlet, which
/// lies at elevation 0; `slope` is the rise for each metre.
struct EvenLine {
  int outlets = 0;
  double spacing_m = 0;
  double first_m = 0;
  double slope = 0;
  double diameter_m = 0;
  double minor_k = 0;  ///< of each reach
  Friction friction;
  EmitterCurve emitter;
};

inline MarchLine march_line(const EvenLine& even) {
  MarchLine line;
  double station = 0;
  for (int i = 0; i < even.outlets; ++i) {
    line.length_m.push_back(i == 0 ? even.first_m : even.spacing_m);
    station += line.length_m.back();
    line.elevation_m.push_back(even.slope * station);
  }
  line.loss_m = [even](std::size_t reach, double flow_m3_s) {
    return head_loss(even.friction, reach == 0 ? even.first_m : even.spacing_m, even.diameter_m,
                     even.minor_k, flow_m3_s)
        .head_m;
  };
  line.outflow_m3_s = [even](std::size_t, double head) {
    return discharge_lph(even.emitter, pressure_kpa(head)) / 3.6e6;
  };
  return line;
}

}  // namespace evendrip::test
