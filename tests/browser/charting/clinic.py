"""A stand-in for the server's side of the charting screen, with faults to order."""

import json
import uuid

from playwright.sync_api import Route

NOW = "2026-11-25T10:00:00.000Z"
IDA = {"id": 1, "name": "Ida Injector"}
OLGA = {"id": 2, "name": "Olga Owner"}
PATIENT = {
    "pk": 7, "name": "Ann Example", "birth_date": "1980-05-17", "age": 46, "record_number": "P7",
    "alerts": [], "url": "/patients/7/",
}  # fmt: skip
FILLER = {
    "pk": 1, "name": "HA filler 1 mL", "kind": "ha_filler", "measure": "volume",
    "single_patient": True, "asks_diluent": False, "lidocaine": "", "kind_label": "", "steps": [],
}  # fmt: skip
POINT = {
    "unit": 11, "view": "front", "x_dmm": 500, "y_dmm": 330, "reach_x_dmm": None,
    "reach_y_dmm": None, "picture": None, "region": "zygomatic", "side": "left",
    "plane": "supraperiosteal", "technique": "bolus", "instrument": "needle", "gauge": 27,
    "length_mm": 13, "aspiration": "negative", "amount": 200, "deviation": "", "marking": None,
    "confirmed_odd": "",
}  # fmt: skip


def unit(pk: int, **fields) -> dict:
    return {
        "pk": pk, "label": f"U{pk:06d}", "product": 1, "product_name": FILLER["name"],
        "kind": "ha_filler", "measure": "volume", "lot": "LOT42", "expires_on": "2030-06-30",
        "content": 1000, "drawn": 0, "wasted": 0, "state": "opened", "against": [],
        "diluent_ul": None, "use_before": None, "opened_at": NOW, "shared": False,
        "mine_to_put_back": True, "deviation": "", **fields,
    }  # fmt: skip


def session(key: str | None = None, **fields) -> dict:
    """A snapshot with one opened syringe on the tray."""
    return {
        "key": key or str(uuid.uuid4()), "pk": 1, "mine": True, "head": None,
        "url": "/sessions/1/", "started_at": NOW, "late_reason": "", "jaw": "average",
        "measures": {"pupil_dmm": None, "face_height_dmm": None, "face_width_dmm": None},
        "fit": {"x": 1000, "y": 1000}, "note": "", "signed": None, "patient": PATIENT,
        "points": [], "tray": [unit(11)], "markings": [], "pictures": [], "last": None,
        "anaesthesia": [], "flags": [], "review": "", "checked_at": NOW, **fields,
    }  # fmt: skip


