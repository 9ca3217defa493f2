"""What a page's form about a row carries beside its boxes: what they showed."""

import re
from html import unescape

_INPUT = re.compile(r"<input [^>]*>")


def as_shown(client, address: str) -> dict[str, str]:
    """Hidden fields that say what each box showed, as a browser would send them."""
    page = client.get(address).content.decode()
    found = {}
    for tag in _INPUT.findall(page):
        said = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        if said.get("name", "").startswith("initial-"):
            found[said["name"]] = unescape(said.get("value", ""))
    assert found, f"no form about a row at {address}"
    return found


def boxes_of(shown: dict[str, str]) -> dict[str, str]:
    """The boxes themselves, filled as they were shown; one that is not ticked is not sent."""
    boxes = {name.removeprefix("initial-"): value for name, value in shown.items()}
    return {name: value for name, value in boxes.items() if value != "False"}
