# SPDX-License-Identifier: Apache-2.0
# NDVI of the Landsat 7 scene that the R package stars ships (Olinda, Brazil, UTM 25S; bands 1 to 5
# and 7, of which the third is red and the fourth near infrared), as in the package's articles.
# usage: Rscript ndvi_stars.R first_column first_row side out.txt
#   a square of pixels, counted from 0; out.txt: the scene's file, then by row from the north the
#   NDVI of each pixel, then of each block of 3 x 3 pixels by its mean bands
suppressPackageStartupMessages(library(stars))
words <- commandArgs(trailingOnly = TRUE)
at <- as.integer(words[1:3])
file <- system.file("tif/L7_ETMs.tif", package = "stars")
scene <- read_stars(file)[[1]]
square <- scene[at[1] + seq_len(at[3]), at[2] + seq_len(at[3]), ]
ndvi <- function(bands) (bands[, , 2] - bands[, , 1]) / (bands[, , 2] + bands[, , 1])
bands <- array(as.double(square[, , 3:4]), c(at[3], at[3], 2))
blocks <- at[3] / 3
of_block <- rep(seq_len(blocks), each = 3)
mean_bands <- array(0, c(blocks, blocks, 2))
for (b in 1:2) {
  sums <- rowsum(t(rowsum(bands[, , b], of_block)), of_block)
  mean_bands[, , b] <- t(sums) / 9
}
writeLines(c(file, sprintf("%.17g", c(ndvi(bands), ndvi(mean_bands)))), words[4])
