"""Three dozen meter exports, each laid out in its own way. Invented: no meter made any of them.

The truth is one spectrum for Leq and one for fast maxima; every writer below puts the same numbers
down in another way. None of the reader's own code is used here.
"""

from __future__ import annotations

import io
import zipfile

NOMINAL = ("50", "63", "80", "100", "125", "160", "200", "250", "315", "400", "500", "630", "800",
           "1000", "1250", "1600", "2000", "2500", "3150")  # fmt: skip
EXACT = (
    "50.119",
    "63.096",
    "79.433",
    "100.000",
    "125.893",
    "158.489",
    "199.526",
    "251.189",
    "316.228",
    "398.107",
    "501.187",
    "630.957",
    "794.328",
    "1000.000",
    "1258.925",
    "1584.893",
    "1995.262",
    "2511.886",
    "3162.278",
)  # fmt: skip  IEC 61260-1: 1000 x 10^(n/10)
SHORT = (*NOMINAL[:13], "1k", "1k25", "1k6", "2k", "2k5", "3k15")
BANDS = tuple(float(band) for band in NOMINAL)
LEQ = tuple(round(67.3 - 1.7 * i + (i * 7 % 5) / 2, 1) for i in range(len(BANDS)))
LMAX = tuple(round(level + 6.4 - i % 3, 1) for i, level in enumerate(LEQ))
OCTAVES = {"63": 66.2, "125": 63.1, "250": 58.9, "500": 51.7, "1000": 46.4, "2000": 40.3}


def comma(text: str) -> str:
    """The same with decimal commas."""
    return text.replace(".", ",")


def plain() -> str:
    return "band_hz,level_db\n" + "".join(f"{b},{x}\n" for b, x in zip(NOMINAL, LEQ, strict=True))


def remarks() -> str:
    head = "# Sound level meter, invented\n# Source: tapping machine, first floor\n# LZeq, 30 s\n"
    return head + plain().replace("band_hz,level_db", "Frequency [Hz],Level [dB]")


def semicolons() -> str:
    rows = "".join(f"{b};{comma(str(x))};{comma(str(y))}\n"
                   for b, x, y in zip(NOMINAL, LEQ, LMAX, strict=True))  # fmt: skip
    return "Frequenz [Hz];LZeq [dB];LZFmax [dB]\n" + rows


def tabs_with_overall() -> str:
    rows = "".join(f"{b} Hz\t{x}\t{y}\n" for b, x, y in zip(NOMINAL, LEQ, LMAX, strict=True))
    return f"Band\tLeq\tLFmax\nA\t55.1\t62.0\nC\t66.6\t71.1\n{rows}Z\t70.2\t77.1\n"


def across() -> str:
    head = "Profile;Metric;" + ";".join(f"{b} Hz" for b in NOMINAL)
    return (f"{head}\nRoom below;LZeq;{';'.join(map(str, LEQ))}\n"
            f"Room below;LZFmax;{';'.join(map(str, LMAX))}\n")  # fmt: skip


def across_bare_header() -> str:
    """The header lacks a cell over the names."""
    head = ",".join(f"{b}Hz" for b in NOMINAL)
    return f"{head}\nLZFmax,{','.join(map(str, LMAX))}\nLZeq,{','.join(map(str, LEQ))}\n"


def header_with_metric() -> str:
    cells = [f"LZeq {b}Hz" for b in NOMINAL] + [f"LZFmax {b}Hz" for b in NOMINAL]
    values = map(str, (*LEQ, *LMAX))
    return ("Date\tTime\tLAeq\t" + "\t".join(cells) + "\n"
            + "2026-03-01\t10:15:00\t55.0\t" + "\t".join(values) + "\n")  # fmt: skip


def one_to_a_line() -> str:
    lines = [f"LZeq {b} Hz, {x}" for b, x in zip(NOMINAL, LEQ, strict=True)]
    lines += [f"LZFmax {b} Hz, {x}" for b, x in zip(NOMINAL, LMAX, strict=True)]
    return "Report no., 12\n" + "\n".join(lines) + "\n"


