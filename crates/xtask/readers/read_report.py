"""Opens reports in a folder of results with readers that are not ours.

    read_report.py MAPS FIELD SEASON.json

Each folder of MAPS with a report.html has a map-sheet.pdf beside it. The page is parsed by Python's own HTML parser: it
must be whole, fetch nothing, and hold the readings of the survey files of FIELD and the figures of SEASON.json. The sheet
is read by pypdf: one page whose text can be searched, with its fonts inside. Exit code 1 when a check fails or there is no
report.
"""

import base64
import json
import re
import sys
from html.parser import HTMLParser
from pathlib import Path

import pypdf
from read_maps import Report

MOST_BYTES = 1_000_000
# Elements without an end (HTML Living Standard, section 13.1.2).
VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
# The name of a vocabulary, which is never fetched.
NAMES = {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}
CM_PER_IN = 2.54


class Page(HTMLParser):
    """What a page holds, and what is unsound about it."""

    def __init__(self):
        super().__init__()
        self.open, self.faults, self.ids, self.refers, self.outside = [], [], [], [], []
        self.count, self.data, self.tables, self.words = {}, [], [], []
        self.policy = ""

    def handle_starttag(self, tag, attributes):
        self.started(tag, attributes)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.started(tag, attributes)

    def started(self, tag, attributes):
        self.count[tag] = self.count.get(tag, 0) + 1
        named = dict(attributes)
        if len(named) < len(attributes):
            self.faults.append(f"{tag} has an attribute twice")
        for name, value in attributes:
            value = value or ""
            if name == "id":
                self.ids.append(value)
            if name in ("aria-labelledby", "aria-describedby", "aria-controls", "for"):
                self.refers += value.split()
            if name == "style" or name.startswith("on"):
                self.faults.append(f"{tag} has {name}=")
            is_fetched = name in ("src", "href", "xlink:href", "action", "data", "poster", "srcset")
            if is_fetched and not value.startswith(("#", "data:")) or "://" in value and value not in NAMES:
                self.outside.append(f"{tag} {name}={value[:60]}")
        if tag == "meta" and named.get("http-equiv") == "Content-Security-Policy":
            self.policy = named["content"]
        if tag == "script" and named.get("type") == "application/json":
            self.data.append("")
        if tag == "table":
            self.tables.append({"caption": "", "rows": []})
        elif tag == "tr" and self.tables:
            self.tables[-1]["rows"].append([])
        elif tag in ("td", "th") and self.tables:
            self.tables[-1]["rows"][-1].append("")

    def handle_endtag(self, tag):
        if not self.open or self.open[-1] != tag:
            self.faults.append(f"</{tag}> closes {self.open[-1:]}")
        if tag in self.open:
            while self.open.pop() != tag:
                pass

    def handle_data(self, text):
        inside = self.open[-1] if self.open else ""
        if inside == "script":
            if self.data and self.open.count("script") and not self.data[-1]:
                self.data[-1] = text
            return
        if inside == "style":
            return
        self.words.append(text)
        if "table" in self.open:
            if "caption" in self.open:
                self.tables[-1]["caption"] += text
            elif "td" in self.open or "th" in self.open:
                self.tables[-1]["rows"][-1][-1] += text

    def table(self, start):
        return next((table for table in self.tables if table["caption"].strip().startswith(start)), None)


def main(maps, field, season):
    report = Report()
    folders = sorted(path.parent for path in Path(maps).glob("*/report.html"))
    report.place = maps
    report.check("there is a report", folders)
    for folder in folders:
        page = read_page(report, folder / "report.html")
        read_sheet(report, folder / "map-sheet.pdf", page)
        visits = read_map(report, page, Path(field) / "visits")
        read_season(report, page, visits, json.loads(Path(season).read_text("utf-8")))
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


def read_page(report, path):
    report.place = str(path)
    text = path.read_text("utf-8")
    size = path.stat().st_size
    report.check(f"has less than {MOST_BYTES} bytes", size < MOST_BYTES, size)
    page = Page()
    page.feed(text)
    page.close()
    report.check("is HTML5 in English", text.lower().startswith("<!doctype html>") and '<html lang="en"' in text)
    report.check("every element is closed in its order", not page.faults and not page.open, [*page.faults[:5], *page.open])
    report.check("has one h1 and one main", page.count.get("h1") == 1 and page.count.get("main") == 1, page.count)
    report.check("has a title", page.count.get("title", 0) >= 1)
    report.check("fetches nothing", not page.outside, page.outside[:5])
    styled = re.findall(r"url\((?!data:)[^)]*\)|@import", " ".join(re.findall(r"<style>(.*?)</style>", text, re.S)))
    report.check("its styles fetch nothing", not styled, styled[:5])
    twice = sorted({name for name in page.ids if page.ids.count(name) > 1})
    report.check("no id is there twice", not twice, twice)
    missing = sorted(set(page.refers) - set(page.ids))
    report.check("every reference leads to an id", not missing, missing)
    report.check("has a policy", "default-src 'none'" in page.policy, page.policy)
    for table in page.tables:
        widths = {len(row) for row in table["rows"]}
        report.check(f"rows of {table['caption'].strip()!r} are as long as its head", len(widths) == 1, widths)
    return page


