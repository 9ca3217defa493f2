"""A small builder for SVG: numbers rounded, text escaped, same input same bytes."""

import copy
from collections.abc import Iterable
from xml.etree import ElementTree

from gaiter.core.arrays import Array
from gaiter.core.draw.palette import FONT, INK


def number(value: float) -> str:
    """A coordinate with at most two decimals.

    >>> number(2.0), number(-0.001), number(3.14159)
    ('2', '0', '3.14')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _path(points: Iterable[Iterable[float]] | Array, *, closed: bool) -> str:
    pairs = [f"{number(x)} {number(y)}" for x, y in points]
    return "M" + "L".join(pairs) + ("Z" if closed else "")


class Pen:
    """Draws on one element of an SVG."""

    def __init__(self, element: ElementTree.Element) -> None:
        self._root = element

    def _add(self, tag: str, attributes: dict[str, float | str]) -> ElementTree.Element:
        plain = {
            name.rstrip("_").replace("_", "-"): number(value)
            if not isinstance(value, str)
            else value
            for name, value in attributes.items()
        }
        return ElementTree.SubElement(self._root, tag, plain)

    def line(self, x1: float, y1: float, x2: float, y2: float, **style: float | str) -> None:
        """A straight line."""
        self._add("line", {"x1": x1, "y1": y1, "x2": x2, "y2": y2, "stroke": INK, **style})

    def rectangle(
        self, x: float, y: float, width: float, height: float, **style: float | str
    ) -> None:
        """An upright rectangle."""
        self._add("rect", {"x": x, "y": y, "width": width, "height": height, **style})

    def circle(self, x: float, y: float, radius: float, **style: float | str) -> None:
        """A circle."""
        self._add("circle", {"cx": x, "cy": y, "r": radius, **style})

    def curve(
        self,
        points: Iterable[Iterable[float]] | Array,
        *,
        closed: bool = False,
        **style: float | str,
    ) -> None:
        """A polyline through points, closed or open."""
        path = _path(points, closed=closed)
        self._add("path", {"d": path, "fill": "none", "stroke_linejoin": "round", **style})

    def text(self, x: float, y: float, words: str, **style: float | str) -> None:
        """A line of text."""
        self._add("text", {"x": x, "y": y, "fill": INK, "font_size": 11, **style}).text = words


class Drawing(Pen):
    """An SVG of a given size, with a title and a description that tell the same facts."""

    def __init__(self, width: float, height: float, title: str, description: str) -> None:
        self.width, self.height = width, height
        root = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {number(width)} {number(height)}",
                "width": number(width),
                "height": number(height),
                "role": "img",
                "aria-label": title,
                "font-family": FONT,
            },
        )
        ElementTree.SubElement(root, "title").text = title
        ElementTree.SubElement(root, "desc").text = description
        super().__init__(root)

    def clipped(self, points: Iterable[Iterable[float]] | Array, name: str) -> Pen:
        """A part of this drawing that shows only inside a closed curve."""
        clip = ElementTree.SubElement(self._root, "clipPath", {"id": name})
        ElementTree.SubElement(clip, "path", {"d": _path(points, closed=True)})
        group = ElementTree.SubElement(self._root, "g", {"clip-path": f"url(#{name})"})
        return Pen(group)

    def place(self, other: "Drawing", x: float, y: float) -> None:
        """Another drawing inside this one, at its own size."""
        inner = copy.deepcopy(other._root)
        del inner.attrib["xmlns"]
        inner.set("x", number(x))
        inner.set("y", number(y))
        self._root.append(inner)

    def to_text(self) -> str:
        """The SVG document."""
        return ElementTree.tostring(self._root, encoding="unicode")
