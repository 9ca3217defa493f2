"""Hostile requests: values, bodies, headers, paths and cookies that no page of ours sends."""

import json
import random
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import quote

TEXTS = (
    "", " ", "nan", "-nan", "inf", "-inf", "1e999", "-1e999", "1e-400", "-0", "-1", "0", "2_3",
    "1.5", "1,5", "1,5,6", "0x1F", "9" * 15, "9" * 16, "9" * 5000, "1" + "0" * 400 + ".5",
    "2147483648", "9223372036854775808", "-9223372036854775809", "٣٥", "४५", "２６", "²", "½",
    "9999-12-31", "0001-01-01", "2026-02-30", "2026-11-25T10:00", "20261125", "2026-W48-3",
    "next=abc", "abc", "//evil.example/", "https://evil.example/", "/\\evil.example", "\\\\evil",
    "javascript:alert(1)", "next=//evil.example/", "true", "null", "[]", "{}",
    "[" * 100_000, "x" * 70_000, "x" * 300, "́" * 900, "\x00", "a\x00b", "\ud800", "a\udfffb",
    "a\r\nSet-Cookie: b=c", "\x1b[31m", "\u202eabc\u202c", "\u200f", "\ufeff", "\u2028",
    "=1+1", "@SUM(A1)", "'; DROP TABLE records_person; --", "<script>alert(1)</script>",
    "{{ request }}", "{0.__class__}", "%(a)s %s %n", "${HOME}", "../../etc/passwd", "curve = {",
    "curve = { low = nan, high = inf }", "a = " + "[" * 2000, "system=abc&stretch.x=nan",
    "&".join(f"pad.a{n}={n}" for n in range(300)), "hands=" + "9" * 5000, "a=%ED%A0%80&b=%00",
)  # fmt: skip
# The first pair stands in every address; the last cannot be a number of any row.
KEYS = (
    "0", "-1", "999999", "9" * 19, "9" * 20, "9" * 400, "9" * 5000, "%D9%A1", "%EF%BC%91", "1_0",
    "1%00", "%00", "%ED%A0%80", "1e3", "nan", "1.0", "+1", "%2e%2e", "x" * 3000, "%27", "a%0d%0ab",
)  # fmt: skip
_HEADERS: Mapping[str, Sequence[str]] = {
    "Accept": (
        "application/json", "application/json;q=0", "*/*", "", "a" * 5000, "text/html", "[[[",
        "application/json, text/html", "\x00",
    ),
    "X-Part": ("design", "", "abc", "design" * 500),
    "Referer": (
        "//evil.example/", "https://evil.example/", "abc", "http://testserver/", "http://[",
        "http://testserver:99999999/", "javascript:alert(1)", "é" * 300,
    ),
    "Origin": ("https://evil.example", "null", "http://["),
    "Accept-Language": ("de;q=nan", "en-" * 800, "x", ",,,;q=,", "\u0663", "en;q=1e999"),
    "Host": ("evil.example", "testserver:abc", "[", "a" * 300, "localhost."),
    "X-Forwarded-For": ("9" * 5000, "::1, abc", "evil", "\x00"),
    "X-Forwarded-Proto": ("https", "abc"),
    "X-CSRFToken": ("a", "a" * 32, "é" * 64),
    "Range": ("bytes=0-", "bytes=nan-inf"),
    "If-Modified-Since": ("Sun, 99 Nov 99999 99:99:99 GMT", "0"),
    "If-None-Match": ('"' * 99, "*"),
}  # fmt: skip
_CONTENT_TYPES = (
    "", "abc", "text/plain", "application/json", "application/json; charset=utf-16",
    "text/plain; charset*=nonsense''a", "multipart/form-data; boundary=edge; a*=hex''b",
    "multipart/form-data", "multipart/form-data; boundary=", "multipart/form-data; boundary=\x80",
    "multipart/form-data; boundary=" + "x" * 5000, "multipart/mixed; boundary=abc",
    *(
        f"application/x-www-form-urlencoded; charset={name}"
        for name in ("utf-7", "idna", "rot13", "hex", "zlib", "punycode", "undefined", "utf-16",
                     "unicode_escape", "raw_unicode_escape", "nonsense", "\x00")
    ),
    *(
        f"multipart/form-data; boundary=edge; charset={name}"
        for name in ("utf-7", "idna", "rot13", "hex", "punycode", "undefined", "utf-16", "nonsense")
    ),
)  # fmt: skip
_COOKIES = ("gaiter", "gaiter-form", "gaiter-browser", "django_language", "messages", "a" * 300)
_FILE_NAMES = (
    "leg.png", "../../etc/passwd", "", ".", "..", "a\x00b.png", "x" * 500, "=1+1.csv", "\u202egnp",
    "con", "leg.csv", '"; filename="b', "a\r\nb",
)  # fmt: skip
_EDGE = "edge"