def interleaved() -> str:
    lines = [f"LZFmax_{b}Hz;{comma(str(y))}\nLZeq_{b}Hz;{comma(str(x))}"
             for b, x, y in zip(NOMINAL, LEQ, LMAX, strict=True)]  # fmt: skip
    return "\n".join(lines) + "\n"


def exact_centres() -> str:
    numbered = enumerate(zip(EXACT, NOMINAL, LEQ, strict=True), 1)
    rows = "".join(f"{i};{exact};{band};{x:.3f}\n" for i, (exact, band, x) in numbered)
    return "No;exact [Hz];nominal [Hz];LZeq\n" + rows


def kilohertz() -> str:
    rows = "".join(f"{float(b) / 1000:g}\t{x}\n" for b, x in zip(NOMINAL, LEQ, strict=True))
    return "Frequency [kHz]\tLZeq [dB]\n" + rows


def short_bands() -> str:
    rows = "".join(f"{b:<8}{x:>8}{y:>8}\n" for b, x, y in zip(SHORT, LEQ, LMAX, strict=True))
    return "Band        LZeq  LZFmax\n" + rows


def thousands() -> str:
    names = [b if len(b) < 4 else f"{b[0]}.{b[1:]}" for b in NOMINAL]
    return "Hz;LZeq\n" + "".join(f"{b};{comma(str(x))}\n" for b, x in zip(names, LEQ, strict=True))


def thousands_quoted() -> str:
    names = [b if len(b) < 4 else f'"{b[0]},{b[1:]}"' for b in NOMINAL]
    return "Hz,LZeq\n" + "".join(f"{b},{x}\n" for b, x in zip(names, LEQ, strict=True))


def quoted_commas() -> str:
    rows = "".join(f'"{b}","{comma(str(x))}"\n' for b, x in zip(NOMINAL, LEQ, strict=True))
    return '"Hz","LZeq"\n' + rows


def sections() -> str:
    parts = ["Meter export, invented", "", "[Octaves]", "Hz;LZeq"]
    parts += [f"{b};{x}" for b, x in OCTAVES.items()]
    parts += ["", "[1/3 octaves]", "Hz;LZeq"]
    parts += [f"{b};{x}" for b, x in zip(NOMINAL, LEQ, strict=True)]
    return "\n".join(parts) + "\n"


def gaps() -> str:
    cells = [str(x) for x in LEQ]
    cells[0], cells[5], cells[18] = "--", "", "<20.0"
    return "Hz;LZeq\n" + "".join(f"{b};{x}\n" for b, x in zip(NOMINAL, cells, strict=True))


def falling() -> str:
    rows = [f"{b} Hz | {x} dB" for b, x in zip(NOMINAL, LEQ, strict=True)]
    return "Band | LZeq\n" + "\n".join(reversed(rows)) + "\n"


def profiles() -> str:
    blocks = []
    for number, shift in enumerate((-2.0, 0.0, 2.0), 1):
        rows = "\n".join(f"{b}\t{x + shift:.1f}" for b, x in zip(NOMINAL, LEQ, strict=True))
        blocks.append(f"Position {number}\nHz\tLZeq\n{rows}\n")
    return "\n".join(blocks)


def with_background() -> str:
    rows = "".join(f"{b},{x},{x - 30:.1f},0.5\n" for b, x in zip(NOMINAL, LEQ, strict=True))
    return "Hz,Tapping machine LZeq,Background LZeq,T20 [s]\n" + rows


def old_windows() -> bytes:
    text = "Raum;Küche über Diele\nHz;LZeq re 20 µPa\n"
    text += "".join(f"{b};{comma(str(x))}\n" for b, x in zip(NOMINAL, LEQ, strict=True))
    return text.replace("\n", "\r\n").encode("cp1252")


