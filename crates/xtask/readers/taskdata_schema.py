"""What the schemas of ISO 11783-10 ask of a TASKDATA.XML, without the schemas.

PyPI isoxml models versions 3 and 4 as data classes that carry each attribute's type, range, length,
pattern, and whether it is required. Its own reader is lenient; here all of it is checked, and what no
schema can say: references, codes, and the sizes of the grids' files.
"""

import dataclasses
import importlib
import re
import typing
from collections import Counter
from decimal import Decimal, InvalidOperation
from pathlib import Path

from lxml import etree


def faults(folder):
    """Sentences on everything that is wrong in a TASKDATA folder; none when nothing is."""
    folder = Path(folder)
    root = etree.parse(str(folder / "TASKDATA.XML")).getroot()
    models = models_of(root.get("VersionMajor", ""))
    if models is None:
        return [f"version {root.get('VersionMajor')} is neither 3 nor 4"]
    found = []
    for element in root.iter(etree.Element):
        found += element_faults(element, models)
    found += reference_faults(root, models)
    for task in root.iter("TSK"):
        found += task_faults(task, folder)
    return found


def models_of(version):
    """The data classes of a version by the names of their elements."""
    if version not in ("3", "4"):
        return None
    module = importlib.import_module(f"isoxml.models.base.v{version}")
    classes = [value for value in vars(module).values() if dataclasses.is_dataclass(value)]
    return {model.Meta.name: Model(model) for model in classes}


class Model:
    """One element: its attributes with what they may be, and its children."""

    def __init__(self, model):
        hints = typing.get_type_hints(model)
        self.attributes, self.children = {}, set()
        for field in dataclasses.fields(model):
            name = field.metadata.get("name", field.name)
            if field.metadata.get("type") == "Attribute":
                self.attributes[name] = (field.metadata, value_types(hints[field.name]))
            else:
                self.children.add(name)


def value_types(hint):
    """The types in `None | int`, without the nothing; text, which everything is, last."""
    types = [kind for kind in typing.get_args(hint) if kind is not type(None)]
    return sorted(types or [hint], key=lambda kind: kind is str)


def element_faults(element, models):
    model = models.get(element.tag)
    if model is None:
        return [f"no element {element.tag} in this version"]
    found = [f"{child.tag} in {element.tag}" for child in element if child.tag not in model.children]
    for name, (rules, _) in model.attributes.items():
        if rules.get("required") and name not in element.attrib:
            found.append(f"{element.tag} has no {name}")
    for name, text in element.attrib.items():
        if name not in model.attributes:
            found.append(f"no attribute {name} of {element.tag} in this version")
            continue
        rules, types = model.attributes[name]
        found += [f"{element.tag} {name}={text!r}: {fault}" for fault in value_faults(text, rules, types)]
    return found


def value_faults(text, rules, types):
    found = []
    value = next((value for kind in types if (value := parsed(text, kind)) is not None), None)
    if value is None:
        return [f"is not {' or '.join(kind.__name__ for kind in types)}"]
    if isinstance(value, (int, float, Decimal)):
        if "min_inclusive" in rules and value < rules["min_inclusive"]:
            found.append(f"below {rules['min_inclusive']}")
        if "max_inclusive" in rules and value > rules["max_inclusive"]:
            found.append(f"above {rules['max_inclusive']}")
    if isinstance(value, Decimal) and "fraction_digits" in rules:
        if -value.as_tuple().exponent > rules["fraction_digits"]:
            found.append(f"more than {rules['fraction_digits']} decimals")
    if isinstance(value, (str, bytes)):
        least, most = rules.get("min_length", 0), rules.get("max_length", len(value))
        if not least <= len(value) <= most or len(value) != rules.get("length", len(value)):
            found.append(f"of length {len(value)}")
    if "pattern" in rules and not re.fullmatch(rules["pattern"], text):
        found.append(f"not like {rules['pattern']}")
    return found


def parsed(text, kind):
    """The value a text has in a type; None where it has none. Whole numbers take no exponent."""
    try:
        if kind is int:
            return int(text) if re.fullmatch(r"[+-]?[0-9]+", text) else None
        if kind is bytes:
            return bytes.fromhex(text) if re.fullmatch(r"([0-9A-Fa-f]{2})*", text) else None
        return kind(text)
    except (ValueError, InvalidOperation):
        return None


def reference_faults(root, models):
    """Ids given twice, and references to none."""
    ids, references = Counter(), []
    for element in root.iter(etree.Element):
        model = models.get(element.tag)
        for name, text in element.attrib.items():
            rules, _ = model.attributes.get(name, ({}, None)) if model else ({}, None)
            full_name = rules.get("full_name", "")
            if full_name.endswith("IdRef"):
                references.append((element.tag, name, text))
            elif name == "A" and full_name.endswith("Id"):
                ids[text] += 1
    found = [f"id {text} is given {count} times" for text, count in ids.items() if count > 1]
    return found + [f"{tag} {name} refers to {text}, which is not there" for tag, name, text in references if text not in ids]


def task_faults(task, folder):
    """Codes of a task's zones, and its grids."""
    found = []
    codes = Counter(zone.get("A") for zone in task.findall("TZN"))
    found += [f"{task.get('A')}: code {code} {count} times" for code, count in codes.items() if count > 1]
    for name in "HIJ":
        if task.get(name) not in codes:
            found.append(f"{task.get('A')}: {name} names no zone")
    grids = task.findall("GRD")
    if len(grids) > 1:
        found.append(f"{task.get('A')}: {len(grids)} grids")
    for grid in grids:
        found += [f"{task.get('A')}: {fault}" for fault in grid_faults(task, grid, codes, folder)]
    used = {task.get(name) for name in "HIJ"} | {grid.get("J") for grid in grids}
    for zone in task.findall("TZN"):
        in_grid = any(grid.get("I") == "1" and zone.get("A") in grid_codes(grid, folder) for grid in grids)
        if zone.get("A") not in used and not in_grid and zone.find("PLN") is None:
            found.append(f"{task.get('A')}: zone {zone.get('A')} has no ground")
    return found


def grid_faults(task, grid, codes, folder):
    file = folder / f"{grid.get('G')}.bin"
    if not file.is_file():
        return [f"no file {file.name}"]
    found, size = [], file.stat().st_size
    cells = int(grid.get("E")) * int(grid.get("F"))
    if grid.get("H") != str(size):
        found.append(f"{file.name} has {size} bytes, H says {grid.get('H')}")
    if grid.get("I") == "1":
        if size != cells:
            found.append(f"{file.name} has {size} bytes for {cells} cells")
        unknown = grid_codes(grid, folder) - set(codes)
        if unknown:
            found.append(f"codes {sorted(unknown)} in {file.name} are no zones")
    else:
        template = [zone for zone in task.findall("TZN") if zone.get("A") == grid.get("J")]
        if not template:
            found.append("J of a grid of doses names no zone")
        elif size != 4 * cells * len(template[0].findall("PDV")):
            found.append(f"{file.name} has {size} bytes for {cells} cells of doses")
    return found


def grid_codes(grid, folder):
    file = folder / f"{grid.get('G')}.bin"
    return {str(code) for code in file.read_bytes()} if file.is_file() else set()
