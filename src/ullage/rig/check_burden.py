"""Findings on what wheels bear and on upkeep: figures that cannot be together."""

from __future__ import annotations

from collections.abc import Iterator

from ullage.findings import Finding
from ullage.rig.view import View

LEAST_WHEELBASE = 0.5
"""Axles closer than this are one group [m]: the loads of two supports so close say nothing of the rig."""

MOST_CHLORINE = 250.0
"""No solution of hypochlorite that is sold holds more chlorine than this [kg/m3] (from memory)."""


def burden_findings(view: View) -> Iterator[Finding]:
    """All findings on axles, their loads and the disinfectant."""
    yield from _axles(view)
    yield from _sides(view)
    yield from _disinfectant(view)


def _axles(view: View) -> Iterator[Finding]:
    axles, place = view.rig.axles, view.places.key("axles")
    if not axles:
        return
    if len(axles) != 2:
        counted = "one axle" if len(axles) == 1 else f"{len(axles)} axles"
        expected = "two; a group close together as one at its middle, the hitch of a trailer as the other"
        yield Finding("L801", place, f"the rig stands on {counted}", expected, on=next(iter(axles)))
        return
    (name, one), (_, other) = axles.items()
    apart = abs(one.x - other.x)
    if apart < LEAST_WHEELBASE:
        what = f"the two axles are {1000 * apart:.0f} mm apart"
        yield Finding(
            "L802", view.places.value("axles", name, "x"), what, f"{1000 * LEAST_WHEELBASE:.0f} mm or more", on=name
        )


def _sides(view: View) -> Iterator[Finding]:
    for name, axle in view.rig.axles.items():
        if axle.left is not None and (axle.weighed is None or axle.left > axle.weighed):
            whole = "is not weighed" if axle.weighed is None else f"bears {axle.weighed:.0f} kg in all"
            what = f"'{name}' bears {axle.left:.0f} kg on the left and {whole}"
            yield Finding("L803", view.places.value("axles", name, "left"), what, "left <= weighed", on=name)


def _disinfectant(view: View) -> Iterator[Finding]:
    product = view.rig.disinfectant
    if product is None:
        return
    place = view.places.value("disinfectant", "stated")
    if product.stated == "w/w" and product.density is None:
        what = "the disinfectant is stated by weight in weight, and its density is not given"
        yield Finding("L804", place, what, "density: 1.08 kg/L", on="disinfectant")
        return
    chlorine = product.strength * ((product.density or 0.0) if product.stated == "w/w" else 1000.0)
    if chlorine > MOST_CHLORINE:
        what = f"the disinfectant would hold {chlorine:.0f} g of chlorine in a litre"
        expected = f"no more than {MOST_CHLORINE:.0f} g/L"
        yield Finding("L805", view.places.value("disinfectant", "strength"), what, expected, on="disinfectant")
