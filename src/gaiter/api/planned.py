"""A plan in the hands of a program: legs by name, tables, arrays, pictures and meshes.

The plan itself, ``gaiter.plan/1``, stays plain data under ``document``; everything here is worked
out from it alone, so a plan that was stored and read again gives the same.
"""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from html import escape
from pathlib import Path
from typing import Any

from gaiter.api.table import as_table
from gaiter.core.arrays import Array
from gaiter.core.draw.leg_drawing import leg_drawing
from gaiter.core.draw.mesh import Mesh, leg_mesh, strip_mesh
from gaiter.core.errors import InputError
from gaiter.core.landmark import Side
from gaiter.core.plan.document import LegPlan, Plan, Status, SystemPlan
from gaiter.core.plan.padded_leg import BandagedLeg
from gaiter.core.plan.rebuilt import bandaged_leg_of, laid_layers, padded_leg_of
from gaiter.core.plan.skin_map import likely_skin_map
from gaiter.files.plan_file import plan_json, write_folder


@dataclass(frozen=True, eq=False)
class PressureMap:
    """Likely resting pressure on the skin, as arrays over the chart of the leg.

    ::

        pressure_mmhg[ring, column]     ring    0 at the metatarsal heads, last just below the knee
             s_cm[ring]                 column  0 at the front (the top of the foot), then the
             angle_rad[column]                  inner side, the back, the outer side

    Attributes
    ----------
    s_cm : ndarray, shape (rings,)
        Distance along the leg from the metatarsal heads, on the chart [cm].
    angle_rad : ndarray, shape (angles,)
        Angle round the leg, 0 at the front and a quarter turn at the inner side of either leg
        [rad], below a whole turn; the last column neighbours the first.
    pressure_mmhg : ndarray, shape (rings, angles)
        What arrives at the skin under wool and pads [mmHg]; 0 where the fabric spans a hollow
        and where skin is bare.
    thicknesses : ndarray, shape (rings, angles)
        Thicknesses of the pressing layers together; below 0.5 counts as bare.
    """

    s_cm: Array
    angle_rad: Array
    pressure_mmhg: Array
    thicknesses: Array

    def __repr__(self) -> str:
        rings, angles = self.pressure_mmhg.shape
        return f"<PressureMap {rings} rings × {angles} angles, mmHg>"


