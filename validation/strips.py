"""Boards side by side: strips hinged by their tongues against the plate that is taken for them.

    python -m validation.strips

A strip of width b bends along itself (D b) and twists (G J), stiff across; its tongue hands on
force and no moment. With w = W exp(i n u - i k x) of strip n, turned by (2/b) W i tan(u/2), so that
neighbours meet at the joint, force per motion is

    S(k, u) = b (D k4 - w2 m) + (4/b2) tan2(u/2) (G J k2 - w2 m b3/12)

and the mobility on its middle i w times the mean over u of the integral of dk/(2 pi S); off the
middle, by s, times 1 + (4/b2) tan2(u/2) s2, whose mean over the strip has b2/12. For D of the plate
see `impact.energy.mobility.orthotropic_plate`, here with its twist besides: 2 K/pi times that, K
the complete elliptic integral of parameter (1 - H/sqrt(Bx By))/2, the mean over all directions of
1/sqrt(Bx c4 + 2 H c2 s2 + By s4) (from the plate's equation).
"""

from __future__ import annotations

import numpy as np
from scipy.special import ellipk

from impact.base.levels import decibel
from impact.design import catalogue
from impact.energy import mobility

BANDS = (63, 125, 250, 500, 1000, 2000)  # Hz
WHOLE = {"softwood boards": (0.37e9, 0.6e9), "oak strip": (0.8e9, 0.7e9)}  # Pa, E across and G
FLOORS = (("softwood boards", 0.022, 0.09), ("softwood boards", 0.022, 0.14),
          ("oak strip", 0.0198, 0.057))  # fmt: skip
PLACES = (np.arange(2000) + 0.5) / 2000 * np.pi  # of u
LOSS = 0.05


def hinged(
    modulus: float, shear: float, thick: float, width: float, density: float, frequency: float
) -> tuple[float, float]:
    """Re Y [m/(N s)] on the middle of a strip and over its width; Pa, m, kg/m3, Hz."""
    lossy, omega = 1 + 1j * LOSS, 2 * np.pi * frequency
    mass, slender = density * thick, thick / width
    twist = width * thick**3 / 3 * (1 - 0.63 * slender + 0.052 * slender**5)  # J, Roark
    turned = 4 / width**2 * np.tan(PLACES / 2) ** 2
    a = width * modulus * thick**3 / 12 * lossy
    b = turned * shear * twist * lossy
    c = omega**2 * mass * (width + turned * width**3 / 12)
    apart = np.sqrt(b**2 + 4 * a * c)
    one, other = (apart - b) / (2 * a), (-apart - b) / (2 * a)
    summed = (1 / np.sqrt(-one) - 1 / np.sqrt(-other)) / (2 * a * (one - other))
    middle, mean = (
        (1j * omega * np.mean(summed * (1 + turned * s2))).real for s2 in (0.0, width**2 / 12)
    )
    return float(middle), float(mean)


def as_plate(along: float, across: float, shear: float, thick: float, density: float) -> float:
    """Re Y of an endless plate of three moduli [Pa], its twist counted, no Poisson's ratio."""
    bend = thick**3 / 12
    share = 2 * shear / np.sqrt(along * across)
    plain = mobility.orthotropic_plate(along * bend, across * bend, density * thick)
    return float(plain * 2 / np.pi * ellipk((1 - share) / 2))


def main() -> None:
    """Print the table of the note."""
    print("dB over the catalogue's plate, on the middle / over the strip:")
    for name, thick, width in FLOORS:
        entry = catalogue.find(name)
        assert entry is not None
        value = {key: each.value for key, each in entry.properties.items()}
        modulus, density = value["youngs_modulus"], value["density"]
        taken = as_plate(
            modulus, value["youngs_modulus_across"], value["shear_modulus"], thick, density
        )
        across, shear = WHOLE[name]
        whole = decibel(as_plate(modulus, across, shear, thick, density) / taken)
        print(f"{name}, {1000 * width:.0f} mm wide; wood without joints {whole:+.1f}")
        for frequency in BANDS:
            found = hinged(modulus, shear, thick, width, density, frequency)
            text = " / ".join(f"{decibel(each / taken):+.1f}" for each in found)
            print(f"  {frequency:5d} Hz  {text}")


if __name__ == "__main__":
    main()
