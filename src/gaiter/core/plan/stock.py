"""Materials that can be taken: the clinic's own sizes and curves in place of the catalogue's."""

from collections.abc import Mapping, Sequence

from gaiter.core.case import Case
from gaiter.core.errors import InputError
from gaiter.core.fabric import Catalogue, Material, StretchCurve, Thickness
from gaiter.core.words import Said


class UnknownMaterialError(InputError):
    """The stock names a material that the catalogue does not have.

    Examples
    --------
    >>> str(UnknownMaterialError("wol", ["wool"]))
    'stock.wol is not in the catalogue; it has wool: correct the name'
    """

    def __init__(self, key: str, known: Sequence[str]) -> None:
        self.key, self.known = key, tuple(known)
        super().__init__(
            Said(
                "stock.{key} is not in the catalogue; it has {known}: correct the name",
                {"key": key, "known": ", ".join(known)},
            )
        )


def in_stock(case: Case, catalogue: Catalogue) -> Mapping[str, Material]:
    """Materials that can be used for a case, by key.

    Parameters
    ----------
    case : Case
        Its stock, or None where it was not given: then every material counts as there.
    catalogue : Catalogue
        What the materials are.

    Returns
    -------
    Mapping[str, Material]

    Raises
    ------
    UnknownMaterialError
        If the stock names a material that the catalogue does not have.

    Examples
    --------
    >>> from gaiter.core.case import StockItem
    >>> from gaiter.files.catalogue_file import shipped_catalogue
    >>> case = Case.model_construct(stock={"orthopaedic_wool": StockItem(rolls=2, widths_cm=[15])})
    >>> in_stock(case, shipped_catalogue())["orthopaedic_wool"].widths_cm
    (15.0,)
    """
    if case.stock is None:
        return dict(catalogue.materials)
    materials = {}
    for key, item in case.stock.items():
        if key not in catalogue.materials:
            raise UnknownMaterialError(key, list(catalogue.materials))
        if item.rolls == 0:
            continue
        own: dict[str, object] = {
            name: value
            for name in ("widths_cm", "relaxed_length_cm")
            if (value := getattr(item, name)) is not None
        }
        if item.thickness_mm is not None:
            cm = item.thickness_mm / 10
            own["thickness"] = Thickness(low_cm=cm, high_cm=cm, source="measured by the clinic")
        if item.curve is not None:
            own["measured"] = StretchCurve(**item.curve.model_dump())
        materials[key] = catalogue[key].model_copy(update=own)
    return materials
