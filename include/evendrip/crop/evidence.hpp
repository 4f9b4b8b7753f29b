// SPDX-License-Identifier: Apache-2.0
// Crop values with what each one really sees. The datum is the pixel or the log record; means by
// lateral are for drawing and never used as data beside it.
//
// What a record sees: the width that was cut, times the way travelled while it was logged and while
// grain of different places mixed on its way to the sensor (a standard deviation of 2 s; common
// practice, no source), blurred by what the receiver does not know of the place. What a pixel sees:
// its square, blurred by the sensor (0.3 pixel unless [[crop]] blur states it; common practice, no
// source), by its position (a quarter pixel unless stated; likewise) and, where pixels had to be
// resampled to the field's CRS, by bilinear interpolation (a variance of f (1 - f) pixel^2 at an
// offset f, 1/6 on the mean).
//
// Error of a datum: from second differences of data in a row, whose variance is 6 times that of one
// where the crop itself changes evenly, by the median absolute deviation. Records that share
// grain are passed over: the row is taken at steps of three times the mixing. What changes over two
// data is in it too: it is what a datum says of a place for reasons of its own.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/crop/cleaning.hpp"
#include "evendrip/crop/machine_marks.hpp"
#include "evendrip/crop/vegetation_index.hpp"
#include "evendrip/field/field.hpp"

namespace evendrip {

/// A box turned to the direction of travel (or of the pixel's side), blurred.
struct Footprint {
  double along_m = 0;   ///< length of the box: travel and what the grain mixes, or the pixel
  double across_m = 0;  ///< width: cut width, or the pixel
  double blur_m = 0;    ///< standard deviation in each axis, of sensor, resampling and position
  double heading_deg = 0;
};

/// Why a datum is not to be used.
enum class Mark : std::uint8_t { none, headland, machine };
std::string to_text(Mark mark);

struct EvidenceDatum {
  Point place;
  double value = 0;  ///< in the layer's unit
  double error = 0;  ///< standard deviation of its own error, short-range
  float along_m = 0, across_m = 0, blur_m = 0, heading_deg = 0;
  bool marked = false;     ///< whatever its mark is, but none
  Mark mark = Mark::none;  ///< the first reason
  float taken_out = 0;     ///< in the layer's unit: value + taken_out is what the layer says
  float elevation_m = std::numeric_limits<float>::quiet_NaN();  ///< of its place (ground_under.hpp)
  int soil_unit = -1;  ///< likewise: index of its name in CropEvidence::soil_units; -1: none
};

/// Stripes of a machine that were taken out of the values of whole zones.
struct MachineWave {
  double width_m = 0;    ///< period across, on the ground
  double amplitude = 0;  ///< half of high less low, over the median of the layer
  double amplitude_error = 0;
  double axis_deg = 0;  ///< bearing along the stripes
  std::vector<int> zones;
  /// Cosine and sine of the period and of its overtones, over the median, by the distance to the
  /// right of the axis from `origin` in the field's metres.
  Point origin;
  double period_m = 1;
  std::vector<std::array<double, 2>> parts;
  std::string told;  ///< one sentence

  double at(Point p) const;  ///< over the median
};

/// What is known of a layer beside its data.
struct EvidenceLayer {
  std::string id;
  std::string kind;
  std::string date;
  std::optional<double> days_since_water;
  std::string unit;
  Footprint typical;          ///< medians
  bool passes = false;        ///< data are records of a machine that drove along their headings
  double median = 0;          ///< of the values
  double relative_error = 0;  ///< of a datum, over the median
  /// Narrowest strip of whole laterals, m, and shortest length along them whose deficit of one
  /// tenth the layer shows: at least half of it in the middle of the strip, and with a standard
  /// error below a third of it. 0 where it shows none, however large.
  double smallest_width_m = 0;
  double smallest_length_m = 0;
  double laterals_seen = 1;  ///< typical width over the lateral spacing: so many run under a datum
  std::string told;          ///< "a pixel of 10 m spans 6.7 laterals: single laterals are not seen"
  Doubts doubts;             ///< what of the footprint is not known
  std::vector<MachineWave> waves;       ///< taken out by mark_machine_stripes
  std::vector<std::string> soil_units;  ///< names of the soil map's units that data lie on
};

struct CropEvidence : EvidenceLayer {
  std::vector<EvidenceDatum> data;
};

/// The layer with those of its data that `keep` keeps, in their order.
CropEvidence part_of(const CropEvidence& layer,
                     const std::function<bool(const EvidenceDatum&)>& keep);

/// Records that were kept. `cleaned` is of the log.
CropEvidence evidence_of(const Field& field, const CropSource& source, const HarvestLog& log,
                         const CleanedLog& cleaned);
/// The raster's own pixels inside zones, not the grid's cells. More than four million pixels are
/// joined to squares of whole numbers of them.
CropEvidence evidence_of(const Field& field, const CropSource& source, const IndexLayer& layer,
                         const Work& work);

/// Marks the data that see, with half their length and their blur, what lies within `width_m` of
/// either end of the nearest lateral of their place. A width of 0 marks none.
void mark_headland(CropEvidence& evidence, const Field& field, double width_m);

/// What machines left, freed or marked; `stripes` are of the same layer. A wave has no sound half:
/// to mark its low half would lose half of the field and leave the rest too high. So stripes that
/// rise and fall over the whole of their period are taken out of the values as a named nuisance, by
/// least squares of cosine, sine and those overtones that stand out on means across each zone
/// through which they run (two numbers for each of them, so that a fault of a lateral hardly loses
/// anything), and are told with amplitude and standard error. Where what differs is at most a
/// quarter of the period (wheel tracks), the data there are marked instead: what was crushed tells
/// nothing of water. Call it after mark_headland: data marked before are not looked at. Nothing is
/// done with stripes that the data do not show (their footprint is wider than the half of the
/// period, or fewer than 16 places across).
void mark_machine_stripes(CropEvidence& evidence, const Field& field,
                          const std::vector<MachineStripe>& stripes);

/// How well data of one kind show a strip: data of standard deviation `sd_m` of what they see in
/// one axis, a strip of width `width_m` in that axis.
struct StripResponse {
  double middle = 0;     ///< share of the strip's deficit that a datum in its middle shows
  double squares_m = 0;  ///< integral of the squared share over the axis
};
StripResponse strip_response(double width_m, double sd_m);

}  // namespace evendrip
