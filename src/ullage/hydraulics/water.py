"""Water and air, as far as the flow asks.

Water: density by IAPWS-IF97 region 1 (release R7-97(2012), equation 7), vapour pressure by
its region 4 (equation 30), sound speed by Marczak (1997), viscosity by IAPWS R12-08 (equations 10 to 12,
without the critical term, which is nothing for cold water). Air: an ideal gas with
Sutherland's viscosity.
"""

from __future__ import annotations

from math import exp, sqrt

ATMOSPHERE = 101325.0
"""Standard atmosphere [Pa] (ISO 2533)."""

CELSIUS_ZERO = 273.15
"""Kelvin at 0 degC."""

_GAS_CONSTANT_WATER = 461.526
"""Specific gas constant of water [J/(kg K)] (R7-97, equation 1)."""

_GAS_CONSTANT_AIR = 287.05287
"""Specific gas constant of dry air [J/(kg K)] (ISO 2533)."""

# Exponents I and J and coefficient n of each term of R7-97, table 2.
_REGION_1 = (
    (0, -2, 0.14632971213167),
    (0, -1, -0.84548187169114),
    (0, 0, -3.756360367204),
    (0, 1, 3.3855169168385),
    (0, 2, -0.95791963387872),
    (0, 3, 0.15772038513228),
    (0, 4, -0.016616417199501),
    (0, 5, 0.00081214629983568),
    (1, -9, 0.00028319080123804),
    (1, -7, -0.00060706301565874),
    (1, -1, -0.018990068218419),
    (1, 0, -0.032529748770505),
    (1, 1, -0.021841717175414),
    (1, 3, -5.283835796993e-05),
    (2, -3, -0.00047184321073267),
    (2, 0, -0.00030001780793026),
    (2, 1, 4.7661393906987e-05),
    (2, 3, -4.4141845330846e-06),
    (2, 17, -7.2694996297594e-16),
    (3, -4, -3.1679644845054e-05),
    (3, 0, -2.8270797985312e-06),
    (3, 6, -8.5205128120103e-10),
    (4, -5, -2.2425281908e-06),
    (4, -2, -6.5171222895601e-07),
    (4, 10, -1.4341729937924e-13),
    (5, -8, -4.0516996860117e-07),
    (8, -11, -1.2734301741641e-09),
    (8, -6, -1.7424871230634e-10),
    (21, -29, -6.8762131295531e-19),
    (23, -31, 1.4478307828521e-20),
    (29, -38, 2.6335781662795e-23),
    (30, -39, -1.1947622640071e-23),
    (31, -40, 1.8228094581404e-24),
    (32, -41, -9.3537087292458e-26),
)

# Coefficients of R7-97, table 34.
_REGION_4 = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849e0, 0.65017534844798e3,
)  # fmt: skip

# Coefficients of R12-08, table 1, and (i, j, H) of its table 2.
_DILUTE = (1.67752, 2.20462, 0.6366564, -0.241605)
_DENSE = (
    (0, 0, 0.520094), (1, 0, 0.0850895), (2, 0, -1.08374), (3, 0, -0.289555), (0, 1, 0.222531), (1, 1, 0.999115),
    (2, 1, 1.88797), (3, 1, 1.26613), (5, 1, 0.120573), (0, 2, -0.281378), (1, 2, -0.906851), (2, 2, -0.772479),
    (3, 2, -0.489837), (4, 2, -0.257040), (0, 3, 0.161913), (1, 3, 0.257399), (0, 4, -0.0325372), (3, 4, 0.0698452),
    (4, 5, 0.00872102), (3, 6, -0.00435673), (5, 6, -0.000593264),
)  # fmt: skip


# Coefficients of Marczak, highest power first.
_SOUND = (2.787860e-9, -1.398845e-6, 3.287156e-4, -5.799136e-2, 5.038813, 1.402385e3)


def specific_volume(temperature: float, pressure: float = ATMOSPHERE) -> float:
    """Specific volume of liquid water [m3/kg] at a temperature [K] and absolute pressure [Pa].

    300 K and 3 MPa give 0.00100215168 (R7-97, table 5; row WAT-11).
    """
    tau, pi = 1386.0 / temperature, pressure / 16.53e6
    return pi * _gibbs(pi, tau, 1, 0) * _GAS_CONSTANT_WATER * temperature / pressure


def density(temperature: float, pressure: float = ATMOSPHERE) -> float:
    """Density of liquid water [kg/m3] at a temperature [K] and absolute pressure [Pa]. 20 degC: 998.207."""
    return 1.0 / specific_volume(temperature, pressure)


