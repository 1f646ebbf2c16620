"""A sheet to be filled in: title, head, sections of lines, foot; as plain text or Markdown."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

WIDTH = 80
BOX = "[ ] "


@dataclass(frozen=True)
class Section:
    """A titled list. hint : a sentence below the title."""

    title: str
    items: tuple[str, ...]
    hint: str = ""


@dataclass(frozen=True)
class Document:
    """head, foot : paragraphs. boxes : whether items are ticked off."""

    title: str
    head: tuple[str, ...]
    sections: tuple[Section, ...]
    foot: tuple[str, ...]
    boxes: bool = True

    def text(self) -> str:
        """Plain text, 80 columns. A question keeps its key and answer on one line."""
        lines = [self.title, "=" * len(self.title)]
        for paragraph in self.head:
            lines += ["", *textwrap.wrap(paragraph, WIDTH)]
        for section in self.sections:
            lines += ["", section.title, "-" * len(section.title)]
            lines += textwrap.wrap(section.hint, WIDTH)
            for item in section.items:
                lines += self._item(item)
        for paragraph in self.foot:
            lines += ["", *textwrap.wrap(paragraph, WIDTH)]
        return "\n".join(lines) + "\n"

    def _item(self, item: str) -> list[str]:
        first = BOX if self.boxes else "  "
        question, mark, answer = item.rpartition(" [")
        tail = mark + answer
        whole = first + item
        if not mark or self.boxes:
            return textwrap.wrap(whole, WIDTH, subsequent_indent=" " * len(first),
                                 break_on_hyphens=False)  # fmt: skip
        if len(whole) <= WIDTH:
            return [whole]
        lines = textwrap.wrap(first + question, WIDTH, subsequent_indent="    ")
        return [*lines, "   " + tail]

    def markdown(self) -> str:
        """Markdown; the same lines, keys as code."""
        lines = [f"# {self.title}"]
        for paragraph in self.head:
            lines += ["", paragraph]
        for section in self.sections:
            lines += ["", f"## {section.title}", ""]
            lines += [section.hint, ""] if section.hint else []
            lines += [f"- {BOX if self.boxes else ''}{self._marked(item)}"
                      for item in section.items]  # fmt: skip
        for paragraph in self.foot:
            lines += ["", paragraph]
        return "\n".join(lines) + "\n"

    def _marked(self, item: str) -> str:
        question, mark, answer = item.rpartition(" [")
        if not mark or self.boxes:
            return item
        key, _, blank = answer.partition("]:")
        shown = question.replace("*", "\\*")
        return f"{shown} `[{key}]`: {blank.strip()}"
