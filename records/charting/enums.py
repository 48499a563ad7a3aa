"""The words of the charting screen's operations."""

from planning.vocabulary import Term


class Kind(Term):
    """One act on the tablet."""

    START = "start", "Started the session"
    EDIT = "edit", "Changed the note, the outline or the measures"
    OPEN = "open", "Put a unit on the tray"
    PUT_BACK = "put_back", "Took a unit off the tray"
    WASTE = "waste", "Recorded waste"
    LOG = "log", "Logged a point"
    CHANGE = "change", "Changed a point"
    MOVE = "move", "Moved a point"
    REMOVE = "remove", "Removed a point"
    RESTORE = "restore", "Brought back a point"
    PLAN = "plan", "Marked a place"
    UNPLAN = "unplan", "Removed a marking"
    REPLAN = "replan", "Brought back a marking"
    NUMB = "numb", "Noted an anaesthetic"
    NUMB_OFF = "numb_off", "Removed an anaesthetic"
    NUMB_BACK = "numb_back", "Brought back an anaesthetic"
    TIME_OUT = "time_out", "Did the time-out"
    DECIDE = "decide", "Wrote down why a session was started against a stop"
    CALIBRATE = "calibrate", "Gave a photograph its scale"
    DROP_PICTURE = "drop_picture", "Removed a photograph"
    OCCLUDE = "occlude", "Opened the occlusion log"
    OCCLUSION_NOTE = "occlusion_note", "Wrote in the occlusion log"
    SET_ASIDE = "set_aside", "Set the session aside as started by mistake"
    SIGN = "sign", "Signed"
    ADDENDUM = "addendum", "Wrote an addendum"
    WITHDRAW = "withdraw", "Gave up an act that was not stored"


class Outcome(Term):
    """What became of an operation. Only the first two are kept: the rest may be sent again."""

    APPLIED = "applied", "Stored"
    WITHDRAWN = "withdrawn", "Given up"
    HOLD = "hold", "Waits for an earlier one"
    REFUSED = "refused", "Refused"
    CONFLICT = "conflict", "Needs a decision"


KEPT = (Outcome.APPLIED, Outcome.WITHDRAWN)
