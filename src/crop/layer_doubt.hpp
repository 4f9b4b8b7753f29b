// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <utility>

#include "evendrip/base/error.hpp"
#include "evendrip/field/crop_source.hpp"

namespace evendrip {

/// What is to be told of a crop layer as a whole.
inline Doubt about_layer(std::string code, Severity severity, const CropSource& source,
                         std::string text, std::string remedy) {
  return {std::move(code),  severity, {source.file.as_written, source.file.layer, 0, ""},
          std::move(text),  "",       "",
          std::move(remedy)};
}

}  // namespace evendrip
