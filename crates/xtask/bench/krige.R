# Ordinary kriging with gstat.
#
#   krige.R STEM SIDE NEIGHBOURS NUGGET PARTIAL_SILL RANGE OUT
suppressPackageStartupMessages(library(gstat))
a <- commandArgs(trailingOnly = TRUE)
side <- as.integer(a[2])
points <- read.csv(paste0(a[1], ".csv"))
middles <- (seq_len(side) - 0.5) * (1000 / side)
model <- vgm(as.numeric(a[5]), "Sph", as.numeric(a[6]), as.numeric(a[4]))
start <- proc.time()
# Row by row from the north-west.
cells <- expand.grid(easting = middles, northing = rev(middles))
kriged <- krige(value ~ 1, ~ easting + northing, data = points, newdata = cells, model = model,
                nmax = as.integer(a[3]), debug.level = 0)
cost <- proc.time() - start
cat(sprintf("cpu_s %.6f wall_s %.6f\n", cost[["user.self"]] + cost[["sys.self"]], cost[["elapsed"]]))
writeBin(kriged$var1.pred, a[7], size = 8, endian = "little")
writeBin(kriged$var1.var, paste0(a[7], ".variance"), size = 8, endian = "little")
