"""Grids the same points with GDAL, SciPy and our example program, and compares cost and values.

    bench_peers.py GRID_POINTS FOLDER

GRID_POINTS is our example program, FOLDER takes inputs and results. Everything runs on one thread.
Each program is run RUNS times; the run with the least CPU time counts. The whole program is timed,
with start, reading and writing; where a program can say so, also the gridding alone. Search radius
of GDAL: the least that holds the nearest NEIGHBOURS everywhere, so that it looks at no more points
than it must.

The parent process loads no library: a child's peak memory is never reported as less than its parent's.
"""

import os
import subprocess
import sys
import time

SEED = 20250414
SIDE_M = 1000.0
CELLS = 500
POWER = 2.0
NEIGHBOURS = 12
RUNS = 3
CASES = [("uniform", 200), ("uniform", 2000), ("clustered", 2000), ("uniform", 100_000)]


def main(grid_points, folder):
    os.makedirs(folder, exist_ok=True)
    print(f"{CELLS} x {CELLS} cells, nearest {NEIGHBOURS}, power {POWER:g}, one thread, best of {RUNS}")
    print(f"{version(['gdal_grid', '--version'])}; {version(helper('versions'))}")
    for kind, count in CASES:
        compare_case(grid_points, folder, kind, count)


def compare_case(grid_points, folder, kind, count):
    stem = os.path.join(folder, f"{kind}-{count}")
    radius = version(helper("make", kind, str(count), stem))
    example = [grid_points, f"{stem}.csv", "0", "0", str(SIDE_M / CELLS), str(CELLS), str(CELLS)]
    example += [str(POWER), str(NEIGHBOURS), f"{stem}-ours.f64"]
    rows = [
        ("geostat", measure(example)),
        ("SciPy", measure(helper("scipy", stem))),
        ("GDAL", measure(gdal(stem, radius))),
    ]
    print(f"\n{count} points, {kind}")
    print(f"{'':10}{'CPU s':>9}{'wall s':>9}{'gridding s':>12}{'peak MB':>9}{'CPU ratio':>11}{'of gridding':>13}  largest difference")
    for name, cost in rows:
        gridding = f"{cost['gridding']:.3f}" if cost["gridding"] else "-"
        ours = rows[0][1]
        ratio = cost["cpu"] / ours["cpu"]
        of_gridding = f"{cost['gridding'] / ours['gridding']:.2f}" if cost["gridding"] else "-"
        file = {"geostat": "ours", "SciPy": "scipy", "GDAL": "gdal"}[name]
        other = version(helper("difference", f"{stem}-ours.f64", f"{stem}-{file}.f64"))
        print(
            f"{name:10}{cost['cpu']:9.3f}{cost['wall']:9.3f}{gridding:>12}"
            f"{cost['peak_mb']:9.0f}{ratio:11.2f}{of_gridding:>13}  {other}"
        )


def gdal(stem, radius):
    method = f"invdistnn:power={POWER}:smoothing=0:radius={radius}:max_points={NEIGHBOURS}:min_points=0:nodata=nan"
    extent = ["-txe", "0", str(SIDE_M), "-tye", str(SIDE_M), "0"]
    size = ["-outsize", str(CELLS), str(CELLS), "-ot", "Float64", "-of", "ENVI"]
    return ["gdal_grid", "-q", "-a", method, *extent, *size, f"{stem}.vrt", f"{stem}-gdal.f64"]


def measure(command):
    """The cheapest of several runs: CPU and wall seconds, peak memory, gridding seconds if said."""
    one_thread = {"RAYON_NUM_THREADS": "1", "GDAL_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    costs = []
    for _ in range(RUNS):
        start = time.perf_counter()
        process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env={**os.environ, **one_thread})
        said = process.stdout.read()
        _, status, usage = os.wait4(process.pid, 0)
        if status != 0:
            sys.exit(f"{' '.join(command)}: status {status}")
        words = said.split()
        costs.append(
            {
                "cpu": usage.ru_utime + usage.ru_stime,
                "wall": time.perf_counter() - start,
                "peak_mb": usage.ru_maxrss * 1024 / 1e6,
                "gridding": float(words[1]) if words[:1] == ["gridding_s"] else None,
            }
        )
    return min(costs, key=lambda cost: cost["cpu"])


def helper(*arguments):
    return [sys.executable, os.path.abspath(__file__), "--", *arguments]


def version(command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()


# --- run in processes of their own, see `helper` ---


def make(kind, count, stem):
    """Writes the points and says the least radius that holds NEIGHBOURS of them around every cell."""
    import numpy as np
    from scipy.spatial import cKDTree

    rng = np.random.default_rng(SEED)
    points = rng.uniform(0, SIDE_M, (int(count), 2))
    if kind == "clustered":
        centres = rng.uniform(0, SIDE_M, (20, 2))
        points = centres[rng.integers(0, 20, int(count))] + rng.normal(0, 15, (int(count), 2))
    values = rng.uniform(0, 45, int(count))
    with open(f"{stem}.csv", "w") as file:
        file.write("easting,northing,value\n")
        for (easting, northing), value in zip(points.tolist(), values.tolist()):
            file.write(f"{easting!r},{northing!r},{value!r}\n")
    with open(f"{stem}.vrt", "w") as file:
        name = os.path.basename(stem)
        file.write(
            f'<OGRVRTDataSource><OGRVRTLayer name="{name}">'
            f"<SrcDataSource relativeToVRT=\"1\">{name}.csv</SrcDataSource><GeometryType>wkbPoint</GeometryType>"
            '<GeometryField encoding="PointFromColumns" x="easting" y="northing" z="value"/>'
            "</OGRVRTLayer></OGRVRTDataSource>\n"
        )
    distances, _ = cKDTree(points).query(cells(np), k=NEIGHBOURS)
    print(f"{distances[:, -1].max() * 1.000001:.6f}")


def cells(np):
    """Middles of the cells, row by row from the north-west."""
    middle = (np.arange(CELLS) + 0.5) * (SIDE_M / CELLS)
    easting, northing = np.meshgrid(middle, middle[::-1])
    return np.column_stack([easting.ravel(), northing.ravel()])


def scipy(stem):
    import numpy as np
    from scipy.spatial import cKDTree

    table = np.loadtxt(f"{stem}.csv", delimiter=",", skiprows=1)
    start = time.perf_counter()
    distance, index = cKDTree(table[:, :2]).query(cells(np), k=NEIGHBOURS, workers=1)
    # No cell's middle is exactly at a point here, so no distance is zero.
    weight = 1.0 / (distance * distance)
    estimate = (weight * table[index, 2]).sum(axis=1) / weight.sum(axis=1)
    print(f"gridding_s {time.perf_counter() - start:.6f}")
    estimate.astype("<f8").tofile(f"{stem}-scipy.f64")


def difference(ours, other):
    import numpy as np

    apart = np.abs(np.fromfile(ours, "<f8") - np.fromfile(other, "<f8"))
    if np.isnan(apart).any():
        print(f"{int(np.isnan(apart).sum())} cells without value")
    elif ours == other:
        print("-")
    else:
        print(f"{apart.max():.1e} ({int((apart > 1e-9).sum())} cells above 1e-9)")


def versions():
    import numpy
    import scipy

    print(f"SciPy {scipy.__version__}, NumPy {numpy.__version__}")


if __name__ == "__main__":
    if sys.argv[1] == "--":
        task, *arguments = sys.argv[2:]
        {"make": make, "scipy": scipy, "difference": difference, "versions": versions}[task](*arguments)
    else:
        main(*sys.argv[1:])
