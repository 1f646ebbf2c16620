"""Quantities as people write them, "9 1/4 in", "12 ft 6 in", "120 N/mm", to SI and back to text.

A quantity is a number with its unit in one string. Mixed fractions and feet with inches are read
here and not by a unit library (which reads "9 1/4 in" as 2.25 in and "12 ft 6 in" as 72 ft*in).
Factors: NIST SP 811 (2008) Appendix B; the inch, the pound and standard gravity are exact there.
Unit names that the small table below does not know go to pint, loaded only then (it is slow to
load); a test compares the table with pint.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import lru_cache
from typing import Any

from impact.base import quantity_faults
from impact.base.air import GRAVITY
from impact.base.quantity_faults import NUMBER

INCH = 0.0254  # m, exact
FOOT = 0.3048  # m, exact
POUND = 0.45359237  # kg, exact

Powers = tuple[float, float, float]  # of kilogram, metre, second


class UnitError(ValueError):
    """Text that is no quantity of the dimension wanted; the message names the remedy."""


# dimension -> (powers of kg, m, s; an example for the error message)
DIMENSIONS: dict[str, tuple[Powers, str]] = {
    "length": ((0, 1, 0), '"600 mm" or "9 1/4 in"'),
    "area": ((0, 2, 0), '"12 m2" or "40 ft2"'),
    "mass": ((1, 0, 0), '"2 kg" or "5 lb"'),
    "mass per length": ((1, -1, 0), '"3.5 kg/m" or "2.4 lb/ft"'),
    "mass per area": ((1, -2, 0), '"10.7 kg/m2" or "2.2 psf"'),
    "density": ((1, -3, 0), '"600 kg/m3" or "37 pcf"'),
    "time": ((0, 0, 1), '"0.5 s"'),
    "frequency": ((0, 0, -1), '"2 Hz"'),
    "speed": ((0, 1, -1), '"1.5 m/s"'),
    "force": ((1, 1, -2), '"160 N" or "36 lb"'),
    "moment": ((1, 2, -2), '"20 N m" or "15 lbf ft"'),
    "stiffness": ((1, 0, -2), '"120 N/mm" or "685 lbf/in"'),
    "stiffness per length": ((1, -1, -2), '"300 kN/m2" or "0.3 N/mm2"'),
    "stiffness per area": ((1, -2, -2), '"10 MN/m3"'),
    "modulus": ((1, -1, -2), '"10 GPa" or "1450 ksi"'),
    "bending stiffness": ((1, 3, -2), '"690 kN m2" or "240e6 lbf in2"'),
    "plate stiffness": ((1, 2, -2), '"20 kN m"'),
    "flow resistivity": ((1, -3, -1), '"10 kPa s/m2"'),
}

# dimension -> its SI unit, as written in machine-readable output
SI: dict[str, str] = {
    "length": "m", "area": "m2", "mass": "kg", "mass per length": "kg/m",
    "mass per area": "kg/m2", "density": "kg/m3", "time": "s", "frequency": "Hz", "speed": "m/s",
    "force": "N", "moment": "N m", "stiffness": "N/m", "stiffness per length": "N/m2",
    "stiffness per area": "N/m3", "modulus": "Pa", "bending stiffness": "N m2",
    "plate stiffness": "N m", "flow resistivity": "Pa s/m2",
}  # fmt: skip

# name -> (factor to SI, powers of kg, m, s)
_LENGTH: Powers = (0, 1, 0)
_MASS: Powers = (1, 0, 0)
_FORCE: Powers = (1, 1, -2)
_PRESSURE: Powers = (1, -1, -2)
UNITS: dict[str, tuple[float, Powers]] = {
    "m": (1, _LENGTH), "mm": (1e-3, _LENGTH), "cm": (1e-2, _LENGTH), "μm": (1e-6, _LENGTH),
    "in": (INCH, _LENGTH), "inch": (INCH, _LENGTH), "inches": (INCH, _LENGTH),
    '"': (INCH, _LENGTH), "''": (INCH, _LENGTH), "mil": (INCH / 1000, _LENGTH),
    "ft": (FOOT, _LENGTH), "foot": (FOOT, _LENGTH), "feet": (FOOT, _LENGTH), "'": (FOOT, _LENGTH),
    "yd": (3 * FOOT, _LENGTH),
    "kg": (1, _MASS), "g": (1e-3, _MASS), "t": (1e3, _MASS),
    "lb": (POUND, _MASS), "lbs": (POUND, _MASS), "lbm": (POUND, _MASS), "oz": (POUND / 16, _MASS),
    "s": (1, (0, 0, 1)), "ms": (1e-3, (0, 0, 1)), "min": (60, (0, 0, 1)),
    "Hz": (1, (0, 0, -1)), "kHz": (1e3, (0, 0, -1)),
    "N": (1, _FORCE), "kN": (1e3, _FORCE), "MN": (1e6, _FORCE), "kgf": (GRAVITY, _FORCE),
    "lbf": (POUND * GRAVITY, _FORCE), "kip": (1e3 * POUND * GRAVITY, _FORCE),
    "Pa": (1, _PRESSURE), "kPa": (1e3, _PRESSURE), "MPa": (1e6, _PRESSURE),
    "GPa": (1e9, _PRESSURE),
    "psi": (POUND * GRAVITY / INCH**2, _PRESSURE),
    "ksi": (1e3 * POUND * GRAVITY / INCH**2, _PRESSURE),
    "psf": (POUND * GRAVITY / FOOT**2, _PRESSURE),
    "pcf": (POUND / FOOT**3, (1, -3, 0)), "plf": (POUND * GRAVITY / FOOT, (1, 0, -2)),
    "GN": (1e9, _FORCE), "pci": (POUND * GRAVITY / INCH**3, (1, -2, -2)),
}  # fmt: skip

# Weight stands for mass and mass for weight in these, by standard gravity: "2.2 psf" of board is a
# mass per area, "37.6 lb" on a hanger is a force, "40 lb/in" is a stiffness.
_WEIGHABLE = {
    "mass", "mass per length", "mass per area", "density", "force", "moment", "stiffness",
    "stiffness per area",
}  # fmt: skip

_FEET_INCHES = re.compile(
    rf"(\d+)\s*(?:ft|feet|foot|')\s*-?\s*({NUMBER})\s*(?:inches|inch|in|\"|'')\.?"
)
_QUANTITY = re.compile(rf"([+-]?)\s*({NUMBER})\s*([^\s\d.,/+-].*)")
_BARE = re.compile(rf"[+-]?\s*{NUMBER}")
_COMMA = re.compile(r"\d\s*,\s*\d")
_FACTOR = re.compile(r"(\"|''|'|[A-Za-zμ]+)\^?(-?[1-9])?")
# What may be handed to pint: names with one small power each (towers of powers never end).
_FOREIGN = re.compile(
    r"[\s(]*[A-Za-zμ°_]+(?:\^-?[1-9])?[\s)]*(?:[*/\s(]+[A-Za-zμ°_]+(?:\^?-?[1-9])?[\s)]*)*"
)
_QUOTES = str.maketrans({
    "’": "'", "′": "'", "”": '"', "″": '"', "“": '"', "·": "*", "⋅": "*", "−": "-", "⁄": "/",
    "µ": "μ",
})  # fmt: skip


def parse(text: str, dimension: str) -> float:
    """Value in SI of a quantity written with its unit.

    Parameters
    ----------
    text : str
        "23/32 in", "9 1/4 in", "12 ft 6 in", "7' 3-1/2\\"", "120 N/mm", "2.2 psf", "16 kg/m^2".
    dimension : str
        A key of `DIMENSIONS`, such as "length" or "stiffness".

    Returns
    -------
    float
        In kilogram, metre, second.

    Raises
    ------
    UnitError
        No unit, unknown unit, wrong dimension, decimal comma, not finite.
    """
    if dimension not in DIMENSIONS:
        raise KeyError(dimension)
    if isinstance(text, list | tuple | dict):
        raise UnitError(quantity_faults.several(_example(dimension)))
    if not isinstance(text, str):
        raise UnitError(f"{text!r} has no unit; write it as a string, like {_example(dimension)}")
    clean = _clean(text)
    if len(clean) > 60:
        raise UnitError(f"text of {len(clean)} characters is no quantity; {_like(dimension)}")
    if _COMMA.search(clean):
        raise UnitError(f"'{text}' has a comma; write {quantity_faults.without_comma(clean)}")
    value = _feet_and_inches(clean, dimension)
    if value is None:
        value = _one_unit(clean, text, dimension)
    if not math.isfinite(value):
        raise UnitError(f"'{text}' is not a finite number; {_like(dimension)}")
    return value


def factor(unit: str, dimension: str) -> float:
    """SI value of one `unit` of `dimension`, weight as mass where usual; UnitError if none."""
    try:
        scale, powers = _resolve(unit)
    except UnitError as fault:
        raise UnitError(f"{fault}; {_like(dimension)}") from fault
    wanted = DIMENSIONS[dimension][0]
    if _same(powers, wanted):
        return scale
    if dimension in _WEIGHABLE:
        if _same(powers, (wanted[0], wanted[1] + 1, wanted[2] - 2)):
            return scale / GRAVITY
        if _same(powers, (wanted[0], wanted[1] - 1, wanted[2] + 2)):
            return scale * GRAVITY
    raise UnitError(f"'{unit}' is no unit of {dimension}; {_like(dimension)}")


def text(value: float, unit: str, dimension: str) -> str:
    """`value` [SI] written in `unit`, to all digits: what `parse` reads back to the same value."""
    return f"{value / factor(unit, dimension)!r} {unit}"


def unit_of(dimension: str, system: str) -> str:
    """Unit in which `system`, "metric" or "imperial", shows a dimension other than length."""
    if system not in ("metric", "imperial"):
        raise ValueError(f"{system!r} is no system of units; metric or imperial")
    return _SHOWN[dimension][system == "imperial"]


def show(value: float, dimension: str, system: str) -> str:
    """`value` [SI] as a person reads it in `system`, "metric" or "imperial".

    Lengths in inches are rounded to the nearest 1/16 in and carried ("10 in", never "9 16/16 in"),
    from 6 ft on in feet and inches; boards of exact thirty-seconds keep them ("23/32 in"), spacings
    of exact tenths theirs ("19.2 in"); a length that a sixteenth would falsify by more than 5 % is
    printed in decimals.
    """
    if system not in ("metric", "imperial"):
        raise ValueError(f"{system!r} is no system of units; metric or imperial")
    if not math.isfinite(value):
        return "unlimited" if value > 0 else "none"
    if dimension == "length":
        if system == "metric":
            return _show_metres(value)
        return _exact_tenths(value) or _show_inches(value)
    unit = unit_of(dimension, system)
    if dimension == "modulus" and abs(value) >= _LARGE_MODULUS[unit][0]:
        unit = _LARGE_MODULUS[unit][1]
    return f"{_digits(value / factor(unit, dimension))} {unit}"


_SHOWN: dict[str, tuple[str, str]] = {
    "area": ("m2", "ft2"), "mass": ("kg", "lb"), "mass per length": ("kg/m", "lb/ft"),
    "mass per area": ("kg/m2", "psf"), "density": ("kg/m3", "pcf"), "time": ("s", "s"),
    "frequency": ("Hz", "Hz"), "speed": ("m/s", "ft/s"), "force": ("N", "lb"),
    "moment": ("N m", "lbf ft"), "stiffness": ("N/mm", "lbf/in"),
    "stiffness per length": ("MN/m2", "lbf/in2"), "stiffness per area": ("MN/m3", "psi/in"),
    "modulus": ("MPa", "psi"), "bending stiffness": ("kN m2", "lbf in2"),
    "plate stiffness": ("kN m", "lbf in"), "flow resistivity": ("kPa s/m2", "kPa s/m2"),
}  # fmt: skip

_LARGE_MODULUS = {"MPa": (1e9, "GPa"), "psi": (7e7, "ksi")}  # from this on in the larger unit


def _clean(raw: str) -> str:
    spaced = re.sub(r"(?<=\d)(?=[¼½¾⅐-⅞])", " ", raw.translate(_QUOTES))
    plain = unicodedata.normalize("NFKC", spaced).translate(_QUOTES)
    plain = re.sub(r"\b(in|ft|yd|lbs?|oz)\.(?!\d)", r"\1", plain)
    return re.sub(r"\s+", " ", plain).strip()


def _feet_and_inches(clean: str, dimension: str) -> float | None:
    match = _FEET_INCHES.fullmatch(clean)
    if match is None:
        return None
    if dimension != "length":
        raise UnitError(f"'{clean}' is a length; {_like(dimension)}")
    inches = _number(match[2])
    if not inches < 12:
        raise UnitError(f"'{clean}' has 12 or more inches beside the feet; carry them into feet")
    return int(match[1]) * FOOT + inches * INCH


def _one_unit(clean: str, raw: str, dimension: str) -> float:
    match = _QUANTITY.fullmatch(clean)
    if match is None or match[3].split()[0].lower() in ("nan", "inf", "infinity"):
        if _BARE.fullmatch(clean):
            raise UnitError(f"'{raw}' has no unit; {_like(dimension)}")
        spaced = quantity_faults.spaced(clean, raw)
        raise UnitError(spaced or f"'{raw}' is no quantity; {_like(dimension)}")
    sign = -1 if match[1] == "-" else 1
    number = sign * _number(match[2])
    if dimension == "length" and (
        told := quantity_faults.of_spacing(clean, raw)
        or quantity_faults.trade_size(clean)
        or quantity_faults.two_lengths(match[3], clean, raw, UNITS, _example(dimension))
    ):
        raise UnitError(told)
    if re.search(r"\d.*[\s\-]\d|\d/\d", match[3]) and dimension == "length":
        raise UnitError(f"'{raw}' is no length; {_like(dimension)} or \"12 ft 6 in\"")
    return number * factor(match[3].strip(), dimension)


def _number(written: str) -> float:
    whole, fraction = 0.0, written
    mixed = re.fullmatch(r"(\d+)[ -]+(\d+/\d+)", written)
    if mixed:
        whole, fraction = float(mixed[1]), mixed[2]
    if "/" not in fraction:
        return float(fraction)
    top, bottom = fraction.split("/")
    if int(bottom) == 0:
        raise UnitError(f"'{written}' divides by zero")
    if mixed and int(top) >= int(bottom):
        raise UnitError(f"'{written}' has a fraction of one or more beside a whole number")
    return whole + int(top) / int(bottom)


def _resolve(unit: str) -> tuple[float, Powers]:
    """Factor to SI and powers of (kg, m, s) of a unit text such as "kPa s/m2"."""
    own = _from_table(_clean(unit))
    return own if own is not None else _from_pint(unit)


def _from_table(unit: str) -> tuple[float, Powers] | None:
    if "(" in unit:
        return None
    scale, powers = 1.0, [0.0, 0.0, 0.0]
    for place, group in enumerate(unit.replace("**", "^").split("/")):
        factors = [part for part in re.split(r"\s*\*\s*|\s+", group.strip()) if part]
        if not factors:
            return None
        if place and len(factors) > 1:
            raise UnitError(f"'{unit}' is ambiguous after the '/'; put it in brackets: a/(b c)")
        for part in factors:
            match = _FACTOR.fullmatch(part)
            if match is None or match[1] not in UNITS:
                return None
            power = int(match[2] or 1) * (-1 if place else 1)
            one, dims = UNITS[match[1]]
            scale *= one**power
            powers = [total + power * dim for total, dim in zip(powers, dims, strict=True)]
    return scale, (powers[0], powers[1], powers[2])


@lru_cache(maxsize=1)
def _registry() -> Any:
    """pint's units, loaded when first asked for: that takes a moment."""
    import pint

    return pint.UnitRegistry()


