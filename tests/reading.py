"""Reading level of English text, for tests of what clients read."""

from __future__ import annotations

import re

SILENT = re.compile(r"(?:[^laeiouy]es|[^aeiouytd]ed|[^aeiouyl]e)$")


def syllables(word: str) -> int:
    """Groups of vowels, without the silent endings -e, -es, -ed; at least one. A usual estimate."""
    letters = re.sub(r"[^a-z]", "", word.lower())
    if len(letters) <= 3:
        return 1
    return max(1, len(re.findall(r"[aeiouy]+", SILENT.sub(lambda m: m[0][0], letters))))


def grade(sentences: list[str]) -> float:
    """Flesch-Kincaid grade level: 0.39 words/sentence + 11.8 syllables/word - 15.59.

    Kincaid, Fishburne, Rogers & Chissom, Research Branch Report 8-75 (1975). Words are runs of
    letters; numbers and symbols do not count.
    """
    split = [s for text in sentences for s in re.split(r"(?<=[.!?])\s+", text)]
    counted = [words for s in split if (words := re.findall(r"[A-Za-z][A-Za-z'-]*", s))]
    words = [word for sentence in counted for word in sentence]
    return 0.39 * len(words) / len(counted) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59
