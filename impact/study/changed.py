"""What two design files say differently, key by key, in the words of the files."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

LEFT_OUT = ("project",)  # tables that change no number


def changed(first: str, second: str) -> list[dict[str, str | None]]:
    """Keys of two design files [paths] whose values are not written alike, in the order of the
    files: "key", "first", "second", None where a file has no such key. Empty where one cannot be
    read, as for designs made in Python."""
    files = [_read(path) for path in (first, second)]
    if not all(files):
        return []
    one, other = (_flat(each) for each in files)
    return [
        {"key": key, "first": one.get(key), "second": other.get(key)}
        for key in dict.fromkeys((*one, *other))
        if one.get(key) != other.get(key)
    ]


def _read(path: str) -> dict[str, Any]:
    try:
        return tomllib.loads(Path(path).read_text(encoding="utf-8-sig")) if path else {}
    except (OSError, ValueError):
        return {}


def _flat(raw: dict[str, Any]) -> dict[str, str]:
    """Values by their path: cavity.clear_depth, ceiling.layers[0].material."""
    found: dict[str, str] = {}

    def walk(value: Any, path: str) -> None:
        if isinstance(value, dict) and "value" in value:  # a range of one quantity
            ends = " to ".join(str(value[end]) for end in ("low", "high") if end in value)
            found[path] = f"{value['value']} ({ends})" if ends else str(value["value"])
        elif isinstance(value, dict) and value:
            for key, inner in value.items():
                walk(inner, f"{path}.{key}" if path else key)
        elif isinstance(value, list) and any(isinstance(each, dict) for each in value):
            for number, inner in enumerate(value):
                walk(inner, f"{path}[{number}]")
        else:
            found[path] = str(value)

    walk({key: value for key, value in raw.items() if key not in LEFT_OUT}, "")
    return found
