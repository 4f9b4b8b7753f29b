# Fits by restricted maximum likelihood with R nlme (gls, lme), for the tests to compare: meuse of R
# sp (GPL, read from the installed package, never copied) and the drawn emitters of
# tests/reference/surface_fits.txt. Logarithms of the likelihood have half of log|X'X| added, which
# makes them independent of the scale of the trend.
# usage: Rscript likelihood_nlme.R TABLE FOLDER
args <- commandArgs(trailingOnly = TRUE)
folder <- args[2]
suppressPackageStartupMessages({
  library(nlme)
  library(sp)
})
digits <- function(v) formatC(v, digits = 17, format = "g")
put <- function(table, name) {
  write.csv(as.data.frame(lapply(table, digits)), file.path(folder, name), row.names = FALSE,
            quote = FALSE)
}
half_log_xx <- function(formula, data) {
  0.5 * as.numeric(determinant(crossprod(model.matrix(formula, data)))$modulus)
}
control <- list(tolerance = 1e-8, msTol = 1e-9, msMaxIter = 500, maxIter = 500)
# Variances: of the correlated part and its range, of what a lateral shares, of the nugget.
put_fit <- function(fit, name, extra, lateral = 0) {
  part <- coef(fit$modelStruct$corStruct, unconstrained = FALSE)
  if (is.null(part)) part <- c(1, 1)
  coefficients <- if (inherits(fit, "lme")) fixef(fit) else coef(fit)
  errors <- sqrt(diag(if (inherits(fit, "lme")) fit$varFix else fit$varBeta))
  put(list(log_likelihood = fit$logLik + extra, variance = (1 - part[2]) * fit$sigma^2,
           range = part[1], lateral = lateral, nugget = part[2] * fit$sigma^2,
           b0 = coefficients[1], b1 = c(coefficients, NaN)[2], b0_error = errors[1],
           b1_error = c(errors, NaN)[2]), paste0(name, ".csv"))
}
put_gls <- function(formula, data, correlation, name) {
  fit <- gls(formula, data, correlation = correlation, method = "REML",
             control = do.call(glsControl, control))
  put_fit(fit, name, half_log_xx(formula, data))
}
put_lme <- function(data, name, ...) {
  fit <- lme(z ~ station, data, random = ~ 1 | lateral, method = "REML",
             control = do.call(lmeControl, control), ...)
  put_fit(fit, name, half_log_xx(z ~ station, data), getVarCov(fit)[1, 1])
}

data(meuse)
meuse$z <- log(meuse$zinc)
meuse$root <- sqrt(meuse$dist)
put(meuse[c("x", "y", "z", "root")], "meuse.csv")
ground <- ~ x + y
put_gls(z ~ root, meuse, corExp(c(300, 0.2), ground, nugget = TRUE), "meuse_root_exponential")
put_gls(z ~ root, meuse, corSpher(c(900, 0.2), ground, nugget = TRUE), "meuse_root_spherical")
put_gls(z ~ root, meuse, corGaus(c(300, 0.2), ground, nugget = TRUE), "meuse_root_gaussian")
put_gls(z ~ 1, meuse, corSpher(c(3000, 0.02), ground, nugget = TRUE), "meuse_constant_spherical")
put_gls(z ~ 1, meuse, corGaus(c(600, 0.1), ground, nugget = TRUE), "meuse_constant_gaussian")
# Without the trend the exponential has no best range: it grows without end, and is held here.
put_gls(z ~ 1, meuse, corExp(c(900, 0.1), ground, nugget = TRUE, fixed = TRUE),
        "meuse_constant_exponential_held")

rows <- grep("^point", readLines(args[1]), value = TRUE)
lines <- read.table(text = rows, sep = "|")[-1]
names(lines) <- c("lateral", "station", "x", "y", "z")
put_gls(z ~ station, lines, corExp(c(15, 0.2), ground, nugget = TRUE), "lines_ground")
put_gls(z ~ station, lines, corExp(c(15, 0.2), form = ~ station | lateral, nugget = TRUE),
        "lines_along")
put_lme(lines, "lines_shared")
put_lme(lines, "lines_shared_along",
        correlation = corExp(c(15, 0.3), form = ~ station | lateral, nugget = TRUE))
