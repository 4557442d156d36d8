"""What hands, clock and thermometer say at the car, against which no weather is a *go*."""

from __future__ import annotations

from dataclasses import dataclass

from sprayadvisor.advice.onsite import Felt
from sprayadvisor.advice.verdict import RANKED, Word

LATE = "the coat before has been on for too long to take another"
DAMP = "the panel is too damp by breath mist or stripe, whatever else"
SLOW = "the breath mist goes slowly: the panel is close to damp"
UNREAD = "nothing was read just now: read the panel, and the humidity, before you lay clear"


@dataclass(frozen=True, slots=True)
class Cap:
    """The best word there can be, and why."""

    most: Word = Word.GO
    why: str = ""

    def on(self, word: Word) -> tuple[Word, str]:
        """Return what is left of a word, with the reason where that is less.

        What no better weather mends is the reason even of a word that is as bad without it.
        """
        beyond_mending = self.why == LATE and word is self.most
        return (word, "") if self.allows(word) and not beyond_mending else (self.most, self.why)

    def allows(self, word: Word) -> bool:
        """Return whether a word may stand."""
        return RANKED.index(word) <= RANKED.index(self.most)


def cap_of(*, late: bool, felt: Felt, unread: bool) -> Cap:
    """Return the cap that weighs most.

    Args:
        late: whether the coat before has been on for too long.
        felt: what breath mist and damp stripe say.
        unread: whether clear would be laid on the forecast alone.
    """
    if late:
        return Cap(Word.NO_GO, LATE)
    if felt is Felt.DAMP:
        return Cap(Word.NO_GO, DAMP)
    if felt is Felt.BETWEEN:
        return Cap(Word.CARE, SLOW)
    return Cap(Word.CARE, UNREAD) if unread else Cap()
