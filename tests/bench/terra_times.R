# SPDX-License-Identifier: Apache-2.0
# Exact zonal means by R terra, timed, against those of crop_bench zonal.
# usage: Rscript terra_times.R STRIPS.txt OURS.csv OURS.txt
#   STRIPS.txt: all strips as WKT; five of them are taken and the time is scaled
#   OURS.txt: what crop_bench zonal printed
suppressPackageStartupMessages(library(terra))
files <- commandArgs(trailingOnly = TRUE)
side <- 4000
cells <- outer(0:(side - 1), 0:(side - 1), function(row, column) (row * 37 + column * 91) %% 1009 / 8)
r <- rast(cells, extent = c(0, side, 0, side))
strips <- readLines(files[1])
chosen <- round(seq(100, length(strips) - 100, length.out = 5))
shapes <- vect(strips[chosen])
times <- replicate(3, system.time(
  means <- extract(r, shapes, fun = mean, exact = TRUE, na.rm = TRUE)[[2]]))
elapsed <- min(times["elapsed", ]) * length(strips) / length(chosen)
ours <- read.csv(files[2])$mean[chosen]
told <- readLines(files[3])
seconds <- function(word) as.numeric(sub(word, "", grep(paste0("^", word), told, value = TRUE)))
cat(sprintf("terra, %d of %d strips scaled: %.2f s\n", length(chosen), length(strips), elapsed))
cat(sprintf("ours: %.4f s elapsed, %.4f s of processors: %.0f and %.0f times faster\n",
            seconds("seconds "), seconds("processor "), elapsed / seconds("seconds "),
            elapsed / seconds("processor ")))
cat(sprintf("largest difference of means: %.3g, over the mean %.3g\n",
            max(abs(ours - means)), max(abs(ours - means) / means)))
