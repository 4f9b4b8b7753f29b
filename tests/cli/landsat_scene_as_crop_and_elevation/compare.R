# The crop map against terra: bilinear resampling of the same scene, exact shares of cells by zone.
library(terra)
library(sf)
out <- commandArgs(TRUE)[1]
agree <- function(what, ours, theirs, tolerance) {
  difference <- max(abs(ours - theirs))
  cat(sprintf("%s: largest difference %.3g of %.3g %s\n", what, difference, tolerance,
    if (is.finite(difference) && difference <= tolerance) "agrees" else "DIFFERS"))
  if (!is.finite(difference) || difference > tolerance) quit(status = 1)
}
map <- rast(file.path(out, "result/crop_ndvi.tif"))[[1]]
scene <- rast(file.path(out, "field/ndvi.tif"))
stopifnot(crs(map, describe = TRUE)$code == "31985", crs(scene, describe = TRUE)$code == "31985")
zones <- vect(file.path(out, "field/zones.gpkg"))
# Pixels that are not wholly inside the zones mix in what is outside and do not count.
share <- extract(scene, aggregate(zones), exact = TRUE, cells = TRUE)
inside <- rast(scene)
inside[share$cell[share$fraction > 0.999]] <- 1
counted <- resample(mask(scene, inside), map, "bilinear")
counted <- mask(counted, resample(inside, map, "near"))
both <- as.data.frame(c(map, counted), na.rm = TRUE)
stopifnot(nrow(both) > 15000, nrow(both) == sum(!is.na(values(counted))))
agree("crop cells", both[[1]], both[[2]], 1e-4)

means <- extract(map, zones, fun = mean, exact = TRUE, na.rm = TRUE)[[2]]
told <- st_read(file.path(out, "result/results.gpkg"), "crop_by_zone", quiet = TRUE)
told <- told$mean[match(zones$id, told$name)]
agree("zone mean", told, means, 1e-6)