def sound_speed(temperature: float) -> float:
    """Speed of sound in water under one atmosphere [m/s] at a temperature [K], 0 to 95 degC.

    Polynomial of Marczak (J. Acoust. Soc. Am. 102 (1997) 2776), within 0.02 % of IAPWS-95; that of
    IF97 is 0.2 % too high at 60 degC. 20 degC: 1482.38.
    """
    t = temperature - CELSIUS_ZERO
    speed = 0.0
    for coefficient in _SOUND:
        speed = speed * t + coefficient
    return speed


def bulk_modulus(temperature: float) -> float:
    """Isentropic bulk modulus of water [Pa], density times sound speed squared. 20 degC: 2.193 GPa."""
    return density(temperature) * sound_speed(temperature) ** 2


def enthalpy(temperature: float, pressure: float = ATMOSPHERE) -> float:
    """Specific enthalpy of liquid water [J/kg]. 300 K and 3 MPa give 115331.273 (R7-97, table 5)."""
    tau, pi = 1386.0 / temperature, pressure / 16.53e6
    return tau * _gibbs(pi, tau, 0, 1) * _GAS_CONSTANT_WATER * temperature


def _gibbs(pi: float, tau: float, by_pi: int, by_tau: int) -> float:
    """Derivative of the reduced Gibbs energy of region 1, so many times by pi and by tau (R7-97, table 4)."""
    total = 0.0
    for i, j, n in _REGION_1:
        factor = n * (-1.0) ** by_pi
        for k in range(by_pi):
            factor *= i - k
        for k in range(by_tau):
            factor *= j - k
        if factor:
            total += factor * (7.1 - pi) ** (i - by_pi) * (tau - 1.222) ** (j - by_tau)
    return total


def vapour_pressure(temperature: float) -> float:
    """Saturation pressure of water [Pa] at a temperature [K]. 300 K gives 3536.58941 (R7-97, table 35)."""
    n = _REGION_4
    theta = temperature + n[8] / (temperature - n[9])
    a = theta * theta + n[0] * theta + n[1]
    b = n[2] * theta * theta + n[3] * theta + n[4]
    c = n[5] * theta * theta + n[6] * theta + n[7]
    return float(1e6 * (2.0 * c / (-b + sqrt(b * b - 4.0 * a * c))) ** 4)


def saturation_temperature(pressure: float) -> float:
    """Boiling temperature of water [K] at a pressure [Pa]. 0.1 MPa gives 372.755919 (R7-97, table 36)."""
    n = _REGION_4
    beta = (pressure / 1e6) ** 0.25
    e = beta * beta + n[2] * beta + n[5]
    f = n[0] * beta * beta + n[3] * beta + n[6]
    g = n[1] * beta * beta + n[4] * beta + n[7]
    d = 2.0 * g / (-f - sqrt(f * f - 4.0 * e * g))
    inner = (n[9] + d) ** 2 - 4.0 * (n[8] + n[9] * d)
    return float(0.5 * (n[9] + d - sqrt(inner)))


def viscosity_at(temperature: float, density_here: float) -> float:
    """Dynamic viscosity of water [Pa s] at a temperature [K] and density [kg/m3].

    298.15 K and 998 kg/m3 give 889.735100e-6 (R12-08, table 4; row WAT-13).
    """
    hot, dense = temperature / 647.096, density_here / 322.0
    dilute = 100.0 * sqrt(hot) / sum(h / hot**i for i, h in enumerate(_DILUTE))
    residue = sum(h * (1.0 / hot - 1.0) ** i * (dense - 1.0) ** j for i, j, h in _DENSE)
    return dilute * exp(dense * residue) * 1e-6


def viscosity(temperature: float) -> float:
    """Dynamic viscosity of liquid water [Pa s] at a temperature [K] and one atmosphere. 20 degC: 1001.6e-6."""
    return viscosity_at(temperature, density(temperature))


def kinematic_viscosity(temperature: float) -> float:
    """Kinematic viscosity of liquid water [m2/s] at a temperature [K] and one atmosphere."""
    return viscosity(temperature) / density(temperature)


def air_density(temperature: float, pressure: float = ATMOSPHERE) -> float:
    """Density of dry air [kg/m3] as an ideal gas. 20 degC: 1.204."""
    return pressure / (_GAS_CONSTANT_AIR * temperature)


def air_viscosity(temperature: float) -> float:
    """Dynamic viscosity of air [Pa s] by Sutherland's formula (ISO 2533, equation 22). 15 degC: 17.894e-6."""
    return float(1.458e-6 * temperature**1.5 / (temperature + 110.4))
