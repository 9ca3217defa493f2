"""A plan of two legs for the tests of drawings, and what is read off a drawing."""

from functools import cache
from xml.etree import ElementTree

from gaiter.core.plan import Plan, plan
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.files.policy_file import shipped_policy
from tests.strategies import case, case_mapping

SVG = "{http://www.w3.org/2000/svg}"


@cache
def both_legs() -> Plan:
    """One plan with the same measurements on both legs."""
    both = case(**{"legs.left": case_mapping()["legs"]["right"]})
    return plan(both, shipped_policy(), shipped_catalogue(), samples=256)


def parsed(drawing) -> ElementTree.Element:
    """The drawing as a tree."""
    return ElementTree.fromstring(drawing.to_text())


def described(drawing) -> str:
    """What a drawing says in words."""
    return parsed(drawing).findtext(f"{SVG}desc") or ""


def texts(drawing) -> dict[str, ElementTree.Element]:
    """Every text of a drawing by its words."""
    return {element.text or "": element for element in parsed(drawing).iter(f"{SVG}text")}
