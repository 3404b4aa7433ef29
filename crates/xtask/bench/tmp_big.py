"""Our gridding beside that of others: the same points, the same cells, one thread each.

    bench_peers.py EXAMPLES LIMITS FOLDER [idw|kriging|memory]

EXAMPLES is the folder of our example programs, LIMITS that of `machine_limits` as built for any
machine and for this one, FOLDER takes points and results.

Programs take turns; of the rounds the cheapest counts. The whole process is start, reading points,
gridding and writing the raster. Gridding alone is processor time measured inside the process, with
making the index; GDAL does not say it, so it is the whole less what the same points cost on 2 x 2
cells. A peer that would take minutes has fewer cells, and its cost is multiplied: the column `cells`
says so.
"""

import os
import sys

from measure import cheapest, measure, output

HERE = os.path.dirname(os.path.abspath(__file__))
SIDE_M = 1000
SIDE = 2000
ROUNDS = 2
POWER = 2
IDW_NEIGHBOURS = 12
KRIGING_NEIGHBOURS = 16
MODEL = ["5", "80", "200"]

# Points, their number, and on how many cells along a side GDAL is tried.
IDW_CASES = [
    ("uniform", 100_000, 1000),
    ("uniform", 1_000_000, 1000),
]

# What estimating a cell takes: sums, products and comparisons, and apart from them divisions and
# roots, of which a processor does far fewer.
# Inverse distance, power 2, for each sample: two differences and their squares, their sum, the least,
# the weight's sum, the value's difference, its product, its sum; one division; and once a cell origin
# and mean. Finding the samples is not counted: a perfect program would know them.
IDW_FLOPS, IDW_SLOW = 10 * IDW_NEIGHBOURS + 1, IDW_NEIGHBOURS + 1
BYTES = 8


def main(examples, limits, folder, only=""):
    os.makedirs(folder, exist_ok=True)
    bench = Bench(examples, limits, folder)
    print(f"{output(['gdal_grid', '--version'])}; {output(peer('versions'))}; gstat {gstat_version()}")
    print(f"best of {ROUNDS} rounds; s: seconds of one processor unless it says wall; MB: peak of the process")
    parts = {"idw": bench.idw, "kriging": bench.kriging, "memory": bench.memory}
    for name, part in parts.items():
        if only in ("", name):
            part()


