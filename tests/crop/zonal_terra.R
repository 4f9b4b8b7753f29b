# SPDX-License-Identifier: Apache-2.0
# Exact zonal coverage by the R package terra, for comparison.
# usage: Rscript zonal_terra.R grid.txt cells.txt shapes.txt out.txt
#   grid.txt: x_left y_top cell columns rows; cells.txt: values row by row from the north
#   shapes.txt: one WKT polygon to a line; out.txt: shape, row, column (from 0), share, value
suppressPackageStartupMessages(library(terra))
files <- commandArgs(trailingOnly = TRUE)
g <- scan(files[1], quiet = TRUE)
cells <- scan(files[2], quiet = TRUE)
r <- rast(xmin = g[1], xmax = g[1] + g[3] * g[4], ymin = g[2] - g[3] * g[5], ymax = g[2],
          ncols = g[4], nrows = g[5], crs = "EPSG:32614")
values(r) <- cells
names(r) <- "value"
shapes <- vect(readLines(files[3]), crs = "EPSG:32614")
found <- extract(r, shapes, exact = TRUE, cells = TRUE)
place <- rowColFromCell(r, found$cell)
write.table(data.frame(found$ID - 1, place[, 1] - 1, place[, 2] - 1,
                       sprintf("%.17g", found$fraction), sprintf("%.17g", found$value)),
            files[4], row.names = FALSE, col.names = FALSE, quote = FALSE)