@dataclass(frozen=True)
class Request:
    """One request as bytes and headers."""

    verb: str
    path: str
    query: str = ""
    body: bytes = b""
    content_type: str = "application/x-www-form-urlencoded"
    headers: Mapping[str, str] = field(default_factory=dict)
    cookies: Mapping[str, str] = field(default_factory=dict)

    def __str__(self) -> str:
        """Short enough for a line."""
        parts = [self.verb, _short(self.path + ("?" + self.query if self.query else ""))]
        parts += [f"{name}: {_short(value)}" for name, value in self.headers.items()]
        parts += [f"cookie {_short(name)}={_short(value)}" for name, value in self.cookies.items()]
        if self.body:
            parts += [_short(self.content_type), f"{len(self.body)} bytes {self.body[:300]!r}"]
        return " | ".join(parts)


def _short(text: str) -> str:
    return repr(text if len(text) <= 120 else f"{text[:100]}… ({len(text)} characters)")


@dataclass(frozen=True)
class Form:
    """What a view asks for: good values of each field, and the names of its files."""

    fields: Mapping[str, Sequence[str]] = field(default_factory=dict)
    files: frozenset[str] = frozenset()
    # A body of JSON that the page itself could have sent.
    document: Any = None

    def good(self, draw: random.Random) -> list[tuple[str, str]]:
        """Every field with one of its good values; some that may stay empty are left out."""
        return [
            (name, draw.choice(values))
            for name, values in self.fields.items()
            if values and draw.random() < 0.9
        ]


def hostile(verb: str, path: str, form: Form, draw: random.Random) -> Request:
    """One hostile request to an address."""
    query, body, kind = "", b"", _Sent.content_type
    if verb == "GET":
        query = encoded(_with_hostile(form, draw)) if draw.random() < 0.8 else ""
    else:
        body, kind = _body(form, draw)
        if draw.random() < 0.15:
            query = encoded(_with_hostile(form, draw)[:40])
    if draw.random() < (0.05 if verb == "POST" else 0.2):
        path = path_with(path, draw.choice(KEYS))
    headers = {}
    if draw.random() < 0.3:
        for name in draw.sample(sorted(_HEADERS), draw.randint(1, 2)):
            headers[name] = draw.choice(_HEADERS[name])
    cookies = {}
    if draw.random() < 0.05:
        cookies[draw.choice(_COOKIES)] = draw.choice(TEXTS)[:4000]
    return Request(verb, path, query, body, kind, headers, cookies)


class _Sent:
    content_type = "application/x-www-form-urlencoded"


def path_with(path: str, key: str) -> str:
    """The path with another key where it names a row; of one that names none, its last part."""
    parts = path.split("/")
    named = [n for n, part in enumerate(parts) if part.isdigit()] or [len(parts) - 2]
    parts[named[0]] = key
    return "/".join(parts)


def encoded(pairs: Sequence[tuple[str, str]]) -> str:
    """A form as a browser sends it, with what a browser would not send."""
    return "&".join(
        "=".join(quote(text.encode("utf-8", "surrogatepass"), safe="") for text in pair)
        for pair in pairs
    )


def _with_hostile(form: Form, draw: random.Random) -> list[tuple[str, str]]:
    pairs = form.good(draw)
    names = [*form.fields, "next", "once", "asked", "x" * 300, "\x00"]
    for _one in range(draw.choice((1, 1, 1, 2, 3))):
        name = draw.choice(names[: len(form.fields)] or names) if draw.random() < 0.9 else None
        name = name or draw.choice(names)
        pairs = [pair for pair in pairs if pair[0] != name]
        pairs.append((name, draw.choice(TEXTS)))
    if draw.random() < 0.03:
        pairs += [draw.choice(pairs)] * 600
    return pairs


def _body(form: Form, draw: random.Random) -> tuple[bytes, str]:
    chance = draw.random()
    if (form.document is not None and chance < 0.85) or chance < 0.04:
        document = form.document if form.document is not None else {"entries": []}
        return _hostile_json(document, draw), "application/json"
    if chance > 0.95:
        body = encoded(_with_hostile(form, draw)).encode() if draw.random() < 0.6 else _noise(draw)
        return body, draw.choice(_CONTENT_TYPES)
    pairs = _with_hostile(form, draw)
    if form.files or draw.random() < 0.25:
        kind = f"multipart/form-data; boundary={_EDGE}"
        if draw.random() < 0.05:
            kind = draw.choice([k for k in _CONTENT_TYPES if k.startswith("multipart")])
        return _multipart(pairs, form.files, draw), kind
    return encoded(pairs).encode(), _Sent.content_type


