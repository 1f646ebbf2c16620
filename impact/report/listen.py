"""What `impact listen` writes: sound files, the sheet that goes with them, a picture of levels."""

from __future__ import annotations

import io
import struct
from typing import TYPE_CHECKING, Any

import numpy as np

from impact.base import bands, levels
from impact.design.fixings import cautions_of
from impact.report.lines import signed, wrapped
from impact.sound import hearing
from impact.study import listen

if TYPE_CHECKING:
    from matplotlib.figure import Figure

OFF = 0.5  # dB between prediction and file that is pointed out
LARGEST = 2**31 - 1  # of a 32 bit sample
TITLES = {"bare": "floor without the new ceiling", "design": "the design",
          "best": "perfect hangers, without stiffness"}  # fmt: skip
WHO = {
    "barefoot": "an adult walking barefoot", "socks": "an adult walking in socks",
    "soft": "an adult walking in soft shoes", "hard": "an adult walking in hard heels",
    "child": "a running child", "child_jumping": "a child that jumps off 0.3 m",
    "dropped_toy": "a steel toy car dropped from 1 m",
}  # fmt: skip
PLACES = {
    "average": "average over the room", "middle": "middle of the room, 1.2 m above the floor",
    "corner": "a corner of the room", "pillow": "a pillow: 0.3 m from a wall, 0.6 m high",
}  # fmt: skip
SPEAKERS = wrapped(
    "Small loudspeakers cannot play thuds: laptops and telephones stop at 150 to 300 Hz, most "
    "shelf loudspeakers at 50 Hz. Use closed headphones that reach 20 Hz or a subwoofer, and play "
    "the tone file first: where its second tone, 31.5 Hz, is not heard, neither are the thuds."
)
CAVEATS = wrapped(
    "A prediction, not a recording. Below 100 Hz it is uncertain by 5 dB and more, and moving in "
    "the room changes single bands by as much; people differ. Above 110 Hz the time course within "
    "a band is drawn at random. Walls, workmanship, dragged chairs and speech are not in it."
)


def wav(samples: np.ndarray, full_scale: float, comment: str) -> bytes:
    """A mono WAV of 32 bit integers; the largest number is `full_scale` [Pa].

    comment : kept in the file itself (LIST INFO ICMT). Raises ValueError where it would clip.
    """
    from scipy.io import wavfile

    if np.abs(samples).max() > full_scale:
        raise ValueError("samples exceed full scale")
    numbers = np.round(samples / full_scale * LARGEST).astype(np.int32)
    buffer = io.BytesIO()
    wavfile.write(buffer, listen.RATE, numbers)
    text = comment.encode("ascii", "replace") + b"\0"
    text += b"\0" * (len(text) % 2)
    chunk = b"INFOICMT" + struct.pack("<I", len(text)) + text
    whole = bytearray(buffer.getvalue() + b"LIST" + struct.pack("<I", len(chunk)) + chunk)
    whole[4:8] = struct.pack("<I", len(whole) - 8)
    return bytes(whole)


def sheet(made: listen.Listening, names: dict[str, str]) -> str:
    """Text that goes with the files: what each is, levels, calibration, how to listen.

    names : "bare", "design", "best", "tone" -> file name.
    """
    tones = ", then ".join(f"{f:g} Hz at {db:g} dB" for f, db in listen.TONES)
    lines = [
        f"Footsteps below: {made.design.name}",
        f"{WHO[made.who]}, {len(made.touchdowns)} times, the same in every file (seed {made.seed})",
        f"heard at: {PLACES[made.place]}",
        f"background: {_background(made)}",
        "",
        *(f"{names[key]:38s} {TITLES[key]}" for key in TITLES),
        f"{names['tone']:38s} {tones}",
        "",
        *summary(made),
        "",
        "Calibration",
        f"  Full scale (largest number in the files) is {made.full_scale:g} Pa, peak.",
        f"  A sine at full scale is {_sine(made.full_scale):.1f} dB re 20 uPa.",
        *wrapped(
            f"Play the tone file, {listen.TONE_SECONDS:g} s a tone; turn the volume until a sound "
            f"level meter at the ear reads {listen.TONES[0][1]:g} dB (Z or A weighted) at the "
            "first tone. From then on all files play at their true level.",
            "  ",
        ),
        "",
        *SPEAKERS,
        "",
        *wrapped(
            "Band levels, dB re 20 uPa: F maximum per third octave, energy mean over the steps, "
            "without background; predicted, and measured in the file"
        ),
        "",
        *_table(made),
        "",
        *CAVEATS,
    ]
    return "\n".join(lines) + "\n"


