// SPDX-License-Identifier: Apache-2.0
// Keeps GDAL from printing while an object of this type lives; its last message can be asked for.
#pragma once

#include <string>

#include <cpl_error.h>

namespace evendrip {

class QuietGdal {
 public:
  QuietGdal() {
    CPLPushErrorHandler(CPLQuietErrorHandler);
    CPLErrorReset();
  }
  ~QuietGdal() { CPLPopErrorHandler(); }
  QuietGdal(const QuietGdal&) = delete;
  QuietGdal& operator=(const QuietGdal&) = delete;
  static std::string last_message() { return CPLGetLastErrorMsg(); }
};

}  // namespace evendrip
