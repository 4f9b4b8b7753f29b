# Compares what evendrip made of the wheat trial with spdep, gstat and the values seen in them.
library(sf)
library(sp)
library(gstat)
library(spdep)
library(terra)
out <- commandArgs(TRUE)[1]
result <- file.path(out, "result")
agree <- function(what, ours, theirs, tolerance) {
  difference <- max(abs(ours - theirs))
  cat(sprintf("%s: largest difference %.3g of %.3g %s\n", what, difference, tolerance,
    if (is.finite(difference) && difference <= tolerance) "agrees" else "DIFFERS"))
  if (!is.finite(difference) || difference > tolerance) quit(status = 1)
}

# CV 0.1160601 and Christiansen 0.9061375 of the 500 yields: R's sd, mean and abs.
uniformity <- scan(file.path(out, "uniformity.tsv"), quiet = TRUE)
wheat <- st_read(system.file("shapes/wheat.shp", package = "spData"), quiet = TRUE)
y <- wheat$yield
agree("emitters", uniformity[1], 500, 0)
agree("CV", uniformity[2], c(0.1160601, sd(y) / mean(y)), 5e-8)
agree("Christiansen", uniformity[3], c(0.9061375, 1 - sum(abs(y - mean(y))) / sum(y)), 5e-8)

# Moran's I of the discharges as placed, queen neighbours of the plots: 0.3083838620 (spdep 1.2-7).
emitters <- st_read(file.path(result, "results.gpkg"), "emitters", quiet = TRUE)
emitters <- emitters[order(emitters$name), ]
moran <- moran.test(emitters$discharge_lph, nb2listw(poly2nb(wheat)))
agree("Moran's I", moran$estimate[[1]], 0.3083838620, 1e-9)

# Moment variogram of relative discharge.
here <- data.frame(st_coordinates(emitters), relative = emitters$relative)
coordinates(here) <- ~ X + Y
reference <- variogram(relative ~ 1, here)
ours <- st_read(file.path(result, "results.gpkg"), "variogram", quiet = TRUE)
ours <- ours[ours$pairs_of == "all", ]
agree("variogram, pairs", ours$pairs, reference$np, 0)
agree("variogram, distances", ours$distance_m, reference$dist, 1e-6)
agree("variogram, estimates", ours$semivariance / reference$gamma, 1, 1e-9)

# Ordinary kriging over all 500 plots with the fitted model: of what neighbours share, so the nugget
# counts as an error of measuring ("Err"). The maps hold single precision.
model <- read.table(file.path(out, "model.tsv"), sep = "\t")
names(model) <- c("nugget", "partial_sill", "range_m")
print(model, digits = 12)
fitted <- vgm(model$partial_sill, "Exp", model$range_m, add.to = vgm(model$nugget, "Err", 0))
map <- rast(file.path(result, "relative_discharge.tif"))[[1]]
error <- rast(file.path(result, "relative_discharge_error.tif"))[[1]]
cells <- as.data.frame(c(map, error), xy = TRUE, na.rm = TRUE)
names(cells) <- c("x", "y", "relative", "error")
stopifnot(nrow(cells) > 4000)
places <- cells
coordinates(places) <- ~ x + y
kriged <- krige(relative ~ 1, here, places, fitted, debug.level = 0)
agree("kriging", cells$relative, kriged$var1.pred, 1e-6)
agree("standard error", cells$error, sqrt(kriged$var1.var), 1e-6)
