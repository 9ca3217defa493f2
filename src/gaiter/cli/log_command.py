"""``gaiter log``: a pressure sensor's log in; plateaus, stiffness, swing, drift and doubts out."""

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gaiter.cli.output import AsJson, console, plain_errors, print_mapping
from gaiter.core.errors import InputError

if TYPE_CHECKING:
    from gaiter.core.sensor.channel import Drift, Plateau, WorkingAmplitude
    from gaiter.core.sensor.log import LogResult, SiteResult
    from gaiter.core.sensor.phases import Span

_MOST_OF_A_KIND = 10
_SPAN = typer.Option(metavar="START:END", help="Span in seconds; looked for if left out.")


def log(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Log, CSV; - is standard input.")],
    time: Annotated[str, typer.Option(metavar="COLUMN", help="Name of the time column.")],
    time_unit: Annotated[str, typer.Option(help="s, ms, min, or iso for dates with times.")],
    unit: Annotated[str, typer.Option(help="Unit of the pressures: mmHg, kPa, hPa or cmH2O.")],
    site: Annotated[
        list[str],
        typer.Option(metavar="SITE=COLUMN", help="Column of a site, such as gaiter; once a site."),
    ],
    rest: Annotated[str | None, _SPAN] = None,
    standing: Annotated[str | None, _SPAN] = None,
    movement: Annotated[str | None, _SPAN] = None,
    as_json: AsJson = False,
) -> None:
    """Read a pressure sensor's log: resting and standing pressure, stiffness, swing, drift."""
    with plain_errors():
        from gaiter.core.sensor.log import analyse_log
        from gaiter.core.sensor.spans import StatedSpans
        from gaiter.files.sensor_log_file import LogColumns, read_sensor_log
        from gaiter.files.text_file import name_of

        columns = LogColumns.stated(time, time_unit, unit, _sites(site))
        stated = StatedSpans(
            _span("rest", rest), _span("standing", standing), _span("movement", movement)
        )
        called = name_of(file)
        result = analyse_log(read_sensor_log(file, columns, called), stated)
    if as_json:
        print_mapping(_as_mapping(result))
    else:
        _print_result(called, result)


def _sites(given: list[str]) -> dict[str, str]:
    sites: dict[str, str] = {}
    for text in given:
        name, equals, column = text.partition("=")
        if not (name and equals and column):
            raise InputError(
                f"--site must be SITE=COLUMN, such as gaiter=p1; received {text!r}: correct it"
            )
        if name in sites:
            raise InputError(f"--site {name} is given twice: leave one out")
        sites[name] = column
    return sites


def _span(name: str, text: str | None) -> "Span | None":
    from gaiter.core.sensor.phases import Span

    if text is None:
        return None
    start, _sign, end = text.partition(":")
    try:
        ends = float(start), float(end)
    except ValueError:
        raise InputError(
            f"--{name} must be START:END in seconds, such as 10:130; received {text!r}: correct it"
        ) from None
    try:
        return Span(*ends)
    except InputError as error:
        raise InputError(f"--{name}: {error}") from None


def _print_result(name: str, result: "LogResult") -> None:
    console.print(
        f"{name}: {result.duration_s:.0f} s, a sample every {result.interval_s:.3g} s",
        markup=False,
    )
    for found in result.sites.values():
        console.print(f"\n{found.site.label}", markup=False)
        for part, words in _lines(found):
            console.print(f"  {part:<19}{words}", markup=False)
        _print_flags(found)
        for said in found.unchecked:
            console.print(f"  not checked: {said}", markup=False)
    if result.questions:
        console.print("", markup=False)
    for question in result.questions:
        console.print(f"Question: {question}", markup=False)
    console.print(
        "\nFrom the values as recorded: flagged ones are counted, none is smoothed or filled in. "
        "A sensor reads its own place only.",
        markup=False,
    )