def _from_pint(unit: str) -> tuple[float, Powers]:
    near = {name.lower(): name for name in UNITS}.get(unit.strip().lower())
    hint = f"; did you mean '{near}'?" if near else ""
    unit = unit.replace("**", "^")
    if not _FOREIGN.fullmatch(unit):
        raise UnitError(f"'{unit}' is no unit{hint}")
    try:
        base = (1 * _registry().parse_units(unit)).to_base_units()
        powers = dict(base.dimensionality)
        angle = "radian" in str(base.units)  # without dimension there, and not a cycle
    except Exception as fault:  # pint raises many kinds, by its parser
        raise UnitError(f"'{unit}' is no known unit{hint}") from fault
    if set(powers) - {"[mass]", "[length]", "[time]"}:
        raise UnitError(f"'{unit}' is no mechanical unit{hint}")
    if angle:
        raise UnitError(f"'{unit}' counts angles; count cycles, 1 Hz is 2 pi rad/s and 60 rpm")
    mass, length, time = (float(powers.get(key, 0)) for key in ("[mass]", "[length]", "[time]"))
    return float(base.magnitude), (mass, length, time)


def _same(one: Powers, other: Powers) -> bool:
    return all(abs(a - b) < 1e-9 for a, b in zip(one, other, strict=True))


