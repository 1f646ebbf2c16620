"""What the words in a meter's export mean: bands, numbers, metrics, roles, sources.

Only terms of IEC 61672-1 and IEC 61260-1 and of the trade are known here, of the roles and sources
German and French ones too; what is not recognised stays unknown and is asked for, never guessed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from impact.rating.reader import KNOWN_BANDS, NEAR

KEPT = 20_000  # answers remembered: the cells of a long export repeat
ROUNDED = 0.002  # of an exact centre as written: 15.6 of 15.625
SPACES = "\u00a0\u202f\u2009"
GAPS = frozenset({"", "-", "--", "---", "----", "n/a", "na", "nan", "null", "none", ".", "…", "–",
                  "—", "inf", "-inf", "over", "under", "ovl", "overload", "under range",
                  "over range", "underrange", "overrange", "invalid", "no data"})  # fmt: skip


@dataclass(frozen=True)
class Metric:
    """kind : "leq", "lmax", "lmin", "percentile", "exposure", "peak", "normalized", "standardized"
    (with time "F" the rubber ball's, to volume and T) or "" when not stated. time : "F", "S", "I"
    or "". weighting : "Z", "A", "C" or ""."""

    kind: str = ""
    time: str = ""
    weighting: str = ""

    def __str__(self) -> str:
        named = {"leq": "eq", "lmax": "max", "lmin": "min", "percentile": "percentile",
                 "exposure": "E", "peak": "peak"}  # fmt: skip
        if self.kind == "standardized" and self.time:
            return "L'i,Fmax,V,T"
        if self.kind in ("normalized", "standardized"):
            return "L'n" if self.kind == "normalized" else "L'nT"
        if not self.kind:
            return "level of a metric not stated"
        return f"L{self.weighting}{self.time}{named[self.kind]}"


@dataclass(frozen=True)
class BandCell:
    """A cell that names a band: nominal centre [Hz] and the words before it."""

    hz: float
    label: str
    unit: bool  # whether the cell itself says Hz or k


@dataclass(frozen=True)
class Meaning:
    """What a label says: metric, role, source, and what is left as a name.

    role : "level", "background", "reverberation", "corner", "source room" or "ignored". symbol :
    "L2", "Li", "B2" and the like, where the label begins with one (`meaning_of`).
    """

    metric: Metric
    role: str
    source: str
    name: str
    thirds: bool = False  # whether it says one-third octave
    symbol: str = ""


@lru_cache(KEPT)
def known_band(frequency: float) -> float | None:
    """Nominal centre [Hz] when `frequency` is a nominal or exact third-octave centre, or None."""
    if frequency <= 0 or not math.isfinite(frequency):
        return None
    nearest = min(KNOWN_BANDS, key=lambda band: abs(math.log(band / frequency)))
    octaves = round(3 * math.log2(nearest / 1000)) / 3  # older meters: 15.625 Hz, 2.4 % off 16 Hz
    by_two = abs(frequency / (1000 * 2**octaves) - 1) <= ROUNDED
    return nearest if by_two or abs(frequency / nearest - 1) <= NEAR else None


@lru_cache(KEPT)
def number(cell: str, decimal: str) -> float | None:
    """A finite number, thousands in groups of three allowed, a unit dB or s behind it; or None."""
    text = re.sub(f"[{SPACES}]", " ", cell).strip().replace("−", "-").lstrip("'")
    text = re.sub(r"\s*(dB\s*(\(?[ACZ]\)?)?|s)$", "", text, flags=re.I)
    other = "," if decimal == "." else r"\."
    mark = re.escape(decimal)
    plain = rf"[-+]?\d+({mark}\d*)?([eE][-+]?\d+)?|[-+]?{mark}\d+"
    grouped = rf"[-+]?\d{{1,3}}(({other}| |')\d{{3}})+({mark}\d*)?"
    if re.fullmatch(plain, text):
        return float(text.replace(decimal, "."))
    if re.fullmatch(grouped, text):
        bare = re.sub(rf"{other}| |'", "", text)
        return float(bare.replace(decimal, "."))
    return None


@lru_cache(KEPT)
def is_gap(cell: str) -> bool:
    """Whether a cell says that nothing was measured or shown."""
    text = cell.strip().lower()
    return text in GAPS or bool(re.fullmatch(r"[<>≤≥]\s*[-\d.,]+(\s*db)?", text))


_BAND = re.compile(
    r"(?P<label>.*?)(?P<number>\d[\d.,]*(?:e[-+]\d+)?|\d{1,3}(?: \d{3})+)"
    r"(?P<kilo>\s*k(?P<rest>\d{1,2})?)?\s*(?P<hertz>Hz)?(?:\s*[\[(]dB[^)\]]*[\])])?",
    re.I,
)


@lru_cache(KEPT)
def band_cell(cell: str, decimal: str, scale: float = 1.0) -> BandCell | None:
    """The band a cell names: "50", "1.25 kHz", "1k25", "31,5 Hz", "LZeq 50 Hz"; or None.

    A bare number counts; words before it need the unit behind it, or must be a metric ("LZeq 50").
    scale : 1000 under kHz.
    """
    text = re.sub(f"[{SPACES}]", " ", cell).strip()
    if not text or len(text) > 80 or not any(c.isdigit() for c in text):
        return None
    found = _BAND.fullmatch(text)
    if found is None:
        return None
    label, unit = found["label"].strip(" :_-,=@"), bool(found["hertz"] or found["kilo"])
    written = found["number"]
    if label and " " in written:  # "Pos 1 250 Hz" is 250 Hz at position 1
        ahead, written = written.rsplit(" ", 1)
        label = f"{label} {ahead}"
    if label and re.search(r"[\d.,]$", found["label"]):
        return None
    if label and not unit and not meaning(label).metric.kind:
        return None
    if found["rest"]:
        written = f"{written}{decimal}{found['rest']}"
    value = number(written, decimal)
    if value is None:
        return None
    hz = known_band(value * (1000.0 if found["kilo"] else scale))
    return None if hz is None else BandCell(hz, label, unit)


@lru_cache(KEPT)
def like_number(cell: str) -> bool:
    """Whether a cell is written as a number with some decimal mark, be it the wrong one."""
    return bool(re.fullmatch(r"[-+−]?\d+([.,]\d+)+", cell.strip()))


def like_band(cell: str) -> bool:
    """Whether a cell is written as a frequency with its unit."""
    return bool(re.search(r"\d[\d.,]*\s*k?Hz\b", cell, re.I))


def band_of_the_other_mark(cell: str, decimal: str) -> bool:
    """Whether a cell names a band with the other decimal mark, such as "31,5"."""
    return like_number(cell) and band_cell(cell, "," if decimal == "." else ".") is not None


def states_metric(text: str) -> bool:
    """Whether a text beside the tables can state their metric: not one that ends in a value of its
    own, such as "LAFmax: 77.2 dB"."""
    return not re.search(r"\d+[.,]\d|\d\s*dB|[:=;\s]-?\d+\s*$", text, re.I)


_TIMED = re.compile(r"time\s+weighting", re.I)
_JOINED = r"(?:\s*(?:[,/;&+]|and|or)\s*"
_SET = {
    "weighting": re.compile(
        r"(?i:weighting|filter)(?i:\s+of\s+\w+|\s+spectr\w+|\s+bands?|\s+broadband)?\s*[:=]?\s*\(?"
        rf"([ACZ]\b(?!-){_JOINED}[ACZ]\b)*)"
    ),
    "time": re.compile(
        r"(?i:time\s+weighting|time\s+constant|detector|response)\s*[:=]?\s*\(?"
        rf"((?:[FSI]|fast|slow|impulse)\b{_JOINED}(?:[FSI]|fast|slow|impulse)\b)*)", re.I
    ),
}  # fmt: skip


def settings(text: str, of: str) -> set[str]:
    """What a text says of the meter's "weighting" (A, C, Z) or "time" constant (F, S, I), as in
    "Frequency weighting: A"."""
    text = _TIMED.sub(" ", text) if of == "weighting" else text
    words = [word for hit in _SET[of].findall(text) for word in re.findall(r"\w+", hit)]
    return {word[:1].upper() for word in words if word.lower() not in ("and", "or")}


_SOURCES = (
    (r"tapping|hammerwerk|machine (à|a) chocs", "tapping_machine"),
    (r"rubber ball|impact ball|ball drop|gummiball", "rubber_ball"),
    (r"barefoot|bare foot|barfu(ß|ss)|pieds nus", "walker_barefoot"),
    (r"hard.?heel|heeled shoe", "walker_hard_heel"),
    (r"child(ren)? running|running child", "child_running"),
)  # fmt: skip
# Quantities that are no sound pressure level, and what is reckoned over columns of levels.
_OTHER = (
    r"acceleration|velocity|vibration|\b[mµμn]?m/s|[\[(]\s*([mµμ]?Pa|m?V|%|g)\s*[\])]"
    r"|\bre\.?:?\s*1\s*[mµμun]?(Pa|V|g)\b|\bs\.?d\.?(?!\w)|σ|sigma|\bcorrections?\b|\bdiff(erence)?s?\b|\bdelta\b|Δ|\b[LB]_?\d\s*[-–−]\s*[LB]_?\d"
)
_ROLES = (
    (_OTHER, "ignored"),
    (r"background|\b(bgn|bgd|bkgd?)\b|ambient|residual|noise floor"
     r"|hintergrund|\bgrund(ger(ä|ae)usch|pegel|rauschen)?\b|st(ö|oe)rpegel|fremdger"
     r"|bruit (de fond|résiduel|ambiant)", "background"),
    (r"reverberation|\bRT\b|\b(T|RT)(10|15|20|30|60)\b|\bEDT\b|\[s\]|\(s\)|\bT\s*/\s*s\b"
     r"|nachhall|réverbération", "reverberation"),
    (r"\bcorners?\b|\becken?\b", "corner"),
    (r"overload|status|\bflag|\bvalid|\bcount\b|samples|std|deviation|uncertainty|\bU95\b"
     r"|battery|temperature|humidity|\bpass\b|elapsed|duration", "ignored"),
)  # fmt: skip
_DROPPED = re.compile(
    r"\b1/[13](\s*-?oct\w*)?\b|\bone[- ]third\b|\bthirds?\b|\boctaves?\b|\boct\b|\bbands?\b"
    r"|\bspectrum\b|\bfrequency\b|\bfreq\b|\bcentre\b|\bcenter\b|k?Hz\b"
    r"|\bre 20\s*[uµμ]Pa\b|\blevels?\b", re.I,
)  # fmt: skip
_INDEXED = re.compile(r"\bL_?p?[,_]?(?=(lin|[ACZ])?[FSI]?(eq|max|min)\b)")  # L_Zeq, Lp,Zeq
_LASTING = re.compile(r"(?<=eq)\s*,\s*\d+\s*(s|min|h)\b")  # LZeq,30s
_DB = re.compile(r"[\[(]?\bdB\s*[\[(]?\s*(?P<weighting>[ACZ])?\b\s*[\])]*", re.I)
_SYMBOL = re.compile(
    r"L(?P<w1>lin|[ACZ])?(?P<t>[FSI])?(?P<k>eq|max|min|pk|peak|E|(?:N|0)?\d{1,2})?T?"
    r"(?P<t2>[FSI])?(?P<w2>lin|[ACZ])?",
    re.I,
)
_KINDS = {"eq": "leq", "max": "lmax", "min": "lmin", "pk": "peak", "peak": "peak", "e": "exposure"}
_WORDS = {
    "leq": Metric("leq"), "equivalent": Metric("leq"), "eq": Metric("leq"),
    "max": Metric("lmax"), "maximum": Metric("lmax"), "maxima": Metric("lmax"),
    "maxhold": Metric("lmax"), "min": Metric("lmin"), "minimum": Metric("lmin"),
    "sel": Metric("exposure"), "peak": Metric("peak"), "fast": Metric(time="F"),
    "slow": Metric(time="S"), "maxf": Metric("lmax", "F"), "maxs": Metric("lmax", "S"),
    "minf": Metric("lmin", "F"), "mins": Metric("lmin", "S"), "fmax": Metric("lmax", "F"),
    "smax": Metric("lmax", "S"), "z-weighted": Metric(weighting="Z"), "lin": Metric(weighting="Z"),
    "linear": Metric(weighting="Z"), "unweighted": Metric(weighting="Z"),
    "flat": Metric(weighting="Z"), "a-weighted": Metric(weighting="A"),
    "c-weighted": Metric(weighting="C"),
}  # fmt: skip


@lru_cache(KEPT)
def meaning(label: str) -> Meaning:
    """What a column, row or block label says; unknown words become its name."""
    text = _INDEXED.sub("L", _LASTING.sub(" ", re.sub("[’´`′]", "'", label)))
    text = text.replace("_", " ").strip()
    role = next((word for pattern, word in _ROLES if re.search(pattern, text, re.I)), "level")
    source = source_of(text)
    weighting = ""
    found = _DB.search(text)
    if found:
        weighting = (found["weighting"] or "").upper()
        text = _DB.sub(" ", text)
    if not weighting and len(stated := settings(text, "weighting")) == 1:
        weighting = stated.pop()
    thirds = bool(re.search(r"\b1/3|third", text, re.I))
    text = _DROPPED.sub(" ", text)
    metric, names = _metric(text)
    if weighting:
        metric = Metric(metric.kind, metric.time, metric.weighting or weighting)
    name = " ".join(names).strip(" :;,-_/=#")
    return Meaning(metric, role, source, name, thirds)


# A letter and the room or the percentage it stands for; "L2,A" and "LAF10" are percentile levels.
_SYMBOL_OF_ROOM = re.compile(
    r"(?P<symbol>[LBT]_?\d{1,2}|L_?i)(?![^\W_]|['.])(?!\s*,\s*[ACZFSI]\b)(?P<rest>.*)"
)
ROOMS = ("L1", "L2", "Li")  # levels by ISO 16283 where no other percentile level is there


def meaning_of(heading: str, labels: Sequence[str]) -> Meaning:
    """What a heading and the labels of one column or row say together, with the symbol that a label
    begins with, or that the heading is; `meter_rooms.resolve` settles what it stands for."""
    parts = [part for part in (heading, *labels) if part]
    for i, part in enumerate(parts):
        found = _SYMBOL_OF_ROOM.fullmatch(part.strip())
        if found and (part != heading or not _DB.sub("", found["rest"]).strip()):
            symbol = found["symbol"].replace("_", "")
            if symbol in ROOMS:  # else it reads as a percentile level
                parts[i] = found["rest"]
            said = meaning(" ".join(parts))
            name = f"{said.name} {symbol}".strip() if symbol in ROOMS else said.name
            return replace(said, symbol=symbol, name=name)
    return meaning(" ".join(parts))


def _metric(text: str) -> tuple[Metric, list[str]]:
    """Metric of the words of a label, none when they name two, and the words that are left."""
    metric, names, torn = Metric(), list[str](), False
    for word in re.split(r"[\s\[\]();|]+", text):
        plain = re.sub(r"[,.%:]", "", word).strip("-/")
        said = _WORDS.get(word.lower().strip(",.")) or _WORDS.get(plain.lower())
        said = said or _symbol(plain)
        if metric.kind and not metric.time and plain in ("F", "S"):
            said = Metric(time=plain)
        if plain == "VT" and metric.kind == "lmax":  # LZFmax V,T of the rubber ball
            metric = Metric("standardized", metric.time or "F", metric.weighting)
            continue
        if said is None:
            names += [word] if plain not in ("", "L") else []
            continue
        torn = torn or bool(metric.kind and said.kind and metric.kind != said.kind)
        metric = Metric(metric.kind or said.kind, metric.time or said.time,
                        metric.weighting or said.weighting)  # fmt: skip
    return Metric() if torn else metric, names


def _symbol(word: str) -> Metric | None:
    """Metric of a letter symbol such as LZFmax, LAeq, L10, L'nT; None for another word."""
    if re.fullmatch(r"L'?n", word):
        return Metric("normalized")
    if re.fullmatch(r"L'?nT", word):
        return Metric("standardized")
    if re.fullmatch(r"L'?i?Z?F?maxVT", word):
        return Metric("standardized", "F")
    word = re.sub(r"^Li(?=[ACZ]?[FS]max$)", "L", word)  # Li,Fmax of ISO 717-2: i is of impact,
    found = _SYMBOL.fullmatch(word)  # and Li1 a place, no percentile of a meter set to I
    if found is None or not word.startswith("L") or word.startswith("Li"):
        return None
    kind = (found["k"] or "").lower()
    known = _KINDS.get(kind, "percentile" if kind else "")
    weighting = (found["w1"] or found["w2"] or "").upper().replace("LIN", "Z")
    time = (found["t"] or found["t2"] or "").upper()
    return Metric(known, time, weighting) if known or weighting or time else None


def source_of(text: str) -> str:
    """Name of the one source that a text mentions; empty for none or for several."""
    named = {source for pattern, source in _SOURCES if re.search(pattern, text, re.I)}
    return named.pop() if len(named) == 1 else ""