def wide_characters() -> bytes:
    return semicolons().replace("\n", "\r\n").encode("utf-16")  # with its mark


def wide_without_mark() -> bytes:
    return semicolons().encode("utf-16-le")


def marked() -> bytes:
    return b"\xef\xbb\xbf" + across().encode()


def spreadsheet_hint() -> str:
    """A hint for spreadsheets on top, metric and band in one header cell without a unit."""
    head = "Start;" + ";".join(f"LZFmax {b}" for b in NOMINAL)
    head += ";" + ";".join(f"LZeq {b}" for b in NOMINAL)
    return f"sep=;\n{head}\n10:15:00;{';'.join(map(comma, map(str, (*LMAX, *LEQ))))}\n"


def values_beside() -> str:
    """Single numbers beside the table that state no metric of it."""
    head = "LAFmax: 77.2 dB\nLAeq;55.1\nTapping machine\n"
    return head + "Hz;LZeq\n" + "".join(f"{b};{x}\n" for b, x in zip(NOMINAL, LEQ, strict=True))


def room_symbols() -> str:
    """Symbols of ISO 16283 over the columns: level and background in the room below."""
    rows = "".join(f"{b};{comma(str(x))};{comma(f'{x - 30:.1f}')}\n"
                   for b, x in zip(NOMINAL, LEQ, strict=True))  # fmt: skip
    return "f/Hz;L2 [dB];B2 [dB]\n" + rows


def room_symbols_with_times() -> str:
    """Background, reverberation time and impact level, the level last."""
    rows = "".join(f"{b}\t{x - 30:.1f}\t0.{40 + i}\t{x}\n"
                   for i, (b, x) in enumerate(zip(NOMINAL, LEQ, strict=True)))  # fmt: skip
    return "Hz\tB2\tT2\tLi\n" + rows


def room_symbols_across() -> str:
    """The same symbols before rows, and over the blocks of another file."""
    return (f"Quantity;{';'.join(f'{b} Hz' for b in NOMINAL)}\n"
            f"B2;{';'.join(f'{x - 30:.1f}' for x in LEQ)}\n"
            f"L2;{';'.join(map(str, LEQ))}\n")  # fmt: skip


def room_symbols_as_titles() -> str:
    blocks = [("L2", 0.0), ("B2", -30.0)]
    return "\n".join(f"{name}\nHz,Leq\n" + "".join(
        f"{b},{x + shift:.1f}\n" for b, x in zip(NOMINAL, LEQ, strict=True)
    ) for name, shift in blocks)  # fmt: skip


def percentiles() -> str:
    """Levels exceeded 1, 2, 10 and 90 % of the time beside Leq; nothing of another room."""
    rows = "".join(f"{b},{x + 9:.1f},{x + 7:.1f},{x},{x + 3:.1f},{x - 5:.1f}\n"
                   for b, x in zip(NOMINAL, LEQ, strict=True))  # fmt: skip
    return "Hz,L1,L2,Leq,L10,L90\n" + rows


def status_down() -> str:
    """A column that says of three values that they are none; the truth is left in the others."""
    said = dict.fromkeys(range(len(NOMINAL)), "OK") | {
        0: "Overload",
        5: "invalid",
        18: "Underrange",
    }
    rows = "".join(f"{b},{x},{said[i]}\n"
                   for i, (b, x) in enumerate(zip(NOMINAL, LEQ, strict=True)))  # fmt: skip
    return "Freq,Leq,Status\n" + rows


def status_of_each() -> str:
    """A status behind each level: that of the maxima is none of Leq's."""
    rows = [[b, str(x), "", str(y), ""] for b, x, y in zip(NOMINAL, LEQ, LMAX, strict=True)]
    for at in (0, 5, 18):
        rows[at][2] = "under range"
    rows[7][4] = "over range"
    return "Band;LZeq;Status;LZFmax;Status\n" + "".join(";".join(row) + "\n" for row in rows)


