"""A small builder for SVG: numbers rounded, text escaped, same input same bytes."""

import copy
from collections.abc import Iterable
from xml.etree import ElementTree

from gaiter.core.arrays import Array
from gaiter.core.draw.palette import FONT, INK
from gaiter.core.words import Said, Translate


def number(value: float) -> str:
    """A coordinate with at most two decimals.

    Parameters
    ----------
    value : float
        [px].

    Returns
    -------
    str

    Examples
    --------
    >>> number(2.0), number(-0.001), number(3.14159)
    ('2', '0', '3.14')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _path(points: Iterable[Iterable[float]] | Array, *, closed: bool) -> str:
    pairs = [f"{number(x)} {number(y)}" for x, y in points]
    return "M" + "L".join(pairs) + ("Z" if closed else "")


def _told(words: Said | str, translate: Translate) -> str:
    return words.told(translate) if isinstance(words, Said) else words


class Pen:
    """Draws on one element of an SVG.

    Parameters
    ----------
    element : xml.etree.ElementTree.Element
        What is drawn on.
    translate : callable
        From a template of words to the same in the reader's language.

    Examples
    --------
    >>> group = ElementTree.Element("g")
    >>> Pen(group).circle(1, 2, 3)
    >>> group[0].tag
    'circle'
    """

    def __init__(self, element: ElementTree.Element, translate: Translate = str) -> None:
        self._root, self._translate = element, translate

    def _add(self, tag: str, attributes: dict[str, float | str]) -> ElementTree.Element:
        plain = {
            name.rstrip("_").replace("_", "-"): number(value)
            if not isinstance(value, str)
            else value
            for name, value in attributes.items()
        }
        return ElementTree.SubElement(self._root, tag, plain)

    def line(self, x1: float, y1: float, x2: float, y2: float, **style: float | str) -> None:
        """A straight line.

        Parameters
        ----------
        x1, y1, x2, y2 : float
            Its ends [px].
        **style : float or str
            Attributes, ``_`` for ``-``.

        Examples
        --------
        >>> group = ElementTree.Element("g")
        >>> Pen(group).line(0, 0, 3, 4, stroke_width=2)
        >>> group[0].get("stroke-width")
        '2'
        """
        self._add("line", {"x1": x1, "y1": y1, "x2": x2, "y2": y2, "stroke": INK, **style})

    def rectangle(
        self, x: float, y: float, width: float, height: float, **style: float | str
    ) -> None:
        """An upright rectangle.

        Parameters
        ----------
        x, y : float
            Upper left corner [px].
        width, height : float
            Size [px], 0 or more.
        **style : float or str
            Attributes, ``_`` for ``-``.

        Examples
        --------
        >>> group = ElementTree.Element("g")
        >>> Pen(group).rectangle(0, 0, 3, 4)
        >>> group[0].get("height")
        '4'
        """
        self._add("rect", {"x": x, "y": y, "width": width, "height": height, **style})

    def circle(self, x: float, y: float, radius: float, **style: float | str) -> None:
        """A circle.

        Parameters
        ----------
        x, y : float
            Middle [px].
        radius : float
            [px], 0 or more.
        **style : float or str
            Attributes, ``_`` for ``-``.

        Examples
        --------
        >>> group = ElementTree.Element("g")
        >>> Pen(group).circle(0, 0, 2.5)
        >>> group[0].get("r")
        '2.5'
        """
        self._add("circle", {"cx": x, "cy": y, "r": radius, **style})

    def curve(
        self,
        points: Iterable[Iterable[float]] | Array,
        *,
        closed: bool = False,
        **style: float | str,
    ) -> None:
        """A polyline through points, closed or open.

        Parameters
        ----------
        points : iterable of (float, float), or ndarray, shape (points, 2)
            [px].
        closed : bool
            Whether it ends where it began.
        **style : float or str
            Attributes, ``_`` for ``-``.

        Examples
        --------
        >>> group = ElementTree.Element("g")
        >>> Pen(group).curve([(0, 0), (1, 2)], closed=True)
        >>> group[0].get("d")
        'M0 0L1 2Z'
        """
        path = _path(points, closed=closed)
        self._add("path", {"d": path, "fill": "none", "stroke_linejoin": "round", **style})

    def text(self, x: float, y: float, words: Said | str, **style: float | str) -> None:
        """A line of text.

        Parameters
        ----------
        x, y : float
            Where its base line begins [px].
        words : Said or str
            What it says; a text, such as a number, stands as it is in every language.
        **style : float or str
            Attributes, ``_`` for ``-``.

        Examples
        --------
        >>> group = ElementTree.Element("g")
        >>> Pen(group).text(0, 0, "40 mmHg")
        >>> group[0].text
        '40 mmHg'
        """
        line = self._add("text", {"x": x, "y": y, "fill": INK, "font_size": 11, **style})
        line.text = _told(words, self._translate)


class Drawing(Pen):
    """An SVG of a given size, with a title and a description that tell the same facts.

    Parameters
    ----------
    width, height : float
        Size [px], above 0.
    title, description : Said or str
        What it shows, for a reader who does not see it.
    translate : callable
        From a template of words to the same in the reader's language.

    Examples
    --------
    >>> Drawing(30, 20, "Leg", "A leg.").to_text()[:4]
    '<svg'
    """

    def __init__(
        self,
        width: float,
        height: float,
        title: Said | str,
        description: Said | str,
        translate: Translate = str,
    ) -> None:
        self.width, self.height = width, height
        name = _told(title, translate)
        root = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {number(width)} {number(height)}",
                "width": number(width),
                "height": number(height),
                "role": "img",
                "aria-label": name,
                "font-family": FONT,
            },
        )
        ElementTree.SubElement(root, "title").text = name
        ElementTree.SubElement(root, "desc").text = _told(description, translate)
        super().__init__(root, translate)

    def clipped(self, points: Iterable[Iterable[float]] | Array, name: str) -> Pen:
        """A part of this drawing that shows only inside a closed curve.

        Parameters
        ----------
        points : iterable of (float, float), or ndarray, shape (points, 2)
            The curve [px].
        name : str
            Its name, once in a document.

        Returns
        -------
        Pen
            Draws on that part.

        Examples
        --------
        >>> drawing = Drawing(30, 20, "Leg", "A leg.")
        >>> drawing.clipped([(0, 0), (1, 0), (1, 1)], "edge").circle(1, 1, 5)
        >>> 'clip-path="url(#edge)"' in drawing.to_text()
        True
        """
        clip = ElementTree.SubElement(self._root, "clipPath", {"id": name})
        ElementTree.SubElement(clip, "path", {"d": _path(points, closed=True)})
        group = ElementTree.SubElement(self._root, "g", {"clip-path": f"url(#{name})"})
        return Pen(group, self._translate)

    def place(self, other: "Drawing", x: float, y: float) -> None:
        """Another drawing inside this one, at its own size.

        Parameters
        ----------
        other : Drawing
            What is placed; it stays as it is.
        x, y : float
            Its upper left corner [px].

        Examples
        --------
        >>> whole = Drawing(30, 20, "Both legs", "Two legs.")
        >>> whole.place(Drawing(10, 20, "Leg", "A leg."), 15, 0)
        >>> whole.to_text().count("<svg")
        2
        """
        inner = copy.deepcopy(other._root)
        del inner.attrib["xmlns"]
        inner.set("x", number(x))
        inner.set("y", number(y))
        self._root.append(inner)

    def to_text(self) -> str:
        """The SVG document.

        Returns
        -------
        str

        Examples
        --------
        >>> "<title>Leg</title>" in Drawing(30, 20, "Leg", "A leg.").to_text()
        True
        """
        return ElementTree.tostring(self._root, encoding="unicode")
