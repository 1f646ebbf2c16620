"""The ratings of one spectrum as they are printed."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from impact.base.bands import NOMINAL
from impact.rating import astm, jis
from impact.rating.limits import QUANTITIES, Margin, margins
from impact.rating.spectrum import is_octaves, missing, pick
from impact.rating.summary import KINDS, ROWS, Row, limit_quantities, missing_bands, rate
from impact.rating.weighting import weighted_level

WIDTH = 80


@dataclass(frozen=True)
class Sheet:
    """A spectrum with everything that is said about it."""

    bands_hz: tuple[float, ...]
    levels_db: tuple[float, ...]
    kind: str
    edition: str
    name: str
    ratings: dict[str, int | float | None]
    other_iic: int | float | None  # by the other edition of E989

    @classmethod
    def of(
        cls,
        bands_hz: Sequence[float],
        levels_db: Sequence[float],
        kind: str = "any",
        edition: str = astm.LATEST,
        name: str = "",
    ) -> Sheet:
        """Rate a spectrum; arguments as of `summary.rate`."""
        other = next(known for known in astm.EDITIONS if known != edition)
        return cls(
            tuple(bands_hz),
            tuple(levels_db),
            kind,
            edition,
            name,
            rate(bands_hz, levels_db, kind, edition),
            rate(bands_hz, levels_db, kind, other)["IIC"],
        )

    def json(self) -> str:
        """The flat object of `summary.rate`."""
        return json.dumps(self.ratings)

    def missing_lines(self) -> list[str]:
        """What could not be rated and the bands that lack, a line for each rating."""
        rows = {row.key: row for row in ROWS}
        only_thirds = is_octaves(self.bands_hz)
        lines = []
        for key, bands in missing_bands(self.bands_hz, self.kind).items():
            names = ", ".join(f"{band:g}" for band in bands)
            thirds = "third octaves " if only_thirds and not rows[key].octaves else ""
            lines.append(f"{self._symbol(rows[key])}: not rated, missing {thirds}{names} Hz")
        return lines

    def text(self) -> str:
        """The page for the screen, at most 80 columns wide."""
        width = "octave" if is_octaves(self.bands_hz) else "third octave"
        span = f"{len(self.bands_hz)} {width}s, {self.bands_hz[0]:g} to {self.bands_hz[-1]:g} Hz"
        if len(self.bands_hz) == 1:
            span = f"1 {width}, {self.bands_hz[0]:g} Hz"
        head = [
            f"Ratings of {self.name}" if self.name else "Ratings",
            f"Levels: {span}; {KINDS[self.kind]}",
        ]
        parts = [_wrapped(head), self._rating_lines()]
        parts += [_wrapped([note]) for note in self._notes()]
        lost = self.missing_lines()
        if lost:
            parts.append(["Missing bands", *_wrapped(lost, "  ", "    ")])
        found = margins(limit_quantities(self.ratings, self.kind))
        if found:
            parts.append(_margin_lines(found))
        return "\n\n".join("\n".join(part) for part in parts)

    def _symbol(self, row: Row) -> str:
        return row.field_symbol if self.kind == "field" else row.symbol

    def _rating_lines(self) -> list[str]:
        lines = [_line("Quantity", "Value", "Clause")]
        for row in ROWS:
            value = self.ratings[row.key]
            if value is not None:
                unit = "" if "ASTM" in row.clause else " dB"
                clause = f"ASTM {self.edition}" if row.key == "IIC" else row.clause
                lines.append(_line(self._symbol(row), f"{value}{unit}", clause))
        lines += self._further_lines()
        return lines if len(lines) > 1 else ["No rating can be made of these bands."]

    def _further_lines(self) -> list[str]:
        """Quantities that stand on the page only."""
        lines = []
        heavy_octaves = self.kind in ("any", "heavy") and is_octaves(self.bands_hz)
        if heavy_octaves and not missing(self.bands_hz, jis.HEAVY_BANDS):
            number = jis.l_number(self.bands_hz, self.levels_db)
            clause = "JIS A 1419-2, 63-500 Hz; 2 dB allowance from memory"
            lines.append(_line("L-number, heavy", str(number), clause))
        weighable = [band for band in self.bands_hz if band in NOMINAL]
        if weighable and not is_octaves(self.bands_hz):
            picked = pick(self.bands_hz, self.levels_db, weighable)
            sums = f"{weighted_level(weighable, picked):.1f} dB"
            clause = f"IEC 61672-1 weights, {weighable[0]:g} to {weighable[-1]:g} Hz"
            between = sum(weighable[0] < band < weighable[-1] for band in NOMINAL)
            if gaps := between + 2 - len(weighable) if len(weighable) > 1 else 0:
                clause += f", {gaps} bands missing"
            lines.append(_line("A-weighted sum", sums, clause))
        return lines

    def _notes(self) -> list[str]:
        rated = self.ratings
        notes = []
        if self.kind == "heavy":
            notes.append(
                "LiA,Fmax of standardized levels L'i,Fmax,V,T is written LiA,Fmax,V,T. It sums the "
                "maxima of the bands and is not the maximum of the A-weighted signal."
            )
        if self.kind == "any":
            notes.append(
                "The file does not say what the levels are (--kind does): Ln,w, CI and the ASTM "
                "ratings hold for a tapping machine and normalized levels, LiA,Fmax for the fast "
                "maxima of a heavy source."
            )
        if self.kind == "field":
            notes.append(
                "Field levels L'nT: in JSON the keys Ln_w, IIC, HIIC and LIIC hold L'nT,w, NISR, "
                "HIR and LIR."
            )
        if rated["IIC"] is not None and self.other_iic != rated["IIC"]:
            with_rule = astm.EDITIONS[self.edition]
            notes.append(
                f"{'Without' if with_rule else 'With'} the 8 dB rule the IIC contour gives "
                f"{self.other_iic}. That the 2021 edition dropped the rule is from memory, check "
                "the standard."
            )
        return notes


def _line(quantity: str, value: str, clause: str) -> str:
    return f"{quantity:<18}{value:>8}  {clause}"


def _margin_lines(found: list[Margin]) -> list[str]:
    lines = ["Margin to limits and guide values, positive on the good side; no verdict"]
    for margin in found:
        limit = margin.limit
        sense = "<=" if limit.sense == "at most" else ">="
        mark = "" if limit.verified else " [from memory]"
        what = (
            f"{margin.margin_db:+4.0f}  {QUANTITIES[limit.quantity]} {sense} {limit.value:g}: "
            f"{limit.country}, {limit.document}, {limit.clause} ({limit.date}); {limit.what}{mark}"
        )
        lines += textwrap.wrap(what, WIDTH, initial_indent="  ", subsequent_indent=" " * 8)
    lines += _wrapped(
        [
            "Limits were read in excerpts or come from memory where marked, none on the printed "
            "page: check the local code. Meeting a limit does not mean that steps are inaudible."
        ]
    )
    return lines


def _wrapped(lines: list[str], first: str = "", later: str = "") -> list[str]:
    """Lines broken at 80 columns, with these indents."""
    wrapped: list[str] = []
    for line in lines:
        wrapped += textwrap.wrap(line, WIDTH, initial_indent=first, subsequent_indent=later)
    return wrapped
