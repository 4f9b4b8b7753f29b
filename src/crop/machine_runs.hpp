// SPDX-License-Identifier: Apache-2.0
// Whether a run of laterals that is low runs with what a machine did, so that the crop alone does
// not tell water from the machine.
//
// Of a log: the records in and beside the run head along the laterals, so closely that over the
// length of the run a pass drifts across it by no more than its own width and half of the run's. A
// record is a mean over all of its swath, so that a side of the run, which is not known better than
// to half a swath, may always lie at a limit of passes. Of a raster whose stripes were taken out:
// the run lies along them, and both of its sides where they cross their mean.
#pragma once

#include "evendrip/crop/evidence.hpp"
#include "layout_scan.hpp"
#include "screened_ground.hpp"

namespace evendrip {

class MachineRuns {
 public:
  /// Null: nothing is known of machines.
  MachineRuns(const Field& field, const CropEvidence* evidence)
      : field_(field), evidence_(evidence) {}

  bool alike(const Trough& trough) const;

 private:
  bool along_passes(const Trough& trough) const;
  bool along_wave(const Trough& trough, const MachineWave& wave) const;

  const Field& field_;
  const CropEvidence* evidence_;
};

/// Takes the waves of the evidence out of the ground, as large as they are there.
void take_out_waves(const CropEvidence* evidence, ScreenedGround& ground);

}  // namespace evendrip
