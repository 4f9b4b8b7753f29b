# SPDX-License-Identifier: Apache-2.0
# Exact zonal means by R terra, timed, against those of crop_bench zonal.
# usage: Rscript terra_times.R STRIPS.txt OURS.csv OURS.txt
#   STRIPS.txt: all strips as WKT; five of them are taken and the time is scaled
#   OURS.txt: what crop_bench zonal printed
suppressPackageStartupMessages(library(terra))
files <- commandArgs(trailingOnly = TRUE)
side <- 4000
cells <- outer(0:(side - 1), 0:(side - 1), function(row, column) (row * 37 + column * 91) %% 1009 / 8)
r <- rast(cells, extent = c(0, side, 0, side), crs = "EPSG:32614")
strips <- readLines(files[1])
chosen <- round(seq(100, length(strips) - 100, length.out = 5))
shapes <- vect(strips[chosen], crs = crs(r))
time <- system.time(means <- extract(r, shapes, fun = mean, exact = TRUE, na.rm = TRUE)[[2]])
scale <- length(strips) / length(chosen)
elapsed <- time[["elapsed"]] * scale
processor <- (time[["user.self"]] + time[["sys.self"]]) * scale
ours <- read.csv(files[2])$mean[chosen]
told <- readLines(files[3])
seconds <- function(word) as.numeric(sub(word, "", grep(paste0("^", word), told, value = TRUE)))
cat(sprintf("terra, %d of %d strips scaled: %.1f s elapsed, %.1f s of processors\n",
            length(chosen), length(strips), elapsed, processor))
cat(sprintf("ours: %.4f s elapsed, %.4f s of processors: %.0f and %.0f times faster\n",
            seconds("seconds "), seconds("processor "), elapsed / seconds("seconds "),
            processor / seconds("processor ")))
cat(sprintf("largest difference of means: %.3g, over the mean %.3g\n",
            max(abs(ours - means)), max(abs(ours - means) / means)))
# terra keeps the shares of cells to about seven digits; which of the two is nearer is told by the
# area of the strip, cut to the raster.
one <- chosen[3]
area <- expanse(crop(shapes[3], ext(r)), transform = FALSE)
theirs <- sum(extract(r, shapes[3], exact = TRUE)$fraction)
cat(sprintf("cells under strip %d over its area, less 1: ours %.2g, terra %.2g\n", one,
            read.csv(files[2])$cells[one] / area - 1, theirs / area - 1))
