"""Every rating of one spectrum in one flat object, and what it could not rate."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from numpy.typing import NDArray

from impact.rating import astm, iso
from impact.rating.spectrum import MissingBands, is_octaves, missing, thirds

Levels = Sequence[float] | NDArray
Rating = Callable[[Sequence[float], Levels], float]

# What the levels are. "any" rates all that the bands allow.
KINDS: dict[str, str] = {
    "any": "kind not stated",
    "normalized": "tapping machine, normalized Ln (laboratory or predicted)",
    "field": "tapping machine, in the building, standardized L'nT (T = 0.5 s)",
    "heavy": "fast maxima of a heavy and soft source (rubber ball)",
}


@dataclass(frozen=True)
class Row:
    """One rating: its key, its clause, its symbol for Ln and for L'nT, and how it is computed.

    needs : third octaves it is made from [Hz]; octaves : those it may be made from instead, () for
    none. heavy : whether it speaks of a heavy and soft source. higher_is_better : as the ASTM
    classes have it.
    """

    key: str
    symbol: str
    field_symbol: str
    clause: str
    function: Rating
    needs: tuple[float, ...]
    octaves: tuple[float, ...] = ()
    heavy: bool = False
    higher_is_better: bool = False

    def applies(self, kind: str) -> bool:
        """Whether a spectrum of that kind has this rating."""
        return kind == "any" or self.heavy == (kind == "heavy")

    def lacks(self, bands_hz: Sequence[float]) -> tuple[float, ...]:
        """Bands [Hz] it wants and `bands_hz` (n,) has not: of octaves, all if it takes none."""
        if not is_octaves(bands_hz):
            return missing(bands_hz, self.needs)
        return missing(bands_hz, self.octaves) if self.octaves else self.needs


_THIRDS, _OCTAVES = iso.THIRDS, iso.OCTAVE_BANDS
ROWS: tuple[Row, ...] = (
    Row("Ln_w", "Ln,w", "L'nT,w", "ISO 717-2:2020, 4.3", iso.ln_w, _THIRDS, _OCTAVES),
    Row("CI", "CI", "CI", "ISO 717-2:2020, A.2.1", iso.ci, _THIRDS, _OCTAVES),
    Row("CI_50_2500", "CI,50-2500", "CI,50-2500", "ISO 717-2:2020, A.2.1", iso.ci_50_2500,
        thirds(50, 3150), (63.0, *_OCTAVES)),
    Row("IIC", "IIC", "NISR", "ASTM E989", astm.iic, astm.THIRDS, higher_is_better=True),
    Row("HIIC", "HIIC", "HIR", "ASTM E3222", astm.hiic, astm.HIGH_THIRDS, higher_is_better=True),
    Row("LIIC", "LIIC", "LIR", "ASTM E3207, from memory, check the standard", astm.liic,
        astm.LOW_THIRDS, higher_is_better=True),
    Row("LiA_Fmax", "LiA,Fmax", "LiA,Fmax", "ISO 717-2:2020, Annex D", iso.li_a_fmax,
        iso.HEAVY_THIRDS, iso.HEAVY_OCTAVES, heavy=True),
    Row("unfavourable_sum_db", "unfavourable sum", "unfavourable sum", "ISO 717-2:2020, 4.3",
        iso.unfavourable_sum, _THIRDS, _OCTAVES),
)  # fmt: skip
# Its bands are those of Ln,w, which says what is missing for both.
_UNSAID = ("unfavourable_sum_db",)


def which_way() -> str:
    """Two sentences: which ratings are better lower and which higher, and whose they are."""
    said = [row for row in ROWS if row.key not in _UNSAID]

    def symbols(rows: list[Row]) -> str:
        return ", ".join(row.symbol for row in rows)

    lower = symbols([row for row in said if not row.higher_is_better])
    higher = symbols([row for row in said if row.higher_is_better])
    heavy = symbols([row for row in said if row.heavy])
    return (
        f"{lower}: lower is better; {higher}: higher. {heavy} is the rubber ball's, all others the"
        " tapping machine's."
    )


def rate(
    bands_hz: Sequence[float],
    levels_db: Levels,
    kind: str = "any",
    edition: str = astm.LATEST,
) -> dict[str, int | float | None]:
    """All ratings of a spectrum, keys as in ROWS; None where it lacks bands or is of another kind.

    bands_hz : n nominal third octaves, or octaves [Hz]. levels_db : n levels [dB]. kind : one of
    KINDS; for "field" the levels are L'nT, and the keys Ln_w, IIC, HIIC, LIIC hold L'nT,w, NISR,
    HIR, LIR. edition : of ASTM E989, see astm.EDITIONS. Values are integers as the clauses round,
    the unfavourable sum is to 0.1 dB. Raises KeyError for an unknown kind or edition.
    """
    if kind not in KINDS or edition not in astm.EDITIONS:
        raise KeyError(f"unknown kind {kind!r} or edition {edition!r}")
    ratings: dict[str, int | float | None] = {}
    for row in ROWS:
        more: dict[str, Any] = {"edition": edition} if row.key == "IIC" else {}
        try:
            value = row.function(bands_hz, levels_db, **more) if row.applies(kind) else None
        except MissingBands:
            value = None
        ratings[row.key] = value
    return ratings


def missing_bands(bands_hz: Sequence[float], kind: str = "any") -> dict[str, tuple[float, ...]]:
    """Bands [Hz] each rating of `rate` lacks, by key; ratings that lack none are left out.

    From an octave spectrum a rating made for third octaves lacks all its third octaves.
    """
    lost = {row.key: row.lacks(bands_hz) for row in ROWS if row.applies(kind)}
    return {key: bands for key, bands in lost.items() if bands and key not in _UNSAID}


def limit_quantities(ratings: dict[str, int | float | None], kind: str) -> dict[str, float | None]:
    """The ratings under the names that limits.QUANTITIES uses; empty for a heavy source.

    In dB or rating points.
    """
    if kind == "heavy":
        return {}
    weighted, adaptation = ratings["Ln_w"], ratings["CI_50_2500"]
    whole = None if weighted is None or adaptation is None else weighted + adaptation
    if kind == "field":
        return {"LnT_w": weighted, "LnT_w+CI_50_2500": whole, "NISR": ratings["IIC"]}
    return {"Ln_w": weighted, "Ln_w+CI_50_2500": whole, "IIC": ratings["IIC"]}