def read_sheet(report, path, page):
    report.place = str(path)
    pages = pypdf.PdfReader(path).pages
    report.check("one page", len(pages) == 1, len(pages))
    size = [float(length) for length in pages[0].mediabox]
    report.check("letter size, landscape", size == [0, 0, 792, 612], size)
    fonts = [font.get_object() for font in pages[0]["/Resources"]["/Font"].values()]
    described = [font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object() for font in fonts]
    report.check("there are fonts, and they are inside", described and all(
        "/FontFile2" in font or "/FontFile3" in font for font in described
    ))
    words = " ".join(pages[0].extract_text().split())
    for said in ["Loose-layer depth: where 200 psi is first reached", "not a tillage depth", "How sure", "Readings"]:
        report.check(f"says {said!r}", said in words)


def read_map(report, page, visits_folder):
    """The probes of the page's map against the survey files; returns the visits."""
    report.check("has its data once", len(page.data) == 1, len(page.data))
    data = json.loads(page.data[0])
    for visit in data["visits"]:
        report.place = f"{report.place.split(',')[0]}, {visit['day']}"
        survey = json.loads((visits_folder / f"{visit['day']}.geojson").read_text("utf-8"))
        there = {feature["properties"]["point_id"]: feature["properties"] for feature in survey["features"]}
        grid = decode(visit["depth"])
        for _, _, kind, spot, text in visit["probes"]:
            if kind > 1:
                continue
            depth_in = there[spot]["depth_in"]
            plus = "+" if there[spot]["at_least"] else ""
            # Depths stand with one decimal at the most.
            says = float(text.rstrip("+")) == round(depth_in, 1) and text.endswith("+") == bool(plus)
            if not says:
                report.check(f"{spot} reads {depth_in}{plus}", False, text)
        read = [p for p in there.values() if p["depth_in"] is not None]
        shown = [probe for probe in visit["probes"] if probe[2] < 2]
        report.check("every reading is on the map but those left out", 0.9 * len(read) <= len(shown) <= len(read), len(shown))
        # Inverse distance makes means of readings; depths are rounded to steps.
        least, most = (end(p["depth_in"] for p in read) * CM_PER_IN for end in (min, max))
        room = visit["depth"]["step"]
        within = all(least - room <= depth <= most + room for depth in grid.values())
        report.check("the surface lies between the least and the greatest reading", grid and within)
    return data["visits"]


def read_season(report, page, visits, season):
    table = page.table("Visits")
    report.check("has a table of visits", table)
    rows = table["rows"][1:]
    report.check("a row for each visit", len(rows) == len(season["visits"]), len(rows))
    for row, visit in zip(rows, season["visits"]):
        median = ("≥ " if visit["median"]["is_lower_bound"] else "") + f"{visit['median']['depth_in']:g}"
        moisture = f"{visit['moisture_mean_pct']:.1f}"
        expected = [str(visit["probes"]), str(visit["not_reached"]), median, moisture]
        found = [row[1].strip(), row[2].strip(), row[3].strip(), row[5].strip()]
        report.check(f"figures of {visit['visit']}", found == expected, [found, expected])


def decode(grid):
    """Cells with a value, centimetres by row and column: what grid_code.rs describes, written anew from its words."""
    bits = "".join(f"{byte:08b}" for byte in base64.b64decode(grid["code"]))
    at = 0

    def take(count):
        nonlocal at
        at += count
        return int(bits[at - count : at] or "0", 2)

    def gamma():
        zeros = 0
        while take(1) == 0:
            zeros += 1
        return (1 << zeros) + take(zeros)

    cells, columns, total = [], grid["columns"], grid["columns"] * grid["rows"]
    has_value = False
    while len(cells) < total:
        cells += [has_value] * (gamma() - 1)
        has_value = not has_value
    steps, last = {}, 0
    for row in range(grid["rows"]):
        inside = [column for column in range(columns) if cells[row * columns + column]]
        if not inside:
            continue
        low_bits = take(4)
        for column in inside:
            high = 0
            while take(1) == 1:
                high += 1
            folded = (high << low_bits) + take(low_bits)
            difference = folded // 2 if folded % 2 == 0 else -(folded + 1) // 2
            a, b, c = (steps.get(place) for place in ((row, column - 1), (row - 1, column), (row - 1, column - 1)))
            if a is not None and b is not None and c is not None:
                guess = min(a, b) if c >= max(a, b) else max(a, b) if c <= min(a, b) else a + b - c
            else:
                guess = next((value for value in (a, b, last) if value is not None), 0)
            steps[row, column] = last = guess + difference
    return {place: value * grid["step"] for place, value in steps.items()}


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
