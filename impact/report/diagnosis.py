"""The search for a fault as text of 80 columns and as a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from impact.base import bands
from impact.design.fixings import said_of
from impact.gravity.parts import deflection
from impact.heard import strikes
from impact.report import style
from impact.report.bandtable import KINDS
from impact.report.lines import heading, signed, wrapped
from impact.site import mistaken
from impact.site.diagnose import AS_DESIGNED, BANDS, SIGMAS, Hypothesis
from impact.site.diagnose_beside import wider
from impact.site.diagnose_measured import Search, signature
from impact.site.diagnose_prior import SOUND

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LEAST = 0.01  # probability below which an explanation gets one line only
STANDS_OUT = 0.5  # probability above which a fault is likelier than all others together
FITS = 0.01  # a right explanation lies so far off in a hundredth of all measurements
MISFIT = (
    "No explanation fits well: a right one lies so far off in less than 1 % of measurements. Look "
    "for a slip in the measurement first (calibration, weighting, another source or room), then "
    "for what the building has otherwise than the design file."
)
DRAWN = 3  # signatures in the picture
OUTLIERS = 8  # hangers named
NOTHING = (
    "Nothing here points to a fault. These would not show in such a measurement; they are found "
    "by looking:"
)
HOW = (
    "One fault at a time is held against the measurement; two at once look like one of them or a "
    "third. The best fit is the nearest of the cases tried: how many, which hangers or which wall, "
    "the data seldom tell.",
    f"A fault shows if it moves {BANDS} bands by {SIGMAS:g} standard uncertainties of prediction "
    "and measurement together. As designed stands for all that do not show as well. One that "
    "nearly shows is ranked too: a building with other inputs than drawn may show it.",
    "What a fault does depends on inputs nobody knows to the digit: each is tried on the drawing "
    "and on floors whose inputs are drawn from their ranges (--floors); floors whose levels lie "
    "where the measurement does weigh more. Measured inputs, with the ranges they leave, sharpen "
    "the search.",
    "Probabilities rest on a stated covariance of errors, and on weights beforehand: even, raised "
    "for kinds of fault that would be overlooked too often, and as designed first under "
    f"{100 * SOUND:.0f} % of sound ceilings. They rank what to look at and prove nothing. What you "
    "know of the site goes in with --weight.",
    "Deflections of hangers (--deflections) tell of those that are bridged, overloaded, mis-seated "
    "or of another type, as far as their reading is sure (--deflection-error) and was taken when "
    "the fault was there. A measurement below the bare floor (--bare) is taken to share half of "
    "the models' error, which is our judgement.",
    "Sound by the walls is a fault here only beyond what the design says of them: describe the "
    "walls for a fair search. Test before you open or undo anything.",
)


def page(search: Search) -> str:
    """Verdict first, then what to do, then the ranking and what it rests on."""
    source = strikes.SOURCES[search.measured.source]
    lines = wrapped(f"What may be wrong: {search.prediction.design.name}")
    lines += wrapped(f"{source.label}: {KINDS[source.kind]}")
    lines += _mistaken(search)
    for title, part in (
        ("Answer", _answer(search)),
        ("Test on site, least effort first", _tests(search)),
        ("Explanations", _ranking(search)),
        ("Measured against predicted", _bands(search)),
        ("Hangers", _hangers(search)),
        ("What was taken for what", _taken(search)),
    ):
        lines += [*heading(title), *part] if part else []
    lines += heading("How to read this")
    for text in (*HOW, *search.prediction.cautions):
        lines += wrapped(text, "- ", "  ")
    return "\n".join(line.rstrip() for line in lines)


def _mistaken(search: Search) -> list[str]:
    """What stands before everything where the levels look like those of something else."""
    lines = []
    for other, said in ((search.nearer, search.said), (search.bare_nearer, search.said_bare)):
        if other is not None:
            lines += ["", *wrapped(mistaken.sentence(other, said))]
    return lines


def _answer(search: Search) -> list[str]:
    found = search.found
    lines = wrapped(_verdict(search))
    if found.fit < FITS:
        lines += wrapped(MISFIT)
    if found.alike:
        chance = {one.key: _percent(one.probability) for one in found.ranked}
        names = ", ".join(f"{search.fault(key).name} ({chance[key]})" for key in found.alike)
        lines += wrapped(f"The data do not tell this from: {names}.")
    if search.stiffer is not None:
        text = (
            f"Hangers stiffer than drawn, whatever the cause, together: {_percent(search.stiffer)}."
        )
        lines += wrapped(said_of(search.prediction.design.hangers, text))
    for text, keys in (
        ("Would not show here at all", found.faint),
        ("Would show only in a building unlike the drawing", found.nearly),
        ("Would show only when large", found.partly_faint),
    ):
        if keys:
            lines += wrapped(f"{text}: {', '.join(search.fault(key).name for key in keys)}.")
    return lines


def _verdict(search: Search) -> str:
    """The answer in one sentence or two."""
    found = search.found
    first = found.ranked[0]
    chance = _percent(first.probability)
    if found.verdict != "cannot tell":
        case = f", best fit: {first.best.words}" if first.best else ""
        if first.probability > STANDS_OUT:
            return f"Most likely {search.name(first)} (probability {chance}){case}."
        return (
            "Something is wrong, but no fault stands out. First of them: "
            f"{search.name(first)} (probability {chance}){case}."
        )
    if first.key == AS_DESIGNED:
        return (
            f"Cannot tell from this: as designed fits best ({chance}), and so would a fault too "
            "faint to show in it."
        )
    designed = next(one for one in found.ranked if one.key == AS_DESIGNED)
    if designed.probability < LEAST:
        return (
            f"Cannot tell: {search.name(first)} fits best ({chance}). As designed it would hardly "
            "sound so, but faults too faint to show might, in a building unlike the drawing."
        )
    return (
        f"Cannot tell: {search.name(first)} fits best ({chance}), but not clearly better than "
        "nothing or a fault too faint to show."
    )


def _percent(probability: float) -> str:
    shown = 100 * probability
    return "more than 99 %" if shown > 99 else "less than 1 %" if shown < 1 else f"{shown:.0f} %"


def _tests(search: Search) -> list[str]:
    lines = wrapped(NOTHING) if search.tests and not search.suspects else []
    for number, (key, test) in enumerate(search.tests, start=1):
        lines += wrapped(f"{search.fault(key).name}: {test}", f"{number}. ", "   ")
    if search.next_reading is not None:
        names = {key: search.fault(key).name for key in search.next_reading.suspects}
        text = f"or first {search.next_reading.sentence(search.prediction.design, names)}"
        lines += wrapped(text, f"{len(search.tests) + 1}. ", "   ")
    if search.next_bands is not None:
        number = len(search.tests) + 1 + (search.next_reading is not None)
        text = f"or first {wider(search.next_bands, search.found.bands_hz)}"
        hangers = search.prediction.design.hangers
        lines += wrapped(said_of(hangers, text), f"{number}. ", "   ")
    return lines or ["No fault would show in this measurement."]


def _ranking(search: Search) -> list[str]:
    lines = []
    for one in search.found.ranked:
        lines += wrapped(f"{_percent(one.probability):>15}  {search.name(one)}", "", " " * 17)
        if one.probability >= LEAST and one.best is not None:
            for text in _details(one, search):
                lines += wrapped(text, " " * 17)
    return lines


def _details(one: Hypothesis, search: Search) -> list[str]:
    assert one.best is not None
    texts = [f"best fit: {one.best.words}"]
    if one.size_range is not None and one.size_range[0] != one.size_range[1]:
        low, high = one.size_range
        unit = said_of(search.prediction.design.hangers, _unit(one.key))
        texts.append(f"sizes that fit: {low:.2g} to {high:.2g} ({unit})")
    texts.append(f"signature: {signature(one.shift, search.found.bands_hz)}")
    return texts


def _unit(key: str) -> str:
    units = {
        "mis-seated": "channel lines", "touching": "walls", "fill missing": "share of the fill",
        "wrong hanger": "times the drawn stiffness", "flanking": "dB",
    }  # fmt: skip
    return units.get(key, "hangers")


def _bands(search: Search) -> list[str]:
    found = search.found
    shown = [one for one in found.ranked if one.best is not None and one.probability >= LEAST][:1]
    lines = []
    if search.beside.bare is not None:
        lines += wrapped(
            "Taken off the difference is what the bare floor lets expect: "
            f"{signed(float(np.min(found.expected)), 1)} to "
            f"{signed(float(np.max(found.expected)), 1)} dB."
        )
    lines.append(f"{'Hz':>6}{'difference':>12}{'uncertainty':>13}{'best fault':>12}")
    for number, band in enumerate(found.bands_hz):
        fit = signed(float(shown[0].shift[number]), 1) if shown else "-"
        lines.append(
            f"{bands.label(band):>6}{signed(float(found.residual[number]), 1):>12}"
            f"{found.uncertainty[number]:>13.1f}{fit:>12}"
        )
    return lines


def _hangers(search: Search) -> list[str]:
    """What was read at the hangers, in short; empty where nothing was."""
    read = search.beside.deflections
    if read is None:
        return []
    design = search.prediction.design
    count = len(read.readings)
    text = (
        f"Deflections of {count} hangers were weighed too: in the middle {read.median_ratio:.2f} "
        f"times those drawn, {len(read.outliers)} of them more than 20 % off"
    )
    off = [
        f"{one.number} ({deflection(one.measured, design.units)} for "
        f"{deflection(one.expected, design.units)})" for one in read.outliers[:OUTLIERS]
    ]  # fmt: skip
    lines = wrapped(said_of(design.hangers, text + (": " if off else ".") + ", ".join(off)))
    if len(read.outliers) > OUTLIERS:
        lines += wrapped("All of them: impact field --deflections.")
    return lines


def _taken(search: Search) -> list[str]:
    lines = []
    beside = search.beside.told
    for text in (*search.measured.what_was_taken, *search.left_out, *beside, *_told(search)):
        lines += wrapped(text.strip(), "    " if text.startswith(" ") else "  ")
    return lines


def _told(search: Search) -> list[str]:
    """What was told of faults beforehand."""
    said = [
        f"{search.fault(key).name} " + ("ruled out" if times == 0 else f"{times:g} times as likely")
        for key, times in search.times.items()
    ]
    return [f"held beforehand, as told: {'; '.join(said)}"] if said else []


def picture(search: Search) -> Figure:
    """Measured minus predicted with the signatures of the likeliest faults; call inside
    `style.look()`."""
    figure = style.figure(8.0, 5.2)
    ax = figure.subplots()
    signatures(ax, search)
    design = search.prediction.design
    style.titled(figure, design.name, f"   (design {design.digest[:12]})")
    style.cautioned(figure, search.prediction.cautions)
    return figure


def signatures(ax: Axes, search: Search) -> Axes:
    """One line for what was measured, one for each of the likeliest faults."""
    found = search.found
    centres = [bands.CENTRES[bands.index(band)] for band in found.bands_hz]
    wide = SIGMAS * found.uncertainty
    ax.fill_between(
        centres, -wide, wide, label="as designed, two standard uncertainties", **style.BAND
    )
    ax.axhline(0, **style.REFERENCE)
    look: dict[str, Any] = {"color": style.BLACK, "marker": "D", "linewidth": 2.0}
    label = "measured minus predicted"
    if search.beside.bare is not None:
        label += ", less what the bare floor lets expect"
    ax.plot(centres, found.residual, label=label, **look)
    faulty = [one for one in found.ranked if one.best is not None][:DRAWN]
    for number, one in enumerate(faulty):
        assert one.best is not None
        label = f"{search.name(one)}: {one.best.words}, {_percent(one.probability)}"
        ax.plot(centres, one.shift, label=label, **style.series(number))
    ax.set_title("measured minus predicted, and what faults would do", loc="left")
    ax.set_ylabel("difference [dB]")
    top = max(np.max(np.abs(found.residual)), np.max(wide), *(np.max(one.shift) for one in faulty)
              ) if faulty else float(np.max(wide))  # fmt: skip
    ax.set_ylim(top=1.9 * top)  # room for the key
    ax.legend(loc="upper left")
    return style.band_axis(ax, found.bands_hz[0], found.bands_hz[-1])