def _example(dimension: str) -> str:
    return DIMENSIONS[dimension][1]


def _like(dimension: str) -> str:
    return f"write a {dimension} with its unit, like {_example(dimension)}"


def _digits(number: float) -> str:
    if number == 0:
        return "0"
    places = 2 - math.floor(math.log10(abs(number)))
    if not -3 <= places <= 6:
        power = 3 * math.floor(math.log10(abs(number)) / 3)
        return f"{_digits(number / 10.0**power)}e{power}"
    rounded = f"{number:.{max(places, 0)}f}"
    return rounded.rstrip("0").rstrip(".") if "." in rounded else rounded


def _show_metres(value: float) -> str:
    if abs(value) < 0.9995:
        millimetres = value * 1000
        return f"{millimetres:.0f} mm" if abs(millimetres) >= 99.5 else f"{_digits(millimetres)} mm"
    return f"{value:.2f} m"


def feet_and_inches(value: float) -> str:
    """A length [m] as a drawing has it: as `show`, but in feet and inches from one foot on, so that
    a row of places reads alike: 4' 10", 9' 10"."""
    return _show_inches(value, 12)


def height_left(value: float, system: str) -> str:
    """A height [m] that is left to people, to the millimetre or in sixteenths of an inch, rounded
    down: 7 ft less a hair reads 6' 11 15/16", which is less than 7' 0" as the number is. A
    thousandth of a millimetre is taken for noise."""
    if system == "metric":
        return f"{math.floor(1000 * value + 1e-3)} mm"
    sixteenth = INCH / 16
    return _show_inches(math.floor((value + 1e-6) / sixteenth) * sixteenth)


