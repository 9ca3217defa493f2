"""Styles, scripts and fonts: one thing a line, whole, typed, and kept for ever by a browser."""

import re
import struct
from pathlib import Path

import pytest
from django.templatetags.static import static
from django.urls import reverse

import gaiter.data
import gaiter.web
from gaiter.operations.fingerprint import fingerprint

WEB = Path(gaiter.web.__file__).parent
FONTS = Path(gaiter.data.__path__[0]) / "fonts"
STYLES = sorted(WEB.glob("*/static/gaiter/*.css"))
SCRIPTS = sorted(WEB.glob("*/static/gaiter/*.js"))
NAMES = {path.name for path in (*STYLES, *SCRIPTS)}


def test_no_two_features_keep_a_file_of_the_same_name() -> None:
    assert len(NAMES) == len(STYLES) + len(SCRIPTS)


@pytest.mark.parametrize("path", STYLES, ids=lambda path: path.name)
def test_a_style_sheet_has_one_declaration_a_line(path: Path) -> None:
    text = path.read_text()
    assert text.startswith("/* "), "the first line says what it is about"
    for number, line in enumerate(re.sub(r"/\*.*?\*/", "", text).split("\n"), 1):
        where = f"{path.name}:{number}: {line}"
        assert len(line) <= 120, where
        assert line.count(";") <= 1, where
        assert line.count("{") + line.count("}") <= 1, where


@pytest.mark.parametrize("path", STYLES, ids=lambda path: path.name)
def test_colours_stand_in_the_palette_alone(path: Path) -> None:
    """Elsewhere they have a name; a drawing and a code to scan are paper in the dark as well."""
    if path.name == "palette.css":
        return
    used = {
        (rule.split("{")[0].strip().rpartition("\n")[2].strip(), colour)
        for rule in path.read_text().split("}")
        for colour in re.findall(r"#[0-9A-Fa-f]{3,8}(?=[\s;])", rule.partition("{")[2])
    }
    assert used <= ON_PAPER, used - ON_PAPER


ON_PAPER = {
    (".drawing", "#FBF8F3"), (".qr", "#FFF"), (".alarm-stop", "#FFF"), (".alarm-stop", "#000"),
    (".alarm-stop .sign", "#000"),
}  # fmt: skip


def test_what_a_style_sheet_or_script_names_is_there() -> None:
    for path in STYLES:
        for name in re.findall(r'url\("fonts/([^"]+)"\)', path.read_text()):
            assert (FONTS / name).is_file(), f"{path.name}: {name}"
    for path in SCRIPTS:
        for name in re.findall(r'^import (?:.* from )?"\./([^"]+)"', path.read_text(), re.M):
            assert name in NAMES, f"{path.name}: {name}"
    for path in WEB.glob("*/templates/*/*.html"):
        for name in re.findall(r"{% static 'gaiter/([^']+\.(?:css|js))' %}", path.read_text()):
            assert name in NAMES, f"{path.name}: {name}"


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_a_script_is_small_and_says_what_it_does(path: Path) -> None:
    lines = path.read_text().split("\n")
    assert lines[0].startswith("// ")
    assert len(lines) <= 150
    assert all(len(line) <= 100 for line in lines)


# Where what the server answered, escaped by its templates, is put in place: nowhere else.
PUT_IN_PLACE = {
    ("following.js", "answer.innerHTML = await response.text()"),
    ("following.js", "slot.innerHTML = part.innerHTML"),
    ("following.js", 'element(":scope > .asked", box).innerHTML = words.get(pathOf(box)) ?? ""'),
    ("sending.js", "place.innerHTML = html"),
    ("live.js", 'element(".answer", part).innerHTML = html'),
    ("live.js", "part.outerHTML = html"),
}


def test_scripts_put_only_what_the_server_escaped_in_place_as_html() -> None:
    found = {
        (path.name, line)
        for path in SCRIPTS
        for line in re.findall(
            r"(?:\w+|element\(.*?\))\.(?:inner|outer)HTML [+|?&]*= [^;]*", path.read_text()
        )
    }
    assert found == PUT_IN_PLACE
    for path in SCRIPTS:
        text = path.read_text()
        for way in ("insertAdjacentHTML", "document.write", "DOMParser", "createContextualFragment",
                    "setHTMLUnsafe", "srcdoc", "eval(", "new Function"):  # fmt: skip
            assert way not in text, path.name


# A value kept under a name that somebody sent, other than in a Map; or one object spilt on another.
POLLUTES = re.compile(
    r"[\w)\]]\[(?![\s\d\"'\]])[^\]\n]*\]\s*=[^=]|"
    r"Object\.assign\((?!\w+, \{ \w)|__proto__|\bfor \([^)]* in |"
    r"[{,]\s*\[[^\]\n]+\]\s*:|\{\s*\.\.\.|structuredClone"
)


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_what_is_keyed_by_data_is_a_map(path: Path) -> None:
    assert POLLUTES.findall(path.read_text()) == []


@pytest.mark.parametrize(
    "line",
    ["held[path] = text;", "a.b[name] = 1;", "f()[key] = 1;", "Object.assign(one, reply);",
     "x.__proto__ = y;", "for (const key in reply) use(key);", "use({ [path]: text });",
     "use({ ...reply });"],
)  # fmt: skip
def test_what_would_pollute_is_noticed(line: str) -> None:
    assert POLLUTES.search(line)


@pytest.mark.parametrize("weight", ["Regular", "Semibold", "Bold"])
def test_a_font_for_the_browser_is_the_one_that_is_printed(weight: str) -> None:
    """A WOFF2 names the length and the number of tables of the font it was made from."""
    printed = (FONTS / f"SourceSans3-{weight}.ttf").read_bytes()
    packed = (FONTS / f"SourceSans3-{weight}.woff2").read_bytes()
    signature, flavour, length, tables = struct.unpack_from(">4s4sIH", packed)
    assert signature == b"wOF2"
    assert flavour == printed[:4]
    assert length == len(packed)
    # The signature over the original bytes is left out, since the glyphs are packed otherwise.
    kept = {
        printed[12 + 16 * n : 16 + 16 * n] for n in range(struct.unpack_from(">H", printed, 4)[0])
    }
    assert tables == len(kept - {b"DSIG"})
    assert len(packed) < 0.4 * len(printed)


def test_a_browser_keeps_static_files_for_ever(client, db) -> None:
    page = client.get(reverse("sign-in")).content.decode()
    addresses = re.findall(r'(?:href|src)="(/static/[^"]+)"', page)
    assert addresses
    font = static("gaiter/fonts/SourceSans3-Regular.woff2")
    for address in (*addresses, font):
        answer = client.get(address)
        assert answer.status_code == 200, address
        assert "immutable" in answer["Cache-Control"], address
        answer.close()
    assert client.get(re.sub(r"/static/\w+/", "/static/", addresses[0])).status_code == 404


def test_whatever_changes_has_another_address(tmp_path: Path) -> None:
    one, other = tmp_path / "one.css", tmp_path / "other.css"
    one.write_text("a")
    other.write_text("b")
    first = fingerprint([tmp_path])
    assert re.fullmatch(r"[0-9a-f]{12}", first)
    assert fingerprint([tmp_path]) == first
    one.write_text("ab")
    other.write_text("")
    moved = fingerprint([tmp_path])
    assert moved != first
    other.rename(tmp_path / "third.css")
    assert fingerprint([tmp_path]) not in (first, moved)
