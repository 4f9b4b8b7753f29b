# The peer's part of run_crop.sh: R spdep dnearneigh + nb2listw + localmoran.
# usage: Rscript spdep_times.R points COUNT OUT.csv
#        Rscript spdep_times.R moran POINTS.csv WITHIN_M OUT.csv
#        Rscript spdep_times.R compare THEIRS.csv OURS.csv OURS.txt
# Points are as dense as a combine's log: one to 18 m2.
args <- commandArgs(trailingOnly = TRUE)

if (args[1] == "points") {
  n <- as.integer(args[2])
  set.seed(40)
  wide <- 300 * sqrt(n / 1e4 * 2)
  high <- 18 * n / wide
  p <- data.frame(x = 5e5 + runif(n, 0, wide), y = 4.4e6 + runif(n, 0, high))
  p$value <- sin(p$x / 60) * cos(p$y / 45) + rnorm(n)
  write.csv(format(p, digits = 17), args[3], row.names = FALSE, quote = FALSE)
}

if (args[1] == "moran") {
  suppressPackageStartupMessages(library(spdep))
  cat("peer: spdep", as.character(packageVersion("spdep")),
      if (requireNamespace("dbscan", quietly = TRUE)) "with" else "without", "dbscan\n")
  p <- read.csv(args[2])
  best <- Inf
  processor <- Inf
  for (repeats in 1:2) {
    t <- system.time({
      near <- dnearneigh(cbind(p$x, p$y), 0, as.numeric(args[3]))
      local <- localmoran(p$value, nb2listw(near, style = "W", zero.policy = TRUE),
                          zero.policy = TRUE)
    })
    best <- min(best, t[["elapsed"]])
    processor <- min(processor, t[["user.self"]] + t[["sys.self"]])
  }
  cat("mean number of neighbours", mean(card(near)), "\n")
  cat("spdep seconds", best, "processor", processor, "\n")
  local <- as.data.frame(unclass(local)[, 1:5])
  names(local) <- c("value", "expected", "variance", "z", "p")
  write.csv(format(local, digits = 17), args[4], row.names = FALSE, quote = FALSE)
  writeLines(as.character(c(best, processor)), paste0(args[4], ".seconds"))
}

if (args[1] == "compare") {
  theirs <- read.csv(args[2])
  ours <- read.csv(args[3])
  printed <- function(name) {
    line <- grep(paste0("^", name), readLines(args[4]), value = TRUE)
    as.numeric(sub(paste0(name, " "), "", line))
  }
  peer <- as.numeric(readLines(paste0(args[2], ".seconds")))
  cat(sprintf("ratio %.0f elapsed, %.0f processor time of all threads\n",
              peer[1] / printed("seconds"), peer[2] / printed("processor")))
  off <- sapply(names(theirs), function(k) max(abs(ours[[k]] - theirs[[k]]), na.rm = TRUE))
  cat("largest differences:", paste(names(off), sprintf("%.2g", off), collapse = ", "), "\n")
  cat("places without a value:", sum(is.na(ours$value)), "\n")
}
