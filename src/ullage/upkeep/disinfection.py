"""Disinfecting with hypochlorite: how much of a product, for how long, and how much water rinses it out again.

Free chlorine throughout, as mass in volume [kg/m3]; 1 mg/L is 1e-3 kg/m3.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log

from ullage.rig.keeping import Disinfectant
from ullage.upkeep.volumes import Wetted

SHOCK = 0.050
"""Free chlorine with which tanks and lines are disinfected [kg/m3]: 50 mg/L (Oregon Health Authority, row SAN-04)."""

WALLS = 0.200
"""For walls that the water does not reach [kg/m3]: 200 mg/L (the same, and AWWA C652-11, rows SAN-04 and SAN-05)."""

LEFT_AT_LEAST = 0.010
"""What has to be left at the end of the contact [kg/m3]: 10 mg/L (AWWA C652-11 section 4.3, row SAN-05)."""

CONTACT = 86400.0
"""How long it stands where the file states nothing [s].

24 h, where chlorine is mixed in by hand (AWWA C652-11, the hours from memory)."""

RINSED = 0.001
"""Rinsed when no more than this is left [kg/m3]: 1 mg/L, a quarter of what US EPA allows (4 mg/L, from memory)."""

WORST_PH = 9.0
"""The highest pH of the published tables: chlorine works the slower the higher it is."""

LOGS = 3.0
"""Giardia to be killed to a thousandth, the hardest germ of those tables (40 CFR 141.72, from memory)."""


def chlorine_in(product: Disinfectant) -> float:
    """Free chlorine in a product [kg/m3].

    6 % w/v: 60 g/L. 5.25 % w/w of 1.08 kg/L: 56.7 g/L (row SAN-16).
    """
    if product.stated == "w/v":
        return 1000.0 * product.strength
    assert product.density is not None, "a product stated w/w without its density is refused"
    return product.strength * product.density


def contact_of(product: Disinfectant) -> float:
    """How long a product stands in tanks and lines [s]."""
    return CONTACT if product.contact is None else product.contact


def dose(volume: float, wished: float, strength: float) -> float:
    """Volume of a product that brings water to a concentration [m3], ``C1 V1 = C2 V2``.

    Parameters
    ----------
    volume : float
        Of the water with the product in it [m3].
    wished, strength : float
        Free chlorine wished, and that of the product [kg/m3].

    Notes
    -----
    50 mg/L in 100 L with 6 % w/v: 83.33 mL (row SAN-16).
    """
    return volume * wished / strength


def needed_ct(temperature: float, concentration: float) -> float:
    """Concentration times time that kills Giardia to a thousandth at the worst pH [kg s/m3].

    ``CT = 0.2828 pH^2.69 C^0.15 0.933^(T - 5) logs`` [mg min/L, mg/L, degC] (Smith, Clark, Pierce and
    Regli 1995, from memory), the regression of the tables of US EPA; it gives 98.5 where they have 92 (15 degC,
    pH 7.5, 1.2 mg/L, row SAN-06) and 155.9 where they have 152 (0.5 degC, pH 8, 1 mg/L, half the logs, row SAN-07).
    The tables end at 3 mg/L; the regression goes on upwards, which asks for more, not less.
    """
    return giardia_ct(temperature, concentration, WORST_PH, LOGS)


def giardia_ct(temperature: float, concentration: float, ph: float, logs: float) -> float:
    """As `needed_ct`, for any pH and any tenth powers [kg s/m3]; the temperature [K] no lower than 0.5 degC."""
    celsius = max(temperature - 273.15, 0.5)
    ct = 0.2828 * ph**2.69 * (1e3 * concentration) ** 0.15 * 0.933 ** (celsius - 5.0) * logs
    return float(ct * 1e-3 * 60.0)


def fills_to_rinse(tank: Wetted, strong: float = SHOCK) -> int:
    """How often a tank is filled and emptied until no more than `RINSED` is left; once at least.

    Each fill thins what stays below the lowest opening: 2.5 L of 140 L at 50 mg/L become 0.89 mg/L.
    """
    share = tank.heel / tank.holds
    if share <= 0.0 or strong <= RINSED:
        return 1
    if share >= 1.0:
        return 0
    return max(1, ceil(log(strong / RINSED) / log(1.0 / share)))


def rinse_of(volume: float, strong: float = SHOCK) -> float:
    """Water that rinses lines and heaters of a volume [m3]; as if all mixed, which asks for most.

    ``V ln(C0 / C)``: from 50 to 1 mg/L, 3.91 times the volume.
    """
    return volume * log(strong / RINSED)


@dataclass(frozen=True, slots=True)
class Dosing:
    """What one tank needs.

    Attributes
    ----------
    wetted : Wetted
        The tank and what it feeds.
    tank, behind : float
        Product for the tank, and for the water that fills lines, heaters and accumulators from it [m3].
    fills : int
        How often it is filled to be rinsed; 0 where it cannot be emptied.
    rinse : float
        Water that is then run through the taps [m3].
    """

    wetted: Wetted
    tank: float
    behind: float
    fills: int
    rinse: float


def dosings(product: Disinfectant, tanks: tuple[Wetted, ...]) -> tuple[Dosing, ...]:
    """What each tank of drinking water needs."""
    strength = chlorine_in(product)

    def dosing(tank: Wetted) -> Dosing:
        fills, rinse = fills_to_rinse(tank), rinse_of(tank.behind)
        enough = max(fills, ceil(rinse / tank.holds)) if fills else 0
        return Dosing(tank, dose(tank.holds, SHOCK, strength), dose(tank.behind, SHOCK, strength), enough, rinse)

    return tuple(dosing(tank) for tank in tanks)
