# Likeness of neighbours and association by R spdep, nlme and a direct writing of the modified t
# test with whole matrices, for the tests to compare. Data are read from the installed packages,
# never copied: columbus and wheat of spData (CC0), meuse of sp (GPL).
# usage: Rscript statistics_spdep.R FOLDER
folder <- commandArgs(trailingOnly = TRUE)[1]
suppressPackageStartupMessages({
  library(spData)
  library(sf)
  library(sp)
  library(spdep)
  library(nlme)
})
digits <- function(v) formatC(v, digits = 17, format = "g")
put <- function(table, name) {
  write.csv(as.data.frame(lapply(table, digits)), file.path(folder, name), row.names = FALSE,
            quote = FALSE)
}
put_pairs <- function(nb, name) {
  from <- rep(seq_along(nb), card(nb))
  put(list(from = from - 1, to = unlist(nb[card(nb) > 0]) - 1), name)
}
put_likeness <- function(x, nb, name) {
  lw <- nb2listw(nb, style = "W", zero.policy = TRUE)
  m <- moran.test(x, lw, zero.policy = TRUE)
  g <- geary.test(x, lw, zero.policy = TRUE)
  put(list(value = c(m$estimate[1], g$estimate[1]), expected = c(m$estimate[2], g$estimate[2]),
           variance = c(m$estimate[3], g$estimate[3]), z = c(m$statistic, g$statistic),
           p = c(m$p.value, g$p.value)), paste0(name, "_global.csv"))
  l <- localmoran(x, lw, zero.policy = TRUE)
  put(list(value = l[, 1], expected = l[, 2], variance = l[, 3], z = l[, 4], p = l[, 5],
           adjusted = p.adjust(l[, 5], "BH")), paste0(name, "_local.csv"))
}

data(columbus, package = "spData")
put(list(x = columbus$X, y = columbus$Y, value = columbus$CRIME), "columbus.csv")
put_pairs(col.gal.nb, "columbus_pairs.csv")
put_likeness(columbus$CRIME, col.gal.nb, "columbus")

wheat <- st_read(system.file("shapes/wheat.shp", package = "spData"), quiet = TRUE)
at <- suppressWarnings(st_coordinates(st_centroid(wheat)))
put(list(x = at[, 1], y = at[, 2], value = wheat$yield), "wheat.csv")
queen <- poly2nb(wheat)
put_pairs(queen, "wheat_pairs.csv")
put_likeness(wheat$yield, queen, "wheat")
put_likeness(wheat$yield, dnearneigh(at[, 1:2], 0, 10), "wheat_within_10")

set.seed(61)
points <- cbind(x = 500000 + runif(1500, 0, 600), y = 4400000 + runif(1500, 0, 400))
value <- sin(points[, 1] / 50) + rnorm(1500)
put(list(x = points[, 1], y = points[, 2], value = value), "points.csv")
put_likeness(value, dnearneigh(points, 0, 40), "points")

# Clifford, Richardson & Hemon 1989 with Dutilleul's 1993 number, by whole matrices.
modified_t <- function(x, y, at, classes) {
  n <- length(x)
  distance <- as.matrix(dist(at))
  number <- pmin(floor(distance / max(distance) * classes), classes - 1)
  covariance <- function(v) {
    product <- outer(v - mean(v), v - mean(v))
    off <- row(product) != col(product)
    s <- matrix(0, n, n)
    for (k in 0:(classes - 1)) {
      members <- off & number == k
      if (any(members)) s[members] <- mean(product[members])
    }
    diag(s) <- mean(diag(product))
    s
  }
  centre <- diag(n) - 1 / n
  sx <- centre %*% covariance(x)
  sy <- centre %*% covariance(y)
  trace <- function(m) sum(diag(m))
  effective <- 1 + trace(sx) * trace(sy) / trace(sx %*% sy)
  r <- cor(x, y)
  freedom <- effective - 2
  t <- r * sqrt(freedom / (1 - r^2))
  list(correlation = r, effective = effective, t = t, p = 2 * pt(-abs(t), freedom))
}
data(meuse)
meuse$z <- log(meuse$zinc)
meuse$root <- sqrt(meuse$dist)
put(meuse[c("x", "y", "z", "root", "elev", "om")], "meuse.csv")
ground <- meuse[c("x", "y")]
put(Map(c, modified_t(meuse$z, meuse$root, ground, 14),
        modified_t(meuse$z, meuse$elev, ground, 14), modified_t(meuse$root, meuse$elev, ground, 8)),
    "modified_t.csv")

fit <- gls(z ~ root, meuse, correlation = corExp(c(300, 0.2), ~ x + y, nugget = TRUE),
           method = "REML",
           control = glsControl(tolerance = 1e-8, msTol = 1e-9, msMaxIter = 500, maxIter = 500))
part <- coef(fit$modelStruct$corStruct, unconstrained = FALSE)
line <- summary(fit)$tTable
put(list(intercept = line[1, 1], slope = line[2, 1], slope_error = line[2, 2],
         slope_p = line[2, 4], range = part[1], share = 1 - part[2]), "spatial_regression.csv")
