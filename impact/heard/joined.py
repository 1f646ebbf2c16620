"""Both methods joined: modes in the low bands, energy in the high ones, without a step.

Where the crossover falls follows from the modes in a band (`impact.energy`). Over three bands about
it both are computed; the blend moves from one to the other in decibels, and what they differ by,
unblended, is kept for the reader.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from impact.base import bands, levels
from impact.base.parallel import in_copies
from impact.design.parts import Design
from impact.energy import paths as energy
from impact.motion import lowband, sizes
from impact.motion.assemble import Assembly, assemble
from impact.motion.sizes import Size
from impact.motion.underfoot import Underfoot
from impact.rating import onsite
from impact.sound import room

BLEND = np.array([0.25, 0.5, 0.75])  # share of the energy method in the three bands
# Earliest and latest middle of the blend: below 200 Hz a floor of ordinary size has too few shapes
# that the room hears for averages (methods differ by up to 5 dB there), above 400 Hz modes cost
# more than they tell.
LOW_LIMIT = (bands.index(200.0), bands.index(400.0))
# More moving modes, or motions of mats, than this are not solved: the crossover comes down, and
# `joined` says so. The time of a line grows with the third power of the number; 1800 take about
# half a second. A mat has 2.7 motions for each moving mode of what floats on it (counted).
MOST_MODES, MOST_MOTIONS, MOTIONS = 1800, 1500, 2.7
LOWEST = bands.index(20.0)
VARIANTS = ("design", "best", "bare")
AGREE = 2.0  # dB, modes and energy where they meet: what examples and constructions keep to


@dataclass(frozen=True, eq=False)
class Joined:
    """Power per mean-square force and what stands behind it; arrays (28,) over the bands.

    power : variant ("design", "best", "bare") -> [W/N²]. flanking : wall -> [W/N²].
    mobility : mean driving-point mobility of the walked surface [m/(N s)].
    crossover : place in the bands of the middle of the blend; wanted : where it would be if any
    number of modes could be solved.
    mismatch_db : variant -> (3,) energy minus modes, unblended, over the three bands; both take a
    slab's own modes (`energy.slab_modes`).
    paths : path -> [W/N²] of the energy method; below the blend, where it does not count, averages
    alone. hung : of the path "cavity" what hangers alone would make, of solved bays (`Energy`).
    heard : variant -> place in the room below -> (…, crossover + 2) from its own modes, see
    `impact.heard.walking.in_room`; the average alone unless single places were asked for.
    underfoot : variant -> single places of the foot, of the same bands.
    size : of the stack with the new ceiling, by band. missing : "ceiling" and "bare" -> (crossover
    + 2,) estimate of what the modes and motions left out would change [dB].
    """

    assembly: Assembly
    power: dict[str, np.ndarray]
    flanking: dict[str, np.ndarray]
    mobility: np.ndarray
    crossover: int
    wanted: int
    mismatch_db: dict[str, np.ndarray]
    paths: dict[str, np.ndarray]
    hung: np.ndarray
    heard: dict[str, dict[str, np.ndarray]]
    underfoot: dict[str, Underfoot]
    size: tuple[Size, ...]
    missing: dict[str, np.ndarray]

    @property
    def notes(self) -> list[str]:
        """How far modes are taken, what is done otherwise because there are too many modes, and
        where modes and energy are more than AGREE apart."""
        where, found = max(self.missing.items(), key=lambda each: each[1].max())
        place = int(found.argmax())
        kept = (
            "Low bands: modes and motions of links are kept until more of them should change a "
            f"band by no more than {sizes.ENOUGH:g} dB, as far as they can be solved; the largest "
            f"estimate of what is left out is {found[place]:.2f} dB at {bands.NOMINAL[place]:g} Hz "
            f"({'bare floor' if where == 'bare' else 'with the ceiling'})."
        )
        if self.crossover >= self.wanted:
            return [kept, *_apart(self.mismatch_db, self.crossover)]
        return [
            kept,
            *_apart(self.mismatch_db, self.crossover),
            "Many modes, of a large room or of layers that float: they are solved up to "
            f"{bands.NOMINAL[self.crossover]:g} Hz only ({bands.NOMINAL[self.wanted]:g} Hz with "
            f"fewer) and at {lowband.LINES_DENSE[0]} frequencies a third octave; above, "
            "averages by energy. How far the two differ where they meet is the error to expect.",
        ]


def _apart(mismatch: dict[str, np.ndarray], crossover: int) -> list[str]:
    """With the ceiling and without it: where the two methods disagree, as a text; else none."""
    names = {"design": "with the ceiling", "bare": "without it"}
    three = [f"{bands.NOMINAL[crossover + i]:g} Hz" for i in (-1, 0, 1)]
    found = {name: np.abs(mismatch[name]) for name in names if name in mismatch}
    told = [
        f"{each.max():.1f} dB at {three[int(each.argmax())]} {names[name]}"
        for name, each in found.items()
        if round(float(each.max()), 1) > AGREE
    ]
    if not told:
        return []
    return [
        f"Modes and energy, two ways to the same level, are {' and '.join(told)} apart; up to "
        f"{AGREE:g} dB is usual. Take levels from {three[0]} to {three[-1]}, and above, as that "
        "uncertain."
    ]


def join(design: Design, places: bool = False) -> Joined:
    """Solve `design`, its best case and its bare floor from 10 Hz to 5 kHz.

    places : whether single places in the room below are listened at beside the average; in small
    rooms, whose corners are measured (ISO 16283-2), they always are.
    """
    places = places or room.volume(design) < onsite.SMALL_ROOM
    centres = np.array(bands.CENTRES)
    averages = energy.transfer(design, centres)
    wanted = int(np.clip(np.searchsorted(centres, averages.crossover_hz * 0.999), *LOW_LIMIT))
    middle = min(wanted, _affordable(centres, averages))
    top = middle + 1
    blended = blended_from(middle)  # for walls energy counts everywhere
    exactly = partial(energy.transfer, centres=centres, exact=True)
    jobs: dict[str, Callable[[], Any]] = {  # the one that cannot be sent, then long ones first
        "assembly": partial(assemble, design, bands.edges(centres[top])[1]),
        "design": partial(exactly, design, reach=(0.0, blended)),
        "best": partial(exactly, _without_hangers(design), reach=(blended, blended)),
        "bare": partial(exactly, design, ceiling=False, reach=(blended, blended)),
    }
    if design.hangers is None:
        del jobs["best"]  # the design itself
    done = dict(zip(jobs, in_copies(lambda job: job(), jobs.values(), here=1), strict=True))
    high, assembly = done["design"], done["assembly"]
    low_centres = list(bands.CENTRES[: top + 1])
    below = [
        room.ears(
            design, stack.leaves[stack.radiating], stack is assembly.whole, assembly.highest, places
        )
        for stack in (assembly.whole, assembly.bare)
    ]  # fmt: skip
    lines, lines_bare = lowband.LINES, lowband.LINES_BARE
    if middle < wanted:
        lines = lines_bare = lowband.LINES_DENSE
    low = lowband.transfers(
        assembly, assembly.whole, low_centres, lines,
        best=("hangers",), ears=below[0], feet=True, size=None,
    )  # fmt: skip
    low_bare = lowband.transfers(
        assembly, assembly.bare, low_centres, lines_bare, ears=below[1], feet=True, size=None
    )  # fmt: skip
    modal = {"design": low.power["design"], "best": low.power["best"],
             "bare": low_bare.power["design"]}  # fmt: skip
    power, mismatch = {}, {}
    for name in VARIANTS:
        statistical = done.get(name, high).power_per_force
        power[name], mismatch[name] = blend(modal[name], statistical, middle)
    mobility = np.array(high.mobility, complex)
    mobility[: top + 1] = low.mobility
    return Joined(
        assembly, power, dict(high.power_per_force_flanking), mobility, middle, wanted, mismatch,
        dict(high.paths), high.hung,
        {**low.heard, "bare": low_bare.heard["design"]},
        {**low.underfoot, "bare": low_bare.underfoot["design"]},
        low.size, {"ceiling": low.missing, "bare": low_bare.missing},
    )  # fmt: skip


def _affordable(centres: np.ndarray, averages: energy.Energy) -> int:
    """Highest middle of the blend for which the modes that move stay below MOST_MODES, and motions
    of mats below MOST_MOTIONS."""
    reach = sizes.USUAL.dynamic * np.array([bands.edges(c)[1] for c in centres]) + sizes.SPARE
    modes = np.searchsorted(averages.density * reach, MOST_MODES)
    motions = np.searchsorted(MOTIONS * averages.afloat * reach, MOST_MOTIONS)
    return max(int(min(modes, motions)) - 2, LOWEST)


def blended_from(middle: int) -> float:
    """From where on [Hz] the energy method counts: the lower edge of the lowest band that `blend`
    mixes about the band `middle`."""
    return float(bands.edges(bands.CENTRES[middle - 1])[0])


def blend(modal: np.ndarray, statistical: np.ndarray, middle: int) -> tuple[np.ndarray, np.ndarray]:
    """Powers (…, 28) of both methods as one, and energy minus modes (…, 3) [dB] where they meet.

    modal : (…, middle + 2 or more) from the modes, statistical : (…, 28) from the energy balance
    [W/N²], or one (28,) for all; squares of the sound pressure as well.
    """
    low, high = levels.decibel(modal), levels.decibel(statistical)
    three = slice(middle - 1, middle + 2)
    out = np.broadcast_to(high, (*modal.shape[:-1], high.shape[-1])).copy()
    out[..., : middle - 1] = low[..., : middle - 1]
    out[..., three] = (1 - BLEND) * low[..., three] + BLEND * high[..., three]
    return levels.square(out), high[..., three] - low[..., three]


def _without_hangers(design: Design) -> Design:
    """The best case: hangers, if any, so soft that nothing passes them."""
    if design.hangers is None:
        return design
    return replace(design, hangers=replace(design.hangers, dynamic_stiffness=1e-3))
