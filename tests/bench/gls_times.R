# The peer's part of run_surface.sh: restricted maximum likelihood by nlme::gls.
# usage: Rscript gls_times.R points POINTS.csv
#        Rscript gls_times.R fit POINTS.csv OUT.txt
args <- commandArgs(trailingOnly = TRUE)

if (args[1] == "points") {
  set.seed(4)
  n <- 500
  p <- data.frame(x = runif(n, 0, 400), y = runif(n, 0, 400))
  v <- 0.02 * exp(-as.matrix(dist(p)) / 60) + diag(0.005, n)
  p$z <- 1 - 0.0005 * p$x + 0.0002 * p$y + drop(t(chol(v)) %*% rnorm(n))
  write.csv(format(p, digits = 17), args[2], row.names = FALSE, quote = FALSE)
}

if (args[1] == "fit") {
  suppressPackageStartupMessages(library(nlme))
  cat("peer: nlme", as.character(packageVersion("nlme")), "BLAS", extSoftVersion()["BLAS"], "\n")
  p <- read.csv(args[2])
  best <- c(Inf, Inf)
  for (repeats in 1:2) {
    t <- system.time(fit <- gls(z ~ x + y, p, method = "REML",
      correlation = corExp(c(50, 0.2), form = ~ x + y, nugget = TRUE)))
    best <- pmin(best, c(t[["elapsed"]], t[["user.self"]] + t[["sys.self"]]))
  }
  half_log_xx <- 0.5 * as.numeric(determinant(crossprod(model.matrix(z ~ x + y, p)))$modulus)
  likelihood <- fit$logLik + half_log_xx  # which gls leaves out
  part <- coef(fit$modelStruct$corStruct, unconstrained = FALSE)
  cat(sprintf("seconds %.3f\nprocessor %.3f\nlikelihood %.9f\n", best[1], best[2], likelihood))
  cat(sprintf("range %.6f variance %.8f nugget %.8f\n", part[1], (1 - part[2]) * fit$sigma^2,
              part[2] * fit$sigma^2))
  writeLines(sprintf("%.9f", c(best, likelihood)), args[3])
}
