# Repeats of each of two groups by R's power.t.test (package stats), and the power of the next whole numbers; both tails count (strict).
# Made with: Rscript sample_sizes.R > sample_sizes.csv     (R 4.2.2, Debian bookworm's r-base-core)
cat("difference,sd,level,power,n_r,power_below_r,power_at_r\n")
for (difference in c(0.005, 0.01, 0.02, 0.05)) for (sd in c(0.004, 0.0125, 0.03)) for (level in c(0.05, 0.01)) for (power in c(0.8, 0.95)) {
  f <- function(n) power.t.test(n = n, delta = difference, sd = sd, sig.level = level, strict = TRUE)$power
  if (f(2) >= power) n <- 2 else n <- power.t.test(delta = difference, sd = sd, sig.level = level, power = power, strict = TRUE, tol = 1e-10)$n
  whole <- ceiling(n - 1e-9)
  cat(sprintf("%g,%g,%g,%g,%.9f,%.10f,%.10f\n", difference, sd, level, power, n, if (whole > 2) f(whole - 1) else NA, f(whole)))
}
