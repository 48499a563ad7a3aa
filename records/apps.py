from django.apps import AppConfig
from django.db.models.signals import post_migrate


class RecordsConfig(AppConfig):
    name = "records"
    verbose_name = "Records"

    def ready(self) -> None:
        from clinic.access import waiting
        from clinic.background import ticks
        from clinic.bookings import registry
        from clinic.database import triggers
        from records.adverse_events.triggers import TRIGGERS as ADVERSE_EVENTS
        from records.aftercare.services.checking_in import ask_due
        from records.aftercare.triggers import TRIGGERS as AFTERCARE
        from records.appointments import hooks, settling
        from records.appointments.triggers import TRIGGERS as APPOINTMENTS
        from records.assessments.triggers import TRIGGERS as ASSESSMENTS
        from records.calendars.triggers import TRIGGERS as CALENDARS
        from records.charting.triggers import TRIGGERS as CHARTING
        from records.comparisons.triggers import TRIGGERS as COMPARISONS
        from records.consents.keepers import consent_gates
        from records.consents.triggers import TRIGGERS as CONSENTS
        from records.elsewhere.triggers import TRIGGERS as ELSEWHERE
        from records.follow_up.triggers import TRIGGERS as FOLLOW_UP
        from records.gates import registry as gates
        from records.gates.keepers import age_gates
        from records.gates.triggers import TRIGGERS as GATES
        from records.mailings import occasions
        from records.mailings.triggers import TRIGGERS as MAILINGS
        from records.notes.triggers import TRIGGERS as NOTES
        from records.occlusions.triggers import TRIGGERS as OCCLUSIONS
        from records.outcomes.triggers import TRIGGERS as OUTCOMES
        from records.patients.triggers import TRIGGERS as PATIENTS
        from records.photographs import ticking as small_pictures
        from records.photographs.keepers import photograph_gates
        from records.photographs.triggers import TRIGGERS as PHOTOGRAPHS
        from records.plans.triggers import TRIGGERS as PLANS
        from records.recalls.services.mailings import RECALL
        from records.recalls.triggers import TRIGGERS as RECALLS
        from records.record_access.queries.findings import open_questions
        from records.record_access.services import looking
        from records.record_access.triggers import TRIGGERS as RECORD_ACCESS
        from records.reminders import ticking
        from records.reminders.routes.loading import text_message_route
        from records.reminders.services.offering import tell_of_offer
        from records.reminders.triggers import TRIGGERS as REMINDERS
        from records.reviews.services.settling import open_reviews
        from records.reviews.triggers import TRIGGERS as REVIEWS
        from records.screening.keepers import history_gates
        from records.screening.triggers import TRIGGERS as SCREENING
        from records.sessions.triggers import TRIGGERS as SESSIONS
        from records.time_out.triggers import TRIGGERS as TIME_OUT
        from records.to_move.queries import BOOKS
        from records.waiting_list import listeners, notices
        from records.waiting_list.services import consequences
        from records.waiting_list.ticking import tick as expire_ended
        from records.waiting_list.triggers import TRIGGERS as WAITING_LIST
        from records.whole_record import ticking as whole_records
        from records.whole_record.triggers import TRIGGERS as WHOLE_RECORD

        triggers.register(
            *ADVERSE_EVENTS,
            *AFTERCARE,
            *APPOINTMENTS,
            *ASSESSMENTS,
            *CALENDARS,
            *CHARTING,
            *COMPARISONS,
            *CONSENTS,
            *ELSEWHERE,
            *FOLLOW_UP,
            *GATES,
            *MAILINGS,
            *NOTES,
            *OCCLUSIONS,
            *OUTCOMES,
            *PATIENTS,
            *PHOTOGRAPHS,
            *PLANS,
            *RECALLS,
            *RECORD_ACCESS,
            *REMINDERS,
            *REVIEWS,
            *SCREENING,
            *SESSIONS,
            *TIME_OUT,
            *WAITING_LIST,
            *WHOLE_RECORD,
        )
        gates.register(age_gates, consent_gates, history_gates, photograph_gates)
        occasions.register(RECALL)
        registry.register(BOOKS)
        listeners.register(tell_of_offer)
        # What it asks goes out with the messages, so it looks first.
        ticks.register("check-ins", ask_due)
        ticks.register("reminders", ticking.tick)
        ticks.register("waiting list", expire_ended)
        ticks.register("small pictures", small_pictures.tick)
        ticks.register("record access", looking.tick)
        waiting.register("unusual-access", open_questions)
        # Last: one may take a minute.
        ticks.register("whole records", whole_records.tick)
        text_message_route()  # a wrong CLINIC_SMS stops the start
        hooks.register(booked=consequences.was_booked, freed=consequences.let_go, told=notices.tell)
        settling.register(open_reviews)
        # The last app to be migrated puts the triggers of all back.
        post_migrate.connect(triggers.install_after_migrate, sender=self)