class Bench:
    def __init__(self, examples, limits, folder):
        self.examples, self.limits, self.folder = examples, limits, folder

    def idw(self):
        for kind, count, gdal_side in IDW_CASES:
            stem = self.points(kind, count)
            settings = [str(IDW_NEIGHBOURS), str(POWER)]
            ours = lambda side, out: self.ours_idw(stem, side, out)
            peers = [
                ("GDAL", gdal_side, lambda side, out: gdal(stem, side, out)),
                ("SciPy", SIDE, lambda side, out: peer("scipy", stem, side, *settings, out)),
                ("pyterp", SIDE, lambda side, out: peer("pyterp", stem, side, *settings, out)),
            ]
            what = f"inverse distance, nearest {IDW_NEIGHBOURS}, power {POWER}"
            self.compare(f"{number(count)} points, {kind}: {what}", stem, IDW_NEIGHBOURS, SIDE, ours, peers)
        self.leave_one_out("all")
        self.leave_one_out(IDW_NEIGHBOURS)

    def kriging(self):
        stem = self.points("uniform", 2000)
        settings = [str(KRIGING_NEIGHBOURS), *MODEL]
        peers = [
            ("gstat", 500, lambda side, out: gstat(stem, side, *settings, out)),
            ("PyKrige", SIDE, lambda side, out: peer("pykrige", stem, side, *settings, out)),
        ]
        ours = lambda side, out: self.ours_kriging(stem, side, KRIGING_NEIGHBOURS, out)
        what = f"ordinary kriging with variance, nearest {KRIGING_NEIGHBOURS}"
        self.compare(f"2 000 points, uniform: {what}", stem, KRIGING_NEIGHBOURS, SIDE, ours, peers)
        peers = [("PyKrige", 50, lambda side, out: peer("pykrige", stem, side, "all", *MODEL, out))]
        ours = lambda side, out: self.ours_kriging(stem, side, "all", out)
        what = "ordinary kriging with variance, all points"
        self.compare(f"2 000 points, uniform: {what}", stem, "all", 500, ours, peers)

    def memory(self):
        stem = self.points("uniform", 2000)
        commands = {
            "inverse distance": lambda side, out: self.ours_idw(stem, side, out),
            "kriging": lambda side, out: self.ours_kriging(stem, side, KRIGING_NEIGHBOURS, out),
        }
        print("\n2 000 points, uniform: cost by the number of cells")
        print(f"{'':18}{'cells':>8}{'gridding s':>12}{'ns a cell':>11}{'peak MB':>9}")
        per_cell = {}
        for name, command in commands.items():
            for side in [1000, 2000, 4000]:
                cost = cheapest([measure(command(side, self.file(stem, "ours"))) for _ in range(ROUNDS)])
                per_cell[name] = cost.inner_cpu / side**2 * 1e9
                print(f"{name:18}{square(side):>8}{cost.inner_cpu:12.3f}{per_cell[name]:11.1f}{cost.peak_mb:9.0f}")
        self.distance_from_limit(per_cell["inverse distance"])

    def distance_from_limit(self, took_ns):
        print(f"\nThe machine's limit, one processor: inverse distance, nearest {IDW_NEIGHBOURS}, power {POWER}")
        print(f"a cell takes {IDW_FLOPS} sums and products, {IDW_SLOW} divisions, and {BYTES} bytes to memory")
        for build in ["any", "native"]:
            program = os.path.join(self.limits, f"machine_limits_{build}")
            limit = {name: float(value) for name, value in map(str.split, output([program]).splitlines())}
            least = {
                "sums and products": IDW_FLOPS / limit["flops_per_ns"],
                "divisions": IDW_SLOW / limit["divisions_per_ns"],
                "memory": BYTES / limit["triad_bytes_per_ns"],
            }
            reached = max(least.values())
            built = {"any": "for any x86-64", "native": "for this processor"}[build]
            print(
                f"built {built}: {limit['flops_per_ns']:.1f} GFLOP/s, {limit['divisions_per_ns']:.2f} divisions/ns, "
                f"{limit['triad_bytes_per_ns']:.1f} GB/s"
            )
            parts = ", ".join(f"{what} {ns:.1f}" for what, ns in least.items())
            print(f"  ns a cell at least: {parts}; took {took_ns:.1f}: {took_ns / reached:.1f} times the limit")

    def leave_one_out(self, neighbours):
        stem = self.points("uniform", 2000)
        powers = "20"
        files = {name: self.file(stem, f"loo-{name}") for name in ["ours", "scipy"]}
        ours = self.example("leave_one_out", f"{stem}.csv", powers, str(neighbours), files["ours"])
        scipy = peer("leave_one_out", stem, powers, str(neighbours), files["scipy"])
        costs = [(measure(ours), measure(scipy)) for _ in range(ROUNDS)]
        ours, scipy = (cheapest(list(of)) for of in zip(*costs))
        apart = output(peer("difference", files["ours"], files["scipy"], stem, "all"))
        print(f"\n2 000 points, uniform: leave-one-out for {powers} powers, neighbours: {neighbours}")
        print(f"geostat {ours.inner_cpu:.3f} s; NumPy {scipy.inner_cpu:.3f} s, {scipy.inner_cpu / ours.inner_cpu:.1f} times; RMSE differs by {apart}")

    def compare(self, title, stem, neighbours, side, ours, peers):
        """Our program and its peers in turns, one line for each."""
        our_file = self.file(stem, "ours")
        our_costs, peer_costs = [], {name: [] for name, _, _ in peers}
        for _ in range(ROUNDS):
            our_costs.append(measure(ours(side, our_file)))
            for name, peer_side, command in peers:
                peer_costs[name].append(measure(command(peer_side, self.file(stem, name))))
        two = cheapest([measure(ours(side, our_file), threads=2) for _ in range(ROUNDS)])
        mine = cheapest(our_costs)
        print(f"\n{title}; {square(side)} cells")
        print(f"{'':24}{'whole process':^20}{'gridding':>11}{'times ours':>18}")
        print(f"{'':8}{'cells':>12}{'s':>8}{'wall s':>8}{'MB':>6}{'s':>10}{'gridding':>10}{'whole':>8}  largest difference")
        print(f"{'geostat':8}{square(side):>12}{mine.cpu:8.2f}{mine.wall:8.2f}{mine.peak_mb:6.0f}{mine.inner_cpu:10.3f}")
        print(f"{'':8}{'two threads':>12}{two.cpu:8.2f}{two.wall:8.2f}{two.peak_mb:6.0f}{two.inner_wall:10.3f} (wall)")
        for name, peer_side, command in peers:
            empty = self.file(stem, "empty")
            fixed = cheapest([measure(command(2, empty)) for _ in range(ROUNDS)])
            cost = cheapest(peer_costs[name])
            if cost.inner_cpu is None:
                cost.inner_cpu, fixed.inner_cpu = cost.cpu - fixed.cpu, 0.0
            factor = side**2 / peer_side**2
            whole = cost.scaled(factor, fixed)
            if peer_side != side:
                measure(ours(peer_side, self.file(stem, "ours-small")))
            our_result = our_file if peer_side == side else self.file(stem, "ours-small")
            apart = self.difference(our_result, self.file(stem, name), stem, neighbours)
            cells = square(peer_side) + (f" x{factor:.0f}" if factor > 1 else "")
            print(
                f"{name:8}{cells:>12}{whole.cpu:8.2f}{whole.wall:8.2f}{whole.peak_mb:6.0f}{whole.inner_cpu:10.3f}"
                f"{whole.inner_cpu / mine.inner_cpu:10.1f}{whole.cpu / mine.cpu:8.1f}  {apart}",
                flush=True,
            )

    def difference(self, ours, other, stem, neighbours):
        of = lambda end: output(peer("difference", ours + end, other + end, stem, str(neighbours)))
        if not os.path.exists(f"{other}.variance"):
            return of("")
        return f"{of('')}; variance {of('.variance')}"

    def points(self, kind, count):
        """Makes a data set once a run, and says where it lies, without its ending."""
        stem = self.file(f"{kind}-{count}")
        if not os.path.exists(f"{stem}.vrt"):
            output(peer("make", kind, str(count), stem))
        return stem

    def file(self, *parts):
        return os.path.join(self.folder, os.path.basename("-".join(parts)))

    def example(self, name, *arguments):
        return [os.path.join(self.examples, name), *arguments]

    def ours_idw(self, stem, side, out):
        return self.example("grid_points", f"{stem}.csv", *grid(side), str(POWER), str(IDW_NEIGHBOURS), out)

    def ours_kriging(self, stem, side, neighbours, out):
        return self.example("krige_points", f"{stem}.csv", *grid(side), *MODEL, str(neighbours), out)