def summary(made: listen.Listening) -> list[str]:
    """A few lines for the screen: LAFmax and largest band of each file, and what changes."""
    lines = ["LAFmax of a step (median), largest third octave"]
    for key, one in made.recordings.items():
        top = int(np.argmax(one.levels))
        lines.append(
            f"  {one.name:7s} {one.a_fast:5.1f} dB(A)  {one.levels[top]:5.1f} dB at "
            f"{bands.named(bands.NOMINAL[top]):8s} {TITLES[key]}"
        )
    for region, span in bands.REGIONS.items():
        design, bare = (
            hearing.heard_level(made.recordings[key].levels, span) for key in ("design", "bare")
        )
        words = hearing.heard_words(design - bare, bare > 0, design > 0)  # all bands together
        low = max(span[0], hearing.HEARD_FROM)
        lines += wrapped(
            f"{region} as heard ({low:g} to {span[1]:g} Hz), design against bare: "
            f"{signed(design - bare, 1)} dB, {words}", "  ", "    ",
        )  # fmt: skip
    return lines


def _background(made: listen.Listening) -> str:
    if made.background_levels is None:
        return "none (the files hold the footsteps alone)"
    return "the room's own" if made.background == "room" else f"NC {made.background.upper()[-2:]}"


def _sine(full_scale: float) -> float:
    return float(levels.decibel(full_scale**2 / 2, levels.PRESSURE**2))


def _table(made: listen.Listening) -> list[str]:
    head = "  band [Hz]" + "".join(f"{one.name:>20s}" for one in made.recordings.values())
    lines = [head, "           " + "   predicted    file" * len(made.recordings)]
    for b, band in enumerate(bands.NOMINAL):
        cells = "".join(
            f"{one.predicted[b]:12.1f}{one.levels[b]:8.1f}" for one in made.recordings.values()
        )
        lines.append(f"  {bands.label(band):>9s}{cells}")
    lines += wrapped(
        f"Bands predicted below {listen.CHECKED_ABOVE:g} dB cannot be heard and are left as they "
        "come.", "  ",
    )  # fmt: skip
    off = [
        (b, one.name)
        for one in made.recordings.values()
        for b in np.flatnonzero(np.abs(one.levels - one.predicted) > OFF)
        if one.predicted[b] > 0
    ]
    if off:
        where = ", ".join(f"{bands.named(bands.NOMINAL[b])} {name}" for b, name in off)
        lines += wrapped(
            f"More than {OFF:g} dB off: {where}. Next to a much louder band a meter's filter hears "
            "the neighbour; a prediction does not, and no file can have such levels.", "  ",
        )  # fmt: skip
    return lines


def picture(made: listen.Listening) -> Figure:
    """F levels per third octave against time, one panel a file; call inside `style.look()`."""
    from impact.report import style

    figure = style.figure(8.0, 9.0)
    axes: Any = figure.subplots(len(made.recordings), 1, sharex=True)
    for ax, (key, one) in zip(axes, made.recordings.items(), strict=True):
        times, course = listen.courses(one.samples)
        steps = np.arange(len(bands.NOMINAL) + 1) - 0.5
        mesh = ax.pcolormesh(
            times, steps, levels.decibel(course, levels.PRESSURE**2), cmap=style.SEQUENTIAL,
            vmin=0, vmax=100, shading="flat", rasterized=True,
        )  # fmt: skip
        ax.set_yticks(range(0, 28, 3), [bands.label(f) for f in bands.NOMINAL[::3]])
        ax.set_ylabel("third-octave band [Hz]")
        ax.set_title(f"{one.name}: {TITLES[key]}, LAFmax {one.a_fast:.0f} dB(A)", loc="left")
        ax.grid(False)
    axes[-1].set_xlabel("time [s]")
    figure.colorbar(mesh, ax=axes, label="F level [dB re 20 µPa]")
    style.titled(figure, made.design.name, f": {WHO[made.who]}")
    style.cautioned(figure, cautions_of(made.design))
    return figure
