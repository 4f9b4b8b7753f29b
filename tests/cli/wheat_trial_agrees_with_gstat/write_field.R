# Writes the wheat trial as a field folder: yield of a plot, in pounds, times 20 stands for mL.
library(sf)
folder <- commandArgs(TRUE)[1]
dir.create(folder)
wheat <- st_read(system.file("shapes/wheat.shp", package = "spData"), quiet = TRUE)
centre <- suppressWarnings(st_coordinates(st_centroid(st_geometry(wheat))))
origin <- c(448200, 4050300)
column <- round(centre[, 1] / 2.51)
line <- match(round(centre[, 2], 2), sort(unique(round(centre[, 2], 2))))
stopifnot(length(unique(line)) == 20, length(unique(column)) == 25)

heights <- sort(unique(round(centre[, 2], 2)))
lateral <- function(y) {
  st_linestring(cbind(origin[1] + c(1.255, 64.005), origin[2] + y))
}
laterals <- st_sf(
  id = sprintf("R%02d", seq_along(heights)), zone = "trial",
  geometry = st_sfc(lapply(heights, lateral), crs = 32614)
)
st_write(laterals, file.path(folder, "laterals.gpkg"), quiet = TRUE)
box <- st_polygon(list(cbind(
  origin[1] + c(1.255, 64.005, 64.005, 1.255, 1.255),
  origin[2] + c(1.35, 1.35, 67.35, 67.35, 1.35)
)))
st_write(st_sf(id = "trial", geometry = st_sfc(box, crs = 32614)),
  file.path(folder, "zones.gpkg"), quiet = TRUE)
cans <- data.frame(
  record = sprintf("P%03d", seq_len(nrow(wheat))), lateral = sprintf("R%02d", line),
  emitter = column, volume_ml = sprintf("%.10g", 20 * wheat$yield), duration_s = 300
)
write.csv(cans, file.path(folder, "catch_cans.csv"), row.names = FALSE, quote = FALSE)
writeLines('
[field]
name = "Wheat trial of 1910"
crs = "EPSG:32614"
[layers]
zones = "zones.gpkg"
laterals = "laterals.gpkg"
[emitter]
discharge = "1.0 L/h"
pressure = "100 kPa"
spacing = "2.51 m"
first_offset = "1.255 m"
[lateral]
spacing = "3.3 m"
[analysis]
cell = "1 m"
method = "kriging"
neighbours = 500
[[survey]]
id = "trial"
date = 1910-08-01
catch_cans = "catch_cans.csv"
', file.path(folder, "field.toml"))
