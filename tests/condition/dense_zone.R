# A small zone with holes and crop, its data drawn here, and what the model of a zone makes of it,
# written from the model's definition with dense matrices: covariances of stations and laterals are
# exponential, the local part their product, soil a Matern field of smoothness 1 by linear elements
# on triangles (Lindgren, Rue & Lindstrom 2011, J. R. Stat. Soc. B 73:423-498, from memory), whose
# precision is inverted as it stands.
# usage: Rscript dense_zone.R FOLDER
folder <- commandArgs(trailingOnly = TRUE)[1]
digits <- function(v) formatC(v, digits = 17, format = "g")
put <- function(table, name) {
  write.csv(as.data.frame(lapply(table, digits)), file.path(folder, name), row.names = FALSE,
            quote = FALSE)
}

set.seed(20)
p <- list(level = 0.07, along = 0.031, own = 0.052, group = 0.043, local = 0.038, emitter = 0.047,
          soil_short = 0.055, soil_long = 0.062, crop_error = 0.041, response = 0.73)
ranges <- list(along_m = 45, group_m = 6, local_along_m = 30, local_across_m = 3.5,
               soil_short_m = 25, soil_long_m = 60)
crop_level <- 0.3
across <- c(0, 1.5, 3.1, 4.5, 7)
stations <- seq(5, 55, by = 10)
n_rows <- length(across)
n_stations <- length(stations)
segment <- function(row, station) row * n_stations + station  # all from 0
row_of <- rep(seq_len(n_rows), each = n_stations)
station_of <- rep(seq_len(n_stations), n_rows)

holes <- data.frame(row = c(0, 0, 1, 2, 2, 4, 4), station = c(0, 4, 2, 1, 1, 3, 5),
                    noise_variance = c(0, 1e-4, 2e-4, 0, 5e-4, 1e-4, 3e-4),
                    weight = c(1, 1, 0.4, 1, 0.9, 0.02, 1))
holes$value <- 1 + rnorm(nrow(holes), 0, 0.1)
crop <- expand.grid(x = seq(0.3, 6.9, length.out = 5), y = seq(3.1, 57.3, length.out = 8))
crop$value <- 1 + rnorm(nrow(crop), 0, 0.1)
nearest <- function(v, places) max.col(-abs(outer(v, places, "-")), ties.method = "first")
near <- nearest(crop$x, across)
along <- nearest(crop$y, stations)
crop$first <- segment(near - 1, along - 1)
crop$second <- segment(ifelse(near == n_rows, near - 2, near), along - 1)
crop$share <- 0.6 + 0.3 * runif(nrow(crop))  # of the first; the rest is of the second

exponential <- function(places, range) exp(-abs(outer(places, places, "-")) / range)
r_covariance <- p$level^2 +
  p$along^2 * exponential(stations, ranges$along_m)[station_of, station_of] +
  p$own^2 * outer(row_of, row_of, "==") +
  p$group^2 * exponential(across, ranges$group_m)[row_of, row_of] +
  p$local^2 * kronecker(exponential(across, ranges$local_across_m),
                        exponential(stations, ranges$local_along_m))

# Covariance of soil at the places of the crop: elements are assembled triangle by triangle.
soil <- function(x, y, range) {
  step <- range / 5
  margin <- 0.7 * range
  left <- min(x) - margin
  bottom <- min(y) - margin
  columns <- ceiling((max(x) - min(x) + 2 * margin) / step) + 1
  rows <- ceiling((max(y) - min(y) + 2 * margin) / step) + 1
  n <- columns * rows
  ground <- numeric(n)
  stiffness <- matrix(0, n, n)
  add_triangle <- function(nodes, px, py) {
    area <- 0.5 * abs((px[2] - px[1]) * (py[3] - py[1]) - (px[3] - px[1]) * (py[2] - py[1]))
    b <- py[c(2, 3, 1)] - py[c(3, 1, 2)]
    c <- px[c(3, 1, 2)] - px[c(2, 3, 1)]
    ground[nodes] <<- ground[nodes] + area / 3
    stiffness[nodes, nodes] <<- stiffness[nodes, nodes] + (outer(b, b) + outer(c, c)) / (4 * area)
  }
  for (i in seq_len(rows - 1)) for (j in seq_len(columns - 1)) {
    low <- (i - 1) * columns + j
    high <- low + columns
    add_triangle(c(low, low + 1, high + 1), c(0, step, step), c(0, 0, step))
    add_triangle(c(low, high, high + 1), c(0, 0, step), c(0, step, step))
  }
  k2 <- 8 / range^2
  k <- k2 * diag(ground) + stiffness
  precision <- k %*% diag(1 / ground) %*% k / (4 * pi * k2)
  seen <- matrix(0, length(x), n)
  for (m in seq_along(x)) {
    u <- (x[m] - left) / step
    v <- (y[m] - bottom) / step
    j <- floor(u)
    i <- floor(v)
    u <- u - j
    v <- v - i
    low <- i * columns + j + 1
    high <- low + columns
    if (u >= v) seen[m, c(low, low + 1, high + 1)] <- c(1 - u, u - v, v)
    else seen[m, c(low, high, high + 1)] <- c(1 - v, v - u, u)
  }
  seen %*% solve(precision, t(seen))
}

# Log-likelihood, and mean and variance of r of each segment.
judged <- function(with_crop, weights) {
  rows <- matrix(0, nrow(holes), n_rows * n_stations)
  rows[cbind(seq_len(nrow(holes)), segment(holes$row, holes$station) + 1)] <- 1
  y <- holes$value - 1
  other <- diag((p$emitter^2 + holes$noise_variance) / weights)
  if (with_crop) {
    seen <- matrix(0, nrow(crop), n_rows * n_stations)
    seen[cbind(seq_len(nrow(crop)), crop$first + 1)] <- p$response * crop$share
    seen[cbind(seq_len(nrow(crop)), crop$second + 1)] <- p$response * (1 - crop$share)
    rows <- rbind(rows, seen)
    y <- c(y, crop$value - 1)
    all <- matrix(0, length(y), length(y))
    at <- seq_len(nrow(holes))
    all[at, at] <- other
    all[-at, -at] <- crop_level^2 + p$soil_short^2 * soil(crop$x, crop$y, ranges$soil_short_m) +
      p$soil_long^2 * soil(crop$x, crop$y, ranges$soil_long_m) + diag(p$crop_error^2, nrow(crop))
    other <- all
  }
  v <- rows %*% r_covariance %*% t(rows) + other
  to_r <- r_covariance %*% t(rows)
  list(log_likelihood = -0.5 * (as.numeric(determinant(v)$modulus) + sum(y * solve(v, y)) +
                                  length(y) * log(2 * pi)),
       mean = 1 + as.numeric(to_r %*% solve(v, y)),
       variance = diag(r_covariance - to_r %*% solve(v, t(to_r))))
}

put(c(p, ranges), "parameters.csv")
put(list(across_m = across), "laterals.csv")
put(list(stations_m = stations), "stations.csv")
put(holes, "holes.csv")
put(crop, "crop.csv")
alone <- judged(FALSE, rep(1, nrow(holes)))
weighted <- judged(FALSE, holes$weight)
both <- judged(TRUE, holes$weight)
put(list(alone = alone$log_likelihood, weighted = weighted$log_likelihood,
         both = both$log_likelihood), "likelihoods.csv")
put(list(alone_mean = alone$mean, alone_variance = alone$variance, both_mean = both$mean,
         both_variance = both$variance), "segments.csv")
