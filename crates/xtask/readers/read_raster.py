"""Opens a depth raster that was written band by band with a reader that is not ours.

    read_raster.py RASTER.tif

Exit code 1 when a check fails.
"""

import sys

import numpy as np
import rasterio
from rio_cogeo.cogeo import cog_validate


def main(path):
    failed = []
    valid, errors, warnings = cog_validate(path, strict=True, quiet=True)
    if not valid or errors or warnings:
        failed.append(f"rio-cogeo: {errors} {warnings}")
    with rasterio.open(path) as raster:
        depth_cm, levels = raster.read(1), len(raster.overviews(1))
        if raster.nodata != -9999 or raster.units != ("cm",):
            failed.append(f"no data {raster.nodata}, unit {raster.units}")
        if raster.tags(ns="IMAGE_STRUCTURE").get("LAYOUT") != "COG":
            failed.append("GDAL does not know the layout")
    if levels < 3 or not 0 < np.mean(depth_cm == -9999) < 1:
        failed.append(f"{levels} overviews of {depth_cm.shape} cells are too few to tell anything")
    for level in range(levels):
        with rasterio.open(path, overview_level=level) as overview:
            smaller = overview.read(1)
        if not np.array_equal(smaller, halved(depth_cm)):
            failed.append(f"overview {level} is not the mean of four cells")
        depth_cm = smaller
    print("\n".join(f"FAILED {path}: {what}" for what in failed) or f"{path}: passed, {levels} overviews")
    return 1 if failed else 0


def halved(depth_cm):
    """Means of two by two cells, of those that have a value."""
    rows, columns = depth_cm.shape
    padded = np.full((rows + rows % 2, columns + columns % 2), np.nan)
    padded[:rows, :columns] = np.where(depth_cm == -9999, np.nan, depth_cm)
    four = [padded[0::2, 0::2], padded[0::2, 1::2], padded[1::2, 0::2], padded[1::2, 1::2]]
    # One after the other, so that sums round as they should.
    total = sum(np.nan_to_num(cells) for cells in four)
    count = sum(~np.isnan(cells) for cells in four)
    means = np.divide(total, count, out=np.full(total.shape, -9999.0), where=count > 0)
    return means.astype("float32")


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
