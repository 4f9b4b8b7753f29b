# Writes samples and what R nlme's lme makes of them by restricted maximum likelihood.
# Rail, Oats, Pixel, Orthodont, Machines: public data sets of the package (Pinheiro & Bates 2000),
# read from the installed package, never copied. emitters, scattered: drawn here from a fixed seed.
# usage: Rscript components_nlme.R FOLDER
folder <- commandArgs(trailingOnly = TRUE)[1]
suppressPackageStartupMessages(library(nlme))

put <- function(table, name) {
  table <- as.data.frame(lapply(table, function(v) formatC(v, digits = 17, format = "g")))
  write.csv(table, file.path(folder, name), row.names = FALSE, quote = FALSE)
}
tight <- lmeControl(msTol = 1e-12, tolerance = 1e-10, niterEM = 100, msMaxIter = 500,
                    maxIter = 500, returnObject = TRUE)

# y, x, lateral, pit (or NULL) and whether x enters: the sample and its fit
compare <- function(name, y, x, lateral, pit, line) {
  data <- data.frame(y = y, x = x, lateral = factor(lateral))
  data$pit <- if (is.null(pit)) factor(seq_along(y)) else factor(pit)
  put(data.frame(y = y, x = x, lateral = as.integer(data$lateral),
                 pit = if (is.null(pit)) -1 else as.integer(data$pit)), paste0(name, ".csv"))
  random <- if (is.null(pit)) ~ 1 | lateral else ~ 1 | lateral / pit
  fit <- if (line) lme(y ~ x, data, random = random, control = tight)
         else lme(y ~ 1, data, random = random, control = tight)
  within <- fit$sigma^2
  ratios <- lapply(fit$modelStruct$reStruct, function(level) as.numeric(as.matrix(level)))
  lateral <- within * ratios$lateral
  pit_variance <- if (is.null(pit)) 0 else within * ratios$pit
  log_error <- sqrt(diag(fit$apVar))  # of the logarithms of standard deviations
  error_of <- function(level) if (level %in% names(log_error)) log_error[[level]] else 0
  table <- summary(fit)$tTable
  last <- nrow(table)
  put(data.frame(lateral = lateral, pit = pit_variance, within = within,
                 lateral_se = 2 * lateral * error_of("reStruct.lateral"),
                 pit_se = 2 * pit_variance * error_of("reStruct.pit"),
                 within_se = 2 * within * error_of("lSigma"),
                 log_likelihood = as.numeric(logLik(fit)), intercept = table[1, 1],
                 intercept_se = table[1, 2], value = table[last, 1], se = table[last, 2],
                 df = table[last, 3], t = table[last, 4], p = table[last, 5]),
      paste0(name, "_fit.csv"))
}

rail <- as.data.frame(Rail)
compare("rail", rail$travel / 50, 0 * rail$travel, as.character(rail$Rail), NULL, FALSE)
uneven <- rail[-c(1, 4, 5, 12), ]
compare("rail_uneven", uneven$travel / 50, 0 * uneven$travel, as.character(uneven$Rail), NULL,
        FALSE)
machines <- as.data.frame(Machines)[-c(2, 3, 17, 30, 31, 32), ]
compare("machines", machines$score / 60, 0 * machines$score, as.character(machines$Worker),
        paste(machines$Worker, machines$Machine), FALSE)
oats <- as.data.frame(Oats)
compare("oats", oats$yield / 100, oats$nitro, as.character(oats$Block),
        paste(oats$Block, oats$Variety), TRUE)
pixel <- as.data.frame(Pixel)
compare("pixel", pixel$pixel / 1000, pixel$day / 10, as.character(pixel$Dog),
        paste(pixel$Dog, pixel$Side), TRUE)
orthodont <- as.data.frame(Orthodont)
compare("orthodont", orthodont$distance / 20, orthodont$age / 10,
        as.character(orthodont$Subject), NULL, TRUE)

# Eleven laterals, 2 to 5 pits on each, 1 to 4 emitters in a pit; log performance falls to the tail.
set.seed(20260512)
pits <- data.frame(lateral = rep(1:11, times = c(2, 3, 5, 4, 2, 3, 3, 5, 4, 2, 3)))
pits$x <- round(runif(nrow(pits)), 3)
pits$effect <- rnorm(11, 0, 0.10)[pits$lateral] + rnorm(nrow(pits), 0, 0.06) - 0.2 * pits$x
rows <- rep(seq_len(nrow(pits)), times = sample(1:4, nrow(pits), replace = TRUE))
emitters <- data.frame(y = pits$effect[rows] + rnorm(length(rows), 0, 0.08), x = pits$x[rows],
                       lateral = pits$lateral[rows], pit = rows)
compare("emitters", emitters$y, emitters$x, emitters$lateral, emitters$pit, FALSE)
compare("emitters_line", emitters$y, emitters$x, emitters$lateral, emitters$pit, TRUE)
# The last table written: its date tells that all are there.
scattered <- data.frame(lateral = rep(1:9, times = c(3, 7, 2, 4, 9, 4, 4, 5, 3)))
scattered$x <- runif(nrow(scattered))
scattered$y <- rnorm(9, 0, 0.12)[scattered$lateral] + rnorm(nrow(scattered), 0, 0.07)
compare("scattered", scattered$y, scattered$x, scattered$lateral, NULL, TRUE)
