"""
Who may open which page: every route's name, the roles, and a sample object for its arguments.

A route that is missing here fails `tests/test_access.py`.
"""

from dataclasses import dataclass, field

from clinic.access.enums import Role

DESK, INJECTOR, OWNER = Role.FRONT_DESK, Role.INJECTOR, Role.OWNER
ALL = (DESK, INJECTOR, OWNER)
NOBODY_NEEDED = ()


@dataclass(frozen=True)
class Rule:
    """
    Attributes:
        roles: who may; empty for a page without sign-in.
        args: keyword arguments of the route -> "sample.attribute" of `tests.samples.make_samples`.
    """

    roles: tuple[Role, ...]
    args: dict[str, str] = field(default_factory=dict)


TABLE: dict[str, Rule] = {
    # staff
    "staff-login": Rule(NOBODY_NEEDED),
    "staff-logout": Rule(NOBODY_NEEDED),
    "staff-password": Rule(ALL),
    "staff-list": Rule((OWNER,)),
    "staff-create": Rule((OWNER,)),
    "staff-edit": Rule((OWNER,), {"pk": "user.pk"}),
    # tablets
    "tablet-code": Rule((INJECTOR,)),
    "tablet-session": Rule((INJECTOR,)),
    "tablet-unlock": Rule((INJECTOR,)),
    # today
    "today": Rule(ALL),
    # search
    "search": Rule(ALL),
    "search-live": Rule(ALL),
    # patients
    "patient-list": Rule(ALL),
    "patient-search": Rule(ALL),
    "patient-create": Rule(ALL),
    "patient-detail": Rule(ALL, {"pk": "patient.pk"}),
    "patient-edit": Rule(ALL, {"pk": "patient.pk"}),
    "alert-add": Rule(ALL, {"pk": "patient.pk"}),
    "alert-none-known": Rule(ALL, {"pk": "patient.pk"}),
    "alert-end": Rule(ALL, {"pk": "alert.pk"}),
    # calendars
    "calendar-list": Rule((INJECTOR, OWNER)),
    "calendar-make": Rule((INJECTOR, OWNER), {"pk": "user.pk"}),
    "calendar-revoke": Rule((INJECTOR, OWNER), {"pk": "user.pk"}),
    "calendar-feed": Rule(NOBODY_NEEDED, {"secret": "calendar.secret"}),
    "calendar-appointment": Rule(ALL, {"pk": "appointment.pk"}),
    # figures
    "figures": Rule((OWNER,)),
    "figures-csv": Rule((OWNER,)),
    # appointments
    "appointment-list": Rule(ALL),
    "appointment-create": Rule(ALL),
    "appointment-times": Rule(ALL),
    "appointment-for-patient": Rule(ALL, {"pk": "patient.pk"}),
    "appointment-arrived": Rule(ALL, {"pk": "appointment.pk"}),
    "appointment-not-arrived": Rule(ALL, {"pk": "appointment.pk"}),
    "appointment-done": Rule(ALL, {"pk": "appointment.pk"}),
    "appointment-did-not-attend": Rule(ALL, {"pk": "appointment.pk"}),
    "appointment-cancel": Rule(ALL, {"pk": "appointment.pk"}),
    "appointment-detail": Rule(ALL, {"pk": "appointment.pk"}),
    "appointment-move": Rule(ALL, {"pk": "appointment.pk"}),
    "appointment-late": Rule(ALL, {"pk": "appointment.pk"}),
    "appointment-in-room": Rule(ALL, {"pk": "appointment.pk"}),
    "appointment-not-done": Rule(ALL, {"pk": "appointment.pk"}),
    # reviews
    "review-list": Rule(ALL),
    "review-recompute": Rule((OWNER,)),
    "review-detail": Rule(ALL, {"pk": "review.pk"}),
    "review-move": Rule(ALL, {"pk": "review.pk"}),
    "review-for-patient": Rule(ALL, {"pk": "patient.pk"}),
    "review-book": Rule(ALL, {"pk": "review.pk"}),
    "review-done": Rule(ALL, {"pk": "review.pk"}),
    "review-excuse": Rule(ALL, {"pk": "review.pk"}),
    "review-reopen": Rule(ALL, {"pk": "closed_review.pk"}),
    # follow_up
    "follow-up": Rule(ALL),
    "follow-up-review": Rule(ALL, {"pk": "review.pk"}),
    "follow-up-event": Rule(ALL, {"pk": "event.pk"}),
    "follow-up-recall": Rule(ALL, {"pk": "person.pk"}),
    # plans
    "plan-list": Rule((INJECTOR, OWNER)),
    "plan-for-patient": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    "plan-start": Rule((INJECTOR,), {"pk": "patient.pk"}),
    "plan-detail": Rule((INJECTOR, OWNER), {"pk": "plan.pk"}),
    "plan-edit": Rule((INJECTOR,), {"pk": "plan.pk"}),
    "plan-end": Rule((INJECTOR,), {"pk": "plan.pk"}),
    "plan-template-save": Rule((INJECTOR,), {"pk": "plan.pk"}),
    "plan-summary-issue": Rule((INJECTOR,), {"pk": "plan.pk"}),
    "plan-stage-add": Rule((INJECTOR,), {"pk": "plan.pk"}),
    "plan-stage-edit": Rule((INJECTOR,), {"pk": "plan_stage.pk"}),
    "plan-stage-give-back": Rule((INJECTOR,), {"pk": "plan_stage.pk"}),
    "plan-stage-remove": Rule((INJECTOR,), {"pk": "plan_stage.pk"}),
    "plan-template-apply": Rule((INJECTOR,), {"pk": "plan_stage.pk"}),
    "plan-line-create": Rule((INJECTOR,), {"pk": "plan_stage.pk"}),
    "plan-line-edit": Rule((INJECTOR,), {"pk": "plan_line.pk"}),
    "plan-line-remove": Rule((INJECTOR,), {"pk": "plan_line.pk"}),
    "plan-summary-pdf": Rule((INJECTOR, OWNER), {"pk": "plan_summary.pk"}),
    "plan-template-list": Rule((INJECTOR, OWNER)),
    "plan-template-edit": Rule((INJECTOR, OWNER), {"pk": "plan_template.pk"}),
    "plan-template-line-remove": Rule((INJECTOR, OWNER), {"pk": "template_line.pk"}),
    # sessions
    "session-list": Rule((INJECTOR, OWNER)),
    "session-start": Rule((INJECTOR,), {"pk": "newcomer.pk"}),
    "session-for-patient": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    "session-for-unit": Rule((INJECTOR, OWNER), {"pk": "unit.pk"}),
    "drawing": Rule((INJECTOR, OWNER), {"view": "point.view", "jaw": "session.jaw"}),
    "session-checks-for-plan": Rule((INJECTOR, OWNER), {"pk": "plan_stage.pk"}),
    "session-detail": Rule((INJECTOR, OWNER), {"pk": "session.pk"}),
    "session-sign": Rule((INJECTOR,), {"pk": "session.pk"}),
    "session-anaesthesia": Rule((INJECTOR,), {"pk": "session.pk"}),
    "anaesthesia-remove": Rule((INJECTOR,), {"pk": "anaesthetic.pk"}),
    "session-set-aside": Rule((INJECTOR,), {"pk": "session.pk"}),
    "addendum-add": Rule((INJECTOR,), {"pk": "signed.pk"}),
    # assessments
    "assessment-for-plan": Rule((INJECTOR, OWNER), {"pk": "plan_stage.pk"}),
    "assessment-for-patient": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    "assessment-create": Rule((INJECTOR,), {"pk": "patient.pk"}),
    "assessment-detail": Rule((INJECTOR, OWNER), {"pk": "assessment.pk"}),
    # charting
    "charting": Rule((INJECTOR,)),
    "charting-day": Rule((INJECTOR,)),
    "charting-sync": Rule((INJECTOR,)),
    "charting-reference": Rule((INJECTOR, OWNER), {"seal": "reference.seal"}),
    "charting-worker": Rule((INJECTOR,)),
    "charting-manifest": Rule(NOBODY_NEEDED),
    "charting-picture": Rule((INJECTOR, OWNER), {"key": "picture.key"}),
    # notes
    "note-pdf": Rule((INJECTOR, OWNER), {"pk": "session.pk"}),
    # adverse events
    "elsewhere-for-patient": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    "elsewhere-add": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    "elsewhere-withdraw": Rule((INJECTOR, OWNER), {"pk": "reported_care.pk"}),
    "adverse-event-list": Rule((INJECTOR, OWNER)),
    "adverse-event-create": Rule((INJECTOR, OWNER)),
    "adverse-event-for-patient": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    "adverse-event-detail": Rule((INJECTOR, OWNER), {"pk": "event.pk"}),
    "adverse-event-edit": Rule((INJECTOR, OWNER), {"pk": "event.pk"}),
    "adverse-event-close": Rule((INJECTOR, OWNER), {"pk": "event.pk"}),
    "adverse-event-reopen": Rule((INJECTOR, OWNER), {"pk": "event.pk"}),
    # trace
    "trace": Rule((OWNER,)),
    "trace-lot": Rule((OWNER,), {"pk": "lot.pk"}),
    "trace-csv": Rule((OWNER,), {"pk": "lot.pk"}),
    "trace-pdf": Rule((OWNER,), {"pk": "lot.pk"}),
    "trace-search-csv": Rule((OWNER,)),
    "trace-patient": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    "trace-patient-csv": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    "trace-patient-pdf": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    "trace-for-patient": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    # recalls
    "recall-list": Rule((OWNER,)),
    "recall-create": Rule((OWNER,)),
    "recall-detail": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-clock": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-span-add": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-correct": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-notice-add": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-notice": Rule((OWNER,), {"pk": "recall.pk", "file": "notice.pk"}),
    "recall-end": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-people": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-people-csv": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-people-pdf": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-list-complete": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-person": Rule((OWNER,), {"pk": "recall.pk", "person": "person.pk"}),
    "recall-person-book": Rule((OWNER,), {"pk": "recall.pk", "person": "person.pk"}),
    "recall-person-unreachable": Rule((OWNER,), {"pk": "recall.pk", "person": "person.pk"}),
    "recall-event-attach": Rule(
        (OWNER,), {"pk": "recall.pk", "person": "person.pk", "event": "found_event.pk"}
    ),
    "recall-units": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-units-pdf": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-units-apart": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-units-leave": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-unit-not-found": Rule((OWNER,), {"pk": "recall.pk", "unit": "pulled.pk"}),
    "recall-mailings": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-mailing-start": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-mailing-preview": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-checks": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-checks-panel": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-checks-draw": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-check": Rule((OWNER,), {"pk": "recall.pk", "check": "check.pk"}),
    "recall-report": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-report-panel": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-report-keep": Rule((OWNER,), {"pk": "recall.pk"}),
    "recall-close": Rule((OWNER,), {"pk": "recall.pk"}),
    # reminders
    "reminder-list": Rule(ALL),
    "reminder-answer": Rule(NOBODY_NEEDED, {"token": "link.token"}),
    "reminder-for-patient": Rule(ALL, {"pk": "patient.pk"}),
    "reminder-send-review": Rule(ALL, {"pk": "review.pk"}),
    "reminder-called": Rule(ALL, {"pk": "message.pk"}),
    "reminder-again": Rule(ALL, {"pk": "message.pk"}),
    "reminder-sent": Rule(ALL, {"pk": "message.pk"}),
    "reminder-give-up": Rule(ALL, {"pk": "message.pk"}),
    "reminder-answer-settle": Rule(ALL, {"pk": "answer.pk"}),
    "reminder-policy": Rule((OWNER,)),
    "message-template-list": Rule((OWNER,)),
    "message-template-edit": Rule((OWNER,), {"kind": "wording.kind", "route": "wording.route"}),
    "message-template-preview": Rule((OWNER,), {"kind": "wording.kind", "route": "wording.route"}),
    "message-template-drop": Rule((OWNER,), {"kind": "wording.kind", "route": "wording.route"}),
    # mailings
    "mailing-list": Rule((OWNER,)),
    "mailing-detail": Rule((OWNER,), {"pk": "mailing.pk"}),
    "mailing-step": Rule((OWNER,), {"pk": "mailing.pk"}),
    "mailing-again": Rule((OWNER,), {"pk": "mailing.pk"}),
    "mailing-letters": Rule((OWNER,), {"pk": "mailing.pk"}),
    "mailing-letter-file": Rule((OWNER,), {"pk": "mailing.pk", "number": "letter_file.number"}),
    "mailing-item-again": Rule((OWNER,), {"pk": "failed_item.pk"}),
    "mailing-item-sent": Rule((OWNER,), {"pk": "failed_item.pk"}),
    "mail-template-list": Rule((OWNER,)),
    "mail-template-create": Rule((OWNER,)),
    "mail-template-preview": Rule((OWNER,)),
    "mail-template-edit": Rule((OWNER,), {"pk": "mail_template.pk"}),
    # usage
    "usage": Rule((OWNER,)),
    "usage-csv": Rule((OWNER,)),
    "usage-events": Rule((OWNER,)),
    "usage-events-csv": Rule((OWNER,)),
    # atlas
    "atlas-usual": Rule((INJECTOR, OWNER)),
    "atlas-list": Rule((INJECTOR, OWNER)),
    "atlas-region": Rule((INJECTOR, OWNER), {"region": "atlas_entry.region"}),
    "atlas-drawing": Rule((INJECTOR, OWNER), {"view": "point.view", "jaw": "session.jaw"}),
    "atlas-add": Rule((OWNER,), {"region": "atlas_entry.region", "kind": "atlas_entry.kind"}),
    "atlas-replace": Rule((OWNER,), {"key": "supplied.key"}),
    "atlas-withdraw": Rule((OWNER,), {"key": "supplied.key"}),
    "atlas-edit": Rule((OWNER,), {"pk": "atlas_entry.pk"}),
    "atlas-remove": Rule((OWNER,), {"pk": "atlas_entry.pk"}),
    # results
    "results-waste": Rule((OWNER,)),
    "results-waste-csv": Rule((OWNER,)),
    "results-for-patient": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    # stock
    "stock-list": Rule((INJECTOR, OWNER)),
    "receiving": Rule((OWNER,)),
    "receiving-discard": Rule((OWNER,)),
    "stock-list-import": Rule((OWNER,)),
    "stock-list-sample": Rule((OWNER,)),
    "receiving-labels": Rule((OWNER,), {"pk": "receipt.pk"}),
    "receiving-labels-pdf": Rule((OWNER,), {"pk": "receipt.pk"}),
    "quarantine-list": Rule((INJECTOR, OWNER)),
    "quarantine-create": Rule((OWNER,)),
    "quarantine-detail": Rule((INJECTOR, OWNER), {"pk": "quarantine.pk"}),
    "quarantine-lift": Rule((OWNER,), {"pk": "quarantine.pk"}),
    "quarantine-pull-list": Rule((INJECTOR, OWNER), {"pk": "quarantine.pk"}),
    "quarantine-for-lot": Rule((INJECTOR, OWNER), {"pk": "lot.pk"}),
    "lot-detail": Rule((INJECTOR, OWNER), {"pk": "lot.pk"}),
    "lot-quarantine": Rule((OWNER,), {"pk": "lot.pk"}),
    "lot-release": Rule((OWNER,), {"pk": "lot.pk"}),
    "unit-detail": Rule((INJECTOR, OWNER), {"pk": "unit.pk"}),
    "unit-take-out": Rule((OWNER,), {"pk": "spare.pk"}),
    "unit-discard": Rule((INJECTOR, OWNER), {"pk": "unit.pk"}),
    "product-list": Rule((OWNER,)),
    "product-create": Rule((OWNER,)),
    "product-edit": Rule((OWNER,), {"pk": "product.pk"}),
    # scanning
    "scanning": Rule((INJECTOR, OWNER)),
    # places and storage
    "place-create": Rule((OWNER,)),
    "place-edit": Rule((OWNER,), {"pk": "fridge.pk"}),
    "place-list": Rule((INJECTOR, OWNER)),
    "place-detail": Rule((INJECTOR, OWNER), {"pk": "fridge.pk"}),
    "place-nowhere": Rule((INJECTOR, OWNER)),
    "unit-move": Rule((INJECTOR, OWNER)),
    "unit-choose": Rule((INJECTOR, OWNER)),
    # counts
    "count-list": Rule((INJECTOR, OWNER)),
    "count-start": Rule((INJECTOR, OWNER)),
    "count-detail": Rule((INJECTOR, OWNER), {"pk": "count.pk"}),
    "count-give-up": Rule((INJECTOR, OWNER), {"pk": "count.pk"}),
    "count-pdf": Rule((INJECTOR, OWNER), {"pk": "count.pk"}),
    "count-progress": Rule((INJECTOR, OWNER), {"pk": "count.pk"}),
    "count-scan": Rule((INJECTOR, OWNER), {"pk": "count.pk"}),
    "count-scan-extra": Rule((INJECTOR, OWNER), {"pk": "count.pk"}),
    "count-see": Rule((INJECTOR, OWNER), {"pk": "count.pk"}),
    "count-take-back": Rule((INJECTOR, OWNER), {"pk": "count.pk"}),
    "count-extra-add": Rule((INJECTOR, OWNER), {"pk": "count.pk"}),
    "count-extra-edit": Rule((INJECTOR, OWNER), {"pk": "extra.pk"}),
    "count-extra-remove": Rule((INJECTOR, OWNER), {"pk": "extra.pk"}),
    "count-compare": Rule((OWNER,), {"pk": "count.pk"}),
    # fridges
    "fridge-list": Rule((INJECTOR, OWNER)),
    "fridge-detail": Rule((INJECTOR, OWNER), {"pk": "fridge.pk"}),
    "fridge-log": Rule((INJECTOR, OWNER), {"pk": "fridge.pk"}),
    "fridge-csv": Rule((INJECTOR, OWNER), {"pk": "fridge.pk"}),
    "excursion-detail": Rule((INJECTOR, OWNER), {"pk": "reading.pk"}),
    "excursion-decide": Rule((OWNER,), {"pk": "reading.pk"}),
    # reorder
    "reorder": Rule((OWNER,)),
    "reorder-csv": Rule((OWNER,)),
    "reorder-pdf": Rule((OWNER,)),
    # audit
    "dilution": Rule((INJECTOR, OWNER)),
    "audit-list": Rule((OWNER,)),
    "audit-verify": Rule((OWNER,)),
    # timeline
    "timeline-for-patient": Rule((INJECTOR, OWNER), {"pk": "patient.pk"}),
    # review_rules
    "review-rule-list": Rule((OWNER,)),
    "review-rule-create": Rule((OWNER,)),
    "review-rule-edit": Rule((OWNER,), {"pk": "review_rule.pk"}),
    "duration-create": Rule((OWNER,)),
    "duration-edit": Rule((OWNER,), {"pk": "duration.pk"}),
    "duration-remove": Rule((OWNER,), {"pk": "duration.pk"}),
    # policy
    "policy-edit": Rule((OWNER,)),
    "closure-create": Rule((OWNER,)),
    "closure-remove": Rule((OWNER,), {"pk": "closure.pk"}),
    # style
    "style-index": Rule((OWNER,)),
}
