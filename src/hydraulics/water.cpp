// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/water.hpp"

#include <cmath>
#include <stdexcept>

namespace evendrip {
namespace {

void check_temperature(double temperature_c) {
  if (!(temperature_c >= 0 && temperature_c <= 60))
    throw std::invalid_argument("water temperature outside 0 to 60 degC");
}

}  // namespace

double kinematic_viscosity_m2_s(double temperature_c) {
  check_temperature(temperature_c);
  const double kelvin = temperature_c + 273.15;
  const double dynamic_pa_s = 2.414e-5 * std::pow(10.0, 247.8 / (kelvin - 140));
  return dynamic_pa_s / density_kg_m3(temperature_c);
}

double density_kg_m3(double temperature_c) {
  check_temperature(temperature_c);
  const double t = temperature_c;
  const double above =
      999.83952 +
      t * (16.945176 +
           t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 + t * -280.54253e-12))));
  return above / (1 + 16.879850e-3 * t);
}

}  // namespace evendrip