def _print_flags(found: "SiteResult") -> None:
    """The first of each kind, so that many gaps do not hide one jump."""
    shown: Counter[str] = Counter()
    for artefact in found.artefacts:
        shown[artefact.kind] += 1
        if shown[artefact.kind] <= _MOST_OF_A_KIND:
            span = f"{artefact.start_s:.1f} to {artefact.end_s:.1f} s"
            console.print(f"  flag: {artefact.kind}, {span}: {artefact.words}", markup=False)
    for kind, count in shown.items():
        if count > _MOST_OF_A_KIND:
            more = count - _MOST_OF_A_KIND
            console.print(f"  flag: {kind}, {more} more, all listed with --json", markup=False)
    if not found.artefacts:
        console.print("  no flags", markup=False)


def _lines(found: "SiteResult") -> list[tuple[str, str]]:
    from gaiter.core.sensor.channel import LogPart

    def or_reason(words: str | None, part: LogPart) -> str:
        return f"none: {found.reasons[part]}" if words is None else words

    rest, standing, working, drift = found.resting, found.standing, found.working, found.drift
    return [
        ("resting", or_reason(_plateau_words(rest) if rest else None, LogPart.REST)),
        ("standing", or_reason(_plateau_words(standing) if standing else None, LogPart.STANDING)),
        ("static stiffness", _stiffness_words(found)),
        (
            "working amplitude",
            or_reason(_swing_words(working) if working else None, LogPart.MOVEMENT),
        ),
        ("drift", or_reason(_drift_words(drift) if drift else None, LogPart.DRIFT)),
    ]


def _swing_words(working: "WorkingAmplitude") -> str:
    return f"{working.median_mmhg:.1f} mmHg (median of {working.cycles} cycles; {_basis(working)})"


def _drift_words(drift: "Drift") -> str:
    return (
        f"{drift.slope_mmhg_per_h:+.1f} mmHg/h (standard error at least "
        f"{drift.error_mmhg_per_h:.1f}, over {drift.over_s:.0f} s)"
    )


def _plateau_words(plateau: "Plateau") -> str:
    return f"{plateau.mean_mmhg:.1f} mmHg (SD {plateau.sd_mmhg:.1f}; {_basis(plateau)})"


def _basis(part: "Plateau | WorkingAmplitude") -> str:
    how = "stated" if part.stated else "found"
    flagged = f", {_share(part.flagged_share)} flagged" if part.flagged_share else ""
    return f"{part.span}, {how}; {_share(part.left_out_share)} of samples missing{flagged}"


def _share(share: float) -> str:
    """A share that is not nothing is not printed as nothing."""
    return "under 1 %" if 0 < share < 0.01 else f"{100 * share:.0f} %"


def _stiffness_words(found: "SiteResult") -> str:
    from gaiter.core.sensor.log import STIFF_MMHG

    stiffness = found.static_stiffness_mmhg
    if stiffness is None:
        return "none: it takes a resting and a standing pressure"
    if found.stiff is None:
        return f"{stiffness:.1f} mmHg (the {STIFF_MMHG:g} mmHg yardstick is for the gaiter)"
    word = "stiff" if found.stiff else "not stiff"
    return f"{stiffness:.1f} mmHg: {word} ({STIFF_MMHG:g} mmHg and above is called stiff)"


def _as_mapping(result: "LogResult") -> dict[str, Any]:
    from dataclasses import asdict

    def site(found: "SiteResult") -> dict[str, Any]:
        return {
            **{
                name: None if part is None else asdict(part)
                for name, part in (
                    ("resting", found.resting),
                    ("standing", found.standing),
                    ("working_amplitude", found.working),
                    ("drift", found.drift),
                )
            },
            "static_stiffness_mmhg": found.static_stiffness_mmhg,
            "stiff": found.stiff,
            "reasons": {part: why.text for part, why in found.reasons.items()},
            "unchecked": [said.text for said in found.unchecked],
            "artefacts": [
                {**asdict(artefact), "words": artefact.words.text} for artefact in found.artefacts
            ],
        }

    return {
        "duration_s": result.duration_s,
        "interval_s": result.interval_s,
        "sites": {name.value: site(found) for name, found in result.sites.items()},
        "questions": [question.text for question in result.questions],
    }
