"""The addresses that scripts of ours ask, with what each takes and answers."""

from dataclasses import dataclass, field

from clinic.tablets.models import ITERATIONS, KEY_BYTES, SALT_BYTES
from planning.standard_views import SHOTS
from planning.vocabulary import Term
from records.charting.enums import Kind, Outcome
from records.charting.forms.data import FORMS, CheckData
from records.charting.forms.envelopes import LARGEST_NUMBER, MOST_OPERATIONS
from records.openapi.schemas import (
    FILE,
    KEY,
    MOMENT,
    TEXT,
    Schema,
    a_list,
    an_object,
    of_form,
    or_none,
    whole,
)
from records.photographs.forms import KeepForm
from records.sessions.enums import Remainder
from records.sessions.forms.pictures import PictureForm

ANYTHING: Schema = {"type": "object"}
MESSAGE = an_object({"message": TEXT})
JSON, FORM = "application/json", "multipart/form-data"


@dataclass(frozen=True)
class Answer:
    """What comes with a status; `body` by media type, empty for an answer that says nothing."""

    says: str
    body: dict[str, Schema] = field(default_factory=dict)


def _json(says: str, schema: Schema) -> Answer:
    return Answer(says, {JSON: schema})


@dataclass(frozen=True)
class Address:
    """
    One method of one address.

    Attributes:
        route: its name in the URL configuration.
        takes: media type and schema of what is sent; None where nothing is.
    """

    route: str
    method: str
    says: str
    answers: dict[int, Answer]
    takes: tuple[str, Schema] | None = None
    is_public: bool = False


def _words(words: type[Term]) -> Schema:
    return {"type": "string", "enum": [word.value for word in words]}


def _hex(length: int) -> Schema:
    return {"type": "string", "pattern": f"^[0-9a-f]{{{2 * length}}}$"}


# What the forms themselves take as JSON of any shape.
NESTED: dict[Kind, dict[str, Schema]] = {
    Kind.TIME_OUT: {"checks": a_list(of_form(CheckData))},
    Kind.SIGN: {"remainders": ANYTHING | {"additionalProperties": _words(Remainder)}},
}


def _operation(kind: Kind) -> Schema:
    frame = {
        "id": KEY,
        "session": KEY,
        "kind": {"const": kind.value},
        "base": or_none(KEY),
        "instead_of": or_none(KEY),
        "made_at": MOMENT,
        "sequence": whole(0, LARGEST_NUMBER),
        "author": whole(0, LARGEST_NUMBER),
        "handed_over": {"type": "boolean"},
        "data": of_form(FORMS[kind], **NESTED.get(kind, {})),
    }
    return an_object(frame, optional=("base", "instead_of", "handed_over"))


SYNC = an_object(
    {
        "device": KEY,
        "sent_at": MOMENT,
        "operations": a_list({"oneOf": [_operation(kind) for kind in Kind]}, MOST_OPERATIONS),
        "sessions": a_list(KEY),
    },
    optional=("sessions",),
)
SYNCED = an_object(
    {
        "now": MOMENT,
        "user": an_object({"id": whole(1), "name": TEXT}),
        "results": a_list(
            an_object(
                {
                    "id": KEY,
                    "outcome": _words(Outcome),
                    "message": TEXT,
                    "conflict": or_none(ANYTHING),
                }
            )
        ),
        "sessions": ANYTHING,
        "stock": TEXT,
        "alerts": a_list(TEXT),
    }
)
PICTURE = an_object({"key": KEY, "width": whole(1), "height": whole(1), "url": TEXT})
READY = an_object({"ready": {"type": "boolean"}, "parts": a_list(ANYTHING)})
PHOTOGRAPH = an_object({"key": KEY, "url": TEXT, "thumbnail": TEXT})
TABLET_CODE = an_object(
    {
        "device": KEY,
        "salt": _hex(SALT_BYTES),
        "key": _hex(KEY_BYTES),
        "iterations": {"const": ITERATIONS},
        "password": TEXT,
    }
)
_REFUSED = _json("Refused; the sentence says what to do.", MESSAGE)
_UNKNOWN = Answer("There is no such thing.", {"text/html": TEXT})

ADDRESSES = [
    Address(
        "charting-day",
        "get",
        "What the tablet keeps for the day: one's patients, open sessions, stock.",
        {200: _json("The day.", an_object({"patients": a_list(ANYTHING), "stock": ANYTHING}))},
    ),
    Address(
        "charting-sync",
        "post",
        "Brings what was done on the tablet, and asks how sessions stand.",
        {
            200: _json("What became of each act.", SYNCED),
            400: _json("Not what a tablet sends; nothing was stored.", MESSAGE),
            503: _json("The clinic is busy; nothing was stored: send it again.", MESSAGE),
        },
        (JSON, SYNC),
    ),
    Address(
        "charting-reference",
        "get",
        "Drawings and words, the same for everybody.",
        {200: _json("Today's, whatever the seal.", ANYTHING)},
    ),
    Address(
        "charting-manifest",
        "get",
        "How the app is called on the tablet.",
        {200: Answer("A web application manifest.", {"application/manifest+json": ANYTHING})},
        is_public=True,
    ),
    Address(
        "charting-picture",
        "get",
        "A photograph to mark on.",
        {200: Answer("The photograph.", {"image/jpeg": FILE}), 404: _UNKNOWN},
    ),
    Address(
        "charting-picture",
        "post",
        "Keeps a photograph to mark on, once.",
        {
            200: _json("It is kept.", PICTURE),
            409: _json("Its session has not come, or another picture has this key.", MESSAGE),
            422: _REFUSED,
        },
        (FORM, of_form(PictureForm)),
    ),
    Address(
        "photograph-keep",
        "post",
        "Keeps a photograph of the record, once.",
        {
            200: _json("It is kept.", PHOTOGRAPH),
            404: _UNKNOWN,
            409: _json("Another photograph has this key.", MESSAGE),
            422: _REFUSED,
        },
        (FORM, of_form(KeepForm, shot={"type": "string", "enum": [shot.key for shot in SHOTS]})),
    ),
    Address(
        "ready",
        "get",
        "Whether the clinic can work; for its own machine, or with the token for figures.",
        {
            200: _json("All parts are well.", READY),
            404: _UNKNOWN,
            503: _json("A part is not well; it says what to do.", READY),
        },
        is_public=True,
    ),
    Address(
        "tablet-session",
        "get",
        "Who is signed in on this tablet.",
        {
            200: _json(
                "The person and a name of the sign-in.",
                an_object({"user": whole(1), "session": TEXT}),
            )
        },
    ),
    Address(
        "tablet-code",
        "post",
        "Keeps what a tablet derived from a new code.",
        {200: _json("It is kept.", an_object({"set": {"const": True}})), 422: _REFUSED},
        (JSON, TABLET_CODE),
    ),
    Address(
        "tablet-unlock",
        "post",
        "Whether this is the password of whoever is signed in.",
        {200: _json("It is.", an_object({"right": {"const": True}})), 422: _REFUSED},
        (JSON, an_object({"password": TEXT})),
    ),
]