@dataclass(frozen=True, eq=False)
class PlannedLeg:
    """One leg of a plan.

    Attributes
    ----------
    document : LegPlan
        All that the plan says of the leg, as plain data.
    plan : Plan
        The plan it belongs to.
    """

    document: LegPlan
    plan: Plan

    @property
    def side(self) -> Side:
        """Which leg."""
        return self.document.side

    @property
    def status(self) -> Status:
        """What came of planning it."""
        return self.document.status

    @property
    def headline(self) -> str:
        """The decision in words, with what is aimed at and what is never exceeded."""
        return self.document.headline_words.text

    @property
    def maximum_mmhg(self) -> float | None:
        """Maximum pressure at the gaiter [mmHg]; None: no compression."""
        return self.document.decision.maximum_mmhg

    @property
    def systems(self) -> Mapping[str, SystemPlan]:
        """Systems by name, the recommended one first; empty for a leg without a plan."""
        return {system.name: system for system in self.document.systems}

    def system(self, name: str | None = None) -> SystemPlan:
        """A system of the leg; the recommended one when no name is given.

        One that is no answer, on a leg that is not planned, is given only by its name.

        Raises
        ------
        InputError
            If the leg has no such system, or is not planned and none was named.
        """
        systems = self.systems
        if not systems or (name is None and self.status is not Status.PLANNED):
            raise InputError(
                f"the {self.side.value} leg has no bandage, because it is {self.status.value} "
                f"({self.document.status_reason}): ask for its status first"
            )
        if name is None:
            return self.document.systems[0]
        if name not in systems:
            raise InputError(
                f"system must be one of {', '.join(systems)}; received {name}: choose one of them"
            )
        return systems[name]

    def table(self, system: str | None = None) -> Any:
        """Expected pressure at every reading site, from the foot to the knee.

        Parameters
        ----------
        system : str or None
            Name of a system; None: the recommended one.

        Returns
        -------
        pandas.DataFrame or dict of str to list
            A DataFrame if pandas is installed. Columns: ``site``; ``girth_cm`` over wool and pads
            [cm]; ``likely_mmhg`` with ``low_mmhg`` and ``high_mmhg``, its 5th and 95th percentile;
            ``target_low_mmhg`` and ``target_high_mmhg`` (None: shown, not judged);
            ``maximum_mmhg`` [mmHg]; ``chance_in_range`` and ``chance_above_maximum``, 0 to 1.

        Raises
        ------
        InputError
            If the leg has no such system.
        """
        return as_table(
            {
                "site": site.landmark.value,
                "girth_cm": site.girth_cm,
                "likely_mmhg": site.median_mmhg,
                "low_mmhg": site.low_mmhg,
                "high_mmhg": site.high_mmhg,
                "target_low_mmhg": site.target_low_mmhg,
                "target_high_mmhg": site.target_high_mmhg,
                "maximum_mmhg": site.maximum_mmhg,
                "chance_in_range": site.chance_in_range,
                "chance_above_maximum": site.chance_above_maximum,
            }
            for site in self.system(system).sites
        )

    def pressure_map(self, system: str | None = None) -> PressureMap:
        """Likely pressure on every cell of the skin.

        Parameters
        ----------
        system : str or None
            Name of a system; None: the recommended one.

        Raises
        ------
        InputError
            If the leg has no such system.
        """
        chosen = self.system(system)
        mapped = likely_skin_map(self._bandaged_leg, chosen, self.plan.remainder_of(chosen))
        return PressureMap(
            mapped.surface.s_cm, mapped.surface.angle, mapped.pressure_mmhg, mapped.thicknesses
        )

    def mesh(self, *, closed: bool = False, padded_for: str | None = None) -> Mesh:
        """The skin as triangles; ``mesh.ply()`` and ``mesh.stl()`` are files.

        Parameters
        ----------
        closed : bool
            With a flat cap at both ends; else an open tube.
        padded_for : str or None
            Name of a system: the outside of its wool instead of the skin.

        Raises
        ------
        InputError
            If the leg was stopped, so that the plan holds no shape, or has no such system.
        """
        leg = self._bandaged_leg
        surface = leg.bare
        if padded_for is not None:
            surface = padded_leg_of(leg, self.system(padded_for)).surface
        return leg_mesh(surface, self.side, closed=closed)

    def strip_meshes(self, system: str | None = None) -> Mapping[int, Mesh]:
        """The fabric of every pressing layer as triangles, by number of the layer on the plan.

        Raises
        ------
        InputError
            If the leg has no such system.
        """
        chosen = self.system(system)
        pressing = [layer for layer in chosen.layers if layer.presses]
        laid = laid_layers(self._bandaged_leg, chosen)
        return {
            layer.number: strip_mesh(
                one.strips, self.side, f"{self.side.value} leg, layer {layer.number}: {layer.title}"
            )
            for layer, one in zip(pressing, laid, strict=True)
        }

    def svg(self, system: str | None = None) -> str:
        """The leg with its numbered turns, from the front and the inner side, as SVG text.

        Raises
        ------
        InputError
            If the leg has no such system.
        """
        return leg_drawing(self.document, self.system(system), self._bandaged_leg).to_text()

    @cached_property
    def _bandaged_leg(self) -> BandagedLeg:
        return bandaged_leg_of(self.document)

    def _repr_svg_(self) -> str | None:
        """What a notebook shows; without a bandage there is no picture, and the words remain."""
        return self.svg() if self.status is Status.PLANNED else None

    def __repr__(self) -> str:
        return repr(self.document)


@dataclass(frozen=True, eq=False)
class PlannedCase:
    """What :func:`gaiter.plan` returns.

    Attributes
    ----------
    document : Plan
        The plan as plain data, ``gaiter.plan/1``.
    """

    document: Plan

    @cached_property
    def legs(self) -> Mapping[str, PlannedLeg]:
        """Legs by side: ``legs["right"]``, or by :class:`~gaiter.core.landmark.Side`."""
        return {
            side.value: PlannedLeg(leg_plan, self.document)
            for side, leg_plan in self.document.legs.items()
        }

    def to_json(self) -> str:
        """The plan as the text of a file that every command of ``gaiter`` reads."""
        return plan_json(self.document)

    def write(self, folder: str | os.PathLike[str]) -> None:
        """Writes ``plan.json``, ``leg.svg`` and ``sheet.pdf`` into a folder, as ``gaiter plan``.

        Raises
        ------
        InputError
            If the folder cannot be written.
        """
        from gaiter.sheets import legs_svg, sheet_pdf  # noqa: PLC0415 - slow to load, for paper

        files = {
            "plan.json": self.to_json().encode(),
            "leg.svg": legs_svg(self.document).encode(),
            "sheet.pdf": sheet_pdf(self.document),
        }
        write_folder(Path(folder), files)

    def _repr_html_(self) -> str:
        """What a notebook shows: each leg in words, and its picture where it has a bandage."""
        parts = []
        for leg in self.legs.values():
            words = f"{leg.side.value.capitalize()} leg: {leg.headline}"
            if leg.status is Status.PLANNED:
                words += f" – {leg.system().title}"
            parts.append(f"<p><strong>{escape(words)}</strong></p>")
            parts.append(leg._repr_svg_() or f"<p>{escape(leg.document.status_reason.text)}</p>")
        return f"<div>{''.join(parts)}</div>"

    def __repr__(self) -> str:
        return repr(self.document)
