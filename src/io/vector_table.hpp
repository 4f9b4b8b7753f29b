// SPDX-License-Identifier: Apache-2.0
// Tables as text as map layers: places in columns lat and lon, x and y, or wkt.
#pragma once

#include "evendrip/io/vector.hpp"

namespace evendrip {

/// True for .csv, .tsv and .txt.
bool is_table(const FileRef& file);

/// Reads places with read_csv; Feature::number is the line of the file. Throws InputError with
/// every cell that is no coordinate; rows without any coordinate become features without shape.
VectorLayer read_table_layer(const FileRef& file);

}  // namespace evendrip
