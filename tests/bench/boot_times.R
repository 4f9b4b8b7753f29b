# R boot on the emitters of limits_bench: per zone 4,000 draws over laterals and emitters, five
# measures and the linearised variances that a studentised limit needs.
# usage: Rscript boot_times.R SAMPLE.csv
suppressPackageStartupMessages(library(boot))
emitters <- read.csv(commandArgs(trailingOnly = TRUE)[1])
draws <- 4000

variance <- function(influence, lateral) {
  n <- length(influence)
  sums <- rowsum(influence, lateral)
  groups <- length(sums)
  max(sum(influence^2) * n / (n - 1), sum(sums^2) * groups / (groups - 1)) / n^2
}
statistic <- function(zone) {
  q <- zone$q
  n <- length(q)
  mean <- mean(q)
  off <- q - mean
  cv <- sd(q) / mean
  sorted <- sort(q)
  count <- n / 4
  whole <- floor(count)
  low <- sum(sorted[seq_len(whole)])
  if (count > whole) low <- low + (count - whole) * sorted[whole + 1]
  ratio <- low / count / mean
  limit <- sorted[ceiling(count)]
  deviation <- mean(abs(off)) / mean
  trimmed <- 4 * (pmin(q, limit) - mean(pmin(q, limit)))
  slope <- 2 * mean(q <= mean) - 1
  c(mean, cv, ratio, 1 - deviation, 1 - cv,
    variance(off / mean, zone$copy),
    variance((off^2 / mean(off^2) - 1) / 2 - off / mean, zone$copy),
    variance((abs(off) + slope * off) / mean(abs(off)) - 1 - off / mean, zone$copy),
    variance(-(trimmed - ratio * off) / mean / (1 - ratio), zone$copy))
}
resample <- function(zone, laterals) {
  drawn <- laterals[sample.int(length(laterals), replace = TRUE)]
  rows <- lapply(drawn, function(rows) rows[sample.int(length(rows), replace = TRUE)])
  data.frame(q = zone$q[unlist(rows)], copy = rep(seq_along(rows), lengths(rows)))
}

set.seed(1)
time <- system.time(for (zone in split(emitters, emitters$zone)) {
  zone$copy <- zone$lateral
  laterals <- split(seq_len(nrow(zone)), zone$lateral)
  found <- boot(zone, statistic, draws, sim = "parametric", ran.gen = resample, mle = laterals)
  for (m in 1:5) quantile(found$t[, m], c(0.025, 0.975), na.rm = TRUE)
})
cat(sprintf("R boot: %.2f s elapsed, %.2f s processor\n", time[["elapsed"]],
            time[["user.self"]] + time[["sys.self"]]))
