"""Printed sheets and the drawings in them."""

from gaiter.core.draw.leg_drawing import leg_drawing
from gaiter.core.draw.profile import pressure_profile
from gaiter.core.draw.surface_drawing import surface_map
from gaiter.core.draw.svg import Drawing
from gaiter.core.plan import LegPlan, Plan, Status
from gaiter.core.plan.rebuilt import bandaged_leg_of
from gaiter.sheets.content import sheet_content
from gaiter.sheets.practice_record import Practised, practice_record_pdf
from gaiter.sheets.render import rendered_pdf

__all__ = ["Practised", "bench_sheet_pdf", "legs_svg", "practice_record_pdf", "sheet_pdf"]


def sheet_pdf(plan: Plan, approval: str = "") -> bytes:
    """The bandaging sheet of every leg of a plan, as one PDF; ``approval`` says who approved it.

    Pages for whoever bandages, the prescriber and the patient, and a gauge strip at true scale.
    A leg that is not to be bandaged gets one page that says so, and no instructions.
    """
    legs = [{**sheet_content(plan, leg), "approval": approval} for leg in plan.legs.values()]
    drawings: dict[str, str] = {}
    for leg in plan.legs.values():
        if leg.status is Status.PLANNED:
            drawings |= _drawings(plan, leg)
    return rendered_pdf("sheet.typ", {"legs": legs}, drawings, plan.today)


def bench_sheet_pdf() -> bytes:
    """One page that explains the bench test of a roll, with the table to fill in."""
    return rendered_pdf("bench.typ", {}, {}, None)


def _drawings(plan: Plan, leg: LegPlan) -> dict[str, str]:
    system, bandaged_leg = leg.systems[0], bandaged_leg_of(leg)
    unrolled = surface_map(leg, system, bandaged_leg, plan.remainder_of(system))
    return {
        f"leg-{leg.side}": leg_drawing(leg, system, bandaged_leg).to_text(),
        f"map-{leg.side}": unrolled.to_text(),
        f"profile-{leg.side}": pressure_profile(leg, system).to_text(),
    }


def legs_svg(plan: Plan) -> str:
    """One SVG of every leg: turns, pressure along the leg, unrolled map; a stop in words."""
    rows = [_row(plan, leg) for leg in plan.legs.values()]
    width, height = max(row.width for row in rows), sum(row.height for row in rows)
    title = "; ".join(
        f"{leg.side.value} leg: {leg.decision.headline}" for leg in plan.legs.values()
    )
    whole = Drawing(width, height, "Bandaging plan", title)
    top = 0.0
    for row in rows:
        whole.place(row, 0, top)
        top += row.height
    return whole.to_text()


def _row(plan: Plan, leg: LegPlan) -> Drawing:
    if leg.status is not Status.PLANNED:
        words = f"{leg.side.value} leg: {leg.status_reason}"
        notice = Drawing(640, 60, words, words)
        notice.text(10, 34, words, font_size=14)
        return notice
    system, bandaged_leg = leg.systems[0], bandaged_leg_of(leg)
    drawings = [
        leg_drawing(leg, system, bandaged_leg),
        pressure_profile(leg, system),
        surface_map(leg, system, bandaged_leg, plan.remainder_of(system)),
    ]
    height = max(drawing.height for drawing in drawings)
    row = Drawing(sum(d.width for d in drawings), height, f"{leg.side.value} leg", system.title)
    left = 0.0
    for drawing in drawings:
        row.place(drawing, left, height - drawing.height)
        left += drawing.width
    return row