def _exact_tenths(value: float) -> str:
    tenths = value / INCH * 10
    exact = abs(tenths - round(tenths)) < 1e-6 and round(tenths) % 5  # halves are sixteenths too
    return f"{round(tenths) / 10:g} in" if exact and abs(tenths) < 720 else ""


def _show_inches(value: float, feet_from: int = 72) -> str:
    sign, inches = ("-" if value < 0 else ""), abs(value) / INCH
    sixteenths = round(inches * 16)
    thirty_seconds = round(inches * 32)
    if thirty_seconds % 2 and inches < 2 and abs(thirty_seconds / 32 - inches) < 1e-6:
        return f"{sign}{_mixed(*divmod(thirty_seconds, 32), 32)} in"
    if abs(sixteenths / 16 - inches) > 0.05 * inches:
        return f"{sign}{_digits(inches)} in"
    whole, part = divmod(sixteenths, 16)
    if whole >= feet_from:
        feet, whole = divmod(whole, 12)
        nought = "0 " if part and not whole else ""  # 7' 1/16" reads as 7 feet and 1 1/6 in
        return f"{sign}{feet}' {nought}{_mixed(whole, part)}\""
    return f"{sign}{_mixed(whole, part)} in"


def _mixed(whole: int, part: int, parts: int = 16) -> str:
    if not part:
        return f"{whole}"
    common = math.gcd(part, parts)
    fraction = f"{part // common}/{parts // common}"
    return f"{whole} {fraction}" if whole else fraction