def status_as_numbers() -> str:
    rows = "".join(f"{b}\t{int(i in (0, 5, 18))}\t{x}\n"
                   for i, (b, x) in enumerate(zip(NOMINAL, LEQ, strict=True)))  # fmt: skip
    return "Hz\tOverload\tLZeq\n" + rows


def status_as_marks() -> str:
    rows = "".join(f"{b},{x},{'*' if i in (0, 5, 18) else ''}\n"
                   for i, (b, x) in enumerate(zip(NOMINAL, LEQ, strict=True)))  # fmt: skip
    return "Hz,LZeq,OL\n" + rows


def beside_background() -> str:
    """Headings cut short."""
    rows = "".join(f"| {b} | {x} | {x - 30:.1f} |\n" for b, x in zip(NOMINAL, LEQ, strict=True))
    return "| Freq | LZeq | Bkg LZeq |\n|---|---|---|\n" + rows


def status_across() -> str:
    said = ["n/a" if i in (0, 5, 18) else "valid" for i in range(len(NOMINAL))]
    return (f"Metric;{';'.join(f'{b} Hz' for b in NOMINAL)}\n"
            f"LZeq;{';'.join(map(str, LEQ))}\nStatus;{';'.join(said)}\n")  # fmt: skip


def status_to_a_line() -> str:
    said = ["overload" if i in (0, 5, 18) else "ok" for i in range(len(NOMINAL))]
    return "".join(f"LZeq {b} Hz; {x}; {word}\n"
                   for b, x, word in zip(NOMINAL, LEQ, said, strict=True))  # fmt: skip


def marks_of_no_data() -> str:
    """Numbers that stand for none; three of them in use at meters."""
    cells = [str(x) for x in LEQ]
    cells[0], cells[5], cells[18] = "-99.9", "-999", "999.9"
    return "Hz,LZeq\n" + "".join(f"{b},{x}\n" for b, x in zip(NOMINAL, cells, strict=True))


def whole_levels() -> str:
    """Octaves: the one comma stands in the first band, the levels have no decimals."""
    return "Hz;LZFmax\n31,5;92\n63;85\n125;70\n250;55\n500;40\n"


def whole_levels_across() -> str:
    return ";31,5;63;125;250;500;1000\nLZFmax;92;85;70;55;40;33\n"


def workbook() -> bytes:
    """Two sheets; the second holds the spectrum, below two lines of remarks."""
    import openpyxl

    book = openpyxl.Workbook()
    book.active.title = "Info"
    book.active.append(["Invented export", None, "serial 1"])
    sheet = book.create_sheet("Spectra")
    sheet.append(["Measured in the room below"])
    sheet.append([])
    sheet.append(["Frequency [Hz]", "LZeq [dB]", "LZFmax [dB]"])
    for band, x, y in zip(BANDS, LEQ, LMAX, strict=True):
        sheet.append([band, x, y])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def powers_of_ten() -> str:
    """Bands and levels as programs for measuring write them."""
    rows = "".join(f"{float(b):.4E},{x:.4E}\n" for b, x in zip(NOMINAL, LEQ, strict=True))
    return "Frequency (Hz),Leq (dB)\n" + rows


def with_edges() -> str:
    """Edges of the bands (IEC 61260-1: 10^(-1/20), 10^(1/20) of the exact centre) about the
    centres."""
    rows = "".join(f"{float(e) * 0.89125:.1f},{b},{float(e) * 1.12202:.1f},{x}\n"
                   for e, b, x in zip(EXACT, NOMINAL, LEQ, strict=True))  # fmt: skip
    return "f_low,f_c,f_high,Leq\n" + rows


