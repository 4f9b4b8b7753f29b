// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/fault.hpp"

namespace evendrip {

std::string to_text(FaultKind kind) {
  switch (kind) {
    case FaultKind::shut:
      return "shut";
    case FaultKind::pinch:
      return "pinch";
    case FaultKind::cut:
      return "cut";
  }
  return "";
}

}  // namespace evendrip
