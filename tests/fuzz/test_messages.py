"""The count of messages finds each place that makes one, once, and by its kind."""

from __future__ import annotations

from .messages import messages

CODE = """
def reads(path, ledger):
    if path is None:
        raise ValueError("no path")
    if path:
        ledger.fault(
            path, "is there",
        )
    faults = [Fault(n, "bad") for n in path]
    if faults:
        raise InputError(path, faults)
    raise InputError(path, [Fault("file", "is empty")]) from None
"""


def test_places_by_line_and_kind(tmp_path):
    """Counted by hand: an InputError that hands on what was made before is not counted again."""
    path = tmp_path / "code.py"
    path.write_text(CODE, encoding="utf-8")
    found = [(one.line, one.kind) for one in messages(path)]
    assert found == [(4, "misuse"), (6, "input"), (9, "input"), (12, "input")]
