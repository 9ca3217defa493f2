"""Reads what a clinic pays for a roll of each material."""

import hashlib
import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

from gaiter.core.words import Said
from gaiter.files.document_file import require_kind
from gaiter.files.text_file import name_of, parsed_file
from gaiter.files.wording import FileError, Problem, echo, nearest

_LARGEST_PRICE = 100_000.0


@dataclass(frozen=True)
class Prices:
    """Price of a roll by material.

    Attributes
    ----------
    currency : str
        Name of the currency, for the tables.
    of_roll : dict[str, float]
        Price of one roll.
    sha256 : str
        Fingerprint of the prices themselves.
    """

    currency: str
    of_roll: dict[str, float]
    sha256: str

    @classmethod
    def of(cls, currency: str, of_roll: Mapping[str, float]) -> "Prices":
        """Prices with their fingerprint, in one order."""
        ordered = {key: float(price) for key, price in sorted(of_roll.items())}
        told = json.dumps([currency, ordered])
        return cls(currency, ordered, hashlib.sha256(told.encode()).hexdigest())


def _unknown(key: str) -> Said:
    return Said("unknown field; {advice}", {"advice": nearest(key, ["currency", "roll"])})


def read_prices(path: Path, materials: Collection[str]) -> Prices:
    """The prices in a TOML or JSON file: ``currency`` and a table ``[roll]``.

    Parameters
    ----------
    path : Path
        The file.
    materials : collection of str
        Materials of the catalogue; a price for any other is refused.

    Raises
    ------
    FileError
        With every problem in words.
    """
    mapping = parsed_file(path).mapping
    require_kind(mapping, "prices", name_of(path))
    problems = [Problem(key, _unknown(key)) for key in mapping if key not in ("currency", "roll")]
    currency, table = mapping.get("currency"), mapping.get("roll")
    if not isinstance(currency, str) or not 0 < len(currency) <= 12:
        problems.append(Problem("currency", 'must be a short text such as "EUR": give it'))
    if not isinstance(table, dict) or not table:
        problems.append(Problem("roll", "must be a table of prices, one a material: give it"))
        table = {}
    for key, price in table.items():
        number = isinstance(price, int | float) and not isinstance(price, bool)
        if key not in materials:
            advice = nearest(key, sorted(materials))
            said = Said("is not in the catalogue; {advice}", {"advice": advice})
            problems.append(Problem(f"roll.{key}", said))
        # Compared first: a whole number of a document may be larger than any that is finite here.
        elif not (number and 0 <= price <= _LARGEST_PRICE):
            text = f"must be a price, 0 to {_LARGEST_PRICE:g}; received {echo(price)}: correct it"
            problems.append(Problem(f"roll.{key}", text))
    if problems:
        raise FileError(name_of(path), problems)
    return Prices.of(str(currency), table)