class Clinic:
    """
    What the server would hold, in plain dictionaries.

    Attributes:
        fault: "" or one of `FAULTS`; it strikes every sending until it is taken away.
        refusals: operation id -> result, answered until the operation is withdrawn.
        received: every operation that came in, in its order, replays included.
    """

    def __init__(self) -> None:
        self.user, self.fault, self.seal = IDA, "", "1"
        self.sessions: dict[str, dict] = {}
        self.applied: dict[str, dict] = {}
        self.withdrawn: set[str] = set()
        self.refusals: dict[str, dict] = {}
        self.received: list[dict] = []
        self.batches: list[dict] = []

    def day(self) -> dict:
        lots = [{"number": "LOT42", "expires_on": "2030-06-30", "against": [], "units": [
            {"pk": pk, "label": f"U{pk:06d}", "content": 1000} for pk in (12, 13)
        ]}]  # fmt: skip
        return {
            "now": NOW, "user": self.user, "clinic": "The clinic", "lock_minutes": 5,
            "patients": [PATIENT | {"last": None}], "appointments": [],
            "sessions": list(self.sessions.values()),
            "stock": {"seal": self.seal, "products": [FILLER | {"lots": lots}], "opened": []},
        }  # fmt: skip

    def handle(self, route: Route) -> None:
        if route.request.url.endswith("/charting/"):
            route.fulfill(body="<!doctype html><title>Tablet</title>", content_type="text/html")
        elif self.fault in FAULTS:
            FAULTS[self.fault](self, route)
        else:
            self.serve(route)

    def serve(self, route: Route) -> None:
        path = route.request.url.split("/charting/")[1]
        if path.startswith("day/"):
            route.fulfill(json=self.day())
        elif path.startswith("sync/"):
            route.fulfill(json=self.answer(json.loads(route.request.post_data)))
        else:
            self.keep_picture(path.split("/")[1])
            route.fulfill(json={})

    def keep_picture(self, key: str) -> None:
        """For every session: what is in a form with a file does not reach a stand-in."""
        for shown in self.sessions.values():
            picture = {"key": key, "head": None, "removed": False, "width": 4, "height": 3}
            shown["pictures"].append(picture | {"url": f"/charting/pictures/{key}/"})

    def answer(self, sent: dict) -> dict:
        self.batches.append(sent)
        results = [self.settle(op) for op in sent["operations"]]
        return {
            "now": NOW, "user": self.user, "results": results, "alerts": [], "stock": self.seal,
            "sessions": {key: self.sessions.get(key) for key in sent["sessions"]},
        }  # fmt: skip

    def settle(self, op: dict) -> dict:
        self.received.append(op)
        if op["id"] in self.applied:
            same = self.applied[op["id"]] == op
            return said(op, "applied") if same else said(op, "refused", "sent before")
        if op["id"] in self.withdrawn:
            return said(op, "withdrawn")
        if op["kind"] == "withdraw":
            self.withdrawn.add(op["data"]["operation"])
            return said(op, "applied")
        if op["id"] in self.refusals:
            return {"id": op["id"], **self.refusals[op["id"]]}
        if op["base"] and op["base"] not in {*self.applied, *self.heads()}:
            return said(op, "hold", "An earlier act has not arrived.")
        if self.lacks(op):
            return said(op, "hold", "Its session or unit has not arrived.")
        self.apply(op)
        self.applied[op["id"]] = op
        return said(op, "applied")

    def lacks(self, op: dict) -> bool:
        if op["kind"] == "start":
            return False
        shown = self.sessions.get(op["session"])
        on_tray = {row["pk"] for row in shown["tray"]} if shown else set()
        return shown is None or (op["kind"] == "log" and op["data"]["unit"] not in on_tray)

    def heads(self) -> set[str]:
        rows = [*self.sessions.values()]
        for each in self.sessions.values():
            rows += [*each["points"], *each["markings"], *each["anaesthesia"]]
        return {row["head"] for row in rows}

    def apply(self, op: dict) -> None:
        kind, data = op["kind"], op["data"]
        if kind == "start":
            start = {"jaw": data["jaw"], "started_at": op["made_at"], "tray": []}
            self.sessions[op["session"]] = session(op["session"], head=op["id"], **start)
            return
        shown = self.sessions[op["session"]]
        points = {row["key"]: row for row in shown["points"]}
        if kind == "log":
            number = len(points) + 1
            row = {**data, "number": number, "removed": False, "tapped_at": op["made_at"], "by": ""}
            shown["points"].append(row | {"head": op["id"]})
            self.draw(shown, data["unit"], data["amount"])
        elif kind in {"change", "move", "remove", "restore"}:
            row = points[data["key"]]
            self.draw(shown, row["unit"], -row["amount"] if not row["removed"] else 0)
            removed = {"remove": True, "restore": False}.get(kind, row["removed"])
            row |= data | {"head": op["id"], "removed": removed}
            self.draw(shown, row["unit"], row["amount"] if not row["removed"] else 0)
        elif kind in {"plan", "unplan", "replan"}:
            self.apply_to_marking(shown, op)
        elif kind in {"numb", "numb_off", "numb_back"}:
            self.apply_to_anaesthetic(shown, op)
        else:
            self.apply_to_session(shown, op)

    def apply_to_marking(self, shown: dict, op: dict) -> None:
        markings = {row["key"]: row for row in shown["markings"]}
        if op["kind"] == "plan":
            row = {**op["data"], "removed": False, "point": None, "head": op["id"]}
            shown["markings"].append(row)
        else:
            row = markings[op["data"]["key"]]
            row |= {"removed": op["kind"] == "unplan", "head": op["id"]}

    def apply_to_anaesthetic(self, shown: dict, op: dict) -> None:
        given = {row["key"]: row for row in shown["anaesthesia"]}
        if op["kind"] == "numb":
            row = {**op["data"], "removed": False, "given_at": op["made_at"], "head": op["id"]}
            shown["anaesthesia"].append(row)
        else:
            removed = op["kind"] == "numb_off"
            given[op["data"]["key"]] |= {"removed": removed, "head": op["id"]}

    def apply_to_session(self, shown: dict, op: dict) -> None:
        kind, data = op["kind"], op["data"]
        shown["head"] = op["id"]
        if kind == "edit":
            shown |= data
        elif kind == "open":
            shown["tray"].append(unit(data["unit"], deviation=data["deviation"]))
        elif kind == "waste":
            self.draw(shown, data["unit"], data["amount"], "wasted")
        elif kind == "sign":
            shown["signed"] = {"at": op["made_at"], "name": self.user["name"], "url": "/s/"}

    def draw(self, shown: dict, pk: int, amount: int, column: str = "drawn") -> None:
        for row in shown["tray"]:
            if row["pk"] == pk:
                row[column] += amount

    def kinds(self) -> list[str]:
        return [op["kind"] for op in self.applied.values()]


def said(op: dict, outcome: str, message: str = "", conflict: dict | None = None) -> dict:
    return {"id": op["id"], "outcome": outcome, "message": message, "conflict": conflict}


def lose_answer(clinic: Clinic, route: Route) -> None:
    """The server stored everything; its answer never arrived."""
    if "/sync/" in route.request.url:
        clinic.answer(json.loads(route.request.post_data))
    route.abort()


def refuse_bad_batch(clinic: Clinic, route: Route) -> None:
    """The server cannot read any sending that holds a note "bad"."""
    if '"bad"' in (route.request.post_data or ""):
        route.fulfill(status=400, json={"message": "This act cannot be read."})
    else:
        clinic.serve(route)


def break_on_poison(clinic: Clinic, route: Route) -> None:
    """The server breaks on any sending that holds a note "poison"."""
    if '"poison"' in (route.request.post_data or ""):
        route.fulfill(status=500, body="<h1>Server error</h1>")
    else:
        clinic.serve(route)


def ask_for_token(clinic: Clinic, route: Route) -> None:
    """The first sending is refused for its form token, once."""
    if "/sync/" in route.request.url:
        clinic.fault = ""
        route.fulfill(status=403, json={"code": "csrf"})
    else:
        clinic.serve(route)


FAULTS = {
    "lost": lose_answer,
    "away": lambda clinic, route: route.abort(),
    "error": lambda clinic, route: route.fulfill(status=500, body="<h1>Server error</h1>"),
    "html": lambda clinic, route: route.fulfill(status=200, body="<h1>A portal</h1>"),
    "broken": lambda clinic, route: route.fulfill(status=200, body='{"results": ['),
    "empty": lambda clinic, route: route.fulfill(status=200, json={}),
    "signed out": lambda clinic, route: route.fulfill(status=401, json={}),
    "sign-in page": lambda clinic, route: route.fulfill(status=302, headers={"Location": "/x/"}),
    "bad": refuse_bad_batch,
    "poison": break_on_poison,
    "token": ask_for_token,
}
