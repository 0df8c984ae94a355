#!/usr/bin/env python3
"""svg.py PROGRAM: what stands on the drawings, read back as XML (W3C: XML 1.0; SVG 1.1, 8.3 Path data).

Every shipped appliance and the odd one, without a function and in each: the document parses, no text lies on
another text nor a line on a text, everything lies inside the viewBox, every mark stands there once and else is
said to be repeated, all letters have 10 pixels or more, and twice the same command gives the same bytes."""
import json
import pathlib
import re
import subprocess
import sys
import xml.etree.ElementTree as xml

here = pathlib.Path(__file__).resolve().parent
top = here.parent.parent.parent
program = sys.argv[1]
arguments = {"M": 2, "L": 2, "Q": 4, "C": 6, "S": 4, "A": 7, "H": 1, "V": 1, "Z": 0}
LETTER_EM = 0.6  # estimated width


def ask(*words):
    return subprocess.run([program, *words], cwd=top, capture_output=True, check=True).stdout


def name_of(element):
    return element.tag.rpartition("}")[2]


def points_of(data):
    """Corners of a path, control points too; arcs by their ends."""
    x = y = 0.0
    for letter, rest in re.findall(r"([A-Z])([^A-Z]*)", data):
        numbers = [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", rest)]
        size = arguments[letter]
        assert len(numbers) == 0 if size == 0 else len(numbers) % size == 0, data
        for at in range(0, len(numbers), size or 1):
            given = numbers[at:at + size]
            if letter == "H":
                x = given[0]
            elif letter == "V":
                y = given[0]
            else:
                pairs = [given[-2:]] if letter == "A" else [given[i:i + 2] for i in range(0, size, 2)]
                yield from pairs[:-1]
                x, y = pairs[-1]
            yield [x, y]


def shape_points(element):
    value = lambda key: float(element.get(key, 0))
    kind = name_of(element)
    if kind == "path":
        return list(points_of(element.get("d")))
    if kind == "rect":
        return [[value("x"), value("y")], [value("x") + value("width"), value("y") + value("height")]]
    if kind in ("circle", "ellipse"):
        rx, ry = (value("r"), value("r")) if kind == "circle" else (value("rx"), value("ry"))
        return [[value("cx") - rx, value("cy") - ry], [value("cx") + rx, value("cy") + ry]]
    return []


def moved(transform, point):
    if not transform:
        return point
    dx, dy = map(float, re.match(r"translate\((-?\d+) (-?\d+)\)", transform).groups())
    x, y = (-point[1], point[0]) if transform.endswith(" rotate(90)") else point
    return [x + dx, y + dy]


def text_box(element):
    size, text = float(element.get("font-size")), element.text
    width = LETTER_EM * size * len(text)
    left = float(element.get("x")) - {"start": 0, "middle": width / 2, "end": width}[element.get("text-anchor")]
    y = float(element.get("y"))
    return left, y - 0.75 * size, left + width, y + 0.25 * size, text, size


class Sheet:
    def __init__(self, document):
        self.boxes, self.points, self.lines, self.once, self.again = [], [], [], [], []
        self.root = xml.fromstring(document)
        self.look(self.root, None)

    def look(self, element, transform):
        transform = element.get("transform", transform)
        if element.get("data-mark"):
            (self.again if element.get("data-repeated") else self.once).append(element.get("data-mark"))
        if name_of(element) == "text":
            self.boxes.append(text_box(element))
        points = [moved(transform, point) for point in shape_points(element)]
        self.points += points
        if name_of(element) == "path" and not transform and re.fullmatch(r"M-?\d+ -?\d+(L-?\d+ -?\d+|H-?\d+)", element.get("d")):
            self.lines.append(points)
        for child in element:
            self.look(child, transform)


def judge(sheet, marks):
    _, _, width, height = map(float, sheet.root.get("viewBox").split())
    for box in sheet.boxes:
        if box[0] < 0 or box[1] < 0 or box[2] > width or box[3] > height:
            yield f"outside: {box}"
        if box[5] < 10:
            yield f"too small: {box}"
    for i, a in enumerate(sheet.boxes):
        for b in sheet.boxes[:i]:
            if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]:
                yield f"{a[4]!r} lies on {b[4]!r}"
        for (x1, y1), (x2, y2) in sheet.lines:
            if min(x1, x2) < a[2] and max(x1, x2) > a[0] and min(y1, y2) < a[3] and max(y1, y2) > a[1]:
                yield f"a line from {x1:g},{y1:g} to {x2:g},{y2:g} crosses {a[4]!r} at {a[0]:g},{a[1]:g}"
    for x, y in sheet.points:
        if not (0 <= x <= width and 0 <= y <= height):
            yield f"outside: {x}, {y}"
    for mark in marks:
        if sheet.once.count(mark) != 1:
            yield f"mark {mark} stands {sheet.once.count(mark)} times"
    for mark in set(sheet.again) - set(sheet.once):
        yield f"mark {mark} is repeated, but stands nowhere"
    if [name_of(child) for child in sheet.root][:2] != ["title", "desc"]:
        yield "no title and desc at the beginning"
    for name in ("script", "image", "foreignObject"):
        if any(name_of(element) == name for element in sheet.root.iter()):
            yield f"not self-contained: {name}"


def main():
    failed = 0
    files = sorted((top / "data/appliances").glob("*.yaml")) + [here / "odd.yaml"]
    for file in files:
        facts = json.loads(ask("appliance", "show", str(file), "--json"))
        marks = [entry["mark"] for entry in facts["marks"]]
        for function in [None, *(entry["function"] for entry in facts["functions"])]:
            command = ["draw", str(file)] + (["--function", function] if function else [])
            document = ask(*command)
            faults = list(judge(Sheet(document), marks))
            if document != ask(*command):
                faults.append("not the same bytes twice")
            if (function is None) == (b"stroke-width=\"4\"" in document):
                faults.append("live conductors are marked in a function, and only there")
            name = f"{file.stem}, {function or 'no function'}"
            print(f"[ RUN      ] {name}", *faults, f"[{'  FAILED  ' if faults else '       OK '}] {name}", sep="\n")
            failed += bool(faults)
    # 240 V squared by 2000 W is 28.8 ohm at work; cold it is 1.008 times less.
    plated = ask("draw", "range-208", "--plate", "bake=2000W")
    print(f"[{'       OK ' if b'>2000 W, 28.6 ohm cold<' in plated else '  FAILED  '}] the plate's figures stand on the drawing")
    return 1 if failed or b">2000 W, 28.6 ohm cold<" not in plated else 0


sys.exit(main())
