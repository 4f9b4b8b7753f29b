library(terra)
library(sf)
folder <- commandArgs(TRUE)[1]
dir.create(folder)
scene <- rast(system.file("tif/L7_ETMs.tif", package = "stars"))
stopifnot(nlyr(scene) == 6)  # bands 1 to 5 and 7: 3 is red, 4 near infrared
ndvi <- (scene[[4]] - scene[[3]]) / (scene[[4]] + scene[[3]])
writeRaster(ndvi, file.path(folder, "ndvi.tif"), datatype = "FLT4S")
file.copy(system.file("tif/olinda_dem_utm25s.tif", package = "stars"),
  file.path(folder, "elevation.tif")) |> stopifnot()

# Two zones of 150 x 240 m, side by side, on green ground in the north-west of the scene.
origin <- c(290037, 9119088)
zone <- function(i) {
  x <- origin[1] + 150 * (i - 1) + c(0, 150, 150, 0, 0)
  st_polygon(list(cbind(x, origin[2] + c(0, 0, 240, 240, 0))))
}
st_write(st_sf(id = c("west", "east"), geometry = st_sfc(zone(1), zone(2), crs = 31985)),
  file.path(folder, "zones.gpkg"), quiet = TRUE)

# Invented catches: nothing is known of the water of this place. Fixes of a survey-grade receiver.
set.seed(1)
place <- expand.grid(lateral = seq(3.75, 300, by = 18), station = c(20, 90, 160, 220))
point <- st_as_sf(data.frame(x = origin[1] + place$lateral, y = origin[2] + place$station),
  coords = c("x", "y"), crs = 31985)
lonlat <- st_coordinates(st_transform(point, 4326))
cans <- data.frame(
  record = sprintf("C%03d", seq_len(nrow(place))), lat = sprintf("%.9f", lonlat[, 2]),
  lon = sprintf("%.9f", lonlat[, 1]),
  volume_ml = sprintf("%.1f", 84 * (1 - place$station / 2400) * exp(rnorm(nrow(place), 0, 0.05))),
  duration_s = 300
)
write.csv(cans, file.path(folder, "catch_cans.csv"), row.names = FALSE, quote = FALSE)
writeLines('
[field]
name = "Over a Landsat scene"
crs = "EPSG:31985"
[layers]
zones = "zones.gpkg"
elevation = "elevation.tif"
[emitter]
discharge = "1.0 L/h"
pressure = "100 kPa"
spacing = "0.5 m"
[lateral]
spacing = "1.5 m"
position_accuracy = "0.05 m"
[lateral_layout]
bearing = 0
supply_side = "south"
[[survey]]
id = "invented"
date = 2026-05-12
catch_cans = "catch_cans.csv"
gps_accuracy = "0.02 m"
[[crop]]
id = "ndvi"
kind = "biomass"
file = "ndvi.tif"
date = 2026-05-01
', file.path(folder, "field.toml"))
