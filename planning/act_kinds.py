"""
What kind an act of the audit trail is, by the name it is written under: "read.timeline" was opened,
"note.printed" printed, "message.sent" sent. Whatever fits none of these changed something.

The names are patterns of plain text, so that a database can look for them as well.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from planning.vocabulary import Term


class ActKind(Term):
    """What somebody did with a record."""

    OPENED = "opened", "Opened"
    CHANGED = "changed", "Changed"
    PRINTED = "printed", "Printed"
    EXPORTED = "exported", "Exported"
    SENT = "sent", "Sent"


@dataclass(frozen=True, slots=True)
class Names:
    """The names of one kind: whole ones, beginnings and endings."""

    whole: frozenset[str]
    beginnings: tuple[str, ...] = ()
    endings: tuple[str, ...] = ()

    def fit(self, action: str) -> bool:
        return (
            action in self.whole
            or action.startswith(self.beginnings)
            or action.endswith(self.endings)
        )


def _said(word: str, *whole: str, beginnings: tuple[str, ...] = ()) -> Names:
    return Names(frozenset({word, *whole}), beginnings, (f".{word}", f"_{word}"))


NAMES: Mapping[ActKind, Names] = MappingProxyType(
    {
        ActKind.PRINTED: _said("printed", "occlusion.handed_over"),
        ActKind.EXPORTED: _said("exported"),
        ActKind.SENT: _said("sent", "mailing.written"),
        ActKind.OPENED: _said("read", "lot.traced", "patient.traced", beginnings=("read.",)),
    }
)
"""All kinds but `CHANGED`. No name fits two of them."""


def kind_of(action: str) -> ActKind:
    return next((kind for kind, names in NAMES.items() if names.fit(action)), ActKind.CHANGED)
