"""Text on a terminal: one left edge, wrapped at blanks, lists with a title, ASCII where nothing else is known."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from ballbench.findings.footing import Footing
from ballbench.presentation.marks import mark_characters
from ballbench.presentation.typography import knit
from ballbench.presentation.wording import INVENTED, as_sentence

__all__ = ["TerminalPage"]

_MARK = 7  # columns that a mark stands in
_GLUE = "\ue000"  # stands for a blank that must not break while rich wraps; a private letter, never in the data


class TerminalPage:
    """A console with one left edge; text is taken literally, never as markup."""

    def __init__(self, console: Console) -> None:
        self.console = console
        self.plain = console.options.ascii_only

    def opened(self, title: str, *, invented: bool) -> None:
        """Print the title, and before it that the data are invented where they are."""
        if invented:
            self.line(f"{INVENTED}.", style="bold")
        self.line(title, style="bold")

    def decided(self, decision: str, sentence: str) -> None:
        """Print what was decided of a clause, its mark before it."""
        self.line(sentence, _MARK, lead=mark_characters(decision, plain=self.plain))

    def closed(self, footing: Footing) -> None:
        """Print what a result rests on: what was taken for granted, the notes and the cautions, where there are any."""
        self.listed("Taken for granted", footing.assumptions)
        self.listed("Notes", footing.notes)
        self.listed("Beware", footing.cautions)

    def line(self, text: str, indent: int = 0, style: str = "", lead: str = "") -> None:
        """Print wrapped text at an indent, `lead` standing in the indent of its first line."""
        words = knit(_ascii(text) if self.plain else text).replace("\N{NO-BREAK SPACE}", _GLUE)
        room = max(self.console.width - indent, 20)
        for i, part in enumerate(Text(words, overflow="fold").wrap(self.console, room)):
            left = lead.ljust(indent) if i == 0 else " " * indent
            self.drawn(left, part.plain.rstrip().replace(_GLUE, " "), style)

    def drawn(self, left: str, text: str, style: str = "") -> None:
        """Print one line as it is."""
        self.console.print(Text.assemble((left, "bold"), (text, style)), no_wrap=True, crop=True, overflow="ignore")

    def blank(self) -> None:
        """Print an empty line."""
        self.console.print()

    def listed(self, title: str, items: tuple[str, ...]) -> None:
        """Print a titled list; nothing when it is empty."""
        if not items:
            return
        self.blank()
        self.line(title, style="bold")
        for item in items:
            self.line(as_sentence(item), 2, lead="- " if self.plain else "· ")


def _ascii(text: str) -> str:
    for sign, plain in (
        ("−", "-"),
        ("–", "-"),
        ("…", "..."),
        ("°", " deg "),
        ("µ", "u"),
        ("∞", "inf"),
        ("±", "+/-"),
        ("\N{NO-BREAK SPACE}", " "),
    ):
        text = text.replace(sign, plain)
    return text.encode("ascii", "replace").decode("ascii")
