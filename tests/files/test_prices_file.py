from pathlib import Path

import pytest

from gaiter.core.fabric import Catalogue
from gaiter.files.prices_file import read_prices
from gaiter.files.wording import FileError

EXAMPLE = Path(__file__).parents[2] / "examples/cohort/prices.toml"


def test_the_example_prices_materials_of_the_catalogue(catalogue: Catalogue) -> None:
    prices = read_prices(EXAMPLE, catalogue.materials)
    assert prices.currency == "EUR"
    assert prices.of_roll["short_stretch"] == 6.2


def test_the_fingerprint_is_of_the_prices_not_of_their_order(
    tmp_path: Path, catalogue: Catalogue
) -> None:
    prints = []
    for lines in (["zinc_paste = 4", "coarse_gauze = 1"], ["coarse_gauze = 1.0", "zinc_paste = 4"]):
        path = tmp_path / "prices.toml"
        path.write_text('currency = "EUR"\n[roll]\n' + "\n".join(lines))
        prints.append(read_prices(path, catalogue.materials).sha256)
    assert prints[0] == prints[1]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[roll]\nzinc_paste = 4", 'currency: must be a short text such as "EUR": give it'),
        ('currency = "EUR"', "roll: must be a table of prices, one a material: give it"),
        ('currency = "EUR"\n[roll]\nzinc_past = 4',
         "roll.zinc_past: is not in the catalogue; did you mean zinc_paste"),
        ('currency = "EUR"\n[roll]\nzinc_paste = -4', "must be a price, 0 to 100000; received -4"),
        ('currency = "EUR"\n[roll]\nzinc_paste = "4"', "received '4': correct it"),
        ('currency = "EUR"\n[roll]\nzinc_paste = nan', "received nan: correct it"),
        ('currency = "EUR"\n[roll]\nzinc_paste = inf', "received inf: correct it"),
        ('currency = "EUR"\n[roll]\nzinc_paste = 1' + "0" * 400, "must be a price, 0 to 100000"),
        ('currency = "EUR"\n[roll]\nzinc_paste = true', "received True: correct it"),
        # No float holds a whole number of 400 digits, and no sentence repeats it.
        ('currency = "EUR"\n[roll]\nzinc_paste = 1' + "0" * 400,
         "received 1" + "0" * 59 + "…: correct it"),
        ('currency = "EUR"\n[roll]\nzinc_paste = "' + "x" * 999 + '"',
         "received '" + "x" * 59 + "…: correct it"),
        ('currency = "EUR"\n[roll]\n' + "x" * 999 + " = 1",
         "roll." + "x" * 60 + "…: is not in the catalogue"),
        ('curency = "EUR"\n[roll]\nzinc_paste = 4', "unknown field; did you mean currency"),
    ],
)  # fmt: skip
def test_refusals(tmp_path: Path, catalogue: Catalogue, text: str, words: str) -> None:
    path = tmp_path / "prices.toml"
    path.write_text(text)
    with pytest.raises(FileError, match=words):
        read_prices(path, catalogue.materials)
