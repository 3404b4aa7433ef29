"""What runs in processes of its own: making points, the peers that are Python libraries, comparing.

    peers.py TASK ARGUMENT...

A peer prints `cpu_s X wall_s Y` for its work alone: making the cells' places, indexing the points and
estimating, without start, reading and writing.
"""

import sys
import time
from contextlib import contextmanager

import numpy as np

SEED = 20250414
SIDE_M = 1000.0
# Equally far for the purpose of explaining a difference.
TIED = 1e-9


@contextmanager
def timed():
    cpu, wall = time.process_time(), time.perf_counter()
    yield
    print(f"cpu_s {time.process_time() - cpu:.6f} wall_s {time.perf_counter() - wall:.6f}")


def make(kind, count, stem):
    """Writes a data set and the description by which GDAL reads it."""
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
        file.write(
            f'<OGRVRTDataSource><OGRVRTLayer name="points"><SrcDataSource>{stem}.csv</SrcDataSource>'
            f"<SrcLayer>{stem.rsplit('/', 1)[-1]}</SrcLayer><GeometryType>wkbPoint</GeometryType>"
            '<GeometryField encoding="PointFromColumns" x="easting" y="northing" z="value"/>'
            "</OGRVRTLayer></OGRVRTDataSource>\n"
        )


def radius(stem, side, neighbours):
    """The least radius that holds so many points around the middle of every cell."""
    from scipy.spatial import cKDTree

    distances, _ = cKDTree(read(stem)[:, :2]).query(places(side), k=[int(neighbours)])
    print(f"{distances.max() * 1.000001:.6f}")


def read(stem):
    return np.loadtxt(f"{stem}.csv", delimiter=",", skiprows=1)


def middles(side):
    return (np.arange(int(side)) + 0.5) * (SIDE_M / int(side))


def places(side):
    """Middles of the cells, row by row from the north-west."""
    easting, northing = np.meshgrid(middles(side), middles(side)[::-1])
    return np.column_stack([easting.ravel(), northing.ravel()])


def write(file, values):
    np.ascontiguousarray(values, "<f8").tofile(file)


def scipy(stem, side, neighbours, power, out):
    from scipy.spatial import cKDTree

    table = read(stem)
    with timed():
        distance, index = cKDTree(table[:, :2]).query(places(side), k=int(neighbours), workers=1)
        # No cell's middle is exactly at a point here, so no distance is zero.
        weight = 1.0 / (distance * distance) if float(power) == 2 else distance ** -float(power)
        estimate = (weight * table[index, 2]).sum(axis=1) / weight.sum(axis=1)
    write(out, estimate)


def pyterp(stem, side, neighbours, power, out):
    import pyterp

    table = read(stem)
    with timed():
        # It works in three dimensions; the third is 0 everywhere.
        points = np.column_stack([table[:, :2], np.zeros(len(table))])
        flat = places(side)
        cells = np.column_stack([flat, np.zeros(len(flat))])
        estimate = pyterp.interpolate(points, table[:, 2].copy(), cells, int(neighbours), float(power))
    write(out, estimate)


def pykrige(stem, side, neighbours, nugget, partial_sill, range_m, out):
    """Ordinary kriging: compiled moving window, or from all points where NEIGHBOURS is `all`."""
    from pykrige.ok import OrdinaryKriging

    table = read(stem)
    model = {"nugget": float(nugget), "psill": float(partial_sill), "range": float(range_m)}
    kriging = OrdinaryKriging(
        *table.T, variogram_model="spherical", variogram_parameters=model, enable_statistics=False
    )
    window = {"backend": "vectorized"}
    if neighbours != "all":
        window = {"backend": "C", "n_closest_points": int(neighbours)}
    middle = middles(side)
    with timed():
        estimate, variance = kriging.execute("grid", middle, middle, **window)
    write(out, estimate[::-1])
    write(f"{out}.variance", variance[::-1])


def leave_one_out(stem, powers, neighbours, out):
    from scipy.spatial import cKDTree

    table = read(stem)
    count = len(table) - 1 if neighbours == "all" else int(neighbours)
    with timed():
        distance, index = cKDTree(table[:, :2]).query(table[:, :2], k=count + 1)
        distance, others = distance[:, 1:], table[index[:, 1:], 2]
        rmse = []
        for power in 0.5 + np.arange(int(powers)) / 4:
            weight = distance**-power
            estimate = (weight * others).sum(axis=1) / weight.sum(axis=1)
            rmse.append(np.sqrt(np.mean((table[:, 2] - estimate) ** 2)))
    write(out, rmse)


def difference(ours, other, stem, neighbours):
    """The largest difference, and where it is large, whether the last neighbour there is a tie."""
    from scipy.spatial import cKDTree

    ours, other = np.fromfile(ours, "<f8"), np.fromfile(other, "<f8")
    empty = np.isnan(ours) != np.isnan(other)
    apart = np.abs(ours - other)
    said = f"{np.nanmax(apart):.1e}"
    far = np.flatnonzero(apart > 1e-9)
    if len(far) > 0:
        said += f", {len(far)} cells > 1e-9"
    if len(far) > 0 and neighbours != "all":
        k = int(neighbours)
        cells = places(round(len(ours) ** 0.5))[far]
        distance, _ = cKDTree(read(stem)[:, :2]).query(cells, k=[k, k + 1])
        ties = int((distance[:, 1] - distance[:, 0] <= TIED * distance[:, 0]).sum())
        said += f" ({ties} ties)"
    if empty.any():
        said += f", {int(empty.sum())} cells of one alone"
    print(said)


def versions():
    from importlib.metadata import version

    print(", ".join(f"{name} {version(name.lower())}" for name in ["SciPy", "NumPy", "pyterp", "PyKrige"]))


TASKS = [make, radius, scipy, pyterp, pykrige, leave_one_out, difference, versions]

if __name__ == "__main__":
    task, *arguments = sys.argv[1:]
    {task.__name__: task for task in TASKS}[task](*arguments)
