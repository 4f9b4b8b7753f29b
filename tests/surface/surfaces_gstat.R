# Writes the data of two public data sets and what R gstat makes of them, for the tests to compare.
# meuse: R sp (GPL, read from the installed package, never copied). wheat: R spData (CC0), the
# uniformity trial of Mercer & Hall 1911.
# usage: Rscript surfaces_gstat.R FOLDER
folder <- commandArgs(trailingOnly = TRUE)[1]
suppressPackageStartupMessages({
  library(sp)
  library(gstat)
})

put <- function(table, name) {
  table <- as.data.frame(lapply(table, function(v) formatC(v, digits = 17, format = "g")))
  write.csv(table, file.path(folder, name), row.names = FALSE, quote = FALSE)
}
put_model <- function(fit, name) {
  put(data.frame(nugget = fit$psill[1], partial_sill = fit$psill[2], range = fit$range[2],
                 sse = attr(fit, "SSErr")), name)
}
put_kriging <- function(formula, data, places, model, name, ...) {
  out <- krige(formula, data, places, model, debug.level = 0, ...)
  at <- coordinates(out)
  put(data.frame(x = at[, 1], y = at[, 2], value = out$var1.pred, variance = out$var1.var), name)
}
put_idw <- function(formula, data, places, name, ...) {
  out <- idw(formula, data, places, idp = 2, debug.level = 0, ...)
  at <- coordinates(out)
  put(data.frame(x = at[, 1], y = at[, 2], value = out$var1.pred), name)
}
put_loo <- function(formula, data, model, name, ...) {
  out <- krige.cv(formula, data, model, verbose = FALSE, debug.level = 0, ...)
  put(data.frame(value = out$var1.pred, variance = out$var1.var), name)
}

data(meuse)
data(meuse.grid)
put(data.frame(x = meuse$x, y = meuse$y, zinc = meuse$zinc), "meuse.csv")
coordinates(meuse) <- ~ x + y
coordinates(meuse.grid) <- ~ x + y
v <- variogram(log(zinc) ~ 1, meuse)
put(data.frame(pairs = v$np, distance = v$dist, gamma = v$gamma), "meuse_variogram.csv")
spherical <- fit.variogram(v, vgm(1, "Sph", 900, 1))
put_model(spherical, "meuse_spherical.csv")
exponential <- fit.variogram(v, vgm(1, "Exp", 300, 1))
put_model(exponential, "meuse_exponential.csv")
put_kriging(log(zinc) ~ 1, meuse, meuse.grid, spherical, "meuse_kriging.csv")
put_kriging(log(zinc) ~ 1, meuse, meuse.grid, spherical, "meuse_kriging_12.csv", nmax = 12)
put_kriging(log(zinc) ~ 1, meuse, meuse.grid, exponential, "meuse_kriging_exponential.csv",
            nmax = 20, maxdist = 600)
put_loo(log(zinc) ~ 1, meuse, spherical, "meuse_loo.csv")
put_loo(log(zinc) ~ 1, meuse, spherical, "meuse_loo_16.csv", nmax = 16)
put_idw(zinc ~ 1, meuse, meuse.grid, "meuse_idw.csv")
put_idw(zinc ~ 1, meuse, meuse.grid, "meuse_idw_12.csv", nmax = 12)
# Known mean, trend in sqrt(dist), blocks by Gauss quadrature and by 4 x 4 points.
put_kriging(log(zinc) ~ 1, meuse, meuse.grid, spherical, "meuse_simple.csv", beta = 5.885776)
v <- variogram(log(zinc) ~ sqrt(dist), meuse)
residual <- fit.variogram(v, vgm(1, "Exp", 300, 1))
put_model(residual, "meuse_residual.csv")
put_kriging(log(zinc) ~ sqrt(dist), meuse, meuse.grid, residual, "meuse_universal.csv")
put(data.frame(data = meuse$dist), "meuse_dist.csv")
put(data.frame(grid = meuse.grid$dist), "meuse_grid_dist.csv")
blocks <- SpatialPoints(cbind(x = c(181170, 180310, 180205, 178673, 178770, 178270),
                              y = c(333250, 332189, 331707, 330066, 330675, 331075)))
zinc <- vgm(134000, "Sph", 800, 24200)
put_kriging(zinc ~ 1, meuse, blocks, zinc, "meuse_block.csv", nmax = 40, block = c(40, 40))
# Two Gauss-Legendre points each way, whose weights are exact in any precision.
gauss <- expand.grid(x = c(-20, 20) / sqrt(3), y = c(-20, 20) / sqrt(3))
put_kriging(zinc ~ 1, meuse, meuse.grid, zinc, "meuse_block_nearest.csv", nmax = 16, block = gauss)
put_kriging(zinc ~ 1, meuse, blocks, zinc, "meuse_block_16.csv", nmax = 40,
            block = expand.grid(x = c(-15, -5, 5, 15), y = c(-15, -5, 5, 15)))
put_kriging(zinc ~ 1, meuse, blocks, zinc, "meuse_block_point.csv", nmax = 40)

# jura: R gstat (Goovaerts 1997), 259 places to predict from and 100 to check at; kilometres.
data(jura)
put(data.frame(x = jura.pred$Xloc, y = jura.pred$Yloc, Cd = jura.pred$Cd), "jura.csv")
coordinates(jura.pred) <- ~ Xloc + Yloc
check <- jura.val$Cd
coordinates(jura.val) <- ~ Xloc + Yloc
cadmium <- vgm(0.26, "Sph", 1.3, 0.30, add.to = vgm(0.30, "Sph", 0.2))
put_kriging(Cd ~ 1, jura.pred, jura.val, cadmium, "jura_kriging_16.csv", nmax = 16)
put(data.frame(Cd = check), "jura_check.csv")

suppressPackageStartupMessages(library(sf))
wheat <- st_read(system.file("shapes/wheat.shp", package = "spData"), quiet = TRUE)
at <- suppressWarnings(st_coordinates(st_centroid(st_geometry(wheat))))
put(data.frame(x = at[, 1], y = at[, 2], grain = wheat$yield), "wheat.csv")
plots <- SpatialPointsDataFrame(at, data.frame(grain = wheat$yield))
v <- variogram(grain ~ 1, plots)
put(data.frame(pairs = v$np, distance = v$dist, gamma = v$gamma), "wheat_variogram.csv")
fit <- fit.variogram(v, vgm(0.1, "Exp", 10, 0.1))
put_model(fit, "wheat_exponential.csv")
box <- bbox(plots)
set.seed(5)
places <- SpatialPoints(cbind(runif(400, box[1, 1], box[1, 2]), runif(400, box[2, 1], box[2, 2])))
put_kriging(grain ~ 1, plots, places, fit, "wheat_kriging.csv")
put_kriging(grain ~ 1, plots, places, fit, "wheat_kriging_32.csv", nmax = 32)
put_idw(grain ~ 1, plots, places, "wheat_idw_24.csv", nmax = 24)
put_loo(grain ~ 1, plots, fit, "wheat_loo.csv")
