"""Ratings by the name a case calls them."""

from __future__ import annotations

from collections.abc import Callable

from impact.rating import astm, iso, jis

Rating = Callable[..., float]
RATINGS: dict[str, Rating] = {
    "Ln_w": iso.ln_w, "CI": iso.ci, "CI_50_2500": iso.ci_50_2500, "Ln_w_tenths": iso.ln_w_tenths,
    "CI_tenths": iso.ci_tenths, "unfavourable_sum_db": iso.unfavourable_sum,
    "delta_L_w": iso.delta_l_w, "CI_delta": iso.ci_delta, "LiA_Fmax": iso.li_a_fmax,
    "LiA_Fmax_exact": iso.li_a_fmax_exact, "IIC": astm.iic, "HIIC": astm.hiic, "LIIC": astm.liic,
    "L_number": jis.l_number,
}  # fmt: skip
OF_IMPROVEMENTS = ("delta_L_w", "CI_delta")  # all others are of levels
OF_MAXIMA = ("LiA_Fmax", "LiA_Fmax_exact")  # of fast maxima; all others of a tapping machine
OF_SPECTRA = ("L_number",)  # of octaves as printed; none is predicted
PRINTED_SOURCES = ("heavy", "light")  # what an L-number's spectrum is of