def _multipart(
    pairs: Sequence[tuple[str, str]], files: frozenset[str], draw: random.Random
) -> bytes:
    parts = [(f'name="{name}"', "", value.encode("utf-8", "surrogatepass"))
             for name, value in pairs]  # fmt: skip
    for name in sorted(files) or (["file"] if draw.random() < 0.2 else []):
        if draw.random() < 0.95:
            head = f'name="{name}"; filename="{draw.choice(_FILE_NAMES)}"'
            kind = draw.choice(
                ("image/png", "application/pdf", "", "x" * 3000, "text/csv; charset=hex")
            )
            parts.append((head, f"\r\nContent-Type: {kind}" if kind else "", _content(draw)))
    if draw.random() < 0.05:
        parts.append(('name="words"', "\r\nContent-Transfer-Encoding: base64", b"$$$"))
    if draw.random() < 0.03:
        parts = parts * 200
    raw = b"".join(
        b"--" + _EDGE.encode() + b"\r\nContent-Disposition: form-data; "
        + head.encode("utf-8", "surrogatepass") + more.encode() + b"\r\n\r\n" + content + b"\r\n"
        for head, more, content in parts
    )  # fmt: skip
    raw += b"--" + _EDGE.encode() + b"--\r\n"
    return raw[: draw.randrange(len(raw))] if draw.random() < 0.05 else raw


# A picture of one point and the beginnings of others.
_PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154"
    "08d763f8cfc0000003010100c9fe92ef0000000049454e44ae426082"
)
_LOG = b"time (s);calf\n" + b"".join(b"%d;20.5\n" % n for n in range(60))


def _noise(draw: random.Random) -> bytes:
    return draw.randbytes(draw.randrange(1000))


_CONTENTS: tuple[Callable[[random.Random], bytes], ...] = (
    lambda _draw: b"",
    lambda _draw: _PNG,
    lambda draw: _PNG[: draw.randrange(len(_PNG))],
    lambda _draw: _PNG[:16] + b"\x7f\xff\xff\xff" * 2 + _PNG[24:],
    lambda draw: bytes(b ^ (draw.random() < 0.05) * 255 for b in _PNG),
    lambda _draw: b"%PDF-1.7\n1 0 obj <</Type /Catalog /OpenAction 1 0 R>> endobj",
    lambda draw: b"\xff\xd8\xff\xe0" + draw.randbytes(300),
    lambda draw: b"RIFF" + draw.randbytes(4) + b"WEBPVP8 " + draw.randbytes(60),
    lambda draw: b"\x00\x00\x00 ftypheic" + draw.randbytes(60),
    lambda _draw: _LOG,
    lambda draw: _LOG.replace(b"20.5", draw.choice(TEXTS)[:3000].encode("utf-8", "surrogatepass")),
    lambda _draw: b"\xff\xfe" + _LOG.decode().encode("utf-16-le"),
    _noise,
)


def _content(draw: random.Random) -> bytes:
    return draw.choice(_CONTENTS)(draw)


_NODES: tuple[Any, ...] = (
    *TEXTS, None, True, False, 0, -1, 2**31, 2**63, 10**400, 1.5, 1e308, float("nan"), float("inf"),
    [], {}, [[]], [None], [{}], {"a": 1}, ["none", "none"], [1, 2], "yes", "no",
)  # fmt: skip


def _hostile_json(document: Any, draw: random.Random) -> bytes:
    """The document with one node exchanged, left out or doubled, or no JSON at all."""
    chance = draw.random()
    if chance < 0.05:
        deep = draw.choice(("[", '{"entries":', '{"a":['))
        return draw.choice((deep * 100_000, "{", "nan", "1e999", "9" * 5000, '"\\ud800"')).encode()
    copy = json.loads(json.dumps(document))
    for _one in range(draw.choice((1, 1, 2))):
        places = list(_places(copy))
        if not places:
            return json.dumps(draw.choice(_NODES)).encode()
        holder, key = draw.choice(places)
        if chance > 0.95:
            del holder[key]
        elif chance > 0.92 and isinstance(holder, list):
            holder += [holder[key]] * 600
        else:
            # A copy: the next change may go into it.
            holder[key] = deepcopy(draw.choice(_NODES))
    return json.dumps(copy).encode()


def _places(node: Any) -> list[tuple[Any, Any]]:
    if isinstance(node, dict):
        return [*((node, key) for key in node), *(p for one in node.values() for p in _places(one))]
    if isinstance(node, list):
        return [
            *((node, n) for n in range(len(node))),
            *(p for one in node for p in _places(one)),
        ]
    return []
