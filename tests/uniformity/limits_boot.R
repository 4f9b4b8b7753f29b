# Writes samples and the limits that R boot (Canty & Ripley, after Davison & Hinkley 1997) gives
# their measures of uniformity: percentile and bias-corrected accelerated ones of the measures, and
# studentised ones of the mean, in logarithms, and of the low-quarter shortfall, in logits. As in the
# product an evener bootstrap sample has at least two thirds of the sample's standard error.
# times: B.Tech examination IDE-2.4.8, 1 January 2024, as flows. plots: student field report
# "Determination Drip irrigation Wetted Area". made: a made set. skewed: drawn here from a fixed seed.
# usage: Rscript limits_boot.R FOLDER
folder <- commandArgs(trailingOnly = TRUE)[1]
suppressPackageStartupMessages(library(boot))
draws <- 20000

put <- function(table, name) {
  table <- as.data.frame(lapply(table, function(v) formatC(v, digits = 17, format = "g")))
  write.csv(table, file.path(folder, name), row.names = FALSE, quote = FALSE)
}

low_quarter <- function(q) {
  q <- sort(q)
  count <- length(q) / 4
  whole <- floor(count)
  sum <- sum(q[seq_len(whole)])
  if (count > whole) sum <- sum + (count - whole) * q[whole + 1]
  sum / count / mean(q)
}
measures <- function(q, i = seq_along(q)) {
  q <- q[i]
  cv <- sd(q) / mean(q)
  c(mean(q), cv, low_quarter(q), 1 - mean(abs(q - mean(q))) / mean(q), 1 - cv)
}
# Logit of the shortfall and logarithm of the mean, each with its delta-method variance.
studentised <- function(q, i = seq_along(q)) {
  q <- q[i]
  n <- length(q)
  limit <- sort(q)[ceiling(n / 4)]
  ratio <- low_quarter(q)
  trimmed <- 4 * (pmin(q, limit) - mean(pmin(q, limit)))
  change <- -(trimmed - ratio * (q - mean(q))) / mean(q) / (1 - ratio) / ratio
  c(qlogis(1 - ratio), var(change) / n, log(mean(q)), var(q) / n / mean(q)^2)
}
bounded <- function(q, i = seq_along(q)) {
  own <- studentised(q)
  drawn <- studentised(q, i)
  if (drawn[1] < own[1]) drawn[2] <- max(drawn[2], 4 / 9 * own[2])
  if (drawn[3] > own[3]) drawn[4] <- max(drawn[4], 4 / 9 * own[4])
  drawn
}

set.seed(20)
samples <- list(
  times = 1000 / c(64, 79, 67, 71, 75, 81, 68, 85, 75, 69, 85, 77, 89, 68, 81, 90, 65, 61),
  plots = c(2.14, 2.18, 2.25, 2.17, 2.32, 2.31, 2.35, 2.34, 2.29, 2.24, 2.19, 2.31, 2.16, 2.11,
            2.39, 2.42, 2.22, 2.33, 2.24, 2.28, 2.42, 2.47, 2.28, 2.43, 2.38, 2.35, 2.40, 2.31,
            2.17, 2.22, 2.24, 2.27, 2.32, 2.35, 2.31, 2.42, 2.11, 2.27, 2.21, 2.26),
  made = c(2.1, 2.0, 1.9, 2.2, 2.05, 1.95, 2.15, 1.85, 2.0, 2.1, 1.9, 2.0, 1.7, 1.6, 2.3, 2.0,
           1.95, 2.05),
  skewed = 1.2 - 0.15 * rexp(72))
for (name in names(samples)) {
  q <- samples[[name]]
  put(data.frame(q = q), paste0(name, ".csv"))
  plain <- boot(q, measures, draws)
  limits <- t(sapply(1:5, function(m) {
    found <- boot.ci(plain, type = c("perc", "bca"), index = m)
    c(found$percent[4:5], found$bca[4:5])
  }))
  put(data.frame(lower = limits[, 1], upper = limits[, 2], bca_lower = limits[, 3],
                 bca_upper = limits[, 4]), paste0(name, "_plain.csv"))
  pivots <- boot(q, bounded, draws)
  shortfall <- boot.ci(pivots, type = "stud", index = c(1, 2))$student[4:5]
  mean <- boot.ci(pivots, type = "stud", index = c(3, 4))$student[4:5]
  put(data.frame(lower = c(exp(mean[1]), 1 - plogis(shortfall[2])),
                 upper = c(exp(mean[2]), 1 - plogis(shortfall[1]))), paste0(name, "_studentised.csv"))
}