def grid(side):
    """West, south, cell, columns, rows."""
    return ["0", "0", repr(SIDE_M / side), str(side), str(side)]


def gdal(stem, side, out):
    # Of the radius: the least that holds the neighbours everywhere, so that GDAL looks at no more
    # points than it must.
    radius = output(peer("radius", stem, side, str(IDW_NEIGHBOURS)))
    method = f"invdistnn:power={POWER}:smoothing=0:radius={radius}:max_points={IDW_NEIGHBOURS}:min_points=0:nodata=nan"
    extent = ["-txe", "0", str(SIDE_M), "-tye", str(SIDE_M), "0"]
    size = ["-outsize", str(side), str(side), "-ot", "Float64", "-of", "ENVI"]
    return ["gdal_grid", "-q", "-a", method, *extent, *size, f"{stem}.vrt", out]


def gstat(stem, side, *settings):
    return ["Rscript", "--vanilla", os.path.join(HERE, "krige.R"), stem, str(side), *settings]


def gstat_version():
    return output(["Rscript", "--vanilla", "-e", "cat(as.character(packageVersion('gstat')))"])


def peer(task, *arguments):
    return [sys.executable, os.path.join(HERE, "peers.py"), task, *map(str, arguments)]


def square(side):
    return f"{side}^2"


def number(count):
    return f"{count:,}".replace(",", " ")


if __name__ == "__main__":
    main(*sys.argv[1:])