def bomb() -> bytes:
    """A small archive that unpacks to 60 MB."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * 60_000_000)
    return out.getvalue()


# Name -> (content, options that the file leaves open). All hold LEQ, whole or (gaps) in part.
FILES: dict[str, tuple[str | bytes, dict[str, str]]] = {
    "plain.csv": (plain(), {"source": "tapping_machine", "metric": "leq"}),
    "remarks.csv": (remarks(), {}),
    "semicolons.csv": (semicolons(), {"source": "tapping_machine"}),
    "tabs_with_overall.txt": (tabs_with_overall(), {"source": "tapping_machine"}),
    "across.csv": (across(), {"source": "tapping_machine"}),
    "across_bare_header.csv": (across_bare_header(), {"source": "tapping_machine"}),
    "header_with_metric.tsv": (header_with_metric(), {"source": "tapping_machine"}),
    "one_to_a_line.txt": (one_to_a_line(), {"source": "tapping_machine"}),
    "interleaved.txt": (interleaved(), {"source": "tapping_machine"}),
    "exact_centres.csv": (exact_centres(), {"source": "tapping_machine"}),
    "kilohertz.tsv": (kilohertz(), {"source": "tapping_machine"}),
    "short_bands.txt": (short_bands(), {"source": "tapping_machine"}),
    "thousands.csv": (thousands(), {"source": "tapping_machine"}),
    "thousands_quoted.csv": (thousands_quoted(), {"source": "tapping_machine"}),
    "quoted_commas.csv": (quoted_commas(), {"source": "tapping_machine"}),
    "sections.csv": (sections(), {"source": "tapping_machine"}),
    "gaps.csv": (gaps(), {"source": "tapping_machine"}),
    "falling.txt": (falling(), {"source": "tapping_machine"}),
    "profiles.tsv": (profiles(), {"source": "tapping_machine", "profile": "Position 2"}),
    "with_background.csv": (with_background(), {}),
    "old_windows.csv": (old_windows(), {"source": "tapping_machine"}),
    "wide_characters.csv": (wide_characters(), {"source": "tapping_machine"}),
    "wide_without_mark.csv": (wide_without_mark(), {"source": "tapping_machine"}),
    "spreadsheet_hint.csv": (spreadsheet_hint(), {"source": "tapping_machine"}),
    "values_beside.csv": (values_beside(), {}),
    "marked.csv": (marked(), {"source": "tapping_machine"}),
    "room_symbols.csv": (room_symbols(), {"source": "tapping_machine"}),
    "room_symbols_with_times.tsv": (room_symbols_with_times(), {"source": "tapping_machine"}),
    "room_symbols_across.csv": (room_symbols_across(), {"source": "tapping_machine"}),
    "room_symbols_as_titles.csv": (room_symbols_as_titles(), {"source": "tapping_machine"}),
    "percentiles.csv": (percentiles(), {"source": "tapping_machine"}),
    "status_down.csv": (status_down(), {"source": "tapping_machine"}),
    "status_of_each.csv": (status_of_each(), {"source": "tapping_machine"}),
    "status_as_numbers.tsv": (status_as_numbers(), {"source": "tapping_machine"}),
    "status_as_marks.csv": (status_as_marks(), {"source": "tapping_machine"}),
    "beside_background.txt": (beside_background(), {"source": "tapping_machine"}),
    "status_across.csv": (status_across(), {"source": "tapping_machine"}),
    "status_to_a_line.txt": (status_to_a_line(), {"source": "tapping_machine"}),
    "marks_of_no_data.csv": (marks_of_no_data(), {"source": "tapping_machine"}),
    "powers_of_ten.csv": (powers_of_ten(), {"source": "tapping_machine"}),
    "with_edges.csv": (with_edges(), {"source": "tapping_machine"}),
}
WITH_GAPS = ("gaps.csv", "marks_of_no_data.csv", "status_down.csv", "status_of_each.csv",
             "status_as_numbers.tsv", "status_as_marks.csv", "status_across.csv",
             "status_to_a_line.txt")  # fmt: skip
MISSING = (0, 5, 18)  # places where these hold no level
