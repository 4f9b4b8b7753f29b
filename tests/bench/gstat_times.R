# The peer's part of run.sh.
# usage: Rscript gstat_times.R points
#        Rscript gstat_times.R kriging POINTS.csv CELLS NEAREST OUT.csv
#        Rscript gstat_times.R compare POINTS.csv CELLS NEAREST THEIRS.csv OURS.csv OURS.txt
#        Rscript gstat_times.R rasters THEIRS.tif OURS.tif
args <- commandArgs(trailingOnly = TRUE)
side <- 400

centres <- function(cells) {
  at <- (seq_len(cells) - 0.5) * side / cells
  cbind(x = rep(at, cells), y = rep(side - at, each = cells))
}

if (args[1] == "points") {
  cat("peer: gstat", as.character(packageVersion("gstat")), "BLAS", extSoftVersion()["BLAS"],
      "LAPACK", La_library(), "\n")
  set.seed(20)
  for (n in c(1000, 5000)) {
    p <- data.frame(x = runif(n, 0, side), y = runif(n, 0, side))
    p$z <- sin(p$x / 60) * cos(p$y / 45) + rnorm(n, sd = 0.3)
    write.csv(format(p, digits = 17), sprintf("points_%d.csv", n), row.names = FALSE, quote = FALSE)
  }
}

if (args[1] == "kriging") {
  suppressPackageStartupMessages({library(sp); library(gstat)})
  p <- read.csv(args[2])
  coordinates(p) <- ~ x + y
  nearest <- if (args[4] == "0") Inf else as.numeric(args[4])
  places <- SpatialPoints(centres(as.integer(args[3])))
  model <- vgm(0.95, "Exp", 80, 0.05)
  best <- Inf
  processor <- Inf
  for (repeats in seq_len(if (length(places) >= 9e4) 1 else 2)) {
    t <- system.time(out <- krige(z ~ 1, p, places, model, nmax = nearest, debug.level = 0))
    best <- min(best, t[["elapsed"]])
    processor <- min(processor, t[["user.self"]] + t[["sys.self"]])
  }
  cat("gstat seconds", best, "processor", processor, "\n")
  out <- data.frame(value = out$var1.pred, variance = out$var1.var)
  write.csv(format(out, digits = 17), args[5], row.names = FALSE, quote = FALSE)
  writeLines(as.character(c(best, processor)), paste0(args[5], ".seconds"))
}

if (args[1] == "compare") {
  theirs <- read.csv(args[5])
  ours <- read.csv(args[6])
  printed <- function(name) {
    line <- grep(paste0("^", name), readLines(args[7]), value = TRUE)
    as.numeric(sub(paste0(name, " "), "", line))
  }
  peer <- as.numeric(readLines(paste0(args[5], ".seconds")))
  ratio <- peer / c(printed("seconds"), printed("processor"))
  off <- abs(ours$value - theirs$value) / pmax(abs(theirs$value), 1e-3)
  off_variance <- abs(ours$variance - theirs$variance) / theirs$variance
  differs <- which(off > 1e-9 | off_variance > 1e-9)
  # gstat orders neighbours by distances in single precision: where the last that counts and the
  # first that does not are equal there, it may take the farther one.
  k <- as.integer(args[4])
  tie <- integer(0)
  if (k > 0 && length(differs) > 0) {
    p <- read.csv(args[2])
    at <- centres(as.integer(args[3]))
    gap <- sapply(differs, function(i) {
      d2 <- sort((p$x - at[i, 1])^2 + (p$y - at[i, 2])^2)[k + 0:1]
      (d2[2] - d2[1]) / d2[2]
    })
    tie <- differs[gap < 2^-23]
  }
  if (k > 0) {
    cat("tie cells (row-wise number from 1):", if (length(tie)) tie else "none", "\n")
  }
  rest <- setdiff(seq_len(nrow(ours)), tie)
  cat(sprintf("ratio %.1f elapsed, %.1f processor time of all threads\n", ratio[1], ratio[2]))
  cat(sprintf("largest relative difference of %d cells: value %.2g, variance %.2g\n",
              length(rest), max(off[rest]), max(off_variance[rest])))
}

if (args[1] == "rasters") {
  suppressPackageStartupMessages(library(terra))
  theirs <- values(rast(args[2])[[1]])
  ours <- values(rast(args[3])[[1]])
  off <- abs(ours - theirs)
  cat(sprintf("cells that differ by more than 1e-6: %d of %d; largest difference %.2g\n",
              sum(off > 1e-6, na.rm = TRUE), length(off), max(off, na.rm = TRUE)))
}
