# SPDX-License-Identifier: GPL-3.0-or-later
"""Lines of a drawn sheet, read back from its SVG in millimetres of paper, so that a test can measure what was drawn."""
import re
import xml.etree.ElementTree as tree

SVG = "{http://www.w3.org/2000/svg}"
DASHES = {"": "none", "1.2,0.8": "short", "3,1": "long", "4,0.8,0.8,0.8": "centre", "0.01,0.9": "dots"}


class Line:
    def __init__(self, style, spots, closed):
        self.width = float(style.get("stroke-width", 0))
        self.colour = style.get("stroke", "")
        self.dash = DASHES.get(style.get("stroke-dasharray", "").replace(" ", ""), "other")
        self.spots, self.closed, self.round = spots, closed, False

    @property
    def start(self):
        return self.spots[0]

    @property
    def end(self):
        return self.spots[-1]

    @property
    def centre(self):
        """Of a circle: its four quarters' ends lie about it."""
        return tuple((min(spot[i] for spot in self.spots) + max(spot[i] for spot in self.spots)) / 2 for i in (0, 1))

    @property
    def radius(self):
        return (max(x for x, _ in self.spots) - min(x for x, _ in self.spots)) / 2


def colour(red, green, blue):
    return f"rgb({round(100 * red)}%,{round(100 * green)}%,{round(100 * blue)}%)"


INK, SOFT, FAINT = colour(0.08, 0.09, 0.11), colour(0.33, 0.35, 0.38), colour(0.66, 0.68, 0.70)
MARK, SCRIBE = colour(0.70, 0.22, 0.02), colour(0.02, 0.26, 0.52)


def read(path):
    """Title, description and all stroked lines of a drawing."""
    root = tree.parse(path).getroot()
    lines = []
    for element in root.iter(SVG + "path"):
        style = dict(part.split(":", 1) for part in (element.get("style") or "").split(";") if ":" in part)
        style = {key.strip(): value.strip() for key, value in style.items()}
        if style.get("stroke", "none") == "none":
            continue
        assert element.get("transform", "").replace(" ", "") in ("matrix(10,0,0,10,0,0)", "matrix(10,0,0,10,0,0)"), "mm"
        text = element.get("d")
        number = r"(-?[\d.]+) (-?[\d.]+)"
        spots = [(float(x), float(y)) for x, y in re.findall(rf"(?:[ML]|C (?:-?[\d.]+ ){{4}}) ?{number}", text)]
        if "Z" in text and len(spots) > 1 and spots[-1] == spots[0]:
            spots.pop()  # cairo goes back to the start of what it has closed
        line = Line(style, spots, "Z" in text)
        line.round = "C" in text
        lines.append(line)
    return root.find(SVG + "title").text, root.find(SVG + "desc").text, lines


def scale(words):
    """Paper millimetres for each real one, from the words "1 : 5"."""
    return 1 / float(re.search(r"1 : ([\d.]+)", words).group(1))
